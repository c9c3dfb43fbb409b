"""The wrist of a half sleeve that is drafted: square to the overarm and to the underarm seam."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, fair_curve

Array = NDArray[np.float64]

_ROUNDS = 40  # each leaves a third of the error or less, as the wrist is to the underarm seam
_SETTLED = 1e-9  # mm


def square_wrist(end: Array, square: Array, under: Array, width: float) -> tuple[Array, Curve]:
    """Return the wrist's corner at the underarm seam, and the wrist.

    The wrist is the arc that a cone's edge unrolls to: the turn from overarm to underarm is spread over
    all of it, so that a hem can be turned up along it. So the underarm seam comes lower at the wrist than
    a line square to the overarm, by about half the wrist times the sine of half the turn (common practice: square
    a tapered sleeve to both its seams, and lower the corner till the line is fair).

    Args:
        end: of the overarm, shape (2,), mm.
        square: direction square to the overarm, towards the underarm, shape (2,).
        under: where the underarm seam runs to, shape (2,), mm.
        width: arc length of the wrist, mm.
    """
    chord, corner = width, end + width * square
    wrist = Curve.line(end, corner)
    for _ in range(_ROUNDS):
        arriving = across(under - corner, square)
        # The chord of an arc halves the turn between its ends.
        way = square + arriving
        new = end + chord / float(np.hypot(*way)) * way
        wrist = fair_curve(end, new, square, arriving)
        moved = float(np.hypot(*(new - corner)))
        corner, chord = new, chord * width / wrist.length
        if moved < _SETTLED:
            break
    return corner, wrist


def across(direction: Array, towards: Array) -> Array:
    """Return the unit vector square to a direction, on the side of another, shape (2,)."""
    turned = np.array([-direction[1], direction[0]]) / float(np.hypot(*direction))
    return turned if float(turned @ towards) > 0 else -turned
