"""A tiny library in two versions, runs of it that a fault disturbs, and what must hold afterwards.

The second version draws one of two sizes 1 mm longer. What each version makes undisturbed, by the same
command line, is the golden output: after any fault every file is a golden one of the old version
or of the new one, and the next run ends with the new.
"""

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

from conftest_pipeline import build, made
from samples_of_ours import ROOT
from sleevewright.errors import SleevewrightError

OURS = ".sleevewright"  # how the names of files begin that are no outputs
STATE = f"{OURS}.state"
#: Of these, what a run may leave. (A journal of SQLite that was never begun stays until it writes again.)
STAYING = {f"{OURS}.lock", STATE, f"{STATE}-journal"}
LIBRARY = """
blocks: {men: {files: [blocks/*.svg]}}
recipes: [half-raglan.yaml]
outputs: {folder: out, formats: [json, svg]}
"""
CHANGED = "half-raglan/50"  # the variant that the second version changes
SECONDS = 120  # after which a run counts as hanging
HANGS = 999  # status of such a run


@dataclass(frozen=True)
class Scene:
    """What is run, and over what.

    Attributes:
        command: batch or convert.
        start: "fresh" (no output folder yet), "update" (over what the old version made),
            "standing" (over what this very version made).
    """

    command: str
    start: str

    def __str__(self) -> str:
        return f"{self.command}, {self.start}"


SCENES = tuple(Scene(c, s) for c in ("batch", "convert") for s in ("fresh", "update"))


@dataclass(frozen=True)
class Done:
    """How a run ended.

    Attributes:
        status: exit status; a negative one is the number of the signal that ended it.
        out, err: what it said.
        hit: what the fault met, for the report; "" where it met nothing.
    """

    status: int
    out: str = ""
    err: str = ""
    hit: str = "-"

    @property
    def made(self) -> list[str]:
        """What it told as made, where it was asked for events."""
        return re.findall(r'"made", "key": "([^"]+)"', self.out)


@dataclass
class Place:
    """A folder with the library, as it is before a run."""

    folder: Path
    scene: Scene

    @property
    def out(self) -> Path:
        return self.folder / "out"

    def words(self) -> list[str]:
        """The command line."""
        program = [sys.executable, "-m", "sleevewright.cli"]
        if self.scene.command == "batch":
            return [*program, "batch", f"{self.folder}/library.yaml", "--jobs", "1", "--json"]
        blocks = [f"{self.folder}/blocks/men_overblock_{size}.svg" for size in (50, 52)]
        recipe = ["--recipe", f"{self.folder}/half-raglan.yaml", "--formats", "json,svg"]
        return [*program, "convert", *blocks, *recipe, "--out", str(self.out), "--json"]

    def start(
        self, before: Sequence[str] = (), first: Callable[[], None] | None = None
    ) -> "subprocess.Popen[str]":
        """Start the command line, with words before it, in a process that does something first."""
        (self.folder / "tmp").mkdir(exist_ok=True, mode=0o777)
        env = {"PYTHONHASHSEED": "0", "TMPDIR": str(self.folder / "tmp")}
        return subprocess.Popen(
            [*before, *self.words()], cwd="/", text=True, errors="backslashreplace",
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, **env},
            start_new_session=True, preexec_fn=first,
        )  # fmt: skip

    def run(self, before: Sequence[str] = (), first: Callable[[], None] | None = None) -> Done:
        return ended(self.start(before, first))

    def outputs(self) -> dict[str, bytes]:
        return {name: path.read_bytes() for name, path in self._files() if OURS not in name}

    def ours(self) -> set[str]:
        """What lies there that is no output."""
        return {name for name, _ in self._files() if OURS in name}

    def _files(self) -> Iterator[tuple[str, Path]]:
        for path in sorted(self.out.rglob("*")):
            if path.is_file() or path.is_symlink():
                yield path.relative_to(self.out).as_posix(), path

    def inputs(self) -> dict[str, bytes]:
        paths = [*self.folder.glob("*.yaml"), *(self.folder / "blocks").iterdir()]
        return {path.name: path.read_bytes() for path in paths}

    def reports(self) -> str:
        """What reports of faults of our own say, at their ends."""
        paths = (self.folder / "tmp").glob("sleevewright-bug*")
        return " | ".join(path.read_text()[-400:] for path in paths)


def ended(process: "subprocess.Popen[str]") -> Done:
    """Wait for a run and end what it leaves; a run that hangs is killed."""
    try:
        out, err = process.communicate(timeout=SECONDS)
        return Done(process.returncode, out, err)
    except subprocess.TimeoutExpired:
        return Done(HANGS)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)


