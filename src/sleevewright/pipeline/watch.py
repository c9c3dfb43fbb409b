"""A library kept up to date while people work on its blocks, label maps and recipes."""

import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from sleevewright.errors import HeldError, RecipeError, SleevewrightError
from sleevewright.pipeline.batch import Event, run_batch
from sleevewright.pipeline.library import Library

if TYPE_CHECKING:
    from sleevewright.operations.registry import Registry
    from sleevewright.pipeline.engines import Engine

#: seconds. Files are read when nothing about them has changed for so long: somebody may be saving.
SETTLED = 0.4

Look = dict[Path, tuple[int, int, int]]


def watch_library(
    path: Path, engine: Callable[[Library], "Engine"], registry: Callable[[Library], "Registry"]
) -> Iterator[Iterator[Event]]:
    """Build a library, and again after every change, for ever; yield the events of each run.

    Args:
        path: the library file, read anew for every run.
        engine: makes the engine for a library.
        registry: gives the operations that a library may use.

    A library file that is wrong for the moment, or held by another run, is reported as a failed
    event and tried again.

    Raises:
        RecipeError: watchfiles is not installed.
    """
    try:
        import watchfiles  # noqa: PLC0415
    except ImportError:
        raise RecipeError(
            "watch needs watchfiles, which is not installed; install sleevewright with the extra: watch"
        ) from None
    while True:
        before = _settled(path)
        yield _run(path, engine, registry)
        while _settled(path) == before:
            folders = _folders(path)
            out = _output(path)

            def wanted(_: object, name: str, out: Path = out) -> bool:
                return not (
                    Path(name).is_relative_to(out) or Path(name).name.startswith(".sleevewright")
                )

            for _ in watchfiles.watch(
                *folders,
                watch_filter=wanted,
                debounce=200,
                rust_timeout=2000,
                yield_on_timeout=True,
            ):
                break  # a change, or time to look whether a folder has come or gone


def _run(
    path: Path, engine: Callable[[Library], "Engine"], registry: Callable[[Library], "Registry"]
) -> Iterator[Event]:
    try:
        library = Library.load(path)
        yield from run_batch(library, partial(engine, library), partial(registry, library))
    except HeldError as error:
        yield Event("failed", str(path), {"problem": str(error)})
    except SleevewrightError as error:
        yield Event("failed", str(path), {"problem": str(error)})


def _settled(path: Path) -> Look:
    """Wait until no source has changed for a while; return what they look like then."""
    look = _look(path)
    while True:
        time.sleep(SETTLED)
        again = _look(path)
        if again == look:
            return look
        look = again


def _look(path: Path) -> Look:
    """Return inode, size and time stamp of every source that is there."""
    found: Look = {}
    for source in (path, *_sources(path)):
        try:
            there = source.stat()
        except OSError:
            continue
        found[source] = (there.st_ino, there.st_size, there.st_mtime_ns)
    return found


def _sources(path: Path) -> tuple[Path, ...]:
    try:
        library = Library.load(path)
    except RecipeError:
        return ()
    return (*(p for block in library.blocks for p in block.paths), *library.recipes)


def _folders(path: Path) -> tuple[Path, ...]:
    """Return the folders to watch: those of the sources that are there, or were asked for."""
    found = {path.parent.resolve()}
    found |= {source.parent.resolve() for source in _sources(path)}
    return tuple(sorted(folder for folder in found if folder.is_dir()))


def _output(path: Path) -> Path:
    try:
        return Library.load(path).folder.resolve()
    except RecipeError:
        return path.parent / ".sleevewright"
