"""Cubics on arrays: scipy's Bernstein polynomials and mpmath's quadrature as judges."""

import math

import mpmath
import numpy as np
import pytest
from scipy.interpolate import BPoly

from sleevewright.geometry import bezier

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

#: A quiet one, one with an inflection, a loop, a straight one that runs evenly, one far away.
CUBICS = np.array(
    [
        [(0, 0), (30, 20), (65, 25), (100, 10)],
        [(0, 0), (30, 60), (70, -40), (100, 10)],
        [(0, 0), (200, 100), (-100, 100), (100, 0)],
        [(0, 0), (10, 20), (20, 40), (30, 60)],
        [(900, -700), (890, -690), (905, -600), (1000, -650)],
    ],
    dtype=float,
)
#: Where the speed falls to nothing or turns round.
WILD = {
    "cusp": [(0, 0), (100, 100), (0, 100), (100, 0)],
    "runs back": [(0, 0), (120, 0), (-20, 0), (100, 0)],
    "parabola that runs back": [(0, 0), (60, 0), (60, 0), (0, 0)],
    "handle on start": [(0, 0), (0, 0), (50, 80), (100, 0)],
    "handle on end": [(0, 0), (50, 80), (100, 0), (100, 0)],
    "both handles on ends": [(0, 0), (0, 0), (100, 50), (100, 50)],
    "handle all but on start": [(0, 0), (1e-4, 0), (50, 80), (100, 0)],
    "near cusp": [(0, 0), (100.3, 100), (0, 100), (100, 0)],
    "cusp off the middle": [(0, 0), (90, 90), (0, 130), (60, 0)],
    "hairpin": [(0, 0), (200, 0.01), (-100, 0.02), (80, 0)],
    # Near cusps where quadrature of the whole and of its halves agree by chance, and are both wrong.
    "chance 1": [(0, 0), (201.0998, -99.4888), (347.3432, -138.2729), (346.6162, -138.0798)],
    "chance 2": [(0, 0), (-0.3794, 0.5654), (75.1674, -112.1676), (323.7546, -356.2774)],
    "chance 3": [(0, 0), (-102.5103, 29.0823), (-112.8455, 50.9708), (9.239, -21.393)],
    "chance 4": [(0, 0), (82.3671, 47.3956), (87.1703, 69.6977), (-5.6993, -23.0181)],
    "chance 5": [(0, 0), (67.6668, -69.703), (66.8306, -89.3761), (0.1786, 20.5523)],
    "chance 6": [(0, 0), (76.3022, 67.8458), (99.2394, 68.5727), (-22.0441, -0.1101)],
}


def points(t: np.ndarray) -> np.ndarray:
    return np.array([[BPoly(c[:, None], [0, 1])(x) for x in t] for c in CUBICS])


def derivatives(t: np.ndarray, order: int) -> np.ndarray:
    return np.array([[BPoly(c[:, None], [0, 1])(x, nu=order) for x in t] for c in CUBICS])


def mp_length(control: object, lo: float = 0.0, hi: float = 1.0) -> float:
    """Arc length by mpmath's tanh-sinh quadrature between the places where the speed dips."""
    dx, dy = (
        np.polyder([d - 3 * c + 3 * b - a, 3 * (c - 2 * b + a), 3 * (b - a), a])
        for a, b, c, d in np.array(control, dtype=float).T
    )
    (x2, x1, x0), (y2, y1, y0) = dx.tolist(), dy.tolist()

    def speed(t: float) -> float:
        return math.hypot((x2 * t + x1) * t + x0, (y2 * t + y1) * t + y0)

    square = np.polyadd(np.polymul(dx, dx), np.polymul(dy, dy))
    dips = [float(r.real) for r in np.roots(np.polyder(square)) if abs(r.imag) < 1e-6]
    cuts = [lo, *sorted(d for d in dips if lo + 1e-9 < d < hi - 1e-9), hi]
    return float(sum(mpmath.fp.quad(speed, [a, b]) for a, b in zip(cuts, cuts[1:], strict=False)))


T = np.array([0.0, 0.1, 0.37, 0.5, 0.81, 1.0])
TT = np.broadcast_to(T, (len(CUBICS), len(T)))


