"""Drawings of closed outlines without labels of their edges."""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.pattern import InternalLine
from sleevewright.reading.closing import Link, chained
from sleevewright.reading.drawing import Drawing, Mark, Stroke
from sleevewright.reading.edge_names import Extra, Label
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.labelled import meaning, piece_of
from sleevewright.reading.outline import OFF_EDGE, Tick
from sleevewright.reading.polyline_runs import CORNER, between_corners, vertices
from sleevewright.reading.sheets import Sheet, named_by_map

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
    for stroke, said in extras:
        sheet = _sheet_at(sheets, stroke.curve.point_at(stroke.curve.length / 2))
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
    for mark in marks:
        said = meaning(mark.label, labels)
        what = said.what if said is not None else None
        at = np.array(mark.at)
        sheet = _sheet_at(sheets, at)
        if sheet is None:
            continue
        if what is Extra.DRILL:
            sheet.drill_holes.append(mark.at)
        elif what is Extra.NOTCH or (
            what is None and min(c.nearest(at)[1] for c in sheet.curves) <= OFF_EDGE
        ):
            sheet.ticks.append(Tick(at, mark.place))


def _sheet_at(sheets: list[Sheet], point: Array) -> Sheet | None:
    """Return the outline that a point lies in or within 1 mm of."""
    from shapely import Point  # noqa: PLC0415

    from sleevewright.geometry.region import polygon  # noqa: PLC0415

    near = [(polygon(s.curves, 0.1).buffer(0).distance(Point(point)), s) for s in sheets]
    gap, sheet = min(near, key=lambda pair: pair[0], default=(np.inf, None))
    return sheet if gap <= OFF_EDGE else None


def _rings_of(strokes: list[Stroke]) -> list[tuple[Stroke, ...]]:
    """Group open strokes that hang together by their ends."""
    groups: list[list[Stroke]] = []
    for stroke in strokes:
        ends = (stroke.curve.start, stroke.curve.end)
        touching = [
            g
            for g in groups
            if any(
                float(np.hypot(*(p - q))) < 1.0
                for s in g
                for p in (s.curve.start, s.curve.end)
                for q in ends
            )
        ]
        merged = [stroke, *(s for g in touching for s in g)]
        groups = [g for g in groups if g not in touching] + [merged]
    return [tuple(g) for g in groups if len(g) > 1]


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
        part, rest = rest.split_at(station - run)
        parts.append(part)
        run = station
    parts[0] = Curve.joined([rest, parts[0]]) if not _is_corner(rest, parts[0]) else parts[0]
    if parts[0].start is not rest.start and np.allclose(parts[0].start, rest.start):
        return tuple(parts)
    return (*parts, rest)


def _is_corner(before: Curve, after: Curve) -> bool:
    u, v = before.end_direction, after.start_direction
    return float(u @ v) < float(np.cos(np.radians(CORNER)))


def _largest_only(sheets: list[Sheet]) -> list[Sheet]:
    """Leave out frames round everything, title boxes and outlines drawn inside pieces."""
    from sleevewright.geometry.region import polygon  # noqa: PLC0415

    shapes = [polygon(sheet.curves, 0.5).buffer(0) for sheet in sheets]
    kept = []
    for i, shape in enumerate(shapes):
        inside = [j for j, other in enumerate(shapes) if j != i and shape.contains(other)]
        within = [j for j, other in enumerate(shapes) if j != i and other.contains(shape)]
        frame = len(inside) >= 2
        in_piece = any(sum(shapes[j].contains(o) for o in shapes) < 3 for j in within)
        if not frame and not in_piece:
            kept.append(sheets[i])
    return kept
