"""What was made from what: the state of an output folder, in one SQLite file.

SQLite keeps it whole through a crash. A record that is lost costs a rebuild, never a wrong "done": it is
emptied before the first of its outputs changes, and written when they are in place, with what their bytes were.
After a power cut in the middle of a run, time stamps prove nothing: outputs are judged by their bytes.
"""

import json
import secrets
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Self

from sleevewright.errors import Place, Problem, WriteError

FILE = ".sleevewright.state"
_VERSION = 2
_COMMIT_EVERY = 0.2  # seconds
_UNDER_WAY = "under way"

_TABLES = """
create table if not exists meta (version integer);
create table if not exists sources (path text primary key, digest text, facts text);
create table if not exists variants (
    key text primary key, library text, parts text, outputs text, summary text
);
create table if not exists notes (name text primary key, note text);
"""


@dataclass(frozen=True, slots=True)
class Output:
    """A file as it was written.

    Attributes:
        name: path relative to the output folder, with /.
        digest: SHA-256 of its bytes.
        size: bytes.
        mtime_ns: time stamp; a file with the same size and stamp counts as untouched.
    """

    name: str
    digest: str
    size: int
    mtime_ns: int


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of a variant that was made.

    Attributes:
        key: BLOCK/RECIPE/[SETTINGS/]SIZE.
        library: whose it is: the library file, relative to the output folder.
        parts: name -> digest of what it depends on; empty while it is being made.
        outputs: its files.
        summary: worst status, findings that fell short, profile of its edges for comparison.
    """

    key: str
    library: str
    parts: Mapping[str, str]
    outputs: tuple[Output, ...]
    summary: Mapping[str, Any]


class State:
    """The records of one output folder; use it under the folder's lock."""

    def __init__(self, folder: Path, *, read_only: bool = False) -> None:
        """Open or make the state of a folder.

        Raises:
            WriteError: it cannot be opened.
        """
        self._path = folder / FILE
        self._read_only = read_only
        self._last = time.monotonic()
        with self._told():
            if read_only:
                there = self._path.exists()
                name = f"{self._path.resolve().as_uri()}?mode=ro" if there else ":memory:"
                self._db = sqlite3.connect(name, uri=True)
                if not there:
                    self._db.executescript(_TABLES)
            else:
                self._db = sqlite3.connect(self._path)
                self._db.execute("pragma synchronous = normal")
                self._db.executescript(_TABLES)
            self._check_version()
        under_way = self.note(_UNDER_WAY)
        #: Whether something may be lost in a power cut until `end`.
        self.unsynced = bool(under_way)
        #: Whether a file of the size and time stamp that a record gives has the bytes it had.
        self.trusts_stamps = not under_way or under_way == _this_start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        """Commit and close; what cannot be committed is not told over another error."""
        try:
            self.commit()
        except WriteError:
            if kind is None:
                raise
        finally:
            with suppress(sqlite3.Error):
                self._db.close()

    def _check_version(self) -> None:
        found = self._db.execute("select version from meta").fetchone()
        if found is None:
            if not self._read_only:
                self._db.execute("insert into meta values (?)", (_VERSION,))
                self._db.commit()
        elif found[0] != _VERSION:
            raise WriteError(
                Problem(
                    f"the record of earlier runs is of form {found[0]}, not {_VERSION}",
                    Place(str(self._path)), "", "delete it; everything is then made anew",
                )
            )  # fmt: skip

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say what SQLite could not do."""
        try:
            yield
        except sqlite3.OperationalError as error:  # the disk, not what is on it
            raise WriteError(
                Problem(f"the record of this folder cannot be used: {error}",
                        Place(str(self._path)), "", "mend the disk or its permissions; the next run"
                        " goes on from here")
            ) from None  # fmt: skip
        except sqlite3.Error as error:
            raise WriteError(
                Problem(f"the record of earlier runs cannot be used: {error}",
                        Place(str(self._path)), "", "delete it; everything is then made anew")
            ) from None  # fmt: skip

    # --- sources ------------------------------------------------------------------------------

    def facts(self, path: str, digest: str) -> Any | None:
        """Return what was found out about a source, if its content is what it was."""
        with self._told():
            row = self._db.execute(
                "select facts from sources where path = ? and digest = ?", (path, digest)
            ).fetchone()
        return None if row is None else json.loads(row[0])

    def keep_facts(self, path: str, digest: str, facts: Any) -> None:
        """Keep what was found out about a source, unless this is only for reading."""
        if self._read_only:
            return
        text = json.dumps(facts, sort_keys=True, allow_nan=False)
        with self._told():
            self._db.execute(
                "insert or replace into sources values (?, ?, ?)", (path, digest, text)
            )

    # --- runs ---------------------------------------------------------------------------------

    def begin(self, keys: Iterable[str], *, unsynced: bool) -> None:
        """Commit that these variants are being made, before the first of their outputs changes.

        Args:
            keys: theirs; what is known of them stays, but vouches for nothing.
            unsynced: whether what is written is safe from a power cut only once the run has ended.
        """
        with self._told():
            self._db.executemany(
                "update variants set parts = '{}' where key = ?", ((key,) for key in keys)
            )
            self._db.execute("delete from notes where name != ?", (_UNDER_WAY,))
        if unsynced and self.trusts_stamps:
            self.keep_note(_UNDER_WAY, _this_start())
        self.unsynced = self.unsynced or unsynced
        self.commit()

    def end(self) -> None:
        """Commit that everything the records say is safe on disk."""
        with self._told():
            self._db.execute("delete from notes where name = ?", (_UNDER_WAY,))
        self.commit()
        self.unsynced, self.trusts_stamps = False, True

    def note(self, name: str) -> str:
        """Return a note on the folder as a whole; "" where there is none."""
        with self._told():
            row = self._db.execute("select note from notes where name = ?", (name,)).fetchone()
        return row[0] if row else ""

    def keep_note(self, name: str, note: str) -> None:
        """Keep a note on the folder as a whole, until the next run that makes something."""
        with self._told():
            self._db.execute("insert or replace into notes values (?, ?)", (name, note))

    # --- variants -----------------------------------------------------------------------------

    def records(self) -> Iterator[Record]:
        """Yield every record, in the order of keys, summaries left out."""
        with self._told():
            rows = self._db.execute(
                "select key, library, parts, outputs from variants order by key"
            )
        for key, library, parts, outputs in rows:
            files = tuple(Output(*item) for item in json.loads(outputs))
            yield Record(key, library, json.loads(parts), files, {})

    def summary(self, key: str) -> Mapping[str, Any]:
        """Return the summary of a variant; empty where there is none."""
        with self._told():
            row = self._db.execute("select summary from variants where key = ?", (key,)).fetchone()
        return {} if row is None else dict(json.loads(row[0]))

    def keep(self, record: Record) -> None:
        """Write a record; it is safe on disk at the next `commit`, here after a fifth of a second."""
        outputs = json.dumps([list(asdict(output).values()) for output in record.outputs])
        with self._told():
            self._db.execute(
                "insert or replace into variants values (?, ?, ?, ?, ?)",
                (
                    record.key, record.library, json.dumps(dict(record.parts), sort_keys=True),
                    outputs,
                    json.dumps(dict(record.summary), sort_keys=True, separators=(",", ":")),
                ),
            )  # fmt: skip
        if time.monotonic() - self._last > _COMMIT_EVERY:
            self.commit()

    def forget(self, key: str) -> None:
        """Remove the record of a variant, at once: its files are about to change."""
        with self._told():
            self._db.execute("delete from variants where key = ?", (key,))

    def commit(self) -> None:
        """Make everything kept so far safe."""
        if not self._read_only:
            with self._told():
                self._db.commit()
        self._last = time.monotonic()


def _this_start() -> str:
    """Name the present start of the machine; another one each time where the system does not say."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return secrets.token_hex(16)
