"""Where outputs go, OUT/BLOCK/RECIPE/[SETTINGS/]SIZE.ending, and whether they can go there.

Here every path of an output is made, of names that mean the same on every file system.
"""

import os
import stat
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from sleevewright.errors import Place, Problem, WriteError
from sleevewright.formats import ENDINGS
from sleevewright.formats.path_parts import safe

#: (who wants it, a file relative to the output folder, with /).
Output = tuple[str, str]

_TEMPORARY = 34  # bytes of the name that a file has until it is whole
_MOST_TOLD = 20  # problems; a mistake in a matrix may make ten thousand

# --- making them ------------------------------------------------------------------------------


def variant_key(block: str, recipe: str, settings: Iterable[tuple[str, str]], size: str) -> str:
    """Return the place of a variant under the output folder, without the ending.

    >>> variant_key("women", "classic", [("drop", "45 mm")], "38")
    'women/classic/drop=45mm/38'
    """
    parts = [block, recipe]
    if chosen := tuple(settings):
        parts.append(",".join(f"{name}={value}" for name, value in chosen))
    return "/".join(safe(part) for part in (*parts, size))


def output_name(key: str, name: str) -> str:
    """Return the file of a variant in a format, relative to the output folder, with /.

    >>> output_name("women/classic/38", "plot")
    'women/classic/38.plot.pdf'
    """
    return f"{key}.{ENDINGS[name]}"


# --- whether they can go there ----------------------------------------------------------------


def check_places(
    outputs: Iterable[Output],
    within: Path,
    *,
    standing: Iterable[Output] = (),
    inputs: Iterable[Path] = (),
) -> None:
    """Refuse, before anything is written, what would spoil an input or another output.

    Nothing is asked of the disk where there is nothing to write, nor of what is in folders that
    are not there yet. (What happens on the disk after this is the business of `write_files`.)

    Args:
        outputs: what is to be written.
        within: the output folder.
        standing: outputs that are there already and stay; compared by name alone.
        inputs: files that are read.

    Raises:
        WriteError: two outputs would be one file on a file system that is blind to case or to
            the form of accents; an output would be an input, or lie beside one; the way to it
            leaves the output folder; something else than a file is in its place; its path is
            too long.
    """
    planned = list(outputs)
    if not planned:
        return
    disk = _Disk(within, inputs)
    problems = [*_collisions([*standing, *planned]), *disk.problems(planned)]
    if problems:
        more = len(problems) - _MOST_TOLD
        rest = [Problem(f"and {more} more outputs cannot be written")] if more > 0 else []
        raise WriteError([*problems[:_MOST_TOLD], *rest])


def _collisions(outputs: list[Output]) -> Iterator[Problem]:
    """Find outputs that some file system takes for one, or for a folder of another."""
    seen: dict[str, Output] = {}
    for who, name in outputs:
        folded = _folded(name)
        if folded in seen:
            before, there = seen[folded]
            yield Problem(
                f"two outputs would be one file: {there} of {before} and {name} of {who}",
                remedy="name blocks, recipes, settings or sizes apart",
            )
        else:
            seen[folded] = (who, name)
    folders: set[str] = set()
    for name in seen:
        above = name.rpartition("/")[0]
        while above and above not in folders:
            folders.add(above)
            above = above.rpartition("/")[0]
    for folder in sorted(folders & seen.keys()):
        who, name = seen[folder]
        yield Problem(
            f"{name} of {who} would be the folder of other outputs",
            remedy="name recipes, settings or sizes apart",
        )


def _folded(name: str) -> str:
    if name.isascii():
        return name.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


