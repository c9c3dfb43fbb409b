"""Arithmetic of cubic Bezier segments on arrays of control points, shape (n, 4, 2), mm.

Arc length: the speed of a cubic is the root of a quartic. Where its derivative (a quadratic in the
complex plane) comes near zero the speed dips, and there the parameter range is cut before
Gauss-Legendre quadrature of 16 points, then halves are compared until they settle.
"""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.tolerance import SAME_POINT

Array = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


def _velocity_basis(t: Array) -> Array:
    return np.stack([(1 - t) ** 2, 2 * t * (1 - t), t * t], axis=-1)


#: Bases of the derivative at the quadrature nodes of [0, 1], and of its two halves.
_WHOLE = _velocity_basis(0.5 + 0.5 * _NODES)
_HALVES = _velocity_basis(np.concatenate([0.25 + 0.25 * _NODES, 0.75 + 0.25 * _NODES]))
_HALF_WEIGHTS = 0.25 * np.tile(_WEIGHTS, 2)
#: The smallest number of full precision: nothing divided by it is nothing, and no division by zero.
LEAST = float(np.finfo(float).tiny)
_SETTLED = 1e-9  # mm; far below tolerance.ARC_LENGTH, so that sums of many segments keep it
_MAX_HALVINGS = 24
_MOST_STEPS = 60  # of Newton's method; halving alone would settle in these
#: From (x, y) to x + i y.
_PLANE = np.array([1.0, 1.0j])
#: Of the highest speed. Past a deeper dip the whole and its halves may agree and both be wrong.
_DIP = 0.05


def evaluate(controls: Array, t: Array) -> Array:
    """Return the points at t: controls (n, 4, 2) and t (n, m) give (n, m, 2)."""
    return np.asarray(point_basis(t) @ controls)


def point_basis(t: Array) -> Array:
    """Return the Bernstein polynomials of degree 3 at t: shape (...) gives (..., 4)."""
    basis = np.empty((*t.shape, 4))
    u = 1.0 - t
    basis[..., 0], basis[..., 3] = u * u * u, t * t * t
    basis[..., 1], basis[..., 2] = 3 * u * u * t, 3 * u * t * t
    return basis


def derivative(controls: Array, t: Array) -> Array:
    """Return d point / d t at t, shapes as in `evaluate`, mm."""
    basis = np.empty((*t.shape, 3))
    u = 1.0 - t
    basis[..., 0], basis[..., 1], basis[..., 2] = 3 * u * u, 6 * u * t, 3 * t * t
    return np.asarray(basis @ (controls[:, 1:] - controls[:, :-1]))


def second_derivative(controls: Array, t: Array) -> Array:
    """Return d2 point / d t2 at t, shapes as in `evaluate`, mm."""
    basis = np.empty((*t.shape, 2))
    basis[..., 0], basis[..., 1] = 6.0 - 6.0 * t, 6.0 * t
    return np.asarray(basis @ _second_differences(controls))


def _speeds(velocities: Array) -> Array:
    x, y = velocities[..., 0], velocities[..., 1]
    return np.asarray(np.sqrt(x * x + y * y))


def split(control: Array, t: float) -> tuple[Array, Array]:
    """Split one cubic, shape (4, 2), at t (de Casteljau)."""
    a = control[:-1] + t * (control[1:] - control[:-1])
    b = a[:-1] + t * (a[1:] - a[:-1])
    c = b[0] + t * (b[1] - b[0])
    return np.array([control[0], a[0], b[0], c]), np.array([c, b[1], a[2], control[3]])


def _integral(controls: Array, lo: Array, hi: Array) -> Array:
    """Integrate the speed of n cubics over [lo, hi], both (n,): 16-point Gauss-Legendre, mm."""
    half = 0.5 * (hi - lo)
    t = (lo + half)[:, None] + half[:, None] * _NODES
    return np.asarray(half * (_speeds(derivative(controls, t)) @ _WEIGHTS))


def _dips(controls: Array) -> Array:
    """Return where the speed may dip, shape (n, 2), in order; some lie outside [0, 1]."""
    d = np.diff(controls, axis=1) @ _PLANE  # a third of the derivative
    a, b, c = d[:, 0] - 2 * d[:, 1] + d[:, 2], 2 * (d[:, 1] - d[:, 0]), d[:, 0]
    root = np.sqrt(b * b - 4 * a * c)
    with np.errstate(divide="ignore", invalid="ignore"):
        dips = np.stack([(-b - root) / (2 * a), (-b + root) / (2 * a)], axis=1).real
    return np.sort(np.nan_to_num(dips))


def lengths_between(controls: Array, even: NDArray[np.bool_], lo: Array, hi: Array) -> Array:
    """Return the arc lengths of n cubics, (n, 4, 2), between parameters lo and hi, (n,), mm.

    Args:
        controls: shape (n, 4, 2), mm.
        even: which run evenly, shape (n,); see `measured`.
        lo, hi: shape (n,).

    Accuracy: within 1e-6 mm for segments of a garment, cusps included.
    """
    found = _integral(controls, lo, hi)
    if not even.all():
        wild = ~even
        found[wild] = _careful_lengths(controls[wild], lo[wild], hi[wild])
    return found


