"""Faults around a run: what lies in its way is told, what was left is cleared, nobody outlives it."""

import os
import resource
import signal
import subprocess
import sys
import time

import psutil
import pytest

from conftest_pipeline import Studio, build


def lengthen(studio: Studio) -> None:
    block = studio.folder / "blocks" / "men_overblock_50.svg"
    text = block.read_text()
    assert "823.000000" in text
    block.write_text(text.replace("823.000000", "824.000000"))


def test_a_dry_run_after_an_edit_says_what_it_would_make(small: Studio) -> None:
    build(small)
    lengthen(small)
    done = small.run("batch", "library.yaml", "--dry-run")
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("would make") == 2


def test_a_folder_in_the_place_of_an_output(small: Studio) -> None:
    build(small)
    output = small.out / "men/half-raglan/50.svg"
    output.unlink()
    output.mkdir()
    done = small.run("batch", "library.yaml")
    assert done.returncode == 4, done.stderr
    assert "half-raglan/50.svg: is a folder" in done.stderr
    output.rmdir()
    assert small.run("batch", "library.yaml").returncode == 0
    assert output.is_file()


def test_what_a_crash_left_is_removed(small: Studio) -> None:
    build(small)
    left = small.out / "men/half-raglan/.sleevewright-0123456789abcdef.tmp"
    left.write_bytes(b"half a fi")
    lengthen(small)
    assert small.batch()[0] == 0
    assert not left.exists()


def until_made(process: "subprocess.Popen[str]", count: int) -> None:
    told = 0
    assert process.stdout is not None
    while told < count:
        told += '"event": "made"' in process.stdout.readline()


@pytest.fixture
def hanging(small: Studio) -> tuple[Studio, dict[str, str]]:
    """Four variants, and one that never ends."""
    env = small.plug_in()
    small.recipe("hang", "name: zhang\nsteps:\n  - hang\n")
    small.library('include: [{recipe: "*raglan*"}, {recipe: zhang, size: 52}]\n')
    return small, env


def test_what_was_told_as_made_is_not_made_again(hanging: tuple[Studio, dict[str, str]]) -> None:
    studio, env = hanging
    process = studio.start("batch", "library.yaml", "--jobs", 1, "--json", env=env)
    until_made(process, 4)
    time.sleep(1.0)
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()
    done = studio.run("batch", "library.yaml", "--dry-run", env=env)
    assert done.stdout.count("would make") == 1


def test_workers_end_with_the_run_that_started_them(
    hanging: tuple[Studio, dict[str, str]],
) -> None:
    studio, env = hanging
    process = studio.start("batch", "library.yaml", "--jobs", 1, "--json", env=env)
    until_made(process, 4)
    family = psutil.Process(process.pid).children(recursive=True)
    assert family
    process.kill()
    process.communicate()
    _, alive = psutil.wait_procs(family, timeout=15)
    assert not [p for p in alive if p.is_running() and p.status() != psutil.STATUS_ZOMBIE]


@pytest.mark.parametrize("stored_by", ["here", "workers"])
@pytest.mark.parametrize("most", [8_000, 20_000])
def test_no_file_may_grow_beyond(small: Studio, most: int, stored_by: str) -> None:
    """A quota stands for a full disk: status 4, one line for it, and the next run finishes.

    The first is too little for the record, the second for a drawing.
    """
    small.library(f"outputs: {{folder: out, formats: [svg, json], stored_by: {stored_by}}}\n")
    done = subprocess.run(
        [sys.executable, "-m", "sleevewright.cli", "batch", "library.yaml", "--jobs", "1"],
        cwd=small.folder, capture_output=True, text=True, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
    )  # fmt: skip
    assert done.returncode == 4, (done.returncode, done.stderr)
    assert len(done.stderr.splitlines()) == 1
    assert "fault of sleevewright" not in done.stderr
    assert "delete it" not in done.stderr
    assert small.run("batch", "library.yaml").returncode == 0
    assert len(small.bytes_out()) == 8


@pytest.mark.parametrize("delay", [2.5, 3.5, 4.5])
def test_a_signal_ends_a_run_on_a_cluster(small: Studio, delay: float) -> None:
    small.library("matrix: {front_drop: [30 mm, 35 mm, 40 mm, 45 mm, 50 mm, 55 mm]}\n")
    process = small.start("batch", "library.yaml", "--engine", "dask", "--json", "--force")
    time.sleep(delay)
    process.send_signal(signal.SIGTERM)
    out, _ = process.communicate(timeout=60)
    ended = '"finished"' in out
    # It may have been done before; then the signal met a process that was ending anyway.
    assert process.returncode in ((0, 143, -signal.SIGTERM) if ended else (143,))
    assert out.count('"event": "made"') <= 14
    assert not ended or out.count('"event": "made"') == 14
