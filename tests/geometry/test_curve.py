"""`Curve`: closed forms, svgpathtools and scipy as judges; both sides of every limit."""

import pickle
import re

import numpy as np
import pytest
from scipy.interpolate import BPoly
from svgpathtools import CubicBezier, Path

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry import curve as curves

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

QUARTER = 100 * np.array([(1, 0), (1, 0.5523), (0.5523, 1), (0, 1)])  # all but a quarter circle
WAVE = np.array([(0, 0), (30, 60), (70, -40), (100, 10)], dtype=float)
HOOK = np.array([(100, 10), (130, 50), (160, -30), (150, -80)], dtype=float)
CHAIN = Curve([WAVE, HOOK])
SQUARE_CORNER = Curve.polyline([(0, 0), (10, 0), (10, 20)])  # turns left by 90 degrees


def theirs(curve: Curve) -> Path:
    return Path(*(CubicBezier(*(complex(*p) for p in c)) for c in curve.controls))


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


# --- making ------------------------------------------------------------------------------------


@pytest.mark.parametrize("shape", [(4, 2), (0, 4, 2), (1, 3, 2), (1, 4, 3), (1, 1, 4, 2)])
def test_controls_of_another_shape_are_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="^" + re.escape(
        f"controls of shape (n, 4, 2) are wanted, not {shape}") + "$"):  # fmt: skip
        Curve(np.zeros(shape))


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_what_is_not_finite_is_refused(bad: float) -> None:
    controls = WAVE.copy()
    controls[2, 1] = bad
    with pytest.raises(ValueError, match="^a coordinate is not a finite number$"):
        Curve([controls])


def test_segments_meet_within_a_millionth_and_are_then_joined_exactly() -> None:
    near, far = HOOK.copy(), HOOK.copy()
    near[0, 0] -= 0.9e-6
    joined = Curve([WAVE, near])
    assert np.array_equal(joined.controls[1, 0], WAVE[3])
    far[0, 1] -= 1.5e-6
    with pytest.raises(ValueError, match=r"^segments do not meet: a gap of 0\.00000[12] mm$"):
        Curve([WAVE, far])
    far[0] = (90, 10)
    with pytest.raises(ValueError, match=r"^segments do not meet: a gap of 10\.000000 mm$"):
        Curve([WAVE, far])
    with pytest.raises(ValueError, match="segments do not meet"):
        Curve([HOOK, WAVE])
    exactly = Curve(
        [[(0, 0)] * 4, [(1e-6, 0), (1, 0), (2, 0), (3, 0)]]
    )  # the limit itself is within
    assert exactly.length == pytest.approx(3, abs=1e-6)


def test_a_curve_keeps_a_copy_and_nobody_can_write_into_it() -> None:
    controls = np.array([WAVE])
    curve = Curve(controls)
    controls[0, 0, 0] = 77
    assert curve.start.tolist() == [0, 0]
    for kept in (curve.controls, curve.start, curve.stations, curve.flattened()):
        with pytest.raises(ValueError, match="read-only"):
            kept[...] = 1.0


def test_numbers_are_kept_in_double_precision() -> None:
    single = WAVE.astype(np.float32)
    for curve in (Curve([single]), Curve.cubic(*single), Curve.line(*single[:2])):
        assert curve.controls.dtype == np.float64
    thirds = Curve.line(np.float32([0.0, 0.0]), np.float32([1.0, 0.0])).controls[0, 1, 0]
    assert thirds == pytest.approx(1 / 3, abs=1e-16)


def test_there_is_no_negative_zero() -> None:
    assert not np.signbit(Curve.line((-0.0, -0.0), (1, -0.0)).controls).any()


def test_a_line_has_its_handles_at_the_thirds() -> None:
    same(Curve.line((1, 2), (4, 11)).controls, [[(1, 2), (2, 5), (3, 8), (4, 11)]], 1e-12)


def test_a_polyline_is_lines_through_its_points() -> None:
    corners = [(0, 0), (3, 9), (6, 0)]
    same(
        Curve.polyline(corners).controls,
        [[(0, 0), (1, 3), (2, 6), (3, 9)], [(3, 9), (4, 6), (5, 3), (6, 0)]], 1e-12,
    )  # fmt: skip
    narrow = np.array([(100, 100), (-100, -100)], dtype=np.int8)
    assert Curve.polyline(narrow).length == pytest.approx(200 * np.sqrt(2), abs=1e-9)


