"""The faults: each disturbs one run, says what may come of it, and lifts itself afterwards."""

import itertools
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

from fault_bench import CHANGED, STATE, Bench, Done, Expected, Place, Scene, ended

from conftest_pipeline import build
from sleevewright.errors import SleevewrightError

UPDATE, STANDING = Scene("batch", "update"), Scene("batch", "standing")
OK_OR_REFUSED = Expected(frozenset({0, 4}))


@dataclass(frozen=True)
class Fault:
    """A run that is disturbed.

    Attributes:
        scene: what is run.
        name: the fault, in a few words.
    """

    scene: Scene
    name: str
    expected: Expected = field(default=OK_OR_REFUSED, kw_only=True)

    def happen(self, bench: Bench, place: Place) -> Done:
        """Run, disturbed; afterwards nothing disturbs any more."""
        raise NotImplementedError

    def __str__(self) -> str:
        return f"{self.scene}: {self.name}"


# --- every file call: killed, or failing ------------------------------------------------------

#: Calls that change what is on the disk, or find out about it.
CHANGES = (
    "openat", "write", "pwrite64", "ftruncate", "fsync", "fdatasync", "syncfs", "rename",
    "renameat", "renameat2", "unlink", "unlinkat", "mkdir", "mkdirat", "rmdir", "close", "flock",
)  # fmt: skip
LOOKS = ("newfstatat", "fcntl", "read", "pread64", "getdents64", "readlink")
ERRORS = (
    "EACCES", "EMFILE", "EIO", "ENOSPC", "EDQUOT", "EROFS", "ENOLCK", "ESTALE", "EBUSY", "EXDEV",
)  # fmt: skip


@dataclass(frozen=True)
class Call:
    """A file call of the main thread of a run.

    Attributes:
        name: of the system call.
        number: which of its calls of that name, from 1.
        path: the file it touches, as seen from the output folder.
        size: bytes written, where it writes.
        changes: whether it may change something.
    """

    name: str
    number: int
    path: str
    size: int
    changes: bool

    def __str__(self) -> str:
        path = re.sub("-[0-9a-f]{16}", "-…", self.path)
        return f"{self.name} {self.number} of {path or 'the folder'}"


@cache
def calls_of(bench: Bench, scene: Scene) -> list[Call]:
    """Trace an undisturbed run; return its calls that touch the output folder."""
    place = bench.place(scene)
    log = place.folder / "trace"
    try:
        done = place.run(["strace", "-qq", "-y", "-s", "0", "-o", str(log),
                          "-e", f"trace={','.join((*CHANGES, *LOOKS))}"])  # fmt: skip
        assert done.status == 0, done.err
        return list(_calls(log.read_text().splitlines(), place.out))
    finally:
        shutil.rmtree(place.folder)


def _calls(lines: list[str], out: Path) -> Iterator[Call]:
    numbers: dict[str, int] = {}
    for line in lines:
        name = line.partition("(")[0]
        if not name.isidentifier():
            continue
        numbers[name] = numbers.get(name, 0) + 1
        path = touched(line, out)
        if path is not None and not re.search(r"= -1 E(?!AGAIN)", line):
            size = int(line.rpartition("= ")[2]) if "write" in name else 0
            reads = name == "openat" and "O_RDONLY" in line
            yield Call(name, numbers[name], path, size, name in CHANGES and not reads)


def touched(line: str, out: Path) -> str | None:
    """Return the first file of the output folder that a line of a trace names; None without one."""
    found = re.search(f'["<]{re.escape(str(out))}(?:/([^">]*))?[">]', line)
    return None if found is None else found.group(1) or ""


@dataclass(frozen=True)
class Injected(Fault):
    """A fault that strace puts into one call of the main thread.

    Attributes:
        call: which.
        what: in the words of strace.
    """

    call: Call
    what: str

    def happen(self, bench: Bench, place: Place) -> Done:
        log = place.folder / "trace"
        name = self.call.name
        done = place.run(["strace", "-qq", "-y", "-s", "0", "-o", str(log), "-e", f"trace={name}",
                          "-e", f"inject={name}:{self.what}:when={self.call.number}"])  # fmt: skip
        lines = log.read_text().splitlines()
        if "KILL" in self.what:
            met = [lines[-2]] if len(lines) > 1 and "killed by SIGKILL" in lines[-1] else []
        else:
            met = [line for line in lines if "(INJECTED)" in line]
        hits = [path for line in met if (path := touched(line, place.out)) is not None]
        return replace(done, hit=f"{name} {hits[0]}" if hits else "")


