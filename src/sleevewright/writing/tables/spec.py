"""The spec sheet: what the finished garment measures, size by size, and how far it may be off."""

from collections.abc import Sequence

from sleevewright.pattern.result import Result
from sleevewright.writing.tables.points import POINTS, WHOLE, Point
from sleevewright.writing.tables.table import Cell, Table, one_variant, tenths, title_of
from sleevewright.writing.tables.tolerances import BASIS, tolerance_of
from sleevewright.writing.tables.words import HANDS

_ALIKE = 0.05  # mm; hands that differ by less show the same tenth or neighbouring ones

Row = tuple[Cell, ...]


def spec_sheet(results: Sequence[Result]) -> Table:
    """Return points of measure (rows) of the finished garment in the sizes of one variant.

    Behind the sizes, in mm to 0.1, comes the tolerance, mm each way, and what it rests on: all are
    common practice (see `tolerances`), for no standard gives them. Right and left have a row each
    where they differ. A cell is empty where a size has no such point.

    Args:
        results: one a size, in the order of the sizes.

    Raises:
        ValueError: no results, several variants, or a size twice.
    """
    first = one_variant(results)
    rows = [row for point in POINTS for row in _rows(point, results)]
    sizes = tuple(result.size for result in results)
    head = ("Point of measure, mm", "How", *sizes, "Tolerance, mm each way", "Tolerance from")
    return Table(title_of("Spec sheet", first), head, tuple(rows))


def _rows(point: Point, results: Sequence[Result]) -> list[Row]:
    found = [{h: v for h, v in point.lengths(result).items() if v > 0} for result in results]
    how = point.how + (", before gathering" if _is_gathered(point, results) else "")
    if all(abs(f.get("right", 0.0) - f.get("left", 0.0)) < _ALIKE for f in found):
        same = [f.get(WHOLE, f.get("right")) for f in found]
        return [_row(point, point.name, how, same)] if any(same) else []
    sides = [(hand, [f.get(hand) for f in found]) for hand in HANDS]
    return [
        _row(point, f"{point.name}, {hand}", how, values) for hand, values in sides if any(values)
    ]


def _row(point: Point, name: str, how: str, values: Sequence[float | None]) -> Row:
    shown = [None if value is None else tenths(value) for value in values]
    smallest = min(value for value in values if value is not None)
    return (name, how, *shown, tolerance_of(smallest, close=point.close), BASIS)


def _is_gathered(point: Point, results: Sequence[Result]) -> bool:
    facts = {name for result in results for name, _ in result.pattern.facts}
    return bool(point.gathered) and any(name.endswith(point.gathered) for name in facts)
