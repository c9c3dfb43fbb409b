"""Numbers as text: fixed decimals, never "-0", whatever the locale; a whole file at once."""

from collections.abc import Iterable

import numpy as np

#: Decimals of a coordinate in mm: a ten-thousandth, far below what can be cut.
DECIMALS = 4
_QUANTUM: int = 10**DECIMALS

#: Placeholder of one number in the template of a `Part`.
SLOT = f"%.{DECIMALS}f"

#: A template with `SLOT`s (and "%%" for a per cent sign), and the numbers that fill them in order.
Part = tuple[str, list[float]]


def literal(text: str) -> str:
    """Return text as a template without slots."""
    return text.replace("%", "%%")


def filled(parts: Iterable[Part]) -> str:
    """Return templates, one after the other, with their slots filled.

    Numbers are rounded half to even as integers of the last decimal first, so that every
    platform writes the same digits; all at once, because that is many times faster.

    Raises:
        ValueError: a number is not finite.
    """
    templates: list[str] = []
    numbers: list[float] = []
    for template, values in parts:
        templates.append(template)
        numbers.extend(values)
    array = np.array(numbers, dtype=float)
    if not np.isfinite(array).all():
        raise ValueError("a coordinate is not a finite number")
    rounded_array = np.rint(array * _QUANTUM) / _QUANTUM + 0.0  # + 0.0 turns -0.0 into 0.0
    return "".join(templates) % tuple(rounded_array.tolist())


def rounded(value: float) -> float:
    """Return a number rounded half to even to `DECIMALS`, never -0.0.

    Raises:
        ValueError, OverflowError: it is not finite.
    """
    return round(value * _QUANTUM) / _QUANTUM