@pytest.mark.parametrize("shape", [(2,), (1, 2), (2, 3), (2, 1), (0, 2), (2, 2, 2)])
def test_points_of_another_shape_are_no_polyline(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="^" + re.escape(
        f"points of shape (m, 2), m >= 2, are wanted, not {shape}") + "$"):  # fmt: skip
        Curve.polyline(np.zeros(shape))


def test_a_cubic_has_its_four_points() -> None:
    assert np.array_equal(Curve.cubic(*WAVE).controls, [WAVE])


def test_joined_curves_are_one_in_order() -> None:
    whole = Curve.joined([Curve([WAVE]), Curve([HOOK])])
    assert whole == CHAIN
    with pytest.raises(ValueError, match="do not meet"):
        Curve.joined([Curve([HOOK]), Curve([WAVE])])
    with pytest.raises(ValueError, match="at least one"):
        Curve.joined([])


# --- what it is --------------------------------------------------------------------------------


def test_ends_and_chord() -> None:
    assert CHAIN.start.tolist() == [0, 0]
    assert CHAIN.end.tolist() == [150, -80]
    assert CHAIN.chord == pytest.approx(170, abs=1e-12)
    assert CHAIN.transformed(Affine.translation((7, 9))).chord == pytest.approx(170, abs=1e-12)


def test_stations_of_joints_are_lengths_so_far() -> None:
    first, second = (segment.length(error=1e-12) for segment in theirs(CHAIN))
    same(CHAIN.stations, [0, first, first + second], 1e-6)
    assert CHAIN.length == pytest.approx(first + second, abs=1e-6)
    assert CHAIN.length == CHAIN.stations[-1]


BOXED = {
    "wave": [WAVE],
    "hook": [HOOK],
    "chain": [WAVE, HOOK],
    "line": Curve.line((3, 9), (-5, 2)).controls,
    "level line": Curve.line((3, 9), (-5, 9)).controls,
    "parabola": [[(0, 0), (10, 20), (20, 20), (30, 0)]],  # its cubic terms vanish
    "quarter": [QUARTER],
    "loop": [[(0, 0), (200, 100), (-100, 100), (100, 0)]],
    "high": [[(0, 0), (10, 90), (20, 50), (30, 10)]],
    "deep": [[(0, 0), (10, -90), (20, -50), (30, -10)]],
    "two turns": [[(0, 0), (150, 10), (-50, 20), (100, 30)]],
}


@pytest.mark.parametrize("name", BOXED)
def test_bounds_are_those_of_svgpathtools(name: str) -> None:
    curve = Curve(BOXED[name])
    left, right, bottom, top = theirs(curve).bbox()
    same(curve.bounds, (left, bottom, right, top))
    assert all(type(side) is float for side in curve.bounds)
    dense = BPoly(np.array(curve.controls).transpose(1, 0, 2), np.arange(len(curve.controls) + 1))
    p = dense(np.linspace(0, len(curve.controls), 4001))
    same(curve.bounds, (*p.min(axis=0), *p.max(axis=0)), 1e-3)


def test_bounds_of_a_gentle_arch_are_exact() -> None:
    """y = 4 h t (1 - t): its top is h, at half way."""
    arch = Curve.cubic((0, 0), (10, 8), (20, 8), (30, 0))
    same(arch.bounds, (0, 0, 30, 6))
    same(arch.transformed(Affine.rotation(90)).bounds, (-6, 0, 0, 30))
    same(arch.transformed(Affine.scaling(1, -1)).bounds, (0, -6, 30, 0))


def test_straight_means_every_handle_on_the_chord() -> None:
    assert Curve.line((5, 5), (25, 65)).is_straight()
    assert Curve.cubic((0, 0), (1, 0), (2, 0), (30, 0)).is_straight()  # unevenly run
    assert Curve.polyline([(0, 0), (1, 1), (5, 5)]).is_straight()
    assert not SQUARE_CORNER.is_straight()
    assert not Curve([WAVE]).is_straight()


