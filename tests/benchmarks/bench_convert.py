"""`convert` against the floor: a bare script that reads the same file and writes as many entities.

Run by hand: `python tests/benchmarks/bench_convert.py`. Ratios are of runs taken in turn; absolute
times depend on the machine. See docs/performance.md.
"""

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
BLOCK = ROOT / "sample_patterns" / "named" / "women_overblock_40.dxf"
RECIPE = ROOT / "recipes" / "classic-raglan.yaml"
ROUNDS = 7

FLOOR = """
import sys, json, ezdxf
doc = ezdxf.readfile(sys.argv[1])
count = sum(1 for e in doc.modelspace())
out = ezdxf.new("R12")
space = out.modelspace()
for piece in range(4):
    for line in range(8):
        space.add_polyline2d([(i, piece * 10 + line) for i in range(60)])
    for text in range(14):
        space.add_text("TEXT", height=5)
    for point in range(60):
        space.add_point((point, piece))
out.saveas(sys.argv[2] + ".dxf")
open(sys.argv[2] + ".svg", "w").write("<svg>" + "<path d='M0 0L1 1'/>" * 200 + "</svg>")
json.dump({"count": count, "rows": [[i] * 5 for i in range(100)]}, open(sys.argv[2] + ".json", "w"))
"""
BARE_CLICK = """
import click
@click.group()
def cli(): pass
for n in "abcde":
    cli.command(n)(lambda: None)
cli()
"""


def timed(command: list[str]) -> tuple[float, float]:
    """Return wall seconds and peak memory of the run, MB."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, usage = __import__("os").wait4(process.pid, 0)
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def in_turn(first: list[str], second: list[str]) -> tuple[str, str, str, str]:
    """Time two commands alternately; return medians and ratios as text."""
    pairs = [(timed(first), timed(second)) for _ in range(ROUNDS + 1)][1:]
    wall = statistics.median(a[0] / b[0] for a, b in pairs)
    memory = statistics.median(a[1] / b[1] for a, b in pairs)
    ours = statistics.median(a[0] for a, _ in pairs)
    floor = statistics.median(b[0] for _, b in pairs)
    return f"{ours * 1e3:.0f} ms", f"{floor * 1e3:.0f} ms", f"{wall:.2f}", f"{memory:.2f}"


def warm() -> tuple[float, float, float]:
    """Return ms of reading, of the geometry alone and of the whole job, warm."""
    from sleevewright import FORMATS, Recipe, Registry, convert, read_pattern
    from sleevewright.operations.raglan import Raglan

    registry = Registry.installed()
    recipe = Recipe.load(RECIPE, registry)
    block = read_pattern([BLOCK]).patterns[0]

    def job() -> None:
        result = convert(block, recipe, {})
        for write in FORMATS.values():
            write(result)

    def median(act: object, rounds: int = 15) -> float:
        times = []
        for _ in range(rounds):
            start = time.perf_counter()
            act()
            times.append(time.perf_counter() - start)
        return statistics.median(times[2:]) * 1e3

    return (
        median(lambda: read_pattern([BLOCK]), 5),
        median(lambda: Raglan().apply(block)),
        median(job),
    )


def main() -> None:
    """Print the table."""
    ours = [sys.executable, "-m", "sleevewright.cli"]
    with tempfile.TemporaryDirectory() as folder:
        convert = [*ours, "convert", str(BLOCK), "--recipe", str(RECIPE), "--out", folder]
        floor = [sys.executable, "-c", FLOOR, str(BLOCK), f"{folder}/floor"]
        print("cold convert: ours, floor, wall ratio, memory ratio:", *in_turn(convert, floor))
        bare = [sys.executable, "-c", BARE_CLICK, "--help"]
        print(
            "--help: ours, bare click, wall ratio, memory ratio:", *in_turn([*ours, "--help"], bare)
        )
    read, geometry, whole = warm()
    print(f"warm: read {read:.1f} ms, geometry {geometry:.1f} ms, whole job {whole:.1f} ms")
    print(
        f"peak memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB"
    )


if __name__ == "__main__":
    main()
