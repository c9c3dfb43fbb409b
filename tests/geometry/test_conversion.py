"""Arcs, quadratics and splines as cubics: circles in closed form, scipy's splines as judge."""

import numpy as np
import pytest
from scipy.interpolate import BPoly, BSpline

from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import (
    b_spline,
    bulge,
    circular_arc,
    elliptical_arc,
    quadratic,
    unit_arc,
)

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


def dense(curve: Curve, n: int = 400) -> np.ndarray:
    count = len(curve.controls)
    path = BPoly(np.array(curve.controls).transpose(1, 0, 2), np.arange(count + 1))
    return path(np.linspace(0, count, n + 1))


def on_circle(degrees: object) -> np.ndarray:
    a = np.radians(np.asarray(degrees, dtype=float))
    return np.stack([np.cos(a), np.sin(a)], axis=-1)


# --- arcs --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("start", "sweep"), [(0, 90), (20, 250), (-30, -120), (10, 360), (5, 1)])
def test_an_arc_runs_from_its_start_over_its_sweep_on_the_circle(
    start: float, sweep: float
) -> None:
    arc = unit_arc(start, sweep)
    same(arc.start, on_circle(start))
    same(arc.end, on_circle(start + sweep))
    assert np.abs(np.hypot(*dense(arc).T) - 1).max() < 2.5e-7
    assert arc.length == pytest.approx(np.radians(abs(sweep)), abs=1e-6)
    same(arc.point_at(arc.length / 4), on_circle(start + sweep / 4), 1e-6)
    turn = np.sign(sweep) * 90
    same(arc.start_direction, on_circle(start + turn))
    same(arc.end_direction, on_circle(start + sweep + turn))


@pytest.mark.parametrize(
    ("sweep", "parts"),
    [(0.0, 1), (1, 1), (22.5, 1), (22.6, 2), (-45, 2), (-46, 3), (90, 4), (360, 16)],
)
def test_an_arc_is_cut_into_parts_of_at_most_22_and_a_half_degrees(
    sweep: float, parts: int
) -> None:
    assert len(unit_arc(0, sweep).controls) == parts


def test_rounding_in_the_sweep_makes_no_part_more() -> None:
    assert len(unit_arc(0, 22.5 * (1 + 1e-12)).controls) == 1


def test_a_circular_arc_has_its_centre_and_radius() -> None:
    arc = circular_arc((5, -3), 120, 30, 90)
    same(arc.start, np.array([5, -3]) + 120 * on_circle(30))
    same(arc.end, np.array([5, -3]) + 120 * on_circle(120))
    assert np.abs(np.hypot(*(dense(arc) - [5, -3]).T) - 120).max() < 120 * 2.5e-7


def test_an_elliptical_arc_is_centre_plus_two_axes() -> None:
    """The axes need not be square to one another."""
    centre, major, minor = np.array([10, 20]), np.array([60, 10]), np.array([-5, 30])
    arc = elliptical_arc(centre, major, minor, 40, 200)
    for curve, at in ((arc.start, 40), (arc.end, 240)):
        c, s = on_circle(at)
        same(curve, centre + major * c + minor * s)
    frame = np.linalg.inv(np.stack([major, minor], axis=1))
    unit = (dense(arc) - centre) @ frame.T
    assert np.abs(np.hypot(*unit.T) - 1).max() < 2.5e-7


# --- bulges ------------------------------------------------------------------------------------


@pytest.mark.parametrize("angle", [10, 90, 179, 180, 200, 300, -10, -90, -180, -270])
@pytest.mark.parametrize("ends", [((0, 0), (10, 0)), ((3, 4), (-7, 30))])
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_angle(angle: float, ends: tuple) -> None:
    """Positive runs counter-clockwise; the arc lies on the right of its chord."""
    p, q = (np.array(e, dtype=float) for e in ends)
    amount = np.tan(np.radians(angle) / 4)
    arc = bulge(p, q, amount)
    assert np.array_equal(arc.start, p)
    assert np.array_equal(arc.end, q)
    chord = np.hypot(*(q - p))
    radius = chord / 2 / np.sin(np.radians(abs(angle)) / 2)
    assert arc.length == pytest.approx(radius * np.radians(abs(angle)), rel=1e-6)
    right = np.array([(q - p)[1], -(q - p)[0]]) / chord
    # The height of the arc over its chord is amount x half the chord: DXF's own definition.
    same(arc.point_at(arc.length / 2), (p + q) / 2 + amount * chord / 2 * right, 1e-5)
    points = dense(arc)
    steps = np.diff(points, axis=0)
    turns = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    assert (np.sign(turns) == np.sign(angle)).all()


def test_no_bulge_is_a_line() -> None:
    for nothing in (0.0, 1e-13, -1e-13):
        assert bulge((0, 0), (10, 5), nothing) == Curve.line((0, 0), (10, 5))
    assert bulge((0, 0), (10, 5), 1e-12) != Curve.line((0, 0), (10, 5))  # the limit is an arc
    slight = bulge((0, 0), (10, 0), 1e-7)  # still an arc: 5e-7 mm high
    assert slight != Curve.line((0, 0), (10, 0))
    assert slight.point_at(slight.length / 2)[1] == pytest.approx(-5e-7, abs=1e-8)


def test_bulges_take_whole_numbers_of_any_width() -> None:
    narrow = bulge(np.array([-100, 0], np.int8), np.array([100, 0], np.int8), 1.0)
    assert narrow.length == pytest.approx(100 * np.pi, rel=1e-6)


