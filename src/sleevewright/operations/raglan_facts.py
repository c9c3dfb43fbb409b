"""What a raglan reports: the shoulder wedge, where the tips fell, cloth gained and lost."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.region import polygon
from sleevewright.operations.sections import Section
from sleevewright.pattern import Piece, Role, Side, Sleeve

Array = NDArray[np.float64]
Facts = list[tuple[str, float]]


def facts_of_placing(placed: dict[Side, Section], crown: Array) -> Facts:
    """The wedge between the shoulder lines, the neck gap, and how far the tips miss the crown."""
    lines = {side: placed[side].shoulder for side in Side}
    directions = {s: lines[s].start - lines[s].end for s in Side}
    angles = {s: np.degrees(np.arctan2(*directions[s][::-1])) for s in Side}
    wedge = (angles[Side.BACK] - angles[Side.FRONT]) % 360.0
    gap = np.hypot(*(lines[Side.FRONT].start - lines[Side.BACK].start))
    facts = [("raglan.wedge_deg", float(wedge)), ("raglan.neck_gap_mm", float(gap))]
    for side in Side:
        miss = float(np.hypot(*(placed[side].tip - crown)))
        facts.append((f"raglan.tip_from_crown_{side}_mm", miss))
    return facts


def facts_of_area(
    sleeve: Sleeve,
    lowered: dict[Side, Curve],
    placed: dict[Side, Section],
    pieces: tuple[Piece, ...],
) -> Facts:
    """Cloth filled in between section and cap, lost where they overlap, and trimmed off.

    Args:
        sleeve: the set-in sleeve.
        lowered: both halves of the cap from the underarm point, ease taken out.
        placed: the sections on the sleeve.
        pieces: the sleeve's pieces as made.
    """
    from shapely import unary_union  # noqa: PLC0415 (heavy; used only when a raglan is made)

    caps = (lowered[Side.FRONT], lowered[Side.BACK].reversed)
    others = [e.curve for e in sleeve.piece.edges if e.role is not Role.CAP]
    chain = _chained([*caps, *others])
    parts = [polygon(chain, 0.05).buffer(0)]
    parts += [polygon(placed[side].outline, 0.05).buffer(0) for side in Side]
    before = unary_union(parts)
    made = [polygon((e.curve for e in p.edges), 0.05).buffer(0) for p in pieces]
    after = unary_union(made)
    twice = sum(p.area for p in made) - after.area  # where both halves of the sleeve reach over
    return [
        ("raglan.filled_mm2", float(after.difference(before).area + twice)),
        ("raglan.overlap_mm2", float(sum(p.area for p in parts) - before.area)),
        ("raglan.trimmed_mm2", float(before.difference(after).area)),
    ]


def _chained(curves: list[Curve]) -> list[Curve]:
    """Order curves that form one closed chain."""
    chain = [curves.pop(0)]
    while curves:
        gaps = [float(np.hypot(*(c.start - chain[-1].end))) for c in curves]
        chain.append(curves.pop(int(np.argmin(gaps))))
    return chain


def gather_ratio(piece: Piece, placed: dict[Side, Section]) -> float:
    """Return how many times as long the sleeve's neckline is as what it is gathered to."""
    finished = sum(e.length for side in Side for e in placed[side].edges if e.role is Role.NECKLINE)
    return piece.length(Role.NECKLINE) / finished
