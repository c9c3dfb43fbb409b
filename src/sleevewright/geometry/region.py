"""Closed outlines: area, winding, point sets; through shapely, at the door."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.curve import Curve
from sleevewright.geometry.tolerance import FLATTEN

if TYPE_CHECKING:
    from shapely import Polygon


def signed_area(curves: Iterable[Curve]) -> float:
    """Return the exact area, mm2, of a closed chain of curves; positive when counter-clockwise."""
    return sum(curve.green_area for curve in curves)


def flattened_ring(curves: Iterable[Curve], within: float = FLATTEN) -> NDArray[np.float64]:
    """Return a closed chain as a polyline, shape (m, 2), without the repeated last point, mm."""
    return np.concatenate([curve.flattened(within)[:-1] for curve in curves])


def polygon(curves: Iterable[Curve], within: float = FLATTEN) -> "Polygon":
    """Return a closed chain as a shapely polygon, its chords within `within` mm of the curves."""
    from shapely import Polygon  # noqa: PLC0415 (heavy)

    return Polygon(flattened_ring(curves, within))
