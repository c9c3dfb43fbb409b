"""Parallels: circles in closed form, shapely as judge of distances, every refusal in words."""

import re

import numpy as np
import pytest
from scipy.interpolate import BPoly
from shapely import LineString, distance, points

from sleevewright.geometry import Affine, Curve, fair_curve, offset
from sleevewright.geometry.conversion import circular_arc
from sleevewright.geometry.offset import OffsetError, parallel

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

WAVE = Curve.joined(
    [
        fair_curve((0, 0), (120, 30), (1, 0.6), (1, -0.1)),
        fair_curve((120, 30), (260, -10), (1, -0.1), (1, 0.2)),
    ]
)


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


def dense(curve: Curve, each: int = 60) -> np.ndarray:
    count = len(curve.controls)
    path = BPoly(np.array(curve.controls).transpose(1, 0, 2), np.arange(count + 1))
    return path(np.linspace(0, count, count * each + 1))


def off(curve: Curve, cut: Curve) -> np.ndarray:
    """Distances of points of a parallel from finely drawn chords of its source."""
    return distance(LineString(dense(curve, 1000)), points(dense(cut, 25)))


def right_of(direction: np.ndarray) -> np.ndarray:
    return np.array([direction[1], -direction[0]])


def test_no_distance_is_the_curve_itself() -> None:
    assert parallel(WAVE, 0.0) is WAVE


@pytest.mark.parametrize("width", [7.0, -7.0])
def test_the_parallel_of_a_line_is_the_line_moved_to_its_right(width: float) -> None:
    line = Curve.line((0, 0), (30, 40))
    same(parallel(line, width).controls, line.controls + width * np.array([0.8, -0.6]))
    uneven = Curve.cubic((0, 0), (3, 4), (6, 8), (30, 40))
    same(parallel(uneven, width).controls, uneven.controls + width * np.array([0.8, -0.6]))


@pytest.mark.parametrize("width", [10.0, -10.0, 60.0, -90.0])
def test_the_parallel_of_an_arc_is_an_arc(width: float) -> None:
    """Counter-clockwise: the right is the outside."""
    arc = circular_arc((5, -3), 100, 20, 130)
    cut = parallel(arc, width)
    assert np.abs(np.hypot(*(dense(cut) - [5, -3]).T) - (100 + width)).max() <= 0.02
    assert cut.length == pytest.approx((100 + width) * np.radians(130), abs=0.01)
    assert len(cut.controls) == len(arc.controls)  # fine enough already: nothing is cut


@pytest.mark.parametrize("within", [0.02, 0.1, 0.002, 1e-4])
@pytest.mark.parametrize("width", [10.0, -10.0, 35.0])
def test_every_point_lies_within_the_tolerance_of_its_distance(width: float, within: float) -> None:
    cut = parallel(WAVE, width, within)
    assert np.abs(off(WAVE, cut) - abs(width)).max() <= within
    side = (dense(cut)[0] - WAVE.start) @ right_of(WAVE.start_direction)
    assert side == pytest.approx(width, abs=1e-9)


def test_no_more_segments_than_the_tolerance_asks_for() -> None:
    """Cut in halves where too coarse, and there alone: finer tolerances give more parts."""
    counts = [len(parallel(WAVE, 10.0, within).controls) for within in (1.0, 0.02, 1e-4)]
    assert 2 <= counts[0] < counts[1] < counts[2] <= 40
    one_tight = Curve.joined(
        [Curve.line((-100, 0), (0, 0)), circular_arc((0, 20), 20, -90, 22.5),]
    )  # fmt: skip
    assert len(parallel(one_tight, 10.0).controls) == 2


