"""Drawings of closed outlines: pieces of a D6673 file, or outlines with no labels at all."""

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.findings import Finding, Status
from sleevewright.formats.d6673 import EDGE_PREFIX, NOTCH_LAYERS, Layer, PieceKey, normal_key
from sleevewright.geometry import Curve
from sleevewright.geometry.fitting import fit_polyline
from sleevewright.pattern import Edge, InternalLine, Role, Side
from sleevewright.reading.closing import Link, chained
from sleevewright.reading.drawing import Drawing, Group, Stroke, Words
from sleevewright.reading.edge_names import PIECES, normal
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.outline import Bare, Tick
from sleevewright.reading.recognition import Recognised, recognise, with_piece_names

Array = NDArray[np.float64]

#: degrees. A polyline that turns more at a vertex has a corner there (where no turn points say so).
CORNER = 25.0
#: mm. A turn or curve point belongs to the vertex within this.
SAME_VERTEX = 0.02
#: mm. How near a fitted curve keeps to the vertices: the chords themselves stray as much.
FIT = 0.01


@dataclass(slots=True)
class Sheet:
    """A group with its outline found.

    Attributes:
        name: piece name as the file says it; "" where it says none.
        size: "" where the group says none.
        curves: the outline between corners, a closed chain.
        known: edges with roles, where the file says them; else empty.
    """

    name: str
    size: str
    place: Place
    curves: tuple[Curve, ...] = ()
    known: tuple[Edge, ...] = ()
    ticks: list[Tick] = field(default_factory=list)
    grain: Curve | None = None
    fold: Curve | None = None
    internal: list[InternalLine] = field(default_factory=list)
    drill_holes: list[tuple[float, float]] = field(default_factory=list)
    quantity: int = 1
    material: str = ""


def numbered_sheets(drawing: Drawing) -> list[Sheet]:
    """Return the pieces of a file with D6673 layers.

    Raises:
        LabelError: a piece has no closed outline.
    """
    return [_numbered(group, drawing) for group in drawing.groups if _has_outline(group)]


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
    outline = sew or [s for s in group.strokes if s.label == Layer.CUT]
    names = [w for w in group.words if w.text.startswith(EDGE_PREFIX)]
    turns = _points(group, Layer.TURN_POINT)
    knots = _points(group, Layer.CURVE_POINT)
    if sew and names:
        sheet.known = _known_edges(sew, names, knots, name)
    else:
        links = [Link(s.curve, s, f"stroke on layer {s.label}", s.place) for s in outline]
        chain, _ = chained(links, name)
        points = np.concatenate([_vertices(link.curve) for link in chain])
        sheet.curves = between_corners(points, turns, knots)
    for stroke in group.strokes:
        if stroke.label == Layer.GRAIN:
            sheet.grain = stroke.curve
        elif stroke.label == Layer.MIRROR:
            sheet.fold = stroke.curve
        elif stroke.label == Layer.INTERNAL:
            sheet.internal.append(InternalLine(curve=stroke.curve))
        elif stroke.label in NOTCH_LAYERS:
            sheet.ticks.append(Tick(stroke.curve.start, stroke.place))
    for mark in group.marks:
        if mark.label in NOTCH_LAYERS:
            at = np.array(mark.at)
            if sew:
                at = _on_sewing_line(at, sew, [s for s in group.strokes if s.label == Layer.CUT])
            sheet.ticks.append(Tick(at, mark.place))
        elif mark.label == Layer.DRILL:
            sheet.drill_holes.append(mark.at)
    return sheet


def _on_sewing_line(at: Array, sew: list[Stroke], cut: list[Stroke]) -> Array:
    """Return where a notch on the cut line meets the sewing line: the nearest point of it."""
    if not any(stroke.curve.nearest(at)[1] < 1.0 for stroke in cut):
        return at
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


def _vertices(curve: Curve) -> Array:
    """Return the vertices of a closed polyline without its repeated last; curves are flattened."""
    if all(Curve([c]).is_straight(1e-9) for c in curve.controls[:8]):
        return np.array(curve.controls[:, 0])
    return curve.flattened(0.01)[:-1]


def _known_edges(
    sew: list[Stroke], names: list[Words], knots: Array, piece: str
) -> tuple[Edge, ...]:
    """Read our own files back: one sewing line an edge, named by the text at its middle."""
    links = []
    for stroke in sew:
        middle = stroke.curve.point_at(stroke.curve.length / 2)
        near = min(names, key=lambda w: float(np.hypot(*(np.array(w.at) - middle))))
        name = near.text[len(EDGE_PREFIX) :].split()[0]
        points = np.concatenate([stroke.curve.controls[:, 0], stroke.curve.controls[-1:, 3]])
        curve = fit_polyline(points, _matching(points, knots))
        links.append(Link(curve, name, name, stroke.place))
    chain, _ = chained(links, piece)
    return tuple(_edge_of_name(link.what, link.curve) for link in chain)


def _edge_of_name(name: str, curve: Curve) -> Edge:
    words = name.split(".")
    if words[0] not in set(Role):
        raise LabelError(f"edge {name!r} has no role that is known; roles are {', '.join(Role)}")
    side = next((Side(word) for word in words[1:] if word in set(Side)), None)
    return Edge(name=name, role=Role(words[0]), curve=curve, side=side)


def _matching(points: Array, marks: Array) -> list[int]:
    """Return the indices of vertices that have a mark within 0.02 mm."""
    if not len(marks) or not len(points):
        return []
    gaps = np.hypot(*np.moveaxis(points[:, None] - marks[None], -1, 0))
    return np.flatnonzero(gaps.min(axis=1) < SAME_VERTEX).tolist()


