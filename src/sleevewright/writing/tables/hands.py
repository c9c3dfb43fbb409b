"""Lengths of the whole garment from the pieces that make it: what is cut twice counts twice."""

from sleevewright.pattern import Edge, Piece, Role, Side
from sleevewright.pattern.result import Result
from sleevewright.writing.tables.words import HANDS

_LEFT, _RIGHT = "left", "right"


def shares(piece: Piece, edge: Edge) -> dict[str, float]:
    """Return how often an edge is on the right and on the left half of the garment.

    On the fold or cut as a pair: once on each. On a whole piece: on one, or half on each where
    it runs over the centre. What is cut in several layers counts once.
    """
    if piece.fold or piece.quantity % 2 == 0:
        return {_RIGHT: 1.0, _LEFT: 1.0}
    if piece.name.endswith("_left") or edge.name.endswith(".left"):
        return {_RIGHT: 0.0, _LEFT: 1.0}
    names = {other.name for other in piece.edges}
    if piece.name.endswith("_right") or f"{edge.name}.left" in names:
        return {_RIGHT: 1.0, _LEFT: 0.0}
    return {_RIGHT: 0.5, _LEFT: 0.5}


def by_hand(result: Result, role: Role, side: Side | None = None) -> dict[str, float]:
    """Return the length of all edges of a role on the right and on the left half, mm."""
    found = dict.fromkeys(HANDS, 0.0)
    for piece in result.pattern.pieces:
        for edge in piece.with_role(role, side):
            for hand, share in shares(piece, edge).items():
                found[hand] += share * edge.length
    return found


def round_the_garment(result: Result, role: Role) -> float:
    """Return the length of all edges of a role on the whole garment, mm; 0 where there is none."""
    return sum(by_hand(result, role).values())


def measured(result: Result, name: str) -> dict[str, float]:
    """Return a measurement of the right and the left half, mm; empty where one is missing."""
    figures = dict(result.measurements)
    found = {hand: figures.get(f"{hand}.{name}", figures.get(name)) for hand in HANDS}
    return {hand: value for hand, value in found.items() if value is not None}
