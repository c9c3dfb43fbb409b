"""Files that appear whole or not at all.

Each is written beside its place under a temporary name, and renamed once all of them are written.
A crash of the process leaves the old file or the new one; what a power cut may leave is a matter
of `durability`.
"""

import contextlib
import errno
import os
import secrets
import stat
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from itertools import takewhile
from pathlib import Path

from sleevewright.errors import Place, Problem, WriteError

#: Beginning of the names of temporary files; one that is left after a crash may be deleted.
TEMPORARY_PREFIX = ".sleevewright-"

_FULL = (errno.ENOSPC, errno.EDQUOT)
#: What a file system answers that has no fsync: there is nothing more to be had of it.
_NO_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS)


def write_files(
    contents: Mapping[Path, bytes],
    *,
    inputs: Iterable[Path] = (),
    within: Path | None = None,
    durability: str = "run",
) -> None:
    """Write files, all of them or, where one cannot be written, none.

    A file that already has these bytes is not touched. A link at the place of a file is
    replaced; what it points to is not touched. (Renaming comes last, file by file: where the disk
    refuses that to one, those before it are new and it and the rest are old.)

    Args:
        contents: path -> bytes. Missing folders are made.
        inputs: files that were read; none of them may be written.
        within: the folder that every file must lie in once links of folders are followed.
        durability: what a power cut may lose. "file": nothing of these files, once this has returned
            (each is synced before it is renamed, and each folder after). "run": any of them,
            until `sync_folder` is called, which is the caller's to do when its run ends. "none":
            any of them, for as long as the system likes to keep them in memory. A lost file
            is the old one, missing, empty or in part the new one.

    Raises:
        WriteError: with one problem for each file that cannot be written, and why.
    """
    _refuse(_faults(contents, tuple(inputs), within))
    changed = {path: data for path, data in contents.items() if not _has(path, data)}
    size, synced = sum(map(len, changed.values())), durability == "file"
    temporary: dict[Path, Path] = {}
    folders: dict[Path, None] = {}
    try:
        for path, data in changed.items():
            with _told(path, size):
                folders |= dict.fromkeys([*_made(path.parent), path.parent])
                temporary[path] = path.with_name(f"{TEMPORARY_PREFIX}{secrets.token_hex(8)}.tmp")
                _write(temporary[path], data, synced=synced)
        for path in changed:
            with _told(path, size):
                temporary[path].replace(path)
            del temporary[path]
    finally:
        for left in temporary.values():
            with contextlib.suppress(OSError):
                left.unlink()
    for folder in folders if synced else ():
        with _told(folder):
            sync_path(folder)


def sync_folder(folder: Path) -> None:
    """Make everything under a folder safe from a power cut.

    On Linux by one `syncfs` of the file system it is on: other file systems that are mounted below
    it are not reached. Elsewhere, or where that is not to be had, by an `fsync` of each file and
    folder; a system without one (Windows, for folders) gives no promise.

    Raises:
        WriteError: something could not be written, now or since the disk was last asked: what has
            been written there must not be trusted to be on the disk.
    """
    with _told(folder):
        if _file_system_synced(folder):
            return
        for place, _, names in os.walk(folder):
            for name in names:
                path = Path(place, name)
                with contextlib.suppress(FileNotFoundError):  # it need not be there any more
                    if stat.S_ISREG(path.lstat().st_mode):
                        sync_path(path)
            sync_path(Path(place))


def remains(folder: Path, *, within: Path | None = None) -> list[Path]:
    """Return the temporary files that a process which was killed left in a folder.

    None where links lead the folder out of `within`: what is there is not ours.
    """
    if within is not None and not _real(folder / "x").is_relative_to(os.path.realpath(within)):
        return []
    try:
        found = sorted(folder.glob(f"{TEMPORARY_PREFIX}*.tmp"))
        return [path for path in found if stat.S_ISREG(path.lstat().st_mode)]
    except OSError:
        return []


# --- one file ---------------------------------------------------------------------------------


