"""Drawings with the layers of D6673: one group a piece and size."""

import re

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place
from sleevewright.formats.d6673 import EDGE_PREFIX, NOTCH_LAYERS, Layer, PieceKey, normal_key
from sleevewright.geometry import Curve
from sleevewright.pattern import Edge, InternalLine, Role, Side
from sleevewright.reading.closing import Link, chained
from sleevewright.reading.drawing import Drawing, Group, Stroke, Words
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.outline import OFF_EDGE, Tick
from sleevewright.reading.polyline_runs import between_corners, fair_between, vertices
from sleevewright.reading.sheets import Sheet, named_by_map

Array = NDArray[np.float64]

#: mm. A dart leg runs on through an allowance no wider than this; a mark so near to it is its notch.
LEG_RUNS_ON, ON_LEG = 100.0, 0.1


def numbered_sheets(drawing: Drawing, labels: LabelMap) -> list[Sheet]:
    """Return the pieces of a file with D6673 layers.

    Raises:
        LabelError: a piece has no closed outline.
    """
    sheets = [_numbered(group, drawing) for group in drawing.groups if _has_outline(group)]
    return named_by_map(sheets, labels)


def _has_outline(group: Group) -> bool:
    return any(stroke.label in (Layer.CUT, Layer.SEW) for stroke in group.strokes)


def _numbered(group: Group, drawing: Drawing) -> Sheet:
    texts = _texts(group)
    place = Place(drawing.file, within=f"block {group.name}")
    name = texts.get(normal_key(PieceKey.NAME), group.name)
    sheet = Sheet(name, texts.get(normal_key(PieceKey.SIZE), ""), place)
    sheet.material = texts.get(normal_key(PieceKey.MATERIAL), "").lower()
    quantity = texts.get(normal_key(PieceKey.QUANTITY), "")
    sheet.quantity = sum(int(n) for n in re.findall(r"\d{1,3}", quantity)) or 1
    sew = [s for s in group.strokes if s.label == Layer.SEW]
    cut = [s for s in group.strokes if s.label == Layer.CUT]
    outline = sew or cut
    names = [w for w in group.words if w.text.startswith(EDGE_PREFIX)]
    turns = _points(group, Layer.TURN_POINT)
    knots = _points(group, Layer.CURVE_POINT)
    if sew and names:
        sheet.known = _known_edges(sew, names, (turns, knots), name)
    else:
        links = [Link(s.curve, s, f"stroke on layer {s.label}", s.place) for s in outline]
        chain, _ = chained(links, name)
        points = np.concatenate([vertices(link.curve) for link in chain])
        sheet.curves = between_corners(points, turns, knots)
    legs = [edge.curve for edge in sheet.known if edge.role is Role.DART_LEG]
    for stroke in group.strokes:
        if stroke.label == Layer.GRAIN:
            sheet.grain = stroke.curve
        elif stroke.label == Layer.MIRROR:
            sheet.fold = stroke.curve
        elif stroke.label == Layer.INTERNAL:
            sheet.internal.append(InternalLine(curve=stroke.curve))
        elif stroke.label in NOTCH_LAYERS:
            ends = (stroke.curve.start, stroke.curve.end)
            at = min(ends, key=lambda p: min(s.curve.nearest(p)[1] for s in outline))
            sheet.ticks.append(Tick(_on_sewing_line(at, sew, cut, legs), stroke.place))
    for mark in group.marks:
        if mark.label in NOTCH_LAYERS:
            at = _on_sewing_line(np.array(mark.at), sew, cut, legs)
            sheet.ticks.append(Tick(at, mark.place, dict(mark.data).get("name", "")))
        elif mark.label == Layer.DRILL:
            sheet.drill_holes.append(mark.at)
    return sheet


def _on_sewing_line(at: Array, sew: list[Stroke], cut: list[Stroke], legs: list[Curve]) -> Array:
    """Return where a notch on the cut line meets the sewing line.

    That is the mouth of the dart whose leg, run straight on, it lies on; else the nearest point.
    """
    if not sew or not any(stroke.curve.nearest(at)[1] <= OFF_EDGE for stroke in cut):
        return at
    for leg in legs:
        for end, out in ((leg.start, -leg.start_direction), (leg.end, leg.end_direction)):
            ahead, beside = (at - end) @ out, (at - end) @ (out[1], -out[0])
            if 0.0 < ahead < LEG_RUNS_ON and abs(beside) < ON_LEG:
                return end
    reached = [(*stroke.curve.nearest(at), stroke.curve) for stroke in sew]
    station, _, curve = min(reached, key=lambda found: found[1])
    return curve.point_at(station)


def _texts(group: Group) -> dict[str, str]:
    found = {}
    for words in group.words:
        key, colon, value = words.text.partition(":")
        if colon:
            found[normal_key(key)] = value.strip()
    return found


def _points(group: Group, layer: Layer) -> Array:
    return np.array([m.at for m in group.marks if m.label == layer]).reshape(-1, 2)


def _known_edges(
    sew: list[Stroke], names: list[Words], marked: tuple[Array, Array], piece: str
) -> tuple[Edge, ...]:
    """Read our own files back: one sewing line an edge, named by the text at its middle."""
    links = []
    turns, knots = marked
    for stroke in sew:
        middle = stroke.curve.point_at(stroke.curve.length / 2)
        near = min(names, key=lambda w: float(np.hypot(*(np.array(w.at) - middle))))
        name = near.text[len(EDGE_PREFIX) :].split()[0]
        points = np.concatenate([stroke.curve.controls[:, 0], stroke.curve.controls[-1:, 3]])
        curve = fair_between(points, turns, knots)
        links.append(Link(curve, name, name, stroke.place))
    chain, _ = chained(links, piece)
    return tuple(_edge_of_name(link.what, link.curve) for link in chain)


def _edge_of_name(name: str, curve: Curve) -> Edge:
    words = name.split(".")
    if words[0] not in set(Role):
        raise LabelError(f"edge {name!r} has no role that is known; roles are {', '.join(Role)}")
    side = next((Side(word) for word in words[1:] if word in set(Side)), None)
    return Edge(name=name, role=Role(words[0]), curve=curve, side=side)