def between_corners(points: Array, turns: Array, knots: Array) -> tuple[Curve, ...]:
    """Cut a closed polyline at its corners and fit fair curves between them.

    Args:
        points: vertices without the repeated last one, shape (m, 2), mm.
        turns: turn points; where there are none corners are where the line turns by 25 degrees.
        knots: curve points, where the sender's curve had joints.
    """
    steps = np.diff(np.concatenate([points, points[:1]]), axis=0)
    keep = np.hypot(*steps.T) > 1e-9
    points = points[keep]
    corners = _matching(points, turns)
    if len(corners) < 3:
        corners = _sharp(points)
    if len(corners) < 3:
        raise LabelError(f"an outline has {len(corners)} corners; a piece has three or more")
    first = corners[0]
    points = np.concatenate([points[first:], points[:first], points[first : first + 1]])
    cuts = [c - first for c in corners] + [len(points) - 1]
    marked = _matching(points, knots)
    return tuple(
        fit_polyline(points[a : b + 1], [k - a for k in marked if a < k < b], FIT)
        for a, b in zip(cuts, cuts[1:], strict=False)
    )


def _sharp(points: Array) -> list[int]:
    """Return the vertices where the outline turns by more than 25 degrees."""
    into = points - np.roll(points, 1, axis=0)
    out = np.roll(points, -1, axis=0) - points
    turn = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1))
    return np.flatnonzero(np.abs(np.degrees(turn)) > CORNER).tolist()


def plain_sheets(drawing: Drawing, labels: LabelMap) -> list[Sheet]:
    """Return the closed outlines of a drawing without labels, each with what lies inside it.

    Raises:
        LabelError: nothing is closed, or a stroke belongs to no outline.
    """
    strokes = [s for g in drawing.groups for s in g.strokes]
    rings: list[tuple[Stroke, ...]] = []
    loose: list[Stroke] = []
    for stroke in strokes:
        closed = float(np.hypot(*(stroke.curve.end - stroke.curve.start))) < 1.0
        (rings.append((stroke,)) if closed else loose.append(stroke))
    rings += _rings_of(loose)
    sheets = []
    for ring in rings:
        curves = _corner_curves(ring)
        if curves is not None:
            sheets.append(Sheet("", "", ring[0].place, curves=curves))
    return _named_by_map(_largest_only(sheets), labels)


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
        return between_corners(_vertices(curve), np.zeros((0, 2)), np.zeros((0, 2)))
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


def _named_by_map(sheets: list[Sheet], labels: LabelMap) -> list[Sheet]:
    names = {name: piece for name, piece, _ in labels.pieces}
    found = []
    for i, sheet in enumerate(sheets, 1):
        piece = names.get(normal(f"outline {i}"), "")
        if piece != "ignore":
            sheet.name = piece
            found.append(sheet)
    return found


def bare_pieces(sheets: list[Sheet]) -> tuple[list[Bare], list[Finding]]:
    """Recognise the edges (and, where they have no names, the pieces) of sheets of one size.

    Raises:
        LabelError: doubt, with the line of a label map that settles it.
    """
    findings: list[Finding] = []
    found: list[tuple[str, Recognised | None, Sheet]] = []
    for i, sheet in enumerate(sheets, 1):
        name = _piece_name(sheet.name)
        if sheet.known:
            found.append((name or sheet.name.lower(), None, sheet))
            continue
        up = None
        if sheet.grain is not None:
            up = (sheet.grain.end - sheet.grain.start) / sheet.grain.chord
        called = sheet.name or f"outline {i}"
        found.append((name, recognise(sheet.curves, called, sheet.place, sheet.fold, up), sheet))
    named = with_piece_names([(name, seen) for name, seen, _ in found if seen is not None])
    names = iter(named)
    bares = []
    for name, seen, sheet in found:
        final = name if seen is None else next(names)[0]
        edges = sheet.known if seen is None else seen.edges
        if seen is not None:
            text = (
                f"recognised as {final}: {', '.join(e.role for e in edges)};"
                f" score {seen.score:.1f}, next best {seen.score - seen.margin:.1f}"
            )
            findings.append(Finding("recognition", Status.NOTED, final, text))
        bares.append(
            Bare(
                name=final, edges=edges, ticks=tuple(sheet.ticks), grain=sheet.grain,
                fold=sheet.fold, internal=tuple(sheet.internal),
                drill_holes=tuple(sheet.drill_holes), quantity=sheet.quantity,
                material=sheet.material, place=sheet.place,
            )
        )  # fmt: skip
    return bares, findings


def _piece_name(text: str) -> str:
    """Return the piece that a name means, or ""; a name may hold more words ("FRONT BODICE 38")."""
    plain = normal(text)
    if plain in PIECES:
        return PIECES[plain]
    hits = {PIECES[word] for word in plain.split("_") if word in PIECES}
    if len(hits) > 1:
        both = {"front", "back"} & hits
        return f"sleeve_{both.pop()}" if "sleeve" in hits and len(both) == 1 else ""
    return hits.pop() if hits else ""


def refuse_doubles(bares: list[Bare], file: str) -> None:
    """Refuse two pieces of one name.

    Raises:
        LabelError: there are two.
    """
    seen: dict[str, Bare] = {}
    for bare in bares:
        if bare.name in seen:
            raise LabelError(
                Problem(
                    f"there are two pieces {bare.name!r}: {seen[bare.name].place or 'one'} and"
                    f" {bare.place or 'another'}", Place(file),
                    "one front, one back, one sleeve of a size",
                    "rename one, or leave it out with ignore in a label map",
                )
            )  # fmt: skip
        seen[bare.name] = bare
