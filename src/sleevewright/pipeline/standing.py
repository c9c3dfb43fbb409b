"""Whether a library stands just as its last run left it: one look, before anything is planned.

A studio's pipeline runs a library again and again, mostly to find that there is nothing to do. A run that leaves
nothing to do notes the digest of everything a plan depends on, and the stamp of every output; as long as
both are the same, there is still nothing to do.
"""

import os
from typing import TYPE_CHECKING

from sleevewright.errors import SleevewrightError
from sleevewright.pipeline.fingerprint import digest_of_bytes, package_version, tool_version

if TYPE_CHECKING:
    from sleevewright.pipeline.library import Library
    from sleevewright.pipeline.state import State


def standing(library: "Library", state: "State", name: str, sources: str) -> int | None:
    """Return how many variants a library has, if all of them are up to date; None if that is not sure.

    Args:
        library: the library.
        state: of its output folder.
        name: what records call the library.
        sources: `sources_digest` of it.
    """
    note = state.standing(name) if state.trusts_stamps(name) else None
    if not note or note["sources"] != sources:
        return None
    if not _untouched(str(library.folder), note["outputs"]):
        return None
    return int(note["variants"])


def note_standing(library: "Library", state: "State", name: str, sources: str) -> None:
    """Note that every variant of a library is up to date, unless its sources have changed meanwhile.

    Args:
        library: the library.
        state: of its output folder.
        name: what records call the library.
        sources: `sources_digest` of it before the run read any of them.
    """
    if not sources or sources != sources_digest(library):
        return
    records = [record for record in state.records() if record.library == name]
    stamps = [
        (output.name, output.size, output.mtime_ns)
        for record in records
        for output in record.outputs
    ]
    state.keep_standing(name, {"sources": sources, "variants": len(records), "outputs": stamps})


def sources_digest(library: "Library") -> str:
    """Return the digest of all that decides what a library's outputs are; "" where it cannot be read."""
    paths = [path for block in library.blocks for path in block.paths]
    try:
        parts = [library.content]
        parts += [
            f"{path} {digest_of_bytes(path.read_bytes())}" for path in (*library.recipes, *paths)
        ]
        parts += [package_version(plugin.partition("==")[0]) for plugin in library.plugins]
    except (OSError, SleevewrightError):
        return ""
    return digest_of_bytes("\n".join((tool_version(), *parts)).encode(errors="surrogateescape"))


def _untouched(folder: str, stamps: list[tuple[str, int, int]]) -> bool:
    """Whether every output has the size and time stamp that it was left with."""
    for name, size, mtime_ns in stamps:
        try:
            there = os.stat(f"{folder}/{name}")  # noqa: PTH116 (ten thousand times: Path costs)
        except OSError:
            return False
        if there.st_size != size or there.st_mtime_ns != mtime_ns:
            return False
    return True
