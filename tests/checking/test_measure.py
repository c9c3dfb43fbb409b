"""The second hand that measures: against closed forms and scipy."""

import numpy as np
import pytest
from scipy.interpolate import BPoly

from sleevewright.checking.measure import end_direction, interior_angle, length_of, points_of
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import circular_arc

CHAIN = Curve(
    [[(0, 0), (30, 60), (70, -40), (100, 10)], [(100, 10), (130, 50), (160, 0), (150, -80)]]
)


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


def test_points_of_every_segment_at_equal_parameters() -> None:
    got = points_of(CHAIN, 5)
    assert got.shape == (2, 6, 2)
    for control, points in zip(CHAIN.controls, got, strict=True):
        same(points, BPoly(np.array(control)[:, None], [0, 1])(np.linspace(0, 1, 6)))


def test_the_length_of_a_parabola() -> None:
    """y = x^2 / (2 a) from 0 to b: closed form; met to a micrometre and better."""
    a, b = 60.0, 110.0
    curve = Curve.cubic((0, 0), (b / 3, 0), (2 * b / 3, b * b / (6 * a)), (b, b * b / (2 * a)))
    s = b / a
    exact = a / 2 * (s * np.sqrt(1 + s * s) + np.arcsinh(s))
    assert length_of(curve) == pytest.approx(exact, abs=1e-6)


def test_the_length_of_lines_and_chains() -> None:
    assert length_of(Curve.polyline([(0, 0), (30, 40), (30, 100)])) == pytest.approx(110, abs=1e-9)
    arc = circular_arc((0, 0), 100, 0, 200)
    assert length_of(arc) == pytest.approx(100 * np.radians(200), abs=1e-4)
    assert length_of(CHAIN) == pytest.approx(CHAIN.length, abs=1e-3)


def test_directions_at_the_ends() -> None:
    same(end_direction(CHAIN, start=True), np.array([1, 2]) / np.sqrt(5))
    same(end_direction(CHAIN, start=False), np.array([-10, -80]) / np.hypot(10, 80))
    line = Curve.line((5, 5), (8, 9))
    same(end_direction(line, start=True), (0.6, 0.8))
    same(end_direction(line, start=False), (0.6, 0.8))


def test_a_handle_on_its_end_leaves_the_next_point() -> None:
    soft = Curve.cubic((10, 10), (10, 10), (13, 14), (13, 14))
    same(end_direction(soft, start=True), (0.6, 0.8))
    same(end_direction(soft, start=False), (0.6, 0.8))
    once = Curve.cubic((10, 10), (10, 10), (13, 14), (20, 14))
    same(end_direction(once, start=True), (0.6, 0.8))
    same(end_direction(once.reversed, start=False), (-0.6, -0.8))
    twice = Curve.cubic((10, 10), (10, 10), (10, 10), (13, 14))
    same(end_direction(twice, start=True), (0.6, 0.8))
    same(end_direction(twice.reversed, start=False), (-0.6, -0.8))


def test_a_handle_of_rounding_counts_as_none() -> None:
    noisy = Curve.cubic((0, 0), (0, 0.9e-7), (3, 4), (9, 4))
    same(end_direction(noisy, start=True), (0.6, 0.8), 1e-7)
    tiny = Curve.cubic((0, 0), (0, 2e-7), (3, 4), (9, 4))
    same(end_direction(tiny, start=True), (0, 1), 1e-9)


def test_an_edge_of_one_point_has_no_direction() -> None:
    for start in (True, False):
        with pytest.raises(ValueError, match="^an edge has no length$"):
            end_direction(Curve([[(3, 4)] * 4]), start=start)


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 150.0, -30.0, -90.0])
def test_the_interior_angle_is_what_a_left_turn_leaves_of_180(turn: float) -> None:
    into = Curve.line((-50, 0), (0, 0))
    out = Curve.line((0, 0), (40, 0)).transformed(Affine.rotation(turn))
    for tilt in (0, 100, 222):
        tilted = Affine.rotation(tilt)
        angle = interior_angle(into.transformed(tilted), out.transformed(tilted))
        assert angle == pytest.approx(180 - turn, abs=1e-9)
        assert type(angle) is float


def test_the_interior_angle_of_curved_edges_is_that_at_their_corner() -> None:
    """Far from the corner they run elsewhere."""
    into = Curve.cubic((-60, 40), (-90, 0), (-40, 0), (0, 0))
    out = Curve.cubic((0, 0), (0, 30), (50, 90), (200, 10))
    assert interior_angle(into, out) == pytest.approx(90, abs=1e-9)
    assert interior_angle(out.reversed, into.reversed) == pytest.approx(270, abs=1e-9)
