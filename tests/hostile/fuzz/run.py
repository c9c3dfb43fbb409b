"""Fuzz the readers: `python tests/hostile/fuzz/run.py [TARGET...] [--seconds N]`; `pip install atheris` first.

A target is a file NAME_target.py in this folder with

    SEEDS: Iterable[bytes]                      good files and hostile ones, to begin with
    def one(data: bytes) -> None                raises for whatever must not come of data
    def mutate(data: bytes, draw: random.Random) -> bytes     may be left out: changes data as its format goes

All targets run if none is named, one after the other, each in a process of its own and so many seconds (60).
What is found is printed, its input kept in a folder that is named, and the exit status is 1. Nothing is kept
between runs: what was found becomes a case of the corpus.
"""

import argparse
import random
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parents[1])]

LONGEST = 1 << 15  # bytes of one input
HANGS = 10  # seconds

#: How often a mutator of the format itself is used, and not one of bytes.
SHARE = 0.7


def main() -> int:
    """Run targets; return the exit status."""
    names = sorted(path.stem.removesuffix("_target") for path in HERE.glob("*_target.py"))
    parser = argparse.ArgumentParser(description="Fuzz the readers.")
    parser.add_argument(
        "targets", nargs="*", choices=[[], *names], metavar=f"{{{','.join(names)}}}"
    )
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.here:
        fuzz(asked.targets[0], asked.seconds)  # ends the process
    failed = []
    for name in asked.targets or names:
        words = [
            sys.executable,
            str(Path(__file__)),
            name,
            "--seconds",
            str(asked.seconds),
            "--here",
        ]
        if subprocess.run(words, check=False).returncode:
            failed.append(name)
    sys.stdout.write(f"found something: {', '.join(failed)}\n" if failed else "found nothing\n")
    return 1 if failed else 0


def fuzz(name: str, seconds: int) -> None:
    """Fuzz one target in this process until the time is over or something is found."""
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is missing: pip install atheris")
    with atheris.instrument_imports(include=["sleevewright"]):
        target = import_module(f"hostile.fuzz.{name}_target")

    def mutated(data: bytes, most: int, seed: int) -> bytes:
        draw = random.Random(seed)
        if hasattr(target, "mutate") and draw.random() < SHARE:
            return bytes(target.mutate(data, draw)[:most])
        return bytes(atheris.Mutate(data, most))

    folder = Path(tempfile.mkdtemp(prefix=f"fuzz-{name}-"))
    (folder / "corpus").mkdir()
    for number, seed in enumerate(target.SEEDS):
        (folder / "corpus" / f"seed{number}").write_bytes(seed)
    words = [
        sys.argv[0], str(folder / "corpus"), f"-max_total_time={seconds}", f"-max_len={LONGEST}", f"-timeout={HANGS}",
        "-rss_limit_mb=2048", f"-artifact_prefix={folder}/found-", "-print_final_stats=1", "-verbosity=1",
    ]  # fmt: skip
    atheris.Setup(words, target.one, custom_mutator=mutated)
    atheris.Fuzz()


if __name__ == "__main__":
    sys.exit(main())
