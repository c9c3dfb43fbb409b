"""Cut the power at every file call of a run: `python tests/faults/power_cut.py [WORD ...]` prints a table.

A run is traced, what a disk may hold after every call is laid out (`disk_model`), the machine counts as started
anew, and the next run must mend everything. Only stories with all of the words in their names are told.
`CUTS=20` takes that many points of each, `DRAWS=30` so many drawn states of each point, `BLOCK=512` lets
a disk tear pages into sectors. With TMPDIR in memory it takes half the time.
"""

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from itertools import count
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import disk_model  # noqa: E402 (found on that path)
from disk_model import CALLS, Journal, Said, Tree, journal_of  # noqa: E402
from fault_bench import OURS, STAYING, Bench  # noqa: E402

from conftest_pipeline import made  # noqa: E402
from samples_of_ours import registry  # noqa: E402
from sleevewright.errors import ReadError, SleevewrightError  # noqa: E402
from sleevewright.pipeline import state  # noqa: E402
from sleevewright.pipeline.batch import Options, run_batch  # noqa: E402
from sleevewright.pipeline.job import Job, Outcome, run_job  # noqa: E402
from sleevewright.pipeline.library import Library  # noqa: E402
from sleevewright.pipeline.verify import verify  # noqa: E402
from sleevewright.writing import whole_files  # noqa: E402

DISK = "disk"  # what of the library's folder is watched; below it is the output folder, made by the run
BY_HAND = 400  # one in so many states is mended by the command line
LOOKED_AT = 5  # one in so many is looked at before it is mended
SHOWN = 3  # states that are named for each thing that goes wrong


@dataclass(frozen=True)
class Step:
    """A run of a library.

    Attributes:
        version: of the blocks, as of `Bench`.
        durability: as the library says.
        sizes: that the library has.
        gallery: whether it has a gallery.
        killed: whether the run is killed when it comes to sync what it has written.
    """

    version: int = 1
    durability: str = "run"
    sizes: tuple[str, ...] = ("50", "52")
    gallery: bool = False
    killed: bool = False

    def arrange(self, bench: Path, folder: Path) -> None:
        """Make the inputs what this run finds."""
        shutil.copytree(bench / f"version{self.version}", folder, dirs_exist_ok=True)
        sizes = ", ".join(f'"{size}"' for size in self.sizes)
        (folder / "library.yaml").write_text(
            "blocks: {men: {files: [blocks/*.svg]}}\nrecipes: [half-raglan.yaml]\n"
            f"sizes: [{sizes}]\noutputs: {{folder: disk/out, formats: [json, svg],"
            f" durability: {self.durability}, gallery: {str(self.gallery).lower()}}}\n"
        )


@dataclass(frozen=True)
class Story:
    """Runs one after another, and a cut of the power in the last of them or after it.

    Attributes:
        name: in a few words.
        steps: the runs.
        detour: whether the first run after the cut finds a block that it cannot read.
    """

    name: str
    steps: tuple[Step, ...]
    detour: bool = False

    @property
    def last(self) -> Step:
        return self.steps[-1]

    def __str__(self) -> str:
        return f"{self.name}, {self.last.durability}"


def stories() -> Iterator[Story]:
    for durability in ("none", "run", "file"):
        now = Step(durability=durability)
        old, less = replace(now, version=0), replace(now, sizes=("50",))
        yield Story("first build", (now,))
        yield Story("rebuild", (old, now))
        yield Story("prune", (now, less))
        yield Story("gallery", (replace(old, gallery=True), replace(now, gallery=True)))
        yield Story("unreadable block next", (now,), detour=True)
    for durability in ("run", "file"):
        now = Step(durability=durability)
        yield Story("after a run killed", (replace(now, durability="run", killed=True), now))
        yield Story("after a run of none", (replace(now, durability="none"), now))


# --- recording --------------------------------------------------------------------------------


