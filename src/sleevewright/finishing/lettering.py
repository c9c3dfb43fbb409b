"""What is written on a piece: what it is, how it is cut, what its edges are.

Text is measured as 0.98 of a capital's height a letter: what a wide sans serif takes in capitals.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.finishing.allowances import allowance_of
from sleevewright.geometry.region import polygon
from sleevewright.pattern import Edge, Lettering, Piece
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import lettered

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

LETTER_WIDTH = 0.98
LINE_HEIGHT = 1.6

_HEIGHTS = (7.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.6)  # mm, the largest that fits is taken
_EDGE_HEIGHT = 3.0
_EDGE_GAP = 2.5  # mm, between a sewing line and the letters that name it
_CLEAR = 4.0  # mm, between the block of letters and any line
#: mm, between the block and the outline: clear of the edges' names, or on small pieces just clear of the line.
_CLEARANCES = (_CLEAR + 2 * _EDGE_HEIGHT, _CLEAR, 1.5)


def lettering(
    piece: Piece, size: str, name: str, settings: FinishSettings
) -> tuple[Lettering, ...]:
    """Return every line of lettering of a piece."""
    lines = _lines(piece, size, name, settings)
    return (*_block(piece, lines), *_edge_names(piece))


def _lines(piece: Piece, size: str, name: str, settings: FinishSettings) -> list[str]:
    lines = [
        settings.style.upper() or name.replace("_", " ").upper(),
        lettered(piece.name),
        f"SIZE {size.upper()}",
        piece.cut_words + (f" {piece.material.upper()}" if piece.material else ""),
        *_allowances(piece, settings),
    ]
    return [line for line in (*lines, settings.note, settings.date) if line]


def _allowances(piece: Piece, settings: FinishSettings) -> list[str]:
    """State the allowance: the default, and every role of the piece that differs, a line each."""
    widths = {
        edge.role: allowance_of(piece, edge, settings)
        for edge in piece.edges
        if edge.name != piece.fold
    }
    other = [
        f"{lettered(role)} {width:g}"
        for role, width in widths.items()
        if width != settings.allowance
    ]
    return [f"ALLOWANCE {settings.allowance:g} MM", *other]


def text_width(text: str, height: float) -> float:
    """Return the width of a line of text, mm."""
    return LETTER_WIDTH * height * len(text)


def _block(piece: Piece, lines: list[str]) -> Iterator[Lettering]:
    """Place the block of lines where it fits, upright, clear of the grainline and of every edge."""
    from shapely import LineString, prepare  # noqa: PLC0415

    outline = polygon((edge.curve for edge in piece.edges), 0.5)
    for clear in _CLEARANCES:
        inside: BaseGeometry = outline.buffer(-clear)
        if piece.grain is not None:
            line = LineString([piece.grain.start, piece.grain.end])
            inside = inside.difference(line.buffer(min(clear, _CLEAR)))
        if inside.is_empty:
            continue
        prepare(inside)
        for height in _HEIGHTS:
            place = _room(inside, lines, height)
            if place is not None:
                x, top = place
                for i, text in enumerate(lines):
                    base = top - height - i * LINE_HEIGHT * height
                    yield Lettering(text=text, at=(x, base), height=height)
                return


def _room(inside: "BaseGeometry", lines: list[str], height: float) -> tuple[float, float] | None:
    """Return left end and top of a block of lines that fits inside, nearest to the middle."""
    from shapely import box, contains  # noqa: PLC0415

    left, bottom, right, top = inside.bounds
    wide = max(text_width(line, height) for line in lines)
    tall = height * (1 + LINE_HEIGHT * (len(lines) - 1))
    if wide > right - left or tall > top - bottom:
        return None
    xs = np.linspace(left, right - wide, min(26, 2 + int(right - left - wide)))
    ys = np.linspace(bottom, top - tall, min(31, 2 + int(top - bottom - tall)))
    middle = np.array([(left + right - wide) / 2, bottom + 0.62 * (top - bottom) - tall / 2])
    corners = np.array([(x, y) for x in xs for y in ys])
    corners = corners[np.argsort(np.hypot(*(corners - middle).T))]
    for some in np.array_split(corners, 1 + len(corners) // 50):  # mostly one of the first fits
        x, y = some.T
        fits = contains(inside, box(x, y, x + wide, y + tall))
        if fits.any():
            left, bottom = some[int(np.argmax(fits))].tolist()
            return left, bottom + tall
    return None


def _edge_names(piece: Piece) -> Iterator[Lettering]:
    """Name each edge along its middle, inside the piece, never upside down."""
    for edge in piece.edges:
        text = lettered(edge.name)
        width = text_width(text, _EDGE_HEIGHT)
        if edge.length < width + 6.0:
            continue
        yield _along(edge, text, width)


def _along(edge: Edge, text: str, width: float) -> Lettering:
    line = _Line(edge)
    station = _straightest(line, width)
    point = line.at(station)
    chord = line.at(station + width / 2) - line.at(station - width / 2)
    along = chord / float(np.hypot(*chord))
    inward = np.array([-along[1], along[0]])
    near = line.at(station + width / 2 * np.linspace(-1, 1, 9))
    bulge = max(0.0, float(((near - point) @ inward).max()))
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    if -90.0 < angle <= 90.0:
        start = point - along * width / 2 + inward * (_EDGE_GAP + bulge)
    else:  # read from the other side: the letters stand on their heads otherwise
        start = point + along * width / 2 + inward * (_EDGE_GAP + bulge + _EDGE_HEIGHT)
        angle = (angle + 180.0 + 180.0) % 360.0 - 180.0
    return Lettering(
        text=text, at=(float(start[0]), float(start[1])), height=_EDGE_HEIGHT, angle=angle,
        about=edge.name,
    )  # fmt: skip


class _Line:
    """An edge as a polyline; near enough for placing letters."""

    def __init__(self, edge: Edge) -> None:
        self.points = edge.curve.flattened(0.1)
        steps = np.hypot(*np.diff(self.points, axis=0).T)
        self.stations = np.concatenate([[0.0], np.cumsum(steps)])
        self.length = float(self.stations[-1])

    def at(self, station: float | Array) -> Array:
        x, y = (np.interp(station, self.stations, self.points[:, k]) for k in (0, 1))
        return np.stack([x, y], axis=-1)


def _straightest(line: _Line, width: float) -> float:
    """Return the station near the middle where the edge is straightest over the text's width."""
    middle = line.length / 2
    room = max(0.0, middle - width / 2 - 3.0)
    stations = middle + room * np.array([0.0, -0.4, 0.4, -0.8, 0.8])
    ends = line.at(np.stack([stations - width / 2, stations + width / 2]))
    chords = np.hypot(*(ends[1] - ends[0]).T)
    return float(stations[int(np.argmax(chords > chords.max() - 0.05))])
