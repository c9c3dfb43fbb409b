"""Which variants a library has, which of them are stale, and why."""

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sleevewright.errors import (
    LabelError,
    OperationError,
    Place,
    Problem,
    ReadError,
    RecipeError,
    did_you_mean,
)
from sleevewright.pipeline.fingerprint import digest_of_bytes, tool_version
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.places import variant_key
from sleevewright.pipeline.sources import Block, RecipeSource
from sleevewright.pipeline.state import Output, Record, State
from sleevewright.print_settings import PrintSettings

if TYPE_CHECKING:
    from sleevewright.operations.registry import Registry

Settings = tuple[tuple[str, str], ...]

#: What is wrong with one source; where the record cannot be written, nothing can be told of any.
_OF_A_SOURCE = (ReadError, LabelError, RecipeError, OperationError)


@dataclass(frozen=True, slots=True)
class Variant:
    """A block of one size by a recipe with settings.

    Attributes:
        key: BLOCK/RECIPE/[SETTINGS/]SIZE, its place under the output folder.
        block, recipe: the sources.
        settings: (param, value as written).
        size: of the block.
    """

    key: str
    block: Block
    recipe: RecipeSource
    settings: Settings
    size: str


@dataclass(frozen=True, slots=True)
class Stale:
    """A variant that must be made.

    Attributes:
        variant: which.
        parts: what it depends on, as of now.
        reasons: why.
    """

    variant: Variant
    parts: Mapping[str, str]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What a run has to do.

    Attributes:
        variants: of the library, as far as they could be told, by key.
        stale: to be made, in the order of the library.
        removed: records of this library whose variant it has no more.
        faults: (block or recipe, what is wrong with it); its variants could not be told.
        notes: what the library says that no variant heeds, one line each.
    """

    variants: Mapping[str, Variant]
    stale: tuple[Stale, ...]
    removed: tuple[Record, ...]
    faults: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def make_plan(library: Library, state: State, registry: "Registry", *, force: bool) -> Plan:
    """Compare a library with what was made before.

    Raises:
        RecipeError: the matrix names a param that no recipe has, no variant is left, two share a place,
            or another library made a variant at the same place.
    """
    faults: list[tuple[str, str]] = []
    notes: list[str] = []
    variants = _variants(library, state, registry, faults, notes)
    me = library.name
    trusting = state.trusts_stamps(me)
    records = {record.key: record for record in state.records()}
    stale: list[Stale] = []
    for variant in variants.values():
        record = records.get(variant.key)
        if record is not None and record.library != me:
            _refuse_another(library, record)
            record = None  # that library is no more, and its variant is made anew
        try:
            parts, reasons = _judged(library, variant, record, trusting=trusting)
        except _OF_A_SOURCE as error:
            faults.append((variant.key, str(error)))
            continue
        if force and not reasons:
            reasons = ("asked for",)
        if reasons:
            stale.append(Stale(variant, parts, reasons))
    lost = {name.split("/")[0] for name, _ in faults}
    removed = tuple(
        record
        for record in records.values()
        if record.library == me
        and record.key not in variants
        and not lost & set(record.key.split("/"))
    )
    return Plan(variants, tuple(stale), removed, tuple(faults), tuple(notes))


def _refuse_another(library: Library, record: Record) -> None:
    """Refuse to make what another library has made, as long as that is there."""
    other = library.folder / record.library
    if other.exists():
        raise RecipeError(
            Problem(
                f"{record.key} in {library.folder} was made by the library {os.path.normpath(other)}",
                Place(str(library.file)), "", "give every library a folder of its own",
            )
        )  # fmt: skip


def _variants(
    library: Library,
    state: State,
    registry: "Registry",
    faults: list[tuple[str, str]],
    notes: list[str],
) -> dict[str, Variant]:
    """Return every variant by key; what is wrong with a source goes to `faults`, what is odd to `notes`."""
    recipes = list(_recipes(library, state, registry, faults))
    if not faults:
        _refuse_unread_matrix(library, [facts["params"] for _, facts in recipes])
    blocks = list(_blocks(library, state, faults))
    found: dict[str, Variant] = {}
    for (block, sizes), (source, facts) in product(blocks, recipes):
        for settings, size in product(_combinations(library, facts["params"]), sizes):
            if library.takes(block.source.name, facts["name"], size):
                key = variant_key(block.source.name, facts["name"], settings, size)
                variant = Variant(key, block, source, settings, size)
                _refuse_double(found, variant, library)
                found[key] = variant
    if not faults:
        names = [facts["name"] for _, facts in recipes]
        notes += _unheeded(library, [(b.source.name, sizes) for b, sizes in blocks], names)
        if not found:
            raise RecipeError(
                Problem("no variant is left by sizes, include and exclude", Place(str(library.file)),
                        remedy="; ".join(notes))
            )  # fmt: skip
    return found


def _recipes(
    library: Library, state: State, registry: "Registry", faults: list[tuple[str, str]]
) -> Iterator[tuple[RecipeSource, Mapping[str, Any]]]:
    for path in library.recipes:
        source = RecipeSource(path, state, registry)
        try:
            yield source, source.facts
        except _OF_A_SOURCE as error:
            faults.append((path.stem, str(error)))


def _blocks(
    library: Library, state: State, faults: list[tuple[str, str]]
) -> Iterator[tuple[Block, tuple[str, ...]]]:
    """Yield the blocks that can be read, with their sizes."""
    for source in library.blocks:
        block = Block(source, state, library.limits)
        try:
            yield block, tuple(block.sizes)
        except _OF_A_SOURCE as error:
            faults.append((source.name, str(error)))


def _unheeded(
    library: Library, blocks: list[tuple[str, tuple[str, ...]]], recipes: list[str]
) -> Iterator[str]:
    """Say which sizes and rules mean none of the blocks, recipes and sizes that there are."""
    there = dict.fromkeys(size for _, sizes in blocks for size in sizes)
    for size in library.sizes or ():
        if size not in there:
            yield f"sizes: no block has {size!r}; there are {', '.join(there)}"
    every = [
        (block, recipe, size) for block, sizes in blocks for recipe in recipes for size in sizes
    ]
    for word, rules in (("include", library.include), ("exclude", library.exclude)):
        for rule in rules:
            if not any(rule.takes(*one) for one in every):
                yield f"{word}: {rule} means none of the blocks, recipes and sizes"


def _combinations(library: Library, params: list[str]) -> Iterator[Settings]:
    """Yield every combination of the matrix's params that a recipe has."""
    mine = [(name, values) for name, values in library.matrix if name in params]
    for values in product(*(values for _, values in mine)):
        yield tuple(sorted(zip((name for name, _ in mine), values, strict=True)))


