"""Circular and elliptical arcs, quadratics and B-splines as cubics.

Quadratics and non-rational splines up to degree 3 convert exactly. An arc of a circle is cut into
parts of at most 22.5 degrees, where the usual cubic is within 2.5e-7 of the radius (0.025
micrometres at 100 mm); an ellipse is the affine image of a circle.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sleevewright.geometry.affine import Affine
from sleevewright.geometry.curve import Curve

Array = NDArray[np.float64]

_LARGEST_PART = 22.5


def unit_arc(start: float, sweep: float) -> Curve:
    """Return the arc of the unit circle from `start` degrees over `sweep` degrees.

    Positive sweeps run counter-clockwise. The handles are 4/3 tan(part / 4).
    """
    parts = max(1, math.ceil(abs(sweep) / _LARGEST_PART - 1e-9))
    angles = np.radians(start + sweep * np.arange(parts + 1) / parts)
    k = 4 / 3 * math.tan(math.radians(sweep / parts) / 4)
    points = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    tangents = np.stack([-np.sin(angles), np.cos(angles)], axis=1)
    a, b = points[:-1], points[1:]
    return Curve(np.stack([a, a + k * tangents[:-1], b - k * tangents[1:], b], axis=1))


def circular_arc(centre: ArrayLike, radius: float, start: float, sweep: float) -> Curve:
    """Return an arc of a circle; centre shape (2,), mm, angles in degrees."""
    return elliptical_arc(centre, (radius, 0.0), (0.0, radius), start, sweep)


def elliptical_arc(
    centre: ArrayLike, major: ArrayLike, minor: ArrayLike, start: float, sweep: float
) -> Curve:
    """Return centre + major cos t + minor sin t for t from start over sweep, degrees."""
    frame = Affine(*np.concatenate([major, minor, centre]).tolist())
    return unit_arc(start, sweep).transformed(frame)


def bulge(a: ArrayLike, b: ArrayLike, amount: float) -> Curve:
    """Return the arc from a to b with a DXF bulge: the tangent of a quarter of its angle."""
    if abs(amount) < 1e-12:
        return Curve.line(a, b)
    # Arcs of one angle are alike: any of them, turned and scaled, is the one between these ends.
    return unit_arc(0.0, math.degrees(4 * math.atan(amount))).with_ends(a, b)


def quadratic(a: ArrayLike, b: ArrayLike, c: ArrayLike) -> Curve:
    """Return a quadratic Bezier as a cubic; exact."""
    p, q, r = (np.asarray(v, dtype=float) for v in (a, b, c))
    return Curve.cubic(p, p + (q - p) * 2 / 3, r + (q - r) * 2 / 3, r)


def b_spline(points: ArrayLike, knots: ArrayLike, degree: int) -> Curve:
    """Return a non-rational B-spline of degree 1 to 3 as cubics; exact (knot insertion, Boehm).

    Args:
        points: control points, shape (m, 2), mm.
        knots: shape (m + degree + 1,), never falling.

    Raises:
        ValueError: counts or knots do not fit.
    """
    p, k = np.asarray(points, dtype=float), np.asarray(knots, dtype=float)
    if degree not in (1, 2, 3) or len(k) != len(p) + degree + 1 or (np.diff(k) < 0).any():
        raise ValueError("a spline's degree, knots and control points do not fit together")
    lo, hi = k[degree], k[-degree - 1]
    if hi <= lo:
        raise ValueError("a spline has no length in its parameter")
    for knot in np.unique(k[(k >= lo) & (k <= hi)]):
        while np.count_nonzero(k == knot) < degree:
            p, k = _inserted(p, k, degree, float(knot))
    inside = np.unique(k[(k >= lo) & (k <= hi)])
    segments = []
    for start in inside[:-1]:
        at = int(np.searchsorted(k, start, side="right")) - 1
        segments.append(_as_cubic(p[at - degree : at + 1]))
    return Curve(np.array(segments))


def _inserted(p: Array, k: Array, degree: int, knot: float) -> tuple[Array, Array]:
    """Insert a knot once (Boehm 1980)."""
    at = int(np.searchsorted(k, knot, side="right")) - 1
    at = min(at, len(p) - 1)
    new = [p[: at - degree + 1]]
    for i in range(at - degree + 1, at + 1):
        w = (knot - k[i]) / (k[i + degree] - k[i])
        new.append(((1 - w) * p[i - 1] + w * p[i])[None])
    new.append(p[at:])
    return np.concatenate(new), np.insert(k, at + 1, knot)


def _as_cubic(p: Array) -> Array:
    if len(p) == 2:
        return np.array([p[0], p[0] + (p[1] - p[0]) / 3, p[1] - (p[1] - p[0]) / 3, p[1]])
    if len(p) == 3:
        return np.array(quadratic(*p).controls[0])
    return p