class Remembering:
    """An engine without processes, that makes nothing twice."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, bytes], Outcome] = {}

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        for job in jobs:
            what = (job.key, job.pattern)
            if what not in self._known:
                self._known[what] = run_job(job)
            yield self._known[what]


def batch(
    folder: Path, engine: Remembering, options: Options = Options(prune=True)
) -> Iterator[dict[str, object]]:
    library = Library.load(folder / "library.yaml")
    events = run_batch(library, lambda: engine, registry, options)
    return (event.record() for event in events)


def perform(bench: Path, folder: Path, steps: Sequence[Step]) -> None:
    """Run, and say what is told as made, and how every run left its files."""
    for step in steps:
        step.arrange(bench, folder)
        child = os.fork()
        if not child:
            _perform_one(folder, step)
        _, status = os.waitpid(child, 0)
        assert os.waitstatus_to_exitcode(status) == (-signal.SIGKILL if step.killed else 0)
        stamps = {name: path.stat().st_mtime_ns for name, path in files_of(folder / DISK).items()}
        say(json.dumps({"ended": stamps}))


def _perform_one(folder: Path, step: Step) -> None:
    if step.killed:
        whole_files.sync_folder = lambda _: os.kill(os.getpid(), signal.SIGKILL)
    for event in batch(folder, Remembering()):
        assert event["event"] != "failed", event
        if event["event"] == "made":
            say(json.dumps({"made": event["key"]}))
    os._exit(0)


def files_of(folder: Path) -> dict[str, Path]:
    return {str(path.relative_to(folder)): path for path in folder.rglob("*") if path.is_file()}


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


@dataclass
class Recorded:
    """What the runs of a story did.

    Attributes:
        story: which.
        journal: of all its runs.
        ends: how many operations there were when each run had ended.
        stamps: time stamps of files, by their numbers.
        left: the outputs each run left.
    """

    story: Story
    journal: Journal
    ends: list[int] = field(default_factory=list)
    stamps: dict[int, int] = field(default_factory=dict)
    left: list[dict[str, bytes]] = field(default_factory=list)

    @property
    def begin(self) -> int:
        """How many operations there were before the last run."""
        return self.ends[-2] if len(self.ends) > 1 else 0

    def told(self, cut: int) -> set[str]:
        """Return the variants that the last run had told as made."""
        lines = [
            json.loads(op.line) for op in self.journal.ops[self.begin : cut] if isinstance(op, Said)
        ]
        return {line["made"] for line in lines if "made" in line}

    def cuts(self, most: int = 0) -> list[int]:
        """Return after how many operations to cut, or so many of them, spread evenly.

        The end comes first: of a state that is met twice, it asks the most.
        """
        found = range(self.ends[-1], self.begin, -1)
        step = max(len(found) / most, 1) if most else 1
        return [found[int(i * step)] for i in range(int(len(found) / step))]


def recorded(story: Story, bench: Path, folder: Path) -> Recorded:
    """Trace the runs of a story in a folder; what the trace says is there, is there."""
    (folder / DISK).mkdir(parents=True)
    trace = folder.with_suffix(".trace")
    steps = json.dumps([asdict(step) for step in story.steps])
    subprocess.run(
        ["strace", "-f", "-y", "-qq", "-s", "100000000", "-o", trace, "-e", f"trace={','.join(CALLS)}",
         sys.executable, __file__, "--perform", bench, folder, steps],
        check=True, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    with trace.open(encoding="ascii") as lines:
        found = Recorded(story, journal_of(lines, str(folder / DISK)))
    trace.unlink()
    for number, op in enumerate(found.journal.ops, 1):
        if isinstance(op, Said) and "ended" in json.loads(op.line):
            tree = found.journal.tree(number)
            stamps = json.loads(op.line)["ended"]
            assert set(stamps) == set(tree), set(stamps) ^ set(tree)
            found.ends.append(number)
            found.stamps |= {file: stamps[path] for path, (_, file) in tree.items()}
            found.left.append(outputs_of(tree))
    assert len(found.ends) == len(story.steps)
    for path, (data, _) in found.journal.tree(found.ends[-1]).items():
        assert (folder / DISK / path).read_bytes() == data, (
            f"the trace does not tell of all of {path}"
        )
    return found


def outputs_of(tree: Tree) -> dict[str, bytes]:
    return {path: data for path, (data, _) in tree.items() if OURS not in path}


def key_of(path: str) -> str:
    """The variant of an output; "" where it is of the gallery."""
    key = path.removeprefix("out/").rpartition(".")[0]
    return key if key.count("/") == 2 else ""


# --- what must hold ---------------------------------------------------------------------------


def stale_of(run: Recorded) -> set[str]:
    """The variants that the last run of a story makes."""
    old = run.left[-2] if len(run.left) > 1 else {}
    return {key_of(path) for path, data in run.left[-1].items() if old.get(path) != data} - {""}


def promised(run: Recorded, cut: int) -> dict[str, tuple[bytes, ...]]:
    """Return what a disk must hold whatever it loses: path -> what it may be."""
    last, new = run.story.last, run.left[-1]
    old = run.left[-2] if len(run.left) > 1 else {}
    if last.durability == "none":
        return {}
    if cut == run.ends[-1]:
        return {path: (data,) for path, data in new.items()}
    if any(step.killed or step.durability == "none" for step in run.story.steps[:-1]):
        return {}
    kept = {path: (data,) for path, data in old.items() if new.get(path) == data}
    if last.durability == "file":
        told = run.told(cut)
        for path in new.keys() - kept.keys():
            if key_of(path) in told:
                kept[path] = (new[path],)
            elif path in old:
                kept[path] = (old[path], new[path])
    return kept


def before(run: Recorded, cut: int, tree: Tree) -> Iterator[str]:
    """Say what of a promise a disk does not hold."""
    for path, allowed in promised(run, cut).items():
        if path not in tree:
            yield f"{path} is promised, and gone"
        elif tree[path][0] not in allowed:
            yield f"{path} is promised, and is not what was written"


@dataclass
class Mender:
    """Lays out what a disk holds, and lets runs mend it.

    Attributes:
        folder: of the library, as the last run of the story found it.
        engine: for the runs.
        starts: names for starts of the machine.
    """

    bench: Path
    folder: Path
    run: Recorded
    engine: Remembering = field(default_factory=Remembering)
    starts: Iterator[int] = field(default_factory=lambda: count(1))
    seen: set[bytes] = field(default_factory=set)

    def new(self, tree: Tree) -> bool:
        """Whether such a state has not been met before."""
        parts = [f"{path} {self.run.stamps.get(file, 0)}".encode() + hashlib.sha256(data).digest()
                 for path, (data, file) in tree.items()]  # fmt: skip
        digest = hashlib.sha256(b"".join(parts)).digest()
        known = digest in self.seen
        self.seen.add(digest)
        return not known

    def lay(self, tree: Tree) -> None:
        shutil.rmtree(self.folder / DISK)
        (self.folder / DISK).mkdir()
        for path, (data, file) in tree.items():
            place = self.folder / DISK / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(data)
            stamp = self.run.stamps.get(file)
            if stamp is not None:
                os.utime(place, ns=(stamp, stamp))

    def wrong(self, tree: Tree, *, ended: bool) -> Iterator[str]:
        """Let the next runs find a state; say what is wrong afterwards."""
        self.lay(tree)
        number = next(self.starts)
        start = f"start {number}"
        try:
            if number % BY_HAND == BY_HAND // 2 and not self.run.story.detour:
                yield from self._by_hand(start)
            else:
                state._this_start = lambda: start
                if number % LOOKED_AT == 0:
                    yield from self._looked_at()
                yield from self._here(ended=ended)
        except SleevewrightError as error:
            yield f"the next run fails: {error}"
        except Exception as error:
            yield f"the next run breaks: {type(error).__name__}: {error}"

    def _looked_at(self) -> Iterator[str]:
        """Whatever a cut has left can be looked at; the record is whole, or not begun."""
        try:
            list(batch(self.folder, self.engine, Options(dry_run=True)))
        except SleevewrightError as error:
            yield f"cannot be planned: {error}"
        with suppress(ReadError):  # there may be no record
            problem = verify(self.folder / DISK / "out").record
            if problem and "it is empty" not in problem:
                yield f"cannot be verified: {problem}"

    def _here(self, *, ended: bool) -> Iterator[str]:
        story = self.run.story
        if story.detour:
            block = self.folder / "blocks" / "men_overblock_52.svg"
            block.write_text("")
            list(batch(self.folder, self.engine))
            story.last.arrange(self.bench, self.folder)
        events = list(batch(self.folder, self.engine))
        yield from (f"fails: {event}" for event in events if event["event"] == "failed")
        more = set(made(events)) - stale_of(self.run)
        if story.last.durability != "none":
            settled = all(
                not step.killed and step.durability != "none" for step in story.steps[:-1]
            )
            if more and settled:
                yield f"makes {sorted(more)}, which the last run has not touched"
            if made(events) and ended:
                yield f"makes {made(events)}, which was made by a run that has ended"
        yield from self._left()
        if again := made(list(batch(self.folder, self.engine))):
            yield f"the run after that makes {again} once more"

    def _left(self) -> Iterator[str]:
        """The outputs are the golden ones, and known; where nothing is promised, old ones may be left."""
        there = files_of(self.folder / DISK)
        golden = self.run.left[-1]
        for path, data in golden.items():
            if path not in there:
                yield f"{path} is not there in the end"
            elif there[path].read_bytes() != data:
                yield f"{path} is not what an undisturbed run makes"
        others = {
            path
            for path in there
            if path not in golden and path.removeprefix("out/") not in STAYING
        }
        lax = self.run.story.last.durability == "none"
        removed = self.run.left[0].keys() - golden.keys() if lax else set()
        if left := others - removed:
            yield f"{sorted(left)} is left"
        found = verify(self.folder / DISK / "out")
        faults = [fault for fault in found.faults if f"out/{fault.file}" not in removed]
        if faults or found.record:
            said = ", ".join(f"{fault.file} is {fault.what}" for fault in faults)
            yield f"verify says {said or found.record}"

    def _by_hand(self, start: str) -> Iterator[str]:
        launch = ("import sleevewright.pipeline.state as s\n"
                  f"s._this_start = lambda: {start!r}\n"
                  "from sleevewright.cli import main\nmain()")  # fmt: skip
        out, library = self.folder / DISK / "out", self.folder / "library.yaml"
        for words in (["batch", library, "--prune", "--jobs", "1"], ["verify", out]):
            done = subprocess.run([sys.executable, "-c", launch, *words], capture_output=True,
                                  text=True, check=False)  # fmt: skip
            lax = words[0] == "verify" and self.run.story.last.durability == "none"
            if done.returncode not in (0, lax) or "Traceback" in done.stderr:
                yield f"{words[0]} ends with {done.returncode}: {done.stdout[-300:]} {done.stderr[-300:]}"
        yield from self._left()


@dataclass
class Tally:
    """What came of a story: how many points and states, and what was wrong (text -> where)."""

    cuts: int = 0
    states: int = 0
    failed: int = 0
    lines: dict[str, list[str]] = field(default_factory=dict)


def told(story: Story, bench: Bench, most: int = 0, draws: int = 3) -> Tally:
    """Record a story, cut the power at its points, and let runs mend each state."""
    folder = Path(tempfile.mkdtemp(dir=bench.folder)) / "library"
    run = recorded(story, bench.folder, folder)
    mender, tally = Mender(bench.folder, folder, run), Tally()
    real = state._this_start
    try:
        for cut in run.cuts(most):
            tally.cuts += 1
            ended = cut == run.ends[-1]
            for words, tree in run.journal.trees(cut, draws, seed=len(run.ends)):
                found = list(before(run, cut, tree))
                if mender.new(tree):
                    tally.states += 1
                    found += mender.wrong(tree, ended=ended)
                tally.failed += bool(found)
                for line in dict.fromkeys(found):
                    tally.lines.setdefault(line, []).append(f"{words} after {cut - run.begin}")
    finally:
        state._this_start = real
        shutil.rmtree(folder.parent)
    return tally


def main(words: list[str]) -> int:
    """Tell stories and print a table; return how many states were not mended."""
    if words[:1] == ["--perform"]:
        steps = [Step(**{**step, "sizes": tuple(step["sizes"])}) for step in json.loads(words[3])]
        perform(Path(words[1]), Path(words[2]), steps)
        return 0
    most, draws = (
        int(os.environ.get(name, given)) for name, given in (("CUTS", "0"), ("DRAWS", "3"))
    )
    disk_model.BLOCK = int(os.environ.get("BLOCK", disk_model.BLOCK))
    say(f"{'story':<34}{'cuts':>6}{'states':>8}{'failures':>10}{'s':>6}")
    total = Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name).resolve())
        for story in stories():
            if not all(word in str(story) for word in words):
                continue
            began = time.monotonic()
            tally = told(story, bench, most, draws)
            total.update(cuts=tally.cuts, states=tally.states, failures=tally.failed)
            seconds = time.monotonic() - began
            say(f"{story!s:<34}{tally.cuts:>6}{tally.states:>8}{tally.failed:>10}{seconds:>6.0f}")
            for line, places in sorted(tally.lines.items()):
                say(f"    {len(places)} times: {line} ({'; '.join(places[:SHOWN])})")
    say(f"{'all':<34}{total['cuts']:>6}{total['states']:>8}{total['failures']:>10}")
    return total["failures"]


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1:]), 100))
