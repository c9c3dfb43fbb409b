"""Drawings of closed outlines without labels of their edges."""

import math
from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.tolerance import SAME_POINT
from sleevewright.pattern import InternalLine
from sleevewright.reading.closing import LARGEST_GAP, Link, cell_of, cells_near, chained
from sleevewright.reading.drawing import Drawing, Mark, Stroke
from sleevewright.reading.edge_names import Extra, Label
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.labelled import meaning, piece_of
from sleevewright.reading.outline import OFF_EDGE, Tick
from sleevewright.reading.polyline_runs import CORNER, between_corners, vertices
from sleevewright.reading.sheets import Sheet, named_by_map

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]


def plain_sheets(drawing: Drawing, labels: LabelMap) -> list[Sheet]:
    """Return the closed outlines of a drawing without labels, each with what lies inside it.

    Raises:
        LabelError: nothing is closed, or a stroke belongs to no outline.
    """
    strokes = [(s, meaning(s.label, labels)) for g in drawing.groups for s in g.strokes]
    rings: list[tuple[Stroke, ...]] = []
    loose: list[Stroke] = []
    extras: list[tuple[Stroke, Label]] = []
    for stroke, said in strokes:
        closed = float(np.hypot(*(stroke.curve.end - stroke.curve.start))) < 1.0
        if said is not None and isinstance(said.what, Extra) and said.what is not Extra.SEW:
            extras.append((stroke, said))
        else:
            (rings.append((stroke,)) if closed else loose.append(stroke))
    rings += _rings_of(loose)
    sheets = []
    for ring in rings:
        curves = _corner_curves(ring)
        if curves is not None:
            name = next(filter(None, (piece_of(s.label, labels) for s in ring)), "")
            sheets.append(Sheet(name, "", ring[0].place, curves=curves))
    found = named_by_map(_largest_only(sheets), labels)
    _add_extras(found, extras)
    _add_marks(found, [m for g in drawing.groups for m in g.marks], labels)
    return found


def _add_extras(sheets: list[Sheet], extras: list[tuple[Stroke, Label]]) -> None:
    """Give each labelled line to the outline it lies in or on."""
    areas = _Areas(sheets)
    for stroke, said in extras:
        sheet = areas.at(stroke.curve.point_at(stroke.curve.length / 2))
        if sheet is None:
            continue
        if said.what is Extra.GRAIN:
            sheet.grain = stroke.curve
        elif said.what is Extra.FOLD:
            sheet.fold = stroke.curve
        elif said.what is Extra.INTERNAL:
            sheet.internal.append(InternalLine(curve=stroke.curve))
        elif said.what is Extra.NOTCH:
            ends = (stroke.curve.start, stroke.curve.end)
            at = min(ends, key=lambda p: min(c.nearest(p)[1] for c in sheet.curves))
            sheet.ticks.append(Tick(at, stroke.place))


def _add_marks(sheets: list[Sheet], marks: list[Mark], labels: LabelMap) -> None:
    """Points on an outline are its notches, with or without a label; drill holes are labelled."""
    areas = _Areas(sheets)
    for mark in marks:
        said = meaning(mark.label, labels)
        what = said.what if said is not None else None
        at = np.array(mark.at)
        sheet = areas.at(at)
        if sheet is None:
            continue
        if what is Extra.DRILL:
            sheet.drill_holes.append(mark.at)
        elif what is Extra.NOTCH or (
            what is None and min(c.nearest(at)[1] for c in sheet.curves) <= OFF_EDGE
        ):
            sheet.ticks.append(Tick(at, mark.place))


class _Areas:
    """The areas of outlines, for looking up what lies in them."""

    def __init__(self, sheets: list[Sheet]) -> None:
        from shapely import STRtree  # noqa: PLC0415 (heavy)

        self.sheets = sheets
        self.tree = STRtree([_area(sheet, 0.1) for sheet in sheets])

    def at(self, point: Array) -> Sheet | None:
        """Return the outline that a point lies in or within 1 mm of."""
        from shapely import Point  # noqa: PLC0415 (heavy)

        near = self.tree.query_nearest(Point(point), max_distance=OFF_EDGE)
        return self.sheets[int(near.min())] if near.size else None


def _area(sheet: Sheet, within: float) -> "BaseGeometry":
    """Return the area of an outline; all that it spans where it crosses itself."""
    from sleevewright.geometry.region import polygon  # noqa: PLC0415 (heavy)

    shape = polygon(sheet.curves, within)
    return shape if shape.is_valid else shape.convex_hull


def _rings_of(strokes: list[Stroke]) -> list[tuple[Stroke, ...]]:
    """Group open strokes that hang together by their ends."""
    groups: dict[int, list[Stroke]] = {}
    joined: dict[int, int] = {}  # a group -> the group that it went into
    grid: dict[tuple[int, int], dict[tuple[float, float], int]] = defaultdict(dict)

    def group_of(number: int) -> int:
        while number in joined:
            number = joined[number]
        return number

    for number, stroke in enumerate(strokes):
        ends = (stroke.curve.start, stroke.curve.end)
        touching = {
            group_of(other)
            for end in ends
            for cell in cells_near(end, LARGEST_GAP)
            for point, other in grid.get(cell, {}).items()
            if math.dist(end, point) < LARGEST_GAP
        }
        groups[number] = [stroke, *(s for g in sorted(touching) for s in groups.pop(g))]
        joined.update(dict.fromkeys(touching, number))
        for end in ends:
            grid[cell_of(end, LARGEST_GAP)][float(end[0]), float(end[1])] = number
    return [tuple(group) for group in groups.values() if len(group) > 1]


def _corner_curves(ring: tuple[Stroke, ...]) -> tuple[Curve, ...] | None:
    links = [Link(s.curve, s, s.label.strip(" /") or "a stroke", s.place) for s in ring]
    chain, _ = chained(links, "an outline")
    curve = Curve.joined([link.curve for link in chain])
    if any(link.what.polyline for link in chain) or len(curve.controls) > 60:
        return between_corners(vertices(curve), np.zeros((0, 2)), np.zeros((0, 2)))
    corners = list(curve.corners(CORNER))
    if len(corners) < 3:
        return None
    parts, rest, run = [], curve, 0.0
    for station in corners:
        if SAME_POINT < station - run < rest.length - SAME_POINT:  # else on the corner before it
            part, rest = rest.split_at(station - run)
            parts.append(part)
            run = station
    if not parts:
        return None
    parts[0] = Curve.joined([rest, parts[0]]) if not _is_corner(rest, parts[0]) else parts[0]
    if parts[0].start is not rest.start and np.allclose(parts[0].start, rest.start):
        return tuple(parts)
    return (*parts, rest)


def _is_corner(before: Curve, after: Curve) -> bool:
    u, v = before.end_direction, after.start_direction
    return float(u @ v) < float(np.cos(np.radians(CORNER)))


def _largest_only(sheets: list[Sheet]) -> list[Sheet]:
    """Leave out frames round everything, title boxes and outlines drawn inside pieces."""
    from shapely import STRtree  # noqa: PLC0415 (heavy)

    tree = STRtree([_area(sheet, 0.5) for sheet in sheets])
    outer, inner = tree.query(tree.geometries, predicate="contains")
    outer, inner = outer[outer != inner], inner[outer != inner]
    is_frame = np.bincount(outer, minlength=len(sheets)) >= 2
    in_piece = np.zeros(len(sheets), dtype=bool)
    in_piece[inner[~is_frame[outer]]] = True
    return [sheet for i, sheet in enumerate(sheets) if not (is_frame[i] or in_piece[i])]
