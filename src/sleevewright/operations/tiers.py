"""`tiers`: a piece cut across into levels, each gathered onto the one above it."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.geometry.intersect import intersections
from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import (
    Count,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
)
from sleevewright.operations.cutting import Cut, Spot, cut_piece
from sleevewright.operations.marks import Marks
from sleevewright.operations.renaming import renamed
from sleevewright.operations.sleeves import biceps_level, sleeve_axis
from sleevewright.pattern import Edge, Notch, Pattern, Piece, Role

Array = NDArray[np.float64]

_SHORTEST = 30.0  # mm; a tier lower than that is a frill
_QUARTERS = (0.25, 0.5, 0.75)
_SIDES = (Role.UNDERARM_SEAM, Role.OVERARM_SEAM, Role.SIDE_SEAM, Role.CENTRE)


@operation
class Tiers:
    """Cut a sleeve or half bodice across into tiers, each wider than the one above by a ratio.

    Heights are kept; each tier's top is the lower edge of the tier above times the ratio and is
    gathered onto it, so that widths multiply downwards. Quarter notches.
    """

    count: Annotated[
        Count, about("tiers, the upper part of the piece included", at_least=2, at_most=6)
    ]
    ratio: Annotated[
        Ratio, about("of each tier's top to the edge above it", at_least=1, at_most=4)
    ] = 1.5
    piece: Annotated[str, about("the piece")] = "sleeve"
    begin: Annotated[
        Literal["top", "elbow"],
        about("where tiers are counted from: biceps line (armhole, on a bodice), or half way down"),
    ] = "top"

    def apply(self, pattern: Pattern) -> Pattern:
        """Cut across at every level, then widen tier by tier."""
        piece = asked_piece(pattern, self.piece)
        if any(dart.on in (*_SIDES, Role.HEM, Role.WRIST) for dart in piece.darts()):
            raise OperationError(
                f"a dart of {piece.name} is where it would be cut into tiers; move it or put tiers first"
            )
        up = sleeve_axis(piece) if piece.has(Role.WRIST) else piece.up
        for k, level in enumerate(self._levels(piece, up)):
            pattern = _cut_across(pattern, self.piece, level, up, k + 1)
        pattern = renamed(pattern, self.piece, f"{self.piece}_tier_{self.count}")
        width = 0.0
        for k in range(1, self.count + 1):
            pattern, width = _widened(pattern, f"{self.piece}_tier_{k}", up, self._top(k, width))
        for k in range(1, self.count):
            pattern = _gathered(pattern, f"{self.piece} tier {k + 1}")
        return pattern

    def _top(self, k: int, above: float) -> float | None:
        return None if k == 1 else self.ratio * above

    def _levels(self, piece: Piece, up: Array) -> list[float]:
        """Return the heights of the cuts along the grain, from above, mm."""
        low = min(float(min(e.curve.start @ up, e.curve.end @ up)) for e in piece.edges)
        if piece.has(Role.WRIST):
            top = biceps_level(piece)
        elif piece.has(Role.SIDE_SEAM):
            top = max(
                float(max(e.curve.start @ up, e.curve.end @ up))
                for e in piece.with_role(Role.SIDE_SEAM)
            )
        else:
            raise OperationError(
                f"{piece.name} has neither a wrist nor a side seam to count tiers on"
            )
        if self.begin == "elbow":
            top = (top + low) / 2
        parts = self.count if self.begin == "top" else self.count - 1
        first = 1 if self.begin == "top" else 0
        height = (top - low) / parts
        if height < _SHORTEST:
            raise OperationError(
                f"{self.count} tiers on {piece.name} would be {height:.0f} mm high;"
                f" {_SHORTEST:.0f} mm at the least"
            )
        return [top - height * k for k in range(first, parts)]

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Each tier is gathered by the ratio; heights and the seams beside it are kept."""
        was = before[self.piece]
        tiers = [after[f"{self.piece}_tier_{k + 1}"] for k in range(self.count)]
        for k in range(2, self.count + 1):
            seam = after.seam(f"{self.piece} tier {k}")
            one, other = (after.side_length(side) for side in (seam.first, seam.second))
            yield Promise(f"tier {k} to the tier above", self.ratio, one / other, 0.01, seam.name)
        for role in _SIDES:
            if was.has(role):
                got = sum(tier.length(role) for tier in tiers)
                yield Promise(f"{role} in sum", was.length(role), got, 0.01, self.piece)


