"""Raised and lowered caps, extended and dropped shoulders, against independent construction.

The cap of the block is read off as a dense polyline; what it becomes at another height is solved
here by scipy on that polyline, scaled about the crown. Shoulder figures come from coordinates.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from densely import SIDES, SIZES, Array, block_of, dense, long, walked
from samples_of_ours import BLOCKS, from_named
from sleevewright.errors import OperationError
from sleevewright.operations.cap_height import LowerCap, RaiseCap
from sleevewright.operations.dart_pivot import DartPivot
from sleevewright.operations.drop_shoulder import DropShoulder
from sleevewright.operations.extend_shoulder import ExtendShoulder
from sleevewright.pattern import Pattern, Piece, Role

#: Common practice: of the cap ease the front takes 40 parts, the back 60.
SHARE = {"front": 0.4, "back": 0.6}


def half_cap(sleeve: Piece, side: str) -> Array:
    """A half cap from the underarm point to the crown."""
    points = dense(sleeve[f"cap.{side}"].curve)
    return points if points[0, 1] < points[-1, 1] else points[::-1]


def cap_figures(sleeve: Piece) -> tuple[float, float]:
    """Cap height over the underarm points and width between them; the blocks' grain is upright."""
    front, back = (half_cap(sleeve, side) for side in SIDES)
    return front[-1, 1] - (front[0, 1] + back[0, 1]) / 2, abs(front[0, 0] - back[0, 0])


def widths_solved(sleeve: Piece, height: float, lengths: dict[str, float]) -> float:
    """Biceps width at a cap height: each half scaled across until it has its length (brentq)."""
    old = cap_figures(sleeve)[0]
    total = 0.0
    for side in SIDES:
        points = half_cap(sleeve, side)
        off = (points - points[-1]) * [1.0, height / old]

        def miss(wide: float, off: Array = off, wanted: float = lengths[side]) -> float:
            return walked(off * [wide, 1.0]) - wanted

        total += brentq(miss, 0.3, 2.5, xtol=1e-10) * abs(off[0, 0])
    return float(total)


# --- raise-cap and lower-cap --------------------------------------------------------------------


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("by", [-30.0, -8.0, 6.0, 12.0])
def test_the_biceps_is_the_root_of_the_scaled_cap(block: str, size: str, by: float) -> None:
    """Height changes by just the amount; the width is the root solved here for the block's cap."""
    before = block_of(block, size)
    was = before["sleeve"]
    step = RaiseCap(by=by) if by > 0 else LowerCap(by=-by)
    now = step.apply(before)["sleeve"]
    height, wide = cap_figures(was)
    lengths = {side: walked(half_cap(was, side)) for side in SIDES}
    got_height, got_wide = cap_figures(now)
    assert got_height == pytest.approx(height + by, abs=1e-4)
    assert got_wide == pytest.approx(widths_solved(was, height + by, lengths), abs=0.01)
    assert bool(got_wide < wide) == (by > 0)
    for side in SIDES:
        assert walked(half_cap(now, side)) == pytest.approx(lengths[side], abs=1e-3)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("ease", [0.0, 15.0])
def test_the_cap_is_as_long_as_armhole_and_ease(block: str, size: str, ease: float) -> None:
    before = block_of(block, size)
    after = LowerCap(by=20.0, ease=ease).apply(before)
    lengths = {s: long(before[s], Role.ARMHOLE) + SHARE[s] * ease for s in SIDES}
    for side in SIDES:
        assert walked(half_cap(after["sleeve"], side)) == pytest.approx(lengths[side], abs=0.01)
        assert after.seam(f"{side} armhole").ease == pytest.approx(SHARE[side] * ease, abs=0.01)
    height, _ = cap_figures(before["sleeve"])
    wide = widths_solved(before["sleeve"], height - 20.0, lengths)
    assert cap_figures(after["sleeve"])[1] == pytest.approx(wide, abs=0.01)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("by", [-25.0, 10.0])
def test_crown_and_wrist_level_stay_and_seams_are_equal(block: str, size: str, by: float) -> None:
    """The crown does not move; wrist corners keep height and distance; underarm seams agree."""
    before = block_of(block, size)
    step = RaiseCap(by=by) if by > 0 else LowerCap(by=-by)
    was, now = before["sleeve"], step.apply(before)["sleeve"]
    assert half_cap(now, "front")[-1] == pytest.approx(half_cap(was, "front")[-1], abs=1e-9)
    old, new = (dense(p["wrist"].curve)[[0, -1]] for p in (was, now))
    assert new[:, 1] == pytest.approx(old[:, 1], abs=1e-9)
    assert math.dist(*new) == pytest.approx(math.dist(*old), abs=1e-6)
    seams = [walked(dense(now[f"underarm_seam.{s}"].curve)) for s in SIDES]
    assert seams[0] == pytest.approx(seams[1], abs=1e-4)
    for side in SIDES:  # balance notches stay as far from the underarm
        ends = []
        for piece in (was, now):
            edge = piece[f"cap.{side}"]
            notch = next(n for n in edge.notches if n.name == f"{side} pitch")
            ends.append(notch.at if side == "front" else walked(dense(edge.curve)) - notch.at)
        assert ends[0] == pytest.approx(ends[1], abs=1e-3)


