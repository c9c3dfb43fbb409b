"""Whole libraries: workers, engines, runs with nothing to do, growth. Ratios in one run.

Run by hand: `python tests/benchmarks/bench_library.py [PART ...] [--jobs N]`; parts are `job`, `workers`, `engines`,
`nothing`, `edit`, `growth` and `plan`. `nothing` needs `ninja` on the PATH. See docs/performance.md.
"""

import argparse
import contextlib
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parent.parent.parent
SIZES = 11  # of the three sample blocks together


def make_library(folder: Path, jobs: int, name: str = "library", **outputs: str) -> Path:
    """Write a library of about so many variants: the classic raglan at many neck drops."""
    shutil.copytree(ROOT / "sample_patterns" / "svg", folder / "blocks", dirs_exist_ok=True)
    shutil.copy(ROOT / "recipes" / "classic-raglan.yaml", folder)
    drops = [f"{25 + 25 * k * SIZES / jobs:.3f} mm" for k in range(max(1, round(jobs / SIZES)))]
    blocks = {
        block: {"files": [f"blocks/{block}_*.svg"]}
        for block in ("women_overblock", "men_overblock", "child_block")
    }
    library = {
        "blocks": blocks,
        "recipes": ["classic-raglan.yaml"],
        "matrix": {"front_drop": drops},
        "outputs": {"folder": f"out-{name}", "formats": ["dxf", "svg", "json"], **outputs},
    }
    path = folder / f"{name}.yaml"
    path.write_text(json.dumps(library))  # JSON is YAML
    return path


def run(library: Path, *options: str) -> tuple[float, float, dict[str, int]]:
    """Build; return wall seconds, peak memory of the process itself (MB), and the counts."""
    command = [sys.executable, "-m", "sleevewright.cli", "batch", str(library), "--json", *options]
    start = time.perf_counter()
    with tempfile.TemporaryFile() as out:
        process = subprocess.Popen(command, stdout=out)
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - start
        out.seek(0)
        events = json.loads(out.read())
    if os.waitstatus_to_exitcode(status) != 0:
        raise SystemExit(f"{' '.join(command)} ended with {status}")
    return wall, usage.ru_maxrss / 1024, events[-1]


@contextmanager
def workplace() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def workers(jobs: int) -> None:
    """Two workers against one."""
    with workplace() as folder:
        library = make_library(folder, jobs)
        ratios = []
        for _ in range(3):
            one = run(library, "--force", "--jobs", "1")[0]
            two = run(library, "--force", "--jobs", "2")[0]
            ratios.append(one / two)
        print(f"2 workers against 1, {jobs} jobs: {statistics.median(ratios):.2f} x (aim 1.9)")


def engines(jobs: int) -> None:
    """A cluster of two dask workers against two local ones."""
    with workplace() as folder:
        library = make_library(folder, jobs)
        ratios = []
        for _ in range(3):
            local = run(library, "--force", "--jobs", "2")[0]
            dask = run(library, "--force", "--jobs", "2", "--engine", "dask")[0]
            ratios.append(local / dask)
        print(f"dask against local, {jobs} jobs: {statistics.median(ratios):.2f} x (aim 0.9)")


def nothing(jobs: int) -> None:
    """A run that finds nothing to do, against ninja's over as many files."""
    with workplace() as folder:
        library = make_library(folder, jobs)
        wall, _, counts = run(library)
        print(f"{counts['made']} made in {wall:.0f} s")
        ninja_files(folder / "ninja", 3 * counts["variants"])
        ours, theirs = [], []
        for _ in range(7):
            ours.append(run(library)[0])
            start = time.perf_counter()
            subprocess.run(["ninja"], cwd=folder / "ninja", check=True, stdout=subprocess.DEVNULL)
            theirs.append(time.perf_counter() - start)
        ratio = statistics.median(a / b for a, b in zip(ours, theirs, strict=True))
        print(
            f"nothing to do, {3 * counts['variants']} outputs: {statistics.median(ours):.3f} s,"
            f" ninja {statistics.median(theirs):.3f} s: {ratio:.1f} x (aim 3)"
        )


def ninja_files(folder: Path, count: int) -> None:
    """Let ninja make so many files, each from one source, with its own log."""
    folder.mkdir()
    (folder / "source").write_text("x")
    lines = ["rule copy", "  command = cp $in $out", ""]
    lines += [f"build out/{k // 100}/{k}: copy source" for k in range(count)]
    (folder / "build.ninja").write_text("\n".join(lines) + "\n")
    subprocess.run(["ninja", "--quiet"], cwd=folder, check=True)


