"""Named measurements of a pattern, mm: what recipes may compute with and reports list.

Names end in the half where there are two (`armhole_front`). Body terms follow ISO 8559 where it
has one; the rest are the trade's. Lengths are on the sewing line, with darts folded.
"""

import numpy as np

from sleevewright.pattern.pattern import Pattern
from sleevewright.pattern.piece import Piece
from sleevewright.pattern.roles import Role, Side

_BODICE = (
    ("neckline", Role.NECKLINE),
    ("shoulder", Role.SHOULDER),
    ("armhole", Role.ARMHOLE),
    ("side_seam", Role.SIDE_SEAM),
    ("hem", Role.HEM),
    ("centre", Role.CENTRE),
    ("raglan_seam", Role.RAGLAN_SEAM),
)
#: Edges of a sleeve that is cut in one with its bodice.
_IN_ONE = (("underarm_seam", Role.UNDERARM_SEAM), ("overarm_seam", Role.OVERARM_SEAM))
_SLEEVE = (
    ("cap", Role.CAP),
    ("underarm_seam", Role.UNDERARM_SEAM),
    ("overarm_seam", Role.OVERARM_SEAM),
    ("sleeve_raglan_seam", Role.RAGLAN_SEAM),
    ("sleeve_neckline", Role.NECKLINE),
)


def measurements(pattern: Pattern) -> dict[str, float]:
    """Return every measurement that the pieces of this pattern have, name -> mm."""
    found: dict[str, float] = {}
    for side in Side:
        if side.value in pattern:
            _measure_bodice(pattern[side.value], side, found)
            for name, role in _IN_ONE:
                _add(found, f"{name}_{side}", pattern[side.value].length(role))
    sleeves = [p for p in pattern.pieces if p.name not in ("front", "back")]
    for side in Side:
        for name, role in _SLEEVE:
            _add(found, f"{name}_{side}", sum(p.length(role, side) for p in sleeves))
    _add(found, "wrist", sum(p.length(Role.WRIST) for p in sleeves))
    _measure_sleeve_across(sleeves, found)
    for name in ("armhole", "cap", "neckline"):
        if f"{name}_front" in found and f"{name}_back" in found:
            found[name] = found[f"{name}_front"] + found[f"{name}_back"]
    if "armhole" in found and "cap" in found:
        found["cap_ease"] = found["cap"] - found["armhole"]
    return dict(sorted(found.items()))


def _add(found: dict[str, float], name: str, value: float) -> None:
    if value > 0:
        found[name] = float(value)


def _measure_bodice(piece: Piece, side: Side, found: dict[str, float]) -> None:
    for name, role in _BODICE:
        _add(found, f"{name}_{side}", piece.length(role))
    armhole, side_seam = piece.with_role(Role.ARMHOLE), piece.with_role(Role.SIDE_SEAM)
    if armhole and side_seam and piece.has(Role.SHOULDER):
        tip, under = armhole[0].curve.start, armhole[-1].curve.end
        if side is Side.BACK:
            tip, under = under, tip
        _add(found, f"armhole_depth_{side}", float((tip - under) @ piece.up))


def _measure_sleeve_across(sleeves: list[Piece], found: dict[str, float]) -> None:
    """Biceps (between the underarm points, square to the grain), cap height, sleeve length."""
    width = 0.0
    for piece in sleeves:
        if not (piece.has(Role.CAP) or piece.has(Role.RAGLAN_SEAM)):
            continue  # a lower tier, a cuff, a facing
        under = [
            e.curve.end if e.side is Side.FRONT else e.curve.start
            for e in piece.with_role(Role.UNDERARM_SEAM)
        ]
        if not under:
            return
        up = piece.up
        across = np.array([up[1], -up[0]])
        points = np.concatenate([e.curve.controls[:, [0, 3]].reshape(-1, 2) for e in piece.edges])
        heights, places = points @ up, [float(p @ across) for p in under]
        if len(under) == 2:
            width += max(places) - min(places)
        else:
            seam = piece.with_role(Role.OVERARM_SEAM)
            if seam:
                width += _reach_at(seam[0].curve.flattened(0.1), up, across, under[0])
        level = float(np.mean([p @ up for p in under]))
        if piece.has(Role.CAP) and not piece.has(Role.RAGLAN_SEAM):
            _add(found, "cap_height", float(heights.max()) - level)
            _add(found, "sleeve_length", float(heights.max() - heights.min()))
    _add(found, "biceps", width)


def _reach_at(line: np.ndarray, up: np.ndarray, across: np.ndarray, point: np.ndarray) -> float:
    """Return the distance, square to the grain, from a point to a line at its level, mm."""
    heights, places = line @ up, line @ across
    order = np.argsort(heights)
    at_level = np.interp(float(point @ up), heights[order], places[order])
    return abs(float(point @ across) - float(at_level))
