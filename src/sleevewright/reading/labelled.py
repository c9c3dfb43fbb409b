"""Drawings whose layers, ids and classes say what each edge is."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from sleevewright.errors import LabelError, Place, Problem, did_you_mean
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.geometry.fitting import fit_polyline
from sleevewright.pattern import Edge, InternalLine, Role, Side
from sleevewright.reading.closing import Link, chained
from sleevewright.reading.drawing import Drawing, Mark, Stroke
from sleevewright.reading.edge_names import PIECES, ROLES, Extra, Label, normal, settled
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.outline import Bare, Tick


@dataclass(slots=True)
class _Parts:
    """What is gathered for one piece while a drawing is read."""

    place: Place
    edges: list[Link[tuple[Role, Side | None, str]]] = field(default_factory=list)
    ticks: list[Tick] = field(default_factory=list)
    grain: Curve | None = None
    fold: Curve | None = None
    internal: list[InternalLine] = field(default_factory=list)
    drill_holes: list[tuple[float, float]] = field(default_factory=list)
    notch_lines: list[Stroke] = field(default_factory=list)


def meaning(label: str, labels: LabelMap) -> Label | None:
    """Return what a drawn thing is: its own words first, then the groups around it.

    A role that names no piece takes the piece of the nearest group that names one.
    """
    around, _, own = label.rpartition(" / ")
    said = [m for m in map(labels.meaning, own.split()) if m is not None]
    if not any(m.what for m in said):
        whole = labels.meaning(own)  # a DXF layer may hold blanks
        said += [whole] if whole is not None else []
    outer = [m for m in map(labels.meaning, reversed(around.split())) if m is not None]
    outer += _own_piece(around)
    roles = [m for m in said if isinstance(m.what, Role)] or [m for m in said if m.what]
    if not roles:
        roles = [m for m in outer if isinstance(m.what, Extra)][:1]
    if not roles:
        return None
    first = roles[0]
    within = next((m.piece for m in (*outer, *said) if m.piece), "")
    return settled(first, within)


def piece_of(label: str, labels: LabelMap) -> str:
    """Return the piece that a label or a group around it names; "" where none does."""
    around, _, own = label.rpartition(" / ")
    for word in (own, *own.split(), *reversed(around.split())):
        said = labels.meaning(word)
        if said is not None and said.piece:
            return said.piece
    return ""


def _own_piece(around: str) -> list[Label]:
    """Return the piece of a group that this program wrote: its id stands before class "piece"."""
    words = around.split()
    at = words.index("piece") if "piece" in words else 0
    return [Label(normal(words[at - 1]), None)] if at else []


def is_labelled(drawing: Drawing, labels: LabelMap) -> bool:
    """Whether any stroke says which edge of which piece it is."""
    for group in drawing.groups:
        for stroke in group.strokes:
            found = meaning(stroke.label, labels)
            if found is not None and isinstance(found.what, Role) and found.piece:
                return True
    return False


def labelled_pieces(drawing: Drawing, labels: LabelMap) -> tuple[list[Bare], list[Finding]]:
    """Gather the pieces of a labelled drawing.

    Raises:
        LabelError: an outline is open or branches.
    """
    parts, unknown = _gathered(drawing, labels)
    findings = [
        Finding("reading", Status.NOTED, drawing.file, f"{said} names no edge; {count} ignored")
        for said, count in Counter(map(_said, unknown)).items()
    ]
    bares = []
    for name, gathered in parts.items():
        if not gathered.edges:
            text = f"{name} has labels but no edges; ignored"
            findings.append(Finding("reading", Status.NOTED, drawing.file, text))
            continue
        try:
            bare, gaps = _bare(name, gathered)
        except LabelError as error:
            raise LabelError([*error.problems, *map(_unknown, unknown)]) from None
        bares.append(bare)
        if gaps:
            text = f"{name}: {len(gaps)} gaps of up to {max(gaps):.3f} mm were closed"
            findings.append(Finding("reading", Status.NOTED, name, text))
    return bares, findings


def _gathered(drawing: Drawing, labels: LabelMap) -> tuple[dict[str, _Parts], list[Stroke]]:
    """Return the parts of each piece, and the strokes whose labels mean nothing.

    Raises:
        LabelError: an edge of a piece that is not known.
    """
    parts: dict[str, _Parts] = {}
    unknown: list[Stroke] = []
    astray: list[Stroke] = []
    for stroke in (stroke for group in drawing.groups for stroke in group.strokes):
        found = meaning(stroke.label, labels)
        if found is None:
            unknown.append(stroke)
        elif found.piece:
            _sort_stroke(parts.setdefault(found.piece, _Parts(stroke.place)), found, stroke)
        elif isinstance(found.what, Role):
            astray.append(stroke)
    for mark in (mark for group in drawing.groups for mark in group.marks):
        found = meaning(mark.label, labels)
        if found is not None and found.piece:
            _sort_mark(parts.setdefault(found.piece, _Parts(mark.place)), found, mark)
    if astray:
        raise LabelError(_without_piece(stroke) for stroke in astray)
    return parts, unknown


def _said(stroke: Stroke) -> str:
    """Return the label of a stroke as messages write it."""
    label = stroke.label.rpartition(" / ")[2].strip()
    return f"a line labelled {label!r}" if label else "a line without a label"


def _unknown(stroke: Stroke) -> Problem:
    own = normal(stroke.label.rpartition(" / ")[2])
    return Problem(
        f"{_said(stroke)} names no edge that is known{did_you_mean(own, ROLES)}",
        stroke.place,
        "",
        "if it is the missing edge, name it, or say in a label map what it is: layers: {"
        f"{own or 'LABEL'}: PIECE.ROLE}}",
    )


def _without_piece(stroke: Stroke) -> Problem:
    around, _, own = stroke.label.rpartition(" / ")
    near = next(filter(None, (did_you_mean(normal(w), PIECES) for w in around.split())), "")
    near = near or did_you_mean(normal(own).partition("_")[0], PIECES)
    inside = f" in {around!r}" if around else ""
    return Problem(
        f"{_said(stroke)}{inside} is an edge of no piece that is known{near}",
        stroke.place,
        f"pieces are {', '.join(dict.fromkeys(PIECES.values()))}",
        "name the piece, or leave the line out in a label map: layers: {LABEL: ignore}",
    )


def _sort_stroke(parts: _Parts, label: Label, stroke: Stroke) -> None:
    what = label.what
    if isinstance(what, Role):
        data = dict(stroke.data)
        side = Side(data["side"]) if data.get("side") in set(Side) else label.side
        for curve in _smooth(stroke, what):
            parts.edges.append(Link(curve, (what, side, data.get("edge", "")), what, stroke.place))
    elif what is Extra.GRAIN:
        if parts.grain is None or stroke.curve.chord > parts.grain.chord:
            parts.grain = stroke.curve
    elif what is Extra.FOLD:
        if parts.fold is None or stroke.curve.chord > parts.fold.chord:
            parts.fold = stroke.curve
    elif what is Extra.INTERNAL:
        parts.internal.append(InternalLine(curve=stroke.curve))
    elif what is Extra.NOTCH:
        parts.notch_lines.append(stroke)


def _smooth(stroke: Stroke, role: Role) -> list[Curve]:
    """Return a stroke as fair curves: dart legs part at the tip, polylines are fitted."""
    if role is Role.DART_LEG:
        corners = stroke.curve.corners(40.0)
        if len(corners) == 1:
            return list(stroke.curve.split_at(corners[0]))
    if not stroke.polyline:
        return [stroke.curve]
    points = np.concatenate([stroke.curve.controls[:, 0], stroke.curve.controls[-1:, 3]])
    return [fit_run(points)]


def fit_run(points: np.ndarray) -> Curve:
    """Fit fair cubics to a polyline, parted where it turns by more than 25 degrees."""
    steps = np.diff(points, axis=0)
    keep = np.concatenate([[True], np.hypot(*steps.T) > 1e-9])
    points = points[keep]
    steps = np.diff(points, axis=0)
    turn = np.degrees(
        np.arctan2(
            steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0],
            (steps[:-1] * steps[1:]).sum(axis=1),
        )
    )
    corners = [0, *(np.flatnonzero(np.abs(turn) > 25.0) + 1).tolist(), len(points) - 1]
    parts = [fit_polyline(points[a : b + 1]) for a, b in pairwise(corners)]
    return Curve.joined(parts)


def _sort_mark(parts: _Parts, label: Label, mark: Mark) -> None:
    if label.what is Extra.NOTCH:
        name = dict(mark.data).get("name", "")
        parts.ticks.append(Tick(np.array(mark.at), mark.place, name))
    elif label.what is Extra.DRILL:
        parts.drill_holes.append(mark.at)


def _bare(name: str, parts: _Parts) -> tuple[Bare, tuple[float, ...]]:
    if parts.fold is not None and not any(link.what[0] is Role.CENTRE for link in parts.edges):
        # the fold line is drawn in place of the centre
        parts.edges.append(Link(parts.fold, (Role.CENTRE, None, ""), "fold", parts.place))
    chain, gaps = chained(parts.edges, name)
    edges = tuple(
        Edge(name=link.what[2], role=link.what[0], curve=link.curve, side=link.what[1])
        for link in chain
    )
    ticks = [*parts.ticks, *_ticks_of_lines(parts.notch_lines, edges, name)]
    return (
        Bare(
            name=name, edges=edges, ticks=tuple(ticks), grain=parts.grain, fold=parts.fold,
            internal=tuple(parts.internal), drill_holes=tuple(parts.drill_holes),
            quantity=2 if name.startswith("sleeve") else 1, place=parts.place,
        ),
        gaps,
    )  # fmt: skip


def _ticks_of_lines(strokes: Iterable[Stroke], edges: tuple[Edge, ...], name: str) -> list[Tick]:
    """Notches drawn as short lines: the end that lies on the outline counts.

    A line that this program wrote says its edge and station itself.
    """
    ticks: list[Tick] = []
    for stroke in strokes:
        data = dict(stroke.data)
        at = _own_station(data, edges)
        if at is None:
            ends = (stroke.curve.start, stroke.curve.end)
            at = min(ends, key=lambda p: min(edge.curve.nearest(p)[1] for edge in edges))
        if stroke.curve.length > 40.0:
            raise LabelError(
                Problem(
                    f"a notch of {name} is a line of {stroke.curve.length:.0f} mm", stroke.place,
                    "notches are points or lines of up to 40 mm",
                )
            )  # fmt: skip
        edge = data.get("edge", "") if "at" in data else ""
        double = data.get("kind") == "double"
        tick = Tick(np.asarray(at), stroke.place, data.get("name", ""), double, edge)
        # of the two marks of a double notch, the first stands for both
        if not (double and any((t.name, t.edge) == (tick.name, tick.edge) for t in ticks)):
            ticks.append(tick)
    return ticks


def _own_station(data: dict[str, str], edges: tuple[Edge, ...]) -> np.ndarray | None:
    edge = next((e for e in edges if e.name and e.name == data.get("edge")), None)
    if edge is None or "at" not in data:
        return None
    try:
        return edge.curve.point_at(float(data["at"]))
    except ValueError:
        return None