@pytest.mark.parametrize("side", [1, -1])
def test_straight_within_a_limit_on_both_sides(side: int) -> None:
    bowed = Curve.cubic((0, 0), (10, side * 0.5), (20, 0), (30, 0))
    assert bowed.is_straight(0.5)
    assert not bowed.is_straight(0.499)
    moved = bowed.transformed(Affine.translation((700, -300)) @ Affine.rotation(33))
    assert moved.is_straight(0.5001)
    assert not moved.is_straight(0.499)
    faint = Curve.cubic((0, 0), (10, side * 2e-6), (20, 0), (30, 0))
    assert not faint.is_straight()
    assert Curve.cubic((0, 0), (10, side * 0.5e-6), (20, 0), (30, 0)).is_straight()


def test_what_ends_where_it_starts_is_not_straight() -> None:
    assert not Curve.polyline([(0, 0), (10, 0), (0, 0)]).is_straight()
    assert not Curve.line((0, 0), (0.5, 0)).is_straight(0.5)
    assert Curve.line((0, 0), (0.51, 0)).is_straight(0.5)


def test_green_area_of_closed_outlines() -> None:
    assert Curve.polyline([(1, 1), (4, 1), (4, 3), (1, 3), (1, 1)]).green_area == pytest.approx(6)
    lens = Curve.joined(
        [Curve([WAVE]), Curve([WAVE[::-1] + np.array([(0, 0), (9, 40), (-7, 50), (0, 0)])])]
    )
    assert lens.green_area == pytest.approx(theirs(lens).area(), abs=1e-8)
    arch = Curve.cubic((30, 0), (20, 8), (10, 8), (0, 0))  # a parabola: two thirds of its box
    closed = Curve.joined([arch, Curve.line((0, 0), (30, 0))])
    assert closed.green_area == pytest.approx(2 / 3 * 30 * 6, abs=1e-9)
    assert closed.reversed.green_area == pytest.approx(-120, abs=1e-9)


@pytest.mark.parametrize("controls", [[WAVE], [HOOK], [WAVE, HOOK]])
def test_green_area_is_the_integral(controls: list) -> None:
    total = 0.0
    for control in controls:
        path = BPoly(np.array(control)[:, None], [0, 1])
        t, w = np.polynomial.legendre.leggauss(6)
        t, w = (t + 1) / 2, w / 2
        (x, y), (dx, dy) = path(t).T, path(t, nu=1).T
        total += float(w @ (x * dy - y * dx)) / 2
    assert Curve(controls).green_area == pytest.approx(total, abs=1e-9)


# --- along it ----------------------------------------------------------------------------------


def test_points_at_stations_are_svgpathtools() -> None:
    path, length = theirs(CHAIN), CHAIN.length
    for share in (0.0, 0.05, 0.3, 0.5, 0.77, 0.999, 1.0):
        t = path.ilength(min(share * length, path.length(error=1e-12)), s_tol=1e-11, error=1e-11)
        z = path.point(t)
        same(CHAIN.point_at(share * length), (z.real, z.imag), 1e-6)


@pytest.mark.parametrize("shape", [(), (3,), (2, 2), (0,)])
def test_answers_have_the_shape_of_the_question(shape: tuple[int, ...]) -> None:
    stations = np.full(shape, 30.0)
    assert CHAIN.point_at(stations).shape == (*shape, 2)
    assert CHAIN.direction_at(stations).shape == (*shape, 2)
    assert CHAIN.curvature_at(stations).shape == shape


def test_many_stations_are_answered_each() -> None:
    stations = [25.0, 150.0, 5.0]
    for ask in (CHAIN.point_at, CHAIN.direction_at, CHAIN.curvature_at):
        same(ask(stations), [ask(s) for s in stations])


def test_stations_beyond_the_ends_are_the_ends() -> None:
    same(CHAIN.point_at([-3, CHAIN.length + 3]), [CHAIN.start, CHAIN.end])
    same(CHAIN.direction_at([-3, CHAIN.length + 3]), [CHAIN.start_direction, CHAIN.end_direction])


def test_a_joint_belongs_to_the_segment_that_starts_there() -> None:
    assert SQUARE_CORNER.point_at(10).tolist() == [10, 0]
    same(SQUARE_CORNER.direction_at([9.999, 10, 10.001]), [(1, 0), (0, 1), (0, 1)])
    same(SQUARE_CORNER.direction_at(30), (0, 1))