# --- quadratics --------------------------------------------------------------------------------


def test_a_quadratic_is_the_same_polynomial() -> None:
    control = np.array([(1, 2), (40, -30), (90, 60)], dtype=float)
    ours = quadratic(*control)
    assert len(ours.controls) == 1
    theirs = BPoly(control[:, None], [0, 1])
    same(dense(ours, 20), theirs(np.linspace(0, 1, 21)), 1e-12 * 100)
    narrow = quadratic(*control.astype(np.int8))
    assert narrow == ours
    extreme = np.array([(-100, 0), (100, 0), (-100, 100)], dtype=np.int8)
    assert quadratic(*extreme) == quadratic(*extreme.astype(float))


# --- splines -----------------------------------------------------------------------------------

POINTS = np.array([(0, 0), (10, 20), (30, 30), (40, 0), (60, 10), (80, 50), (90, 0)], dtype=float)
SPLINES = {
    "cubic": (3, [0, 0, 0, 0, 0.2, 0.5, 0.6, 1, 1, 1, 1]),
    "cubic, double knot": (3, [0, 0, 0, 0, 0.5, 0.5, 0.7, 1, 1, 1, 1]),
    "cubic, triple knot": (3, [0, 0, 0, 0, 0.5, 0.5, 0.5, 1, 1, 1, 1]),
    "cubic, unclamped": (3, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]),
    "cubic, double knots where it starts and ends": (3, [0, 1, 2, 2, 4, 5, 6, 7, 7, 9, 10]),
    "cubic, double knots before its start and after its end": (
        3,
        [0, 2, 2, 3, 4, 5, 6, 7, 8, 8, 10],
    ),
    "cubic, clamped at one end": (3, [2, 2, 2, 2, 3, 4, 6, 7, 9, 10, 11]),
    "quadratic": (2, [0, 0, 0, 1, 2, 4, 5, 6, 6, 6]),
    "quadratic, double knots where it starts and ends": (2, [0, 1, 1, 3, 4, 5, 6, 7, 7, 9]),
    "quadratic, unclamped": (2, [-1, 0, 1, 3, 4, 5, 6, 7, 8, 9]),
    "linear": (1, [0, 0, 1, 2, 3, 4, 5, 6, 6]),
    "linear, uneven": (1, [0, 0, 1, 2, 5, 7, 7.5, 9, 9]),
}


@pytest.mark.parametrize("name", SPLINES)
def test_a_spline_is_scipys_at_every_parameter(name: str) -> None:
    degree, knots = SPLINES[name]
    ours = b_spline(POINTS, knots, degree)
    theirs = BSpline(np.array(knots, dtype=float), POINTS, degree)
    joints = np.unique([k for k in knots if knots[degree] <= k <= knots[-degree - 1]])
    assert len(ours.controls) == len(joints) - 1
    for control, lo, hi in zip(ours.controls, joints, joints[1:], strict=False):
        own = BPoly(np.array(control)[:, None], [0, 1])
        for u in (0.0, 0.2, 0.5, 0.9):
            same(own(u), theirs(lo + u * (hi - lo)), 1e-9)


def test_splines_take_whole_numbers_of_any_width() -> None:
    narrow = np.array([(200, 10), (30, 250), (90, 0)], dtype=np.uint8)
    knots = [0, 0, 1, 2, 2]
    assert b_spline(narrow, knots, 1) == b_spline(narrow.astype(float), knots, 1)
    falling = np.array([0, 0, 2, 1, 1], dtype=np.uint8)
    with pytest.raises(ValueError, match="do not fit together"):
        b_spline(narrow, falling, 1)


def test_a_spline_of_one_span_is_its_control_points() -> None:
    same(b_spline(POINTS[:4], [0, 0, 0, 0, 1, 1, 1, 1], 3).controls, [POINTS[:4]], 1e-12)
    assert b_spline(POINTS[:3], [0, 0, 0, 2, 2, 2], 2) == quadratic(*POINTS[:3])
    same(b_spline(POINTS[:2], [0, 0, 1, 1], 1).controls, Curve.line(*POINTS[:2]).controls, 1e-12)


@pytest.mark.parametrize(
    ("count", "knots", "degree"),
    [
        (4, [0, 0, 0, 0, 1, 1, 1], 3),  # a knot too few
        (4, [0, 0, 0, 0, 1, 1, 1, 1, 1], 3),  # one too many
        (5, [0, 0, 0, 0, 1, 1, 1, 1], 3),
        (4, [0, 0, 0, 1, 0, 1, 1, 1], 3),  # falling
        (5, [0, 0, 0, 0, 0, 1, 1, 1, 1, 1], 4),
        (3, [0, 0, 1, 1], 0),
    ],
)
def test_what_does_not_fit_together_is_refused(count: int, knots: list, degree: int) -> None:
    with pytest.raises(
        ValueError, match="^a spline's degree, knots and control points do not fit together$"
    ):
        b_spline(POINTS[:count], knots, degree)


def test_a_spline_without_length_in_its_parameter_is_refused() -> None:
    with pytest.raises(ValueError, match="^a spline has no length in its parameter$"):
        b_spline(POINTS[:4], [1, 1, 1, 1, 1, 1, 1, 1], 3)
    with pytest.raises(ValueError, match="^a spline has no length in its parameter$"):
        b_spline(POINTS[:4], [0, 1, 2, 3, 3, 4, 5, 6], 3)
