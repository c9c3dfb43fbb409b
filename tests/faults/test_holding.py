"""The lock of an output folder: nothing planted there is followed, nothing said there is believed."""

import errno
import json
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from sleevewright.errors import HeldError, WriteError
from sleevewright.pipeline import lock
from sleevewright.pipeline.lock import HOLDER, LOCK, held


def said_to_a_second(folder: Path, holder: bytes | None = None) -> str:
    """Hold a folder twice, having changed who is said to hold it; return what the second is told."""
    with held(folder):
        if holder is not None:
            (folder / HOLDER).unlink()
            (folder / HOLDER).write_bytes(holder)
        with pytest.raises(HeldError) as told, held(folder):
            pass
        assert told.value.exit_status == 6
    with held(folder):  # the second has taken nothing from the first
        pass
    return str(told.value)


def test_who_holds_it_and_for_how_long(tmp_path: Path) -> None:
    said = said_to_a_second(tmp_path)
    assert said.startswith(f"{tmp_path}: another run holds this folder: process {os.getpid()} on ")
    assert said.partition(" on ")[2].partition(" ")[2].startswith(("for 0 s;", "for 1 s;"))


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (40, " for 40 s;"), (200, " for 3 min;"), (2 * 3600, " for 2 h;"), (47 * 3600, " for 47 h;"),
        (9 * 86400 + 3600, " for 9 days;"), (-3600, ";"),
    ],
)  # fmt: skip
def test_ages(tmp_path: Path, seconds: int, words: str) -> None:
    since = (datetime.now(UTC) - timedelta(seconds=seconds)).isoformat()
    holder = json.dumps({"host": "elsewhere", "pid": 7, "since": since}).encode()
    assert f": process 7 on elsewhere{words}" in said_to_a_second(tmp_path, holder)


@pytest.mark.parametrize(
    "holder",
    [
        b"", b"{", b"\xff\xfe", b"[" * 900, b"0" * 5000, b"[1]", b'"x"', b'{"pid": 7}',
        b'{"host": "h", "pid": "x", "since": "2026-01-01T00:00:00+00:00"}',
        b'{"host": "h", "pid": 7, "since": "yesterday"}',
        b'{"host": "h", "pid": 7, "since": "2026-01-01T00:00:00"}',
        b'{"host": "h", "pid": 1e999, "since": "2026-01-01T00:00:00+00:00"}',
    ],
)  # fmt: skip
def test_a_holder_of_nonsense_is_not_told(tmp_path: Path, holder: bytes) -> None:
    assert ": another run holds this folder; wait" in said_to_a_second(tmp_path, holder)


def test_a_link_in_the_place_of_the_holder(tmp_path: Path) -> None:
    foreign, folder = tmp_path / "foreign", tmp_path / "out"
    who = json.dumps({"host": "h", "pid": 7, "since": datetime.now(UTC).isoformat()})
    foreign.write_text(who)
    folder.mkdir()
    (folder / HOLDER).symlink_to(foreign)
    with held(folder):
        assert not (folder / HOLDER).is_symlink()
        (folder / HOLDER).unlink()
        (folder / HOLDER).symlink_to(foreign)
        with pytest.raises(HeldError) as told, held(folder):
            pass
        assert "process 7" not in str(told.value)
    assert foreign.read_text() == who


def test_a_lock_that_is_a_link_is_refused(tmp_path: Path) -> None:
    foreign, folder = tmp_path / "foreign", tmp_path / "out"
    folder.mkdir()
    for there in (False, True):
        if there:
            foreign.write_text("foreign")
        (folder / LOCK).unlink(missing_ok=True)
        (folder / LOCK).symlink_to(foreign)
        with pytest.raises(WriteError, match=r"\.lock: is no plain file") as told, held(folder):
            pass
        assert told.value.exit_status == 4
        assert foreign.exists() == there
    assert foreign.read_text() == "foreign"


def test_a_link_planted_between_look_and_opening(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    foreign, folder = tmp_path / "foreign", tmp_path / "out"
    folder.mkdir()
    foreign.write_text("foreign")
    (folder / LOCK).symlink_to(foreign)
    monkeypatch.setattr(Path, "lstat", Path.stat)  # as if it had been a plain file a moment ago
    with pytest.raises(WriteError, match="cannot be written"), held(folder):
        pass


@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir])
def test_a_lock_that_is_no_file_keeps_nobody_waiting(tmp_path: Path, make) -> None:
    make(tmp_path / LOCK)
    with pytest.raises(WriteError, match=r"\.lock: is no plain file"), held(tmp_path):
        pass


@pytest.mark.parametrize("number", [errno.ENOLCK, errno.EOPNOTSUPP, errno.ENOSYS])
def test_a_file_system_without_locks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def none(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(lock.fcntl, "flock", none)
    with pytest.raises(WriteError) as told, held(tmp_path):
        pass
    assert str(told.value).startswith(
        f"{tmp_path}: cannot be locked against a second run: {os.strerror(number)}; "
    )
    assert not (tmp_path / HOLDER).exists()


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with (
        pytest.raises(WriteError, match="out: cannot be written: File exists"),
        held(tmp_path / "out"),
    ):
        pass


def test_nothing_stays_but_the_lock(tmp_path: Path) -> None:
    with pytest.raises(KeyError), held(tmp_path / "a" / "b"):
        raise KeyError
    assert [path.name for path in (tmp_path / "a" / "b").iterdir()] == [LOCK]
