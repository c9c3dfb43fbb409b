"""Fair curves: ends, directions and length are met; the natural one is an arc; misses are told."""

import numpy as np
import pytest

from sleevewright.geometry import Affine, Curve, FairingError, bridge, fair_curve, find_root
from sleevewright.geometry.conversion import circular_arc

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")


def heading(degrees: float) -> np.ndarray:
    return np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


# --- the natural curve -------------------------------------------------------------------------


@pytest.mark.parametrize("sweep", [5, 30, 60, -45, 90])
def test_the_natural_curve_of_an_arcs_ends_is_the_arc(sweep: float) -> None:
    """The known error of one cubic: 2.7e-4 of the radius over a quarter, falling as the sixth power."""
    arc = circular_arc((10, 20), 100, 15, sweep)
    curve = fair_curve(arc.start, arc.end, arc.start_direction, arc.end_direction)
    off = np.hypot(*(curve.flattened(0.001) - np.array([10, 20])).T) - 100
    assert np.abs(off).max() < 100 * 2.8e-4 * (abs(sweep) / 90) ** 6 + 1e-9
    assert len(curve.controls) == 1
    k = 4 / 3 * np.tan(np.radians(abs(sweep)) / 4) * 100  # the textbook handle of an arc
    same(np.hypot(*(curve.controls[0, 1] - curve.controls[0, 0])), k, 1e-6)
    same(np.hypot(*(curve.controls[0, 3] - curve.controls[0, 2])), k, 1e-6)


def test_the_natural_curve_of_a_straight_run_is_the_line() -> None:
    same(fair_curve((0, 0), (30, 60), (1, 2), (5, 10)).controls,
         Curve.line((0, 0), (30, 60)).controls, 1e-9)  # fmt: skip


def test_the_natural_curve_of_an_s_has_handles_by_its_mean_turn() -> None:
    """Both ends 40 degrees off the chord, as in an arc of 80 degrees."""
    s = fair_curve((0, 0), (100, 0), heading(40), heading(40))
    radius = 50 / np.sin(np.radians(40))
    k = 4 / 3 * np.tan(np.radians(80) / 4) * radius
    same(s.controls[0, 1], k * heading(40), 1e-9)
    same(s.controls[0, 2], np.array([100, 0]) - k * heading(40), 1e-9)


def test_a_turn_back_on_itself_keeps_handles_in_bounds() -> None:
    """Beyond some 160 degrees the formula would run away; the handles stay under one chord."""
    u_turn = fair_curve((0, 0), (100, 0), heading(170), heading(-170))
    reach = np.hypot(*u_turn.controls[0, 1])
    at_limit = 2 / 3 * np.tan(0.7) / np.sin(1.4)  # of the largest half turn, 1.4
    assert reach == pytest.approx(100 * at_limit, rel=1e-9)


def test_ends_and_directions_are_met_whatever_the_size_of_the_directions() -> None:
    curve = fair_curve((3, 4), (80, 90), (0, 1e-3), (5e4, 0))
    assert curve.start.tolist() == [3, 4]
    assert curve.end.tolist() == [80, 90]
    same(curve.start_direction, (0, 1))
    same(curve.end_direction, (1, 0))


def test_whole_numbers_of_a_narrow_type_are_points() -> None:
    a, b, u = (
        np.array([-100, 0], np.int8),
        np.array([100, 0], np.int8),
        np.array([100, 100], np.int8),
    )
    assert fair_curve(a, b, u, u) == fair_curve(
        a.astype(float), b.astype(float), u.astype(float), u.astype(float)
    )


@pytest.mark.parametrize("apart", [0.0, 0.5e-9])
def test_one_point_is_refused(apart: float) -> None:
    with pytest.raises(ValueError, match="^a fair curve needs two different ends$"):
        fair_curve((5, 5), (5 + apart, 5), (1, 0), (1, 0))


def test_tiny_but_different_ends_are_joined() -> None:
    for apart in (1e-9, 2e-9):  # the limit itself is apart
        assert fair_curve((0, 0), (apart, 0), (1, 0), (1, 0)).chord == pytest.approx(apart)


