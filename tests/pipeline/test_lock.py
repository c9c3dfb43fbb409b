"""One run at a time in an output folder; many libraries in one are refused or right, never mixed."""

import os
import platform
import signal
import subprocess
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from conftest_pipeline import Studio, made
from samples_of_ours import registry
from sleevewright.errors import SleevewrightError
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.job import Job, Outcome, run_job
from sleevewright.pipeline.library import Library


class Here:
    """An engine without processes, for runs that are only the background of a test."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        return map(run_job, jobs)


def build(library: Path) -> tuple[int, list[dict[str, object]], str]:
    """Build a library in this process; return exit status, events, message."""
    events = []
    try:
        for event in run_batch(Library.load(library), Here, registry):
            events.append(event.record())
    except SleevewrightError as error:
        return error.exit_status, events, str(error)
    return 0, events, ""


@contextmanager
def holding(studio: Studio) -> Iterator["subprocess.Popen[str]"]:
    """A run that holds the folder until it is ended: one of its jobs never ends."""
    env = studio.plug_in()
    studio.library("include: [{recipe: hang, size: 52}]\n")
    process = studio.start("batch", "library.yaml", "--json", "--jobs", 1, env=env)
    try:
        assert process.stdout is not None
        assert '"planned"' in process.stdout.readline()
        studio.allowed = ""  # the plug-in is there for this run alone
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def test_the_second_run_is_told_who_holds_the_folder(small: Studio) -> None:
    with holding(small) as holder:
        small.library("include: [{recipe: '*raglan'}]\n")
        second = small.run("batch", "library.yaml", "--json")
        assert second.returncode == 6
        assert second.stdout.strip() in ("", "[]")
        assert len(second.stderr.splitlines()) == 1
        assert f"process {holder.pid} on {platform.node()} " in second.stderr
        # The same folder by another name is the same folder.
        (small.folder / "link").symlink_to(small.out)
        small.library("outputs: {folder: link, formats: [svg]}\n")
        assert small.run("batch", "library.yaml").returncode == 6
        assert small.bytes_out() == {}


def test_a_killed_holder_holds_nothing(small: Studio) -> None:
    with holding(small) as holder:
        os.kill(holder.pid, signal.SIGKILL)  # it alone: its workers may live a while
        holder.wait()
        small.library("include: [{recipe: half-raglan}]\n")
        status, events, message = build(small.folder / "library.yaml")
        assert (status, message) == (0, "")
        assert made(events) == ["men/half-raglan/50", "men/half-raglan/52"]
    assert not (small.out / ".sleevewright.holder").exists()


# --- ten libraries, one folder ----------------------------------------------------------------

#: library -> block. Eight have a place of their own; "8" and "9" want the places of "0" and "1".
PLACES = {**{str(i): f"b{i}" for i in range(8)}, "8": "b0", "9": "b1"}


@pytest.fixture
def ten(studio: Studio) -> Studio:
    """Ten libraries of one variant each; "8" and "9" have a block that is 5 mm longer."""
    block = studio.block("men_overblock_50")
    longer = block.with_name("longer_50.svg")
    longer.write_text(block.read_text().replace("823.000000", "828.000000"))
    studio.recipe("half-raglan")
    for number, place in PLACES.items():
        file = longer.name if int(number) >= 8 else block.name
        text = (
            f"blocks: {{{place}: {{files: [blocks/{file}]}}}}\n"
            "recipes: [recipes/half-raglan.yaml]\n"
            "outputs: {folder: FOLDER, formats: [svg, json]}\n"
        )
        (studio.folder / f"{number}.yaml").write_text(text.replace("FOLDER", "out"))
        (studio.folder / f"alone{number}.yaml").write_text(text.replace("FOLDER", f"own/{number}"))
    return studio


def alone(studio: Studio, number: str) -> dict[str, bytes]:
    """Return what a library makes in a folder of its own."""
    assert build(studio.folder / f"alone{number}.yaml")[0] == 0
    folder = studio.folder / "own" / number
    files = [f"{PLACES[number]}/half-raglan/50.{ending}" for ending in ("svg", "json")]
    return {name: (folder / name).read_bytes() for name in files}


def test_ten_libraries_in_one_folder_are_never_mixed(ten: Studio) -> None:
    wanted = {number: alone(ten, number) for number in PLACES}
    assert wanted["8"] != wanted["0"]
    running = {
        number: ten.start("batch", f"{number}.yaml", "--json", "--jobs", 1) for number in PLACES
    }
    said = {number: process.communicate(timeout=120) for number, process in running.items()}
    ended = {number: process.returncode for number, process in running.items()}
    winners = [number for number, status in ended.items() if status == 0]
    assert winners
    for number, status in ended.items():
        if status == 0:
            continue
        if status == 2:  # its place belongs to a library that has run meanwhile
            assert "was made by the library" in said[number][1]
        else:
            assert status == 6, said[number]
            assert "another run holds this folder" in said[number][1]
    expected: dict[str, bytes] = {}
    for number in winners:
        assert not expected.keys() & wanted[number].keys(), "two libraries made one place"
        expected |= wanted[number]
    assert ten.bytes_out() == expected
    # One by one: what can be told apart is a union; of two that want one place the first keeps it.
    for number in reversed(PLACES):
        status, events, message = build(ten.folder / f"{number}.yaml")
        rival = [n for n in winners if n != number and PLACES[n] == PLACES[number]]
        if rival:
            assert status == 2
            assert f"was made by the library {ten.folder / str(rival[0])}.yaml" in message
            assert PLACES[number] in message
            continue
        assert (status, message) == (0, "")
        assert made(events) == [f"{PLACES[number]}/half-raglan/50"] * (number not in winners)
        winners = sorted({*winners, number})
        expected |= wanted[number]
        assert ten.bytes_out() == expected
    assert len(expected) == 2 * 8
    assert all(build(ten.folder / f"{n}.yaml")[1][-1]["up_to_date"] == 1 for n in winners)