def edit(jobs: int) -> None:
    """One block changed: the work is its variants' and no more."""
    with workplace() as folder:
        library = make_library(folder, jobs)
        _, _, whole = run(library)
        path = folder / "blocks" / "men_overblock_50.svg"
        text = path.read_text()
        path.write_text(text.replace("823.000000", "824.000000"))  # the hem, a millimetre
        wall, _, counts = run(library)
        print(
            f"after one size was changed by 1 mm: {counts['made']} of {whole['variants']} made, {wall:.1f} s"
        )


def growth(jobs: int) -> None:
    """Time and memory per job as libraries grow by tens."""
    for count in (100, 1_000, jobs):
        with workplace() as folder:
            command = [sys.executable, "-m", "sleevewright.cli", "batch"]
            command.append(str(make_library(folder, count)))
            start = time.perf_counter()
            seen = watched(subprocess.Popen(command, stdout=subprocess.DEVNULL))
            wall = time.perf_counter() - start
            made = len(list(folder.glob("out-library/**/*.json")))
            batch, workers = seen[0], seen[1:]
            spent = sum(process.seconds for process in seen)
            print(
                f"{made} jobs: {1e3 * wall / made:.1f} ms a job by the clock, {1e3 * spent / made:.1f} ms of processor;"
                f" peak {batch.memory:.0f} MB in the process that runs the batch,"
                f" {max(process.memory for process in workers):.0f} MB in a worker",
                flush=True,
            )


class Seen(NamedTuple):
    """What a process had taken when it was last seen: processor time, s, and peak memory, MB."""

    seconds: float
    memory: float


def watched(process: subprocess.Popen[bytes]) -> list[Seen]:
    """Wait for a batch; return what it and then each of its workers took."""
    import psutil

    top = psutil.Process(process.pid)
    seen: dict[int, Seen] = {}
    while process.poll() is None:
        with contextlib.suppress(psutil.NoSuchProcess):
            for one in (top, *top.children(recursive=True)):
                with contextlib.suppress(psutil.NoSuchProcess, FileNotFoundError):
                    times = one.cpu_times()
                    seen[one.pid] = Seen(times.user + times.system, high_water(one.pid))
        time.sleep(0.1)
    if process.returncode:
        raise SystemExit(f"{process.args} ended with {process.returncode}")
    return list(seen.values())


def high_water(pid: int) -> float:
    """Return the highest resident memory of a process so far, MB; 0 for one that has just ended."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return sum(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024


def plan(jobs: int) -> None:
    """What it costs to plan a library, before anything is made."""
    for count in (1_000, 10_000, jobs):
        with workplace() as folder:
            wall, memory, counts = run(make_library(folder, count), "--dry-run")
            print(
                f"plan of {counts['variants']}: {wall:.2f} s,"
                f" {1e6 * wall / counts['variants']:.0f} us a variant, {memory:.0f} MB"
            )


def job(rounds: int) -> None:
    """A job, warm, as a worker does it, against a bare script's work on the same files, warm."""
    import io

    from bench_convert import BLOCK, FLOOR, RECIPE

    from sleevewright import FORMATS, Recipe, convert, read

    recipe = Recipe.load(RECIPE)
    floor = compile(FLOOR, "floor", "exec")

    def ours() -> None:
        result = convert(read(BLOCK)[0], recipe)
        for name in ("dxf", "svg", "json"):
            FORMATS[name](result)

    def theirs(folder: Path) -> None:
        with contextlib.redirect_stdout(io.StringIO()):
            exec(floor, {"__name__": "floor"})

    with workplace() as folder:
        kept, sys.argv = sys.argv, ["floor", str(BLOCK), str(folder / "x")]
        pairs = []
        for _ in range(rounds + 2):
            times = []
            for act in (ours, lambda: theirs(folder)):
                start = time.perf_counter()
                act()
                times.append(time.perf_counter() - start)
            pairs.append(times)
        sys.argv = kept
    ratio = statistics.median(a / b for a, b in pairs[2:])
    first, second = (statistics.median(column) for column in zip(*pairs[2:], strict=True))
    print(
        f"a job with reading, warm: {1e3 * first:.0f} ms, the floor {1e3 * second:.0f} ms:"
        f" {ratio:.2f} x (aim 1.3)"
    )


PARTS = {
    "job": (job, 15),
    "workers": (workers, 220), "engines": (engines, 440), "nothing": (nothing, 3_334),
    "edit": (edit, 110), "growth": (growth, 10_000), "plan": (plan, 100_000),
}  # fmt: skip


def main() -> None:
    """Run the parts that are named, or all."""
    given = argparse.ArgumentParser()
    given.add_argument("parts", nargs="*", choices=[*PARTS, []])
    given.add_argument("--jobs", type=int)
    asked = given.parse_args()
    for name in asked.parts or PARTS:
        part, usual = PARTS[name]
        part(asked.jobs or usual)


if __name__ == "__main__":
    main()