def _made(folder: Path) -> list[Path]:
    """Make a folder; return the folders that have a new entry by that."""
    missing = list(takewhile(lambda place: not place.is_dir(), (folder, *folder.parents)))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise OSError(error.errno, f"no folder can be made at {error.filename}") from None
    return [place.parent for place in missing]


def _write(path: Path, data: bytes, *, synced: bool) -> None:
    """Write a new file. A full disk, a quota or a server may say so only when it is closed."""
    with path.open("xb") as file:  # "x" follows no link
        file.write(data)
        file.flush()
        size = os.fstat(file.fileno()).st_size
        if size != len(data):
            raise OSError(errno.EIO, f"only {size} of its {len(data)} bytes are there")
        if synced:
            _fsync(file.fileno())


def _has(path: Path, data: bytes) -> bool:
    """Whether a plain file of these bytes is there (a link to one is not)."""
    try:
        there = path.lstat()
        return (
            stat.S_ISREG(there.st_mode) and there.st_size == len(data) and path.read_bytes() == data
        )
    except OSError:
        return False


# --- syncing ----------------------------------------------------------------------------------


def sync_path(path: Path) -> None:
    """Make a file, or the entries of a folder, safe on disk."""
    if os.name == "nt" and path.is_dir():
        return  # folders cannot be opened there
    descriptor = os.open(path, os.O_RDWR if os.name == "nt" else os.O_RDONLY)
    try:
        _fsync(descriptor)
    finally:
        os.close(descriptor)


def _fsync(descriptor: int) -> None:
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in _NO_SYNC:
            raise


def _file_system_synced(folder: Path) -> bool:
    """Sync the whole file system of a folder; False where this system has no call for that."""
    if sys.platform != "linux":
        return False
    import ctypes  # noqa: PLC0415

    call = getattr(ctypes.CDLL(None, use_errno=True), "syncfs", None)
    if call is None:
        return False
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        if call(descriptor) == 0:
            return True
        number = ctypes.get_errno()
    finally:
        os.close(descriptor)
    if number in _NO_SYNC:
        return False
    raise OSError(number, os.strerror(number))


# --- what forbids writing ---------------------------------------------------------------------


def _faults(
    contents: Mapping[Path, bytes], inputs: tuple[Path, ...], within: Path | None
) -> Iterator[Problem]:
    """Find what forbids writing, before anything is written."""
    seen: dict[str, Path] = {}
    identities = {found for path in inputs if (found := _identity(path)) is not None}
    names = {_real(path) for path in inputs}
    root = None if within is None else os.path.realpath(within)
    for path in contents:
        real = _real(path)
        folded = unicodedata.normalize("NFC", str(real)).casefold()
        if folded in seen:
            yield _problem(path, f"is the same file as {seen[folded]} on some file systems")
        seen[folded] = path
        if real in names or _identity(path) in identities:
            yield _problem(path, "is one of the inputs", "an input is never written")
        if root is not None and not real.is_relative_to(root):
            yield _problem(path, f"lies outside the output folder {within}")
        with contextlib.suppress(OSError):
            mode = path.lstat().st_mode
            if not (stat.S_ISREG(mode) or stat.S_ISLNK(mode)):
                kind = "folder" if stat.S_ISDIR(mode) else "device or pipe"
                yield _problem(path, f"is a {kind}", "only a plain file can be replaced")


def _real(path: Path) -> Path:
    """Return a path with the links of its folders followed, its own name kept."""
    return Path(os.path.realpath(path.parent), path.name)


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
def _told(path: Path, size: int = 0) -> Iterator[None]:
    """Say of which file an error of the operating system is.

    Args:
        path: the file, or the folder.
        size: bytes that have to find room in its folder.
    """
    try:
        yield
    except OSError as error:
        why = error.strerror or str(error)
        if error.errno in _FULL and size:
            why += f", needed about {max(size / 1e6, 0.1):.1f} MB in {path.parent}"
        raise WriteError(_problem(path, f"cannot be written: {why}")) from error
