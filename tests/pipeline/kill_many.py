"""Kill runs of a small library at 500 drawn moments: `python tests/pipeline/kill_many.py [N [SEED]]`.

The same law as in test_crash.py, at length; it stops at the first kill after which something is wrong.
"""

import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path

HERE = Path(__file__).parent


def main(kills: int = 500, seed: int = 1) -> None:
    """Kill so often and say what it came to."""
    sys.path[:0] = [str(HERE), str(HERE.parent)]
    crash = import_module("test_crash")
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        studio = crash.Studio(Path(name))
        for size in (50, 52):
            studio.block(f"men_overblock_{size}")
        for recipe in ("classic-raglan", "half-raglan"):
            studio.recipe(recipe)
        studio.library()
        tally = crash.kill_often(studio, kills, seed)
    sys.stdout.write(f"{tally}, {time.monotonic() - began:.0f} s\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
