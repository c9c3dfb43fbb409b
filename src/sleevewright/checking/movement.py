"""Ease of movement: how the arm can be lifted, as numbers for the report.

Formulas: the angle at which a sleeve lies flat is that of the triangle of cap height over biceps
half width, atan(cap height / half width) below the horizontal (TRADE-NOTES 2.4, the drafting
triangle; a plausibility figure, good to some 15 %). The underarm length is side seam plus
underarm seam, which the lifted arm needs.
"""

import math

from sleevewright.pattern import Pattern, measurements


def movement(pattern: Pattern, before: Pattern) -> dict[str, float]:
    """Return figures by name; names end in their unit (_mm, _deg, _ratio).

    Args:
        pattern: the result.
        before: the block, whose set-in sleeve has the cap height.
    """
    now, was = measurements(pattern), measurements(before)
    found: dict[str, float] = {}
    for key, names in (
        ("movement.armhole_girth_mm", ("armhole",)),
        ("movement.biceps_mm", ("biceps",)),
        ("movement.cap_height_mm", ("cap_height",)),
        ("movement.underarm_length_front_mm", ("side_seam_front", "underarm_seam_front")),
        ("movement.underarm_length_back_mm", ("side_seam_back", "underarm_seam_back")),
        ("movement.overarm_length_mm", ("overarm_seam_front",)),
    ):
        source = now if all(n in now for n in names) else was
        if all(n in source for n in names):
            found[key] = sum(source[n] for n in names)
    cap, armhole, biceps = (was.get(n) for n in ("cap_height", "armhole", "biceps"))
    if cap and armhole:
        lowered = dict(pattern.facts).get("raglan.crown_lowered_mm", 0.0)
        found["movement.cap_height_mm"] = cap - lowered
        found["movement.cap_to_armhole_ratio"] = (cap - lowered) / armhole
        width = now.get("biceps", biceps) or 0.0
        if width:
            found["movement.flat_angle_deg"] = math.degrees(math.atan2(cap - lowered, width / 2))
    return found
