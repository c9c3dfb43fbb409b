"""Curves from flattened ones: what was flattened comes back; every vertex within the tolerance."""

import numpy as np
import pytest
from scipy.interpolate import BPoly

from sleevewright.geometry import Affine, Curve, fair_curve, fitting
from sleevewright.geometry.conversion import circular_arc
from sleevewright.geometry.fitting import fit_polyline

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


def sampled(control: object, count: int) -> np.ndarray:
    """Vertices of one cubic at equal parameters."""
    return BPoly(np.array(control, dtype=float)[:, None], [0, 1])(np.linspace(0, 1, count))


def strays(curve: Curve, p: np.ndarray) -> float:
    return max(curve.nearest(v)[1] for v in p)


ARMHOLE = [(0, 0), (10, 70), (60, 110), (140, 120)]
ESS = [(0, 0), (60, 50), (90, -40), (150, 10)]


# --- straight ----------------------------------------------------------------------------------


def test_two_vertices_are_a_line() -> None:
    assert fit_polyline(np.array([(3, 4), (50, 60)])) == Curve.line((3, 4), (50, 60))


@pytest.mark.parametrize("side", [1, -1])
def test_vertices_on_a_line_are_one_line_and_others_are_not(side: int) -> None:
    """A thousandth of a millimetre is straight."""
    flat = np.array([(0, 0), (30, side * 0.9e-3), (60, 0), (100, 0)])
    assert fit_polyline(flat) == Curve.line((0, 0), (100, 0))
    bowed = np.array([(0, 0), (30, side * 1.2e-3), (60, side * 1.2e-3), (100, 0)])
    assert fit_polyline(bowed) != Curve.line((0, 0), (100, 0))
    just = np.array([(0, 0), (50, side * 1e-3), (100, 0)])
    assert fit_polyline(just) != Curve.line((0, 0), (100, 0))
    slanting = np.array([(5, 5), (35 + side * 0.8e-3, 45 - side * 0.6e-3), (65, 85)])
    assert len(fit_polyline(slanting).controls) == 1
    assert fit_polyline(slanting).length == pytest.approx(100, abs=1e-6)


@pytest.mark.parametrize("at", [1, 2, 3])
@pytest.mark.parametrize("tilt", [0, 40, 130, 250])
def test_straight_is_measured_from_the_chord_wherever_it_lies(tilt: float, at: int) -> None:
    move = Affine.translation((700, -300)) @ Affine.rotation(tilt)
    for off, straight in ((0.9e-3, True), (1.2e-3, False)):
        p = np.array([(0, 0), (25, 0), (50, 0), (75, 0), (100, 0)], dtype=float)
        p[at, 1] = off
        curve = fit_polyline(move.apply(p))
        line = Curve.line(move.apply((0, 0)), move.apply((100, 0)))
        assert (curve == line) is straight


@pytest.mark.parametrize("beyond", [(-2, 0), (102, 0)])
def test_vertices_on_a_line_beyond_its_ends_are_not_left_out(beyond: tuple[float, float]) -> None:
    p = np.array([(0, 0), (50, 0), beyond, (100, 0)], dtype=float)
    assert strays(fit_polyline(p), p) <= 0.05


def test_a_closed_run_is_no_line() -> None:
    """A circle as one spline of the sender's, flattened: it ends where it starts."""
    p = circular_arc((20, 30), 50, 0, 360).flattened(0.01).copy()
    p[-1] = p[0]
    curve = fit_polyline(p)
    assert strays(curve, p) <= 0.05
    assert curve.length == pytest.approx(100 * np.pi, abs=0.1)
    assert np.array_equal(curve.end, curve.start)


def test_whole_numbers_are_vertices() -> None:
    narrow = np.array([(-100, 0), (0, 100), (100, 0)], dtype=np.int8)
    assert fit_polyline(narrow) == fit_polyline(narrow.astype(float))
    falling = np.array([(200, 10), (100, 110), (0, 10)], dtype=np.uint8)
    assert fit_polyline(falling) == fit_polyline(falling.astype(float))
    assert fit_polyline(narrow[[0, 2]]).length == pytest.approx(200)