def test_points_are_scipys() -> None:
    assert bezier.evaluate(CUBICS, TT) == pytest.approx(points(T), abs=1e-10)


def test_ends_are_the_end_points_exactly() -> None:
    ends = bezier.evaluate(CUBICS, np.broadcast_to([0.0, 1.0], (len(CUBICS), 2)))
    assert np.array_equal(ends, CUBICS[:, [0, 3]])


@pytest.mark.parametrize("shape", [(), (5,), (2, 3)])
def test_basis_keeps_the_shape_and_adds_up_to_one(shape: tuple[int, ...]) -> None:
    t = np.linspace(0, 0.9, int(np.prod(shape))).reshape(shape)
    basis = bezier.point_basis(t)
    assert basis.shape == (*shape, 4)
    assert basis.sum(axis=-1) == pytest.approx(np.ones(shape), abs=1e-15)


def test_derivatives_are_scipys() -> None:
    assert bezier.derivative(CUBICS, TT) == pytest.approx(derivatives(T, 1), abs=1e-9)
    assert bezier.second_derivative(CUBICS, TT) == pytest.approx(derivatives(T, 2), abs=1e-9)


@pytest.mark.parametrize("shape", [(6,), (2, 3)])
def test_velocity_is_a_polynomial_of_bernsteins_of_degree_two(shape: tuple[int, ...]) -> None:
    """The tables of quadrature are made of it: three times the steps between control points."""
    basis = bezier._velocity_basis(T.reshape(shape))
    assert basis.shape == (*shape, 3)
    for control, wanted in zip(CUBICS, derivatives(T, 1), strict=True):
        velocities = basis @ (3 * np.diff(control, axis=0))
        assert velocities.reshape(-1, 2) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("t", [0.25, 0.5, 0.9])
def test_both_parts_of_a_split_lie_on_the_whole(t: float) -> None:
    for control in CUBICS:
        whole = BPoly(control[:, None], [0, 1])
        first, second = (BPoly(part[:, None], [0, 1]) for part in bezier.split(control, t))
        for u in (0, 0.3, 0.8, 1):
            assert first(u) == pytest.approx(whole(t * u), abs=1e-10)
            assert second(u) == pytest.approx(whole(t + (1 - t) * u), abs=1e-10)


@pytest.mark.parametrize("name", WILD)
def test_length_is_right_to_a_millionth_where_the_speed_dips(name: str) -> None:
    control = np.array([WILD[name]], dtype=float)
    assert bezier.lengths(control)[0] == pytest.approx(mp_length(WILD[name]), abs=1e-6)


def test_lengths_of_many_are_those_of_each() -> None:
    """Quiet and wild ones together: each gets its own."""
    every = np.concatenate([CUBICS, np.array(list(WILD.values()), dtype=float)])
    together, even = bezier.measured(every)
    assert together == pytest.approx([mp_length(c) for c in every], abs=1e-6)
    assert np.array_equal(bezier.lengths(every), together)
    assert even[[0, 3]].all()
    assert not even[len(CUBICS) :].any()


def near_cusps(count: int) -> np.ndarray:
    """Cubics whose velocity, as a complex number k (t - r) (t - s), all but vanishes at t = Re r."""
    rng = np.random.default_rng(0)
    r = rng.uniform(0, 1, count) + 1j * 10.0 ** rng.uniform(-9, -1, count)
    s = rng.uniform(-2, 2, count) + 1j * rng.uniform(-2, 2, count)
    k = rng.uniform(50, 300, count) * np.exp(1j * rng.uniform(0, 2 * np.pi, count))
    first, last = k * r * s, k * (1 - r) * (1 - s)
    steps = np.stack([first, first - k * (r + s) / 2, last], axis=1) / 3
    p = np.concatenate([np.zeros((count, 1)), np.cumsum(steps, axis=1)], axis=1)
    return np.stack([p.real, p.imag], axis=-1)


