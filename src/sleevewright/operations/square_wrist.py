"""The wrist of a half sleeve that is drafted: square to the overarm and to the underarm seam."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, fair_curve

Array = NDArray[np.float64]

_ROUNDS = 6  # each leaves a hundredth of the error


def square_wrist(end: Array, square: Array, under: Array, width: float) -> tuple[Array, Curve]:
    """Return the wrist's corner at the underarm seam, and the wrist.

    Args:
        end: of the overarm, shape (2,), mm.
        square: direction square to the overarm, towards the underarm, shape (2,).
        under: where the underarm seam runs to, shape (2,), mm.
        width: arc length of the wrist, mm.
    """
    chord = width
    corner, wrist = end + chord * square, Curve.line(end, end + chord * square)
    for _ in range(_ROUNDS):
        corner = end + chord * square
        wrist = fair_curve(end, corner, square, across(under - corner, square))
        chord *= width / wrist.length
    return corner, wrist


def across(direction: Array, towards: Array) -> Array:
    """Return what is square to a direction, on the side of another, shape (2,)."""
    turned = np.array([-direction[1], direction[0]])
    return turned if float(turned @ towards) > 0 else -turned