# --- one cubic ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("control", "most"), [(ARMHOLE, 1), (ESS, 6)])
@pytest.mark.parametrize("count", [9, 14, 40, 200])
def test_a_flattened_cubic_comes_back(control: list, most: int, count: int) -> None:
    p = sampled(control, count)
    curve = fit_polyline(p)
    assert len(curve.controls) <= most
    assert np.array_equal(curve.start, p[0])
    assert np.array_equal(curve.end, p[-1])
    assert strays(curve, p) <= 0.05
    assert strays(curve, sampled(control, 300)) < 0.12
    assert curve.length == pytest.approx(Curve([control]).length, abs=0.05)
    assert not curve.corners(1e-6)


def test_a_flattened_cubic_is_met_closely() -> None:
    p = sampled(ARMHOLE, 40)
    assert len(fit_polyline(p, within=0.035).controls) == 1


def test_vertices_unevenly_spread_do_no_harm() -> None:
    """The parameters of the vertices are found, not taken from their number."""
    t = np.linspace(0, 1, 60) ** 1.7
    p = BPoly(np.array(ARMHOLE, dtype=float)[:, None], [0, 1])(t)
    curve = fit_polyline(p)
    assert len(curve.controls) <= 2
    assert strays(curve, p) <= 0.05


def test_the_direction_at_the_ends_is_of_the_fourth_order() -> None:
    """Half the spacing, a sixteenth of the error."""
    errors = []
    for count in (7, 13):
        angles = np.linspace(0, np.pi / 2, count)
        p = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        curve = fit_polyline(p)
        errors.append((abs(curve.start_direction[0]), abs(curve.end_direction[1])))
    for coarse, fine in zip(*errors, strict=True):
        assert coarse / fine > 12
        assert fine < 2e-4


def test_a_parabola_through_three_vertices_has_its_own_end_directions() -> None:
    """By chord length: symmetric vertices of an arch."""
    curve = fit_polyline(np.array([(0, 0), (30, 40), (60, 0)], dtype=float))
    same(curve.start_direction, np.array([0.6, 1.6]) / np.hypot(0.6, 1.6))
    same(curve.end_direction, np.array([0.6, -1.6]) / np.hypot(0.6, 1.6))
    assert len(curve.controls) == 1


def test_parameters_are_improved_as_by_newton() -> None:
    """The error is squared at every step, on either side of a curve that bends both ways."""
    control, foot = np.array(ESS, dtype=float), np.array([0.0, 0.2, 0.5, 0.8, 1.0])
    path = BPoly(control[:, None], [0, 1])
    along = path(foot, nu=1)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
    for beside in (8.0, -8.0):
        run = path(foot) + beside * normal
        for away in (1e-2, -1e-2):
            t = fitting._reparametrised(control, run, foot + away)
            assert np.abs(t - foot).max() < 4e-4
            t = fitting._reparametrised(control, run, t)
            assert np.abs(t - foot).max() < 1e-6


def test_parameters_never_run_back_nor_beyond_the_ends() -> None:
    line = Curve.line((0, 0), (10, 0)).controls[0]
    run = np.array([(0, 0), (4, 1), (2, 1), (14, 1), (-5, 1), (10, 0)], dtype=float)
    t = fitting._reparametrised(line, run, np.linspace(0, 1, 6))
    same(t, [0, 0.4, 0.4, 1, 1, 1], 1e-12)
    before = np.array([(0, 0), (-3, 1), (10, 0)], dtype=float)
    assert fitting._reparametrised(line, before, np.array([0, 0.5, 1.0]))[1] == 0.0


def test_parameters_on_one_point_stay() -> None:
    t = np.array([0.0, 0.3, 1.0])
    dot, run = np.full((4, 2), 7.0), np.array([(7, 7), (9, 9), (7, 7)], dtype=float)
    assert fitting._reparametrised(dot, run, t).tolist() == t.tolist()


# --- several -----------------------------------------------------------------------------------


@pytest.mark.parametrize("within", [0.5, 0.05, 0.01])
def test_every_vertex_lies_within_the_tolerance(within: float) -> None:
    arc = circular_arc((0, 0), 100, 0, 250)
    p = arc.flattened(0.005)
    curve = fit_polyline(p, within=within)
    assert strays(curve, p) <= within
    assert not curve.corners(0.5)
    assert np.array_equal(curve.start, p[0])
    assert np.array_equal(curve.end, p[-1])
    assert len(curve.controls) <= 12