def test_a_line_is_run_evenly() -> None:
    line = Curve.line((1, 1), (4, 5))
    same(line.point_at([0, 1.25, 5]), [(1, 1), (1.75, 2), (4, 5)], 1e-12)


def test_every_line_of_a_polyline_is_run_evenly() -> None:
    steps = Curve.polyline([(0, 0), (4, 0), (4, 30), (9, 30), (9, 100)])
    same(steps.point_at([2, 14, 36, 74]), [(2, 0), (4, 10), (6, 30), (9, 65)], 1e-9)


def test_directions_are_svgpathtools_unit_tangents() -> None:
    path = theirs(CHAIN)
    for segment, start in zip(path, CHAIN.stations[:-1], strict=True):
        for t in (0.2, 0.5, 0.9):
            station = start + segment.length(0, t, error=1e-12)
            z = segment.unit_tangent(t)
            same(CHAIN.direction_at(station), (z.real, z.imag), 1e-6)
    u, v = path[0].unit_tangent(0), path[1].unit_tangent(1)
    same(CHAIN.start_direction, (u.real, u.imag))
    same(CHAIN.end_direction, (v.real, v.imag))


def test_a_handle_on_its_end_gives_the_limit() -> None:
    """There the curve runs towards the other handle."""
    tight = Curve.cubic((0, 0), (0, 0), (30, 40), (100, 40))
    same(tight.start_direction, (0.6, 0.8), 2e-4)
    same(tight.end_direction, (1, 0), 1e-9)
    same(tight.reversed.end_direction, (-0.6, -0.8), 2e-4)
    both = Curve.cubic((5, 5), (5, 5), (5, 5), (8, 9))
    same(both.start_direction, (0.6, 0.8), 1e-9)
    small = tight.transformed(Affine.scaling(1e-3, 1e-3))
    same(small.start_direction, (0.6, 0.8), 2e-4)
    far = tight.transformed(Affine.translation((4000, 3000)))
    same(far.start_direction, (0.6, 0.8), 2e-4)


def test_a_cusp_gives_the_limit_on_its_own_side() -> None:
    """Speed nothing half way, where the curve turns round: it came upwards and goes down."""
    cusp = Curve.cubic((0, 0), (100, 100), (0, 100), (100, 0))
    same(cusp.direction_at(cusp.length / 2), (0, 1), 1e-3)  # there itself as it came
    half = cusp.split_at(cusp.length / 2)
    same(half[0].end_direction, (0, 1), 1e-3)
    same(half[1].start_direction, (0, -1), 1e-3)


def test_a_slow_but_sound_start_is_not_taken_for_a_cusp() -> None:
    slow = Curve.cubic((0, 0), (0, 1e-4), (50, 0), (100, 0))
    same(slow.start_direction, (0, 1), 1e-12)


def test_a_start_is_slow_or_none_wherever_the_curve_lies() -> None:
    """What counts as no handle is measured against the curve's own size."""
    noise = Curve.cubic((0, 0), (0, 1e-9), (30, 40), (100, 40))
    same(noise.start_direction, (0.6, 0.8), 2e-4)
    slow = Curve.cubic((0, 0), (0, 1e-6), (30, 40), (100, 40))
    same(slow.start_direction, (0, 1), 1e-12)
    far = slow.transformed(Affine.translation((4000, 3000)))
    same(far.start_direction, (0, 1), 1e-5)


def test_a_curve_of_one_point_has_no_direction() -> None:
    assert Curve([[(3, 4)] * 4]).start_direction.tolist() == [0, 0]


def test_curvature_of_a_parabola_and_of_its_mirror_image() -> None:
    """y = x^2 / (2 a): curvature 1 / a at the apex, positive where it turns left."""
    a, b = 40.0, 90.0
    left = Curve.cubic((0, 0), (b / 3, 0), (2 * b / 3, b * b / (6 * a)), (b, b * b / (2 * a)))
    assert left.curvature_at(0) == pytest.approx(1 / a, rel=1e-9)
    assert left.curvature_at(left.length) == pytest.approx(
        1 / a / (1 + (b / a) ** 2) ** 1.5, rel=1e-9
    )
    right = left.transformed(Affine.scaling(1, -1))
    same(right.curvature_at([0, 30, 60]), -left.curvature_at([0, 30, 60]))


