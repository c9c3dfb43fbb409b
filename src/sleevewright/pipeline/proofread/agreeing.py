"""What was read against what was laid out: equal, or equal as far as it was written."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sleevewright.writing.numbers import DECIMALS

Array = NDArray[np.float64]

#: mm. Coordinates are rounded to half of this; joints of an outline are made exact within 1e-5 mm.
ROUNDED = 10.0**-DECIMALS


class MismatchError(ValueError):
    """A file that can be read, but not as what was laid out; says in what."""


def same(what: str, found: object, wanted: object) -> None:
    """Refuse a value that is not the one wanted.

    Raises:
        MismatchError: names both.
    """
    if found != wanted:
        raise MismatchError(f"{what}: {_short(found)} where {_short(wanted)} was laid out")


def near(what: str, found: ArrayLike, wanted: ArrayLike, within: float = ROUNDED) -> None:
    """Refuse numbers or points (any shape) of which one is off by more than `within`.

    Raises:
        MismatchError: says by how much, or that there are more or fewer.
    """
    read, laid = np.asarray(found, dtype=float), np.asarray(wanted, dtype=float)
    if read.shape != laid.shape:
        raise MismatchError(f"{what}: {_counted(read)} where {_counted(laid)} were laid out")
    off = np.abs(read - laid).max(initial=0.0)
    if not off <= within:
        raise MismatchError(f"{what} is off by {off:.4f}")


def near_each(whats: Sequence[str], found: Sequence[Array], wanted: Sequence[Array]) -> None:
    """Refuse lines, shapes (n, ...), of which one is not near its fellow.

    Raises:
        MismatchError: names the first.
    """
    if [len(line) for line in found] == [len(line) for line in wanted] and found:
        off = np.abs(np.concatenate(found) - np.concatenate(wanted)).max()
        if off <= ROUNDED:  # all at once: nearly always so
            return
    same(f"number of lines ({', '.join(whats[:1])} ...)", len(found), len(wanted))
    for what, line, laid in zip(whats, found, wanted, strict=True):
        near(what, line, laid)


def _counted(array: Array) -> str:
    return f"{len(array)} points" if array.ndim else f"{array}"


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 80 else f"{text[:77]}..."
