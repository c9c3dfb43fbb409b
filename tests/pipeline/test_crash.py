"""A run may end at any moment, and a disk may say no: no half file, nothing lost, the next run goes on.

KILLS=50 in the environment kills oftener; `python tests/pipeline/kill_many.py` kills 500 times.
"""

import ctypes
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from conftest_pipeline import Studio, build, made
from sleevewright.errors import WriteError

TEMPORARY = ".sleevewright-"  # how names of temporary files begin
#: s. The state promises to be safe on disk within 0.2 s; the rest is for the pipe between.
SAFE = 0.2 + 0.2


# --- kill -9 ----------------------------------------------------------------------------------


@dataclass
class Tally:
    """What many kills came to."""

    kills: int = 0
    early: int = 0  # before anything was told as made
    late: int = 0  # after the run had ended
    told: int = 0  # variants told as made before the kill
    again: int = 0  # of these, made again
    temporary: int = 0  # temporary files left by a kill
    left: int = 0  # of these, still there after the next run


@dataclass
class Edited:
    """A library whose block is drawn in one of two ways, and what each makes undisturbed."""

    studio: Studio
    versions: list[tuple[str, dict[str, bytes]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        drawn = self.block.read_text()
        for text in (drawn, drawn.replace("823.000000", "824.000000")):
            self.block.write_text(text)
            build(self.studio)
            self.versions.append((text, self.studio.bytes_out()))
        (_, first), (_, second) = self.versions
        assert len(first) == len(second) == 8
        assert len([n for n in first if first[n] != second[n]]) == 4  # size 50 in two formats

    @property
    def block(self) -> Path:
        return self.studio.folder / "blocks" / "men_overblock_50.svg"


def library_of(studio: Studio, stored_by: str) -> None:
    studio.library(f"outputs: {{folder: out, formats: [svg, json], stored_by: {stored_by}}}\n")


def killed_run(studio: Studio, after: int, delay: float) -> list[tuple[float, str]]:
    """Start a run and kill all its processes; return (when told, key) of what it had made.

    Args:
        studio: where.
        after: how many events it must have told first (the first one is its plan); 0 for none.
        delay: s from then to the kill.
    """
    process = studio.start("batch", "library.yaml", "--json", "--jobs", 2)
    told: list[tuple[float, str]] = []
    heard = threading.Semaphore(0)

    def listen() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            if '"made", "key"' in line:
                told.append((time.monotonic(), json.loads(line.strip("[,\n"))["key"]))
            heard.release()

    listener = threading.Thread(target=listen)
    listener.start()
    for _ in range(after):
        assert heard.acquire(timeout=60)
    time.sleep(delay)
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    listener.join()
    return told


def temporary_files(folder: Path) -> list[Path]:
    return [p for p in folder.rglob(f"{TEMPORARY}*") if p.is_file()]


def kill_often(studio: Studio, kills: int, seed: int) -> Tally:
    """Kill runs at drawn moments; after each, assert that nothing is half and the next run mends."""
    drawn = random.Random(seed)
    edited = Edited(studio)
    tally = Tally(kills)
    for number in range(kills):
        text, wanted = edited.versions[number % 2]
        other = edited.versions[1 - number % 2][1]
        old: dict[str, bytes] = other
        edited.block.write_text(text)
        if drawn.random() < 0.5:  # else over what the other version made
            shutil.rmtree(studio.out)
            old = {}
        library_of(studio, drawn.choice(["here", "workers"]))
        # A run takes about a second to its plan, a second to the first variant, 0.2 s to the last.
        after = drawn.choice([0, 1, 2, 2, 3, 3, 4])
        told = killed_run(studio, after, drawn.uniform(0.0, 1.5 if after < 2 else 0.3))
        found = studio.bytes_out() if studio.out.exists() else {}
        for name, data in found.items():
            assert data in (wanted[name], old.get(name)), f"kill {number}: {name} is half"
        assert all(name in found for name in old), f"kill {number}: an old file is gone"
        for _, key in told:
            for ending in ("svg", "json"):
                assert found[f"{key}.{ending}"] == wanted[f"{key}.{ending}"]
        tally.temporary += len(temporary_files(studio.folder))
        events = build(studio)
        assert events[-1]["failed"] == 0
        assert studio.bytes_out() == wanted
        again = set(made(events))
        last = told[-1][0] if told else 0.0
        for when, key in told:
            assert when > last - SAFE or key not in again, f"kill {number}: {key} was made again"
        tally.again += len(again & {key for _, key in told})
        tally.told += len(told)
        tally.early += not told
        tally.late += not again
        tally.left += len(temporary_files(studio.folder))
    return tally


def test_killed_at_any_moment(small: Studio) -> None:
    kills = int(os.environ.get("KILLS", "6"))
    tally = kill_often(small, kills, seed=20)
    # The moments are spread over the whole of a run: else the test has shown little.
    assert 0 < tally.early < kills
    assert tally.late < kills


# --- a disk that says no ----------------------------------------------------------------------


def refused(
    studio: Studio, first: Callable[[], None] | None = None, why: str = "cannot be written"
) -> "subprocess.CompletedProcess[str]":
    """Run the library in a process that does something to itself first; it must end with 4."""
    done = subprocess.run(
        [sys.executable, "-m", "sleevewright.cli", "batch", "library.yaml", "--jobs", "2"],
        cwd=studio.folder, text=True, capture_output=True, timeout=120, preexec_fn=first,
    )  # fmt: skip
    assert done.returncode == 4, done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert why in done.stderr
    assert temporary_files(studio.folder) == []
    return done


def bound_by_permissions() -> None:
    """Give up what lets root write everywhere (CAP_DAC_OVERRIDE)."""
    if os.geteuid() == 0:
        drop_from_bounding_set, override = 24, 1  # prctl(2), capabilities(7)
        if ctypes.CDLL(None).prctl(drop_from_bounding_set, override, 0, 0, 0) != 0:
            raise OSError("cannot give up capabilities here")


def lengthen(studio: Studio) -> None:
    block = studio.folder / "blocks" / "men_overblock_50.svg"
    block.write_text(block.read_text().replace("823.000000", "824.000000"))


def test_a_file_where_a_folder_should_be(small: Studio) -> None:
    small.out.mkdir()
    (small.out / "men").write_text("somebody's")
    refused(small, why="out/men: is no folder; an output of men/classic-raglan/50 would go there")
    assert (small.out / "men").read_text() == "somebody's"
    (small.out / "men").unlink()
    assert build(small)[-1]["made"] == 4


def test_a_folder_where_a_file_should_be(small: Studio) -> None:
    place = small.out / "men/half-raglan/50.svg"
    place.mkdir(parents=True)
    with pytest.raises(WriteError, match=r"men/half-raglan/50\.svg: is a folder"):
        build(small)
    assert temporary_files(small.folder) == []
    place.rmdir()
    assert build(small)[-1]["failed"] == 0
    assert len(small.bytes_out()) == 8


def test_a_folder_that_may_not_be_written(small: Studio) -> None:
    try:
        subprocess.run(["true"], check=True, preexec_fn=bound_by_permissions)
    except subprocess.SubprocessError:
        pytest.skip("root cannot be bound by permissions here")
    small.out.mkdir()
    small.out.chmod(0o555)
    assert (
        "out: cannot be written: Permission denied" in refused(small, bound_by_permissions).stderr
    )
    assert list(small.out.iterdir()) == []
    small.out.chmod(0o755)
    build(small)
    before = small.bytes_out()
    lengthen(small)
    folder = small.out / "men/half-raglan"
    folder.chmod(0o555)
    done = refused(small, bound_by_permissions)
    assert "men/half-raglan/50." in done.stderr
    now = small.bytes_out()
    assert {n: now[n] for n in now if "half" in n} == {n: before[n] for n in before if "half" in n}
    folder.chmod(0o755)
    assert "men/half-raglan/50" in made(build(small))
    assert all(small.bytes_out()[n] != before[n] for n in before if "/50." in n)


def test_a_disk_that_is_full(small: Studio) -> None:
    """Stands for a full disk: no file may grow beyond a limit that the DXF alone needs more than."""
    small.library("outputs: {folder: out, formats: [svg, dxf]}\nsizes: [50]\n")
    build(small)
    before = small.bytes_out()
    lengthen(small)
    least = min(len(data) for name, data in before.items() if name.endswith("dxf"))
    most = least - 1000
    assert all(len(data) < most for name, data in before.items() if name.endswith("svg"))
    assert (small.out / ".sleevewright.state").stat().st_size < most

    def full() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    done = refused(small, full)
    assert ".dxf: cannot be written" in done.stderr
    assert small.bytes_out() == before  # the SVG of the pair is not written either
    assert made(build(small)) == ["men/classic-raglan/50", "men/half-raglan/50"]
    after = small.bytes_out()
    assert after.keys() == before.keys()
    assert all(after[name] != before[name] for name in after)
