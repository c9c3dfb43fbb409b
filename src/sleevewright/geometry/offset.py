"""Parallel curves that prove their own distance.

The parallel of a cubic is no cubic. Each segment is cut until the cubic with the exact end points and
end derivatives of the parallel lies within a quarter of the tolerance of it at three inner points;
then the whole curve is measured back against its source at other points. A hollow tighter
than the distance would fold the parallel over; it is refused, not trimmed.
"""

import math

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import bezier
from sleevewright.geometry.affine import Affine
from sleevewright.geometry.curve import Curve
from sleevewright.geometry.tolerance import CORNER, OFFSET

Array = NDArray[np.float64]

_INNER = np.array([0.25, 0.5, 0.75])
_PROOF = np.array([0.11, 0.37, 0.61, 0.89])
_DEEPEST = 9
_STEPS_BACK = 3  # of Newton's method, from the same parameter to the nearest point


class OffsetError(ValueError):
    """No parallel at this distance; the text says where and why."""


def parallel(curve: Curve, distance: float, within: float = OFFSET) -> Curve:
    """Return the parallel of a curve on its right side.

    Round a counter-clockwise outline the right side is the outside.

    Args:
        curve: the source.
        distance: mm, positive to the right; 0 gives the curve itself.
        within: how far any point of the result may be from its distance, mm.

    Raises:
        OffsetError: the curve has a hollow tighter than the distance, or the proof fails.
    """
    if distance == 0.0:
        return curve
    if curve.is_straight():
        along = curve.end_direction
        return curve.transformed(Affine.translation(distance * np.array([along[1], -along[0]])))
    sources, near = curve.controls, within / 4
    images, bad = _images(sources, distance, near)
    for _ in range(_DEEPEST):
        if not bad.any():
            break
        halves = np.array([half for cubic in sources[bad] for half in bezier.split(cubic, 0.5)])
        place = np.repeat(np.arange(len(bad)), 1 + bad)  # two for one that is cut
        sources, images, bad = sources[place], images[place], bad[place]
        fresh = bad.copy()
        sources[fresh] = halves
        images[fresh], bad[fresh] = _images(halves, distance, near)
    if bad.any():
        raise OffsetError(f"the parallel at {distance:.2f} mm does not settle")
    _prove(images, sources, distance, within)
    gaps = np.hypot(*(images[1:, 0] - images[:-1, 3]).T)
    if (gaps > _corner_gap(distance)).any():
        raise OffsetError("a corner inside the edge; part the edge there")
    return Curve(_closed_joints(images))


def _corner_gap(distance: float) -> float:
    """Return how far the parallels part where the source turns as far as no corner may, mm."""
    return 2.0 * abs(distance) * math.sin(math.radians(CORNER) / 2)


def _images(sources: Array, distance: float, within: float) -> tuple[Array, NDArray[np.bool_]]:
    """Return cubics with the ends and end derivatives of the parallel, and which are too coarse."""
    n = len(sources)
    ends = np.broadcast_to(np.array([0.0, 1.0]), (n, 2))
    points, velocity = _exact(sources, ends, distance)
    images = np.empty_like(sources)
    images[:, 0], images[:, 3] = points[:, 0], points[:, 1]
    images[:, 1] = points[:, 0] + velocity[:, 0] / 3
    images[:, 2] = points[:, 1] - velocity[:, 1] / 3
    inner = np.broadcast_to(_INNER, (n, 3))
    wanted, _ = _exact(sources, inner, distance)
    off = bezier.evaluate(images, inner) - wanted
    return images, np.sqrt((off * off).sum(axis=-1)).max(axis=1) > within


def _exact(sources: Array, t: Array, distance: float) -> tuple[Array, Array]:
    """Return points and derivatives of the parallel at t, shapes (n, m, 2).

    Raises:
        OffsetError: the derivative turns round: a hollow tighter than the distance.
    """
    first = bezier.derivative(sources, t)
    second = bezier.second_derivative(sources, t)
    speed = np.sqrt((first * first).sum(axis=-1))
    weak = speed < 1e-9
    if weak.any():  # a handle on its end: take the direction a little inside
        inside = np.clip(t, 1e-4, 1 - 1e-4)
        first = np.where(weak[..., None], bezier.derivative(sources, inside), first)
        speed = np.sqrt((first * first).sum(axis=-1))
    tangent = first / speed[..., None]
    normal = np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1)
    cross = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    stretch = 1.0 + distance * np.where(weak, 0.0, cross / speed**3)
    points = bezier.evaluate(sources, t)
    if (stretch <= 0.0).any():
        x, y = points[np.unravel_index(int(np.argmin(stretch)), stretch.shape)]
        raise OffsetError(f"a hollow at ({x:.1f}, {y:.1f}) is tighter than {abs(distance):.1f} mm")
    return points + distance * normal, first * stretch[..., None]


def _prove(images: Array, sources: Array, distance: float, within: float) -> None:
    """Measure the result back: every point at its distance from the nearest point of its source.

    Near a point of the parallel the nearest point of the source has nearly the same parameter;
    a few Newton steps find it.

    Raises:
        OffsetError: a point is farther off than `within`.
    """
    t = np.broadcast_to(_PROOF, (len(images), len(_PROOF)))
    points = bezier.evaluate(images, t)
    for _ in range(_STEPS_BACK):
        off = bezier.evaluate(sources, t) - points
        first, second = bezier.derivative(sources, t), bezier.second_derivative(sources, t)
        slope = (first * first).sum(axis=-1) + (off * second).sum(axis=-1)
        t = np.clip(t - (off * first).sum(axis=-1) / np.where(slope > 0, slope, 1.0), 0.0, 1.0)
    off = bezier.evaluate(sources, t) - points
    reach = np.sqrt((off * off).sum(axis=-1))
    worst = float(np.abs(reach - abs(distance)).max())
    if worst > within:
        raise OffsetError(f"the parallel at {distance:.2f} mm strays by {worst:.3f} mm")


def _closed_joints(controls: Array) -> Array:
    """Bring the ends of neighbours together.

    A gap of rounding (up to a micrometre) is closed by moving the end; a wider one comes from a
    small kink of the source and is bridged by a short line.
    """
    parts = [controls[0]]
    for segment in controls[1:]:
        gap = segment[0] - parts[-1][3]
        if np.abs(gap).max() > 1e-3:
            a, b = parts[-1][3], segment[0]
            parts.append(np.array([a, a + gap / 3, b - gap / 3, b]))
            parts.append(segment)
        else:
            parts.append(np.concatenate([segment[:2] - gap, segment[2:]]))
    return np.array(parts)
