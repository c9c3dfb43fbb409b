"""Disturb runs in every way: `python tests/faults/faults.py [KIND ...]` prints a table of what came of it.

Mounts, another user and immutable files want root. `FAULTS=20` takes that many of each kind, spread evenly.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from fault_bench import SCENES, Bench, Scene, wrong  # noqa: E402 (found on that path)
from fault_kinds import KINDS, Fault  # noqa: E402

TRIES = 3  # to hit a call whose number may differ between runs


def faults_of(
    kind: str, bench: Bench, most: int = 0, scenes: Sequence[Scene] = SCENES
) -> list[Fault]:
    """Return the faults of a kind, or so many of them, spread evenly."""
    faults = list(KINDS[kind][0](bench, scenes))
    if not most or most >= len(faults):
        return faults
    step = len(faults) / most
    return [faults[int((i + 0.37) * step)] for i in range(most)]


def missing(kind: str) -> str:
    """Say what a kind of faults wants that is not here; "" where all is here."""
    program = KINDS[kind][1]
    if program and shutil.which(program) is None:
        return f"no {program}"
    if kind in ("full", "guard"):
        with tempfile.TemporaryDirectory() as folder:
            words = ["mount", "-t", "tmpfs", "tmpfs", folder]
            if subprocess.run(words, capture_output=True, check=False).returncode != 0:
                return "no right to mount"
            subprocess.run(["umount", folder], check=True)
    return ""


def suffered(bench: Bench, fault: Fault) -> tuple[bool, list[str]]:
    """Let a fault happen; return whether it hit, and what is wrong after it."""
    for _ in range(TRIES):
        place = bench.place(fault.scene)
        try:
            done = fault.happen(bench, place)
            if done.hit:
                return True, wrong(bench, place, done, fault.expected)
        finally:
            shutil.rmtree(place.folder)
    return False, []


def all_suffered(bench: Bench, faults: list[Fault]) -> Iterator[tuple[Fault, bool, list[str]]]:
    """Let faults happen, two at a time."""
    with ProcessPoolExecutor(2, mp_context=get_context("fork")) as pool:
        futures = {pool.submit(suffered, bench, fault): fault for fault in faults}
        for future in as_completed(futures):
            yield futures[future], *future.result()


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def main(kinds: list[str]) -> int:
    """Run the kinds and print a table; return how many faults were not borne."""
    most = int(os.environ.get("FAULTS", "0"))
    say(f"{'kind':<10}{'runs':>6}{'not hit':>9}{'failures':>10}{'s':>7}")
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder).resolve())
        bench.folder.chmod(0o755)
        bench.make_all()
        for kind in kinds:
            if said := missing(kind):
                say(f"{kind:<10}  left out: {said}")
                continue
            began, count, lines = time.monotonic(), Counter[str](), []
            for fault, hit, found in all_suffered(bench, faults_of(kind, bench, most)):
                count.update(runs=1, missed=not hit, failures=bool(found))
                lines += [f"    {fault}: {line}" for line in found]
            total += count
            seconds = time.monotonic() - began
            row = (count["runs"], count["missed"], count["failures"])
            say(f"{kind:<10}{row[0]:>6}{row[1]:>9}{row[2]:>10}{seconds:>7.0f}")
            for line in sorted(lines):
                say(line)
    say(f"{'all':<10}{total['runs']:>6}{total['missed']:>9}{total['failures']:>10}")
    return total["failures"]


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1:] or list(KINDS)), 100))
