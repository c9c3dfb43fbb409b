"""Fair cubics fitted to polylines that came from flattened curves.

Between corners the polyline is fitted with cubics that share directions at their joints; where a
cubic leaves the polyline by more than the tolerance it is cut at its worst vertex (or at the given
knot nearest to it) and both parts are fitted again.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.bezier import LEAST, evaluate, point_basis
from sleevewright.geometry.curve import Curve

Array = NDArray[np.float64]

#: mm. Vertices of a straight run stray less than this from their chord.
STRAIGHT = 1e-3

_ROUNDS = 6
_DEEPEST = 12


def fit_polyline(points: Array, knots: Sequence[int] = (), within: float = 0.05) -> Curve:
    """Fit cubics to one smooth run of vertices.

    Args:
        points: shape (m, 2), m >= 2, mm; the ends are kept exactly.
        knots: indices where the sender's own curve had its joints; tried first.
        within: how far a vertex may lie from the curve, mm.

    Returns:
        A curve without corners, straight where the vertices lie on a line.
    """
    p = np.asarray(points, dtype=float)
    if len(p) == 2 or _strays(p) < STRAIGHT:
        return Curve.line(p[0], p[-1])
    straight = _long_chords(p)
    ends = {int(k) for k in straight} | {int(k) + 1 for k in straight}
    inner = sorted({int(k) for k in (*knots, *ends) if 0 < k < len(p) - 1})
    cuts = [0, *inner, len(p) - 1]
    bounds = sorted({0, *ends, len(p) - 1})
    segments: list[Array] = []
    for a, b in pairwise(cuts):
        if b == a + 1 and a in straight:
            segments.append(Curve.line(p[a], p[b]).controls[0])
            continue
        # Directions are taken within the curved run that both ends belong to.
        lo = max(bound for bound in bounds if bound <= a)
        hi = min(bound for bound in bounds if bound >= b)
        start, end = (_run_direction(p, lo, hi, straight, at) for at in (a, b))
        segments += _fitted(p[lo : hi + 1], a - lo, b - lo, start, end, within, 0)
    return Curve(np.array(segments))


#: A chord this much longer than a neighbour was straight before the curve was flattened.
LONG = 4.0


def _long_chords(p: Array) -> frozenset[int]:
    """Return the chords (by their first vertex) of straight stretches among curved ones."""
    steps = np.hypot(*np.diff(p, axis=0).T)
    before, after = np.r_[np.inf, steps[:-1]], np.r_[steps[1:], np.inf]
    return frozenset(np.flatnonzero(steps > LONG * np.minimum(before, after)).tolist())


def _run_direction(p: Array, lo: int, hi: int, straight: frozenset[int], at: int) -> Array:
    """Return the direction at a vertex of the run lo to hi: that of a straight chord it touches, if any."""
    for chord in (at - 1, at):
        if chord in straight:
            step = p[chord + 1] - p[chord]
            return np.asarray(step / np.hypot(*step))
    return _tangent(p[lo : hi + 1], at - lo)


def _strays(p: Array) -> float:
    """Return how far vertices lie from their chord, mm; where they close, from the end."""
    run, off = p[-1] - p[0], p - p[0]
    share = np.clip(off @ run / max(run @ run, LEAST), 0.0, 1.0)
    return float(np.hypot(*(off - share[:, None] * run).T).max())


def _tangent(p: Array, i: int) -> Array:
    """Return the direction at vertex i from a polynomial through the five vertices around it.

    The parameter is the chord length, so that the error falls with the fourth power of the spacing.
    """
    first = min(max(i - 2, 0), max(len(p) - 5, 0))
    near = p[first : first + 5]
    steps = np.hypot(*np.diff(near, axis=0).T)
    t = np.concatenate([[0.0], np.cumsum(steps)])
    powers = np.vander((t - t[i - first]) / steps.sum(), increasing=True)
    direction = np.linalg.solve(powers, near)[1]
    return np.asarray(direction / np.hypot(*direction))


def _fitted(  # noqa: PLR0913 (a run and its ends)
    p: Array, a: int, b: int, start: Array, end: Array, within: float, depth: int
) -> list[Array]:
    """Fit the run from vertex a to vertex b with given end directions."""
    run = p[a : b + 1]
    if len(run) == 2 or _strays(run) < STRAIGHT / 10:
        if depth == 0 and len(run) > 2:
            return [Curve.line(p[a], p[b]).controls[0]]
        third = np.hypot(*(p[b] - p[a])) / 3
        return [np.array([p[a], p[a] + third * start, p[b] - third * end, p[b]])]
    control, worst, at = _one_cubic(run, start, end)
    if worst <= within or depth >= _DEEPEST or len(run) < 4:
        return [control]
    cut = a + at
    middle = _tangent(p, cut)
    return [
        *_fitted(p, a, cut, start, middle, within, depth + 1),
        *_fitted(p, cut, b, middle, end, within, depth + 1),
    ]


def _one_cubic(run: Array, start: Array, end: Array) -> tuple[Array, float, int]:
    """Least squares for the two handle lengths, parameters improved a few times.

    Returns the control points, the largest distance of a vertex and which vertex that is.
    """
    steps = np.hypot(*np.diff(run, axis=0).T)
    t = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    reach = float(steps.sum())
    for _ in range(_ROUNDS):
        basis = point_basis(t)
        fixed = (basis[:, :2].sum(axis=1)[:, None] * run[0]) + (
            basis[:, 2:].sum(axis=1)[:, None] * run[-1]
        )
        columns = np.stack(
            [(basis[:, 1:2] * start).ravel(), (-basis[:, 2:3] * end).ravel()], axis=1
        )
        handles, *_ = np.linalg.lstsq(columns, (run - fixed).ravel(), rcond=None)
        a, b = np.clip(handles, 0.05 * reach, 1.2 * reach)
        control = np.array([run[0], run[0] + a * start, run[-1] - b * end, run[-1]])
        t = _reparametrised(control, run, t)
    off = np.hypot(*(evaluate(control[None], t[None])[0] - run).T)
    at = int(np.argmax(off))
    return control, float(off[at]), at


def _reparametrised(control: Array, run: Array, t: Array) -> Array:
    """Move each parameter a Newton step towards the nearest point of the cubic."""
    d1 = 3 * np.diff(control, axis=0)
    d2 = 2 * np.diff(d1, axis=0)
    u = (1 - t)[:, None]
    v = t[:, None]
    velocity = u * u * d1[0] + 2 * u * v * d1[1] + v * v * d1[2]
    acceleration = u * d2[0] + v * d2[1]
    off = evaluate(control[None], t[None])[0] - run
    slope = (velocity * velocity).sum(axis=1) + (off * acceleration).sum(axis=1)
    step = (off * velocity).sum(axis=1) / np.where(slope != 0, slope, 1.0)
    new = np.minimum(t - step, 1.0)
    new[0], new[-1] = 0.0, 1.0
    return np.maximum.accumulate(new)
