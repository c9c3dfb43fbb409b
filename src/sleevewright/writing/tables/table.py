"""The one value that every table is: a title, names of columns, and rows of text and numbers."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sleevewright.pattern.result import Result

#: Text, a number (int: a count; float: a measure, rounded already), or nothing.
Cell = str | int | float | None


@dataclass(frozen=True, slots=True)
class Table:
    """A table that any of the writers can write.

    Attributes:
        title: what it is a table of; one line.
        columns: heading of each column, its unit in it where all of it has one.
        rows: as many cells each as there are columns.

    Raises:
        ValueError: a row has more or fewer cells than there are columns, or a number is not finite.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{self.title}: {len(row)} cells under {len(self.columns)} heads")
            if any(isinstance(cell, float) and not math.isfinite(cell) for cell in row):
                raise ValueError(f"{self.title}: a number of {row[0]!r} is not finite")

    def is_number(self, column: int) -> bool:
        """Whether a column has numbers and nothing else."""
        cells = [row[column] for row in self.rows if row[column] is not None]
        return bool(cells) and not any(isinstance(cell, str) for cell in cells)


def tenths(value: float) -> float:
    """Return a number to one decimal, half to even, never -0.0.

    >>> tenths(240.16), tenths(-0.04)
    (240.2, 0.0)
    """
    return round(value, 1) + 0.0


def number_text(value: float) -> str:
    """Return a number with a decimal point and no exponent: counts whole, measures to 0.1 at least.

    >>> number_text(2), number_text(400.0), number_text(-7.3)
    ('2', '400.0', '-7.3')
    """
    if isinstance(value, int):
        return str(value)
    text = repr(value)
    return text if "e" not in text else f"{value:.6f}"


def one_variant(results: Sequence[Result]) -> Result:
    """Return the first of the sizes of one variant.

    Raises:
        ValueError: there is none, they are of several variants, or a size comes twice.
    """
    if not results:
        raise ValueError("a table of no results")
    if len({(r.block, r.recipe, r.settings) for r in results}) > 1:
        raise ValueError("a table of several variants; make one for each")
    sizes = [r.size for r in results]
    if len(set(sizes)) < len(sizes):
        raise ValueError(f"a size comes twice among {', '.join(sizes)}")
    return results[0]


def title_of(kind: str, result: Result, *, size: bool = False) -> str:
    """Return the title of a table: what it is, of which variant, and of which size if of one."""
    parts = [result.block, result.recipe, *(f"{name} {value}" for name, value in result.settings)]
    return f"{kind}: {', '.join([*parts, f'size {result.size}'] if size else parts)}"
