"""Notches as they are cut: on the cut line, square to the sewing line, into the allowance.

The notches of a dart lie on its legs, run straight on through the allowance: there its stitching
begins, and there they fall on one another when it is folded, whatever the angle of leg and edge.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.finishing.allowances import allowance_of, is_cut_out
from sleevewright.geometry import Curve
from sleevewright.geometry.intersect import intersections
from sleevewright.pattern import CutEdge, Edge, Notch, NotchCut, NotchKind, Piece, Role, Side
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import DART_MARK
from sleevewright.pattern.roles import NotchMark

Array = NDArray[np.float64]

#: mm. Between the two marks of a double notch.
DOUBLE_SPACING = 10.0
#: How many allowances a dart leg may run on for until it meets the cut line.
_LEG_REACH = 2.5
_OFF, _FAR = 0.03, 4.0  # mm; off the cut line by so much a mark is moved onto it


def notch_cuts(
    piece: Piece, cut: tuple[CutEdge, ...], settings: FinishSettings
) -> tuple[NotchCut, ...]:
    """Return every mark of every notch of a piece; on the legs of a dart that is folded nothing is cut.

    Where the cut line of an edge was cut off short of a notch (in the mouth of a dart that is cut
    out) its mark is at the nearest point of the cut line.
    """
    ends = {part.edge: part.curve for part in cut if part.edge}
    folded = {
        leg.name
        for dart in piece.darts()
        if not is_cut_out(piece, dart, settings)
        for leg in (dart.into, dart.out)
    }
    found: list[NotchCut] = []
    for edge in piece.edges:
        for notch in () if edge.name in folded else edge.notches:
            leg = _leg_at(piece, edge, notch)
            for mark in _marks(piece, edge, notch, settings):
                line = ends.get(edge.name)
                there = mark if line is None else _on_cut_line(mark, line)
                found.append(_snapped(there, cut) if leg is None else _along_leg(mark, leg, cut))
    return tuple(found)


def _leg_at(piece: Piece, edge: Edge, notch: Notch) -> Array | None:
    """Return the direction of the leg that a dart's notch belongs to, from the mouth; else None."""
    if not notch.name.startswith(DART_MARK):
        return None
    before, after = piece.neighbours(edge.name)
    if after.role is Role.DART_LEG and edge.length - notch.at < _OFF:
        return after.curve.start_direction
    if before.role is Role.DART_LEG and notch.at < _OFF:
        return -before.curve.end_direction
    return None


def _along_leg(mark: NotchCut, leg: Array, cut: tuple[CutEdge, ...]) -> NotchCut:
    """Return a mark where its leg, run straight on, meets the cut line; snapped where it does not soon."""
    mouth = np.array(mark.sew_point)
    reach = _LEG_REACH * float(np.hypot(*(np.array(mark.point) - mouth)))
    if reach < _OFF:  # no allowance: the mouth is on the cut line
        return replace(mark, direction=(float(leg[0]), float(leg[1])))
    ray = Curve.line(mouth, mouth - reach * leg)
    met = [station for part in cut for station, _ in intersections(ray, part.curve)]
    if not met:
        return _snapped(mark, cut)
    x, y = ray.point_at(min(met))
    return replace(mark, point=(float(x), float(y)), direction=(float(leg[0]), float(leg[1])))


def _snapped(mark: NotchCut, cut: tuple[CutEdge, ...]) -> NotchCut:
    """Return a mark on the nearest point of the cut line: a double one may straddle a cut-off corner."""
    near = [part.curve for part in cut if _within(mark.point, part.curve)]
    places = [(curve.nearest(mark.point), curve) for curve in near]
    if not places:
        return mark
    (station, off), curve = min(places, key=lambda place: place[0][1])
    if not _OFF < off < _FAR:
        return mark
    point = curve.point_at(station)
    return replace(mark, point=(float(point[0]), float(point[1])))


def _within(point: tuple[float, float], curve: Curve) -> bool:
    """Whether a point is within reach of the box of a curve's control points."""
    low, high = curve.controls.min(axis=(0, 1)) - _FAR, curve.controls.max(axis=(0, 1)) + _FAR
    return bool((low <= point).all() and (point <= high).all())


def _on_cut_line(mark: NotchCut, line: Curve) -> NotchCut:
    """Return a mark moved to the cut end of its edge's cut line, where it lies beyond that."""
    for end, way in ((line.start, line.start_direction), (line.end, -line.end_direction)):
        if float((np.array(mark.point) - end) @ way) < 0.0 and _beyond(mark, line):
            return replace(mark, point=(float(end[0]), float(end[1])))
    return mark


def _beyond(mark: NotchCut, line: Curve) -> bool:
    return line.nearest(mark.point)[1] > 0.001 and mark.kind is NotchKind.SINGLE


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
