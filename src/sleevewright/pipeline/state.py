"""What was made from what: the state of an output folder, in one SQLite file.

SQLite keeps it whole through a crash. A record that is lost costs a rebuild, never a wrong "done": it
vouches for nothing from before the first of its outputs changes until they are in place, with what their
bytes were. Every row bears a seal; one that a bad disk has changed counts as lost.
After a power cut in the middle of a run, time stamps prove nothing: outputs are judged by their bytes.
"""

import json
import os
import sqlite3
import time
import zlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Any, Final, Self

from sleevewright.errors import Place, Problem, WriteError

FILE = ".sleevewright.state"
_VERSION = 3
_COMMIT_EVERY = 0.2  # seconds

_TABLE = """
create table if not exists rows (
    kind text, name text, content text, seal integer, primary key (kind, name)
) without rowid
"""

#: Kinds of rows: what was found out about a source (by its path); of a variant (by its key), what it
#: depends on, its files, and what was seen of it; of a library, how it stands, and whether a run of it is
#: under way.
_SOURCE, _PARTS, _FILES, _SUMMARY = "source", "parts", "files", "summary"
_STANDING, _UNDER_WAY = "standing", "under way"

#: What is wrong is the disk, its room or somebody's rights, not what the file holds.
_OF_THE_DISK: Final = frozenset(
    {
        sqlite3.SQLITE_AUTH, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_IOERR, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_NOMEM, sqlite3.SQLITE_PERM,
        sqlite3.SQLITE_READONLY,
    }
)  # fmt: skip


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
        parts: name -> digest of what it depends on; empty where it was not made whole when last tried.
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
                self._db = self._as_it_lies()
            else:
                self._db = sqlite3.connect(self._path)
                # Less may take half a journal for a whole one after a power cut, and damage the record.
                self._db.execute("pragma synchronous = full")
            # What is no UTF-8 any more is no reason to stop: its seal tells.
            self._db.text_factory = lambda data: data.decode(errors="replace")
            self._check_version()

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

    def _as_it_lies(self) -> sqlite3.Connection:
        """Open for reading; SQLite undoes what a run that was killed left half done."""
        if self._path.exists():
            found = sqlite3.connect(f"{self._path.resolve().as_uri()}?mode=rw", uri=True)
            found.execute("pragma query_only = on")
            if found.execute("select 1 from sqlite_master").fetchone() is not None:
                return found
            found.close()
        return sqlite3.connect(":memory:")

    def _check_version(self) -> None:
        (found,) = self._db.execute("pragma user_version").fetchone()
        (empty,) = self._db.execute("select count(*) = 0 from sqlite_master").fetchone()
        if empty:
            self._db.executescript(f"begin; {_TABLE}; pragma user_version = {_VERSION}; commit")
        elif found != _VERSION:
            raise WriteError(
                Problem(
                    f"the record of earlier runs is of form {found}, not {_VERSION}",
                    Place(str(self._path)), "", "delete it; everything is then made anew",
                )
            )  # fmt: skip

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say what SQLite could not do."""
        try:
            yield
        except sqlite3.Error as error:
            code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
            if code == sqlite3.SQLITE_READONLY and self._read_only:
                what = "the record of this folder is as a run that was killed has left it"
                hint = "run `batch`, which clears it up"
            elif code in _OF_THE_DISK:
                what = f"the record of this folder cannot be used: {error}"
                hint = "mend the disk or its permissions; the next run goes on from here"
            else:
                what = f"the record of earlier runs cannot be used: {error}"
                hint = "delete it; everything is then made anew"
            raise WriteError(Problem(what, Place(str(self._path)), "", hint)) from None

    # --- rows ---------------------------------------------------------------------------------

    def _row(self, kind: str, name: str) -> Any | None:
        """Return what a row holds; None where it is not there or is damaged."""
        with self._told():
            row = self._db.execute(
                "select content, seal from rows where kind = ? and name = ?", (kind, name)
            ).fetchone()
        return _opened(kind, name, *row) if row else None

    def _put(self, kind: str, name: str, content: Any) -> None:
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
        with self._told():
            self._db.execute(
                "insert or replace into rows values (?, ?, ?, ?)",
                (kind, name, text, _seal(kind, name, text)),
            )

    def damaged(self) -> int:
        """Return how many rows are not as they were written."""
        with self._told():
            rows = self._db.execute("select kind, name, content, seal from rows")
            return sum(_opened(*row) is None for row in rows)

    def drop_damaged(self) -> None:
        """Delete what is not as it was written."""
        with self._told():
            self._db.create_function("seal", 3, _seal, deterministic=True)
            self._db.execute("delete from rows where seal is not seal(kind, name, content)")

    # --- sources ------------------------------------------------------------------------------

    def facts(self, path: str, digest: str) -> Any | None:
        """Return what was found out about a source, if its content is what it was."""
        found = self._row(_SOURCE, path)
        return found["facts"] if found and found["digest"] == digest else None

    def keep_facts(self, path: str, digest: str, facts: Any) -> None:
        """Keep what was found out about a source, unless this is only for reading."""
        if not self._read_only:
            self._put(_SOURCE, path, {"digest": digest, "facts": facts})

    # --- runs ---------------------------------------------------------------------------------

    def begin(self, library: str, keys: Iterable[str], *, lasting: bool) -> None:
        """Commit that variants are being made, before the first of their outputs changes.

        Args:
            library: whose run it is.
            keys: of the variants; what is known of them stays, but vouches for nothing.
            lasting: whether every file that is written is safe from a power cut at once.
        """
        with self._told():
            self._db.executemany(
                "delete from rows where kind = ? and name = ?", ((_PARTS, key) for key in keys)
            )
            self._db.execute("delete from rows where kind = ?", (_STANDING,))
        if not lasting and self.trusts_stamps(library):
            self._put(_UNDER_WAY, library, _this_start())
        self.commit()

    def end(self, library: str, *, lasting: bool) -> None:
        """Commit that what the records of a library say was seen to be so.

        Args:
            library: whose run it was.
            lasting: whether it is safe from a power cut from now on.
        """
        if lasting:
            with self._told():
                self._db.execute(
                    "delete from rows where kind = ? and name = ?", (_UNDER_WAY, library)
                )
        elif not self.lasts(library):
            self._put(_UNDER_WAY, library, _this_start())
        self.commit()

    def lasts(self, library: str) -> bool:
        """Whether all outputs of a library that the records tell are safe from a power cut."""
        return self._row(_UNDER_WAY, library) is None

    def trusts_stamps(self, library: str) -> bool:
        """Whether a file of the size and time stamp that a record gives has the bytes it had."""
        return self._row(_UNDER_WAY, library) in (None, _this_start())

    def standing(self, library: str) -> Any | None:
        """Return how a library stood at its last run; None if that is not known."""
        return self._row(_STANDING, library)

    def keep_standing(self, library: str, note: Any) -> None:
        """Keep how a library stands, until the next run that makes something."""
        self._put(_STANDING, library, note)

    # --- variants -----------------------------------------------------------------------------

    def records(self) -> Iterator[Record]:
        """Yield every record, in the order of keys, summaries left out."""
        with self._told():
            rows = self._db.execute(
                "select f.name, f.content, f.seal, p.content, p.seal from rows f"
                " left join rows p on p.kind = ? and p.name = f.name where f.kind = ? order by f.name",
                (_PARTS, _FILES),
            ).fetchall()
        for key, *row in rows:
            files, parts = _opened(_FILES, key, *row[:2]), _opened(_PARTS, key, *row[2:])
            if files is not None:
                outputs = tuple(Output(*item) for item in files["outputs"])
                yield Record(key, files["library"], parts or {}, outputs, {})

    def summary(self, key: str) -> Mapping[str, Any]:
        """Return the summary of a variant; empty where there is none."""
        return self._row(_SUMMARY, key) or {}

    def keep(self, record: Record) -> None:
        """Write a record; it is safe on disk at the next `commit`, here after a fifth of a second."""
        outputs = [astuple(output) for output in record.outputs]
        self._put(_FILES, record.key, {"library": record.library, "outputs": outputs})
        self._put(_SUMMARY, record.key, dict(record.summary))
        self._put(_PARTS, record.key, dict(record.parts))
        if time.monotonic() - self._last > _COMMIT_EVERY:
            self.commit()

    def forget(self, key: str) -> None:
        """Remove the record of a variant, at once: its files are about to change."""
        with self._told():
            self._db.executemany(
                "delete from rows where kind = ? and name = ?",
                ((kind, key) for kind in (_PARTS, _FILES, _SUMMARY)),
            )

    def commit(self) -> None:
        """Make everything kept so far safe."""
        if not self._read_only:
            with self._told():
                self._db.commit()
        self._last = time.monotonic()


def _seal(kind: object, name: object, content: object) -> int:
    """Return the CRC-32 of a row: every damage in one place is seen, of others all but one in 2**32."""
    return zlib.crc32(f"{kind}\0{name}\0{content}".encode(errors="surrogatepass"))


def _opened(kind: object, name: object, content: object, seal: object) -> Any | None:
    """Return what a row holds; None where it is not what was written."""
    if not isinstance(content, str) or seal != _seal(kind, name, content):
        return None
    return json.loads(content)


def _this_start() -> str:
    """Name the present start of the machine; another one each time where the system does not say."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return os.urandom(16).hex()
