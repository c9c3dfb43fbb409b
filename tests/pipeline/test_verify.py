"""An output folder looked after: whatever happens to a file is noticed and named.

`FLIPS=2000 pytest tests/pipeline/test_verify.py` flips so many bits in each kind of file.
"""

import json
import os
import random
import shutil
import sqlite3
from hashlib import sha256
from pathlib import Path

import pytest

from conftest_pipeline import Studio, build
from conftest_pipeline import made as made_of
from sleevewright.errors import HeldError, ReadError, WriteError
from sleevewright.formats import ENDINGS
from sleevewright.pipeline import verify as module
from sleevewright.pipeline.lock import held
from sleevewright.pipeline.state import FILE, Output, Record, State
from sleevewright.pipeline.verify import verify

FLIPS = int(os.environ.get("FLIPS", "24"))
KINDS = sorted(set(ENDINGS.values()))
PLACE = "men/half-raglan/50"


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    """An output folder with one variant in every format, and a gallery."""
    studio = Studio(tmp_path_factory.mktemp("studio"))
    studio.block("men_overblock_50")
    studio.recipe("half-raglan")
    names = ", ".join(ENDINGS)
    studio.library(f"outputs: {{folder: out, gallery: true, formats: [{names}]}}\n")
    build(studio)
    return studio.out


@pytest.fixture
def out(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "out"))


def recorded(folder: Path, data: bytes, kind: str) -> Path:
    """A folder whose record has one file, of these bytes; return the file."""
    path = folder / f"{PLACE}.{kind}"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    digest = sha256(data).hexdigest()
    with State(folder) as state:
        output = Output(f"{PLACE}.{kind}", digest, len(data), path.stat().st_mtime_ns)
        state.keep(Record(PLACE, "library.yaml", {"tool": "1"}, (output,), {}))
    return path


def faults(folder: Path) -> list[tuple[str, str]]:
    return [(fault.what, fault.file) for fault in verify(folder).faults]


def test_a_folder_as_it_was_made_is_well(out: Path) -> None:
    found = verify(out)
    assert found.well
    assert (found.variants, found.files) == (1, len(ENDINGS))
    assert (found.unknown, found.remains) == ((), ())