def _careful_lengths(controls: Array, lo: Array, hi: Array) -> Array:
    """Return arc lengths of cubics whose speed dips: cut there, then halve until settled, mm."""
    dips = np.clip(_dips(controls), lo[:, None], hi[:, None])
    cuts = np.concatenate([lo[:, None], dips, hi[:, None]], axis=1)
    n = len(controls)
    owner = np.repeat(np.arange(n), 3)
    start, stop = cuts[:, :-1].ravel(), cuts[:, 1:].ravel()
    keep = stop > start
    owner, start, stop = owner[keep], start[keep], stop[keep]
    total = np.zeros(n)
    whole = _integral(controls[owner], start, stop)
    for _ in range(_MAX_HALVINGS):
        middle = 0.5 * (start + stop)
        left = _integral(controls[owner], start, middle)
        right = _integral(controls[owner], middle, stop)
        open_ = np.abs(left + right - whole) > _SETTLED
        np.add.at(total, owner[~open_], (left + right)[~open_])
        if not open_.any():
            return total
        owner = np.concatenate([owner[open_], owner[open_]])
        start, middle, stop = start[open_], middle[open_], stop[open_]
        start, stop = np.concatenate([start, middle]), np.concatenate([middle, stop])
        whole = np.concatenate([left[open_], right[open_]])
    np.add.at(total, owner, whole)
    return total


def lengths(controls: Array) -> Array:
    """Return the arc length of each of n cubics, shape (n,), mm."""
    return measured(controls)[0]


def measured(controls: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return the arc length of each of n cubics, shape (n,), mm, and which of them run evenly.

    Of one that runs evenly, 16 points give the length of any part of it.
    """
    velocities = 3.0 * (controls[:, 1:] - controls[:, :-1])
    whole = _speeds(_WHOLE @ velocities) @ (0.5 * _WEIGHTS)
    speeds = _speeds(_HALVES @ velocities)
    halves = speeds @ _HALF_WEIGHTS
    wild = np.abs(halves - whole) > _SETTLED
    wild |= speeds.min(axis=1) < _DIP * speeds.max(axis=1)
    if wild.any():
        n = int(wild.sum())
        halves[wild] = _careful_lengths(controls[wild], np.zeros(n), np.ones(n))
    return np.asarray(halves), ~wild


def parameter_at(controls: Array, whole: Array, even: NDArray[np.bool_], length: Array) -> Array:
    """Return t where each of n cubics, of length `whole` (n,), has run `length` (n,) mm.

    Newton's method kept inside a shrinking bracket; stops at 1e-9 mm. Segments of even speed
    (straight lines) need no search. Lengths beyond the ends are clamped.
    """
    length = np.clip(length, 0.0, whole)
    t = length / np.maximum(whole, LEAST)
    if (np.abs(_second_differences(controls)) < _SETTLED).all():
        return np.asarray(t)
    lo, hi = np.zeros(len(controls)), np.ones(len(controls))
    zero = np.zeros(len(controls))
    run = lengths_between(controls, even, zero, t)
    for _ in range(_MOST_STEPS):
        miss = run - length
        done = np.abs(miss) < _SETTLED
        if done.all():
            break
        over = miss > 0
        lo, hi = np.where(over, lo, t), np.where(over, t, hi)
        speed = _speeds(derivative(controls, t[:, None])[:, 0])
        with np.errstate(divide="ignore", invalid="ignore"):
            step = t - miss / speed
        inside = (step > lo) & (step < hi)
        new = np.where(done, t, np.where(inside, step, 0.5 * (lo + hi)))
        if np.abs(new - t).max() < _SHORT_STEP:  # what was run in between is quickly added
            run = run + _integral(controls, t, new)
        else:
            run = lengths_between(controls, even, zero, new)
        t = new
    return t


#: Steps of t up to this are integrated with 16 points alone: exact to 1e-12 on any segment that
#: does not turn round within them.
_SHORT_STEP = 0.05


def chord_counts(controls: Array, tolerance: float) -> NDArray[np.int64]:
    """Return for each cubic how many chords of equal t keep within tolerance, mm, of it.

    From the bound of a chord's sagitta by the second derivative: n >= sqrt(6/8 max|d2| / tolerance)
    with d2 the second differences of the control points.
    """
    most = _speeds(_second_differences(controls)).max(axis=1)
    counts: NDArray[np.int64] = np.ceil(np.sqrt(0.75 * most / tolerance)).astype(np.int64)
    return np.maximum(counts, 1)


def _second_differences(controls: Array) -> Array:
    return np.asarray(controls[:, :2] - 2.0 * controls[:, 1:3] + controls[:, 2:])


def evenly_straight(controls: Array, within: float = SAME_POINT) -> NDArray[np.bool_]:
    """Return which cubics are straight lines that run evenly, shape (n,).

    Args:
        controls: shape (n, 4, 2), mm; the handles of such a one are at its thirds.
        within: how far they may be off, mm.
    """
    start, end = controls[:, 0], controls[:, 3]
    third = (end - start) / 3
    off = np.abs(controls[:, 1:3] - np.stack([start + third, end - third], axis=1))
    return np.asarray(off.max(axis=(1, 2)) <= within)