@pytest.mark.parametrize("bad", [(0, 0), (np.nan, 1), (np.inf, 0)])
def test_a_direction_without_length_is_refused(bad: tuple) -> None:
    for u, v in ((bad, (1, 0)), ((1, 0), bad)):
        with pytest.raises(ValueError, match="^a direction has no length$"):
            fair_curve((0, 0), (10, 0), u, v)


# --- with a length -----------------------------------------------------------------------------


@pytest.mark.parametrize("length", [101.5, 103.0, 106.0, 115.0, 130.0])
def test_the_length_is_met_to_a_millionth(length: float) -> None:
    curve = fair_curve((0, 0), (100, 0), heading(30), heading(-20), length)
    assert curve.length == pytest.approx(length, abs=1e-6)
    same(curve.start_direction, heading(30))
    same(curve.end_direction, heading(-20))
    first, last = (
        np.hypot(*(curve.controls[0, i] - curve.controls[0, j])) for i, j in ((0, 1), (2, 3))
    )
    assert first == pytest.approx(last, rel=1e-9)  # in their natural proportion
    assert 8 <= first <= 120


def test_it_lies_the_same_anywhere() -> None:
    move = Affine.translation((300, -50)) @ Affine.rotation(77)
    here = fair_curve((0, 0), (100, 0), heading(30), heading(-20), 106.0)
    there = fair_curve(move.apply((0, 0)), move.apply((100, 0)), heading(107), heading(57), 106.0)
    same(there.controls, here.transformed(move).controls, 1e-5)


@pytest.mark.parametrize("more", [0.0, 5e-8, -5e-8])
def test_the_natural_length_gives_the_natural_curve(more: float) -> None:
    """Rounding in the length does not run a straight edge back on itself."""
    for angles in ((0, 0), (0.01, 0.01), (60, 60), (30, -20)):
        ends = ((0, 0), (100, 0), *(heading(a) for a in angles))
        natural = fair_curve(*ends)
        assert fair_curve(*ends, natural.length + more) == natural


def test_handles_grow_with_the_length() -> None:
    reaches = []
    for length in (101.5, 103.0, 106.0, 115.0, 130.0):
        curve = fair_curve((0, 0), (100, 0), heading(30), heading(-20), length)
        reaches.append(np.hypot(*(curve.controls[0, 1] - curve.controls[0, 0])))
    assert reaches == sorted(reaches)
    assert reaches[-1] > 1.5 * reaches[0]


def test_directions_along_the_chord_do_no_harm_by_rounding() -> None:
    """Cosines a hair beyond one."""
    for degrees in range(0, 360, 7):
        u = heading(degrees)
        same(fair_curve((0, 0), 83.7 * u, u, u).length, 83.7)
        assert fair_curve((0, 0), 83.7 * u, -u, -u).length > 83.7


def test_the_length_of_the_shortest_and_of_the_longest_fair_curve() -> None:
    """Handles from 0.08 to 1.2 of the chord; a hair inside is made, outside is refused."""
    u, v = heading(30), heading(-20)

    def length(part: float) -> float:
        a, b = np.zeros(2), np.array([100.0, 0])
        return Curve.cubic(a, a + 100 * part * u, b - 100 * part * v, b).length

    assert fair_curve((0, 0), (100, 0), u, v, length(1.199)).length == pytest.approx(
        length(1.199), abs=1e-6
    )
    assert fair_curve((0, 0), (100, 0), u, v, length(0.081)).length == pytest.approx(
        length(0.081), abs=1e-6
    )
    with pytest.raises(FairingError):
        fair_curve((0, 0), (100, 0), u, v, length(1.201))
    with pytest.raises(FairingError):
        fair_curve((0, 0), (100, 0), u, v, length(0.079))


