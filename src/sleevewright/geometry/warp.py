"""Curves moved by a smooth map of the plane that is not affine."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.bezier import split
from sleevewright.geometry.curve import Curve

Array = NDArray[np.float64]

_STEP = 1e-5  # mm; of the numeric derivative along a handle


def warped(curve: Curve, mapping: Callable[[Array], Array]) -> Curve:
    """Return the image of a curve under a smooth map.

    Args:
        curve: mm.
        mapping: points, shape (m, 2), to points; smooth, and nearly the identity over a few mm.

    Every segment is cut in four and redrawn with the image's ends and end derivatives; that follows
    the exact image within a few micrometres on edges of a garment, and directions at joints exactly.
    """
    quarters = np.array([q for segment in curve.controls for q in _quarters(segment)])
    ends = quarters[:, [0, 3]]
    handles = np.stack([quarters[:, 1] - quarters[:, 0], quarters[:, 3] - quarters[:, 2]], axis=1)
    size = np.maximum(np.hypot(handles[..., 0], handles[..., 1])[..., None], 1e-12)
    step = _STEP * handles / size
    flat = np.concatenate([*ends, *(ends + step), *(ends - step)])
    image, ahead, behind = mapping(flat).reshape(3, *ends.shape)
    moved = (ahead - behind) / (2 * _STEP) * size
    return Curve(
        np.stack(
            [image[:, 0], image[:, 0] + moved[:, 0], image[:, 1] - moved[:, 1], image[:, 1]], 1
        )
    )


def eased_start(t: Array, onset: float) -> Array:
    """Return a ramp from 0 at 0 to 1 at 1 that starts without slope: a parabola, then straight.

    Args:
        t: from 0 on, any shape.
        onset: part of the way over which it starts, 0 to 1.
    """
    early = np.minimum(t, onset)
    return np.asarray((early * early / (2 * onset) + (t - early)) / (1 - onset / 2))


def _quarters(segment: Array) -> list[Array]:
    first, second = split(segment, 0.5)
    return [*split(first, 0.5), *split(second, 0.5)]
