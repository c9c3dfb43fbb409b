"""The trade's numeric invariants that concern these operations, over all blocks, settings drawn.

Numbers in the test names are those of the project's list of 38. Tolerances in mm are the numeric ones.
"""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from samples_of_ours import all_blocks
from sleevewright.errors import OperationError
from sleevewright.finishing import finish
from sleevewright.geometry import Affine
from sleevewright.geometry.region import signed_area
from sleevewright.operations.armhole import LowerArmhole
from sleevewright.operations.darts import pivot_dart
from sleevewright.operations.flare import Flare
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.raglan_lines import Asked, Line, raglan_path
from sleevewright.operations.raglan_settings import HalfLine
from sleevewright.operations.sections import cut_section, placed_by_pitch
from sleevewright.pattern import HalfBodice, Pattern, Role, Side
from sleevewright.pattern.finish_settings import FinishSettings

BLOCKS = all_blocks()
blocks = st.sampled_from(BLOCKS)
mm = lambda lo, hi: st.floats(lo, hi).map(lambda v: round(v, 2))  # noqa: E731
raglans = st.builds(
    Raglan,
    front=st.builds(HalfLine, neck_drop=mm(20, 45)),
    back=st.builds(HalfLine, neck_drop=mm(15, 30)),
    sleeve=st.sampled_from(["two-piece", "one-piece"]),
    overarm_blend=mm(100, 160),
    bust_dart=mm(50, 120),
)


def converted(raglan: Raglan, block: Pattern) -> Pattern:
    try:
        return raglan.apply(block)
    except OperationError:
        assume(False)
        raise


def on_sleeve(pattern: Pattern, role: Role, side: Side) -> float:
    return sum(p.length(role, side) for p in pattern.pieces if p.name not in ("front", "back"))


@given(raglans, blocks)
def test_1_2_8_10_11_lengths_meet(raglan: Raglan, block: Pattern) -> None:
    after = converted(raglan, block)
    for side in Side:
        bodice = after[side.value]
        assert on_sleeve(after, Role.RAGLAN_SEAM, side) == pytest.approx(
            bodice.length(Role.RAGLAN_SEAM), abs=0.001
        )
        assert on_sleeve(after, Role.CAP, side) == pytest.approx(
            bodice.length(Role.ARMHOLE), abs=0.001
        )
    before = sum(block[s.value].length(Role.NECKLINE) for s in Side)
    now = sum(piece.length(Role.NECKLINE) for piece in after.pieces)
    assert now == pytest.approx(before, abs=1e-6)
    if raglan.sleeve == "one-piece":
        legs = [e.length for e in after["sleeve"].edges if e.role is Role.DART_LEG]
        assert legs[0] == pytest.approx(legs[1], abs=0.001)
    else:
        overarms = [on_sleeve(after, Role.OVERARM_SEAM, side) for side in Side]
        assert overarms[0] == pytest.approx(overarms[1], abs=0.001)


@given(raglans, blocks)
def test_3_16_17_what_is_not_touched_stays(raglan: Raglan, block: Pattern) -> None:
    after = converted(raglan, block)
    assert after["back"]["hem"] == block["back"]["hem"]
    assert after["back"]["side_seam"].curve == block["back"]["side_seam"].curve
    assert after["front"]["hem"].curve == block["front"]["hem"].curve
    sides = [after[s.value].length(Role.SIDE_SEAM) for s in Side]
    assert sides[0] == pytest.approx(sides[1], abs=1e-6)
    seams = [on_sleeve(after, Role.UNDERARM_SEAM, side) for side in Side]
    assert seams[0] == pytest.approx(seams[1], abs=1e-6)


