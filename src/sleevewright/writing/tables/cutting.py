"""The cutting list: each piece of one size, how often and how it is cut, and out of what."""

import math

from sleevewright.geometry.region import signed_area
from sleevewright.pattern import Edge, Piece, Role
from sleevewright.pattern.naming import lettered
from sleevewright.pattern.result import Result
from sleevewright.writing.tables.grain import grain_words
from sleevewright.writing.tables.table import Cell, Table, number_text, tenths, title_of

_COLUMNS = (
    "Piece", "Cut", "Quantity", "Material", "Area of one, cm2", "Area in all, cm2",
    "Allowances, mm", "Grain",
)  # fmt: skip

#: Edges that a fold or a slash, not the blade, may make: they have an allowance only where cut out.
_MAYBE_CUT = (Role.DART_LEG, Role.GUSSET_SEAM)


def cutting_list(result: Result) -> Table:
    """Return the pieces (rows) of one size, in the words that stand on the pieces themselves.

    Areas are within the cut line, unfolded where a piece is cut on the fold, in cm2 to 0.1.

    Raises:
        ValueError: a piece is not finished.
    """
    rows = tuple(_row(piece) for piece in result.pattern.pieces)
    return Table(title_of("Cutting list", result, size=True), _COLUMNS, rows)


def _row(piece: Piece) -> tuple[Cell, ...]:
    if piece.finish is None:
        raise ValueError(f"{piece.name} is not finished: it has no cut line")
    area = signed_area(part.curve for part in piece.finish.cut_line) * (2 if piece.fold else 1)
    return (
        lettered(piece.name), piece.cut_words, piece.quantity, piece.material,
        tenths(area / 100), tenths(piece.quantity * area / 100),
        _allowances(piece), grain_words(piece),
    )  # fmt: skip


def _allowances(piece: Piece) -> str:
    """Return the allowance of every role, the widths in falling order; an edge where a role has two."""
    widths = dict(piece.finish.allowances) if piece.finish else {}
    edges = [e for e in piece.edges if e.name in widths and e.name != piece.fold and _cut(piece, e)]
    of_role: dict[str, set[float]] = {}
    for edge in edges:
        of_role.setdefault(edge.role, set()).add(widths[edge.name])
    of_width: dict[float, dict[str, None]] = {}
    for edge in edges:
        name = str(edge.role) if len(of_role[edge.role]) == 1 else edge.name
        of_width.setdefault(widths[edge.name], {})[lettered(name).lower()] = None
    parts = [
        f"{', '.join(sorted(names))} {number_text(width).removesuffix('.0')}"
        for width, names in sorted(of_width.items(), reverse=True)
    ]
    return "; ".join([*parts, "fold 0"] if piece.fold else parts)


def _cut(piece: Piece, edge: Edge) -> bool:
    """Whether the cut line follows an edge; across a dart that is folded it runs over its mouth."""
    if edge.role not in _MAYBE_CUT or piece.finish is None:
        return True
    along = math.fsum(p.curve.length for p in piece.finish.cut_line if p.edge == edge.name)
    return along > edge.length / 2
