"""Small blends at the ends of hems and wrists, so that they run on smoothly over their seams.

Where a seam ends at a hem or wrist, the two hem edges must add up to a straight line when sewn, or
the finished edge has a point or a dip there. Each end takes half of what is missing, over the
last 40 mm. A blend that would move the edge by more than 3 mm is left alone; the check reports it.
"""

from dataclasses import replace

import numpy as np

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.pattern import Edge, Pattern, Role, Seam
from sleevewright.pattern.junctions import seam_ends

#: degrees. Smaller errors are left; larger ones are no matter of blending.
LEFT_ALONE, TOO_MUCH = 0.1, 24.0
#: mm.
BLEND = 40.0
MOST_MOVED = 3.0

_FREE = (Role.HEM, Role.WRIST)


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
        for end in ends:
            # Read the piece anew: both ends of one hem may be blended in turn.
            piece = pattern[end.piece]
            edge = piece[end.edge.name]
            blended = _blended(edge, end.at_start, missing / 2)
            far = _farthest(edge.curve, blended.curve)
            if far <= MOST_MOVED:
                moved[end.piece] = max(moved.get(end.piece, 0.0), far)
                pattern = pattern.with_pieces([piece.with_edges([blended])])
    return pattern


def _blended(edge: Edge, at_start: bool, wider: float) -> Edge:
    """Return an edge whose interior angle at one end is wider by some degrees."""
    curve = edge.curve if at_start else edge.curve.reversed
    part = min(BLEND, 0.45 * curve.length)
    rest = curve.between(part, curve.length)
    # Wider at the start of a counter-clockwise edge: turn its first direction clockwise.
    turn = Affine.rotation(-wider if at_start else wider)
    blend = fair_curve(
        curve.start, rest.start, turn.apply(curve.start_direction), rest.start_direction
    )
    whole = Curve.joined([blend, rest])
    change = whole.length - curve.length
    new = whole if at_start else whole.reversed
    shifted = tuple(
        replace(n, at=n.at + change) if at_start and n.at > part else n for n in edge.notches
    )
    return replace(edge, curve=new, notches=shifted)


def _farthest(old: Curve, new: Curve) -> float:
    return max(old.nearest(p)[1] for p in new.point_at(np.linspace(0, new.length, 41)))