def test_what_strays_by_more_than_a_quarter_of_the_tolerance_is_cut() -> None:
    """At three inner points; the points of the parallel are scipy's."""
    arch = Curve.cubic((0, 0), (40, 30), (80, 30), (120, 0))
    uncut = parallel(arch, 10.0, 1e3)
    path = BPoly(np.array(arch.controls).transpose(1, 0, 2), [0, 1])
    image = BPoly(np.array(uncut.controls).transpose(1, 0, 2), [0, 1])
    t = np.array([0.25, 0.5, 0.75])
    wanted = [path(u) + 10 * right_of(path(u, nu=1)) / np.hypot(*path(u, nu=1)) for u in t]
    most = np.hypot(*(image(t) - wanted).T).max()
    assert len(parallel(arch, 10.0, 4.01 * most).controls) == 1
    assert len(parallel(arch, 10.0, 3.99 * most).controls) == 2


def test_ends_and_end_directions_are_exact() -> None:
    for width in (12.0, -12.0):
        cut = parallel(WAVE, width)
        same(cut.start, WAVE.start + width * right_of(WAVE.start_direction))
        same(cut.end, WAVE.end + width * right_of(WAVE.end_direction))
        same(cut.start_direction, WAVE.start_direction)
        same(cut.end_direction, WAVE.end_direction)


def test_the_parts_come_in_order_and_meet() -> None:
    cut = parallel(WAVE, 30.0, 1e-5)
    assert len(cut.controls) > 8
    assert not cut.corners(0.1)
    assert np.diff([WAVE.nearest(c[0])[0] for c in cut.controls]).min() > 0


def test_a_parallel_back_again_is_the_curve() -> None:
    back = parallel(parallel(WAVE, 15.0, 1e-4), -15.0, 1e-4)
    assert off(WAVE, back).max() < 3e-4


def test_it_lies_the_same_anywhere() -> None:
    move = Affine.translation((900, -400)) @ Affine.rotation(123)
    here, there = parallel(WAVE, 10.0), parallel(WAVE.transformed(move), 10.0)
    same(there.controls, here.transformed(move).controls, 1e-7)


# --- hollows -----------------------------------------------------------------------------------


def parabola(a: float) -> Curve:
    """y = x^2 / (2 a) from -60 to 60: its left is hollow, tightest at the apex (radius a)."""
    y, slope = 1800 / a, 60 / a
    return Curve.cubic((-60, y), (-20, y - 40 * slope), (20, y - 40 * slope), (60, y))


def test_a_hollow_tighter_than_the_distance_is_refused_with_its_place() -> None:
    curve = parabola(20.0).transformed(Affine.translation((3, 5)))
    with pytest.raises(OffsetError, match="^" + re.escape(
        "a hollow at (3.0, 5.0) is tighter than 25.0 mm") + "$"):  # fmt: skip
        parallel(curve, -25.0)
    with pytest.raises(OffsetError, match=r"is tighter than 25\.0 mm"):
        parallel(curve.reversed, 25.0)
    other = Curve.joined([Curve.line((-200, 90), (-57, 95)), curve])
    with pytest.raises(OffsetError, match=re.escape("a hollow at (3.0, 5.0)")):
        parallel(other, -25.0)


def test_a_hollow_of_just_the_distance_is_refused() -> None:
    half = Curve.cubic((0, 0), (16, 0), (32, 12), (48, 36))  # y = x^2 / 64: its apex of radius 32
    with pytest.raises(OffsetError, match=re.escape("a hollow at (0.0, 0.0) is tighter than 32.0")):
        parallel(half, -32.0)
    arc = circular_arc((0, 0), 10, 0, 20)
    with pytest.raises(OffsetError, match="is tighter than 10.1 mm"):
        parallel(arc, -10.1)
    assert parallel(arc, -9.5).length == pytest.approx(0.5 * np.radians(20), abs=1e-3)


@pytest.mark.parametrize("width", [-19.0, 40.0])
def test_a_hollow_wider_than_the_distance_is_followed(width: float) -> None:
    """Less than the radius at the apex, and the outside at any distance."""
    curve = parabola(20.0)
    assert np.abs(off(curve, parallel(curve, width)) - abs(width)).max() <= 0.02