@pytest.mark.parametrize("block", BLOCKS)
def test_raising_undoes_lowering(block: str) -> None:
    before = from_named(block)[0]
    there = LowerCap(by=18.0).apply(before)
    again = RaiseCap(by=18.0).apply(there)
    for side in SIDES:
        one, other = (half_cap(p["sleeve"], side) for p in (before, again))
        assert one == pytest.approx(other, abs=1e-4)


@pytest.mark.parametrize(("block", "size"), SIZES)
def test_a_cap_higher_than_its_edge_is_long_is_refused(block: str, size: str) -> None:
    """A line cannot be shorter than it is high; up to 80 mm a cap fits exactly or is refused."""
    before = block_of(block, size)
    height, _ = cap_figures(before["sleeve"])
    lengths = {side: walked(half_cap(before["sleeve"], side)) for side in SIDES}
    refused = []
    for by in (20.0, 40.0, 60.0, 80.0):
        try:
            now = RaiseCap(by=by).apply(before)["sleeve"]
        except OperationError as error:
            assert "lower cap" in str(error)
            refused.append(by)
            continue
        assert not refused, "what is refused at one height is refused at a greater one"
        assert height + by < min(lengths.values())
        wide = widths_solved(before["sleeve"], height + by, lengths)
        assert cap_figures(now)[1] == pytest.approx(wide, abs=0.01)


# --- extend-shoulder and drop-shoulder ------------------------------------------------------------


def without_darts(block: str, size: str) -> Pattern:
    """The block with its bust dart on the hem: an armhole in two parts is refused."""
    pattern = block_of(block, size)
    if any(True for _ in pattern["front"].darts()):
        pattern = DartPivot(to="hem", at=0.4).apply(pattern)
    return pattern


def shoulder_ends(piece: Piece, side: str) -> tuple[Array, Array]:
    """Neck point and tip of a half, by the roles of the neighbours."""
    neck, armhole = (np.concatenate([dense(e.curve)[[0, -1]] for e in piece.edges if e.role is r])
                     for r in (Role.NECKLINE, Role.ARMHOLE))  # fmt: skip
    ends = np.concatenate([dense(e.curve)[[0, -1]] for e in piece.edges if e.role is Role.SHOULDER])

    def meets(points: Array) -> Array:
        apart = np.hypot(*np.moveaxis(ends[:, None] - points[None], 2, 0)).min(axis=1)
        return np.asarray(ends[apart.argmin()])

    return meets(neck), meets(armhole)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("by", "drop"), [(10.0, 0.0), (20.0, 5.0)])
def test_the_tip_moves_along_the_shoulder_and_down(
    block: str, size: str, by: float, drop: float
) -> None:
    """Tip: `by` on along the line's end, `drop` square to it; the chord is then Pythagoras'."""
    before = without_darts(block, size)
    after = ExtendShoulder(by=by, drop=drop).apply(before)
    for side in SIDES:
        piece = before[side]
        neck, tip = shoulder_ends(piece, side)
        last = next(
            dense(e.curve) for e in piece.edges
            if e.role is Role.SHOULDER and np.abs(dense(e.curve)[[0, -1]] - tip).sum(axis=1).min() < 1e-6
        )  # fmt: skip
        last = last if math.dist(last[-1], tip) < 1e-6 else last[::-1]
        along = (last[-1] - last[-2]) / math.dist(last[-1], last[-2])
        down = np.array([along[1], -along[0]])
        down = down if down[1] < 0 else -down
        new_neck, new_tip = shoulder_ends(after[side], side)
        assert float((new_tip - tip) @ down) == pytest.approx(drop, abs=1e-2)
        assert 0.0 < float((new_tip - tip) @ along) <= by + 1e-2
        assert new_neck == pytest.approx(neck, abs=1e-9)
        grown = long(after[side], Role.SHOULDER) - long(piece, Role.SHOULDER)
        assert grown == pytest.approx(by, abs=1e-4)


def angle_between(u: Array, v: Array) -> float:
    return math.degrees(math.acos(float(u @ v) / math.hypot(*u) / math.hypot(*v)))


def near_tip(piece: Piece, side: str, role: Role) -> Array:
    """The direction in which an edge leaves the shoulder tip."""
    tip = shoulder_ends(piece, side)[1]
    for edge in piece.edges:
        points = dense(edge.curve)
        if edge.role is role and math.dist(points[0], tip) < 1e-6:
            return np.asarray(points[1] - points[0])
        if edge.role is role and math.dist(points[-1], tip) < 1e-6:
            return np.asarray(points[-2] - points[-1])
    raise AssertionError(f"no {role} at the tip")


