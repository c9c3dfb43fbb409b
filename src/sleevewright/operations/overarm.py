"""The overarm: from the neck over the shoulder tip to the sleeve's centre line.

The shoulder line is kept from the neck; then one fair curve runs over the tip and meets the centre
line without a corner. It may leave the tip by up to 6 mm to stay fair (common practice).
"""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.bezier import point_basis
from sleevewright.geometry.fairing import find_root

Array = NDArray[np.float64]

#: mm. How far the curve may leave the shoulder tip (common practice).
LEAVES_TIP = 6.0

_SAMPLES = point_basis(np.linspace(0.0, 1.0, 65))
_AIM = 4.0  # mm; the usual, with some way to the limit
_SHOULDER_PART = 0.5  # of the shoulder that the curve may use


def overarm_curve(shoulder: Curve, meets: Array, down: Array) -> Curve:
    """Return the shoulder line run over its tip into the centre line of the sleeve.

    Args:
        shoulder: from the neck (or where the raglan line leaves the shoulder) to the tip, placed
            on the sleeve, mm.
        meets: where the centre line is met, shape (2,), mm.
        down: unit direction of the centre line towards the wrist, shape (2,).

    Returns:
        A curve from the shoulder's start to `meets`, without a corner.
    """
    tip = shoulder.end
    part = min(60.0, _SHOULDER_PART * shoulder.length)
    begins = shoulder.length - part
    kept = shoulder.between(0.0, begins)
    start, leaving = kept.end, kept.end_direction
    corner = _corner(start, leaving, meets, down)

    # Handles as parts of the way to the corner: 1 hugs the corner, 1/2 cuts it.
    reaches = float(np.hypot(*(corner - start))), float(np.hypot(*(corner - meets)))

    def controls(fraction: float) -> Array:
        a, b = (fraction * reach for reach in reaches)
        return np.array([start, start + a * leaving, meets - b * down, meets])

    def miss(fraction: float) -> float:
        off = _SAMPLES @ controls(fraction) - tip
        return float(np.sqrt((off * off).sum(axis=1).min())) - _AIM

    loosest, tightest = 0.55, 0.92
    if miss(loosest) <= 0:
        fraction = loosest
    elif miss(tightest) >= 0:
        fraction = tightest
    else:
        fraction = find_root(miss, loosest, tightest, 1e-3)
    return Curve.joined([kept, Curve([controls(fraction)])])


def _corner(start: Array, leaving: Array, meets: Array, down: Array) -> Array:
    """Return where the shoulder's direction meets the centre line, between the two ends.

    Where they hardly turn into each other the corner is half way, so that handles stay in
    proportion.
    """
    det = leaving[0] * down[1] - leaving[1] * down[0]
    gap = meets - start
    reach = float(np.hypot(*gap))
    if abs(det) > 0.05:
        ahead = float((gap[0] * down[1] - gap[1] * down[0]) / det)
        point = start + ahead * leaving
        if 0.1 * reach < ahead < reach and (meets - point) @ down > 0.1 * reach:
            return np.asarray(point)
    return np.asarray(start + 0.35 * reach * leaving)
