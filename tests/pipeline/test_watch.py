"""A watched library follows its sources through every way of saving, and stops when told to."""

import os
import queue
import shutil
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from conftest_pipeline import Studio
from pipeline.watch_many import follow
from samples_of_ours import ROOT, registry
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.job import Job, Outcome, run_job
from sleevewright.pipeline.library import Library

PATIENCE = 40.0  # seconds; for a busy machine, what is waited for comes in about one


class Here:
    """An engine without processes."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        return map(run_job, jobs)


class Watched:
    """A watch that runs beside the test, and what it has said so far."""

    def __init__(self, studio: Studio, *words: object, env: dict[str, str] | None = None) -> None:
        self.studio = studio
        self.process = studio.start("watch", *words, "--jobs", 1, env=env)
        self._lines: queue.SimpleQueue[str] = queue.SimpleQueue()
        self.said: list[str] = []
        assert self.process.stdout is not None
        threading.Thread(target=self._listen, args=[self.process.stdout], daemon=True).start()

    def _listen(self, stream: Iterable[str]) -> None:
        for line in stream:
            self._lines.put(line)

    def until(self, wanted: str) -> str:
        """Wait for a line with some words, from now on."""
        deadline = time.monotonic() + PATIENCE
        while True:
            try:
                line = self._lines.get(timeout=max(0.0, deadline - time.monotonic()))
            except queue.Empty:
                raise AssertionError(f"never said {wanted!r}, but {self.said}") from None
            self.said.append(line)
            if wanted in line:
                return line

    def stop(self, number: int, *, group: bool = False) -> tuple[int, str]:
        """Send a signal, to the process or as a terminal does to its group; wait for the end."""
        (os.killpg if group else os.kill)(self.process.pid, number)
        self.process.wait(timeout=PATIENCE)
        assert self.process.stderr is not None
        return self.process.returncode, self.process.stderr.read().strip()


@contextmanager
def watching(
    studio: Studio, *words: object, env: dict[str, str] | None = None
) -> Iterator[Watched]:
    watched = Watched(studio, *words, env=env)
    try:
        yield watched
    finally:
        with suppress(ProcessLookupError):
            os.killpg(watched.process.pid, signal.SIGKILL)
        watched.process.wait()


def eventually(wanted: Callable[[], bool]) -> bool:
    deadline = time.monotonic() + PATIENCE
    while not wanted():
        if time.monotonic() > deadline:
            return False
        time.sleep(0.02)
    return True


def group_is_gone(group: int) -> bool:
    """Whether no process of a group runs; one that has ended but was not asked for its status counts not."""
    said = subprocess.run(
        ["ps", "-e", "-o", "pgid=,stat="], capture_output=True, text=True, check=True
    ).stdout
    rows = [line.split() for line in said.splitlines()]
    return not any(int(pgid) == group and not stat.startswith("Z") for pgid, stat in rows)


def fresh(studio: Studio) -> dict[str, bytes]:
    """Return what the library makes as it is now, in a folder that knows nothing yet."""
    file = studio.folder / "fresh.yaml"
    text = (studio.folder / "library.yaml").read_text()
    file.write_text(text.replace("folder: out", "folder: fresh"))
    shutil.rmtree(studio.folder / "fresh", ignore_errors=True)
    for event in run_batch(Library.load(file), Here, registry):
        assert event.kind != "failed"
    folder = studio.folder / "fresh"
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and not p.name.startswith(".sleevewright")
    }


@pytest.fixture
def one(studio: Studio) -> Studio:
    """A library of one variant."""
    studio.block("men_overblock_50")
    studio.recipe("half-raglan")
    studio.library()
    return studio


def edit(blocks: Path, by: int) -> None:
    """Make the size 50 so many mm longer than it is in the samples."""
    drawn = (ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg").read_text()
    (blocks / "men_overblock_50.svg").write_text(lengthened(drawn, by))


def lengthened(text: str, by: int) -> str:
    assert "823.000000" in text
    return text.replace("823.000000", f"{823 + by}.000000")


def test_edits_are_followed(one: Studio) -> None:
    block = one.folder / "blocks" / "men_overblock_50.svg"
    drawn = block.read_text()
    with watching(one, "library.yaml") as watched:
        watched.until("1 variant: 1 made")
        assert one.bytes_out() == fresh(one)
        # Written in place.
        block.write_text(lengthened(drawn, 1))
        watched.until("front.hem moved by 1.00 mm")
        watched.until("1 made")
        assert one.bytes_out() == fresh(one)
        # Written beside it and renamed, as editors save.
        beside = block.with_name(".men_overblock_50.svg.new")
        beside.write_text(lengthened(drawn, 3))
        beside.replace(block)
        watched.until("front.hem moved by 2.00 mm")
        watched.until("1 made")
        assert one.bytes_out() == fresh(one)
        # A size more.
        one.block("men_overblock_52")
        watched.until("2 variants: 1 made, 1 up to date")
        assert one.bytes_out() == fresh(one)
        assert watched.stop(signal.SIGTERM) == (128 + signal.SIGTERM, "")
    assert not (one.out / ".sleevewright.holder").exists()


def test_what_goes_and_comes_back(one: Studio) -> None:
    library, blocks, away = (one.folder / n for n in ("library.yaml", "blocks", "away"))
    right = library.read_text()
    with watching(one, library) as watched:
        watched.until("1 made")
        made = one.bytes_out()
        blocks.rename(away)
        watched.until("nothing matches 'blocks/men_*.svg'")
        assert one.bytes_out() == made
        edit(away, 1)
        away.rename(blocks)
        watched.until("front.hem moved by 1.00 mm")
        watched.until("1 made")
        assert one.bytes_out() == fresh(one)
        # Gone for less than a look takes, and back as it was: still watched.
        blocks.rename(away)
        away.rename(blocks)
        edit(blocks, 5)
        watched.until("front.hem moved by 4.00 mm")
        watched.until("1 made")
        # The library file is wrong for a moment.
        library.write_text("blocks: [")
        watched.until("failed")
        library.write_text(right)
        watched.until("1 variant: 0 made, 1 up to date")
        # The folder of everything goes, and comes back with an edited block.
        moved = Path(f"{one.folder}-moved")
        one.folder.rename(moved)
        watched.until("cannot be read")
        edit(moved / "blocks", 7)
        moved.rename(one.folder)
        watched.until("front.hem moved by 2.00 mm")
        watched.until("1 made")
        assert one.bytes_out() == fresh(one)
        assert watched.stop(signal.SIGINT, group=True) == (128 + signal.SIGINT, "")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_a_build_and_all_its_processes(one: Studio, number: int) -> None:
    env = one.plug_in()
    for name in ("die", "gorge", "slip"):
        (one.folder / "recipes" / f"{name}.yaml").unlink()
    with watching(one, "library.yaml", env=env) as watched:
        # The other variant is done, so the one that never ends is under way.
        assert eventually(lambda: len(one.bytes_out()) == 2)
        status, said = watched.stop(number, group=number == signal.SIGINT)
        assert (status, said) == (128 + number, "")
        assert eventually(lambda: group_is_gone(watched.process.pid))
    (one.folder / "recipes" / "hang.yaml").unlink()
    one.library()
    assert one.bytes_out() == fresh(one)


def test_a_mistake_at_the_start_is_told_at_once(one: Studio) -> None:
    (one.folder / "library.yaml").write_text("block: {}\n")
    done = one.run("watch", "library.yaml")
    assert done.returncode == 2
    assert "is no key of a library" in done.stderr


def test_many_edits_leave_nothing_behind(tmp_path: Path) -> None:
    """`python tests/pipeline/watch_many.py 10000` is the same at length, with what it does to memory."""
    warm, *later = list(follow(tmp_path, 78, every=26))
    assert [(now.files, now.threads) for now in later] == [(warm.files, warm.threads)] * 2
    assert later[-1].objects - warm.objects < 52  # less than one for an edit