def test_drawn_near_cusps_are_right_to_a_millionth() -> None:
    drawn = near_cusps(40)
    found, even = bezier.measured(drawn)
    assert found == pytest.approx([mp_length(c) for c in drawn], abs=1e-6)
    halves = np.full(40, 0.0), np.full(40, 0.5), np.full(40, 1.0)
    first = bezier.lengths_between(drawn, even, halves[0], halves[1])
    second = bezier.lengths_between(drawn, even, halves[1], halves[2])
    assert first + second == pytest.approx(found, abs=2e-8)


@pytest.mark.parametrize(("lo", "hi"), [(0.0, 0.4), (0.3, 0.9), (0.45, 0.55), (0.5, 1.0)])
def test_length_between_two_parameters(lo: float, hi: float) -> None:
    every = np.concatenate([CUBICS, np.array(list(WILD.values()), dtype=float)])
    even = bezier.measured(every)[1]
    n = len(every)
    got = bezier.lengths_between(every, even, np.full(n, lo), np.full(n, hi))
    assert got == pytest.approx([mp_length(c, lo, hi) for c in every], abs=1e-6)


def test_parts_of_even_ones_alone() -> None:
    quiet = CUBICS[[0, 3]]
    lo, hi = np.array([0.1, 0.2]), np.array([0.7, 0.9])
    got = bezier.lengths_between(quiet, np.array([True, True]), lo, hi)
    assert got[0] == pytest.approx(mp_length(quiet[0], 0.1, 0.7), abs=1e-9)
    assert got[1] == pytest.approx(0.7 * np.hypot(30, 60), abs=1e-12)


def test_each_cubic_runs_evenly_or_not_by_its_own_speeds() -> None:
    short = np.array([(0, 0), (1, 0), (2, 0), (3, 0)]) / 10
    together = np.array([short, np.array(CUBICS[4]) * 3, WILD["cusp"]])
    assert bezier.measured(together)[1].tolist() == [
        True,
        bool(bezier.measured(together[1:2])[1]),
        False,
    ]


def test_halving_ends_and_every_part_still_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    """What has not settled when the limit is reached is added as it is."""
    control = np.array([WILD["near cusp"], WILD["hairpin"]], dtype=float)
    wanted = bezier.lengths(control)
    monkeypatch.setattr(bezier, "_MAX_HALVINGS", 2)
    assert bezier.lengths(control) == pytest.approx(wanted, abs=0.05)


def test_a_cubic_of_one_point_has_no_length() -> None:
    length, even = bezier.measured(np.full((1, 4, 2), 7.0))
    assert length.tolist() == [0.0]
    assert even.tolist() == [True]  # nor does its speed dip


@pytest.mark.parametrize("share", [0.0, 1e-6, 0.2, 0.5, 0.77, 1.0])
def test_parameter_where_a_length_is_run(share: float) -> None:
    every = np.concatenate([CUBICS, np.array(list(WILD.values()), dtype=float)])
    whole, even = bezier.measured(every)
    t = bezier.parameter_at(every, whole, even, share * whole)
    run = bezier.lengths_between(every, even, np.zeros(len(every)), t)
    assert run == pytest.approx(share * whole, abs=2e-9)
    for control, one in list(zip(every, t, strict=True))[::3]:
        assert mp_length(control, 0.0, float(one)) == pytest.approx(
            share * mp_length(control), abs=1e-6
        )


