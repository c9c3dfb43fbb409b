"""Hostile input: what a case is, and one run of it in a process that may be lost.

    CASES = [Case("not a number", ".dxf", b"...", "refused", "is no number", why="NaN hangs geometry")]

    def test_hostile() -> None:
        verify(CASES)

A case says before it runs what must come of it. It fails by anything else: another exception, a hang,
a process that dies, more time or memory than its budget, or a message that does not say the file and the
trouble in one printable line.
"""

import os
import pickle
import resource
import signal
import tempfile
import traceback
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection, Pipe
from pathlib import Path
from typing import Any, Literal

from sleevewright.errors import ReadError, SleevewrightError
from sleevewright.reading import read_pattern

#: A person reads the line; nothing of a hostile file may make it longer.
LONGEST_LINE = 1000

#: Beyond the processor time of the budget, for a process that sleeps; other processes are busy too.
WALL_FACTOR = 12

#: How a reader words an exception that it did not foresee.
OUR_FAULT = "a fault of this program"

MB = 1 << 20


def read_block(path: Path) -> Any:
    """The whole reader: files to patterns."""
    return read_pattern([path])


@dataclass(frozen=True)
class Case:
    """One hostile input and what must come of it.

    Attributes:
        name: unique in its list; says what is hostile.
        suffix: of the file, with its dot.
        data: its bytes, or what makes them.
        expect: "refused": `error` is raised and its message holds `words`;
            "read": it is read, and `check` holds;
            "listed": read likewise, and its findings hold `words`.
        words: one text, or several that must all be there.
        why: why that is expected, where the name does not say it.
        check: asserts something of what was read; runs in the other process.
        read: reads the file; what it returns may have `findings`.
        error: the class that is to be raised.
        seconds: of processor time.
        megabytes: beyond what the process had before.
    """

    name: str
    suffix: str
    data: bytes | Callable[[], bytes] = field(repr=False)
    expect: Literal["refused", "read", "listed"]
    words: str | tuple[str, ...] = ""
    why: str = ""
    check: Callable[[Any], None] | None = None
    read: Callable[[Path], Any] = read_block
    error: type[SleevewrightError] = ReadError
    seconds: float = 5.0
    megabytes: int = 1024


@dataclass(frozen=True)
class Outcome:
    """What came of one run.

    Attributes:
        ended: "read", "refused" (a SleevewrightError), "raised" (any other exception), "hung" or "died".
        text: message of the exception, or the findings, a line each; how it ended otherwise.
        problems: number of problems that the exception holds.
        error: class of the exception.
        complaint: what `check` or the caller's work found wrong.
        seconds: processor time.
        megabytes: peak beyond what the process had before.
        value: what the work returned (`each` only).
    """

    ended: str
    text: str = ""
    problems: int = 0
    error: str = ""
    complaint: str = ""
    seconds: float = 0.0
    megabytes: float = 0.0
    value: Any = None


def verify(cases: Iterable[Case]) -> list[Outcome]:
    """Run cases in a process that may be lost; fail if of any comes something else than it says."""
    cases = list(cases)
    outcomes = run_cases(cases)
    wrong = [
        (case, complaint(case, outcome)) for case, outcome in zip(cases, outcomes, strict=True)
    ]
    bad = [f"{case.name} ({case.why}): {what}" for case, what in wrong if what]
    assert not bad, f"{len(bad)} of {len(cases)} cases:\n" + "\n".join(bad)
    return outcomes


