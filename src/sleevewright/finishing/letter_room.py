"""Where letters may stand on a piece: clear of its edges, of every mark and of one another."""

from collections.abc import Iterable, Iterator, Sequence
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.region import polygon
from sleevewright.pattern import Lettering, Piece
from sleevewright.pattern.drawn_marks import drill_cross, fold_bracket, grain_heads, notch_shape
from sleevewright.pattern.piece import NotchCut

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

#: Of a capital's height a letter: what a wide sans serif takes in capitals.
LETTER_WIDTH = 0.98
#: Of a capital's height, from one base line to the next.
LINE_HEIGHT = 1.6

#: mm. The largest that fits is taken; 3 mm is what edges are named in. Smaller ones serve pieces that
#: have no room for these anywhere: 2.5 mm, a size of ISO 3098 and well legible, goes first.
_HEIGHTS = ((7.0, 6.0, 5.0, 4.0, 3.0), (2.5,), (2.0,), (1.6,))
#: mm, between the block and the outline: clear of the edges' names, or on small pieces just clear of the line.
_CLEARANCES = (10.0, 4.0, 1.5)
_COLUMNS = (1, 2, 3)
_COLUMN_GAP = 2.5  # of a capital's height, between columns
_MARK_CLEAR = 4.0  # mm, between the block and a mark, where there is room
_APART = 1.0  # mm, between small letters and anything at all
_CHORD = 0.4  # mm: how near lines are followed; well below every clearance


def text_width(text: str, height: float) -> float:
    """Return the width of a line of text, mm, capitals `height` mm high."""
    return LETTER_WIDTH * height * len(text)


def letter_box(text: Lettering) -> "Polygon":
    """Return the box of a line of text as a shapely polygon, from its base line to its capitals' top."""
    from shapely import Polygon  # noqa: PLC0415 (heavy)

    x, y = text.at
    wide, tall = text_width(text.text, text.height), text.height
    c, s = cos(radians(text.angle)), sin(radians(text.angle))
    corners = ((0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall))
    return Polygon([(x + c * u - s * v, y + s * u + c * v) for u, v in corners])


class Room:
    """What is free of a piece; it shrinks as letters take their places."""

    def __init__(self, piece: Piece, notches: Sequence[NotchCut]) -> None:
        from shapely import MultiLineString  # noqa: PLC0415 (heavy)

        self._outline: BaseGeometry = polygon((edge.curve for edge in piece.edges), _CHORD)
        self._marks: BaseGeometry = MultiLineString(list(_marks(piece, notches)))
        self._taken: list[BaseGeometry] = []
        self._narrow: BaseGeometry | None = None  # clear of all but letters

    def within(self, clear: float) -> "BaseGeometry":
        """Return what lies so far, mm, from the outline, and clear of marks; letters apart."""
        inside = self._outline.buffer(-clear)
        return inside.difference(self._marks.buffer(min(clear, _MARK_CLEAR), quad_segs=4))

    def turns(self) -> Iterator[float]:
        """Yield angles at which a block may stand, degrees: level, along the piece, upright."""
        from shapely import get_coordinates, minimum_rotated_rectangle  # noqa: PLC0415

        yield 0.0
        corners = get_coordinates(minimum_rotated_rectangle(self._outline))
        long = max(np.diff(corners[:3], axis=0), key=lambda side: float(np.hypot(*side)))
        angle = float(np.degrees(np.arctan2(long[1], long[0])))
        angle = 90.5 - (90.5 - angle) % 180.0  # never upside down; upright ones are read upwards
        yield from (turn for turn in dict.fromkeys((round(angle, 3), 90.0)) if turn)

    def take(self, texts: Sequence[Lettering]) -> None:
        """Note that letters stand there."""
        self._taken += [letter_box(text) for text in texts]

    def first_free(self, candidates: Iterable[Lettering]) -> Lettering | None:
        """Return the first line of text that stands clear of everything; None where none does."""
        from shapely import prepare  # noqa: PLC0415 (heavy)

        if self._narrow is None:
            self._narrow = self.within(_APART)
            prepare(self._narrow)
        for text in candidates:
            area = letter_box(text)
            if self._narrow.contains(area) and not any(
                area.dwithin(other, _APART) for other in self._taken
            ):
                return text
        return None


def block(room: Room, lines: Sequence[str]) -> tuple[Lettering, ...]:
    """Place the block of lines: as large as it fits, level rather than along, in few columns.

    Nothing where not even letters of 1.6 mm have room.
    """
    from shapely import prepare  # noqa: PLC0415
    from shapely.affinity import rotate  # noqa: PLC0415

    turned: dict[tuple[float, float], BaseGeometry] = {}
    for heights in _HEIGHTS:
        for clear in _CLEARANCES:
            for angle in room.turns():
                if (clear, angle) not in turned:
                    inside = room.within(clear)
                    turned[clear, angle] = rotate(inside, -angle, origin=(0, 0))
                    prepare(turned[clear, angle])
                for columns in _COLUMNS:
                    placed = _placed(turned[clear, angle], lines, heights, (columns, angle))
                    if placed:
                        return placed
    return ()


def _placed(
    inside: "BaseGeometry",
    lines: Sequence[str],
    heights: Sequence[float],
    manner: tuple[int, float],
) -> tuple[Lettering, ...]:
    """Return the block at the first height that fits, its columns side by side, turned."""
    columns, angle = manner
    rows = -(-len(lines) // columns)
    parts = [lines[i : i + rows] for i in range(0, len(lines), rows)]
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    for height in heights:
        widths = [max(text_width(line, height) for line in part) for part in parts]
        wide = sum(widths) + _COLUMN_GAP * height * (len(parts) - 1)
        tall = height * (1 + LINE_HEIGHT * (rows - 1))
        place = _place(inside, wide, tall)
        if place is None:
            continue
        x, top = place
        found = []
        for part, width in zip(parts, widths, strict=True):
            for i, text in enumerate(part):
                y = top - height - i * LINE_HEIGHT * height
                at = (float(c * x - s * y), float(s * x + c * y)) if angle else (x, y)
                found.append(Lettering(text=text, at=at, height=height, angle=angle))
            x += width + _COLUMN_GAP * height
        return tuple(found)
    return ()


def _place(inside: "BaseGeometry", wide: float, tall: float) -> tuple[float, float] | None:
    """Return left end and top of a box that fits inside, nearest to the middle."""
    from shapely import box, contains  # noqa: PLC0415

    if inside.is_empty:
        return None
    left, bottom, right, top = inside.bounds
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


def _marks(piece: Piece, notches: Sequence[NotchCut]) -> Iterator[Array]:
    """Yield all that is drawn on a piece besides its outline, as polylines."""
    curves = [line.curve for line in piece.internal]
    if piece.grain is not None:
        curves += [piece.grain, *grain_heads(piece.grain)]
    if piece.fold:
        fold = piece[piece.fold].curve
        curves += fold_bracket(fold.start, fold.end)
    for hole in piece.drill_holes:
        curves += drill_cross(hole)
    for curve in curves:
        yield curve.flattened(_CHORD)
    for notch in notches:
        yield notch_shape(notch)
