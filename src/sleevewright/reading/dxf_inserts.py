"""Blocks that are inserted: what they expand to, counted before any is, and the expansion."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.geometry import Affine
from sleevewright.limits import DEEPEST_INSERT, Limits
from sleevewright.reading.dxf_document import Block, Document
from sleevewright.reading.dxf_entities import Entity

#: A scale below this flattens what is inserted.
SMALLEST_SCALE = 1e-6


class Size(NamedTuple):
    """What entities expand to.

    Attributes:
        inserts: placements of blocks.
        points: vertices and ends.
        depth: blocks within blocks.
    """

    inserts: int = 0
    points: int = 0
    depth: int = 0


class Placed(NamedTuple):
    """An entity where it comes to lie.

    Attributes:
        entity: as written.
        move: map of its drawing to mm.
        layer: its own, or its insert's where it lies on layer 0.
    """

    entity: Entity
    move: Affine
    layer: str


class Inserts:
    """The blocks of a file by name."""

    def __init__(self, document: Document) -> None:
        self.file = document.file
        self.named: dict[str, list[Block]] = {}
        for block in document.blocks:
            self.named.setdefault(block.name.casefold(), []).append(block)
        self.sizes: dict[str, Size] = {}

    def candidates(self, insert: Entity) -> list[Block]:
        """Return the blocks of the name that is inserted.

        Raises:
            ReadError: there is none.
        """
        found = self.named.get(insert.text.casefold())
        if not found:
            raise self.refuse(insert, f"block {insert.text!r} is inserted but not in the file")
        return found

    def block(self, insert: Entity) -> Block:
        """Return the block that is inserted.

        Raises:
            ReadError: it cannot be told.
        """
        block, *others = self.candidates(insert)
        if others:
            raise self.refuse(
                insert, f"several blocks are named {block.name!r}; which one is inserted cannot be told",
                "block names are unique, whatever their case", "rename one",
            )  # fmt: skip
        return block

    def refuse(self, insert: Entity, *words: str) -> ReadError:
        """Return the refusal of an insert."""
        found, allowed, remedy = (*words, "", "")[:3]
        return ReadError(Problem(found, insert.place(self.file), allowed, remedy))

    # --- counted --------------------------------------------------------------------------

    def check(self, roots: Iterable[Sequence[Entity]], limits: Limits) -> None:
        """Refuse what would expand beyond the limits, before any is expanded.

        Raises:
            ReadError: a circle, blocks nested too deep, too many inserts or points.
        """
        for blocks in self.named.values():
            self.size_of_block(blocks[0].name, ())
        sizes = [self.size(entities, ()) for entities in roots]
        place = Place(self.file)
        limits.refuse_more("inserts", sum(size.inserts for size in sizes), place)
        limits.refuse_more("points", sum(size.points for size in sizes), place)

    def size(self, entities: Sequence[Entity], trail: tuple[str, ...]) -> Size:
        """Return what entities expand to.

        Args:
            entities: of a block or of the drawing.
            trail: names of the blocks around them, outermost first.
        """
        inserts = points = depth = 0
        for entity in entities:
            if entity.kind != "INSERT":
                points += entity.points
                continue
            copies = _copies(entity, self)
            self.candidates(entity)
            inner = self.size_of_block(entity.text, trail)
            inserts += copies * (1 + inner.inserts)
            points += copies * inner.points + len(entity.attributes)
            depth = max(depth, 1 + inner.depth)
        return Size(inserts, points, depth)

    def size_of_block(self, name: str, trail: tuple[str, ...]) -> Size:
        """Return what the largest block of a name expands to."""
        key = name.casefold()
        names = [outer.casefold() for outer in trail]
        if key in names:
            circle = " -> ".join((*trail[names.index(key) :], name))
            raise ReadError(Problem(f"blocks insert themselves: {circle}", self.block_place(key)))
        if key not in self.sizes:
            if len(trail) >= DEEPEST_INSERT:
                raise self.too_deep(key)
            inside = [self.size(block.entities, (*trail, name)) for block in self.named[key]]
            self.sizes[key] = Size(*(max(values) for values in zip(*inside, strict=True)))
        if len(trail) + self.sizes[key].depth >= DEEPEST_INSERT:
            raise self.too_deep(key)
        return self.sizes[key]

    def block_place(self, key: str) -> Place:
        """Where the first block of a name stands."""
        block = self.named[key][0]
        return Place(self.file, block.line, within=f"block {block.name}")

    def too_deep(self, key: str) -> ReadError:
        """Return the refusal of blocks within blocks within blocks."""
        return ReadError(
            Problem("blocks are nested too deep", self.block_place(key),
                    f"{DEEPEST_INSERT} levels are allowed")
        )  # fmt: skip

    def reached(self, roots: Iterable[Sequence[Entity]]) -> set[str]:
        """Return the names, in one case, of the blocks that are inserted from entities on."""
        names: set[str] = set()
        todo = [entity for entities in roots for entity in entities]
        while todo:
            entity = todo.pop()
            name = entity.text.casefold()
            if entity.kind == "INSERT" and not entity.on_paper and name not in names:
                names.add(name)
                todo += [inner for block in self.candidates(entity) for inner in block.entities]
        return names

    # --- expanded -------------------------------------------------------------------------

    def flat(self, entities: Iterable[Entity], move: Affine, layer: str = "") -> Iterator[Placed]:
        """Yield entities where they come to lie, an INSERT before what it inserts.

        Args:
            entities: of a block or of the drawing.
            move: map of their drawing to mm.
            layer: of the insert that they come from; "" for none.
        """
        for entity in entities:
            own = layer if layer and entity.layer == "0" else entity.layer
            if entity.kind != "INSERT" or entity.on_paper:
                yield Placed(entity, move, own)
                continue
            block = self.block(entity)
            for attribute in entity.attributes:
                yield Placed(attribute, move, attribute.layer)
            for placing in self.placings(entity, block):
                yield Placed(entity, move @ placing, own)
                yield from self.flat(block.entities, move @ placing, own)

    def placings(self, insert: Entity, block: Block) -> Iterator[Affine]:
        """Yield the maps of a block's drawing to the drawing around it, one a copy."""
        n = insert.numbers
        x, y = n.get(41, 1.0), n.get(42, 1.0)
        if min(abs(x), abs(y)) < SMALLEST_SCALE:
            raise self.refuse(insert, f"it flattens its block (scale {x:g} by {y:g})")
        turn = Affine.rotation(n.get(50, 0.0))
        try:
            plane = plane_of(insert)
        except ValueError as error:
            raise self.refuse(insert, str(error)) from None
        scaled = turn @ Affine.scaling(x, y) @ Affine.translation((-block.base[0], -block.base[1]))
        columns, rows = max(1, int(n.get(70, 1))), max(1, int(n.get(71, 1)))
        for row in range(rows):
            for column in range(columns):
                offset = turn.apply((column * n.get(44, 0.0), row * n.get(45, 0.0)))
                at = (n[10] + float(offset[0]), n[20] + float(offset[1]))
                yield plane @ Affine.translation(at) @ scaled


def _copies(insert: Entity, inserts: Inserts) -> int:
    """Columns times rows of an arrayed insert."""
    columns, rows = int(insert.numbers.get(70, 1)), int(insert.numbers.get(71, 1))
    if columns < 0 or rows < 0:
        raise inserts.refuse(insert, f"an array of {columns} columns and {rows} rows")
    return max(1, columns) * max(1, rows)


def plane_of(entity: Entity) -> Affine:
    """Return the map of an entity's own plane: mirrored where its extrusion points down.

    Raises:
        ValueError: it lies in another plane than the drawing's.
    """
    n = entity.numbers
    x, y, z = n.get(210, 0.0), n.get(220, 0.0), n.get(230, 1.0)
    if z == 0 or max(abs(x), abs(y)) > 1e-6 * abs(z):
        raise ValueError(f"a {entity.kind} is tilted out of the drawing's plane")
    return Affine.scaling(-1.0, 1.0) if z < 0 else Affine.identity()