@given(blocks, mm(20, 45))
def test_6_34_sections_are_congruent_and_go_back(block: Pattern, drop: float) -> None:
    half = HalfBodice(block["back"], Side.BACK)
    drop = min(drop, 0.59 * block["back"].length(Role.NECKLINE))  # a child's neck has less room
    section, rest = cut_section(half, raglan_path(half, Line.CLASSIC, Asked(neck_drop=drop)))
    assert abs(signed_area(section.outline)) + rest.area == pytest.approx(
        block["back"].area, rel=1e-9
    )
    placed = placed_by_pitch(section, np.array([10.0, 20.0]), np.array([-30.0, 90.0]))
    assert signed_area(placed.outline) == pytest.approx(signed_area(section.outline), rel=1e-9)
    for a, b in zip(section.edges, placed.edges, strict=True):
        assert b.length == pytest.approx(a.length, abs=1e-9)
    back = placed.transformed(Affine.moving((placed.held, placed.tip), (section.held, section.tip)))
    for a, b in zip(section.edges, back.edges, strict=True):
        assert np.allclose(a.curve.controls, b.curve.controls, atol=1e-6)


@given(raglans, blocks)
def test_13_14_notches_pair_single_front_double_back(raglan: Raglan, block: Pattern) -> None:
    after = converted(raglan, block)
    kinds: dict[str, set[str]] = {}
    counts: dict[str, int] = {}
    for piece in after.pieces:
        for edge in piece.edges:
            for notch in edge.notches:
                kinds.setdefault(notch.name, set()).add(str(notch.kind))
                counts[notch.name] = counts.get(notch.name, 0) + 1
    for name in ("front raglan", "front pitch", "back raglan", "back pitch", "shoulder tip"):
        assert counts[name] == 2, name
        assert kinds[name] == {"double" if name.startswith("back") else "single"}


@given(raglans, blocks)
def test_15_grain_keeps_its_direction(raglan: Raglan, block: Pattern) -> None:
    after = converted(raglan, block)
    for piece in after.pieces:
        parent = block[piece.name.split("_")[0]]
        assert abs(float(piece.up @ parent.up) - 1.0) < 1e-6


@pytest.mark.parametrize("station", [40.0, 75.0, 130.0])
def test_18_a_pivoted_dart_keeps_its_angle_and_the_edges_passed(station: float) -> None:
    for block in BLOCKS[:5]:
        front = block["front"]
        dart = next(front.darts())
        moved = pivot_dart(front, dart, "side_seam", station).piece
        other = next(moved.darts())
        assert math.radians(other.angle) == pytest.approx(math.radians(dart.angle), abs=1e-6)
        assert other.into.length == pytest.approx(other.out.length, abs=1e-6)
        for role in (Role.ARMHOLE, Role.SIDE_SEAM, Role.HEM, Role.NECKLINE, Role.SHOULDER):
            assert moved.length(role) == pytest.approx(front.length(role), abs=1e-6)
        assert moved.area == pytest.approx(front.area, rel=1e-6)


@given(blocks, mm(5, 40))
def test_28_keep_lift_never_shortens_the_underarm(block: Pattern, by: float) -> None:
    try:
        after = LowerArmhole(by=by, lift="keep").apply(block)
    except OperationError:
        assume(False)
    for side in Side:
        was = block["sleeve"].length(Role.UNDERARM_SEAM, side)
        assert after["sleeve"].length(Role.UNDERARM_SEAM, side) >= was - 1e-6


@given(blocks, mm(10, 250))
def test_32_a_flare_leaves_the_cap(block: Pattern, by: float) -> None:
    after = Flare(by=by).apply(block)
    for side in Side:
        old = block["sleeve"].with_role(Role.CAP, side)[0]
        assert after["sleeve"].with_role(Role.CAP, side)[0] == old
    grown = after["sleeve"].length(Role.WRIST) - block["sleeve"].length(Role.WRIST)
    assert grown == pytest.approx(by, abs=1e-4)


@given(raglans, blocks)
def test_29_35_36_hems_square_pairs_and_seams(raglan: Raglan, block: Pattern) -> None:
    after = finish(converted(raglan, block), FinishSettings())
    used = [(u.piece, u.edge) for seam in after.seams for u in seam.uses]
    assert len(used) == len(set(used))
    for piece in after.pieces:
        free = {Role.HEM, Role.WRIST, Role.NECKLINE, Role.CENTRE}
        for edge in piece.edges:
            assert ((piece.name, edge.name) in used) is (edge.role not in free)
        if piece.name.startswith("sleeve"):
            assert piece.quantity == 2
