"""Lengths, areas, splits and parallels against other people's code and closed forms."""

import mpmath
import numpy as np
import pyclipper
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, interpolate

from samples_of_ours import all_blocks
from sleevewright.geometry import Affine, Curve, FairingError, bezier, fair_curve
from sleevewright.geometry.conversion import b_spline, bulge, circular_arc
from sleevewright.geometry.fitting import fit_polyline
from sleevewright.geometry.offset import OffsetError, parallel
from sleevewright.geometry.region import polygon, signed_area

coordinate = st.floats(-300, 300).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)
cubics = st.tuples(point, point, point, point)


def mp_length(controls: np.ndarray) -> float:
    p = [mpmath.matrix([mpmath.mpf(float(x)), mpmath.mpf(float(y))]) for x, y in controls]

    def speed(t: object) -> object:
        u = 1 - t
        d = [3 * (u * u * (p[1][k] - p[0][k]) + 2 * u * t * (p[2][k] - p[1][k])
                  + t * t * (p[3][k] - p[2][k])) for k in (0, 1)]  # fmt: skip
        return mpmath.sqrt(d[0] ** 2 + d[1] ** 2)

    return float(mpmath.quad(speed, mpmath.linspace(0, 1, 17)))


@pytest.mark.parametrize(
    "controls",
    [
        [(0, 0), (30, 60), (70, -40), (100, 10)],
        [(0, 0), (100, 100), (0, 100), (100, 0)],  # a cusp
        [(0, 0), (200, 100), (-100, 100), (100, 0)],  # a loop
        [(0, 0), (0, 0), (50, 80), (100, 0)],  # a handle on its end
        [(0, 0), (120, 0), (-20, 0), (100, 0)],  # runs back on itself
    ],
)
def test_arc_length_against_mpmath(controls: list[tuple[float, float]]) -> None:
    mpmath.mp.dps = 30
    curve = Curve([controls])
    assert curve.length == pytest.approx(mp_length(np.array(controls, float)), abs=1e-5)
    if controls[1] == (30, 60):
        assert curve.length == pytest.approx(mp_length(np.array(controls, float)), abs=1e-9)


@given(cubics)
def test_arc_length_against_scipy(controls: tuple) -> None:
    curve = Curve([controls])

    def speed(t: float) -> float:
        return float(np.hypot(*bezier.derivative(curve.controls, np.array([[t]]))[0, 0]))

    other, error = integrate.quad(speed, 0, 1, epsabs=1e-10, limit=400)
    assert curve.length == pytest.approx(other, abs=1e-5 + 10 * error)


def test_parabola_closed_form() -> None:
    # y = x^2 / (2 a) from 0 to b: length known in closed form.
    a, b = 60.0, 110.0
    curve = Curve.cubic((0, 0), (b / 3, 0), (2 * b / 3, b * b / (6 * a)), (b, b * b / (2 * a)))
    s = b / a
    exact = a / 2 * (s * np.sqrt(1 + s * s) + np.arcsinh(s))
    assert curve.length == pytest.approx(exact, abs=1e-9)


@given(cubics, st.floats(0.02, 0.98))
def test_split_then_join_is_the_curve(controls: tuple, part: float) -> None:
    curve = Curve([controls])
    if curve.length < 1.0:
        return
    first, second = curve.split_at(part * curve.length)
    assert first.length == pytest.approx(part * curve.length, abs=1e-5)
    assert first.length + second.length == pytest.approx(curve.length, abs=1e-5)
    whole = Curve.joined([first, second])
    assert np.array_equal(whole.start, curve.start)
    assert np.array_equal(whole.end, curve.end)
    assert whole.reversed.reversed == whole


@given(cubics, st.floats(-180, 180), point)
def test_rigid_moves_keep_lengths_and_areas(controls: tuple, angle: float, by: tuple) -> None:
    curve = Curve([controls])
    move = Affine.translation(by) @ Affine.rotation(angle)
    moved = curve.transformed(move)
    assert moved.length == pytest.approx(curve.length, abs=1e-5)
    back = moved.transformed(move.inverse)
    assert np.allclose(back.controls, curve.controls, atol=1e-9)


@given(cubics, point)
def test_nearest_point_is_no_farther_than_any_sample(controls: tuple, p: tuple) -> None:
    curve = Curve([controls])
    if curve.length < 1.0:
        return
    station, distance = curve.nearest(p)
    samples = bezier.evaluate(curve.controls, np.linspace(0, 1, 801)[None])[0]
    brute = np.hypot(*(samples - np.array(p)).T).min()
    assert distance <= brute + 1e-6
    assert 0 <= station <= curve.length + 1e-9