def test_a_length_that_no_fair_curve_has_tells_the_miss() -> None:
    longest = fair_longest = Curve.cubic(
        (0, 0), 120 * heading(45), np.array([100, 0]) - 120 * heading(-45), (100, 0)
    ).length
    with pytest.raises(FairingError) as caught:
        fair_curve((0, 0), (100, 0), heading(45), heading(-45), 500.0)
    assert caught.value.miss == pytest.approx(500 - longest, abs=1e-6)
    assert str(caught.value) == (
        f"no fair curve is 500.00 mm long here; the nearest is {fair_longest:.2f} mm"
        f" (+{500 - longest:.2f} mm)"
    )
    with pytest.raises(FairingError) as caught:
        fair_curve((0, 0), (100, 0), heading(45), heading(-45), 90.0)
    assert caught.value.miss < -10
    assert f"({caught.value.miss:.2f} mm)" in str(caught.value)


# --- bridges -----------------------------------------------------------------------------------


BEFORE = Curve.line((-50, 0), (0, 0))
AFTER = Curve.line((100, 40), (150, 40))


def test_a_bridge_runs_on_smoothly_with_its_length() -> None:
    found = bridge(BEFORE, AFTER, 112.0)
    assert found.length == pytest.approx(112, abs=1e-6)
    assert Curve.joined([BEFORE, found, AFTER]).corners(1e-6) == ()


def test_a_bridge_without_a_fair_length_is_the_natural_one() -> None:
    assert bridge(BEFORE, AFTER, 500.0) == fair_curve((0, 0), (100, 40), (1, 0), (1, 0))


def test_a_bridge_over_a_slight_bend_does_not_run_back_on_itself() -> None:
    """A hair longer than the natural curve, it could only be with handles that overlap."""
    before = Curve.line(-60 * heading(1), (0, 0))
    after = Curve.line((120, 0), np.array([120, 0]) + 60 * heading(-0.3))
    natural = fair_curve((0, 0), (120, 0), heading(1), heading(-0.3))
    same(bridge(before, after, natural.length + 0.02).controls, natural.controls)


# --- roots -------------------------------------------------------------------------------------


def test_a_root_is_found_to_the_size_asked() -> None:
    assert find_root(lambda x: x * x - 2, 0.0, 2.0) == pytest.approx(np.sqrt(2), abs=1e-7)
    assert find_root(lambda x: x**3 - 5, 0.0, 40.0, 1e-12) == pytest.approx(5 ** (1 / 3), abs=1e-12)
    assert find_root(lambda x: 2 - x * x, 0.0, 2.0) == pytest.approx(np.sqrt(2), abs=1e-7)
    assert find_root(lambda x: np.exp(x) - 10, -30.0, 30.0, 1e-10) == pytest.approx(
        np.log(10), abs=1e-10
    )


FUNCTIONS = {
    "ninth power": (lambda x: x**9 - 1e-3, 0.0, 1.5, 26),
    "falling ninth power": (lambda x: 1e-3 - x**9, 0.0, 1.5, 26),
    "ninth power from the right": (lambda x: (1.5 - x) ** 9 - 1e-3, 0.0, 1.5, 26),
    "rising to the right": (lambda x: 1e-3 - (1.5 - x) ** 9, 0.0, 1.5, 26),
    "steep": (lambda x: float(np.tanh(50 * (x - 0.9))), 0.0, 1.5, 14),
    "exponential": (lambda x: float(np.exp(x)) - 10, -30.0, 30.0, 60),
    "nearly straight": (lambda x: x * x - 2, 0.0, 2.0, 10),
    "jump": (lambda x: -1.0 if x < 2 / 3 else 1.0, 0.0, 3.0, 25),
    "jump all but at nothing": (lambda x: -1.0 if x < 1e-30 else 1.0, -1.0, 2.0, 60),
    "jump at a million": (lambda x: -1.0 if x < 2e6 / 3 else 1.0, 0.0, 3e6, 25),
    "jump below": (lambda x: -1.0 if x < -2e6 / 3 else 1.0, -3e6, 0.0, 25),
}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_bent_function_does_not_stall(name: str) -> None:
    """Never leaves the bracket, and closes it in few steps where plain false position would creep."""
    function, lo, hi, most = FUNCTIONS[name]
    asked = []

    def counted(x: float) -> float:
        asked.append(x)
        return function(x)

    root = find_root(counted, lo, hi, 1e-9)
    assert abs(function(root)) < 1e-9 or name.startswith("jump")
    assert len(asked) <= most
    assert all(lo <= x <= hi for x in asked)


