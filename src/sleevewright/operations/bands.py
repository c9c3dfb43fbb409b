"""Facings: shaped pieces that lie along an edge, as deep as asked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.intersect import intersections
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge, Piece, Role
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]

_STEP = 10.0  # mm of the edge for each piece of the parallel
_SLIVER = 0.01  # mm; a shorter piece of the parallel is none


@dataclass(frozen=True, slots=True)
class Stretch:
    """Edges laid end to end as they are when sewn, and what they end at.

    Attributes:
        curves: in outline order, the piece to their left, mm.
        first, last: roles of the edges before and after.
        inwards: directions along those edges, from the ends of the stretch into the piece, (2,).
        rooms: how long those edges are, darts folded, mm.
        folds: whether those edges lie on the fold.
    """

    curves: tuple[Curve, ...]
    first: Role
    last: Role
    inwards: tuple[Array, Array]
    rooms: tuple[float, float]
    folds: tuple[bool, bool] = (False, False)

    def transformed(self, affine: Affine) -> "Stretch":
        """Return its image under a rigid move."""
        curves = tuple(curve.transformed(affine) for curve in self.curves)
        origin = affine.apply((0.0, 0.0))
        first, last = (affine.apply(way) - origin for way in self.inwards)
        return replace(self, curves=curves, inwards=(first, last))


def stretch_of(piece: Piece, edges: Sequence[Edge]) -> Stretch:
    """Return neighbouring edges of a piece as a stretch."""
    before, _ = piece.neighbours(edges[0].name)
    _, after = piece.neighbours(edges[-1].name)
    return Stretch(
        curves=tuple(edge.curve for edge in edges),
        first=before.role,
        last=after.role,
        inwards=(-before.curve.end_direction, after.curve.start_direction),
        rooms=(piece.length(before.role, before.side), piece.length(after.role, after.side)),
        folds=(before.name == piece.fold, after.name == piece.fold),
    )


def laid_on(stretch: Stretch, following: Stretch) -> Stretch:
    """Return two stretches as one, the second moved so that the seam between them is closed."""
    end = stretch.curves[-1].end
    start = following.curves[0].start
    move = Affine.moving((start, start + following.inwards[0]), (end, end + stretch.inwards[1]))
    moved = following.transformed(move)
    return Stretch(
        (*stretch.curves, *moved.curves), stretch.first, moved.last,
        (stretch.inwards[0], moved.inwards[1]), (stretch.rooms[0], moved.rooms[1]),
        (stretch.folds[0], moved.folds[1]),
    )  # fmt: skip


def facing_piece(name: str, stretch: Stretch, depth: float, parent: Piece) -> Piece:
    """Return the facing of a stretch that lies where its parent has it: it is cut on the parent's grain.

    Its edges: the facing seams along the stretch, the end where that ends, the free edge, the end
    where it begins. An end at the centre is a centre, on the fold where the parent's is.

    Raises:
        OperationError: the stretch is too tight for a facing so deep.
    """
    free = _parallel(stretch, depth)
    seams = [Edge(name="", role=Role.FACING_SEAM, curve=c) for c in stretch.curves]
    edges = with_standard_names(
        (
            *seams,
            _end(stretch.last, Curve.line(stretch.curves[-1].end, free.end)),
            Edge(name="", role=Role.FREE_EDGE, curve=free.reversed),
            _end(stretch.first, Curve.line(free.start, stretch.curves[0].start)),
        )
    )
    ends = (edges[-1], edges[len(seams)])
    fold = next((e.name for e, folded in zip(ends, stretch.folds, strict=True) if folded), "")
    try:
        return Piece(
            name=name, edges=edges, grain=parent.grain, fold=fold,
            quantity=1 if fold else 2, material=parent.material,
        )  # fmt: skip
    except ValueError as error:
        raise OperationError(f"a facing {depth:.0f} mm deep cannot be drawn: {error}") from None


def _end(role: Role, curve: Curve) -> Edge:
    return Edge(name="", role=Role.CENTRE if role is Role.CENTRE else Role.BAND_END, curve=curve)


def _parallel(stretch: Stretch, depth: float) -> Curve:
    """Return the line so deep inside a stretch, from end to end, without a corner.

    Points at the depth from the chain, joined by cubics along its directions: within a tenth of a
    millimetre of the true parallel, which a free edge is not measured for. It runs straight on where a
    stretch's end leans out, and is cut off there where it leans in.

    Raises:
        OperationError: it does not meet the ends.
    """
    points: list[Array] = []
    directions: list[Array] = []
    for k, curve in enumerate(stretch.curves):
        count = max(2, int(curve.length / _STEP))
        stations = np.linspace(0.0, curve.length, count + 1)[1 if k else 0 :]
        along = curve.direction_at(stations)
        left = np.stack([-along[:, 1], along[:, 0]], axis=1)
        points += list(curve.point_at(stations) + depth * left)
        directions += list(along)
    p, u = np.array(points), np.array(directions)
    turns = np.abs(u[:-1, 0] * u[1:, 1] - u[:-1, 1] * u[1:, 0])
    half = np.maximum(np.arcsin(np.clip(turns, 0.0, 1.0)) / 2, 1e-6)
    # The handles of an arc of this turn; see geometry.fairing.
    part = (2 / 3 * np.tan(half / 2) / np.sin(half))[:, None]
    reach = part * np.hypot(*np.diff(p, axis=0).T)[:, None]
    inner = Curve(np.stack([p[:-1], p[:-1] + reach * u[:-1], p[1:] - reach * u[1:], p[1:]], axis=1))
    run = depth * np.array([u[0], u[-1]])
    whole = Curve.joined(
        [Curve.line(p[0] - run[0], p[0]), inner, Curve.line(p[-1], p[-1] + run[1])]
    )
    first, last = (
        _met(whole, corner, inward, room, depth)
        for corner, inward, room in zip(
            (stretch.curves[0].start, stretch.curves[-1].end), stretch.inwards, stretch.rooms,
            strict=True,
        )
    )  # fmt: skip
    return whole.between(first, last)


def _met(whole: Curve, corner: Array, inward: Array, room: float, depth: float) -> float:
    """Return the station where a parallel meets the line of an end.

    Args:
        whole: the parallel, run on beyond its ends.
        corner: where the end begins, shape (2,), mm.
        inward: unit direction of the end, shape (2,).
        room: how long the end may be, mm.
        depth: of the parallel, mm; at most twice as far along the end.
    """
    ray = Curve.line(corner, corner + 2.0 * depth * inward)
    hits = intersections(ray, whole)
    if not hits:
        raise OperationError(f"a facing {depth:.0f} mm deep does not reach the ends of its edge")
    along, station = hits[0]
    if along > room:
        raise OperationError(
            f"a facing {depth:.0f} mm deep would run {along:.0f} mm along an edge of {room:.0f} mm;"
            " make it less deep"
        )
    # At a square end the parallel ends too: what it runs on by is rounding.
    joint = float(whole.stations[np.argmin(np.abs(whole.stations - station))])
    return joint if abs(joint - station) < _SLIVER else station