def test_curvature_is_svgpathtools() -> None:
    for segment in theirs(CHAIN):
        one = Curve([[(z.real, z.imag) for z in segment.bpoints()]])
        for t in (0.1, 0.45, 0.95):
            got = one.curvature_at(segment.length(0, t, error=1e-12))
            assert abs(got) == pytest.approx(segment.curvature(t), rel=1e-5)


@pytest.mark.parametrize("handle", [0.0, 1e-120])
def test_curvature_at_a_stop_is_no_number_and_no_warning(
    handle: float, recwarn: pytest.WarningsRecorder
) -> None:
    stopped = Curve.cubic((0, 0), (handle, 0), (0, 5 * handle), (8, 9)).curvature_at(0.0)
    assert not np.isfinite(stopped)
    assert not recwarn.list


def bent(degrees: float) -> Curve:
    a = np.radians(degrees)
    return Curve.polyline([(0, 0), (10, 0), (10 + 5 * np.cos(a), 5 * np.sin(a))])


@pytest.mark.parametrize("side", [1, -1])
def test_corners_are_joints_that_turn_by_more_than_ten_degrees(side: int) -> None:
    assert bent(side * 9.9).corners() == ()
    assert bent(side * 10.1).corners() == pytest.approx((10.0,))
    assert bent(side * 3.0).corners(2.9) == pytest.approx((10.0,))
    assert bent(side * 3.0).corners(3.1) == ()
    assert bent(side * 179.0).corners() == pytest.approx((10.0,))
    assert SQUARE_CORNER.corners(90.0) == ()  # not more than


def test_corners_are_told_from_kinks_whichever_way_the_curve_runs() -> None:
    heading, points = 37.0, [np.zeros(2)]
    for turn in (8.0, 12.0, -170.0, -8.0, 0.0):
        points.append(
            points[-1] + 5 * np.array([np.cos(np.radians(heading)), np.sin(np.radians(heading))])
        )
        heading += turn
    assert Curve.polyline([*points, (50, 60)]).corners(11)[:2] == pytest.approx((10.0, 15.0))
    for tilt in range(0, 360, 40):
        curve = bent(9.0).transformed(Affine.rotation(tilt))
        assert curve.corners() == ()
        assert curve.corners(8.9) == pytest.approx((10.0,))


def test_each_corner_has_its_station() -> None:
    steps = Curve.polyline([(0, 0), (4, 0), (4, 3), (9, 3), (12, 3)])
    assert steps.corners() == pytest.approx((4.0, 7.0))
    assert all(type(s) is float for s in steps.corners())
    assert Curve([WAVE]).corners() == ()


# --- parts of it -------------------------------------------------------------------------------


@pytest.mark.parametrize("station", [0.5, 40.0, 119.0, 160.0])
def test_a_split_has_both_lengths_and_lies_on_the_whole(station: float) -> None:
    first, second = CHAIN.split_at(station)
    assert first.length == pytest.approx(station, abs=1e-6)
    assert second.length == pytest.approx(CHAIN.length - station, abs=1e-6)
    assert len(first.controls) + len(second.controls) == 3
    same(first.point_at(station / 2), CHAIN.point_at(station / 2), 1e-6)
    same(second.point_at(3.0), CHAIN.point_at(station + 3.0), 1e-6)
    assert np.array_equal(first.end, second.start)


def test_a_split_at_a_joint_uses_the_joint() -> None:
    joint = float(CHAIN.stations[1])
    for near in (joint, joint + 0.9e-6, joint - 0.9e-6):
        assert CHAIN.split_at(near) == (Curve([WAVE]), Curve([HOOK]))
    for beside in (joint + 2e-6, joint - 2e-6):
        first, second = CHAIN.split_at(beside)
        assert len(first.controls) + len(second.controls) == 3
    steps = Curve.polyline([(0, 0), (2, 0), (2, 2), (4, 2)])
    assert steps.split_at(4.0)[0] == Curve.polyline([(0, 0), (2, 0), (2, 2)])


@pytest.mark.parametrize("station", [-1.0, 0.0, 1e-6, 10.0 - 1e-6, 10.0, 11.0])
def test_a_split_outside_is_refused_in_words(station: float) -> None:
    with pytest.raises(ValueError, match="^" + re.escape(
        f"station {station:.6f} is not inside a curve of 10.000000 mm") + "$"):  # fmt: skip
        Curve.line((0, 0), (10, 0)).split_at(station)


