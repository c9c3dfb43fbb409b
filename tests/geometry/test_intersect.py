"""Crossings: closed forms; both stations; what is missed and what is not."""

import numpy as np
import pytest

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import circular_arc
from sleevewright.geometry.intersect import intersections

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

LEVEL = Curve.line((0, 0), (100, 0))


def same(found: tuple, wanted: list, within: float = 1e-9) -> None:
    assert len(found) == len(wanted)
    assert np.array(found, dtype=float) == pytest.approx(np.array(wanted, dtype=float), abs=within)


def test_two_lines_cross_once() -> None:
    same(intersections(LEVEL, Curve.line((30, -40), (60, 0.0 + 0))), [(60, 50)])
    same(intersections(LEVEL, Curve.line((30, -40), (90, 40))), [(60, 50)])


def test_a_line_crosses_a_circle_twice_in_order_along_it() -> None:
    arc = circular_arc((50, 0), 30, -10, 200)
    found = intersections(LEVEL, arc)
    same(found, [(20, 30 * np.radians(190)), (80, 30 * np.radians(10))], 2e-5)
    turned = intersections(arc, LEVEL)
    same(turned, [(b, a) for a, b in reversed(found)], 1e-7)
    assert all(type(s) is float for pair in found for s in pair)


def test_the_points_agree_to_a_nanometre() -> None:
    arc = circular_arc((50, 10), 30, -190, 200)
    wave = Curve.cubic((0, -30), (40, 60), (60, -60), (100, 30))
    found = intersections(wave, arc)
    assert len(found) == 2
    for a, b in found:
        assert np.hypot(*(wave.point_at(a) - arc.point_at(b))) < 1e-8


def test_a_parabola_and_a_line() -> None:
    """y = x (30 - x) / 25 crosses y = 5 where x = 15 -+ 10."""
    arch = Curve.cubic((0, 0), (10, 12), (20, 12), (30, 0))
    found = intersections(Curve.line((0, 5), (30, 5)), arch)
    same([(a,) for a, _ in found], [(5,), (25,)], 1e-8)


def test_crossings_at_the_ends_count() -> None:
    same(intersections(LEVEL, Curve.line((0, 0), (0, 10))), [(0, 0)])
    same(intersections(LEVEL, Curve.line((100, -10), (100, 0))), [(100, 10)])
    same(intersections(LEVEL, Curve.line((40, 0), (40, 10))), [(40, 0)])
    for a, b in intersections(LEVEL, Curve.line((100, -10), (100, 0))):
        assert 0 <= a <= 100
        assert 0 <= b <= 10


def test_curves_that_do_not_meet_have_no_crossing() -> None:
    assert intersections(LEVEL, Curve.line((0, 1), (100, 1))) == ()
    assert intersections(LEVEL, Curve.line((40, 0.5), (40, 10))) == ()


def test_near_crossings_are_two_and_one_place_is_one() -> None:
    """A crossing at a joint of one curve is found on both chords, and told once."""
    bent = Curve.polyline([(30, -10), (40, 0), (50, 10)])
    same(intersections(LEVEL, bent), [(40, np.hypot(10, 10))], 1e-8)
    peak = Curve.polyline([(40, -1), (40.05, 0.5), (40.1, -1)])
    found = intersections(LEVEL, peak)
    assert len(found) == 2
    assert found[1][0] - found[0][0] == pytest.approx(0.1 / 3, abs=1e-9)


def test_curves_of_many_segments() -> None:
    zigzag = Curve.polyline([(5, -5), (15, 5), (25, -5), (35, 5)])
    leg = np.hypot(10, 10)
    same(intersections(LEVEL, zigzag), [(10, leg / 2), (20, 1.5 * leg), (30, 2.5 * leg)], 1e-8)


@pytest.mark.parametrize("tilt", [0.5, 5.0])
def test_a_flat_crossing_is_refined(tilt: float) -> None:
    wave = Curve.cubic((0, -10), (40, 20), (60, -20), (100, 10))
    line = LEVEL.transformed(Affine.rotation(tilt, (50, 0)))
    found = intersections(wave, line)
    assert any(abs(b - 50) < 1e-7 for _, b in found)  # both are symmetric about (50, 0)
    for a, b in found:
        assert np.hypot(*(wave.point_at(a) - line.point_at(b))) < 1e-8


def test_stretches_on_one_another_count_by_their_ends() -> None:
    found = intersections(LEVEL, Curve.line((30, 0), (160, 0)))
    same(found, [(30, 0), (100, 70)], 1e-6)


def test_a_crossing_so_flat_that_chords_cross_many_times_is_told_once() -> None:
    """Two circles of 100 mm, their centres a tenth of a millimetre apart."""
    first, second = circular_arc((0, 0), 100, 50, 80), circular_arc((0.1, 0), 100, 47, 85)
    angle = np.degrees(np.arccos(0.05 / 100))
    wanted = [(100 * np.radians(angle - 50), 100 * np.radians(180 - angle - 47))]
    same(
        intersections(first, second), wanted, 0.05
    )  # along: the arcs are right to 25 nanometres across
    (pair,) = intersections(first, second)
    assert np.hypot(*(first.point_at(pair[0]) - second.point_at(pair[1]))) < 1e-9


def test_a_crossing_too_flat_to_refine_is_told_as_found() -> None:
    """Two circles of 100 mm, their centres a twentieth of a micrometre apart: all but parallel."""
    first, second = circular_arc((0, 0), 100, -45, 90), circular_arc((0, 5e-8), 100, -45, 90)
    (pair,) = intersections(first, second)
    assert np.hypot(*(first.point_at(pair[0]) - second.point_at(pair[1]))) < 1e-9


@pytest.mark.parametrize(("short", "count"), [(2e-3, 0), (1e-3, 0), (-1e-3, 1)])
def test_where_chords_cross_and_curves_do_not_there_is_no_crossing(
    short: float, count: int
) -> None:
    """A line from the centre that ends between the chord and the arc, 0.0048 mm apart."""
    arc = circular_arc((0, 0), 100, 0, 45)
    chord = arc.flattened(0.005)[3:5].mean(axis=0)
    line = Curve.line((0, 0), chord / np.hypot(*chord) * (100 - short))
    assert len(intersections(line, arc)) == count
    assert len(intersections(arc, line)) == count
