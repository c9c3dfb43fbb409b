"""`panels`: a piece cut along style lines, or into equal panels."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.operations.asking import asked_edges, asked_piece
from sleevewright.operations.contract import (
    Count,
    Length,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
    settings,
)
from sleevewright.operations.cutting import Cut, Spot, cut_piece
from sleevewright.operations.renaming import renamed
from sleevewright.pattern import Edge, Notch, Pattern, Piece, Role

Array = NDArray[np.float64]

_APART = 175.0  # mm between balance notches; common practice: 150 to 200
_AT_CORNER = 3.0  # mm; a line that ends so near to a corner ends at it
_LEAN = 0.92  # notches stand a little towards one end, so that no panel can be set in reversed


@settings
class StyleLine:
    """Where a style line runs: from a part of one edge to a part of another."""

    start: Annotated[str, about("edge or role that it begins on")]
    start_at: Annotated[
        Ratio, about("where, as a part of its length from its start", at_least=0.02, at_most=0.98)
    ] = 0.5
    end: Annotated[str, about("edge or role that it ends on")]
    end_at: Annotated[
        Ratio, about("where, as a part of its length from its start", at_least=0.02, at_most=0.98)
    ] = 0.5
    bow: Annotated[
        Length, about("how far it bows to the left of its way", at_least=-150, at_most=150)
    ] = 0.0


@operation
class Panels:
    """Cut a piece into panels, along style lines or equally between two edges.

    Both edges of a new seam are the same curve; balance notches stand some 175 mm apart, leaning
    to one end so that a panel cannot be set in upside down (common practice).
    """

    piece: Annotated[str, about("the piece")] = "sleeve"
    lines: Annotated[tuple[StyleLine, ...], about("the style lines, in order round the piece")] = ()
    count: Annotated[
        Count | None, about("equal panels instead of lines", at_least=2, at_most=12)
    ] = None
    start: Annotated[str, about("edge that equal panels begin on")] = "wrist"
    end: Annotated[str, about("edge that equal panels run to")] = "cap"

    def apply(self, pattern: Pattern) -> Pattern:
        """Cut along every line."""
        piece = asked_piece(pattern, self.piece)
        ways = self._ways(piece)
        for i, way in enumerate(ways):
            rest = pattern[self.piece]
            cut = Cut(
                start=_spot_at(rest, way.start), line=way, end=_spot_at(rest, way.end),
                seam=f"{self.piece} style {i + 1}",
            )  # fmt: skip
            names = (self.piece, f"{self.piece}_{i + 1}")
            pattern = with_balance_notches(cut_piece(pattern, self.piece, cut, names), cut.seam)
        return renamed(pattern, self.piece, f"{self.piece}_{len(ways) + 1}")

    def _ways(self, piece: Piece) -> list[Curve]:
        """Return the lines in the order of their beginnings round the piece."""
        if (self.count is None) == (not self.lines):
            raise OperationError("panels wants either lines or count")
        if self.count is None:
            found = [_way(piece, line) for line in self.lines]
        else:
            n = self.count
            one, other = (Run(asked_edges(piece, name)) for name in (self.start, self.end))
            found = [
                (one.place(k / n), Curve.line(one.point(k / n), other.point(1 - k / n)))
                for k in range(1, n)
            ]
        return [way for _, way in sorted(found, key=lambda item: self._order(piece, item[0]))]

    def _order(self, piece: Piece, place: tuple[str, float]) -> tuple[int, float]:
        return [edge.name for edge in piece.edges].index(place[0]), place[1]

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Areas and edges add up to what they were, and both edges of a seam are equal."""
        was = before[self.piece]
        count = self.count or len(self.lines) + 1
        parts = [after[f"{self.piece}_{i + 1}"] for i in range(count)]
        yield Promise("areas of the panels", was.area, sum(p.area for p in parts), 0.1, self.piece)
        for role in sorted({edge.role for edge in was.edges} - {Role.STYLE_SEAM}):
            got = sum(part.length(role) for part in parts)
            yield Promise(f"{role} in sum", was.length(role), got, 0.001, self.piece)
        for i in range(count - 1):
            seam = after.seam(f"{self.piece} style {i + 1}")
            one, other = (after.side_length(side) for side in (seam.first, seam.second))
            yield Promise("both edges of the seam", one, other, 0.001, seam.name)


class Run:
    """Neighbouring edges, walked as one from the first one's start."""

    def __init__(self, edges: tuple[Edge, ...]) -> None:
        """Take edges in outline order."""
        self.edges = edges
        self.length = sum(edge.length for edge in edges)

    def place(self, part: float) -> tuple[str, float]:
        """Return (edge name, station) at a part of the run; at a corner where one is near."""
        station = part * self.length
        for edge in self.edges:
            if station <= edge.length + _AT_CORNER or edge is self.edges[-1]:
                if station > edge.length - _AT_CORNER:
                    return edge.name, edge.length
                return edge.name, station if station > _AT_CORNER else 0.0
            station -= edge.length
        raise AssertionError("a run has edges")

    def point(self, part: float) -> Array:
        """Return the point at a part of the run, shape (2,), mm."""
        name, station = self.place(part)
        edge = next(e for e in self.edges if e.name == name)
        return edge.curve.point_at(station)


def _way(piece: Piece, line: StyleLine) -> tuple[tuple[str, float], Curve]:
    one, other = (Run(asked_edges(piece, name)) for name in (line.start, line.end))
    a, b = one.point(line.start_at), other.point(line.end_at)
    run = b - a
    size = float(np.hypot(*run))
    if size < 20.0:
        raise OperationError(
            f"a style line of {piece.name} from {line.start} to {line.end} is {size:.1f} mm long;"
            " 20 mm at the least"
        )
    # A cubic with both handles moved by 4/3 of the bow stands off by just the bow in its middle.
    off = 4 / 3 * line.bow * np.array([-run[1], run[0]]) / size
    curve = Curve.cubic(a, a + run / 3 + off, b - run / 3 + off, b)
    return one.place(line.start_at), curve


def _spot_at(piece: Piece, point: Array) -> Spot:
    """Return the spot of the outline at a point.

    Raises:
        OperationError: the point is on another panel by now.
    """
    found = [(*edge.curve.nearest(point)[::-1], edge.name) for edge in piece.edges]
    distance, station, name = min(found)
    if distance > 1e-3:
        raise OperationError(
            f"two style lines of {piece.name} cross one another; lines may not cross"
        )
    return Spot(name, station)


def with_balance_notches(pattern: Pattern, seam_name: str) -> Pattern:
    """Return the pattern with notches on both edges of a seam of two equal edges."""
    seam = pattern.seam(seam_name)
    length = pattern.side_length(seam.first)
    if length < 60.0:
        return pattern
    count = max(1, round(length / _APART) - 1)
    for use in seam.uses:
        piece = pattern[use.piece]
        edge = piece[use.edge]
        for k in range(count):
            at = _LEAN * length * (k + 1) / (count + 1)
            station = edge.length - at if use.backwards else at
            edge = edge.with_notch(Notch(at=station, name=f"{seam_name} {k + 1}"))
        pattern = pattern.with_pieces([replace(piece.with_edges([edge]), finish=None)])
    return pattern