def test_a_split_just_inside_is_done() -> None:
    line = Curve.line((0, 0), (10, 0))
    assert line.split_at(3e-6)[0].length == pytest.approx(3e-6, abs=1e-9)
    assert line.split_at(10 - 3e-6)[1].length == pytest.approx(3e-6, abs=1e-9)


def test_a_part_between_two_stations() -> None:
    part = CHAIN.between(20.0, 140.0)
    assert part.length == pytest.approx(120, abs=1e-6)
    same(part.start, CHAIN.point_at(20.0), 1e-6)
    same(part.end, CHAIN.point_at(140.0), 1e-6)
    assert CHAIN.between(-5.0, 1e6) == CHAIN
    assert CHAIN.between(0.0, CHAIN.length) == CHAIN
    assert CHAIN.between(0.5e-6, CHAIN.length - 0.5e-6) == CHAIN
    assert CHAIN.between(-5.0, 30.0).length == pytest.approx(30, abs=1e-6)
    assert CHAIN.between(30.0, 1e6).length == pytest.approx(CHAIN.length - 30, abs=1e-6)
    assert CHAIN.between(1e-6, CHAIN.length - 1e-6) == CHAIN  # the limit itself counts as the end


def test_the_other_way() -> None:
    back = CHAIN.reversed
    same(back.point_at([10, 150]), CHAIN.point_at([CHAIN.length - 10, CHAIN.length - 150]), 1e-6)
    assert back.reversed == CHAIN
    assert np.array_equal(back.controls[0], HOOK[::-1])


def test_an_affine_image_is_that_of_its_points() -> None:
    shear = Affine(1, 0.2, 0.3, 2, 5, 6)
    same(CHAIN.transformed(shear).point_at(0), shear.apply(CHAIN.start))
    same(CHAIN.transformed(shear).controls, shear.apply(CHAIN.controls))


def test_new_ends_turn_scale_and_move() -> None:
    moved = CHAIN.with_ends((10, 10), (10, 350))  # chord 170 -> 340
    assert moved.start.tolist() == [10, 10]
    assert moved.end.tolist() == [10, 350]
    assert moved.length == pytest.approx(2 * CHAIN.length, abs=1e-6)
    turn = np.degrees(np.arctan2(340, 0) - np.arctan2(-80, 150))
    same(moved.start_direction, Affine.rotation(turn).apply(CHAIN.start_direction))
    same(moved.end_direction, Affine.rotation(turn).apply(CHAIN.end_direction))
    middle = CHAIN.point_at(CHAIN.length / 3)
    same(np.hypot(*(moved.point_at(moved.length / 3) - moved.start)), 2 * np.hypot(*middle), 1e-6)


def test_ends_that_stay_change_nothing() -> None:
    assert CHAIN.with_ends(CHAIN.start, CHAIN.end) is CHAIN
    one = CHAIN.with_ends(CHAIN.start, CHAIN.end + np.array([0, 1]))
    assert one.end.tolist() == [150, -79]
    assert one != CHAIN
    other = CHAIN.with_ends(CHAIN.start + np.array([0, 1]), CHAIN.end)
    assert other.start.tolist() == [0, 1]
    assert other != CHAIN
    narrow = Curve.line((0, 0), (1, 0)).with_ends(
        np.array([-100, 0], dtype=np.int8), np.array([100, 0], dtype=np.int8)
    )
    assert narrow.length == pytest.approx(200, abs=1e-9)


@pytest.mark.parametrize("within", [0.5, 0.02, 0.001])
def test_chords_keep_within_the_tolerance(within: float) -> None:
    from shapely import LineString, Point

    line = LineString(CHAIN.flattened(within))
    dense = BPoly(np.array(CHAIN.controls).transpose(1, 0, 2), [0, 1, 2])(np.linspace(0, 2, 2001))
    assert max(line.distance(Point(p)) for p in dense) <= within
    curve = LineString(dense)
    assert max(curve.distance(Point(p)) for p in CHAIN.flattened(within)) < 0.01


