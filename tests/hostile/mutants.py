"""Damaged copies of good files: `python tests/hostile/mutants.py [MUTANTS [SEED]]`.

Eight kinds of damage, so many mutants of each kind of each file. A mutant may be refused by the reader's own
exception, read as the file was, or read with a finding that says what is odd. What is left is *silent*: read
without a word, and something else. No reader can see a wrong digit; the share is counted, not judged.
Anything else fails: another exception, a hang, a process that dies.
"""

import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.harness import OUR_FAULT, Outcome, attempt, each, read_block, unreadable
from sleevewright.operations.registry import Registry
from sleevewright.pipeline.library import Library
from sleevewright.reading import Reading
from sleevewright.reading.label_map import read_label_map
from sleevewright.recipe import Recipe

ROOT = Path(__file__).parents[2]
SAME = 1e-6  # mm

#: A label map with every key.
LABEL_MAP = "a label map"
LABELS = b"""\
units: mm
size: "38"
block: jacket
layers:
  A1: front.armhole
  A2: back.side_seam
  A3: ignore
pieces:
  outline 1: front
  outline 2: back
sleeve_front: right
"""


# --- damage --------------------------------------------------------------------------------------


def _bit(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << draw.randrange(8)]) + data[at + 1 :]


def _byte(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data))
    return data[:at] + draw.randbytes(1) + data[at + 1 :]


def _digit(data: bytes, draw: random.Random) -> bytes:
    at = draw.choice([i for i, byte in enumerate(data) if 48 <= byte <= 57])
    other = draw.choice([digit for digit in b"0123456789" if digit != data[at]])
    return data[:at] + bytes([other]) + data[at + 1 :]