class _Disk:
    """What lies in an output folder, as far as it is asked: every folder once."""

    def __init__(self, within: Path, inputs: Iterable[Path]) -> None:
        self.within = within
        self.root = os.path.realpath(within)
        self.longest = _longest_path(self.root) - len(os.fsencode(self.root)) - 2
        #: folder -> itself with links followed; None where it is not there yet or has a fault
        self.found: dict[str, str | None] = {}
        #: folder -> (it or a folder above it, what is wrong with that)
        self.faults: dict[str, tuple[str, str]] = {}
        self.inputs: dict[tuple[int, int], Path] = {}
        self.beside: dict[str, Path] = {}
        for path in inputs:
            self.beside[os.path.realpath(path.parent)] = path
            for look in (os.lstat, os.stat):  # a link, and what it leads to
                if there := _seen(look, path):
                    self.inputs[there.st_dev, there.st_ino] = path

    def problems(self, outputs: list[Output]) -> Iterator[Problem]:
        """Find what forbids outputs; a folder is named once."""
        told: set[str] = set()
        for who, name in outputs:
            folder, _, last = name.rpartition("/")
            if fault := self.of_name(name, last):
                yield _problem(self.within, fault, who)
                continue
            real = self.folder(folder)
            if real in self.beside:
                self.faults[folder] = (folder, f"holds the input {self.beside[real]}")
            if folder in self.faults:
                where, fault = self.faults[folder]
                if where not in told:
                    yield _problem(self.within / where, fault, who)
                told.add(where)
            elif real and (fault := self.at(f"{real}/{last}")):
                yield _problem(self.within / name, fault, who)

    def of_name(self, name: str, last: str) -> str:
        """Return what is wrong with a name itself; "" if nothing."""
        try:
            length = len(os.fsencode(name))
        except UnicodeEncodeError:
            return f"file names of this system cannot hold {name!r}"
        if length + max(0, _TEMPORARY - len(last)) > self.longest:
            return f"the path would be longer than file systems allow, with {length} bytes more"
        return ""

    def at(self, path: str) -> str:
        """Return why a file cannot be put in the place of what is there; "" if it can."""
        there = _seen(os.lstat, path)
        if there is None:
            return ""
        if (there.st_dev, there.st_ino) in self.inputs:
            return f"is the input {self.inputs[there.st_dev, there.st_ino]}"
        if stat.S_ISREG(there.st_mode) or stat.S_ISLNK(there.st_mode):
            return ""
        return "is a folder" if stat.S_ISDIR(there.st_mode) else "is a device or pipe"

    def folder(self, folder: str) -> str | None:
        """Return a folder with links followed; None where it is not there yet or has a fault."""
        if folder not in self.found:
            head, _, tail = folder.rpartition("/")
            above = self.folder(head) if folder else os.path.dirname(self.root)  # noqa: PTH120
            tail = tail if folder else os.path.basename(self.root)  # noqa: PTH119
            self.found[folder] = None
            if head in self.faults:
                self.faults[folder] = self.faults[head]
            elif above is not None and (there := _seen(os.lstat, f"{above}/{tail}")):
                self.look_into(folder, f"{above}/{tail}", there)
        return self.found[folder]

    def look_into(self, folder: str, path: str, there: os.stat_result) -> None:
        """Find where a folder really is, or what is wrong with it."""
        if stat.S_ISDIR(there.st_mode):
            self.found[folder] = path
            return
        real = Path(os.path.realpath(path))
        if not real.is_dir():
            self.faults[folder] = (folder, "is no folder")
        elif not real.is_relative_to(self.root):
            self.faults[folder] = (folder, f"leads out of the output folder, to {real}")
        else:
            self.found[folder] = str(real)


def _problem(place: Path, fault: str, who: str) -> Problem:
    return Problem(fault, Place(str(place)), f"an output of {who} would go there")


def _seen(look: Callable[..., os.stat_result], path: Path | str) -> os.stat_result | None:
    """Return what `os.stat` or `os.lstat` says of a path; None where it says nothing."""
    try:
        return look(path)
    except (OSError, ValueError):
        return None


def _longest_path(folder: str) -> int:
    """Return how many bytes a path may have where a folder is or will be, the last of them zero."""
    place = Path(folder)
    while not place.is_dir() and place != place.parent:
        place = place.parent
    try:
        return os.pathconf(place, "PC_PATH_MAX")
    except (AttributeError, OSError, ValueError):  # Windows has no such call
        return 260