def test_flattened_has_the_joints_and_lines_as_one_chord() -> None:
    flat = CHAIN.flattened()
    assert np.array_equal(flat[0], CHAIN.start)
    assert np.array_equal(flat[-1], CHAIN.end)
    assert (flat == WAVE[3]).all(axis=1).sum() == 1
    assert np.array_equal(SQUARE_CORNER.flattened(), [(0, 0), (10, 0), (10, 20)])


def test_flattened_again_to_another_tolerance_is_another_polyline() -> None:
    curve = Curve([WAVE, HOOK])
    coarse, fine = curve.flattened(1.0), curve.flattened(0.01)
    assert len(fine) > 2 * len(coarse)
    assert curve.flattened(0.01) is fine
    assert np.array_equal(curve.flattened(1.0), coarse)
    assert len(curve.flattened()) == len(Curve([WAVE, HOOK]).flattened(0.02))


# --- nearest -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "point",
    [(50, 40), (20, 30), (-20, -5), (160, -90), (120, -20), (100, 60), (60, -30), (140, 300)],
)
def test_nearest_is_square_to_the_curve_and_nothing_is_nearer(point: tuple[float, float]) -> None:
    station, distance = CHAIN.nearest(point)
    p = np.array(point, dtype=float)
    dense = BPoly(np.array(CHAIN.controls).transpose(1, 0, 2), [0, 1, 2])(np.linspace(0, 2, 40001))
    assert distance == pytest.approx(np.hypot(*(dense - p).T).min(), abs=1e-5)
    off = p - CHAIN.point_at(station)
    assert np.hypot(*off) == pytest.approx(distance, abs=1e-9)
    assert type(station) is type(distance) is float
    if 0 < station < CHAIN.length:
        assert abs(off @ CHAIN.direction_at(station)) < 1e-7


def test_nearest_on_a_line_is_its_foot_or_its_end() -> None:
    line = Curve.line((0, 0), (10, 0))
    same(line.nearest((3, 4)), (3, 4), 1e-9)
    same(line.nearest((-3, 4)), (0, 5), 1e-9)
    same(line.nearest((13, -4)), (10, 5), 1e-9)
    same(line.nearest((5, 0)), (5, 0), 1e-9)


def test_nearest_to_points_of_the_curve_is_their_station() -> None:
    for share in np.linspace(0, 1, 23):
        station = share * CHAIN.length
        found, distance = CHAIN.nearest(CHAIN.point_at(station))
        assert found == pytest.approx(station, abs=2e-6)
        assert distance < 1e-7


def test_nearest_across_a_corner_and_on_the_other_leg() -> None:
    same(SQUARE_CORNER.nearest((13, -4)), (10, 5), 1e-9)
    same(SQUARE_CORNER.nearest((7, 12)), (22, 3), 1e-9)
    same(SQUARE_CORNER.nearest((2, -1)), (2, 1), 1e-9)


def test_of_equally_near_places_the_first_is_taken() -> None:
    tent = Curve.polyline([(0, 0), (10, 10), (20, 0)])
    same(tent.nearest((10, 0)), (np.sqrt(50), np.sqrt(50)), 1e-9)


def test_of_more_equally_near_places_than_are_searched_the_first_is_taken() -> None:
    to_and_fro = Curve.polyline([(0, 0), (10, 0)] * 15)
    same(to_and_fro.nearest((5, 3)), (5, 3), 1e-9)


@pytest.mark.parametrize("point", [(50, 40), (20, 30), (5, 5), (90, 0), (33, 11)])
def test_nearest_settles_in_few_steps(point: tuple, monkeypatch: pytest.MonkeyPatch) -> None:
    """As Newton's method does, not as halving: the digits double at every step."""
    asked, at = [], curves._Cubic.at
    monkeypatch.setattr(curves._Cubic, "at", lambda axis, t: asked.append(t) or at(axis, t))
    Curve([WAVE]).nearest(point)
    assert len(asked) <= 2 * 8  # two axes


def test_nearest_sees_every_fold_of_a_zigzag() -> None:
    """Several places of the curve come near; the nearest is not where the samples are nearest."""
    rng = np.random.default_rng(5)
    for _ in range(60):
        curve = Curve([rng.uniform(-100, 100, (4, 2))])
        p = rng.uniform(-120, 120, 2)
        dense = BPoly(np.array(curve.controls).transpose(1, 0, 2), [0, 1])(np.linspace(0, 1, 8001))
        assert curve.nearest(p)[1] <= np.hypot(*(dense - p).T).min() + 1e-9


