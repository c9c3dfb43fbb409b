"""DXF to `Drawing`: units, blocks and inserts, every kind of line.

A file whose layers are numbers is read by the conventions of ASTM D6673: a group a BLOCK. Any other
is read from model space, inserts expanded, each line with the name of its layer. What is not read is
counted and listed: what was read and what was passed over are together all that the file holds.
"""

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.formats.d6673 import Layer, PieceKey, StyleKey, normal_key
from sleevewright.geometry import Affine
from sleevewright.limits import LARGEST_COORDINATE, Limits
from sleevewright.reading.drawing import Drawing, Group, Mark, Stroke, Words
from sleevewright.reading.dxf_census import (
    BESIDE,
    ELSEWHERE,
    NO_LENGTH,
    NOT_DRAWN,
    NOT_INSERTED,
    Census,
)
from sleevewright.reading.dxf_curves import CURVES, curves_of, height_of
from sleevewright.reading.dxf_document import Document, load
from sleevewright.reading.dxf_entities import Entity
from sleevewright.reading.dxf_inserts import Inserts, Placed, plane_of
from sleevewright.reading.dxf_units import UNITS, refuse_unit, unit_of

_STYLE_KEYS = {normal_key(key) for key in StyleKey}
_TEXTS = ("TEXT", "MTEXT", "ATTRIB")


def read_dxf(path: Path, units: str | None = None, limits: Limits = Limits()) -> Drawing:
    """Read a DXF file.

    Args:
        path: the file.
        units: "mm", "cm" or "in" for one unit of the drawing; stands above what the file says.
        limits: of its size, and of what its blocks expand to.

    Raises:
        ReadError: with line, layer or handle, for anything that cannot be read exactly.
    """
    try:
        return _Reader(load(path, limits), limits).read(units)
    except (ReadError, MemoryError):
        raise
    except Exception as error:
        fault = f"a fault of this program, not of the file: {type(error).__name__}: {error}"
        raise ReadError(Problem(fault, Place(str(path)))) from error


