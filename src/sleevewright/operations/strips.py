"""The strips of a piece between slash lines, and what is marked on them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import polygon
from sleevewright.operations.contract import OperationError
from sleevewright.operations.marks import Marks
from sleevewright.pattern import Piece

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

_EDGE = 0.05  # mm; how far a line may run outside the outline's polygon


def strips_of(piece: Piece, lines: Sequence[Curve]) -> "list[BaseGeometry]":
    """Return the strips of a piece, in the order of the lines.

    Args:
        piece: the piece.
        lines: straight, from edge to edge, not crossing, each to the side of the next.

    Raises:
        OperationError: a line leaves the piece.
    """
    from shapely import LineString  # noqa: PLC0415

    whole = polygon(edge.curve for edge in piece.edges)
    strips: list[BaseGeometry] = []
    rest: BaseGeometry = whole
    for line in lines:
        if not whole.buffer(_EDGE).contains(LineString(line.flattened())):
            raise OperationError(
                f"a slash line from ({line.start[0]:.0f}, {line.start[1]:.0f}) to"
                f" ({line.end[0]:.0f}, {line.end[1]:.0f}) leaves {piece.name};"
                " take other places on its edges"
            )
        strips.append(rest.intersection(_half_plane(line)))
        rest = rest.difference(_half_plane(line))
    return [*strips, rest]


def _half_plane(line: Curve) -> "Polygon":
    """Return what lies to the left of a line looking along it, as far as any garment reaches."""
    from shapely import Polygon  # noqa: PLC0415

    u = line.start_direction
    far, left = 1e4 * u, 1e4 * np.array([-u[1], u[0]])
    a, b = line.start - far, line.end + far
    return Polygon([a, b, b + left, a + left])


def with_marks_moved(
    piece: Piece,
    strips: "Sequence[BaseGeometry]",
    lines: Sequence[Curve],
    placed: Sequence[Affine],
) -> Piece:
    """Return a piece whose marks (lines cut at the slashes) moved with their strips."""
    parts = Marks.of(piece).shared(strips, lines)
    moved = (marks.transformed(move) for marks, move in zip(parts, placed, strict=True))
    return sum(moved, Marks()).on(piece)