def _line_dropped(data: bytes, draw: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    del lines[draw.randrange(len(lines))]
    return b"".join(lines)


def _truncated(data: bytes, draw: random.Random) -> bytes:
    return data[: draw.randrange(len(data))]


def _line_doubled(data: bytes, draw: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    at = draw.randrange(len(lines))
    return b"".join([*lines[: at + 1], *lines[at:]])


def _lines_swapped(data: bytes, draw: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    a, b = draw.sample(range(len(lines)), 2)
    lines[a], lines[b] = lines[b], lines[a]
    return b"".join(lines)


def _spliced(data: bytes, draw: random.Random) -> bytes:
    """A part of the file written over another."""
    length = draw.randint(1, min(64, len(data) // 2))
    source, target = (draw.randrange(len(data) - length) for _ in range(2))
    return data[:target] + data[source : source + length] + data[target + length :]


KINDS: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "one bit": _bit,
    "one byte": _byte,
    "one digit": _digit,
    "line dropped": _line_dropped,
    "truncated": _truncated,
    "line doubled": _line_doubled,
    "lines swapped": _lines_swapped,
    "spliced": _spliced,
}


# --- what was read, as numbers and words ---------------------------------------------------------


def alike(a: Any, b: Any) -> bool:
    """Whether two things that were read are the same: numbers within 1e-6, findings aside."""
    if isinstance(a, Reading) and isinstance(b, Reading):
        return alike(a.patterns, b.patterns)
    if isinstance(a, type) or type(a) is not type(b):
        return a is b
    if isinstance(a, tuple | list):
        return len(a) == len(b) and all(map(alike, a, b))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(alike(a[key], b[key]) for key in a)
    if isinstance(a, float):
        return abs(a - b) <= SAME
    if hasattr(a, "controls"):
        return (
            a.controls.shape == b.controls.shape and np.abs(a.controls - b.controls).max() <= SAME
        )
    if hasattr(a, "__dataclass_fields__"):
        names = [
            name
            for name in a.__dataclass_fields__
            if name not in ("file", "line", "column", "place", "places", "content")
        ]
        return all(alike(getattr(a, name), getattr(b, name)) for name in names)
    return bool(a == b)


# --- files and their readers ---------------------------------------------------------------------


@cache
def _registry() -> Registry:
    return Registry.installed()


@dataclass(frozen=True)
class Subject:
    """A good file and its reader."""

    name: str
    suffix: str
    data: bytes
    read: Callable[[Path], Any]


def read_recipe(path: Path) -> Recipe:
    return Recipe.load(path, _registry())


def _of(path: Path, read: Callable[[Path], Any]) -> Subject:
    return Subject(path.relative_to(ROOT).as_posix(), path.suffix, path.read_bytes(), read)


def _reader_of(path: Path) -> Callable[[Path], Any]:
    if path.suffix != ".yaml":
        return read_block
    return Library.load if path.name == "library.yaml" else read_recipe


def subjects() -> dict[str, Subject]:
    """Every sample file and recipe, and a label map."""
    paths = [*ROOT.glob("sample_patterns/**/*.*"), *ROOT.glob("recipes/*.yaml")]
    found = [
        _of(path, _reader_of(path))
        for path in sorted(paths)
        if path.suffix in (".dxf", ".svg", ".yaml")
    ]
    found.append(Subject(LABEL_MAP, ".yaml", LABELS, read_label_map))
    return {subject.name: subject for subject in found}


# --- runs ----------------------------------------------------------------------------------------


def mutant(subject: Subject, kind: str, number: int, seed: int) -> bytes:
    """Return a damaged copy of a file; the same for the same arguments."""
    draw = random.Random(f"{seed} {subject.name} {kind} {number}")
    return KINDS[kind](subject.data, draw)


def came_of(subject: Subject, data: bytes, good: tuple[Outcome, Any], path: Path) -> str:
    """Read a mutant: "refused", "same", "listed" or "silent"; anything else says what is wrong."""
    path.write_bytes(data)
    outcome, value = attempt(subject.read, path)
    if outcome.ended == "raised":
        return f"{outcome.error}: {outcome.text}"
    wrong = OUR_FAULT in outcome.text or unreadable(
        outcome, path.name if outcome.ended == "refused" else ""
    )
    if wrong:
        return f"{wrong}: {outcome.text}"
    if outcome.ended == "refused":
        return "refused"
    before, original = good
    if alike(value, original):
        return "same"
    return "listed" if outcome.text != before.text else "silent"


@dataclass(frozen=True)
class Row:
    """What came of the mutants of one kind of one file."""

    subject: str
    kind: str
    tally: Counter[str]
    slowest: float
    wrong: tuple[str, ...]


def run(subject: Subject, kinds: Iterable[str], mutants: int, seed: int) -> Iterator[Row]:
    """Read mutants of one file in a process that may be lost; yield a row a kind."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "recipes", Path(folder) / "recipes")
        samples = shutil.copytree(ROOT / "sample_patterns", Path(folder) / "sample_patterns")
        path = samples / f"hostile{subject.suffix}"
        path.write_bytes(subject.data)
        good = attempt(subject.read, path)
        assert good[0].ended == "read", good[0].text
        assert alike(subject.read(path), good[1]), subject.name
        for kind in kinds:
            if kind == "one digit" and not any(
                map(str.isdigit, subject.data.decode("ascii", "ignore"))
            ):
                continue  # a recipe of defaults
            made = each(
                range(mutants),
                lambda number, kind=kind: came_of(
                    subject, mutant(subject, kind, number, seed), good, path
                ),
            )
            tally: Counter[str] = Counter()
            wrong, slowest = [], 0.0
            for number, outcome in enumerate(made):
                came = str(outcome.value or f"{outcome.ended}: {outcome.text}")
                slowest = max(slowest, outcome.seconds)
                if came not in ("refused", "same", "listed", "silent"):
                    wrong.append(f"{subject.name}, {kind}, number {number}, seed {seed}: {came}")
                    came = "wrong"
                tally[came] += 1
            yield Row(subject.name, kind, tally, slowest, tuple(wrong))


COLUMNS = ("refused", "same", "listed", "silent", "wrong")


def main(mutants: int = 500, seed: int = 1) -> int:
    """Run all, and print a table as it grows; return the exit status."""
    began = time.monotonic()
    wrong: list[str] = []
    total: dict[str, Counter[str]] = {}
    head = "".join(f"{column:>9}" for column in COLUMNS)
    sys.stdout.write(f"{'file':46}{'kind':14}{head}{'slowest':>10}\n")
    for subject in subjects().values():
        for row in run(subject, KINDS, mutants, seed):
            numbers = "".join(f"{row.tally[column]:9}" for column in COLUMNS)
            sys.stdout.write(f"{row.subject:46}{row.kind:14}{numbers}{row.slowest:8.2f} s\n")
            sys.stdout.flush()
            wrong += row.wrong
            total.setdefault(f"{subject.suffix} {row.kind}", Counter()).update(row.tally)
    for name, tally in sorted(total.items()):
        sys.stdout.write(
            f"{name}: {tally['silent'] / tally.total():.1%} of {tally.total()} silent\n"
        )
    sys.stdout.write(f"{time.monotonic() - began:.0f} s\n")
    sys.stdout.writelines(f"WRONG {text}\n" for text in wrong)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