class Bench:
    """Places to run in, and the golden outputs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._golden: dict[tuple[str, int], dict[str, bytes]] = {}
        for version in (0, 1):
            self._template(version)

    def golden(self, command: str, version: int) -> dict[str, bytes]:
        """What a command makes of a version, undisturbed."""
        if (command, version) not in self._golden:
            place = Place(self.folder / f"version{version}", Scene(command, "fresh"))
            done = place.run()
            assert done.status == 0, done.err
            self._golden[command, version] = place.outputs()
            place.out.rename(place.folder / f"{command}-out")
        return self._golden[command, version]

    def earlier(self, command: str, version: int) -> Path:
        """The output folder that a command has left, undisturbed."""
        self.golden(command, version)
        return self.folder / f"version{version}" / f"{command}-out"

    def make_all(self) -> None:
        """Make all golden outputs now; assert that the versions differ in what they should."""
        for command in ("batch", "convert"):
            old, new = self.golden(command, 0), self.golden(command, 1)
            assert len(old) == len(new) == 4
            differ = {name.partition("/")[2] for name in old if old[name] != new[name]}
            assert differ == {f"{CHANGED}.json", f"{CHANGED}.svg"}

    def _template(self, version: int) -> None:
        template = self.folder / f"version{version}"
        (template / "blocks").mkdir(parents=True)
        for size in (50, 52):
            name = f"men_overblock_{size}.svg"
            text = (ROOT / "sample_patterns" / "svg" / name).read_text()
            if version and size == 50:
                assert "823.000000" in text
                text = text.replace("823.000000", "824.000000")
            (template / "blocks" / name).write_text(text)
        shutil.copy(ROOT / "recipes" / "half-raglan.yaml", template)
        (template / "library.yaml").write_text(LIBRARY)

    def place(self, scene: Scene) -> Place:
        """Make a place whose inputs are of the new version; remove it when done with it."""
        folder = Path(mkdtemp(dir=self.folder))
        folder.chmod(0o755)  # runs as another user read it
        template = self.folder / "version1"
        shutil.copytree(template / "blocks", folder / "blocks")
        for path in template.glob("*.yaml"):
            shutil.copy2(path, folder)
        place = Place(folder, scene)
        if scene.start != "fresh":
            self.fill(place)
        return place

    def fill(self, place: Place) -> None:
        """Put there what an earlier run made."""
        version = 1 if place.scene.start == "standing" else 0
        earlier = self.earlier(place.scene.command, version)
        shutil.copytree(earlier, place.out, dirs_exist_ok=True)

    def before(self, scene: Scene) -> dict[str, bytes]:
        """What outputs there are before a run."""
        version = {"fresh": None, "update": 0, "standing": 1}[scene.start]
        return {} if version is None else self.golden(scene.command, version)

    def after(self, scene: Scene) -> dict[str, bytes]:
        """What outputs there are after an undisturbed run."""
        return self.golden(scene.command, 1)


# --- what must hold ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Expected:
    """What may come of a fault.

    Attributes:
        statuses: exit statuses.
        told: whether the message must name a place in the output folder.
        kept: whether what was told as made must not be made again.
    """

    statuses: frozenset[int]
    told: bool = True
    kept: bool = True


def wrong(bench: Bench, place: Place, done: Done, expected: Expected) -> list[str]:
    """Return what is wrong after a disturbed run, and after an undisturbed one that follows."""
    said = done.err.strip()
    if done.status == HANGS:
        return ["hangs"]
    found = list(_ending(place, done, expected))
    found += _files(bench, place, done)
    if place.inputs() != inputs_of(bench):
        found.append("an input has changed")
    found += _next(bench, place, done, expected)
    return [f"{line} (status {done.status}: {said[-300:]})" for line in found]


def inputs_of(bench: Bench) -> dict[str, bytes]:
    return Place(bench.folder / "version1", Scene("batch", "fresh")).inputs()


def _ending(place: Place, done: Done, expected: Expected) -> Iterator[str]:
    lines = done.err.splitlines()
    if done.status not in expected.statuses:
        yield f"ends with {done.status}, not {sorted(expected.statuses)} {place.reports()}"
    if "Traceback" in done.err or "fault of sleevewright" in done.err:
        yield "a traceback"
    if done.status in (4, 6):
        if len(lines) != 1:
            yield f"{len(lines)} lines for one problem"
        if expected.told and str(place.out) not in done.err:
            yield "no path in the message"
    elif done.status != 0 and done.err.strip():
        yield "says something to a signal"


def _files(bench: Bench, place: Place, done: Done) -> Iterator[str]:
    """Every file is whole, old or new; what was told as made is new."""
    old, new = bench.before(place.scene), bench.after(place.scene)
    there = place.outputs()
    for name, data in there.items():
        if data not in (old.get(name), new.get(name)):
            yield f"{name} is neither old nor new"
    for name in old:
        if name not in there:
            yield f"{name} is gone"
    told = [f"{key}.{ending}" for key in done.made for ending in ("json", "svg")]
    for name in new if done.status == 0 else told:
        if there.get(name) != new[name]:
            yield f"{name} is told as made, and is not new"


def _next(bench: Bench, place: Place, done: Done, expected: Expected) -> Iterator[str]:
    """The next run makes what is lost and no more; the one after that nothing."""
    if place.scene.command == "convert":
        again = place.run()
        if again.status != 0:
            yield f"the next run fails: {again.err[-300:]}"
        remains = {name for name in place.ours() if not name.endswith(".tmp")}
    else:
        try:
            events = build(place)
            twice = build(place)
        except SleevewrightError as error:
            yield f"the next run fails: {error}"
            return
        except Exception as error:
            yield f"the next run breaks: {type(error).__name__}: {error}"
            return
        yield from _remade(place, done, expected, made(events))
        if made(twice):
            yield f"the run after that makes {made(twice)} once more"
        remains = place.ours() - STAYING
    if place.outputs() != bench.after(place.scene):
        yield "the next run does not end with the golden outputs"
    if remains:
        yield f"the next run leaves {sorted(remains)}"


def _remade(place: Place, done: Done, expected: Expected, again: list[str]) -> Iterator[str]:
    if not expected.kept:
        return
    stale = {"fresh": 2, "update": 1, "standing": 0}[place.scene.start]
    if len(again) > stale or (stale == 1 and again and not again[0].endswith(CHANGED)):
        yield f"the next run makes {again}, which the fault has not touched"
    if set(again) & set(done.made):
        yield f"{sorted(set(again) & set(done.made))} is made again, though told as made"
