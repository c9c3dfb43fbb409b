"""A DXF file as a `Document`: its unit, its blocks and what is drawn, checked for its shape and its size."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import Limits
from sleevewright.reading.dxf_entities import Entity, Vertex, entity_of, vertex_of
from sleevewright.reading.dxf_tags import Record, records
from sleevewright.reading.dxf_text import read_text
from sleevewright.reading.dxf_words import LOST

_EXTERNAL = 4  # flag of a block that stands in another file


@dataclass(frozen=True, slots=True)
class Block:
    """A block.

    Attributes:
        name: as written.
        line: of the file, where it begins.
        base: the point that an insert places, in the drawing's unit.
        external: whether its contents stand in another file, which is never read.
        entities: in the order of the file.
    """

    name: str
    line: int
    base: tuple[float, float]
    external: bool
    entities: tuple[Entity, ...]

    @property
    def is_layout(self) -> bool:
        """Whether it is the drawing itself, a sheet of paper or made by a program for its own use."""
        return self.name.startswith("*")


@dataclass(frozen=True, slots=True)
class Document:
    """A file.

    Attributes:
        file: its path as given.
        units: $INSUNITS as written; "" where the file has none.
        blocks: in the order of the file; several may have one name.
        entities: of the drawing, in the order of the file.
        notes: what had to be assumed or replaced, a sentence each.
    """

    file: str
    units: str
    blocks: tuple[Block, ...]
    entities: tuple[Entity, ...]
    notes: tuple[str, ...]

    def everything(self) -> Iterator[Entity]:
        """Yield the entities of all blocks and of the drawing, as written."""
        for block in self.blocks:
            yield from block.entities
        yield from self.entities


def load(path: Path, limits: Limits = Limits()) -> Document:
    """Read a file.

    Raises:
        ReadError: with the line, for anything that must not go on.
    """
    decoded = read_text(path, limits)
    loader = _Loader(str(path), limits)
    for record in records(decoded.text, str(path), 8 * limits.points):
        loader.take(record)
    return loader.document(decoded.notes)


class _Loader:
    """Takes the records of a file one by one."""

    def __init__(self, file: str, limits: Limits) -> None:
        self.file = file
        self.limits = limits
        self.units = ""
        self.section = ""
        self.sections: dict[str, int] = {}
        self.ended = 0
        self.blocks: list[Block] = []
        self.block: Entity | None = None
        self.within: list[Entity] = []  # of the block
        self.entities: list[Entity] = []
        self.open: Entity | None = None  # a POLYLINE or an INSERT whose parts follow
        self.vertices: list[Vertex] = []
        self.attributes: list[Entity] = []
        self.elements = self.points = self.lost = 0

    def refuse(self, found: str, line: int, allowed: str = "") -> ReadError:
        return ReadError(Problem(found, Place(self.file, line), allowed))

    def take(self, record: Record) -> None:
        if self.ended:
            raise self.refuse("something follows EOF", record.line)
        if not self.sections and record.kind != "SECTION":
            raise self.refuse("not a DXF file: it does not begin with a section", record.line)
        if record.kind == "EOF":
            self.end_of_file(record)
        elif record.kind == "SECTION":
            self.begin_section(record)
        elif not self.section:
            raise self.refuse(f"{record.kind[:24]!r} stands outside any section", record.line)
        elif record.kind == "ENDSEC":
            self.end_section(record)
        elif self.section in ("BLOCKS", "ENTITIES"):
            self.drawn(record)

    # --- sections -------------------------------------------------------------------------

    def begin_section(self, record: Record) -> None:
        if self.section:
            raise self.refuse(f"section {self.section} has no ENDSEC", record.line)
        name = str(record.tags[0][1]).strip() if record.tags and record.tags[0][0] == 2 else ""
        if not name:
            raise self.refuse("a section has no name", record.line)
        if name in self.sections:
            raise self.refuse(
                f"a second section {name[:24]!r}; the first is in line {self.sections[name]}",
                record.line, "one of each is allowed",
            )  # fmt: skip
        self.section = name
        self.sections[name] = record.line
        if name == "HEADER":
            tags = record.tags
            for (_, variable), (code, value) in zip(tags, tags[1:], strict=False):
                if variable == "$INSUNITS" and code == 70:
                    self.units = str(value).strip()

    def end_section(self, record: Record) -> None:
        if self.open is not None:
            self.close(self.open, record)
        if self.block is not None:
            raise self.refuse(f"block {self.block.text!r} has no ENDBLK", self.block.line)
        self.section = ""

    def end_of_file(self, record: Record) -> None:
        if self.section:
            raise self.refuse(
                f"the file is cut off: section {self.section} has no ENDSEC", record.line
            )
        self.ended = record.line

    # --- what is drawn --------------------------------------------------------------------

    def drawn(self, record: Record) -> None:
        entity = entity_of(record, self.file)
        self.count(entity)
        if self.open is not None and self.is_part(self.open, entity):
            return
        if entity.kind in ("VERTEX", "SEQEND", "ATTRIB"):
            raise self.refuse(f"a {entity.kind} belongs to nothing", entity.line)
        if self.section == "BLOCKS" and entity.kind == "BLOCK":
            if self.block is not None:
                raise self.refuse(f"block {self.block.text!r} has no ENDBLK", self.block.line)
            self.block = entity
        elif self.section == "BLOCKS" and self.block is None:
            raise self.refuse(f"{entity.kind[:24]!r} stands outside any block", entity.line)
        elif entity.kind == "ENDBLK":
            self.end_block(entity)
        elif entity.kind in ("POLYLINE", "INSERT"):
            self.open = entity
        else:
            self.put(entity)

    def count(self, entity: Entity) -> None:
        place = Place(self.file, entity.line)
        if entity.kind == "VERTEX":
            self.points += 1
        elif entity.kind not in ("SEQEND", "ENDBLK"):
            self.elements += 1
            self.points += entity.points
        self.limits.refuse_more("elements", self.elements, place)
        self.limits.refuse_more("points", self.points, place)
        self.lost += LOST in entity.text or LOST in entity.layer

    def is_part(self, whole: Entity, entity: Entity) -> bool:
        """Take a part of what is open; close that where this is none."""
        if whole.kind == "POLYLINE" and entity.kind == "VERTEX":
            vertex = vertex_of(entity)
            self.vertices += [vertex] if vertex is not None else []
            return True
        if whole.kind == "INSERT" and entity.kind == "ATTRIB":
            self.attributes.append(entity)
            return True
        self.close(whole, entity)
        return entity.kind == "SEQEND"

    def close(self, entity: Entity, by: Entity | Record) -> None:
        if by.kind != "SEQEND" and (entity.kind == "POLYLINE" or self.attributes):
            raise self.refuse(f"a {entity.kind} has no SEQEND", entity.line)
        self.put(replace(entity, vertices=tuple(self.vertices), attributes=tuple(self.attributes)))
        self.open, self.vertices, self.attributes = None, [], []

    def put(self, entity: Entity) -> None:
        (self.within if self.block is not None else self.entities).append(entity)

    def end_block(self, entity: Entity) -> None:
        block = self.block
        if block is None:
            raise self.refuse("an ENDBLK ends no block", entity.line)
        n = block.numbers
        self.blocks.append(
            Block(
                name=block.text,
                line=block.line,
                base=(n.get(10, 0.0), n.get(20, 0.0)),
                external=bool(int(n.get(70, 0)) & _EXTERNAL),
                entities=tuple(self.within),
            )
        )
        self.block, self.within = None, []

    def document(self, notes: tuple[str, ...]) -> Document:
        if not self.ended:
            raise self.refuse("the file is cut off: it does not end with EOF", 0)
        if self.lost:
            notes = (
                *notes,
                f"{self.lost} names or texts hold {LOST!r}, which stands for a lost character",
            )
        return Document(self.file, self.units, tuple(self.blocks), tuple(self.entities), notes)
