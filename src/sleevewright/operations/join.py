"""`join`: a seam closed on paper, so that two pieces become one."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np

from sleevewright.errors import did_you_mean
from sleevewright.geometry import Affine, Curve
from sleevewright.operations.contract import OperationError, Promise, about, operation
from sleevewright.operations.darts import chain_from
from sleevewright.pattern import Edge, Pattern, Piece, Seam
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.resewing import resewn

_WITHIN = 0.5  # mm; edges that lie apart by more cannot be one line
_SMOOTH = 2.0  # degrees; edges of one role that meet straighter than this are one edge


@operation
class Join:
    """Close a seam: the second piece is laid against the first along it, and the seam is gone.

    The edges must be the same line. The piece keeps the first one's name, grain and place; edges of
    one role that run on into each other become one.
    """

    seam: Annotated[str, about("the seam that is closed, such as shoulder or a style seam")]
    name: Annotated[str | None, about("of the joined piece; the first one's when left out")] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Lay the second piece against the first and join the outlines."""
        seam = self._asked(pattern)
        one, other = seam.first[0], seam.second[0]
        first, second = pattern[one.piece], pattern[other.piece]
        edge, mate = pattern.edge(one), pattern.edge(other)
        move = Affine.moving((mate.curve.start, mate.curve.end), (edge.curve.start, edge.curve.end))
        laid = second.transformed(move)
        self._refuse_gaps(edge, mate.transformed(move))
        if first.fold and second.fold:
            raise OperationError(
                f"{first.name} and {second.name} both lie on a fold; one of them must be cut whole"
            )
        name = self.name or first.name
        if name in pattern and name not in (first.name, second.name):
            raise OperationError(f"there is a piece {name!r} already")
        return _joined(pattern, seam, (first, laid), name)

    def _asked(self, pattern: Pattern) -> Seam:
        names = [seam.name for seam in pattern.seams]
        if self.seam not in names:
            raise OperationError(
                f"there is no seam {self.seam!r}{did_you_mean(self.seam, names)};"
                f" seams are {', '.join(names)}"
            )
        seam = pattern.seam(self.seam)
        if len(seam.first) != 1 or len(seam.second) != 1:
            raise OperationError(f"the {self.seam} seam runs over several edges; join closes one")
        if seam.first[0].piece == seam.second[0].piece:
            raise OperationError(f"the {self.seam} seam is within one piece")
        if seam.gather or seam.pleated or abs(seam.ease) > _WITHIN:
            raise OperationError(
                f"the {self.seam} seam is eased, gathered or pleated; it cannot be one line"
            )
        return seam

    def _refuse_gaps(self, edge: Edge, mate: Edge) -> None:
        gap = max(
            edge.curve.nearest(p)[1] for p in mate.curve.point_at(np.linspace(0, mate.length, 33))
        )
        gap = max(gap, abs(edge.length - mate.length))
        if gap > _WITHIN:
            raise OperationError(
                f"the edges of the {self.seam} seam are not the same line: they lie up to"
                f" {gap:.1f} mm apart; {_WITHIN:g} mm is allowed"
            )

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Areas and edges add up; the seam is gone."""
        seam = before.seam(self.seam)
        names = (seam.first[0].piece, seam.second[0].piece)
        whole = after[self.name or names[0]]
        area = sum(before[name].area for name in names)
        yield Promise("area", area, whole.area, 1e-3 * area, whole.name)
        around = sum(before[name].perimeter for name in names)
        shorter = sum(before.side_length(side) for side in (seam.first, seam.second))
        yield Promise("outline", around - shorter, whole.perimeter, 1.0, whole.name)


def _joined(pattern: Pattern, seam: Seam, pieces: tuple[Piece, Piece], name: str) -> Pattern:
    """Return the pattern with both outlines as one."""
    first, second = pieces
    mine = chain_from(first.edges, seam.first[0].edge)[1:]
    theirs = chain_from(second.edges, seam.second[0].edge)[1:]
    theirs = _fitted(theirs, mine[-1].curve.end, mine[0].curve.start)
    old = [*((first.name, e) for e in mine), *((second.name, e) for e in theirs)]
    chain, origins = _merged(old)
    edges = with_standard_names(chain)
    became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
        (use.piece, use.edge): () for use in seam.uses
    }
    for edge, sources in zip(edges, origins, strict=True):
        for source in sources:
            became[source] = ((name, edge.name),)
    fold = next((became[p.name, p.fold][0][1] for p in pieces if p.fold), "")
    whole = replace(
        first, name=name, edges=edges, fold=fold, finish=None,
        internal=(*first.internal, *second.internal),
        drill_holes=(*first.drill_holes, *second.drill_holes),
    )  # fmt: skip
    rest = [whole if p.name == first.name else p for p in pattern.pieces if p.name != second.name]
    return resewn(pattern, rest, became)


def _fitted(chain: tuple[Edge, ...], start: "np.ndarray", end: "np.ndarray") -> tuple[Edge, ...]:
    """Return a chain whose ends are just where the other piece's are."""
    head, tail = chain[0], chain[-1]
    if head is tail:
        return (replace(head, curve=head.curve.with_ends(start, end)),)
    return (
        replace(head, curve=head.curve.with_ends(start, head.curve.end)),
        *chain[1:-1],
        replace(tail, curve=tail.curve.with_ends(tail.curve.start, end)),
    )


def _merged(
    chain: list[tuple[str, Edge]],
) -> tuple[list[Edge], list[list[tuple[str, str]]]]:
    """Join neighbours of one role that run on smoothly; return edges and where each came from."""
    edges: list[Edge] = []
    origins: list[list[tuple[str, str]]] = []
    for piece, edge in chain:
        if edges and _one_line(edges[-1], edge):
            edges[-1] = _as_one(edges[-1], edge)
            origins[-1].append((piece, edge.name))
        else:
            edges.append(edge)
            origins.append([(piece, edge.name)])
    if len(edges) > 2 and _one_line(edges[-1], edges[0]):
        edges[-1] = _as_one(edges[-1], edges[0])
        origins[-1] += origins[0]
        edges, origins = edges[1:], origins[1:]
    return edges, origins


def _one_line(into: Edge, out: Edge) -> bool:
    if into.role is not out.role or into.side is not out.side:
        return False
    cosine = float(into.curve.end_direction @ out.curve.start_direction)
    return cosine > float(np.cos(np.radians(_SMOOTH)))


def _as_one(first: Edge, second: Edge) -> Edge:
    run = first.length
    curve = Curve.joined([first.curve, second.curve])
    notches = (*first.notches, *(replace(n, at=n.at + run) for n in second.notches))
    return replace(first, curve=curve, notches=notches)
