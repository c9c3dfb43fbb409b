"""Facings: shaped pieces that lie along an edge, as deep as asked."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge, Piece, Role
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]

_STEP = 15.0  # mm of the edge for each piece of the parallel


@dataclass(frozen=True, slots=True)
class Stretch:
    """Edges laid end to end as they are when sewn, and what they end at.

    Attributes:
        curves: in outline order, the piece to their left, mm.
        first, last: roles of the edges before and after.
        inwards: directions along those edges, from the ends of the stretch into the piece, (2,).
    """

    curves: tuple[Curve, ...]
    first: Role
    last: Role
    inwards: tuple[Array, Array]


def stretch_of(piece: Piece, edges: Sequence[Edge]) -> Stretch:
    """Return neighbouring edges of a piece as a stretch."""
    before, _ = piece.neighbours(edges[0].name)
    _, after = piece.neighbours(edges[-1].name)
    return Stretch(
        curves=tuple(edge.curve for edge in edges),
        first=before.role,
        last=after.role,
        inwards=(-before.curve.end_direction, after.curve.start_direction),
    )


def laid_on(stretch: Stretch, following: Stretch) -> Stretch:
    """Return two stretches as one, the second moved so that the seam between them is closed."""
    end = stretch.curves[-1].end
    start = following.curves[0].start
    move = Affine.moving((start, start + following.inwards[0]), (end, end + stretch.inwards[1]))
    turn = Affine.moving(((0, 0), following.inwards[0]), ((0, 0), stretch.inwards[1]))
    curves = tuple(curve.transformed(move) for curve in following.curves)
    return Stretch(
        (*stretch.curves, *curves), stretch.first, following.last,
        (stretch.inwards[0], turn.apply(following.inwards[1])),
    )  # fmt: skip


def facing_piece(name: str, stretch: Stretch, depth: float, parent: Piece) -> Piece:
    """Return the facing of a stretch.

    Its edges: the facing seams along the stretch, the end where that ends, the free edge, the end
    where it begins. An end at the centre is a centre, on the fold where the parent's is.

    Raises:
        OperationError: the stretch is too tight for a facing so deep.
    """
    ends = [
        corner + _reach(curve, inward, depth) * inward
        for corner, curve, inward in (
            (stretch.curves[0].start, stretch.curves[0].start_direction, stretch.inwards[0]),
            (stretch.curves[-1].end, stretch.curves[-1].end_direction, stretch.inwards[1]),
        )
    ]
    free = _parallel(stretch.curves, depth, (ends[0], ends[1]))
    seams = [Edge(name="", role=Role.FACING_SEAM, curve=c) for c in stretch.curves]
    edges = with_standard_names(
        (
            *seams,
            _end(stretch.last, Curve.line(stretch.curves[-1].end, ends[1])),
            Edge(name="", role=Role.FREE_EDGE, curve=free.reversed),
            _end(stretch.first, Curve.line(ends[0], stretch.curves[0].start)),
        )
    )
    fold = next((e.name for e in edges if e.role is Role.CENTRE), "") if parent.fold else ""
    try:
        return Piece(
            name=name, edges=edges, grain=parent.grain, fold=fold,
            quantity=1 if fold else 2, material=parent.material,
        )  # fmt: skip
    except ValueError as error:
        raise OperationError(f"a facing {depth:.0f} mm deep cannot be drawn: {error}") from None


def _end(role: Role, curve: Curve) -> Edge:
    return Edge(name="", role=Role.CENTRE if role is Role.CENTRE else Role.BAND_END, curve=curve)


def _reach(along: Array, inward: Array, depth: float) -> float:
    """Return how far along an end the parallel meets it, mm."""
    sine = abs(float(along[0] * inward[1] - along[1] * inward[0]))
    return depth / max(sine, 0.5)


def _parallel(curves: Sequence[Curve], depth: float, ends: tuple[Array, Array]) -> Curve:
    """Return the line so deep inside a chain of curves, from end to end, without a corner.

    Points at the depth from the chain, joined by cubics along its directions: within a tenth of a
    millimetre of the true parallel, which a free edge is not measured for.
    """
    points, directions = [ends[0]], [curves[0].start_direction]
    for k, curve in enumerate(curves):
        count = max(2, int(curve.length / _STEP))
        stations = np.linspace(0.0, curve.length, count + 1)[1:]
        if k == len(curves) - 1:
            stations = stations[:-1]
        along = curve.direction_at(stations)
        left = np.stack([-along[:, 1], along[:, 0]], axis=1)
        points += list(curve.point_at(stations) + depth * left)
        directions += list(along)
    points.append(ends[1])
    directions.append(curves[-1].end_direction)
    p, u = np.array(points), np.array(directions)
    reach = np.hypot(*np.diff(p, axis=0).T)[:, None] / 3
    return Curve(np.stack([p[:-1], p[:-1] + reach * u[:-1], p[1:] - reach * u[1:], p[1:]], axis=1))
