"""A watch that follows many edits: its memory stays as it is, and so do its open files.

    python tests/pipeline/watch_many.py 10000

The watch is the one of the command line, but for its jobs, which a stand-in makes at once, and its waits, which
are short. Every other edit comes while it waits for one, every other before.
"""

import gc
import os
import pickle
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import cycle
from pathlib import Path
from unittest.mock import patch

import numpy as np
import watchfiles

sys.path.insert(0, str(Path(__file__).parent.parent))

from samples_of_ours import ROOT, registry
from sleevewright.pipeline import watch
from sleevewright.pipeline.batch import Event
from sleevewright.pipeline.fingerprint import digest_of_bytes
from sleevewright.pipeline.job import Job, Made, settings_digest
from sleevewright.recipe import Recipe

RECIPE = """name: half
params: {drop: 30 mm}
steps:
  - raglan:
      front: {neck_drop: = drop}
"""
LIBRARY = """blocks:
  men: {files: ["blocks/men_*.svg"], labels: labels.yaml}
recipes: ["recipes/*.yaml"]
outputs: {folder: out, formats: [svg, json]}
"""


class AtOnce:
    """An engine that makes of every job two small files that depend on all it is given."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Made]:
        """Make them."""
        for job in jobs:
            recipe = Recipe.parse(job.recipe, job.recipe_file, registry())
            settings = settings_digest(recipe, pickle.loads(job.pattern), dict(job.settings))
            text = digest_of_bytes(job.pattern) + settings
            files = tuple((f"{job.key}.{ending}", text.encode()) for ending in job.formats or ())
            yield Made(job.key, "held", (), files, (), settings, {"text": text}, (), 0.0)


@dataclass(frozen=True)
class Edits:
    """What people do to a library in a folder, each kind again and again."""

    folder: Path

    def lay_out(self) -> Path:
        """Lay out a library of one variant; return its file."""
        for name in ("blocks", "recipes"):
            (self.folder / name).mkdir()
        self.block.write_text(self._drawn(0))
        self.recipe.write_text(RECIPE)
        self.labels.write_text("units: mm\n")
        self.library.write_text(LIBRARY)
        return self.library

    block = property(lambda self: self.folder / "blocks" / "men_50.svg")
    recipe = property(lambda self: self.folder / "recipes" / "half.yaml")
    labels = property(lambda self: self.folder / "labels.yaml")
    library = property(lambda self: self.folder / "library.yaml")

    def all(self) -> Iterator[tuple[Callable[[int], None], str]]:
        """Yield edits for ever, and how the run after each ends: made, nothing or failed."""
        return cycle(
            (
                (lambda n: self.block.write_text(self._drawn(n)), "made"),
                (lambda n: self.recipe.write_text(RECIPE.replace("30", str(n % 9 + 31))), "made"),
                (lambda n: self.recipe.write_text(self.recipe.read_text() + f"# {n}\n"), "nothing"),
                (lambda n: self._by_rename(self.block, self._drawn(n)), "made"),
                (lambda n: self.labels.write_text(f"units: mm\n# {n}\n"), "nothing"),
                (lambda n: self.block.rename(self.block.with_name(f"men_{n}.svg")), "nothing"),
                (lambda n: next(self.block.parent.glob("*.svg")).rename(self.block), "nothing"),
                (lambda n: self._by_rename(self.recipe, RECIPE.replace("30", "40")), "made"),
                (lambda n: self.recipe.rename(self.folder / "away.yaml"), "failed"),
                (lambda n: (self.folder / "away.yaml").rename(self.recipe), "nothing"),
                (lambda n: self.library.write_text("blocks: ["), "failed"),
                (lambda n: self._by_rename(self.library, LIBRARY), "nothing"),
                (lambda n: os.utime(self.block), "nothing"),
            )
        )

    def _drawn(self, longer: int) -> str:
        text = (ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg").read_text()
        return text.replace("823.000000", f"{823 + longer % 7}.000000")

    @staticmethod
    def _by_rename(path: Path, text: str) -> None:
        beside = path.with_name(f".{path.name}.new")
        beside.write_text(text)
        beside.replace(path)


@dataclass(frozen=True)
class Look:
    """What the process holds after so many edits.

    Attributes:
        edits: so far.
        kilobytes: resident.
        files: open ones.
        threads: running.
        objects: that the garbage collector knows.
    """

    edits: int
    kilobytes: int
    files: int
    threads: int
    objects: int


def look(edits: int) -> Look:
    """Look at this process."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return Look(
        edits, pages * os.sysconf("SC_PAGE_SIZE") // 1024, len(list(Path("/proc/self/fd").iterdir())),
        threading.active_count(), len(gc.get_objects()),
    )  # fmt: skip


def follow(folder: Path, edits: int, every: int) -> Iterator[Look]:
    """Watch a library through so many edits; look each time after so many of them.

    Raises:
        AssertionError: a run did not end as the edit before it asks for.
    """
    people = Edits(folder)
    library = people.lay_out()
    quick = partial(watchfiles.watch, step=1)
    with patch.object(watch, "SETTLED", 0.002), patch.object(watchfiles, "watch", quick):
        runs = watch.watch_library(library, lambda _: AtOnce(), lambda _: registry())
        assert ending(list(next(runs))) == "made"
        for number, (edit, wanted) in zip(range(1, edits + 1), people.all(), strict=False):
            if number % 2:
                edit(number)
            else:
                threading.Timer(0.03, edit, [number]).start()
            # A file is sometimes met half written; then there is another run.
            found = [ending(list(next(runs)))]
            while found[-1] != wanted and len(found) < 5:
                found.append(ending(list(next(runs))))
            assert found[-1] == wanted, f"edit {number} of kind {number % 13}: {found}"
            if number % every == 0:
                yield look(number)


def ending(events: list[Event]) -> str:
    """Return how a run ended."""
    if any(event.kind == "failed" for event in events):
        return "failed"
    return "made" if any(event.kind == "made" for event in events) else "nothing"


def tell(line: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> int:
    """Print what was seen, and whether it grew."""
    edits = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    began = time.monotonic()
    seen = []
    with tempfile.TemporaryDirectory() as folder:
        for now in follow(Path(folder), edits, max(13, edits // 40 // 13 * 13)):
            seen.append(now)
            tell(
                f"{now.edits:>7} edits {time.monotonic() - began:>7.0f} s {now.kilobytes:>8} kB"
                f" {now.files:>4} files {now.threads:>3} threads {now.objects:>8} objects"
            )
    settled = seen[len(seen) // 4 :]
    number = [now.edits for now in settled]
    slope = float(np.polyfit(number, [now.kilobytes for now in settled], 1)[0])
    objects = float(np.polyfit(number, [now.objects for now in settled], 1)[0])
    files = sorted({now.files for now in settled})
    tell(f"{slope:.4f} kB and {objects:.4f} objects an edit; open files: {files}")
    return int(slope >= 1.0 or files[-1] > files[0])


if __name__ == "__main__":
    sys.exit(main())