def by_roots(control: np.ndarray, p: np.ndarray) -> float:
    """The least distance from the zeros of (B - p) . B', a polynomial of the fifth degree."""
    power = np.array([[-1, 3, -3, 1], [3, -6, 3, 0], [-3, 3, 0, 0], [1, 0, 0, 0]]) @ (control - p)
    slope = sum(np.polymul(axis, np.polyder(axis)) for axis in power.T)
    roots = np.roots(slope)
    t = np.clip(np.concatenate([roots.real[abs(roots.imag) < 1e-6], [0, 1]]), 0, 1)
    return float(np.hypot(*(np.polyval(axis, t) for axis in power.T)).min())


#: From these Newton's method would leave the stretch that it searches.
STUBBORN = [
    ([(2, -64), (-59, 29), (93, -94), (22, 83)], (79, -6)),
    ([(-81, 28), (85, 70), (-67, -22), (-49, -58)], (-20, -96)),
    ([(88, -77), (-23, 34), (-72, -97), (15, 99)], (101, -36)),
    ([(-48, 53), (67, -79), (95, -61), (94, 48)], (99, 70)),
    ([(75, 27), (-71, -78), (-64, -25), (-46, 60)], (-37, 33)),
    # Where the search starts the distance is hollow: no step of Newton's is any good there.
    ([(1, 27), (-82, -63), (-36, -13), (99, -9)], (-38.2, -23.6)),
    ([(-89, -58), (-64, -57), (41, -31), (-90, -70)], (-25.9, -49.4)),
    ([(-74, -36), (53, -91), (95, 46), (-80, -92)], (34.2, -31.2)),
    ([(-92, -88), (52, -26), (3, -95), (-42, 25)], (1.9, -53.1)),
]


@pytest.mark.parametrize(("control", "point"), STUBBORN)
def test_nearest_of_stubborn_points(control: list, point: tuple) -> None:
    wanted = by_roots(np.array(control, dtype=float), np.array(point, dtype=float))
    assert Curve([control]).nearest(point)[1] == pytest.approx(wanted, abs=1e-9)


def test_nearest_of_drawn_points_by_the_roots_of_a_polynomial() -> None:
    rng = np.random.default_rng(11)
    for _ in range(150):
        control, p = rng.uniform(-100, 100, (4, 2)), rng.uniform(-130, 130, 2)
        assert Curve([control]).nearest(p)[1] == pytest.approx(by_roots(control, p), abs=1e-9)


def test_nearest_sees_a_fast_stretch_beside_a_slow_one() -> None:
    """A short line 10 mm off, and a long one that passes at 0.5 mm between its samples."""
    curve = Curve.polyline([(-1, 10), (1, 10), (212, 40), (212, 0.5), (-188, 0.5)])
    assert curve.nearest((0, 0))[1] == pytest.approx(0.5, abs=1e-9)


def test_nearest_on_a_cusp() -> None:
    cusp = Curve.cubic((0, 0), (100, 100), (0, 100), (100, 0))
    station, distance = cusp.nearest((50, 200))
    assert distance == pytest.approx(125, abs=1e-6)  # the tip lies at (50, 75)
    assert station == pytest.approx(cusp.length / 2, abs=1e-3)


# --- as a value --------------------------------------------------------------------------------


def test_curves_of_the_same_points_are_equal_and_hash_alike() -> None:
    again = Curve([WAVE, HOOK])
    assert again == CHAIN
    assert hash(again) == hash(CHAIN)
    assert len({again, CHAIN}) == 1
    assert Curve([WAVE]) != CHAIN
    assert len({hash(Curve([WAVE + i])) for i in range(5)}) > 1
    assert Curve([WAVE]) != Curve([WAVE + 1e-9])
    assert CHAIN != "curve"
    assert Curve([WAVE]).__eq__(np.array([WAVE])) is False


def test_a_pickled_curve_comes_back_whole() -> None:
    CHAIN.flattened()
    back = pickle.loads(pickle.dumps(CHAIN))
    assert back == CHAIN
    assert np.array_equal(back.controls, CHAIN.controls)


def test_a_curve_says_what_it_is() -> None:
    assert repr(CHAIN) == "<Curve 2 segments, (0.00, 0.00) to (150.00, -80.00)>"
