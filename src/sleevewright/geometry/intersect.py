"""Where curves cross."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.curve import Curve

Array = NDArray[np.float64]

#: mm. Chords of the polylines that find crossings before they are refined.
_COARSE = 0.005
_SAME = 1e-4


def intersections(a: Curve, b: Curve) -> tuple[tuple[float, float], ...]:
    """Return where two curves cross: (station on a, station on b), in order along a, mm.

    Crossings are found on polylines and refined by Newton's method on the curves, to 1e-9 mm.
    Touching without crossing may be missed; stretches that lie on one another count by their ends.
    """
    from shapely import LineString, get_coordinates  # noqa: PLC0415 (heavy, seldom needed)

    lines = [LineString(curve.flattened(_COARSE)) for curve in (a, b)]
    found: list[tuple[float, float]] = []
    for point in get_coordinates(lines[0].intersection(lines[1])):
        stations = _refined(a, b, point)
        if stations is not None and all(abs(stations[0] - s) > _SAME for s, _ in found):
            found.append(stations)
    return tuple(sorted(found))


def _refined(a: Curve, b: Curve, near: Array) -> tuple[float, float] | None:
    """Newton's method on both stations; None where it leaves a curve."""
    on_a, on_b = a.nearest(near)[0], b.nearest(near)[0]
    for _ in range(12):
        gap = b.point_at(on_b) - a.point_at(on_a)
        if float(np.hypot(*gap)) < 1e-10:
            break
        u, v = a.direction_at(on_a), b.direction_at(on_b)
        det = float(u[1] * v[0] - u[0] * v[1])
        if abs(det) < 1e-9:
            break
        on_a += float(gap[1] * v[0] - gap[0] * v[1]) / det
        on_b += float(u[0] * gap[1] - u[1] * gap[0]) / det
    at_a, at_b = min(max(on_a, 0.0), a.length), min(max(on_b, 0.0), b.length)
    return (at_a, at_b) if max(abs(at_a - on_a), abs(at_b - on_b)) <= _SAME else None