def _cut_across(pattern: Pattern, name: str, level: float, up: Array, number: int) -> Pattern:
    """Cut the lowest part of a piece at a level; the upper part is a tier of its own."""
    piece = pattern[name]
    across = np.array([up[1], -up[0]])
    middle = level * up
    line = Curve.line(middle - 5000.0 * across, middle + 5000.0 * across)
    hits = [
        (edge, float(at), float(edge.curve.point_at(at) @ across))
        for edge in piece.edges
        for at, _ in intersections(edge.curve, line)
    ]
    if len(hits) != 2 or any(edge.role not in _SIDES for edge, _, _ in hits):
        raise OperationError(
            f"a tier of {name} cannot be cut across there: the line would meet"
            f" {', '.join(edge.name for edge, _, _ in hits) or 'nothing'} instead of the two seams"
        )
    # From right to left, so that the part above is the one that runs from the start to the end.
    right, left = sorted(hits, key=lambda hit: -hit[2])
    points = [edge.curve.point_at(at) for edge, at, _ in (right, left)]
    cut = Cut(
        start=Spot(right[0].name, right[1]),
        line=Curve.line(*points),
        end=Spot(left[0].name, left[1]),
        seam=f"{name} tier {number + 1}",
    )
    return cut_piece(pattern, name, cut, (f"{name}_tier_{number}", name))


def _widened(pattern: Pattern, name: str, up: Array, wanted: float | None) -> tuple[Pattern, float]:
    """Return the pattern with a tier whose top has a length, and the length of its lower edge.

    The seams beside it are moved apart, straight across the grain; one on the fold stays.
    """
    tier = pattern[name]
    across = np.array([up[1], -up[0]])
    level = {e.name: float((e.curve.start + e.curve.end) @ up) / 2 for e in tier.edges}
    flat = [e for e in tier.edges if e.role not in _SIDES]
    if wanted is not None and len(flat) > 2:
        raise OperationError(
            f"a tier's edge is in parts ({', '.join(e.name for e in flat)}); put tiers before the step"
            " that parted it"
        )
    bottom = min(flat, key=lambda e: level[e.name])
    if wanted is None:
        return pattern, bottom.length
    top = max(flat, key=lambda e: level[e.name])
    extra = wanted - top.length
    fixed = tier.fold
    sides = [e for e in tier.edges if e.role in _SIDES]
    centre = float(np.mean([(e.curve.start + e.curve.end) @ across / 2 for e in sides]))

    def moved(edge: Edge) -> float:
        away = extra / 2 if not fixed else extra * (edge.name != fixed)
        right = float((edge.curve.start + edge.curve.end) @ across) / 2 > centre
        return away if right else -away

    shift = {e.name: moved(e) * across for e in sides}
    middle = centre * across
    marks = Marks()
    for part, edge in zip(
        Marks.of(tier).beside(Curve.line(middle, middle + up)),  # left of it first
        sorted(sides, key=lambda e: float((e.curve.start + e.curve.end) @ across)),
        strict=True,
    ):
        marks += part.transformed(Affine.translation(shift[edge.name]))
    edges = []
    for edge in tier.edges:
        if edge.name in shift:
            edges.append(edge.transformed(Affine.translation(shift[edge.name])))
            continue
        before, after = tier.neighbours(edge.name)
        edges.append(_opened(edge, shift[before.name], shift[after.name]))
    try:
        piece = replace(tier, edges=tuple(edges), finish=None)
    except ValueError:
        raise OperationError(
            f"{name} cannot be drawn {wanted / 10:.0f} cm wide; take a smaller ratio or fewer tiers"
        ) from None
    return pattern.with_pieces([marks.on(piece)]), piece[bottom.name].length


def _opened(edge: Edge, start: Array, end: Array) -> Edge:
    """Return an edge whose ends move so far: its end quarters move along, the middle is drawn anew."""
    quarter = edge.length / 4
    head = edge.curve.between(0.0, quarter).transformed(Affine.translation(start))
    tail = edge.curve.between(3 * quarter, edge.length).transformed(Affine.translation(end))
    middle = fair_curve(head.end, tail.start, head.end_direction, tail.start_direction)
    curve = Curve.joined([head, middle, tail])
    grown = curve.length - edge.length
    notches = tuple(
        replace(n, at=n.at + grown * min(max((n.at - quarter) / (2 * quarter), 0.0), 1.0))
        for n in edge.notches
    )
    return replace(edge, curve=curve, notches=notches)


def _gathered(pattern: Pattern, seam_name: str) -> Pattern:
    """Note the ratio on a seam, its fuller side first, and mark quarters on both."""
    seam = pattern.seam(seam_name)
    if pattern.side_length(seam.first) < pattern.side_length(seam.second):
        seam = replace(seam, first=seam.second, second=seam.first)
    ratio = pattern.side_length(seam.first) / pattern.side_length(seam.second)
    if ratio > 1.0 + 1e-9:
        seam = replace(seam, gather=ratio)
    for use in seam.uses:
        edge = pattern[use.piece][use.edge]
        for k, part in enumerate(_QUARTERS):
            at = edge.length * (1 - part if use.backwards else part)
            edge = edge.with_notch(Notch(at=at, name=f"{seam_name} {k + 1}"))
        pattern = pattern.with_pieces([pattern[use.piece].with_edges([edge])])
    seams = tuple(seam if s.name == seam_name else s for s in pattern.seams)
    return replace(pattern, seams=seams)
