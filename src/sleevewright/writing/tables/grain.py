"""The direction of the grain in words, against a line of the piece that a cutter can lay a ruler on."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.pattern import Edge, Piece, Role

_STRAIGHT = 1e-4  # of its length; an edge longer than its chord by more is a curve
_TRUE = 0.5  # degrees; a grainline drawn by hand is no truer

#: Lines that the grain is told against, the first that is straight. The longest straight line of
#: another role is told only where the grain lies along or across it.
_FIRST = (Role.CENTRE, Role.WRIST, Role.HEM)


def grain_words(piece: Piece) -> str:
    """Return how the grain lies: "parallel to the fold", "square to the wrist", "as marked"."""
    if piece.grain is None:
        return "none marked"
    line = _ruler(piece)
    if line is None:
        return "as marked"
    name = "fold" if line.name == piece.fold else line.role.replace("_", " ")
    angle = _angle(piece.up, line.curve.end - line.curve.start)
    if angle < _TRUE:
        return f"parallel to the {name}"
    if angle > 90.0 - _TRUE:
        return f"square to the {name}"
    named = line.name == piece.fold or line.role in _FIRST
    return f"{angle:.0f} deg to the {name}" if named else "as marked"


def _ruler(piece: Piece) -> Edge | None:
    straight = [edge for edge in piece.edges if _is_straight(edge)]
    for edge in straight:
        if edge.name == piece.fold:
            return edge
    for role in _FIRST:
        of_role = [edge for edge in straight if edge.role is role]
        if of_role:
            return max(of_role, key=lambda edge: edge.length)
    return max(straight, key=lambda edge: edge.length, default=None)


def _is_straight(edge: Edge) -> bool:
    chord = float(np.hypot(*(edge.curve.end - edge.curve.start)))
    return edge.length - chord <= _STRAIGHT * edge.length


def _angle(u: NDArray[np.float64], v: NDArray[np.float64]) -> float:
    """Return the angle between two lines, 0 to 90 degrees."""
    turn = abs(float(u[0] * v[1] - u[1] * v[0]))
    return float(np.degrees(np.arctan2(turn, abs(float(u @ v)))))