STEPS = [ExtendShoulder(by=8.0), ExtendShoulder(by=25.0, drop=6.0), DropShoulder(by=40.0),
         DropShoulder(by=60.0, drop=12.0, lower=20.0, ease=2.0)]  # fmt: skip


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("step", STEPS, ids=str)
def test_the_sleeve_gives_up_what_the_shoulder_gains(
    block: str, size: str, step: ExtendShoulder | DropShoulder
) -> None:
    """Crown down by `by`, underarm level kept: cap height and length are less by just that."""
    before = without_darts(block, size)
    after = step.apply(before)
    was, now = before["sleeve"], after["sleeve"]
    assert cap_figures(now)[0] == pytest.approx(cap_figures(was)[0] - step.by, abs=1e-4)
    crown = half_cap(was, "front")[-1]
    assert half_cap(now, "front")[-1] == pytest.approx(crown - [0.0, step.by], abs=1e-6)
    for ends in (dense(p["wrist"].curve)[[0, -1], 1] for p in (was, now)):
        assert ends == pytest.approx(dense(was["wrist"].curve)[[0, -1], 1], abs=1e-6)
    lengths = {}
    for side in SIDES:
        armhole = long(after[side], Role.ARMHOLE)
        kept = walked(half_cap(was, side)) - long(before[side], Role.ARMHOLE)
        ease = kept if isinstance(step, ExtendShoulder) else SHARE[side] * step.ease
        lengths[side] = armhole + ease
        assert walked(half_cap(now, side)) == pytest.approx(lengths[side], abs=0.01)
        assert after.seam(f"{side} armhole").ease == pytest.approx(ease, abs=0.01)
    wide = widths_solved(was, cap_figures(was)[0] - step.by, lengths)
    assert cap_figures(now)[1] == pytest.approx(wide, abs=0.01)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("step", STEPS, ids=str)
def test_the_armhole_stays_square_to_the_shoulder(
    block: str, size: str, step: ExtendShoulder | DropShoulder
) -> None:
    """Square within a degree at the tip, on front and back, so that the seam lies flat."""
    after = step.apply(without_darts(block, size))
    for side in SIDES:
        u, v = (near_tip(after[side], side, role) for role in (Role.SHOULDER, Role.ARMHOLE))
        assert angle_between(u, v) == pytest.approx(90.0, abs=1.0)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("by", "lower"), [(40.0, None), (60.0, 12.0), (70.0, 0.0)])
def test_a_dropped_armhole_comes_down_the_side_seam(
    block: str, size: str, by: float, lower: float | None
) -> None:
    """Half the extension where nothing is asked; the side seams are shorter by just that."""
    before = without_darts(block, size)
    after = DropShoulder(by=by, lower=lower).apply(before)
    wanted = by / 2 if lower is None else lower
    for side in SIDES:
        was, now = (long(p[side], Role.SIDE_SEAM) for p in (before, after))
        assert now == pytest.approx(was - wanted, abs=1e-3)
        for role in (Role.NECKLINE, Role.CENTRE, Role.HEM):
            assert long(after[side], role) == pytest.approx(long(before[side], role), abs=1e-6)


@pytest.mark.parametrize(("block", "size"), SIZES)
def test_an_extended_armhole_is_as_it_was_below_the_pitch(block: str, size: str) -> None:
    """Up to the balance notch the old armhole is kept point for point."""
    before = without_darts(block, size)
    after = ExtendShoulder(by=15.0).apply(before)
    for side in SIDES:
        runs = []
        for piece in (before[side], after[side]):
            (edge,) = (e for e in piece.edges if e.role is Role.ARMHOLE)
            points = dense(edge.curve, 4000)
            upwards = points[0, 1] < points[-1, 1]
            notch = next(n for n in edge.notches if n.name == f"{side} pitch")
            at = notch.at if upwards else edge.length - notch.at
            runs.append((points if upwards else points[::-1], at))
        (old, at), (new, at_now) = runs
        assert at_now == pytest.approx(at, abs=1e-6)
        for part in np.linspace(0.0, 0.99, 12):
            spots = [_along(points, part * at) for points in (old, new)]
            assert spots[0] == pytest.approx(spots[1], abs=1e-3)


def _along(points: Array, at: float) -> Array:
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return np.array([np.interp(at, run, column) for column in points.T])


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(
    "step",
    [ExtendShoulder(by=15.0, drop=8.0), DropShoulder(by=50.0), DropShoulder(by=50.0, drop=25.0)],
    ids=str,
)
def test_neck_to_wrist_stays_as_long(
    block: str, size: str, step: ExtendShoulder | DropShoulder
) -> None:
    """What the shoulder grows by, the sleeve is shorter by."""
    before = without_darts(block, size)
    after = step.apply(before)
    for side in SIDES:
        grown = long(after[side], Role.SHOULDER) - long(before[side], Role.SHOULDER)
        gone = half_cap(before["sleeve"], side)[-1, 1] - half_cap(after["sleeve"], side)[-1, 1]
        assert grown == pytest.approx(step.by, abs=1e-3)
        assert gone == pytest.approx(step.by, abs=1e-3)


def test_a_short_shoulder_cannot_fall_far() -> None:
    with pytest.raises(OperationError, match="let it fall less"):
        ExtendShoulder(by=3.0, drop=15.0).apply(without_darts("women_overblock", "36"))
