"""A cap given another height, its width solved anew so that it fits its armhole.

The cap is scaled about its crown, along the grain by what is asked and across it, for each half by
itself, by what makes it as long as it must be: the drafting triangle of armhole, height and width
with the real curve for its long side.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.operations.sleeves import biceps_level, with_turned_ends, wrist_of
from sleevewright.pattern import Edge, Pattern, Piece, Role, Side, Sleeve

Array = NDArray[np.float64]

#: Parts of its width that a half cap may be scaled to; beyond them it is no cap any more.
NARROWEST, WIDEST = 0.45, 1.9


@dataclass(frozen=True, slots=True, kw_only=True)
class CapAsked:
    """What a cap shall be.

    Attributes:
        lengths: of each half, mm.
        crown_down: how far the crown comes down, mm; the sleeve is so much shorter.
        level_up: how far the underarm points come up, mm.
        notches: stations from the underarm point by half and name, mm; others stay where they are.
    """

    lengths: Mapping[Side, float]
    crown_down: float = 0.0
    level_up: float = 0.0
    notches: Mapping[str, float]


def cap_height(piece: Piece) -> float:
    """Return the height of the crown over the underarm points, along the grain, mm."""
    return float(Sleeve(piece).crown @ piece.up) - biceps_level(piece)


def with_cap(piece: Piece, asked: CapAsked) -> Piece:
    """Return a set-in sleeve with another cap; wrist as it was, underarm seams equal.

    Raises:
        OperationError: a half cannot be so long at that height; says what height would do.
    """
    up = piece.up
    across = np.array([up[1], -up[0]])
    crown = Sleeve(piece).crown
    old = cap_height(piece)
    new = old - asked.crown_down - asked.level_up
    if new < 0.15 * old:
        raise OperationError(f"a cap {new:.0f} mm high is none; the block's is {old:.0f} mm high")
    lowered = crown - asked.crown_down * up
    caps = {
        side: _scaled(piece, side, (crown, lowered), new / old, asked.lengths[side])
        for side in Side
    }
    seams = _equal_seams(piece, caps, across)
    changed: list[Edge] = []
    for side in Side:
        edge = piece.with_role(Role.CAP, side)[0]
        curve = caps[side] if side is Side.FRONT else caps[side].reversed
        changed.append(_with_notches(edge, curve, side, asked.notches))
        changed.append(seams[side])
    changed.append(seams["wrist"])
    return replace(piece.with_edges(changed), finish=None, grain=_grain(piece, asked.crown_down))


def _scaled(
    piece: Piece, side: Side, crown: tuple[Array, Array], tall: float, length: float
) -> Curve:
    """Return a half cap from the underarm to the crown, so tall and so long."""
    up = piece.up
    across = np.array([up[1], -up[0]])
    run = Sleeve(piece).run(Role.CAP, side)
    frame = Affine(*across, *up, *crown[0])
    move = Affine.translation(crown[1] - crown[0])

    def made(wide: float) -> Curve:
        return run.transformed(move @ frame @ Affine.scaling(wide, tall) @ frame.inverse)

    def miss(wide: float) -> float:
        return made(wide).length - length

    try:
        wide = find_root(miss, NARROWEST, WIDEST, 1e-8)
    except ValueError:
        ends = made(NARROWEST).length, made(WIDEST).length
        raise OperationError(
            f"the {side} cap cannot be {length:.1f} mm long at that height: widths that make a sleeve"
            f" give {ends[0]:.1f} to {ends[1]:.1f} mm; ask for a"
            f" {'lower' if length < ends[0] else 'higher'} cap"
        ) from None
    return made(wide)


def _equal_seams(
    piece: Piece, caps: Mapping[Side, Curve], across: Array
) -> "dict[Side | str, Edge]":
    """Return underarm seams drawn to the new underarm points, and the wrist.

    The wrist moves across by what makes both seams equally long.
    """
    wrist = wrist_of(piece)
    edges = {side: piece.with_role(Role.UNDERARM_SEAM, side) for side in Side}
    if any(len(found) != 1 for found in edges.values()):
        raise OperationError(f"a dart in the underarm seam of {piece.name} is in the way")

    def drawn(shift: float) -> dict[Side, Curve]:
        found = {}
        for side in Side:
            curve = edges[side][0].curve if side is Side.BACK else edges[side][0].curve.reversed
            found[side] = curve.with_ends(caps[side].start, curve.end + shift * across)
        return found

    def miss(shift: float) -> float:
        both = drawn(shift)
        return both[Side.FRONT].length - both[Side.BACK].length

    try:
        shift = find_root(miss, -80.0, 80.0, 1e-8)
    except ValueError:
        raise OperationError("the underarm seams cannot be made equally long") from None
    both = drawn(shift)
    moved = wrist.curve.transformed(Affine.translation(shift * across))
    turns = {side: _turn(edges[side][0], both[side], side) for side in Side}
    made: dict[Side | str, Edge] = {
        "wrist": replace(wrist, curve=with_turned_ends(moved, turns[Side.BACK], turns[Side.FRONT]))
    }
    for side in Side:
        edge = edges[side][0]
        curve = both[side] if side is Side.BACK else both[side].reversed
        part = curve.length / edge.length
        made[side] = replace(
            edge, curve=curve, notches=tuple(replace(n, at=n.at * part) for n in edge.notches)
        )
    return made


def _turn(edge: Edge, seam: Curve, side: Side) -> float:
    """Return by how much an underarm seam has turned at the wrist, degrees."""
    old = edge.curve.end_direction if side is Side.BACK else -edge.curve.start_direction
    return turn_between(old, seam.end_direction)


def _with_notches(edge: Edge, curve: Curve, side: Side, places: Mapping[str, float]) -> Edge:
    """Return a cap edge on its new curve; notches keep their distance from the underarm."""
    total, grown = curve.length, curve.length - edge.length
    notches = []
    for notch in edge.notches:
        from_underarm = notch.at if side is Side.FRONT else edge.length - notch.at
        at = places.get(notch.name, from_underarm)
        if edge.length - from_underarm < 1.0:  # the crown stays at the end
            at = from_underarm + grown
        notches.append(replace(notch, at=at if side is Side.FRONT else total - at))
    return replace(edge, curve=curve, notches=tuple(sorted(notches, key=lambda n: n.at)))


def _grain(piece: Piece, down: float) -> Curve | None:
    if piece.grain is None or not down:
        return piece.grain
    return Curve.line(piece.grain.start, piece.grain.end - max(0.0, down) * piece.up)


def with_armhole_eases(pattern: Pattern) -> Pattern:
    """Return the pattern with the ease that its caps now have noted on their seams."""
    seams = []
    for seam in pattern.seams:
        if seam.name in ("front armhole", "back armhole"):
            lengths = [pattern.side_length(side) for side in (seam.first, seam.second)]
            seam = replace(seam, ease=lengths[0] - lengths[1])  # noqa: PLW2901
        seams.append(seam)
    return replace(pattern, seams=tuple(seams))


#: Parts of the cap ease that front and back take; common practice: 40 to 60.
EASE_PART = {Side.FRONT: 0.4, Side.BACK: 0.6}