@pytest.mark.parametrize("share", [1e-6, 1e-3, 0.2, 0.5, 0.77, 0.999])
def test_the_search_stays_on_the_cubics_and_measures_few_of_them_whole(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = np.concatenate([CUBICS, np.array(list(WILD.values()), dtype=float)])
    whole, even = bezier.measured(every)
    looked, measured = [], []
    derivative, between = bezier.derivative, bezier.lengths_between
    monkeypatch.setattr(bezier, "derivative", lambda c, t: looked.append(t) or derivative(c, t))
    monkeypatch.setattr(bezier, "lengths_between", lambda *a: measured.append(a) or between(*a))
    bezier.parameter_at(every, whole, even, share * whole)
    assert all(((t >= 0) & (t <= 1)).all() for t in looked)
    assert 1 <= len(measured) <= 4


def test_parameter_of_straight_lines_is_their_share() -> None:
    line = CUBICS[3:4]
    whole, even = bezier.measured(line)
    for share in (0.0, 0.125, 1.0):
        assert bezier.parameter_at(line, whole, even, share * whole)[0] == pytest.approx(
            share, abs=1e-12
        )


def test_parameter_on_a_very_short_line() -> None:
    line = np.array([[(7, 0), (7.1, 0), (7.2, 0), (7.3, 0)]])
    whole, even = bezier.measured(line)
    assert bezier.parameter_at(line, whole, even, whole / 4)[0] == pytest.approx(0.25, abs=1e-12)


def test_no_lengths_asked_no_parameters() -> None:
    none = np.zeros(0)
    assert bezier.parameter_at(CUBICS[:0], none, none.astype(bool), none).shape == (0,)


def test_parameter_beyond_the_ends_is_the_end() -> None:
    whole, even = bezier.measured(CUBICS)
    assert bezier.parameter_at(CUBICS[3:4], whole[3:4], even[3:4], np.array([-5.0]))[0] == 0.0
    assert bezier.parameter_at(CUBICS[3:4], whole[3:4], even[3:4], np.array([1e3]))[0] == 1.0


def test_parameter_on_a_cubic_of_one_point_is_a_number() -> None:
    dot = np.full((1, 4, 2), 7.0)
    assert bezier.parameter_at(dot, np.zeros(1), np.ones(1, bool), np.zeros(1)).tolist() == [0.0]


@pytest.mark.parametrize("within", [1.0, 0.02, 0.0005])
def test_chords_keep_within_the_tolerance_and_are_not_many_more_than_needed(within: float) -> None:
    counts = bezier.chord_counts(CUBICS, within)
    for control, count in zip(CUBICS, counts, strict=True):
        curve = BPoly(control[:, None], [0, 1])

        def sagitta(n: int, curve: BPoly = curve) -> float:
            ends = curve(np.linspace(0, 1, n + 1))
            between = curve((np.arange(n)[:, None] + np.linspace(0.1, 0.9, 9)) / n)
            run = ends[1:] - ends[:-1]
            off = between - ends[:-1, None]
            across = off[..., 0] * run[:, None, 1] - off[..., 1] * run[:, None, 0]
            return float(np.abs(across / np.maximum(np.hypot(*run.T), 1e-12)[:, None]).max())

        assert sagitta(int(count)) <= within
        if count > 3:
            assert sagitta(int(count) // 3) > within  # a third of them would not do


def test_chords_of_a_parabola_are_as_few_as_can_be() -> None:
    """A parabola's chords of equal t stand 1/8 |d2 point / dt2| / n^2 off it, all alike."""
    height = 32.0  # |d2| of (0,0) (10,0) (20,h) (30,3h): 6 h, so the sagitta is 3/4 h / n^2
    cubic = np.array([[(0, 0), (10, 0), (20, height), (30, 3 * height)]], dtype=float)
    exactly_four = 0.75 * height / 16
    assert bezier.chord_counts(cubic, exactly_four).tolist() == [4]
    assert bezier.chord_counts(cubic, exactly_four * 0.999).tolist() == [5]


def test_straight_lines_give_one_chord() -> None:
    assert bezier.chord_counts(CUBICS[3:4], 1e-6).dtype == np.int64
    assert bezier.chord_counts(CUBICS[3:4], 1e-6).tolist() == [1]


def test_evenly_straight_means_handles_at_the_thirds() -> None:
    line = np.array([(5, -7), (15, 13), (25, 33), (35, 53)], dtype=float)
    shifted = [line.copy() for _ in range(5)]
    shifted[1][1, 0] += 2e-6  # off the line
    shifted[2][2, 1] -= 2e-6
    shifted[3][1] = (14, 11)  # on the line, but not at the third
    shifted[4][2] += 0.5e-6  # within rounding
    assert bezier.evenly_straight(np.array(shifted)).tolist() == [True, False, False, False, True]
    assert bezier.evenly_straight(np.array(shifted), 3.0).tolist() == [True] * 5
    exact = np.array([[(0, 0), (8, 0), (16, 0), (24, 0)]], dtype=float)
    exact[0, 1, 1] = 0.25
    assert bezier.evenly_straight(exact, 0.25).tolist() == [True]  # the limit itself is within