def test_the_tolerance_is_a_twentieth_of_a_millimetre_where_none_is_given() -> None:
    p = circular_arc((0, 0), 100, 0, 250).flattened(0.005)
    assert fit_polyline(p) == fit_polyline(p, within=0.05)
    assert len(fit_polyline(p, within=2.0).controls) < len(fit_polyline(p, within=0.05).controls)
    assert len(fit_polyline(p, within=0.05).controls) < len(fit_polyline(p, within=0.0005).controls)


def test_joints_lie_on_vertices_with_one_direction() -> None:
    p = circular_arc((0, 0), 100, 0, 250).flattened(0.005)
    curve = fit_polyline(p, within=0.01)
    for control in curve.controls:
        assert np.hypot(*(p - control[3]).T).min() == 0.0
    assert not curve.corners(1e-6)
    turn = np.degrees(np.arctan2(*curve.end_direction[::-1]))
    assert turn == pytest.approx(250 + 90 - 360, abs=0.05)


def two_edges() -> tuple[np.ndarray, int]:
    first = sampled([(0, 0), (30, 0), (60, 20), (80, 50)], 20)
    second = sampled([(80, 50), (120, 110), (200, 100), (230, 60)], 25)
    return np.concatenate([first, second[1:]]), len(first) - 1


def test_the_senders_joints_are_kept() -> None:
    p, knot = two_edges()
    curve = fit_polyline(p, knots=[knot])
    assert (curve.controls[:, 3] == p[knot]).all(axis=1).any()
    assert not (fit_polyline(p).controls[:, 3] == p[knot]).all(axis=1).any()
    assert len(curve.controls) <= 7
    assert strays(curve, p) <= 0.05


def test_knots_at_the_ends_and_outside_say_nothing() -> None:
    p, knot = two_edges()
    assert fit_polyline(p, [0, knot, knot, len(p) - 1, len(p) + 5, -3]) == fit_polyline(p, [knot])
    assert fit_polyline(p, (1,)).controls[0, 3].tolist() == p[1].tolist()
    last = len(p) - 2
    assert fit_polyline(p, (last,)).controls[-1, 0].tolist() == p[last].tolist()


def test_a_wild_line_is_followed_vertex_by_vertex() -> None:
    """Nothing smooth lies near it; the fit ends and keeps the tolerance all the same."""
    rng = np.random.default_rng(2)
    p = np.stack([np.arange(40.0) * 4, rng.uniform(-6, 6, 40)], axis=1)
    curve = fit_polyline(p)
    assert strays(curve, p) <= 0.05 or len(curve.controls) >= 13
    assert np.array_equal(curve.end, p[-1])
    places = [int(np.flatnonzero((p == c[0]).all(axis=1))[0]) for c in curve.controls]
    for c, first, last in zip(curve.controls, places, [*places[1:], len(p) - 1], strict=True):
        run = np.hypot(*np.diff(p[first : last + 1], axis=0).T).sum()
        for handle in (
            c[1] - c[0],
            c[3] - c[2],
        ):  # never a spike, never a loop round the next vertex
            assert 0.05 * run - 1e-9 <= np.hypot(*handle) <= 1.2 * run + 1e-9


@pytest.mark.parametrize("turned", [False, True])
def test_a_saw_of_growing_teeth_is_fitted_to_its_end(turned: bool) -> None:
    """Its worst vertex is always next to an end; cutting there again and again comes to an end."""
    x = np.arange(1200.0)
    p = np.stack([x, 0.05 * x * np.where(x % 2 == 1, 1, -1)], axis=1)
    p = p[::-1] if turned else p
    curve = fit_polyline(p)
    assert np.array_equal(curve.start, p[0])
    assert np.array_equal(curve.end, p[-1])
    assert len(curve.controls) < 1200


# --- straight stretches among curved ones ------------------------------------------------------


