"""Two halves made by different steps, put together: one shoulder raglan, the other set in.

Both are made as the wearer's right half. Here the left one is mirrored: pieces on the fold become one
whole piece of both halves, the others come twice, as "sleeve_right" and "sleeve_left".
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from sleevewright.errors import OperationError
from sleevewright.finishing.unfolding import LEFT, unfolded
from sleevewright.geometry import Affine
from sleevewright.pattern import EdgeUse, Pattern, Piece, Seam

_SAME = 1e-3  # mm

Names = dict[tuple[str, str], EdgeUse]


def put_together(right: Pattern, left: Pattern) -> Pattern:
    """Return the whole garment of two halves.

    Raises:
        OperationError: the halves do not meet at the centre, or a seam crosses it.
    """
    pieces: list[Piece] = []
    names: dict[str, Names] = {"right": {}, "left": {}}
    for piece in right.pieces:
        if piece.fold:
            pieces.append(_whole(piece, _partner(piece, left), names))
        else:
            pieces.append(_one(piece, "right", names["right"]))
    for piece in left.pieces:
        if not piece.fold:
            pieces.append(_one(_mirrored(piece), "left", names["left"]))
        elif piece.name not in right:
            raise OperationError(_no_partner(piece.name, "right"))
    seams = [
        *_seams(right, "right", names["right"], flipped=False),
        *_seams(left, "left", names["left"], flipped=True),
    ]
    facts = [
        *((f"right.{name}", value) for name, value in right.facts),
        *((f"left.{name}", value) for name, value in left.facts),
    ]
    whole = replace(right, pieces=tuple(pieces), seams=tuple(seams), facts=())
    return whole.with_facts(facts)


def _partner(piece: Piece, left: Pattern) -> Piece:
    if piece.name not in left or not left[piece.name].fold:
        raise OperationError(_no_partner(piece.name, "left"))
    other = left[piece.name]
    mine, theirs = (p[p.fold].curve for p in (piece, other))
    gaps = [np.hypot(*(a - b)) for a, b in ((mine.start, theirs.start), (mine.end, theirs.end))]
    if max(gaps) > _SAME:
        raise OperationError(
            f"the halves of {piece.name} no longer meet at the centre: left and right differ by"
            f" {max(gaps):.2f} mm there; steps that move the centre must be done on both sides"
        )
    return other


def _no_partner(name: str, side: str) -> str:
    return (
        f"{name} lies on the fold on one side only: its {side} half is another piece or none; steps that"
        " make it so must be done on both sides"
    )


def _whole(piece: Piece, other: Piece, names: dict[str, Names]) -> Piece:
    whole = unfolded(piece, other)
    at = [edge.name for edge in whole.edges]
    for edge in piece.edges:
        names["right"][piece.name, edge.name] = EdgeUse(piece=piece.name, edge=edge.name)
    for edge in other.edges:
        image = edge.name + LEFT
        if image in at:
            names["left"][piece.name, edge.name] = EdgeUse(piece=piece.name, edge=image)
    return whole


def _one(piece: Piece, side: str, names: Names) -> Piece:
    name = f"{piece.name}_{side}"
    for edge in piece.edges:
        names[piece.name, edge.name] = EdgeUse(piece=name, edge=edge.name)
    return replace(piece, name=name, quantity=max(1, piece.quantity // 2), finish=None)


def _mirrored(piece: Piece) -> Piece:
    """Return the mirror image, the grain's direction kept."""
    return piece.transformed(Affine.reflection((0.0, 0.0), piece.up))


def _seams(pattern: Pattern, side: str, names: Names, *, flipped: bool) -> Iterator[Seam]:
    joined = {
        (piece.name, piece.edges[k].name)
        for piece in pattern.pieces
        if piece.fold
        for k in _beside_fold(piece)
    }
    for seam in pattern.seams:
        crossing = [use for use in seam.uses if (use.piece, use.edge) in joined]
        if crossing:
            raise OperationError(
                f"the {seam.name} seam runs over the centre ({crossing[0]}); with different steps left and"
                " right it cannot be sewn in one; leave out the step that makes it"
            )
        first, second = (
            tuple(_renamed(use, names, flipped=flipped) for use in uses)
            for uses in (seam.first, seam.second)
        )
        yield replace(seam, name=f"{side} {seam.name}", first=first, second=second)


def _beside_fold(piece: Piece) -> tuple[int, int]:
    at = [edge.name for edge in piece.edges].index(piece.fold)
    return at - 1, (at + 1) % len(piece.edges)


def _renamed(use: EdgeUse, names: Names, *, flipped: bool) -> EdgeUse:
    new = names[use.piece, use.edge]
    return replace(new, backwards=use.backwards is not flipped)