@pytest.mark.parametrize("kind", KINDS)
def test_every_flipped_bit_is_noticed(made: Path, tmp_path: Path, kind: str) -> None:
    data = (made / f"{PLACE}.{kind}").read_bytes()
    path = recorded(tmp_path, data, kind)
    assert verify(tmp_path).well
    draw = random.Random(kind)
    places = [0, len(data) - 1, *(draw.randrange(len(data)) for _ in range(FLIPS))]
    for place in places:
        bad = bytearray(data)
        bad[place] ^= 1 << draw.randrange(8)
        path.write_bytes(bad)
        os.utime(path, ns=(0, 0))  # a time stamp says nothing
        assert faults(tmp_path) == [("changed", path.relative_to(tmp_path).as_posix())], place


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_that_was_bad_when_it_was_recorded_is_unreadable(
    made: Path, tmp_path: Path, kind: str
) -> None:
    """The hash is right: that it is no such file is seen by reading it."""
    data = (made / f"{PLACE}.{kind}").read_bytes()
    for i, bad in enumerate((b"", data[: len(data) // 2], data[:-3], b"\x00" * 400)):
        folder = tmp_path / str(i)
        path = recorded(folder, bad, kind)
        assert faults(folder) == [("unreadable", path.relative_to(folder).as_posix())], i
    other = "json" if kind != "json" else "svg"
    recorded(tmp_path / "other", data, other)
    assert faults(tmp_path / "other") == [("unreadable", f"{PLACE}.{other}")]


def test_what_is_gone_cut_off_or_no_file_is_named(out: Path) -> None:
    (out / f"{PLACE}.svg").unlink()
    with (out / f"{PLACE}.dxf").open("r+b") as file:
        file.truncate(1000)
    away = out.parent / "away.json"
    (out / f"{PLACE}.json").rename(away)
    (out / f"{PLACE}.json").symlink_to(away)
    (out / f"{PLACE}.csv").unlink()
    (out / f"{PLACE}.csv").mkdir()
    found = verify(out)
    assert not found.well
    assert {(fault.variant, fault.what, fault.file) for fault in found.faults} == {
        (PLACE, "missing", f"{PLACE}.svg"),
        (PLACE, "changed", f"{PLACE}.dxf"),
        (PLACE, "changed", f"{PLACE}.json"),
        (PLACE, "changed", f"{PLACE}.csv"),
    }
    shutil.rmtree(out / "men")
    assert {fault.what for fault in verify(out).faults} == {"missing"}


def test_a_run_that_was_cut_off_is_told_of(out: Path) -> None:
    with State(out) as state:
        state.begin("library.yaml", [PLACE], lasting=True)
    assert verify(out).well, "its old files are whole"
    (out / f"{PLACE}.csv").write_text("new")
    (fault,) = verify(out).faults
    assert fault.what == "changed"
    assert "did not get to its end" in fault.why


def test_files_of_others_and_remains_are_listed_and_harm_nothing(out: Path) -> None:
    (out / "men" / "notes.txt").write_text("cut by Friday")
    (out / "men" / "link").symlink_to(out)
    (out / "men" / ".sleevewright-0123456789abcdef.tmp").write_text("half")
    found = verify(out)
    assert found.well
    assert found.unknown == ("men/link", "men/notes.txt")
    assert found.remains == ("men/.sleevewright-0123456789abcdef.tmp",)


# --- the record -------------------------------------------------------------------------------


@pytest.mark.parametrize("folder", ["nowhere", "empty"])
def test_without_a_record_nothing_is_verified(tmp_path: Path, folder: str) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(ReadError, match="no run has left its record"):
        verify(tmp_path / folder)
    assert not any((tmp_path / "empty").iterdir()), "nothing is left behind"


def test_a_damaged_record_is_never_taken_for_another(out: Path) -> None:
    """Cut off or overwritten anywhere: told to be damaged, or a file differs from it, or (where nothing
    was written on the page of the database) it says what it said before.
    """
    state = out / FILE
    data = state.read_bytes()
    starts = range(0, len(data), max(1, len(data) // 20))
    harms = [data[:start] for start in starts]
    harms += [data[:start] + b"\xa5" * 600 + data[start + 600 :] for start in starts]
    wells = 0
    for harm in harms:
        state.write_bytes(harm)
        found = verify(out)
        assert not found.well or (found.variants, found.files) == (1, len(ENDINGS))
        wells += found.well
    assert wells < len(harms) / 2
    state.write_bytes(data)
    assert verify(out).well


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", ""])
def test_a_record_of_nonsense_is_damaged_and_leads_nowhere(out: Path, name: str) -> None:
    with State(out) as state:
        state.keep(Record(PLACE, "library.yaml", {}, (Output(name, "x", 1, 1),), {}))
    found = verify(out)
    assert found.record
    assert found.variants == 0
    assert not found.faults


@pytest.mark.parametrize(
    "change", ["content = content || ' '", "seal = 1", "content = null", "kind = kind || 'x'"]
)
def test_a_row_that_is_not_as_it_was_written_counts_as_lost(small: Studio, change: str) -> None:
    build(small)
    first = small.bytes_out()
    with sqlite3.connect(small.out / FILE) as database:
        database.execute(f"update rows set {change} where name = 'men/half-raglan/52'")
        database.execute("delete from rows where kind = 'standing'")
    database.close()
    found = verify(small.out)
    assert "not as written" in found.record
    assert "`batch --force`" in found.record
    assert not found.well
    assert made_of(build(small)) == ["men/half-raglan/52"]
    assert verify(small.out).well
    assert small.bytes_out() == first


def test_a_run_that_was_killed_while_it_recorded(out: Path) -> None:
    """What a kill leaves beside the record is undone by whoever reads it next."""
    database = sqlite3.connect(out / FILE)
    database.execute("pragma cache_spill = 1")
    database.execute("pragma cache_size = 1")
    database.execute("begin")
    for i in range(200):
        database.execute("insert into rows values ('files', ?, ?, 0)", (str(i), "x" * 2000))
    killed = out.parent / "killed"
    shutil.copytree(out, killed)
    database.rollback()
    database.close()
    assert (killed / f"{FILE}-journal").stat().st_size
    with State(killed, read_only=True) as state:
        assert len(list(state.records())) == 1
    assert verify(killed).well


# --- beside a run, and on the command line ----------------------------------------------------


def test_a_folder_that_a_run_holds_is_not_verified(out: Path) -> None:
    with held(out), pytest.raises(HeldError):
        verify(out)
    assert verify(out).well


def test_a_folder_that_cannot_be_written_is_read_as_it_lies(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(_folder: Path) -> None:
        raise WriteError("cannot be written: Read-only file system")

    monkeypatch.setattr(module, "held", refused)
    assert verify(out).well


def test_the_command_says_what_is_wrong(out: Path, tmp_path: Path) -> None:
    studio = Studio(tmp_path)
    done = studio.run("verify", "out")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "1 variant, 8 files: 8 whole, 0 missing, 0 changed, 0 unreadable\n"
    (out / f"{PLACE}.svg").unlink()
    (out / "men" / "a\x1b[31m.txt").write_text("")
    done = studio.run("verify", "out")
    assert done.returncode == 1
    assert f"missing: {PLACE}.svg: it is not there\n" in done.stdout
    assert "unknown: men/a\\x1b[31m.txt: no record knows it\n" in done.stdout
    assert "8 files: 7 whole, 1 missing" in done.stdout
    done = studio.run("verify", "out", "--json")
    assert done.returncode == 1
    said = json.loads(done.stdout)
    assert not said["well"]
    assert [fault["what"] for fault in said["faults"]] == ["missing"]
    assert said["unknown"] == ["men/a\x1b[31m.txt"]
    with held(out):
        assert studio.run("verify", "out").returncode == 6
    done = studio.run("verify", "blocks")
    assert done.returncode == 3
    assert "no run has left its record here" in done.stderr