def _refuse_unread_matrix(library: Library, params: list[list[str]]) -> None:
    known = {name for names in params for name in names}
    for name, _ in library.matrix:
        if name not in known:
            raise RecipeError(
                Problem(
                    f"matrix: no recipe has a param {name!r}{did_you_mean(name, known)}",
                    Place(str(library.file)),
                )
            )


def _refuse_double(found: Mapping[str, Variant], variant: Variant, library: Library) -> None:
    other = found.get(variant.key)
    if other is not None:
        raise RecipeError(
            Problem(
                f"{variant.key} would be made twice: by {_named(other)} and by {_named(variant)}",
                Place(str(library.file)), "", "name recipes or values apart",
            )
        )  # fmt: skip


def _named(variant: Variant) -> str:
    settings = ", ".join(f"{name} = {value}" for name, value in variant.settings)
    return variant.recipe.path.name + (f" with {settings}" if settings else "")


def formats_of(library: Library, variant: Variant) -> tuple[str, ...]:
    """Return what a variant is written as: what the library says, or else its recipe."""
    if library.formats is not None:
        return library.formats
    return tuple(variant.recipe.facts["formats"])


# --- judging one variant ----------------------------------------------------------------------


def _judged(
    library: Library, variant: Variant, record: Record | None, *, trusting: bool
) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return what a variant depends on now, and why it must be made (empty: it need not)."""
    parts = {
        "block": variant.block.sizes[variant.size],
        "text": variant.recipe.content,
        "operations": variant.recipe.packages,
        "tool": tool_version(),
        "formats": ",".join(formats_of(library, variant)) + _paper(library.printing),
    }
    if record is None:
        return parts, ("new",)
    if not record.parts:
        return parts, ("it was not made whole when last tried",)
    old = record.parts
    # Settings as values decide, not the recipe's text: a comment rebuilds nothing. Where the block
    # has changed too, whoever makes the variant finds its settings out.
    same = old.get("text") == parts["text"]
    parts["recipe"] = old["recipe"] if same else _bound(variant)
    return parts, (
        *_changed(old, parts),
        *touched(library.folder, record.outputs, trusting=trusting),
    )


def _paper(printing: PrintSettings | None) -> str:
    if printing is None:
        return ""
    return f" on {printing.paper}, roll {printing.roll:g} mm, scale {printing.scale:g}"


def _bound(variant: Variant) -> str:
    from sleevewright.pipeline.job import settings_digest  # noqa: PLC0415

    pattern = variant.block.patterns[variant.size]
    return settings_digest(variant.recipe.recipe, pattern, dict(variant.settings))


def _changed(old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[str]:
    said = {
        "block": "the block changed",
        "recipe": "the recipe or its settings changed",
        "tool": f"sleevewright is {new['tool']}, it was {old.get('tool', '?')}",
        "formats": f"formats are {new['formats']}, they were {old.get('formats', '?')}",
    }
    for name, text in said.items():
        if old.get(name) != new[name]:
            yield text
    if old.get("operations") != new["operations"]:
        yield f"operations are {new['operations']}, they were {old.get('operations') or 'ours'}"


def touched(folder: Path, outputs: tuple[Output, ...], *, trusting: bool = True) -> Iterator[str]:
    """Yield what is wrong with outputs: they are gone, or are not what was written.

    Args:
        folder: of the outputs.
        outputs: as they were written.
        trusting: whether one of the same size and time stamp is the same.
    """
    root = f"{folder}/"
    for output in outputs:
        try:
            there = os.stat(root + output.name)  # noqa: PTH116 (ten thousand times: Path costs)
        except OSError:
            yield f"{output.name} is missing"
            continue
        if trusting and (there.st_size, there.st_mtime_ns) == (output.size, output.mtime_ns):
            continue
        try:
            data = Path(root + output.name).read_bytes()
        except OSError as error:
            yield f"{output.name} cannot be read: {error.strerror}"
            continue
        if digest_of_bytes(data) != output.digest:
            yield f"{output.name} was edited"