def test_a_long_chord_stays_straight_and_the_curve_runs_out_of_it() -> None:
    """A straight run, an arc and a straight run, flattened: the runs are one chord each."""
    start, arc = np.array([(-80.0, -40.0)]), circular_arc((0, 0), 40, -90, 90).flattened(0.01)
    p = np.concatenate([start, arc, [(40.0, 90.0)]])
    curve = fit_polyline(p)
    assert Curve(curve.controls[:1]) == Curve.line((-80, -40), arc[0])
    assert Curve(curve.controls[-1:]) == Curve.line(arc[-1], (40, 90))
    assert curve.corners(1e-6) == ()
    middle = Curve(curve.controls[1:-1])
    same(middle.start_direction, (1, 0), 1e-3)
    same(middle.end_direction, (0, 1), 1e-3)
    assert np.abs(np.hypot(*middle.flattened(0.001).T) - 40).max() < 0.06


def test_a_long_chord_in_the_middle() -> None:
    """Two arcs with a tangent line between them."""
    first = circular_arc((0, 0), 30, -180, 90).flattened(0.01)
    second = circular_arc((60, -60), 30, 90, -90).flattened(0.01)
    p = np.concatenate([first, second])
    curve = fit_polyline(p)
    line = [c for c in curve.controls if np.array_equal(c[0], first[-1])]
    assert len(line) == 1
    same(line[0], Curve.line(first[-1], second[0]).controls[0])
    assert curve.corners(1e-6) == ()
    assert strays(curve, p) <= 0.05


@pytest.mark.parametrize(("times", "straight"), [(4.2, True), (3.8, False)])
def test_long_is_four_times_a_neighbour(times: float, straight: bool) -> None:
    """Vertices on a circle, one chord longer than its neighbours."""
    step = 0.04
    angles = np.concatenate([step * np.arange(12), step * (11 + times + np.arange(12))])
    p = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    curve = fit_polyline(p, within=0.2)
    has_line = any(np.array_equal(c[0], p[11]) and Curve([c]).is_straight() for c in curve.controls)
    assert has_line is straight


def test_lines_and_arcs_in_turn() -> None:
    """Three lines with an arc of few vertices between each two: directions come from the lines."""
    heading, p = 0.0, [np.array([0.0, 0.0]), np.array([200.0, 0.0])]
    for sign in (1, -1):
        for _ in range(6):
            heading += sign * np.radians(7.5)
            p.append(p[-1] + 8 * np.array([np.cos(heading), np.sin(heading)]))
            heading += sign * np.radians(7.5)
        p.append(p[-1] + 200 * np.array([np.cos(heading), np.sin(heading)]))
    vertices = np.array(p)
    curve = fit_polyline(vertices)
    assert curve.corners(1e-6) == ()
    assert strays(curve, vertices) <= 0.05
    lines = [c for c in curve.controls if Curve([c]).is_straight()]
    assert [np.hypot(*(c[3] - c[0])).round(6) for c in lines] == [200, 200, 200]


def test_a_straight_run_between_knots_is_one_line() -> None:
    """Vertices as dense on the line as on the arc: the knot alone says where the line ends."""
    line = np.stack([np.linspace(0, 60, 31), np.zeros(31)], axis=1)
    angles = np.radians(np.arange(-86, 81, 4.0))
    arc = np.stack([60 + 30 * np.cos(angles), 30 + 30 * np.sin(angles)], axis=1)
    p = np.concatenate([line, arc])
    curve = fit_polyline(p, knots=[30])
    same(curve.controls[0], Curve.line((0, 0), (60, 0)).controls[0], 1e-9)
    assert strays(curve, p) <= 0.05
    three = fit_polyline(p[28:], knots=[2])
    same(three.controls[0], Curve.line((56, 0), (60, 0)).controls[0], 1e-9)


@pytest.mark.parametrize(("bump", "straight"), [(0.95e-4, True), (1e-4, False)])
def test_a_run_between_knots_is_straight_to_a_tenth_of_a_micrometre(
    bump: float, straight: bool
) -> None:
    line = np.stack([np.linspace(0, 60, 31), np.zeros(31)], axis=1)
    line[15, 1] = bump
    angles = np.radians(np.arange(-86, 1, 4.0))
    arc = np.stack([60 + 30 * np.cos(angles), 30 + 30 * np.sin(angles)], axis=1)
    first = fit_polyline(np.concatenate([line, arc]), knots=[30]).controls[0]
    assert np.array_equal(first, Curve.line((0, 0), (60, 0)).controls[0]) is straight