def test_ends_that_are_roots_are_taken_at_once() -> None:
    asked = []

    def line(x: float) -> float:
        asked.append(x)
        return x - 1

    assert find_root(line, 1.0, 5.0) == 1.0
    assert find_root(line, -5.0, 1.0) == 1.0
    assert find_root(lambda x: x - 1 + 0.9e-7, 1.0, 5.0) == 1.0
    assert find_root(lambda x: x - 5 - 0.9e-7, 1.0, 5.0) == 5.0
    assert len(asked) == 4
    assert type(find_root(line, 1, 5)) is float


def test_a_value_of_just_what_is_asked_has_settled() -> None:
    for lo, hi, root in ((-1.0, 3.0, -1.0), (-3.0, 1.0, 1.0)):
        assert find_root(lambda x: x, lo, hi, 1.0) == root
        assert find_root(lambda x: x, lo, hi, 0.99) == 0.0
    asked = []

    def exactly(x: float) -> float:
        asked.append(x)
        return x - 1

    assert find_root(exactly, 0.0, 1.0, 0.0) == 1.0
    assert find_root(exactly, 1.0, 9.0, 0.0) == 1.0
    assert find_root(exactly, 0.0, 2.0, 0.0) == 1.0
    assert len(asked) == 2 + 2 + 3


@pytest.mark.parametrize("rise", [1, -1])
def test_signs_are_told_however_small_or_large_the_values(rise: int) -> None:
    """Products of such values are nothing, and so are quotients."""
    tiny = 1e-200 * rise
    assert find_root(lambda x: tiny * (x * x - 2), 0.0, 9.0, 1e-215) == pytest.approx(np.sqrt(2))
    falling = find_root(lambda x: tiny * (81 - x * x), 1.0, 10.0, 1e-213)
    assert falling == pytest.approx(9.0)
    bent = find_root(lambda x: tiny * ((9 - x) ** 3 - 2), 0.0, 9.0, 1e-213)
    assert bent == pytest.approx(9 - 2 ** (1 / 3))
    with pytest.raises(ValueError, match="no change of sign"):
        find_root(lambda x: tiny * (x + 1), 0.0, 9.0, 0.0)
    steep = {0.0: -1e-300 * rise, 2.0: 1e300 * rise}
    assert find_root(lambda x: steep.get(x, 0.0), 0.0, 2.0, 0.0) == pytest.approx(0.0)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("rise", [1, -1])
def test_the_first_step_is_plain_false_position(rise: int, side: int) -> None:
    """What is straight where that step leads is solved by the next one."""
    asked = []

    def bent(x: float) -> float:
        asked.append(x)
        return rise * (10 * x if x * side > -0.9 else -side * 1.0)

    assert find_root(bent, -1.0, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert len(asked) == 4


def test_no_change_of_sign_is_refused_with_the_numbers() -> None:
    with pytest.raises(ValueError, match="^no change of sign: 2 at 1, 26 at 5$"):
        find_root(lambda x: x * x + 1, 1.0, 5.0)
    with pytest.raises(ValueError, match="^no change of sign: -0.25 at 1, -1 at 2$"):
        find_root(lambda x: -x * x / 4, 1.0, 2.0)


def test_a_jump_over_zero_ends_at_the_jump() -> None:
    """Nothing settles there; the bracket closes on it."""
    for at, hi in ((2 / 3, 3.0), (2e6 / 3, 3e6)):
        root = find_root(lambda x, at=at: -1.0 if x < at else 1.0, 0.0, hi)
        assert root == pytest.approx(at, rel=1e-14)
