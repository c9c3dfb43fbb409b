"""Outlines of one piece each, and the pieces that they are.

A sheet is a closed outline with what lies in it; its edges are known from the file or recognised.
"""

from dataclasses import dataclass, field

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.geometry.region import signed_area
from sleevewright.pattern import Edge, InternalLine, Role
from sleevewright.reading.edge_names import PIECES, normal
from sleevewright.reading.label_map import LabelMap
from sleevewright.reading.outline import Bare, Tick
from sleevewright.reading.recognition import (
    BODICE,
    Recognised,
    count_runs,
    recognise,
    with_piece_names,
)
from sleevewright.reading.whole_pieces import half_chain, mirror_line, with_marks_folded


@dataclass(slots=True)
class Sheet:
    """A group with its outline found.

    Attributes:
        name: piece name as the file says it; "" where it says none.
        size: "" where the group says none.
        curves: the outline between corners, a closed chain.
        known: edges with roles, where the file says them; else empty.
        keys: what a label map may call it.
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
    keys: tuple[str, ...] = ()
    quantity: int = 1
    material: str = ""


def named_by_map(sheets: list[Sheet], labels: LabelMap) -> list[Sheet]:
    """Name outlines as the label map says, and leave out those that it says to ignore."""
    names = {name: piece for name, piece, _ in labels.pieces}
    found = []
    for i, sheet in enumerate(sheets, 1):
        sheet.keys = (normal(sheet.name), normal(f"outline {i}"))
        sheet.name = next((names[key] for key in sheet.keys if key in names), sheet.name)
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
        findings += _halve(sheet, name or f"outline {i}")
        up = None
        if sheet.grain is not None:
            up = (sheet.grain.end - sheet.grain.start) / sheet.grain.chord
        seen = recognise(sheet.curves, sheet.name or f"outline {i}", sheet.place, sheet.fold, up)
        found.append((name, seen, sheet))
    named = with_piece_names([(name, seen) for name, seen, _ in found if seen is not None])
    names = iter(named)
    bares = []
    for name, way, sheet in found:
        final = name if way is None else next(names)[0]
        edges = sheet.known if way is None else way.edges
        if way is not None:
            text = (
                f"recognised as {final}: {', '.join(e.role for e in edges)};"
                f" score {way.score:.1f}, next best {way.score - way.margin:.1f}"
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


def _halve(sheet: Sheet, name: str) -> list[Finding]:
    """Keep one half of an outline that is a whole bodice piece: symmetric, with eight edges."""
    curves = list(sheet.curves)
    if signed_area(curves) < 0:
        curves = [curve.reversed for curve in reversed(curves)]
    line = mirror_line(curves) if count_runs(curves) > len(BODICE) else None
    if line is None:
        return []
    parts, centre = half_chain(curves, line)
    bare = Bare(
        name=name, edges=tuple(Edge(name="", role=Role.HEM, curve=part) for _, part in parts),
        ticks=tuple(sheet.ticks), grain=sheet.grain, internal=tuple(sheet.internal),
        drill_holes=tuple(sheet.drill_holes),
    )  # fmt: skip
    half = with_marks_folded(bare, line)
    sheet.curves, sheet.fold = (*(part for _, part in parts), centre), centre
    sheet.ticks, sheet.grain = list(half.ticks), half.grain
    sheet.internal, sheet.drill_holes = list(half.internal), list(half.drill_holes)
    text = f"{name} is drawn whole; its half beside the mirror line was taken"
    return [Finding("reading", Status.NOTED, name, text)]


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
