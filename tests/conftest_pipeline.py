"""Small libraries in a folder of their own, and the command line as a user runs it."""

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from samples_of_ours import ROOT, registry
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.job import Job, Outcome, run_job
from sleevewright.pipeline.library import Library

FAULTY = '''
import os, time
from dataclasses import replace
from sleevewright.operations import Promise, operation


class _Quiet:
    def promises(self, before, after):
        return iter(())


@operation
class Hang(_Quiet):
    """Never end."""
    def apply(self, pattern):
        time.sleep(10_000)


@operation
class Die(_Quiet):
    """End the process."""
    def apply(self, pattern):
        os._exit(11)


@operation
class Gorge(_Quiet):
    """Eat memory."""
    def apply(self, pattern):
        eaten = []
        while True:
            eaten.append(bytearray(50_000_000))


@operation
class Slip(_Quiet):
    """Raise."""
    def apply(self, pattern):
        raise KeyError("x")
'''


class Studio:
    """A folder with a library, and the command line run in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.out = folder / "out"
        self.allowed = ""
        (folder / "blocks").mkdir()
        (folder / "recipes").mkdir()

    def block(self, name: str) -> Path:
        source = ROOT / "sample_patterns" / "svg" / f"{name}.svg"
        target = self.folder / "blocks" / source.name
        target.write_bytes(source.read_bytes())
        return target

    def recipe(self, name: str, text: str | None = None) -> Path:
        target = self.folder / "recipes" / f"{name}.yaml"
        if text is None:
            text = (ROOT / "recipes" / f"{name}.yaml").read_text()
        target.write_text(text)
        return target

    def library(self, extra: str = "", blocks: str = "men: {files: [blocks/men_*.svg]}") -> Path:
        path = self.folder / "library.yaml"
        path.write_text(
            f"blocks:\n  {blocks}\nrecipes: [recipes/*.yaml]\n"
            + ("" if "outputs:" in extra else "outputs: {folder: out, formats: [svg, json]}\n")
            + extra
            + self.allowed
        )
        return path

    def plug_in(self) -> dict[str, str]:
        """Install a package of faulty operations, allowed in the library; return the environment."""
        place = self.folder / "site"
        info = place / "faulty-1.0.dist-info"
        info.mkdir(parents=True)
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: faulty\nVersion: 1.0\n")
        names = "".join(f"{n.lower()} = faulty:{n}\n" for n in ("Hang", "Die", "Gorge", "Slip"))
        (info / "entry_points.txt").write_text("[sleevewright.operations]\n" + names)
        (place / "faulty.py").write_text(FAULTY)
        for name in ("hang", "die", "gorge", "slip"):
            self.recipe(name, f"name: {name}\nsteps:\n  - {name}\n")
        self.allowed = "plugins: [faulty==1.0]\n"
        with (self.folder / "library.yaml").open("a") as library:
            library.write(self.allowed)
        return {"PYTHONPATH": str(place)}

    def start(self, *words: object, env: dict[str, str] | None = None) -> "subprocess.Popen[str]":
        return subprocess.Popen(
            [sys.executable, "-m", "sleevewright.cli", *map(str, words)],
            cwd=self.folder, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            env={**os.environ, **(env or {})}, start_new_session=True,
        )  # fmt: skip

    def run(
        self, *words: object, env: dict[str, str] | None = None
    ) -> "subprocess.CompletedProcess[str]":
        process = self.start(*words, env=env)
        out, err = process.communicate(timeout=120)
        return subprocess.CompletedProcess(process.args, process.returncode, out, err)

    def batch(self, *words: object) -> tuple[int, list[dict[str, object]]]:
        done = self.run("batch", "library.yaml", "--jobs", 2, "--json", *words)
        assert done.stdout, done.stderr
        return done.returncode, json.loads(done.stdout)

    def bytes_out(self) -> dict[str, bytes]:
        return {
            p.relative_to(self.out).as_posix(): p.read_bytes()
            for p in sorted(self.out.rglob("*"))
            if p.is_file() and not p.name.startswith(".sleevewright")
        }


class Here:
    """An engine without processes, for runs that nothing disturbs."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        return map(run_job, jobs)


def build(studio: Studio) -> list[dict[str, object]]:
    library = Library.load(studio.folder / "library.yaml")
    return [event.record() for event in run_batch(library, Here, registry)]


def made(events: list[dict[str, object]]) -> list[str]:
    return sorted(str(e["key"]) for e in events if e["event"] == "made")


@pytest.fixture
def studio(tmp_path: Path) -> Studio:
    return Studio(tmp_path)


@pytest.fixture
def small(studio: Studio) -> Studio:
    """Two sizes by two recipes: four variants."""
    for size in (50, 52):
        studio.block(f"men_overblock_{size}")
    for name in ("classic-raglan", "half-raglan"):
        studio.recipe(name)
    studio.library()
    return studio
