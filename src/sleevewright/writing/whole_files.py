"""Files that appear whole or not at all.

Each is written beside its place under a temporary name, and renamed once all of them are written.
A crash of the process leaves the old file or the new one; a power cut is the batch's business.
"""

import contextlib
import os
import secrets
import stat
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from sleevewright.errors import Place, Problem, WriteError

#: Beginning of the names of temporary files; one that is left after a crash may be deleted.
TEMPORARY_PREFIX = ".sleevewright-"


def write_files(
    contents: Mapping[Path, bytes], *, inputs: Iterable[Path] = (), within: Path | None = None
) -> None:
    """Write files, all of them or, where one cannot be written, none.

    A file that already has these bytes is not touched. A link at the place of a file is
    replaced; what it points to is not touched.

    Args:
        contents: path -> bytes. Missing folders are made.
        inputs: files that were read; none of them may be written.
        within: the folder that every file must lie in once links of folders are followed.

    Raises:
        WriteError: with one problem for each file that cannot be written, and why.
    """
    _refuse(_faults(contents, tuple(inputs), within))
    changed = {path: data for path, data in contents.items() if not _has(path, data)}
    temporary: dict[Path, Path] = {}
    try:
        for path, data in changed.items():
            with _told(path):
                path.parent.mkdir(parents=True, exist_ok=True)
                temporary[path] = path.with_name(f"{TEMPORARY_PREFIX}{secrets.token_hex(8)}.tmp")
                _write(temporary[path], data)
        for path in changed:
            with _told(path):
                temporary[path].replace(path)
            del temporary[path]
    finally:
        for left in temporary.values():
            with contextlib.suppress(OSError):
                left.unlink()


def remains(folder: Path) -> list[Path]:
    """Return the temporary files that a process which was killed left in a folder."""
    return sorted(folder.glob(f"{TEMPORARY_PREFIX}*.tmp"))


def _write(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()


def _has(path: Path, data: bytes) -> bool:
    """Whether a plain file of these bytes is there (a link to one is not)."""
    try:
        there = path.lstat()
        return (
            stat.S_ISREG(there.st_mode) and there.st_size == len(data) and path.read_bytes() == data
        )
    except OSError:
        return False


def _faults(
    contents: Mapping[Path, bytes], inputs: tuple[Path, ...], within: Path | None
) -> Iterator[Problem]:
    """Find what forbids writing, before anything is written."""
    seen: dict[str, Path] = {}
    identities = {found for path in inputs if (found := _identity(path)) is not None}
    names = {_real(path) for path in inputs}
    for path in contents:
        folded = unicodedata.normalize("NFC", str(_real(path))).casefold()
        if folded in seen:
            yield _problem(path, f"is the same file as {seen[folded]} on some file systems")
        seen[folded] = path
        if _real(path) in names or _identity(path) in identities:
            yield _problem(path, "is one of the inputs", "an input is never written")
        if within is not None and not _real(path).is_relative_to(within.resolve()):
            yield _problem(path, f"lies outside the output folder {within}")
        with contextlib.suppress(OSError):
            mode = path.lstat().st_mode
            if not (stat.S_ISREG(mode) or stat.S_ISLNK(mode)):
                kind = "folder" if stat.S_ISDIR(mode) else "device or pipe"
                yield _problem(path, f"is a {kind}", "only a plain file can be replaced")


def _real(path: Path) -> Path:
    """Return a path with the links of its folders followed, its own name kept."""
    return path.parent.resolve() / path.name


def _identity(path: Path) -> tuple[int, int] | None:
    """Return (device, inode) of a plain file, links not followed; None where there is none."""
    try:
        there = path.lstat()
    except OSError:
        return None
    return (there.st_dev, there.st_ino)


def _problem(path: Path, found: str, allowed: str = "") -> Problem:
    return Problem(found, Place(str(path)), allowed)


def _refuse(problems: Iterable[Problem]) -> None:
    found = tuple(problems)
    if found:
        raise WriteError(found)


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    """Say of which file an error of the operating system is."""
    try:
        yield
    except OSError as error:
        why = error.strerror or os.strerror(error.errno or 0)
        raise WriteError(_problem(path, f"cannot be written: {why}")) from error