def kills(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Kill at every call that changes something; what was done before it is then what there is."""
    expected = Expected(frozenset({-signal.SIGKILL}), kept=False)
    for scene in scenes:
        for call in calls_of(bench, scene):
            if call.changes:
                yield Injected(scene, f"killed at {call}", call, "signal=KILL", expected=expected)


def errors(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Let every call fail, and writes tell more than they have written."""
    turn = itertools.cycle(ERRORS)
    for scene in scenes:
        for call in calls_of(bench, scene):
            own = STATE not in call.path
            expected = replace(OK_OR_REFUSED, kept=own)
            for error in _errors_of(call, scene, turn):
                name = f"{error} at {call}"
                yield Injected(scene, name, call, f"error={error}", expected=expected)
            if own and call.name == "write" and call.size:
                what = f"retval={call.size}"
                yield Injected(scene, f"nothing written at {call}", call, what, expected=expected)


def _errors_of(call: Call, scene: Scene, turn: Iterator[str]) -> Sequence[str]:
    """Calls for the outputs fail in each of ten ways over those of an earlier run, in three of them
    otherwise; those of SQLite, which come by the hundred, in one after another.
    """
    own = STATE not in call.path
    if not call.changes:
        if own:
            return ("EIO", "ESTALE")
        return ("ENOLCK",) if call.name == "fcntl" and call.number % 9 == 0 else ()
    if own and scene.start == "update":
        return ERRORS
    return tuple(itertools.islice(turn, 3 if own else 1))


# --- no room ----------------------------------------------------------------------------------


@contextmanager
def mounted(*words: str | Path) -> Iterator[None]:
    """Mount something; the last word is where."""
    subprocess.run(["mount", *map(str, words)], check=True, capture_output=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "-l", str(words[-1])], check=True, capture_output=True)


@dataclass(frozen=True)
class NoRoom(Fault):
    """A file system of its own for the outputs, with little room.

    Attributes:
        unit: "size" (4 kB each) or "nr_inodes".
        room: how much there is beyond what is there already.
    """

    unit: str
    room: int

    def happen(self, bench: Bench, place: Place) -> Done:
        shutil.rmtree(place.out, ignore_errors=True)
        place.out.mkdir()
        with mounted("-t", "tmpfs", "-o", "size=64m", "tmpfs", place.out):
            if place.scene.start != "fresh":
                bench.fill(place)
            there = os.statvfs(place.out)
            used = {
                "size": (there.f_blocks - there.f_bfree) * there.f_frsize // 4096,
                "nr_inodes": there.f_files - there.f_ffree,
            }[self.unit]
            least = 1 if self.unit == "size" else 0  # a size of 0 would mean no limit
            limit = max(used + self.room, least) * (4 if self.unit == "size" else 1)
            unit = "k" if self.unit == "size" else ""
            _remount(place.out, f"{self.unit}={limit}{unit}")
            done = place.run()
            kept = place.folder / "kept"
            shutil.copytree(place.out, kept)
        shutil.rmtree(place.out)
        kept.rename(place.out)
        return done


