"""Numbers as text: fixed decimals, never "-0", whatever the locale; whole arrays at once."""

import numpy as np
from numpy.typing import ArrayLike

#: Decimals of a coordinate in mm: a ten-thousandth, far below what can be cut.
DECIMALS = 4
_QUANTUM = 10**DECIMALS

#: Placeholder of one number in a template for `filled`.
SLOT = f"%.{DECIMALS}f"


def filled(template: str, values: ArrayLike) -> str:
    """Return a template with its `SLOT`s filled, in order, with values of any shape.

    Values are rounded half to even as integers of the last decimal first, so that every
    platform writes the same digits.

    Raises:
        ValueError: a value is not finite.
    """
    array = np.asarray(values, dtype=float)
    if not np.isfinite(array).all():
        raise ValueError("a coordinate is not a finite number")
    rounded = np.rint(array * _QUANTUM) / _QUANTUM + 0.0  # + 0.0 turns -0.0 into 0.0
    return template % tuple(rounded.ravel().tolist())


def rounded(value: float) -> float:
    """Return a number rounded half to even to `DECIMALS`, never -0.0.

    Raises:
        ValueError, OverflowError: it is not finite.
    """
    return round(value * _QUANTUM) / _QUANTUM