def run_cases(cases: Sequence[Case]) -> list[Outcome]:
    """Run cases one after the other in a warm process, which is replaced when it is lost."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / str(i) / f"hostile{case.suffix}" for i, case in enumerate(cases)]
        for case, path in zip(cases, paths, strict=True):
            path.parent.mkdir()
            path.write_bytes(case.data if isinstance(case.data, bytes) else case.data())
        jobs = list(zip(cases, paths, strict=True))
        runs = each(
            jobs, lambda job: read_case(*job), lambda job: (job[0].seconds, job[0].megabytes)
        )
        return [
            replace(run.value, seconds=run.seconds, megabytes=run.megabytes) if run.value else run
            for run in runs
        ]


def read_case(case: Case, path: Path) -> Outcome:
    """Read the file of a case, here, and say what came of it."""
    outcome, value = attempt(case.read, path)
    if case.check is not None and outcome.ended == "read":
        try:
            case.check(value)
        except Exception:
            return replace(outcome, complaint=traceback.format_exc(limit=-2))
    return outcome


def attempt(read: Callable[[Path], Any], path: Path) -> tuple[Outcome, Any]:
    """Read a file, here: the outcome, and what was read."""
    try:
        value = read(path)
    except SleevewrightError as error:
        return Outcome("refused", str(error), len(error.problems), type(error).__name__), None
    except Exception as error:
        return Outcome("raised", traceback.format_exc(limit=-4), 0, type(error).__name__), None
    findings = [finding.message for finding in getattr(value, "findings", ())]
    return Outcome("read", "\n".join(findings), len(findings)), value


def complaint(case: Case, outcome: Outcome) -> str:
    """What is wrong with an outcome; "" if it is what the case says."""
    if OUR_FAULT in outcome.text:
        return outcome.text
    wanted = "refused" if case.expect == "refused" else "read"
    words = (case.words,) if isinstance(case.words, str) else case.words
    if outcome.ended != wanted:
        return f"wanted {wanted}, got {outcome.ended} ({outcome.error}): {outcome.text}"
    if wanted == "refused" and outcome.error != case.error.__name__:
        return f"wanted {case.error.__name__}, got {outcome.error}: {outcome.text}"
    if case.expect != "read" and not all(word in outcome.text for word in words):
        return f"{words!r} is not said in: {outcome.text!r}"
    if outcome.complaint:
        return outcome.complaint
    if outcome.megabytes > case.megabytes or "MemoryError" in outcome.text:
        return f"{outcome.megabytes:.0f} MB, {case.megabytes} allowed: {outcome.text}"
    if outcome.seconds > case.seconds:
        return f"{outcome.seconds:.1f} s, {case.seconds} allowed"
    return unreadable(outcome, f"hostile{case.suffix}" if wanted == "refused" else "")


def unreadable(outcome: Outcome, file: str = "") -> str:
    """What makes a message or findings hard to read; "" for nothing.

    Args:
        outcome: "refused" or "read".
        file: what every line must name.
    """
    lines = outcome.text.split("\n") if outcome.text else []
    if len(lines) != outcome.problems:
        return f"{outcome.problems} problems in {len(lines)} lines: {outcome.text!r}"
    for line in lines:
        if file and file not in line:
            return f"the file is not named in: {line!r}"
        if not line.isprintable():
            return f"characters that do not print in: {line!r}"
        if len(line) > LONGEST_LINE:
            return f"{len(line)} characters in one line: {line[:80]!r}"
    return ""


# --- processes ---------------------------------------------------------------------------------


Budget = Callable[[Any], tuple[float, int]]


def usual(_: Any) -> tuple[float, int]:
    """5 s of processor time, and 1 GB."""
    return 5.0, 1024


def each(
    items: Iterable[Any], work: Callable[[Any], Any], budget: Budget = usual
) -> Iterator[Outcome]:
    """Do work on items in a forked process, one after the other; yield an outcome an item, in order.

    Nothing is sent into the process but by the fork, so that work may be any function; what it returns must
    pickle. A process that is lost, by a hang or otherwise, costs its item and is replaced.

    Args:
        items: what to work on.
        work: done on each.
        budget: gives for an item seconds of processor time, and MB beyond what the process had before.
    """
    _warm()
    left = list(items)
    while left:
        done = 0
        for outcome in _forked(left, work, budget):
            done += 1
            yield outcome
        left = left[done:]


def _warm() -> None:
    """Load what readers load late, so that a fork has it."""
    import ezdxf  # noqa: F401
    import svgpathtools  # noqa: F401

    import sleevewright.reading.dxf
    import sleevewright.reading.svg  # noqa: F401


def _forked(items: list[Any], work: Callable[[Any], Any], budget: Budget) -> Iterator[Outcome]:
    """Work on items until all are done or the process is lost; at least one outcome comes."""
    ours, theirs = Pipe(duplex=False)
    pid = os.fork()
    if pid == 0:
        try:
            ours.close()
            _serve(theirs, items, work, budget)
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    theirs.close()
    alive = True
    try:
        for item in items:
            seconds = budget(item)[0]
            if not ours.poll(WALL_FACTOR * seconds):
                yield Outcome("hung", f"more than {WALL_FACTOR * seconds:g} s by the clock")
                return
            try:
                outcome = pickle.loads(ours.recv_bytes())
            except EOFError:
                alive = False
                yield _lost(os.waitpid(pid, 0)[1], seconds)
                return
            yield outcome
    finally:
        ours.close()
        if alive:
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)


def _lost(status: int, seconds: float) -> Outcome:
    number = os.waitstatus_to_exitcode(status)
    if number == -signal.SIGPROF:
        return Outcome("hung", f"more than {seconds:g} s of processor time", seconds=seconds)
    return Outcome("died", f"exit status {number}")


def _serve(to: Connection, items: list[Any], work: Callable[[Any], Any], budget: Budget) -> None:
    signal.signal(signal.SIGPROF, signal.SIG_DFL)  # ends the process, whatever it does in C
    for item in items:
        seconds, megabytes = budget(item)
        size, rest = _memory("VmSize"), _memory("VmRSS")
        most = size + 2 * megabytes * MB
        resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))
        Path("/proc/self/clear_refs").write_text("5")  # the peak of resident memory begins anew
        began = _processor()
        signal.setitimer(signal.ITIMER_PROF, seconds)
        try:
            outcome = Outcome("read", value=work(item))
        except BaseException as error:
            outcome = Outcome("raised", traceback.format_exc(limit=-4), 0, type(error).__name__)
        signal.setitimer(signal.ITIMER_PROF, 0)
        used = _processor() - began
        peak = max(0, _memory("VmHWM") - rest) / MB
        to.send_bytes(pickle.dumps(replace(outcome, seconds=used, megabytes=peak)))


def _processor() -> float:
    times = os.times()
    return times.user + times.system


def _memory(field: str) -> int:
    """Bytes, by /proc."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(f"{field}:"):
            return int(line.split()[1]) << 10
    raise LookupError(field)
