"""Small blends at the ends of hems and wrists, so that they run on smoothly over their seams.

Where a seam ends at a hem or wrist, the two hem edges must add up to a straight line when sewn, or
the finished edge has a point or a dip there. Each end takes half of what is missing. The corner goes along
the seam, on both pieces alike, so that the edge bends one way only, most at the seam and fading: a hem is
turned up along it. Where the corner must stay (the edge is sewn to something, or is near a notch),
the turn is taken over the last 40 mm between fixed ends. A blend that would move the edge by more than
3 mm is left alone; the check reports it.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.pattern import Edge, Pattern, Piece, Role, Seam
from sleevewright.pattern.junctions import CrossingEnd, Junction, seam_ends

#: degrees. Smaller errors are left; larger ones are no matter of blending.
LEFT_ALONE, TOO_MUCH = 0.1, 24.0
#: mm. Over how much of an edge a turn is taken: its corner kept, and its corner moved.
BLEND, FADING = 40.0, 60.0
MOST_MOVED = 3.0
#: mm. A corner that would move less stays; and this far from a seam's end there is no notch.
LEAST_MOVED, CLEAR = 0.2, 15.0

_FREE = (Role.HEM, Role.WRIST)


@dataclass(frozen=True, slots=True)
class _Turn:
    """How an end of an edge is blended.

    Attributes:
        wider: by how much its interior angle grows, degrees.
        part: over how much of the edge, mm.
        out: how far the corner goes out along its seam, mm; negative is into the piece.
    """

    wider: float
    part: float
    out: float


def trued(pattern: Pattern) -> Pattern:
    """Blend hem and wrist ends; facts `truing.<piece>_mm` say how far an edge moved at most."""
    moved: dict[str, float] = {}
    for seam in pattern.seams:
        pattern = _trued_seam(pattern, seam, moved)
    facts = [(f"truing.{name}_mm", value) for name, value in sorted(moved.items())]
    return pattern.with_facts(facts)


def _trued_seam(pattern: Pattern, seam: Seam, moved: dict[str, float]) -> Pattern:
    for junction in seam_ends(pattern, seam):
        ends = junction.crossing
        if any(end.edge.role not in _FREE for end in ends):
            continue
        missing = 180.0 - sum(end.angle for end in ends)
        if not LEFT_ALONE < abs(missing) < TOO_MUCH:
            continue
        turn = _faded(pattern, junction, missing / 2)
        # Both corners move, or none: the seam's sides stay equally long.
        if turn is not None and all(_turned(pattern, end, turn)[1] <= MOST_MOVED for end in ends):
            turns = [turn, turn]
        else:
            parts = (min(BLEND, 0.45 * end.edge.length) for end in ends)
            turns = [_Turn(missing / 2, part, 0.0) for part in parts]
        for end, each in zip(ends, turns, strict=True):
            blended, far = _turned(pattern, end, each)
            if far <= MOST_MOVED:
                moved[end.piece] = max(moved.get(end.piece, 0.0), far)
                pattern = pattern.with_pieces([blended])
    return pattern


def _turned(pattern: Pattern, end: CrossingEnd, turn: _Turn) -> tuple[Piece, float]:
    """Return a piece with an end blended, and how far its edge moved, mm.

    The piece is read anew: both ends of one hem may be blended in turn.
    """
    piece = pattern[end.piece]
    edge = piece[end.edge.name]
    blended = _blended(piece, edge, end.at_start, turn)
    return blended, _farthest(edge.curve, blended[edge.name].curve)


def _faded(pattern: Pattern, junction: Junction, wider: float) -> _Turn | None:
    """Return the turn for both ends with their corners moved; None where a corner must stay.

    With a bend that grows evenly towards the corner, that moves by a third of the blend times the turn.
    """
    ends = junction.crossing
    angle = math.radians(abs(wider))
    part = min(FADING, MOST_MOVED * 3 / angle, *(0.45 * end.edge.length for end in ends))
    out = angle * part / 3
    if out < LEAST_MOVED or not all(_may_move(pattern, end) for end in ends):
        return None
    return _Turn(wider, part, -math.copysign(out * 0.999, wider))  # inside the limit, not on it


def _may_move(pattern: Pattern, end: CrossingEnd) -> bool:
    """Whether a corner may go along its seam: its edge is sewn to nothing, and no notch is near."""
    if any((u.piece, u.edge) == (end.piece, end.edge.name) for s in pattern.seams for u in s.uses):
        return False
    seam = _beside(pattern[end.piece], end.edge.name, end.at_start)
    room = [n.at if not end.at_start else seam.length - n.at for n in seam.notches]
    return min([seam.length, *room]) > CLEAR


def _beside(piece: Piece, name: str, at_start: bool) -> Edge:
    """Return the edge that meets an end of another."""
    return piece.neighbours(name)[0 if at_start else 1]


def _blended(piece: Piece, edge: Edge, at_start: bool, turn: _Turn) -> Piece:
    """Return a piece one of whose edges has a wider interior angle at one end."""
    changed = []
    curve = edge.curve if at_start else edge.curve.reversed
    corner = curve.start
    if turn.out:
        seam = _beside(piece, edge.name, at_start)
        longer = _with_end_moved(seam, turn.out, at_start=not at_start)
        corner = longer.curve.end if at_start else longer.curve.start
        changed.append(longer)
    rest = curve.between(turn.part, curve.length)
    # Wider at the start of a counter-clockwise edge: turn its first direction clockwise.
    way = Affine.rotation(-turn.wider if at_start else turn.wider).apply(curve.start_direction)
    blend = fair_curve(corner, rest.start, way, rest.start_direction)
    whole = Curve.joined([blend, rest])
    change = whole.length - curve.length
    new = whole if at_start else whole.reversed
    shifted = tuple(
        replace(n, at=n.at + change) if at_start and n.at > turn.part else n for n in edge.notches
    )
    return piece.with_edges([*changed, replace(edge, curve=new, notches=shifted)])


def _with_end_moved(edge: Edge, by: float, *, at_start: bool) -> Edge:
    """Return an edge run straight on at an end, or cut off there where `by` is negative, mm."""
    curve = edge.curve.reversed if at_start else edge.curve
    if by > 0:
        new = Curve.joined([curve, Curve.line(curve.end, curve.end + by * curve.end_direction)])
    else:
        new = curve.between(0.0, curve.length + by)
    notches = tuple(replace(n, at=n.at + by) for n in edge.notches) if at_start else edge.notches
    return replace(edge, curve=new.reversed if at_start else new, notches=notches)


def _farthest(old: Curve, new: Curve) -> float:
    return max(old.nearest(p)[1] for p in new.point_at(np.linspace(0, new.length, 41)))
