"""The sleeve of a raglan: sections laid on the cap, overarms made equal, pieces made."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.raglan_facts import facts_of_area, facts_of_placing, gather_ratio
from sleevewright.operations.raglan_halves import HalfSleeve, lower_seams
from sleevewright.operations.raglan_pieces import Overarm, pieces_of
from sleevewright.operations.raglan_settings import RaglanSettings
from sleevewright.operations.sections import (
    Section,
    placed_by_crown,
    placed_by_fit,
    placed_by_pitch,
)
from sleevewright.pattern import Piece, Side, Sleeve

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Made:
    """The sleeve's pieces and what is to be reported about them.

    Attributes:
        pieces: one or two.
        facts: (name, number).
        longer: by half, how much longer its raglan seam came out than it was cut, mm.
    """

    pieces: tuple[Piece, ...]
    facts: tuple[tuple[str, float], ...]
    longer: dict[Side, float]


def make_sleeve(raglan: RaglanSettings, sleeve: Sleeve, halves: dict[Side, HalfSleeve]) -> Made:
    """Lay both sections on the sleeve and make its pieces.

    Raises:
        OperationError: a seam cannot be made fair with the length it must have, or no underarm point
            fits (deep raglan).
    """
    up = sleeve.piece.up
    crown = halves[Side.FRONT].cap.end
    below = raglan.dart_length if raglan.sleeve == "one-piece" else raglan.overarm_blend
    overarm = Overarm(crown, -up, crown - below * up)
    placed = {side: _placed(raglan, halves[side], crown, up) for side in Side}
    if raglan.sleeve != "gathered":
        placed = _with_equal_overarms(placed, halves, overarm, raglan.back_shoulder == "ease")
    seams = {side: lower_seams(raglan, halves[side], placed[side]) for side in Side}
    pieces = pieces_of(raglan.sleeve, sleeve, placed, seams, overarm)
    facts = [
        *facts_of_placing(placed, overarm.crown),
        *facts_of_area(sleeve, {s: halves[s].cap for s in Side}, placed, pieces),
    ]
    if raglan.sleeve == "gathered":
        facts.append(("raglan.neck_gather_ratio", gather_ratio(pieces[0], placed)))
    longer = {side: seams[side].longer for side in Side}
    return Made(pieces, tuple(facts), longer)


def _placed(raglan: RaglanSettings, half: HalfSleeve, crown: Array, up: Array) -> Section:
    if raglan.placement == "crown":
        arriving = -half.cap.direction_at(half.path.pitch)
        return placed_by_crown(half.section, half.q, crown + raglan.crown_gap * up, arriving)
    if raglan.placement == "fit":
        return placed_by_fit(half.section, half.cap.between(half.path.pitch, half.cap.length))
    return placed_by_pitch(half.section, half.q, crown)


def _with_equal_overarms(
    placed: dict[Side, Section], halves: dict[Side, HalfSleeve], overarm: Overarm, eased: bool
) -> dict[Side, Section]:
    """Turn both sections a little about Q, one up and one down, until their overarms are equal.

    A millimetre of difference is about half a degree. Where shoulder fullness is kept as ease it
    is left in the difference.
    """
    wanted = 0.0
    if eased:
        wanted = placed[Side.BACK].shoulder.length - placed[Side.FRONT].shoulder.length

    signs = {Side.FRONT: 1.0, Side.BACK: -1.0}
    shoulders = {side: placed[side].shoulder for side in Side}

    def turn(side: Side, angle: float) -> Affine:
        return Affine.rotation(signs[side] * halves[side].turn_sign * angle, halves[side].q)

    def length(side: Side, angle: float) -> float:
        shoulder = shoulders[side].transformed(turn(side, angle))
        return overarm_curve(shoulder, overarm.meets, overarm.down).length

    def miss(angle: float) -> float:
        return length(Side.BACK, angle) - length(Side.FRONT, angle) - wanted

    def turned(angle: float) -> dict[Side, Section]:
        return {side: placed[side].transformed(turn(side, angle)) for side in Side}

    most = 8.0
    try:
        return turned(find_root(miss, -most, most, 1e-5))
    except ValueError:
        raise OperationError(
            f"the two overarm seams differ by {miss(0.0):+.1f} mm and cannot be made equal;"
            " take the cap ease out or move the pitch points"
        ) from None
