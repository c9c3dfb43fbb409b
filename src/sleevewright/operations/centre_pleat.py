"""`centre-pleat`: a box or inverted pleat at a centre that is cut on the fold."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.darts import chain_from, named_anew, with_piece_resewn
from sleevewright.operations.fullness import with_fullness
from sleevewright.operations.marks import Marks
from sleevewright.operations.pleat_edges import folded_under, marked, smooth_parts
from sleevewright.operations.pleat_marks import arrow, moved, shown
from sleevewright.pattern import Edge, InternalLine, Pattern, Piece, Role
from sleevewright.pattern.naming import FOLD_MARK

Array = NDArray[np.float64]

_STRAIGHT = 0.1  # mm that a fold may leave the straight line
_START, _FOLD = f"{FOLD_MARK} centre start", f"{FOLD_MARK} centre fold"


@operation
class CentrePleat:
    """Lay a pleat at the centre of a half bodice that is cut on the fold, from edge to edge.

    The fold moves out by 2 x depth, half of what a box or inverted pleat takes. Both edges that end
    at the centre have the shape they have when the pleat is folded and cut; the seam is told what is
    folded away.
    """

    piece: Annotated[str, about("the half bodice")] = "back"
    kind: Annotated[
        Literal["box", "inverted"],
        about("box (folds turned apart) or inverted (folds meeting at the centre)"),
    ] = "box"
    depth: Annotated[Length, about("of the pleat, from fold to fold", at_least=3, at_most=150)]
    fold_length: Annotated[
        Length | None,
        about("how much of the folds is drawn; all if not said", at_least=20, at_most=1500),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Lay the pleat.

        Raises:
            OperationError: the piece has no straight centre on the fold, or is narrower than the pleat.
        """
        half = _Half.of(asked_piece(pattern, self.piece))
        lines = [moved(half.centre, part * self.depth * half.out) for part in range(3)]
        into = self._pleated(half.into, lines)
        out = self._pleated(half.onward.reversed, [line.reversed for line in lines])
        onward = tuple(edge.reversed for edge in reversed(out))
        fold = replace(half.fold, curve=Curve.line(into[-1].curve.end, onward[0].curve.start))
        chain = half.outline((*into, fold, *onward))
        marks = Marks.of(half.piece) + Marks(tuple(self._marks(half, lines)))
        marked_piece = marks.within(edge.curve for edge in chain).on(half.piece)
        after = with_piece_resewn(pattern, named_anew(marked_piece, chain))
        return with_fullness(pattern, after, self.piece, "pleat")

    def _pleated(self, edge: Edge, lines: list[Curve]) -> tuple[Edge, ...]:
        """Return an edge that ends at the centre with the cloth of the pleat, notched at its folds."""
        layers = folded_under(edge.curve, lines[0], lines[1])
        parts = smooth_parts([edge, *(replace(edge, curve=c, notches=()) for c in layers)])
        parts = marked(parts, lines[0].start, _START)
        return marked(parts, lines[1].start, _FOLD) if self.kind == "box" else parts

    def _marks(self, half: "_Half", lines: list[Curve]) -> Iterator[InternalLine]:
        """Yield the visible fold, where it is laid, and an arrow; the centre itself is a fold."""
        down = [line if half.falls(line) else line.reversed for line in lines]
        if self.kind == "inverted":
            fold, placed = down[0], down[2]
        else:
            fold, placed = down[1], moved(down[0], -self.depth * half.out)
            yield InternalLine(curve=shown(placed, self.fold_length), name="pleat placement")
        yield InternalLine(curve=shown(fold, self.fold_length), name="pleat fold")
        yield InternalLine(curve=arrow(fold, placed), name="pleat arrow")

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The fold stands off by half of the pleat's cloth; folded, all edges are as long as they were."""
        was, now = (_Half.of(asked_piece(pattern, self.piece)) for pattern in (before, after))
        off = float((now.centre.start - was.centre.start) @ was.out)
        yield Promise("half of the cloth in the pleat", 2 * self.depth, off, 0.1, self.piece)
        taken = now.in_the_pleat()
        for role in sorted({edge.role for edge in was.piece.edges} - {Role.CENTRE}):
            got = now.piece.length(role) - taken.get(role, 0.0)
            where = f"{self.piece}.{role}"
            yield Promise(
                f"{role} folded as long as before", was.piece.length(role), got, 0.01, where
            )


@dataclass(frozen=True, slots=True)
class _Half:
    """A half bodice on the fold.

    Attributes:
        piece: the half.
        fold: the edge on the fold.
        into, onward: the edges before and after it, outline order.
        out: unit vector across the fold, away from the half, shape (2,).
    """

    piece: Piece
    fold: Edge
    into: Edge
    onward: Edge
    out: Array

    @classmethod
    def of(cls, piece: Piece) -> "_Half":
        if not piece.fold:
            raise OperationError(
                f"{piece.name} is not cut on the fold; a pleat inside a piece is laid with pleats"
            )
        fold = piece[piece.fold]
        if fold.curve.length - fold.curve.chord > _STRAIGHT:
            raise OperationError(
                f"the fold of {piece.name} is not straight; a pleat cannot be laid along it"
            )
        into, onward = piece.neighbours(fold.name)
        along = (fold.curve.end - fold.curve.start) / fold.curve.chord
        return cls(piece, fold, into, onward, np.array([along[1], -along[0]]))

    @property
    def centre(self) -> Curve:
        """The fold as a straight line, outline order, mm."""
        return Curve.line(self.fold.curve.start, self.fold.curve.end)

    def falls(self, line: Curve) -> bool:
        """Whether a line runs down the garment."""
        return float((line.end - line.start) @ self.piece.up) < 0

    def outline(self, changed: Sequence[Edge]) -> tuple[Edge, ...]:
        """Return the outline with other edges at the centre, from the edge on that it begins with."""
        here = (self.into.name, self.fold.name, self.onward.name)
        turned = chain_from(self.piece.edges, self.fold.name)
        chain = (*changed, *(edge for edge in turned if edge.name not in here))
        return chain_from(chain, self.piece.edges[0].name)

    def in_the_pleat(self) -> dict[Role, float]:
        """Return role -> how much of its edges lies between the centre and the notch of the pleat, mm."""
        chain = chain_from(self.piece.edges, self.onward.name)
        found: dict[Role, float] = {}
        for edges in (chain, tuple(edge.reversed for edge in reversed(chain[:-1]))):
            run = 0.0
            for edge in edges:
                at = next((n.at for n in edge.notches if n.name == _START), None)
                if at is not None:
                    found[edge.role] = found.get(edge.role, 0.0) + run + at
                    break
                run += edge.length
        return found