@pytest.mark.parametrize(("long", "straight"), [(4.0, False), (4.001, True)])
def test_a_chord_four_times_its_neighbour_is_not_yet_long(long: float, straight: bool) -> None:
    p = np.array([(0, 0), (1, 0), (1, long), (2, long)], dtype=float)
    lines = [
        c for c in fit_polyline(p).controls if np.array_equal(c, Curve.line(p[1], p[2]).controls[0])
    ]
    assert len(lines) == straight


def test_a_run_is_cut_no_deeper_than_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice: into four, where nothing smooth lies near."""
    monkeypatch.setattr(fitting, "_DEEPEST", 2)
    heading = np.random.default_rng(3).uniform(-1, 1, 200)
    p = np.cumsum(np.stack([np.cos(heading), np.sin(heading)], axis=1), axis=0)
    assert len(fit_polyline(p).controls) == 4


def test_two_long_chords_that_meet_are_two_lines() -> None:
    before = circular_arc((0, 0), 40, -180, 90).flattened(0.01)
    corner = before[-1] + np.array([90.0, 0.0])
    turn = np.radians(3)
    end = corner + 80 * np.array([np.cos(turn), np.sin(turn)])
    normal = np.array([-np.sin(turn), np.cos(turn)])
    after = circular_arc(end + 40 * normal, 40, -87, 80).flattened(0.01)
    p = np.concatenate([before, [corner], after])
    lines = [c for c in fit_polyline(p).controls if Curve([c]).is_straight()]
    same(
        lines,
        np.concatenate(
            [Curve.line(before[-1], corner).controls, Curve.line(corner, after[0]).controls]
        ),
    )


def test_joints_of_the_sender_a_vertex_apart_are_no_corners() -> None:
    angles = np.radians(np.arange(0, 121, 6.0))
    p = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    curve = fit_polyline(p, knots=[7, 8])
    assert curve.corners(1e-6) == ()
    assert {tuple(p[7]), tuple(p[8])} <= {tuple(c[3]) for c in curve.controls}


def test_joints_on_a_circle_have_its_directions() -> None:
    """By symmetry exactly, where the vertices are evenly spaced."""
    angles = np.radians(np.arange(0, 241, 6.0))
    p = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    curve = fit_polyline(p, within=0.001)
    assert len(curve.controls) > 3
    for control in curve.controls[1:]:
        step = control[1] - control[0]
        assert abs(step @ control[0]) / np.hypot(*step) / 100 < 1e-9


def test_five_vertices_are_all_used_for_the_direction() -> None:
    """The error of the fourth order at the end of an arc of five vertices: far below that of four."""
    angles = np.radians(np.arange(0, 41, 10.0))
    p = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    curve = fit_polyline(p)
    assert abs(curve.start_direction[0]) < 1e-4
    assert abs(curve.end_direction @ p[-1]) / 100 < 1e-4


def test_a_straight_part_between_knots_is_a_line() -> None:
    """Vertices on a line between two of the sender's joints."""
    line = np.stack([np.linspace(0, 60, 7), np.zeros(7)], axis=1)
    arc = circular_arc((60, 30), 30, -90, 80).flattened(0.005)
    p = np.concatenate([line, arc[1:]])
    curve = fit_polyline(p, knots=[6])
    before, after = curve.split_at(60.0)
    assert before.is_straight()
    same(before.end_direction, (1, 0), 1e-12)
    same(after.start_direction, (1, 0), 1e-12)


def test_fitting_a_fair_edge_gives_its_length_and_directions() -> None:
    edge = Curve.joined(
        [
            fair_curve((0, 0), (90, 40), (1, 0), (0.8, 0.6)),
            fair_curve((90, 40), (120, 130), (0.8, 0.6), (0, 1)),
        ]
    )
    curve = fit_polyline(edge.flattened(0.02))
    assert curve.length == pytest.approx(edge.length, abs=0.02)
    same(curve.start_direction, edge.start_direction, 2e-3)
    same(curve.end_direction, edge.end_direction, 2e-3)
    assert len(curve.controls) <= 4
