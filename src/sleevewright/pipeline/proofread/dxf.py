"""DXF read again: every group of two lines, by code that shares nothing with the writer's."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from sleevewright.formats.d6673 import EDGE_PREFIX, Layer, PieceKey, StyleKey
from sleevewright.formats.line_styles import LineKind
from sleevewright.pattern.piece import Lettering
from sleevewright.pattern.result import Result
from sleevewright.pipeline.proofread.agreeing import Array, MismatchError, near, near_each, same
from sleevewright.writing.ascii_text import transliterated
from sleevewright.writing.sheet import SheetPiece, lay_out

_SECTIONS = ["HEADER", "TABLES", "BLOCKS", "ENTITIES"]
_CHORDS = 0.05  # mm, and a thousandth of the length: what chords may cut off a line
_CUT_OFF = 83  # letters that are left of a text that is longer than R12 can hold

#: Group codes of each kind of record, and values that no record may have otherwise.
_FORMS: dict[str, set[int]] = {
    "POLYLINE": {8, 66, 10, 20, 30, 70}, "LINE": {8, 10, 20, 11, 21}, "TEXT": {8, 10, 20, 40, 50, 1},
    "INSERT": {8, 2, 10, 20}, "BLOCK": {8, 2, 3, 70, 10, 20},
}  # fmt: skip
_POINTS = ({8, 10, 20}, {8, 10, 20, 30, 39, 50})  # the second of notches
_FIXED: dict[str, dict[int, str]] = {
    "POLYLINE": {66: "1", 70: "0", 10: "0.0", 20: "0.0", 30: "0.0"},
    "BLOCK": {70: "0", 10: "0.0", 20: "0.0"},
}

#: (kind, layer) of all that stands in a block.
_KNOWN = frozenset(
    {
        ("POLYLINE", Layer.CUT), ("POLYLINE", Layer.SEW), ("POLYLINE", Layer.INTERNAL),
        ("LINE", Layer.MIRROR), ("LINE", Layer.GRAIN), ("POINT", Layer.NOTCH),
        ("POINT", Layer.DRILL), ("POINT", Layer.TURN_POINT), ("POINT", Layer.CURVE_POINT),
        ("TEXT", Layer.ANNOTATION), ("TEXT", Layer.CUT),
    }
)  # fmt: skip


@dataclass(slots=True)
class Entity:
    """A record of the file.

    Attributes:
        kind: POLYLINE, TEXT ...
        values: group code -> value as written.
        points: vertices of a polyline.
    """

    kind: str
    values: dict[int, str]
    points: list[tuple[float, float]] = field(default_factory=list)

    @property
    def layer(self) -> str:
        """Its layer."""
        return self.values[8]

    def numbers(self, *codes: int) -> list[float]:
        """Return the values of group codes as numbers."""
        return [float(self.values[code]) for code in codes]


@dataclass(slots=True)
class Drawn:
    """What a file holds.

    Attributes:
        blocks: name -> entities.
        placed: entities of the drawing itself.
    """

    blocks: dict[str, list[Entity]] = field(default_factory=dict)
    placed: list[Entity] = field(default_factory=list)


def read_dxf(data: bytes) -> Drawn:
    """Read a DXF file of ours.

    Raises:
        ValueError, KeyError, IndexError: it is none, is cut off, or a block is without a closed cut line.
    """
    drawn, sections = Drawn(), []
    section, into = "", drawn.placed
    for entity in _records(data.decode("ascii")):
        kind, values = entity.kind, entity.values
        if section in ("BLOCKS", "ENTITIES"):
            _refuse_other_forms(entity)
        if kind == "SECTION":
            section = values[2]
            sections.append(section)
        elif kind == "BLOCK":
            same(f"block {values[2]!r} stands twice", values[2] in drawn.blocks, False)
            into = drawn.blocks[values[2]] = []
        elif kind == "ENDBLK":
            into = drawn.placed
        elif kind == "ENDSEC":
            section = ""
        elif section in ("BLOCKS", "ENTITIES"):
            into.append(entity)
    same("sections", sections, _SECTIONS)
    if not drawn.blocks:
        raise ValueError("no piece is in it")
    for name, entities in drawn.blocks.items():
        (cut,) = _of(entities, "POLYLINE", Layer.CUT)
        if len(cut.points) < 4 or cut.points[0] != cut.points[-1]:
            raise ValueError(f"the cut line of {name} is not closed")
    return drawn


def compare_dxf(data: bytes, result: Result) -> None:
    """Compare a file with the sheet of a result: lines, notches, texts, every piece.

    Raises:
        ValueError, KeyError, IndexError: it cannot be read, or is something else.
    """
    drawn, sheet = read_dxf(data), lay_out(result)
    same("number of pieces", len(drawn.blocks), len(sheet.pieces))
    texts = [entity.values[1] for entity in drawn.placed if entity.kind == "TEXT"]
    for key, value in ((StyleKey.UNITS, "METRIC"), (StyleKey.SAMPLE_SIZE, sheet.size)):
        _reads("the file", [t for t in texts if t.startswith(f"{key}: ")], f"{key}: {value}")
    inserts = [entity for entity in drawn.placed if entity.kind == "INSERT"]
    same("blocks that are placed", [e.values[2] for e in inserts], list(drawn.blocks))
    shifts = [placed.shift for placed in sheet.pieces]
    near("places of the pieces", [e.numbers(10, 20) for e in inserts], shifts)
    for entities, placed in zip(drawn.blocks.values(), sheet.pieces, strict=True):
        _Block(entities, placed).compare(sheet.size)


def _records(text: str) -> Iterator[Entity]:
    """Yield the records of a file, each once it is complete, the end of the file left out."""
    lines = text.split("\n")
    if len(lines) % 2 == 0 or lines[-3:] != ["  0", "EOF", ""]:
        raise ValueError("it is cut off: it does not end with EOF")
    codes, values = [int(line) for line in lines[:-1:2]], lines[1::2]
    starts = [i for i, code in enumerate(codes) if code == 0]
    if starts[0] != 0:
        raise ValueError("it does not begin with a section")
    polyline: Entity | None = None
    for a, b in pairwise(starts):
        kind = values[a]
        if kind == "VERTEX" and polyline is not None:
            if codes[a + 1 : b] != [8, 10, 20] or values[a + 1] != polyline.layer:
                raise ValueError(f"a vertex in line {2 * a + 1} is damaged")
            polyline.points.append((float(values[a + 2]), float(values[a + 3])))
        elif kind == "SEQEND" and polyline is not None:
            yield polyline
            polyline = None
        else:
            entity = Entity(kind, dict(zip(codes[a + 1 : b], values[a + 1 : b], strict=True)))
            if kind == "POLYLINE":
                polyline = entity
            else:
                yield entity


def _refuse_other_forms(entity: Entity) -> None:
    codes = entity.values.keys()
    usual = codes in _POINTS if entity.kind == "POINT" else codes == _FORMS.get(entity.kind, codes)
    fixed = _FIXED.get(entity.kind, {})
    if not usual or any(entity.values[code] != value for code, value in fixed.items()):
        raise ValueError(f"a {entity.kind} has another form than ours: {str(entity.values)[:80]}")


def _reads(what: str, found: list[str], wanted: str) -> None:
    """One text says this, as a CAD program shows it: its control codes undone."""
    same(f"{what}: number of texts like {wanted!r}", len(found), 1)
    shown = found[0].replace("%%%", "%").replace("^ ", "^")
    plain = transliterated(wanted)
    same(f"{what}: text", shown, plain[:_CUT_OFF] if len(shown) == _CUT_OFF else plain)


def _of(entities: list[Entity], kind: str, layer: Layer) -> list[Entity]:
    return [entity for entity in entities if entity.kind == kind and entity.layer == layer]


class _Block:
    """A block beside the piece that it should be."""

    def __init__(self, entities: list[Entity], placed: SheetPiece) -> None:
        self.entities = entities
        self.placed = placed
        self.name = placed.piece.name

    def compare(self, size: str) -> None:
        kinds = Counter((entity.kind, entity.layer) for entity in self.entities)
        same(
            f"{self.name}: what is neither line, point nor text", sorted(kinds - _known(kinds)), []
        )
        self.lines()
        self.marks()
        self.texts(size)

    def lines(self) -> None:
        sews = self.polylines(Layer.SEW)
        of_edges = [f"{self.name}: sewing line {edge.name}" for edge in self.placed.piece.edges]
        wanted = [edge.curve.flattened() for edge in self.placed.piece.edges]
        near_each(of_edges, sews, wanted)
        for what, line, edge in zip(of_edges, sews, self.placed.piece.edges, strict=True):
            _as_long(what, line, edge.length)
        cut = self.polylines(Layer.CUT)
        near_each([f"{self.name}: cut line"], cut, [self.placed.lines[0].curve.flattened()])
        finish = self.placed.piece.finish
        _as_long(f"{self.name}: cut line", cut[0], finish.cut_perimeter if finish else 0.0)
        inner = self.placed.of_kind(LineKind.INTERNAL)
        near_each(
            [f"{self.name}: internal line {line.name!r}" for line in inner],
            self.polylines(Layer.INTERNAL), [line.curve.flattened() for line in inner],
        )  # fmt: skip
        for layer, kind in ((Layer.GRAIN, LineKind.GRAIN), (Layer.MIRROR, LineKind.FOLD)):
            found = [e.numbers(10, 20, 11, 21) for e in _of(self.entities, "LINE", layer)]
            laid = [[*line.curve.start, *line.curve.end] for line in self.placed.of_kind(kind)]
            near(f"{self.name}: {kind}", found, laid)

    def marks(self) -> None:
        found = [e.numbers(10, 20, 30, 39) for e in _of(self.entities, "POINT", Layer.NOTCH)]
        cuts = [notch.cut for notch in self.placed.notches]
        near(f"{self.name}: notches", found, [[*c.point, c.depth, c.width] for c in cuts])
        turns = [e.numbers(50)[0] for e in _of(self.entities, "POINT", Layer.NOTCH)]
        ways = [[math.cos(math.radians(turn)), math.sin(math.radians(turn))] for turn in turns]
        near(f"{self.name}: directions of notches", ways, [c.direction for c in cuts], 1e-5)
        holes = self.points(Layer.DRILL)
        near(f"{self.name}: drill holes", holes, np.reshape(self.placed.piece.drill_holes, (-1, 2)))
        self.shape()

    def shape(self) -> None:
        """Turn and curve points lie on the lines; every end of an edge is a turn point."""
        lines = [*self.polylines(Layer.CUT), *self.polylines(Layer.SEW)]
        vertices = np.concatenate([*lines, *self.polylines(Layer.INTERNAL)])
        turns = self.points(Layer.TURN_POINT)
        if _farthest(np.concatenate([turns, self.points(Layer.CURVE_POINT)]), vertices) > 2e-4:
            raise MismatchError(f"{self.name}: a turn or curve point is on no line")
        ends = np.array([edge.curve.start for edge in self.placed.piece.edges])
        if _farthest(ends, turns) > 2e-4:
            raise MismatchError(f"{self.name}: a corner has no turn point")

    def texts(self, size: str) -> None:
        said = _of(self.entities, "TEXT", Layer.ANNOTATION)
        edges = self.placed.piece.edges
        laid = self.placed.texts
        wanted = [*(EDGE_PREFIX + edge.name for edge in edges), *(line.text for line in laid)]
        same(f"{self.name}: number of texts", len(said), len(wanted))
        for entity, text in zip(said, wanted, strict=True):
            _reads(self.name, [entity.values[1]], text)
        labels, lettering = said[: len(edges)], said[len(edges) :]
        for entity, line, edge in zip(labels, self.polylines(Layer.SEW), edges, strict=True):
            near(
                f"{self.name}: the name of {edge.name}", entity.numbers(10, 20), _middle(line), 2e-3
            )
        found = [entity.numbers(10, 20, 40, 50) for entity in lettering]
        near(f"{self.name}: lettering", found, [_placed(line) for line in laid])
        system = [entity.values[1] for entity in _of(self.entities, "TEXT", Layer.CUT)]
        piece = self.placed.piece
        for key, value in (
            (PieceKey.NAME, piece.name.upper()), (PieceKey.SIZE, size),
            (PieceKey.QUANTITY, str(piece.quantity)), (PieceKey.MATERIAL, piece.material.upper()),
        ):  # fmt: skip
            of_key = [text for text in system if text.startswith(f"{key}: ")]
            if value:
                _reads(self.name, of_key, f"{key}: {value}")
            else:
                same(f"{self.name}: texts {key!s}", of_key, [])

    def polylines(self, layer: Layer) -> list[Array]:
        return [np.array(entity.points) for entity in _of(self.entities, "POLYLINE", layer)]

    def points(self, layer: Layer) -> Array:
        found = [entity.numbers(10, 20) for entity in _of(self.entities, "POINT", layer)]
        return np.array(found, dtype=float).reshape(-1, 2)


def _known(kinds: Counter[tuple[str, str]]) -> Counter[tuple[str, str]]:
    return Counter({kind: count for kind, count in kinds.items() if kind in _KNOWN})


def _as_long(what: str, line: Array, length: float) -> None:
    """A polyline is as long as the curve it is of, by the curve's own measure."""
    steps = np.diff(line, axis=0)
    near(f"the length of {what}", np.hypot(steps[:, 0], steps[:, 1]).sum(), length,
         _CHORDS + 1e-3 * length)  # fmt: skip


def _middle(line: Array) -> Array:
    """Return the point half way along a polyline."""
    steps = np.diff(line, axis=0)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    return np.array([np.interp(run[-1] / 2, run, line[:, axis]) for axis in (0, 1)])


def _farthest(points: Array, among: Array) -> float:
    """Return how far the one of some points is that is farthest from all of others."""
    if not len(points):
        return 0.0
    if not len(among):
        return math.inf
    off = points[:, None] - among[None]
    return float(np.sqrt((off**2).sum(axis=2).min(axis=1).max()))


def _placed(line: Lettering) -> list[float]:
    return [*line.at, line.height, line.angle % 360.0]
