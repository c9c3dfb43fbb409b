"""The gallery of a library, from what is kept of every variant: no pattern is read or made for it."""

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from sleevewright.formats import ENDINGS
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.plan import Plan, Variant
from sleevewright.pipeline.state import Record, State

if TYPE_CHECKING:
    from sleevewright.writing.gallery import Entry

_FAMILY = re.compile(rb"^# family:\s*(.+?)\s*$", re.MULTILINE)
_FORMATS = {ending: name for name, ending in ENDINGS.items()}


def put_gallery(library: Library, plan: Plan, state: State, failed: Mapping[str, str]) -> Path:
    """Write the gallery of a library into its output folder; return its page.

    Args:
        library: whose.
        plan: of this run, with all variants.
        state: what is kept of those that were made.
        failed: key -> why it could not be made in this run.

    Raises:
        WriteError: it cannot be written.
    """
    from sleevewright.writing import write_files  # noqa: PLC0415
    from sleevewright.writing.gallery import DATA_FOLDER, INDEX, write_gallery  # noqa: PLC0415

    folder = library.folder
    files = write_gallery(_entries(library, plan, state, failed), library.file.stem)
    pages = {folder / name: data for name, data in files.items()}
    write_files(pages, within=folder, durability=library.durability)
    for path in (folder / DATA_FOLDER).glob("*.js"):
        if path.relative_to(folder).as_posix() not in files:
            with suppress(OSError):
                path.unlink()
    return folder / INDEX


def _entries(
    library: Library, plan: Plan, state: State, failed: Mapping[str, str]
) -> Iterator["Entry"]:
    me = library.name
    records = {record.key: record for record in state.records() if record.library == me}
    for key, variant in plan.variants.items():
        if key in failed:
            yield _failed(variant, failed[key], library)
        elif key in records:
            yield _made(variant, records[key], state)


def _failed(variant: Variant, problem: str, library: Library) -> "Entry":
    from sleevewright.writing.gallery import Entry  # noqa: PLC0415

    # The page may be given away: it does not say where the studio keeps its files.
    plain = problem.replace(f"{variant.recipe.path.parent}/", "").replace(
        f"{library.file.parent.resolve()}/", ""
    )
    return Entry(
        key=variant.key, block=variant.block.source.name, recipe=variant.recipe.facts["name"],
        size=variant.size, family=_family(variant), settings=variant.settings, state="failed",
        problem=plain,
    )  # fmt: skip


def _made(variant: Variant, record: Record, state: State) -> "Entry":
    from sleevewright.writing.gallery import Entry, outlines_from  # noqa: PLC0415

    summary = state.summary(record.key)
    profile = summary.get("profile", {})
    status = summary.get("status", "")
    links = [
        (_FORMATS[ending], output.name)
        for output in record.outputs
        if (ending := output.name.removeprefix(f"{record.key}.")) in _FORMATS
    ]
    return Entry(
        key=record.key, block=variant.block.source.name, recipe=variant.recipe.facts["name"],
        size=variant.size, family=_family(variant), settings=variant.settings,
        state=status if status in ("held", "noted") else "fell short",
        problem="; ".join(summary.get("short", ())),
        measurements=tuple(profile.get("measurements", {}).items()),
        links=tuple(links),
        outlines=outlines_from(profile.get("pieces", {})),
    )  # fmt: skip


def _family(variant: Variant) -> str:
    """Return what the recipe says of its family, else its first operation."""
    said = _FAMILY.search(variant.recipe.text)
    if said:
        return said[1].decode("utf-8", "replace")
    operations: list[str] = variant.recipe.facts["operations"]
    return operations[0] if operations else ""
