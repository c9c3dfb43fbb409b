"""The cutting list: what is cut how often, from what, with which allowances."""

from collections.abc import Iterable
from dataclasses import dataclass

from sleevewright.geometry.region import signed_area
from sleevewright.pattern.piece import Piece
from sleevewright.writing.report.words import human, joined, number, short


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow:
    """A row of the cutting list.

    Attributes:
        piece: its name.
        cut: how often and how.
        material: "" where none is named.
        allowances: (width, the edges that have it), the commonest width first.
        net, whole: area inside the sewing line and inside the cut line, cm2, as drawn.
        cloth: area that all its copies take, opened out, cm2.
    """

    piece: str
    cut: str
    material: str
    allowances: tuple[tuple[str, str], ...]
    net: str
    whole: str
    cloth: float


def cutting_list(pieces: Iterable[Piece]) -> tuple[CutRow, ...]:
    """Return a row for every piece.

    Raises:
        ValueError: a piece is not finished.
    """
    return tuple(_row(piece) for piece in pieces)


def cloth_by_material(rows: Iterable[CutRow]) -> tuple[tuple[str, str], ...]:
    """Return (material, m2 inside the cut lines of all that is cut from it), nothing between them."""
    found: dict[str, float] = {}
    for row in rows:
        found[row.material] = found.get(row.material, 0.0) + row.cloth
    return tuple((name or "no material named", number(cm2 / 1e4, 2)) for name, cm2 in found.items())


def _row(piece: Piece) -> CutRow:
    if piece.finish is None:
        raise ValueError(f"{piece.name} is not finished: it has no cut line")
    whole = signed_area(part.curve for part in piece.finish.cut_line) / 100.0
    return CutRow(
        piece=human(piece.name),
        cut=piece.cut_words.lower(),
        material=piece.material,
        allowances=_allowances(piece),
        net=number(piece.area / 100.0, 0),
        whole=number(whole, 0),
        cloth=whole * piece.quantity * (2 if piece.fold else 1),
    )


def _allowances(piece: Piece) -> tuple[tuple[str, str], ...]:
    """Return the widths with the roles of their edges; edges on the fold are named as that."""
    assert piece.finish is not None
    by_width: dict[str, dict[str, float]] = {}
    fold: list[tuple[str, str]] = []
    for name, width in piece.finish.allowances:
        edge = piece[name]
        if name == piece.fold:
            fold = [("none", f"{human(edge.role)}, on the fold")]
            continue
        roles = by_width.setdefault(f"{short(width)} mm" if width else "none", {})
        roles[human(edge.role)] = roles.get(human(edge.role), 0.0) + edge.length
    longest_first = sorted(by_width.items(), key=lambda item: -sum(item[1].values()))
    return (*((width, joined(list(roles))) for width, roles in longest_first), *fold)
