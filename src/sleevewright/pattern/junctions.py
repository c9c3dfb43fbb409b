"""Where seams end: which edges run on across the seam there, and at what angle they meet it.

At each end of a seam both pieces have a corner; the edge that is not the seam's is the one that
runs on across it when it is sewn (hem into hem, neckline into neckline). Where it belongs to a
dart, or where both runs are of the same piece end (a dart tip), nothing runs on.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sleevewright.pattern.pattern import EdgeUse, Pattern, Seam
from sleevewright.pattern.piece import Edge
from sleevewright.pattern.roles import Role


@dataclass(frozen=True, slots=True)
class CrossingEnd:
    """An edge that runs on across a seam.

    Attributes:
        piece: its piece.
        edge: the edge.
        at_start: whether it meets the seam with its start (outline order).
        angle: interior angle of the piece between it and the seam, degrees.
    """

    piece: str
    edge: Edge
    at_start: bool
    angle: float


@dataclass(frozen=True, slots=True)
class Junction:
    """One end of a seam.

    Attributes:
        seam: its name.
        at_start: whether it is the end from which the seam is walked.
        crossing: the edges that run on across it, of the first and of the second side.
    """

    seam: str
    at_start: bool
    crossing: tuple[CrossingEnd, CrossingEnd]


def seam_ends(pattern: Pattern, seam: Seam) -> Iterator[Junction]:
    """Yield the ends of a seam at which edges run on across it."""
    for at_start in (True, False):
        ends = []
        for side in (seam.first, seam.second):
            found = _crossing(pattern, side[0] if at_start else side[-1], at_start)
            if found is not None:
                ends.append(found)
        if len(ends) == 2 and not _is_tip(ends):
            yield Junction(seam.name, at_start, (ends[0], ends[1]))


def _is_tip(ends: list[CrossingEnd]) -> bool:
    """A dart tip: the other leg is what seems to run on."""
    return all(end.edge.role is Role.DART_LEG for end in ends) and ends[0].piece == ends[1].piece


def _crossing(pattern: Pattern, use: EdgeUse, at_start: bool) -> CrossingEnd | None:
    piece = pattern[use.piece]
    edge = piece[use.edge]
    before, after = piece.neighbours(use.edge)
    # Walked with the outline the seam's start is the edge's start; its corner is with `before`.
    corner_at_start = at_start is not use.backwards
    other = before if corner_at_start else after
    into, out = (other, edge) if corner_at_start else (edge, other)
    return CrossingEnd(use.piece, other, not corner_at_start, interior_angle(into, out))


def interior_angle(into: Edge, out: Edge) -> float:
    """Return the interior angle of a counter-clockwise outline between two edges, degrees."""
    u, v = into.curve.end_direction, out.curve.start_direction
    return 180.0 - math.degrees(math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v)))
