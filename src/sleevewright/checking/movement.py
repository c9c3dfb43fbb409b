"""Ease of movement: how the arm can be lifted, as numbers for the report.

Formulas: the angle at which a sleeve lies flat is that of the triangle of cap height over biceps
half width, atan(cap height / half width) below the horizontal (the drafting
triangle; a plausibility figure, good to some 15 %). The underarm length is side seam plus
underarm seam, which the lifted arm needs.
"""

import math

from sleevewright.pattern import Pattern, Role, measurements


def movement(pattern: Pattern, before: Pattern) -> dict[str, float]:
    """Return figures by name; names end in their unit (_mm, _deg, _ratio).

    What a result does not have is left out: a raglan has no armhole of its own, a kimono no cap.

    Args:
        pattern: the result.
        before: the block, whose set-in sleeve a raglan's cap height comes from.
    """
    now, was, facts = measurements(pattern), measurements(before), dict(pattern.facts)
    raglan = any(piece.has(Role.RAGLAN_SEAM) for piece in pattern.pieces)
    found: dict[str, float] = {}
    for key, names in (
        ("movement.biceps_mm", ("biceps",)),
        ("movement.underarm_length_front_mm", ("side_seam_front", "underarm_seam_front")),
        ("movement.underarm_length_back_mm", ("side_seam_back", "underarm_seam_back")),
        ("movement.overarm_length_mm", ("overarm_seam_front",)),
    ):
        if all(name in now for name in names):
            found[key] = sum(now[name] for name in names)
    cap, armhole = now.get("cap_height"), now.get("armhole")
    if raglan:
        cap = was.get("cap_height", 0.0) - facts.get("raglan.crown_lowered_mm", 0.0)
        cap = facts.get("raglan_angle.cap_height_mm", cap)
        armhole = was.get("armhole")
    elif armhole:
        found["movement.armhole_girth_mm"] = armhole
    if cap:
        found["movement.cap_height_mm"] = cap
        if armhole:
            found["movement.cap_to_armhole_ratio"] = cap / armhole
        if width := now.get("biceps"):
            found["movement.flat_angle_deg"] = math.degrees(math.atan2(cap, width / 2))
    if "kimono.overarm_angle_deg" in facts:
        found["movement.flat_angle_deg"] = facts["kimono.overarm_angle_deg"]
    return found
