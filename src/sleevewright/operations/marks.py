"""What is marked inside a piece, internal lines and drill holes: it lies on the cloth and goes where that goes."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import counted
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.intersect import intersections
from sleevewright.geometry.region import polygon
from sleevewright.operations.contract import Promise
from sleevewright.pattern import InternalLine, Pattern, Piece
from sleevewright.pattern.piece import Point

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

_AT_EDGE = 0.1  # mm; a mark so far outside lies on the edge, a bit of a line so short is left out
_WORTH_A_WORD = 20.0  # mm of an internal line; a shorter end was cut off at a new edge
_FAR = 1e4  # mm, further than any garment reaches


@dataclass(frozen=True, slots=True)
class Marks:
    """Internal lines and drill holes.

    Attributes:
        lines: in no order.
        holes: mm.
    """

    lines: tuple[InternalLine, ...] = ()
    holes: tuple[Point, ...] = ()

    @classmethod
    def of(cls, piece: Piece) -> "Marks":
        """Return those of a piece."""
        return cls(piece.internal, piece.drill_holes)

    def on(self, piece: Piece) -> Piece:
        """Return a piece with these marks instead of its own."""
        return replace(piece, internal=self.lines, drill_holes=self.holes)

    def __add__(self, other: "Marks") -> "Marks":
        return Marks(self.lines + other.lines, self.holes + other.holes)

    def transformed(self, affine: Affine) -> "Marks":
        """Return the marks moved."""
        lines = tuple(replace(m, curve=m.curve.transformed(affine)) for m in self.lines)
        holes = (affine.apply(hole) for hole in self.holes)
        return Marks(lines, tuple((float(x), float(y)) for x, y in holes))

    def within(self, outline: Iterable[Curve]) -> "Marks":
        """Return what lies within a closed outline; a line is cut where it crosses it."""
        import shapely  # noqa: PLC0415

        if not self.lines and not self.holes:
            return self
        border = tuple(outline)
        inside = polygon(border)
        about = inside.buffer(_AT_EDGE)
        lines: list[InternalLine] = []
        for mark in self.lines:
            if about.covers(shapely.LineString(mark.curve.flattened())):
                lines.append(mark)
                continue
            bits = _cut(mark.curve, border)
            lines += [
                replace(mark, curve=b) for b in bits if inside.covers(shapely.Point(*_middle(b)))
            ]
        return Marks(tuple(lines), tuple(h for h in self.holes if about.covers(shapely.Point(*h))))

    def beside(self, line: Curve) -> "tuple[Marks, Marks]":
        """Return what lies to the left of a straight line, looking along it, and to the right.

        The line has no ends; lines that cross it are cut there.
        """
        along = line.start_direction
        left = np.array([-along[1], along[0]])
        border = (Curve.line(line.start - _FAR * along, line.start + _FAR * along),)
        bits = [replace(m, curve=bit) for m in self.lines for bit in _cut(m.curve, border)]

        def on_left(point: Array) -> bool:
            return float((point - line.start) @ left) >= 0

        one, other = (
            Marks(
                tuple(bit for bit in bits if on_left(_middle(bit.curve)) is side),
                tuple(hole for hole in self.holes if on_left(np.array(hole)) is side),
            )
            for side in (True, False)
        )
        return one, other

    def shared(self, regions: "Sequence[BaseGeometry]", borders: Sequence[Curve]) -> "list[Marks]":
        """Return the marks of each region: all that is nearest to it.

        Args:
            regions: that lie beside one another.
            borders: between them, where lines are cut.
        """
        import shapely  # noqa: PLC0415

        def home(point: Array) -> int:
            at = shapely.Point(*point)
            return min(range(len(regions)), key=lambda k: regions[k].distance(at))

        lines: list[list[InternalLine]] = [[] for _ in regions]
        for mark in self.lines:
            for bit in _cut(mark.curve, borders):
                lines[home(_middle(bit))].append(replace(mark, curve=bit))
        holes: list[list[Point]] = [[] for _ in regions]
        for hole in self.holes:
            holes[home(np.array(hole))].append(hole)
        return [Marks(tuple(ls), tuple(hs)) for ls, hs in zip(lines, holes, strict=True)]


def shared_marks(piece: Piece, parts: Sequence[Piece]) -> list[Piece]:
    """Return the parts of a piece with its marks where they lie."""
    if not piece.internal and not piece.drill_holes:
        return [Marks().on(part) for part in parts]
    regions = [polygon(edge.curve for edge in part.edges) for part in parts]
    borders = [edge.curve for part in parts for edge in part.edges]
    found = Marks.of(piece).shared(regions, borders)
    return [marks.on(part) for marks, part in zip(found, parts, strict=True)]


def _cut(curve: Curve, borders: Sequence[Curve]) -> list[Curve]:
    """Return a curve cut where it crosses borders."""
    hits = {round(float(hit[0]), 3) for line in borders for hit in intersections(curve, line)}
    stations = [0.0, *sorted(hits), curve.length]
    if len(stations) == 2:
        return [curve]
    return [curve.between(a, b) for a, b in pairwise(stations) if b - a > _AT_EDGE]


def _middle(curve: Curve) -> Array:
    return curve.point_at(curve.length / 2)


def sleeve_marks_lost(before: Pattern) -> Iterator[Promise]:
    """Yield what is to be told where a sleeve is drafted anew and takes no mark of the old one."""
    marks = Marks.of(before["sleeve"])
    if count := len(marks.lines) + len(marks.holes):
        yield Promise(
            "marks on the sleeve kept", count, 0, 0, "sleeve",
            advice="the sleeve is drafted anew; what was marked on the block's is left out",
        )  # fmt: skip


def on_the_cloth(pattern: Pattern) -> tuple[Pattern, tuple[tuple[str, str], ...]]:
    """Return a pattern without marks that lie off its pieces, where cloth was cut away.

    Returns:
        The pattern; (piece, what is left out) for every piece that lost a hole or a whole line of 20 mm.
    """
    lost = []
    for piece in pattern.pieces:
        marks, outline = Marks.of(piece), tuple(edge.curve for edge in piece.edges)
        kept = marks.within(outline)
        if kept == marks:
            continue
        pattern = pattern.with_pieces([kept.on(piece)])
        holes = len(marks.holes) - len(kept.holes)
        long = [line for line in marks.lines if line.curve.length > _WORTH_A_WORD]
        lines = sum(not Marks((line,)).within(outline).lines for line in long)
        if holes or lines:
            what = ((holes, "drill hole"), (lines, "internal line"))
            lost.append((piece.name, " and ".join(counted(n, word) for n, word in what if n)))
    return pattern, tuple(lost)