class _Reader:
    """Reads one document."""

    def __init__(self, document: Document, limits: Limits) -> None:
        self.document = document
        self.file = document.file
        self.limits = limits
        self.inserts = Inserts(document)
        self.census = Census(document.file)
        self.mm = 1.0

    def read(self, units: str | None) -> Drawing:
        pieces = [block for block in self.document.blocks if not block.is_layout]
        model = self.document.entities
        in_blocks = any(_is_boundary(e) for block in pieces for e in block.entities)
        numbered = in_blocks or any(_is_boundary(entity) for entity in model)
        roots = [block.entities for block in pieces] if in_blocks else [model]
        self.inserts.check(roots, self.limits)
        self.note_file()
        self.mm = UNITS[units] if units is not None else self.unit(roots)
        if in_blocks:
            groups = [self.group(block.name, block.entities) for block in pieces if block.entities]
            self.beside_blocks(model)
        else:
            groups = [self.group("", model)]
        self.not_reached(roots)
        return Drawing(
            file=self.file, numbered=numbered, groups=tuple(groups), size=_size(groups),
            findings=tuple(self.census.findings()), counts=self.census.counts,
        )  # fmt: skip

    def unit(self, roots: Sequence[Iterable[Entity]]) -> float:
        """Return mm in one unit, by what the file says."""
        mm, odd = unit_of(self.document)
        self.census.note(odd)
        if mm:
            return mm
        plain = _Reader(self.document, self.limits)
        strokes = [s for entities in roots for s in plain.group("", entities, within=1e12).strokes]
        box = np.array([stroke.curve.bounds for stroke in strokes] or [(0.0, 0.0, 0.0, 0.0)])
        width, height = box[:, 2:].max(axis=0) - box[:, :2].min(axis=0)
        raise refuse_unit(self.document, float(width), float(height))

    # --- what is odd, and what is passed over ---------------------------------------------

    def note_file(self) -> None:
        for text in self.document.notes:
            self.census.note(text)
        for blocks in self.inserts.named.values():
            name = blocks[0].name
            if len(blocks) > 1:
                self.census.note(f"{len(blocks)} blocks are named {name!r}; they are kept apart")
            if any(block.external for block in blocks):
                self.census.note(f"block {name!r} stands in another file, which is not read")

    def beside_blocks(self, model: Iterable[Entity]) -> None:
        """Count what lies in model space of a file whose pieces are its blocks."""
        for entity in model:
            key, colon, _ = entity.text.partition(":")
            if entity.on_paper:
                self.census.pass_over([entity], ELSEWHERE)
            elif entity.kind == "INSERT":
                self.check_piece(entity)
                self.census.read("INSERT")
                self.census.pass_over(entity.attributes, BESIDE)
            elif entity.kind in _TEXTS and colon and normal_key(key) in _STYLE_KEYS:
                self.census.read(entity.kind)
            else:
                self.census.pass_over([entity], BESIDE)

    def check_piece(self, insert: Entity) -> None:
        """Refuse an insert that would make another size of a piece."""
        block = self.inserts.candidates(insert)[0]
        x, y = insert.numbers.get(41, 1.0), insert.numbers.get(42, 1.0)
        if any(abs(abs(scale) - 1.0) > 1e-9 for scale in (x, y)):
            raise self.inserts.refuse(
                insert, f"block {block.name!r} is inserted at a scale of {x:g} by {y:g}",
                "pieces are read from their blocks, at the size drawn there", "insert it at scale 1",
            )  # fmt: skip

    def not_reached(self, roots: Sequence[Sequence[Entity]]) -> None:
        """Count what stands in blocks that nothing inserts."""
        read = {id(entities) for entities in roots}
        reached = self.inserts.reached(roots)
        for block in self.document.blocks:
            if id(block.entities) not in read and block.name.casefold() not in reached:
                why = ELSEWHERE if block.is_layout else NOT_INSERTED
                self.census.pass_over(block.entities, why)

    # --- entities -------------------------------------------------------------------------

    def group(
        self, name: str, entities: Iterable[Entity], within: float = LARGEST_COORDINATE
    ) -> Group:
        """Return what entities draw.

        Args:
            name: of the group.
            entities: of a block or of model space.
            within: how far from the origin they may lie, mm.
        """
        strokes: list[Stroke] = []
        marks: list[Mark] = []
        words: list[Words] = []
        for placed in self.inserts.flat(entities, Affine.scaling(self.mm, self.mm)):
            try:
                drawn = self.drawn(placed, within)
            except ValueError as error:
                raise ReadError(Problem(str(error), placed.entity.place(self.file))) from None
            strokes += [thing for thing in drawn if isinstance(thing, Stroke)]
            marks += [thing for thing in drawn if isinstance(thing, Mark)]
            words += [thing for thing in drawn if isinstance(thing, Words)]
        return Group(name=name, strokes=tuple(strokes), marks=tuple(marks), words=tuple(words))

    def drawn(self, placed: Placed, within: float) -> list[Stroke | Mark | Words]:
        """Return what one entity draws, and count it as read or passed over."""
        entity, kind = placed.entity, placed.entity.kind
        if entity.on_paper:
            self.census.pass_over([entity], ELSEWHERE)
            return []
        if kind == "INSERT":
            self.read_insert(entity)
            return []
        label, place = _label(placed.layer), entity.place(self.file)
        found: list[Stroke | Mark | Words] = []
        why = NO_LENGTH
        if kind == "POINT" or (kind == "CIRCLE" and _is_mark(placed.layer)):
            found.append(Mark(at=_at(placed), label=label, place=place))
        elif kind in CURVES:
            for curve, polyline in curves_of(entity, self.mm):
                moved = curve.transformed(placed.move)
                found.append(Stroke(curve=moved, label=label, place=place, polyline=polyline))
            if height_of(entity):
                self.census.note("parts of the drawing lie off its plane; taken as flat")
        elif kind in _TEXTS:
            found.append(Words(text=entity.text, at=_at(placed), label=label, place=place))
        else:
            why = NOT_DRAWN
        _check_extent(found, within)
        if found:
            self.census.read(kind)
        else:
            self.census.pass_over([entity], why)
        return found

    def read_insert(self, insert: Entity) -> None:
        self.census.read("INSERT")
        x, y = insert.numbers.get(41, 1.0), insert.numbers.get(42, 1.0)
        if abs(abs(x) - abs(y)) > 1e-9 * max(abs(x), abs(y)):
            self.census.note(f"block {insert.text!r} is inserted at a scale of {x:g} by {y:g}")


def _size(groups: list[Group]) -> str:
    """Return the size that a file of one group names; "" for none."""
    for words in groups[0].words if len(groups) == 1 else ():
        key, colon, value = words.text.partition(":")
        if colon and normal_key(key) == normal_key(PieceKey.SIZE):
            return value.strip()
    return ""


def _is_boundary(entity: Entity) -> bool:
    """Whether it is the outline of a piece by D6673."""
    return entity.layer == Layer.CUT and entity.kind in ("POLYLINE", "LWPOLYLINE", "LINE", "SPLINE")


def _at(placed: Placed) -> tuple[float, float]:
    """Where a point, circle or text lies, mm."""
    entity = placed.entity
    own = Affine.identity() if entity.kind in ("POINT", "MTEXT") else plane_of(entity)
    x, y = (placed.move @ own).apply((entity.numbers[10], entity.numbers[20]))
    return float(x), float(y)


def _check_extent(found: list[Stroke | Mark | Words], within: float) -> None:
    for thing in found:
        points = thing.curve.controls if isinstance(thing, Stroke) else np.array(thing.at)
        if not np.abs(points).max() <= within:
            raise ValueError(f"a coordinate is beyond {within / 1000:g} m; is the unit right?")


def _label(layer: str) -> str:
    return layer if layer.isdigit() else f" / {layer}"


def _is_mark(layer: str) -> bool:
    return re.search("notch|drill", layer, re.IGNORECASE) is not None