def test_a_hollow_at_the_end_is_seen() -> None:
    half = parabola(20.0).split_at(parabola(20.0).length / 2)
    for part in half:
        with pytest.raises(OffsetError, match=re.escape("a hollow at (")):
            parallel(part, -21.0)


# --- handles on their ends, kinks, corners -----------------------------------------------------


def test_a_handle_on_its_end_is_offset_along_the_limit() -> None:
    soft = Curve.cubic((0, 0), (0, 0), (60, 20), (100, 20))
    for width in (5.0, -5.0):  # however tight it turns where it sets out
        assert np.abs(off(soft, parallel(soft, width)) - 5).max() <= 0.02
    cut = parallel(soft, 5.0)
    direction = np.array([60, 20]) / np.hypot(60, 20)
    same(cut.start, 5 * right_of(direction), 2e-3)
    other = parallel(soft.reversed, -5.0)
    same(other.end, 5 * right_of(direction), 2e-3)


def kinked(degrees: float) -> Curve:
    """Two fair edges whose directions differ by so much where they meet."""
    a, b = np.radians(20), np.radians(20 + degrees)
    first = fair_curve((0, 0), (80, 10), (1, 0), (np.cos(a), np.sin(a)))
    second = fair_curve((80, 10), (160, 60), (np.cos(b), np.sin(b)), (1, 0.8))
    return Curve.joined([first, second])


def test_a_kink_is_bridged_by_a_short_line() -> None:
    curve = kinked(1.0)
    cut = parallel(curve, 10.0)
    assert np.abs(off(curve, cut) - 10).max() <= 0.02
    gap = 2 * 10 * np.sin(np.radians(0.5))  # chord of the turn at that distance
    lengths = np.diff(cut.stations)
    assert lengths.min() == pytest.approx(gap, rel=1e-3)
    bridge = Curve(cut.controls[[int(np.argmin(lengths))]])
    assert bridge.is_straight()
    same(bridge.controls, Curve.line(bridge.start, bridge.end).controls)


def test_a_joint_of_rounding_is_closed_without_a_line() -> None:
    curve = kinked(0.004)  # 0.7 micrometres at 10 mm
    cut = parallel(curve, 10.0)
    assert np.diff(cut.stations).min() > 1.0
    assert not cut.corners(0.05)
    assert np.abs(off(curve, cut) - 10).max() <= 0.02


def test_a_gap_of_a_micrometre_is_rounding_and_a_wider_one_is_not() -> None:
    first = Curve.line((-30, 0), (0, 0)).controls[0]
    for gap, parts in ((1e-3, 2), (1.001e-3, 3)):
        second = Curve.line((gap, 0), (30, 0)).controls[0]
        closed = offset._closed_joints(np.array([first, second]))
        assert len(closed) == parts
        assert Curve(closed).length == pytest.approx(60, abs=1e-9)


def test_every_kink_is_bridged_where_it_is() -> None:
    headings = np.radians([0, 1.5, 0.5, 2.5, 4.0])
    steps = 40 * np.stack([np.cos(headings), np.sin(headings)], axis=1)
    curve = Curve.polyline(np.concatenate([[(0, 0)], np.cumsum(steps, axis=0)]))
    for width in (10.0, -10.0):
        cut = parallel(curve, width)
        assert len(cut.controls) == 5 + 4
        assert np.abs(off(curve, cut) - 10).max() <= 0.02
        same(cut.controls[::2], [
            c + width * right_of(c[3] - c[0]) / np.hypot(*(c[3] - c[0])) for c in curve.controls
        ])  # fmt: skip


@pytest.mark.parametrize("turn", [9.5, -9.5])
def test_a_kink_just_short_of_a_corner_is_bridged(turn: float) -> None:
    """Beside it the line may stray by 1 - cos(turn) of the distance."""
    cut = parallel(kinked(turn), 10.0)
    most = 10 * (1 - np.cos(np.radians(9.5)))
    assert np.abs(off(kinked(turn), cut) - 10).max() <= most + 0.02
    with pytest.raises(OffsetError, match="a corner inside the edge"):
        parallel(kinked(turn * 10.5 / 9.5), 10.0)