def _remount(where: Path, option: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{option}", str(where)], check=True)


def full(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Disks with room for more and more, until there is enough; then inodes."""
    for scene in scenes:
        fresh, batch = scene.start == "fresh", scene.command == "batch"
        most = (34 if fresh else 20) + (26 if batch else 0)
        for room in range(fresh, most):
            yield NoRoom(scene, f"room for {4 * room} kB", "size", room, expected=_OF_SQLITE)
        for room in range(fresh, 14 if fresh else 6):
            yield NoRoom(scene, f"room for {room} files", "nr_inodes", room, expected=_OF_SQLITE)


#: What a full disk keeps from the record may have to be made again.
_OF_SQLITE = replace(OK_OR_REFUSED, kept=False)


@dataclass(frozen=True)
class Limited(Fault):
    """A limit of the process: RLIMIT_FSIZE (no file may grow beyond) or RLIMIT_NOFILE."""

    limit: int
    most: int

    def happen(self, bench: Bench, place: Place) -> Done:
        pair = (self.most, self.most)
        return place.run((), lambda: resource.setrlimit(self.limit, pair))


def limits(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Files that may not grow, and few that may be open."""
    for scene in scenes:
        for most in (0, 1, 100, 4096, 8000, 16000, 20000, 23000, 24000, 30000, 45000, 60000):
            yield Limited(
                scene, f"no file beyond {most} bytes", resource.RLIMIT_FSIZE, most,
                expected=_OF_SQLITE,
            )  # fmt: skip
        for most in range(6, 32):
            yield Limited(
                scene, f"{most} open files", resource.RLIMIT_NOFILE, most,
                expected=Expected(frozenset({0, 4, 5}), told=False, kept=False),
            )  # fmt: skip


# --- signals ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Signalled(Fault):
    """A signal at a moment.

    Attributes:
        number: of the signal.
        moment: s after it listens.
    """

    number: int
    moment: float

    def happen(self, bench: Bench, place: Place) -> Done:
        process = place.start()
        _await_listening(process)
        time.sleep(self.moment)
        complete = place.outputs() == bench.after(place.scene)
        with suppress(ProcessLookupError):
            process.send_signal(self.number)
        done = ended(process)
        if complete and done.status in (0, -self.number):  # Python was taking itself down
            return replace(done, status=128 + self.number)
        return done


def _await_listening(process: "subprocess.Popen[str]") -> None:
    """Wait until a process catches SIGTERM (before that Python is still loading)."""
    bit = 1 << (signal.SIGTERM - 1)
    while process.poll() is None:
        with suppress(OSError):
            caught = re.search("SigCgt:\t(.*)", Path(f"/proc/{process.pid}/status").read_text())
            if caught and int(caught.group(1), 16) & bit:
                return
        time.sleep(0.005)


def _seconds(bench: Bench, scene: Scene) -> float:
    """How long an undisturbed run takes from when it listens to signals."""
    place = bench.place(scene)
    process = place.start()
    _await_listening(process)
    began = time.monotonic()
    ended(process)
    shutil.rmtree(place.folder)
    return time.monotonic() - began


def signals(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Stop a run at drawn moments of the time that it takes."""
    drawn = random.Random(64)
    numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    for scene in scenes:
        most = _seconds(bench, scene)
        for turn in range(60 if scene.command == "batch" else 30):
            number = numbers[turn % 3]
            moment = drawn.uniform(0, most)
            yield Signalled(
                scene, f"{number.name} after {moment:.2f} s", number, moment,
                expected=Expected(frozenset({128 + number}), kept=False),
            )  # fmt: skip


# --- others at work ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Crowded(Fault):
    """Four runs at once, the first of them begun before the inputs became those of the new version.

    Attributes:
        moment: s between the first run and the change.
        fresh: whether there was no output before.
    """

    moment: float
    fresh: bool

    def happen(self, bench: Bench, place: Place) -> Done:
        if self.fresh:
            shutil.rmtree(place.out)
        block = place.folder / "blocks" / "men_overblock_50.svg"
        new = block.read_bytes()
        shutil.copy(bench.folder / "version0" / "blocks" / block.name, block)
        first = place.start()
        time.sleep(self.moment)
        coming = place.folder / "coming.svg"
        coming.write_bytes(new)
        coming.replace(block)
        runs = [ended(process) for process in (first, *(place.start() for _ in range(3)))]
        return next(self._amiss(bench, place, runs), max(runs, key=lambda run: run.status))

    def _amiss(self, bench: Bench, place: Place, runs: list[Done]) -> Iterator[Done]:
        for run in runs:
            if run.status not in self.expected.statuses:
                yield run
            if run.status == 6 and "another run holds this folder" not in run.err:
                yield Done(98, "", f"not told that the folder is held: {run.err}")
            if run.status == 5 and "has changed since the run began" not in run.out:
                yield Done(98, "", f"not told why it has failed: {run.out}")
        times = Counter(key for run in runs for key in run.made)  # one after another, not at once
        most = {f"men/{CHANGED}": 2 if self.fresh else 1, "men/half-raglan/52": int(self.fresh)}
        if any(times[key] > most[key] for key in times):
            yield Done(98, "", f"made by several runs: {times}")
        if place.outputs() not in (bench.golden("batch", 0), bench.golden("batch", 1)):
            yield Done(98, "", "the result is a mixture of two versions")
        if all(run.status != 0 for run in runs):
            yield Done(98, "", "nobody has made anything")


def crowds(bench: Bench, _scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Four at once; who comes late, or reads what is being changed, is told so."""
    drawn = random.Random(6)
    expected = Expected(frozenset({0, 5, 6}), kept=False)
    for turn in range(20):
        moment = drawn.uniform(0, 1.2)
        name = f"four runs, inputs changed after {moment:.2f} s"
        yield Crowded(UPDATE, name, moment, turn % 2 == 0, expected=expected)


# --- what may not be written ------------------------------------------------------------------


@dataclass(frozen=True)
class Guarded(Fault):
    """Something that may not be written.

    Attributes:
        what: as seen from the library's folder; "" where the user may write nothing at all.
        how: "read-only" (a mount), "immutable" (of the file system) or "another user".
    """

    what: str
    how: str

    def happen(self, bench: Bench, place: Place) -> Done:
        path = place.folder / self.what
        with ExitStack() as stack:
            if self.how == "another user":
                (place.folder / "tmp").mkdir(mode=0o777)
                (place.folder / "tmp").chmod(0o777)
                words = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
                return place.run(words)
            if self.how == "immutable":
                subprocess.run(["chattr", "+i", str(path)], check=True, capture_output=True)
                stack.callback(subprocess.run, ["chattr", "-i", str(path)], check=True)
            else:
                path.mkdir(exist_ok=True)
                stack.enter_context(mounted("--bind", path, path))
                subprocess.run(["mount", "-o", "remount,bind,ro", str(path)], check=True)
            return place.run()


def guards(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """Inputs that are read-only do no harm; an output that is ends with its name."""
    refused = Expected(frozenset({4}))
    for scene in scenes:
        key = next(name for name in bench.after(scene) if name.endswith(f"{CHANGED}.svg"))
        yield Guarded(scene, "inputs on a read-only disk", "blocks", "read-only",
                      expected=Expected(frozenset({0})))  # fmt: skip
        places = ["out"] if scene.start == "fresh" else ["out", f"out/{Path(key).parent}"]
        if scene == UPDATE:
            places.append("out/men")
        for what in places:
            yield Guarded(scene, f"{what} read-only", what, "read-only", expected=refused)
        if scene.start == "update":
            immutable = [f"out/{key}", f"out/{Path(key).parent}", "out"]
            if scene.command == "batch":
                immutable += [f"out/{STATE}", "out/.sleevewright.lock"]
            if scene.command == "convert":
                immutable.remove("out")  # which needs no new entry
            for what in immutable:
                yield Guarded(scene, f"{what} immutable", what, "immutable", expected=refused)
        yield Guarded(scene, "another user", "", "another user", expected=refused)


# --- clocks -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Skewed(Fault):
    """Another clock, or inputs of another time.

    Attributes:
        clock: as faketime takes it; "" for the right one.
        dated: year of the inputs' time stamps; 0 for now.
    """

    clock: str
    dated: int

    def happen(self, bench: Bench, place: Place) -> Done:
        if self.dated:
            stamp = (self.dated - 1970) * 31_556_952
            for path in (*place.folder.glob("*.yaml"), *(place.folder / "blocks").iterdir()):
                os.utime(path, (stamp, stamp))
        words = ["faketime", "-f", self.clock]
        done = place.run(words if self.clock else ())
        again = place.run()  # by the right clock: nothing is stale, whatever the time was
        if place.scene.command == "batch" and again.made:
            return Done(98, "", f"made again by another clock: {again.made}")
        return done


def clocks(bench: Bench, scenes: Sequence[Scene]) -> Iterator[Fault]:
    """No decision is made by the time."""
    expected = Expected(frozenset({0}))
    clocks = (
        "-400d",
        "+400d",
        "@2038-01-19 03:14:00",
        "@1980-01-01 00:00:01",
    )
    for scene in scenes:
        for clock in clocks:
            yield Skewed(scene, f"clock {clock}", clock, 0, expected=expected)
        for year in (1980, 2038, 2096):
            yield Skewed(scene, f"inputs of {year}", "", year, expected=expected)


# --- records and outputs that are damaged -----------------------------------------------------


@dataclass(frozen=True)
class Damaged(Fault):
    """A file of the output folder is not what a run left there.

    Attributes:
        file: as seen from the output folder.
        harm: bytes -> what is there instead; None where it is gone.
        at: where, for the harm.
        output: whether an output is damaged too.
        by_hand: whether the command line is run (else the same code in this process).
    """

    harm: Callable[[bytes, int], bytes | None]
    at: int
    output: bool
    by_hand: bool

    def happen(self, bench: Bench, place: Place) -> Done:
        state = place.out / STATE
        data = self.harm(state.read_bytes(), self.at)
        state.unlink()
        if data is not None:
            state.write_bytes(data)
        if self.output:
            path = place.out / "men" / f"{CHANGED}.svg"
            path.write_bytes(flipped(path.read_bytes(), 8 * 1000 + 1))
        done = place.run() if self.by_hand else _here(place)
        if done.status == 4:
            if "delete it" not in done.err or STATE not in done.err:
                return Done(98, "", f"no advice: {done.err}")
            state.unlink()
            done = _here(place)
        return done


@dataclass(frozen=True)
class Rotten(Fault):
    """One bit of an output is not what was written.

    Attributes:
        file: as seen from the output folder.
        bit: which.
    """

    file: str
    bit: int

    def happen(self, bench: Bench, place: Place) -> Done:
        path = place.out / self.file
        there, data = path.stat(), path.read_bytes()
        path.write_bytes(flipped(data, self.bit))
        os.utime(path, ns=(there.st_atime_ns, there.st_mtime_ns))
        words = [sys.executable, "-m", "sleevewright.cli", "verify", str(place.out)]
        verified = subprocess.run(words, capture_output=True, text=True, check=False)
        if verified.returncode != 1 or self.file not in verified.stdout:
            return Done(98, "", f"verify ends with {verified.returncode}: {verified.stdout}")
        os.utime(path)
        return place.run()


def _here(place: Place) -> Done:
    """Run in this process, as the command line does; what no command may raise has status 70."""
    try:
        build(place)
    except SleevewrightError as error:
        return Done(error.exit_status, "", f"error: {error}\n")
    except Exception as error:
        return Done(70, "", f"{type(error).__name__}: {error}")
    return Done(0)


def flipped(data: bytes, bit: int) -> bytes:
    place = bit // 8 % len(data)
    return data[:place] + bytes([data[place] ^ 1 << bit % 8]) + data[place + 1 :]


def cut(data: bytes, length: int) -> bytes:
    return data[: length % (len(data) + 1)]


def gone(_data: bytes, _at: int) -> None:
    return None


def rubbish(data: bytes, seed: int) -> bytes:
    return random.Random(seed).randbytes(len(data))


def damages(bench: Bench, _scenes: Sequence[Scene]) -> Iterator[Fault]:
    """A record in any state means "make it anew" or a clear message, never a wrong "up to date"."""
    state = (bench.earlier("batch", 1) / STATE).read_bytes()
    drawn = random.Random(8)
    used = [i for i, byte in enumerate(state) if byte]  # the rest of a page is empty
    harms: list[tuple[str, Callable[[bytes, int], bytes | None], int]] = [("gone", gone, 0)]
    harms += [("cut", cut, length) for length in range(0, len(state), 509)]
    bits = [8 * drawn.choice(used) + drawn.randrange(8) for _ in range(300)]
    harms += [("one bit flipped", flipped, bit) for bit in bits]
    harms += [("rubbish", rubbish, seed) for seed in range(3)]
    expected = Expected(frozenset({0}), told=False, kept=False)
    for turn, (name, harm, at) in enumerate(harms):
        output = turn % 3 == 1
        said = f"record {name} {at}{', an output too' if output else ''}"
        yield Damaged(STANDING, said, harm, at, output, turn % 20 == 0, expected=expected)
    for name, data in bench.after(STANDING).items():
        for bit in (0, *(drawn.randrange(8 * len(data)) for _ in range(4))):
            yield Rotten(STANDING, f"bit {bit} of {name} flipped", name, bit, expected=expected)


#: Kind -> (its faults, what it needs on the path).
KINDS: dict[str, tuple[Callable[[Bench, Sequence[Scene]], Iterator[Fault]], str]] = {
    "kill": (kills, "strace"),
    "error": (errors, "strace"),
    "full": (full, "mount"),
    "limits": (limits, ""),
    "signal": (signals, ""),
    "crowd": (crowds, ""),
    "guard": (guards, "setpriv"),
    "clock": (clocks, "faketime"),
    "record": (damages, ""),
}
