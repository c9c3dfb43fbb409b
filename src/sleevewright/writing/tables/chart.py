"""The measurement chart: what a tape measures on the pattern, size by size, with the grade."""

from collections.abc import Sequence
from itertools import pairwise

from sleevewright.pattern.result import Result
from sleevewright.writing.tables.table import Cell, Table, one_variant, tenths, title_of
from sleevewright.writing.tables.words import lengths_of_the_garment


def measurement_chart(results: Sequence[Result]) -> Table:
    """Return measurements (rows) of the sizes of one variant (columns), mm to 0.1.

    Behind the sizes come the grade steps, a column for every two neighbours: the difference of the
    two numbers shown, so that the chart adds up. A cell is empty where a size has no such line.

    Args:
        results: one a size, in the order of the sizes.

    Raises:
        ValueError: no results, several variants, or a size twice.
    """
    first = one_variant(results)
    sizes = [result.size for result in results]
    figures = [dict(result.measurements) for result in results]
    names = dict.fromkeys(name for of_size in figures for name in of_size)
    rows = []
    for name, words in lengths_of_the_garment(names):
        shown = [tenths(of_size[name]) if name in of_size else None for of_size in figures]
        rows.append((words, *shown, *graded(shown)))
    steps = [f"{a} to {b}" for a, b in pairwise(sizes)]
    title = title_of("Measurement chart", first)
    return Table(title, ("Measurement, mm", *sizes, *steps), tuple(rows))


def graded(shown: Sequence[float | None]) -> list[Cell]:
    """Return the steps between neighbours.

    >>> graded([232.9, 242.9, None])
    [10.0, None]
    """
    return [None if a is None or b is None else tenths(b - a) for a, b in pairwise(shown)]