@pytest.mark.parametrize("width", [10.0, -10.0])
@pytest.mark.parametrize("turn", [15.0, -15.0, 90.0, -90.0, 170.0])
def test_a_corner_inside_an_edge_is_refused(turn: float, width: float) -> None:
    """Its parallel would cut the corner off outside, or cross itself inside."""
    a = np.radians(turn)
    bent = Curve.polyline([(0, 0), (50, 0), (50 + 60 * np.cos(a), 60 * np.sin(a))])
    with pytest.raises(OffsetError, match="^a corner inside the edge; part the edge there$"):
        parallel(bent, width)


def test_tiny_segments_are_offset_like_long_ones() -> None:
    """Half a millimetre of a small circle, its speed under 1 mm for the whole segment."""
    tiny = circular_arc((0, 0), 3, 0, 9)
    same(parallel(tiny, 10.0).controls, circular_arc((0, 0), 13, 0, 9).controls, 1e-5)


def test_a_tolerance_beyond_the_reach_of_numbers_is_refused_in_words() -> None:
    with pytest.raises(OffsetError, match="^the parallel at 10.00 mm does not settle$"):
        parallel(WAVE, 10.0, 1e-13)


# --- the proof ---------------------------------------------------------------------------------


def proved(image: Curve, source: Curve, width: float, within: float) -> None:
    offset._prove(image.controls, source.controls, width, within)


@pytest.mark.parametrize("width", [10.0, -10.0])
def test_the_proof_refuses_what_strays(width: float) -> None:
    """It has never been seen to fail on what `parallel` makes; here it is given something else."""
    line = Curve.line((0, 0), (30, 40))
    proved(parallel(line, width * 1.0019), line, width, 0.02)
    level = Curve.line((0, 0), (30, 0))
    proved(parallel(level, width * 1.25), level, width, 2.5)  # the limit itself is within
    for factor in (1.005, 0.995):
        with pytest.raises(
            OffsetError, match=rf"^the parallel at {width:.2f} mm strays by 0\.050 mm$"
        ):
            proved(parallel(line, width * factor), line, width, 0.02)


def test_the_proof_goes_by_nearest_points_not_by_parameters() -> None:
    """The source is run unevenly, the image evenly: points of one parameter lie far apart."""
    source = Curve.joined([
        Curve.cubic((0, 0), (13, 0), (26, 0), (30, 0)), Curve.cubic((30, 0), (33, 0), (45, 0), (60, 0)),
    ])  # fmt: skip
    image = Curve.polyline([(0, -2), (30, -2), (60, -2)])
    proved(image, source, 2.0, 0.02)
    with pytest.raises(OffsetError, match="strays by 0.100 mm"):
        proved(image, source, 2.1, 0.02)


@pytest.mark.parametrize("beyond", [5.0, -5.0])
def test_the_proof_looks_for_nearest_points_on_the_source_alone(beyond: float) -> None:
    """The image runs on past an end: there the end is nearest, not the line run on."""
    source = Curve.line((0, 0), (10, 0))
    far = np.hypot(2, 0.89 * 10 + 5 - 10) - 2
    with pytest.raises(OffsetError, match=f"strays by {far:.3f} mm"):
        proved(source.transformed(Affine.translation((beyond, -2))), source, 2.0, 0.02)


def test_the_proof_holds_for_tiny_segments() -> None:
    """A tenth of a millimetre, unevenly run."""
    source = Curve.cubic((0, 0), (0.04, 0), (0.09, 0), (0.1, 0))
    proved(Curve.line((0, -2), (0.1, -2)), source, 2.0, 1e-6)


def test_the_proof_stands_a_source_of_one_point() -> None:
    dot, image = Curve([[(7, 7)] * 4]), Curve([[(7, 9)] * 4])
    proved(image, dot, 2.0, 1e-9)
    with pytest.raises(OffsetError, match="strays by 1.000 mm"):
        proved(image, dot, 1.0, 0.02)
