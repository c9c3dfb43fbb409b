"""Marks that finishing derives, left out as a block is read: they would come a second time, or astray.

A block may have its crown notch drawn, the notches at the legs of its darts, and a drill hole in
each. The crown notch has told where the cap is parted by then; whatever darts a recipe leaves in
the piece get their marks anew, where the dart is then.
"""

from dataclasses import replace
from math import inf

import numpy as np

from sleevewright.pattern import Dart, Edge, Piece, Role
from sleevewright.pattern.piece import Point

#: mm. What is this near the end of an edge is at its end.
END = 1.0


def without_derived_marks(piece: Piece) -> Piece:
    """Return a piece as read, without the notches at its crown and dart legs and the holes in its darts."""
    darts = tuple(piece.darts())
    edges = []
    for i, edge in enumerate(piece.edges):
        before, after = piece.edges[i - 1], piece.edges[(i + 1) % len(piece.edges)]
        first = END if _is_derived(before, edge) else -inf  # rounding may put a notch off the end
        last = edge.length - END if _is_derived(edge, after) else inf
        notches = tuple(n for n in edge.notches if first <= n.at <= last)
        edges.append(replace(edge, notches=notches))
    holes = tuple(h for h in piece.drill_holes if not any(_is_in(dart, h) for dart in darts))
    return replace(piece, edges=tuple(edges), drill_holes=holes)


def _is_derived(before: Edge, after: Edge) -> bool:
    """Whether finishing marks this joint itself: the crown, an end of a dart leg."""
    if Role.DART_LEG in (before.role, after.role):
        return True
    return before.role is after.role is Role.CAP and before.side is not after.side


def _is_in(dart: Dart, hole: Point) -> bool:
    """Whether a hole lies between the legs (as straight lines), short of the tip."""
    a, b = dart.mouth
    corners = np.array([a, b, dart.tip])
    steps, way = np.roll(corners, -1, axis=0) - corners, np.array(hole) - corners
    turns = steps[:, 0] * way[:, 1] - steps[:, 1] * way[:, 0]
    return bool((turns >= 0).all() or (turns <= 0).all())