def test_areas_against_shapely() -> None:
    for block in all_blocks():
        for piece in block.pieces:
            curves = [edge.curve for edge in piece.edges]
            assert signed_area(curves) == pytest.approx(polygon(curves, 0.001).area, rel=2e-6)


@given(st.floats(30, 300), st.floats(-50, 50), st.floats(-50, 50), st.floats(1.0, 1.1))
def test_fair_curve_has_the_length_or_says_the_miss(
    chord: float, u: float, v: float, stretch: float
) -> None:
    directions = [(np.cos(np.radians(a)), np.sin(np.radians(a))) for a in (u, v)]
    try:
        curve = fair_curve((0, 0), (chord, 0), *directions, stretch * chord)
    except FairingError as error:
        assert abs(error.miss) > 0
        return
    assert curve.length == pytest.approx(stretch * chord, abs=1e-5)
    assert np.allclose(curve.start_direction, directions[0], atol=1e-9)
    assert np.allclose(curve.end_direction, directions[1], atol=1e-9)


def test_arcs_bulges_and_splines_against_closed_forms() -> None:
    arc = circular_arc((5, -3), 120.0, 20.0, 250.0)
    assert arc.length == pytest.approx(120 * np.radians(250), abs=1e-4)
    off = np.hypot(*(arc.flattened(0.001) - np.array([5, -3])).T) - 120
    assert np.abs(off).max() < 0.002
    half = bulge((0, 0), (10, 0), 1.0)
    assert half.length == pytest.approx(5 * np.pi, abs=1e-5)
    control = np.array([(0, 0), (10, 20), (30, 30), (40, 0), (60, 10)], float)
    knots = [0, 0, 0, 0, 0.4, 1, 1, 1, 1]
    ours, theirs = b_spline(control, knots, 3), interpolate.BSpline(knots, control, 3)
    assert max(ours.nearest(theirs(t))[1] for t in np.linspace(0, 1, 60)) < 1e-6


def test_fit_gives_flattened_edges_back() -> None:
    for block in all_blocks()[:3]:
        for piece in block.pieces:
            for edge in piece.edges:
                fitted = fit_polyline(edge.curve.flattened(0.02))
                assert fitted.length == pytest.approx(edge.length, abs=0.05)
                assert not fitted.corners(1.0)


@pytest.mark.parametrize("distance", [3.0, 10.0, 25.0])
def test_parallels_against_clipper(distance: float) -> None:
    """Outside corners the parallel of a piece is Clipper's offset, within 0.02 mm."""
    from shapely import LinearRing, Point

    for block in all_blocks()[::3]:
        for piece in block.pieces:
            ring = np.concatenate([e.curve.flattened(0.002)[:-1] for e in piece.edges])
            clip = pyclipper.PyclipperOffset(2.0, 0.002 * 1e4)
            clip.AddPath(
                (ring * 1e4).round().astype(int).tolist(), pyclipper.JT_ROUND,
                pyclipper.ET_CLOSEDPOLYGON,
            )  # fmt: skip
            outer = LinearRing(np.array(max(clip.Execute(distance * 1e4), key=len)) / 1e4)
            for edge in piece.edges:
                try:
                    cut = parallel(edge.curve, distance)
                except OffsetError:
                    continue
                for point_ in cut.point_at(np.linspace(0.3, 0.7, 5) * cut.length):
                    assert outer.distance(Point(point_)) < 0.02 or _covered(piece, point_, distance)


def _covered(piece: object, p: np.ndarray, distance: float) -> bool:
    """Whether another edge is nearer than the distance: the point is inside the true offset."""
    return min(e.curve.nearest(p)[1] for e in piece.edges) < distance - 0.01


@given(cubics, cubics, point)
def test_planted_crossing_is_found(first: tuple, second: tuple, p: tuple) -> None:
    """Two curves moved so that both pass through a drawn point cross there."""
    from sleevewright.geometry.intersect import intersections

    curves = []
    for controls in (first, second):
        curve = Curve([controls])
        if curve.length < 20.0:
            return
        middle = curve.point_at(0.4 * curve.length)
        curves.append(curve.transformed(Affine.translation(np.array(p) - middle)))
    a, b = curves
    u, v = (c.direction_at(0.4 * c.length) for c in curves)
    if abs(u[0] * v[1] - u[1] * v[0]) < 0.2:
        return
    found = intersections(a, b)
    assert found
    for on_a, on_b in found:
        assert np.hypot(*(a.point_at(on_a) - b.point_at(on_b))) < 1e-6
    assert min(np.hypot(*(a.point_at(s) - np.array(p))) for s, _ in found) < 1e-5
