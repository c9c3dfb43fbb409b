"""Outlines and pieces cut along a line from one spot of the outline to another."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.region import polygon, signed_area
from sleevewright.operations.contract import OperationError
from sleevewright.operations.marks import shared_marks
from sleevewright.pattern import Edge, EdgeUse, Pattern, Piece, Role, Seam
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.resewing import resewn

Array = NDArray[np.float64]

_SMALLEST = 100.0  # mm2 of a part
_AT_END = 1e-6  # mm; a cut so near to an end of an edge is at the end


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on an outline.

    Attributes:
        edge: name of the edge.
        at: station on it, outline order, mm.
    """

    edge: str
    at: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A line that a piece is cut along; its two new edges are sewn together again.

    Attributes:
        start, end: where the line begins and ends.
        line: from there to there, mm.
        seam: name of the new seam, walked in the direction of the line.
        role: of the new edges.
    """

    start: Spot
    line: Curve
    end: Spot
    seam: str
    role: Role = Role.STYLE_SEAM


def cut_chain(
    edges: Sequence[Edge], first: Spot, second: Spot
) -> tuple[tuple[Edge, ...], tuple[Edge, ...]]:
    """Cut a closed chain of edges at two spots.

    Returns:
        The chain from the first spot to the second and that from the second round to the first.
        Both parts of a cut edge keep its name.

    Raises:
        ValueError: both spots are one point.
    """
    parts: list[Edge] = []
    marks: dict[str, Edge] = {}
    for edge in edges:
        stations = sorted(
            (min(max(spot.at, 0.0), edge.length), key)
            for key, spot in (("first", first), ("second", second))
            if spot.edge == edge.name
        )
        rest, run = edge, 0.0
        for station, key in stations:
            at = station - run
            if at > _AT_END and at < rest.length - _AT_END:
                whole = rest
                before, rest = whole.split_at(at, (edge.name, edge.name))
                marks.update({k: before for k, mark in marks.items() if mark is whole})
                parts.append(before)
                run += at
            elif at >= rest.length - _AT_END:
                marks[key + " after"] = rest
                continue
            marks[key] = rest
        parts.append(rest)
    starts = {
        key: _index(parts, marks[key])
        if key in marks
        else (_index(parts, marks[key + " after"]) + 1) % len(parts)
        for key in ("first", "second")
    }
    if starts["first"] == starts["second"]:
        raise ValueError("both ends of the cut are one point of the outline")
    turned = parts[starts["first"] :] + parts[: starts["first"]]
    n = (starts["second"] - starts["first"]) % len(parts)
    return tuple(turned[:n]), tuple(turned[n:])


def _index(parts: Sequence[Edge], part: Edge) -> int:
    return next(i for i, other in enumerate(parts) if other is part)


def cut_piece(pattern: Pattern, name: str, cut: Cut, names: tuple[str, str]) -> Pattern:
    """Cut a piece in two along a line; the two edges become a seam.

    Args:
        pattern: the pattern.
        name: of the piece.
        cut: where and along what.
        names: of the part whose outline runs from the start to the end, and of the other.

    Every edge, notch, internal line and drill hole goes to the part it lies on; both keep the
    grain's direction. Edges get their standard names; seams are carried along.

    Raises:
        OperationError: the line leaves the piece or crosses its outline.
    """
    piece = pattern[name]
    line = cut.line
    _refuse_outside(piece, line)
    try:
        chains = cut_chain(piece.edges, cut.start, cut.end)
    except ValueError as error:
        raise OperationError(f"{piece.name} cannot be cut so: {error}") from None
    closing = (
        Edge(name="", role=cut.role, curve=line.reversed),
        Edge(name="", role=cut.role, curve=line),
    )
    parts: list[Piece] = []
    became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
    uses: list[EdgeUse] = []
    for chain, closed, part in zip(chains, closing, names, strict=True):
        edges = with_standard_names((*chain, closed))
        for old, new in zip(chain, edges[:-1], strict=True):
            key = (name, old.name)
            became[key] = (*became.get(key, ()), (part, new.name))
        uses.append(EdgeUse(piece=part, edge=edges[-1].name, backwards=not parts))
        fold = next(
            (
                n.name
                for o, n in zip(chain, edges, strict=False)
                if piece.fold and o.name == piece.fold
            ),
            "",
        )
        parts.append(_part(piece, part, edges, fold))
    for edge in piece.edges:
        key = (name, edge.name)
        if len(became[key]) > 1:
            became[key] = _in_outline_order(piece[edge.name], became[key], parts)
    parts = shared_marks(piece, parts)
    pieces = [q for p in pattern.pieces for q in (parts if p.name == name else [p])]
    added = Seam(name=cut.seam, first=(uses[0],), second=(uses[1],))
    return resewn(pattern, pieces, became, (added,))


def _part(piece: Piece, name: str, edges: tuple[Edge, ...], fold: str) -> Piece:
    if signed_area(edge.curve for edge in edges) < _SMALLEST:
        raise OperationError(f"the line to cut {piece.name} along leaves nothing on one side of it")
    return as_part(piece, name, edges, fold)


def as_part(piece: Piece, name: str, edges: tuple[Edge, ...], fold: str) -> Piece:
    """Return a part of a piece; what no longer lies on the fold is cut twice, as a pair.

    Args:
        piece: that it was part of.
        name, edges: its own.
        fold: name of its edge on the fold; "" where it has none.
    """
    quantity = 2 * piece.quantity if piece.fold and not fold else piece.quantity
    return replace(piece, name=name, edges=edges, fold=fold, quantity=quantity, finish=None)


def _in_outline_order(
    edge: Edge, found: tuple[tuple[str, str], ...], parts: list[Piece]
) -> tuple[tuple[str, str], ...]:
    by_name = {part.name: part for part in parts}
    return tuple(
        sorted(found, key=lambda use: edge.curve.nearest(_middle(by_name[use[0]][use[1]].curve))[0])
    )


def _middle(curve: Curve) -> Array:
    return curve.point_at(curve.length / 2)


def _refuse_outside(piece: Piece, line: Curve) -> None:
    from shapely import LineString  # noqa: PLC0415

    inside = polygon(edge.curve for edge in piece.edges).buffer(0.05)
    if not inside.contains(LineString(line.flattened())):
        raise OperationError(f"the line to cut {piece.name} along leaves the piece")
