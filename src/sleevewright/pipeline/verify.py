"""An output folder against its record: is every file there, as it was written, and what it claims to be?"""

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from sleevewright.errors import Place, Problem, ReadError, WriteError
from sleevewright.pipeline.fingerprint import digest_of_bytes
from sleevewright.pipeline.lock import held
from sleevewright.pipeline.state import FILE, Output, Record, State

#: Beginning of the names of what a run keeps beside its outputs.
_OURS = ".sleevewright."


@dataclass(frozen=True, slots=True)
class Fault:
    """A file that is not what the record says.

    Attributes:
        variant: whose it is.
        file: relative to the output folder, with /.
        what: "missing", "changed" or "unreadable".
        why: one clause.
    """

    variant: str
    file: str
    what: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """What was found in an output folder.

    Attributes:
        variants, files: how many the record has.
        faults: files that are not as they were written.
        record: what is wrong with the record itself; "" where nothing is.
        unknown: files that no record knows; somebody's own.
        remains: temporary files that a run which was killed left; the next run removes them.
    """

    variants: int
    files: int
    faults: tuple[Fault, ...]
    record: str
    unknown: tuple[str, ...]
    remains: tuple[str, ...]

    @property
    def well(self) -> bool:
        """Whether every file of the record is there, unchanged and readable."""
        return not self.faults and not self.record


def verify(folder: Path) -> Verified:
    """Read every output of a folder and compare it with the record of the runs that made it.

    The folder is held meanwhile, so that no run writes into it; where it cannot be written at all, it
    is read as it lies.

    Raises:
        ReadError: there is no record, or the folder cannot be read.
        HeldError: a run holds the folder.
    """
    try:
        there = (folder / FILE).is_file()
    except OSError as error:
        raise ReadError(Problem(f"cannot be read: {error.strerror}", Place(str(folder)))) from None
    if not there:
        raise ReadError(
            Problem("no run has left its record here", Place(str(folder)), "",
                    "name the output folder of a batch")
        )  # fmt: skip
    with _held_if_it_can_be(folder):
        records, problem = _records(folder)
        faults = [fault for record in records for fault in _faults(folder, record)]
        known = {output.name for record in records for output in record.outputs}
        others = sorted(_others(folder, known))
    remains = tuple(name for name in others if _is_temporary(name))
    unknown = tuple(name for name in others if not _is_temporary(name))
    return Verified(
        variants=len(records), files=len(known), faults=tuple(faults), record=problem,
        unknown=() if problem else unknown, remains=remains,
    )  # fmt: skip


@contextmanager
def _held_if_it_can_be(folder: Path) -> Iterator[None]:
    with ExitStack() as stack:
        with suppress(WriteError):  # what cannot be written, no run of ours writes
            stack.enter_context(held(folder))
        yield


def _records(folder: Path) -> tuple[list[Record], str]:
    """Return the records of a folder that are as they were written, and what is wrong with the rest."""
    try:
        _refuse_damaged(folder / FILE)
        with State(folder, read_only=True) as state:
            records = list(state.records())
            for record in records:
                _refuse_nonsense(record)
            damaged = state.damaged()
    except Exception as error:  # noqa: BLE001 (a damaged file makes a database raise anything)
        return [], f"the record cannot be read: {' '.join(str(error).split())}"
    if damaged:
        said = "1 row is" if damaged == 1 else f"{damaged} rows are"
        return records, f"{said} not as written; `batch --force` makes all anew"
    return records, ""


def _refuse_damaged(path: Path) -> None:
    """Let the database look at itself: what it does not read in passing may be damaged too."""
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True)) as database:
        (first, *_), *_ = database.execute("pragma integrity_check(1)").fetchall()
        (empty,) = database.execute("select count(*) = 0 from sqlite_master").fetchone()
    if empty:
        raise ValueError("it is empty")
    if first != "ok":
        raise ValueError(first)


def _refuse_nonsense(record: Record) -> None:
    for output in record.outputs:
        parts = PurePosixPath(output.name).parts
        if not parts or ".." in parts or parts[0] == "/" or not isinstance(output.size, int):
            raise ValueError(f"{output.name!r} of {record.key!r} is no output")


def _faults(folder: Path, record: Record) -> Iterator[Fault]:
    for output in record.outputs:
        what, why = _fault(folder, output)
        if what == "changed" and not record.parts:  # as `State.begin` leaves it
            why += "; a run that made it anew did not get to its end"
        if what:
            yield Fault(record.key, output.name, what, why)


def _fault(folder: Path, output: Output) -> tuple[str, str]:
    """Return what is wrong with a file and why; ("", "") where nothing is."""
    path = folder / output.name
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return "changed", "it is no plain file"
        data = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return "missing", "it is not there"
    except OSError as error:
        return "unreadable", error.strerror or str(error)
    problem = _problem_in(data, output.name)
    if digest_of_bytes(data) != output.digest:
        why = f"{len(data)} bytes, {output.size} were written"
        if len(data) == output.size:
            why = "as many bytes, but others"
        return "changed", f"{why}; {problem}" if problem else why
    return ("unreadable", problem) if problem else ("", "")


def _problem_in(data: bytes, name: str) -> str:
    """Return why a file is not what its ending says; "" where it is."""
    from sleevewright.pipeline.proofread import read_as  # noqa: PLC0415

    try:
        read_as(name.rpartition(".")[2], data)
    except ValueError as error:
        return f"not what its name says: {error}"
    return ""


def _others(folder: Path, known: set[str]) -> Iterator[str]:
    """Yield the files that are neither outputs nor what a run keeps beside them."""
    from sleevewright.writing.gallery import DATA_FOLDER, INDEX  # noqa: PLC0415

    for place, folders, names in os.walk(folder):
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in (*names, *links):
            file = Path(place, name).relative_to(folder).as_posix()
            gallery = file == INDEX or file.startswith(f"{DATA_FOLDER}/")
            if file not in known and not gallery and not file.startswith(_OURS):
                yield file


def _is_temporary(file: str) -> bool:
    from sleevewright.writing.whole_files import TEMPORARY_PREFIX  # noqa: PLC0415

    name = file.rpartition("/")[2]
    return name.startswith(TEMPORARY_PREFIX) and name.endswith(".tmp")
