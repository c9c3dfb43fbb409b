"""One run at a time in an output folder; the second is told who holds it."""

import json
import os
import platform
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sleevewright.errors import HeldError, Place, Problem, WriteError

LOCK, HOLDER = ".sleevewright.lock", ".sleevewright.holder"


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold an output folder (made where it is missing) for as long as the block runs.

    The operating system frees it when the process ends, however it ends.

    Raises:
        HeldError: another run holds it; says which host and process, and since when.
        WriteError: the folder cannot be made or written.
    """
    from filelock import FileLock, Timeout  # noqa: PLC0415

    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock = FileLock(folder / LOCK, timeout=0)
        lock.acquire()
    except Timeout:
        raise HeldError(
            Problem(f"another run holds this folder{_holder(folder)}", Place(str(folder)), "",
                    "wait until it has ended, or stop it")
        ) from None  # fmt: skip
    except OSError as error:
        raise WriteError(
            Problem(f"cannot be written: {error.strerror or error}", Place(str(folder)))
        ) from None
    try:
        _sign(folder)
        yield
    finally:
        with suppress(OSError):
            (folder / HOLDER).unlink()
        lock.release()


def _sign(folder: Path) -> None:
    who = {
        "host": platform.node(), "pid": os.getpid(),
        "since": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
    }  # fmt: skip
    with suppress(OSError):  # only for the message to a second run
        (folder / HOLDER).write_text(json.dumps(who), encoding="utf-8")


def _holder(folder: Path) -> str:
    try:
        who = json.loads((folder / HOLDER).read_text(encoding="utf-8"))
        return f": process {who['pid']} on {who['host']} since {who['since']}"
    except (OSError, ValueError, KeyError, TypeError):
        return ""
