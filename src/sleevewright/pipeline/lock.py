"""One run at a time in an output folder; the second is told who holds it.

The lock is the operating system's, on a file that stays; who holds it stands in a second file, for
the message alone. Neither may be a link: it could lead to somebody else's file.
"""

import errno
import json
import os
import platform
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from itertools import takewhile
from pathlib import Path

from sleevewright.errors import HeldError, Place, Problem, WriteError

LOCK, HOLDER = ".sleevewright.lock", ".sleevewright.holder"

#: A link is not followed, and a pipe does not keep anybody waiting.
_SAFELY = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
_NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EINVAL)
_MOST = 1000  # bytes that say who holds a folder

if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except PermissionError:
            raise BlockingIOError from None

    def _unlock(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_UN)


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold an output folder (made where it is missing) for as long as the block runs.

    The operating system frees it when the process ends, however it ends.

    Raises:
        HeldError: another run holds it; says which host and process, and for how long.
        WriteError: the folder cannot be made, written or locked.
    """
    descriptor = _opened(folder)
    try:
        _take(descriptor, folder)
        try:
            _sign(folder)
            yield
        finally:
            with suppress(OSError):
                (folder / HOLDER).unlink()
            with suppress(OSError):
                _unlock(descriptor)
    finally:
        with suppress(OSError):
            os.close(descriptor)


def _opened(folder: Path) -> int:
    """Open the lock file of a folder; both are made where they are missing."""
    path = folder / LOCK
    try:
        _make(folder)
        with suppress(FileNotFoundError):
            if not stat.S_ISREG(path.lstat().st_mode):
                raise WriteError(
                    Problem("is no plain file, and so no lock", Place(str(path)), "", "remove it")
                )
        return os.open(path, os.O_RDWR | os.O_CREAT | _SAFELY, 0o666)
    except OSError as error:
        raise _told(folder, error) from None


def _make(folder: Path) -> None:
    """Make a folder where it is missing, safe from a power cut where the system can do that."""
    missing = list(takewhile(lambda place: not place.exists(), (folder, *folder.parents)))
    folder.mkdir(parents=True, exist_ok=True)
    if missing:
        from sleevewright.writing.whole_files import sync_path  # noqa: PLC0415

        for place in missing:
            with suppress(OSError):
                sync_path(place.parent)


def _take(descriptor: int, folder: Path) -> None:
    try:
        _lock(descriptor)
    except BlockingIOError:
        raise HeldError(
            Problem(f"another run holds this folder{_holder(folder)}", Place(str(folder)), "",
                    "wait until it has ended, or stop it")
        ) from None  # fmt: skip
    except OSError as error:
        if error.errno in _NO_LOCKS:
            raise WriteError(
                Problem(f"cannot be locked against a second run: {error.strerror}",
                        Place(str(folder)), "", "mount its file system with locks, or choose a"
                        " folder on a disk of this machine")
            ) from None  # fmt: skip
        raise _told(folder, error) from None


def _told(folder: Path, error: OSError) -> WriteError:
    return WriteError(Problem(f"cannot be written: {error.strerror or error}", Place(str(folder))))


# --- who holds it -----------------------------------------------------------------------------


def _sign(folder: Path) -> None:
    """Say who holds the folder; whatever lies in the place of that is replaced."""
    since = datetime.now(UTC).isoformat(timespec="seconds")
    who = {"host": platform.node(), "pid": os.getpid(), "since": since}
    path = folder / HOLDER
    with suppress(OSError):  # only for the message to a second run
        path.unlink(missing_ok=True)
        with path.open("x", encoding="utf-8") as file:
            json.dump(who, file)


def _holder(folder: Path) -> str:
    """Say who holds the folder; "" where that cannot be told."""
    try:
        who = json.loads(_plain_bytes(folder / HOLDER))
        host, pid, since = str(who["host"])[:100], int(who["pid"]), str(who["since"])
        age = datetime.now(UTC) - datetime.fromisoformat(since)
        return f": process {pid} on {host}{_duration(age.total_seconds())}"
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return ""


def _plain_bytes(path: Path) -> bytes:
    """Return the beginning of a plain file, not following a link to one."""
    descriptor = os.open(path, os.O_RDONLY | _SAFELY)
    try:
        return os.read(descriptor, _MOST)
    finally:
        os.close(descriptor)


def _duration(seconds: float) -> str:
    """Say for how long, roughly; nothing where clocks differ so that it makes no sense."""
    for unit, name, most in ((1, "s", 60), (60, "min", 3600), (3600, "h", 48 * 3600)):
        if 0 <= seconds < most:
            return f" for {seconds // unit:.0f} {name}"
    return f" for {seconds // 86400:.0f} days" if seconds >= 0 else ""
