"""Notches as they are cut: on the cut line, square to the sewing line, into the allowance."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.finishing.allowances import allowance_of
from sleevewright.geometry import Curve
from sleevewright.pattern import Edge, Notch, NotchCut, NotchKind, Piece, Side
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.roles import NotchMark

Array = NDArray[np.float64]

#: mm. Between the two marks of a double notch; TRADE.md.
DOUBLE_SPACING = 10.0


def notch_cuts(piece: Piece, settings: FinishSettings) -> tuple[NotchCut, ...]:
    """Return every mark of every notch of a piece."""
    found: list[NotchCut] = []
    for edge in piece.edges:
        for notch in edge.notches:
            found += _marks(piece, edge, notch, settings)
    return tuple(found)


def _marks(piece: Piece, edge: Edge, notch: Notch, settings: FinishSettings) -> Iterator[NotchCut]:
    kind = kind_of(piece, edge, notch, settings)
    width = allowance_of(piece, edge, settings)
    depth = min(settings.notch_depth, 0.5 * width) if width > 0 else settings.notch_depth
    v = settings.notch_mark is NotchMark.V
    offsets = (0.0,) if kind is NotchKind.SINGLE else (-DOUBLE_SPACING / 2, DOUBLE_SPACING / 2)
    for offset in offsets:
        point, along = _along(piece, edge, notch.at + offset)
        inward = np.array([-along[1], along[0]])
        on_cut = point - width * inward
        yield NotchCut(
            name=notch.name,
            kind=kind,
            sew_point=(float(point[0]), float(point[1])),
            point=(float(on_cut[0]), float(on_cut[1])),
            direction=(float(inward[0]), float(inward[1])),
            depth=depth,
            width=settings.notch_width if v else 0.0,
            mark=settings.notch_mark,
        )


def kind_of(piece: Piece, edge: Edge, notch: Notch, settings: FinishSettings) -> NotchKind:
    """Return how many marks a notch gets: the recipe's rule for its half, where it has one.

    Notches that are single on both partners (shoulder tip, elbow, crown) stay single.
    """
    if not any(notch.name.startswith(side) for side in Side):
        return notch.kind
    side = edge.side or (Side(piece.name) if piece.name in set(Side) else None)
    if side is None:
        return notch.kind
    return settings.notch_front if side is Side.FRONT else settings.notch_back


def _along(piece: Piece, edge: Edge, station: float) -> tuple[Array, Array]:
    """Return point and direction at a station that may lie just past the end of its edge."""
    before, after = piece.neighbours(edge.name)
    if station < 0 and _smooth(before.curve, edge.curve):
        return before.curve.point_at(before.length + station), before.curve.direction_at(
            before.length + station
        )
    if station > edge.length and _smooth(edge.curve, after.curve):
        over = station - edge.length
        return after.curve.point_at(over), after.curve.direction_at(over)
    station = min(max(station, 0.0), edge.length)
    return edge.curve.point_at(station), edge.curve.direction_at(station)


def _smooth(first: Curve, second: Curve) -> bool:
    return float(first.end_direction @ second.start_direction) > 0.95
