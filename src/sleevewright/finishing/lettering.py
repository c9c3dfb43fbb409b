"""What is written on a piece: what it is, how it is cut, what its edges and folds are.

The block that says what the piece is goes first; the names of edges stand where it leaves room.
"""

from collections.abc import Iterator, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from sleevewright.finishing.allowances import allowance_of
from sleevewright.finishing.letter_room import Room, block, text_width
from sleevewright.geometry import Curve
from sleevewright.pattern import Lettering, NotchCut, Piece
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import lettered

Array = NDArray[np.float64]

#: mm. Of names of edges, the larger first; 2.5 mm is a size of ISO 3098.
_HEIGHTS = (3.0, 2.5)
#: mm. A block in smaller letters than the names of edges wants for room.
SMALL = _HEIGHTS[0]
_EDGE_GAP = 2.5  # mm, between a sewing line and the letters that name it
_FOLD_GAP = 1.5  # mm, between a fold inside a piece and the word FOLD
_FROM_CORNER = 3.0  # mm, between a name and the ends of its edge
_STATIONS = (0.0, -0.4, 0.4, -0.8, 0.8, -0.2, 0.2, -0.6, 0.6, -1.0, 1.0)  # parts of the room along
_SPAN = np.linspace(-1.0, 1.0, 9)  # parts of half a text, at which its line is looked at
_AT_FOLD = (-0.5, 0.5, 0.0, -0.75, 0.75, -0.25, 0.25, -1.0, 1.0)


def lettering(
    piece: Piece,
    size: str,
    name: str,
    settings: FinishSettings,
    notches: Sequence[NotchCut] = (),
) -> tuple[Lettering, ...]:
    """Return every line of lettering of a piece.

    No line stands on an edge, a mark, a notch or another line. Where there is no room, the names of
    edges are left out before the block is; none is larger than the block.
    """
    room = Room(piece, notches)
    own = block(room, _lines(piece, size, name, settings))
    room.take(own)
    most = min((text.height for text in own), default=_HEIGHTS[0])
    heights = [height for height in _HEIGHTS if height <= most]
    found = list(own)
    for candidates in chain(_fold_names(piece, heights), _edge_names(piece, heights)):
        text = room.first_free(candidates)
        if text is not None:
            room.take([text])
            found.append(text)
    return tuple(found)


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


def _edge_names(piece: Piece, heights: Sequence[float]) -> Iterator[Iterator[Lettering]]:
    """Yield, for each edge, its name where it may stand along it, the best place first.

    To be used up one by one: places are worked out as they are asked for.
    """
    for edge in piece.edges:
        line, text = _Line(edge.curve), lettered(edge.name)
        yield (
            _along(line, station, (text, height, edge.name), _EDGE_GAP)
            for height in heights
            for station in _straightest(line, text_width(text, height))
        )


def _fold_names(piece: Piece, heights: Sequence[float]) -> Iterator[Iterator[Lettering]]:
    """Yield, for each fold inside, the word FOLD on either side of it: common practice."""
    for fold in piece.internal:
        if not fold.is_fold:
            continue
        sides = [_Line(fold.curve), _Line(fold.curve.reversed)]
        yield (
            _along(line, station, ("FOLD", height, fold.name), _FOLD_GAP)
            for height in heights
            for part in _AT_FOLD
            for line in sides
            for station in _stations(line, text_width("FOLD", height), (part,))
        )


class _Line:
    """A curve as a polyline; near enough for placing letters."""

    def __init__(self, curve: Curve) -> None:
        self.points = curve.flattened(0.1)
        steps = np.hypot(*np.diff(self.points, axis=0).T)
        self.stations = np.concatenate([[0.0], np.cumsum(steps)])
        self.length = float(self.stations[-1])

    def at(self, station: float | Array) -> Array:
        x, y = (np.interp(station, self.stations, self.points[:, k]) for k in (0, 1))
        return np.stack([x, y], axis=-1)


def _along(line: _Line, station: float, said: tuple[str, float, str], gap: float) -> Lettering:
    """Return text along a line, on its left at a gap, never upside down."""
    text, height, about = said
    width = text_width(text, height)
    near = line.at(station + width / 2 * _SPAN)
    point, chord = near[len(near) // 2], near[-1] - near[0]
    along = chord / float(np.hypot(*chord))
    inward = np.array([-along[1], along[0]])
    bulge = max(0.0, float(((near - point) @ inward).max()))
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    if -90.0 < angle <= 90.0:
        start = point - along * width / 2 + inward * (gap + bulge)
    else:  # read from the other side: the letters stand on their heads otherwise
        start = point + along * width / 2 + inward * (gap + bulge + height)
        angle = (angle + 180.0 + 180.0) % 360.0 - 180.0
    return Lettering(
        text=text, at=(float(start[0]), float(start[1])), height=height, angle=angle, about=about
    )


def _stations(line: _Line, width: float, parts: Sequence[float]) -> list[float]:
    """Return stations of the middle of a text; none where the line is too short for it."""
    room = line.length / 2 - width / 2 - _FROM_CORNER
    return [line.length / 2 + room * part for part in parts] if room >= 0 else []


def _straightest(line: _Line, width: float) -> list[float]:
    """Return stations along a line: where it is straightest over the text's width first."""
    stations = np.array(_stations(line, width, _STATIONS))
    if not len(stations):
        return []
    ends = line.at(np.stack([stations - width / 2, stations + width / 2]))
    bent = width - np.hypot(*(ends[1] - ends[0]).T)
    order = np.argsort(np.round(bent / 0.05), kind="stable")  # near the middle among equals
    return [float(stations[i]) for i in order]
