"""A run with nothing to do is seen at one look; what a run that ended badly left vouches for nothing."""

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from conftest_pipeline import Studio, build, made
from samples_of_ours import registry
from sleevewright.errors import WriteError
from sleevewright.pipeline import batch
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.job import Job, Outcome, run_job
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.state import FILE
from sleevewright.writing import whole_files


@pytest.fixture
def unplanned(small: Studio, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """A library that was built, and in which nothing may be planned from now on."""
    build(small)

    def planned(*_: object, **__: object) -> None:
        raise AssertionError("a plan was made")

    monkeypatch.setattr(batch, "make_plan", planned)
    return small


def test_a_library_that_stands_is_not_planned(unplanned: Studio) -> None:
    events = build(unplanned)
    assert [event["event"] for event in events] == ["planned", "finished"]
    assert events[-1] | {"event": "", "key": ""} == {
        "event": "", "key": "", "variants": 4, "made": 0, "up_to_date": 4, "failed": 0,
        "fell_short": 0, "moved": 0, "removed": 0,
    }  # fmt: skip


def appended(name: str) -> Callable[[Studio], None]:
    def act(studio: Studio) -> None:
        with (studio.folder / name).open("a") as file:
            file.write("\n# a remark\n" if name.endswith("yaml") else "\n<!-- a remark -->\n")

    return act


def stamped(studio: Studio) -> None:
    os.utime(studio.out / "men/half-raglan/52.svg", (1, 1))


def deleted(studio: Studio) -> None:
    (studio.out / "men/classic-raglan/50.json").unlink()


def longer(studio: Studio) -> None:
    path = studio.out / "men/classic-raglan/50.json"
    there = path.stat()
    path.write_bytes(path.read_bytes() + b" ")
    os.utime(path, ns=(there.st_atime_ns, there.st_mtime_ns))


def another_size(studio: Studio) -> None:
    studio.block("men_overblock_48")


def another_recipe(studio: Studio) -> None:
    studio.recipe("saddle-shoulder")


CHANGES = [
    appended("library.yaml"), appended("recipes/half-raglan.yaml"),
    appended("blocks/men_overblock_50.svg"), stamped, deleted, longer, another_size, another_recipe,
]  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_whatever_changes_is_planned(unplanned: Studio, change: Callable[[Studio], None]) -> None:
    change(unplanned)
    with pytest.raises(AssertionError, match="a plan was made"):
        build(unplanned)


def test_what_failed_or_was_removed_is_told_again(small: Studio) -> None:
    build(small)
    (small.folder / "recipes" / "half-raglan.yaml").unlink()
    for _ in range(2):
        assert [e["key"] for e in build(small) if e["event"] == "removed"] == [
            "men/half-raglan/50", "men/half-raglan/52",
        ]  # fmt: skip
    small.recipe("half-raglan", "name: half-raglan\nsteps:\n  - raglann\n")
    for _ in range(2):
        assert any(e["event"] == "failed" for e in build(small))


# --- records while outputs change ---------------------------------------------------------------


class Stops:
    """An engine that ends in the middle, as a full disk would."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        yield run_job(next(iter(jobs)))
        raise WriteError("no space")


def state_of(studio: Studio) -> sqlite3.Connection:
    return sqlite3.connect(studio.out / FILE)


def test_records_are_emptied_before_the_first_output_changes(small: Studio) -> None:
    build(small)
    first = small.bytes_out()
    library = Library.load(small.folder / "library.yaml")

    class Looks:
        """Sees what the record on disk says when the first job is asked for."""

        parts: list[str]

        def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
            rows = state_of(small).execute("select parts from variants").fetchall()
            self.parts = [row[0] for row in rows]
            return map(run_job, jobs)

    looks = Looks()
    list(run_batch(library, looks, registry(), batch.Options(force=True)))
    assert looks.parts == ["{}"] * 4
    assert small.bytes_out() == first


def test_a_run_that_ended_badly_is_finished_by_the_next(small: Studio) -> None:
    build(small)
    block = small.folder / "blocks" / "men_overblock_50.svg"
    block.write_text(block.read_text().replace("823.000000", "824.000000"))
    library = Library.load(small.folder / "library.yaml")
    with pytest.raises(WriteError):
        list(run_batch(library, Stops(), registry()))
    events = build(small)
    assert made(events) == ["men/half-raglan/50"]
    reasons = [e["reasons"] for e in events if e["event"] == "made"]
    assert reasons == [["it was not made whole when last tried"]]
    moved = next(e["moved"] for e in events if e["event"] == "made")
    assert "front.hem moved by 1.00 mm" in str(moved)  # what it was before is not forgotten
    assert made(build(small)) == []


# --- power cuts -----------------------------------------------------------------------------------


def damaged_in_place(path: Path) -> None:
    """Change a byte and keep size and time stamp, as blocks lost in a power cut would."""
    there, data = path.stat(), bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    os.utime(path, ns=(there.st_atime_ns, there.st_mtime_ns))


def cut_off(studio: Studio, start: str) -> None:
    """Leave the state as a run leaves it that a power cut ended under this start of the machine."""
    with state_of(studio) as state:
        state.execute("insert into notes values ('under way', ?)", (start,))


def test_after_a_power_cut_bytes_decide(small: Studio) -> None:
    build(small)
    first = small.bytes_out()
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    assert made(build(small)) == []  # stamps are trusted while the machine runs on
    cut_off(small, "an earlier start")
    assert made(build(small)) == ["men/half-raglan/52"]
    assert small.bytes_out() == first
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    assert made(build(small)) == []  # that run has ended: all is safe, stamps count again


def test_a_kill_alone_costs_no_reading(small: Studio) -> None:
    build(small)
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    cut_off(small, Path("/proc/sys/kernel/random/boot_id").read_text().strip())
    assert made(build(small)) == []


@pytest.mark.parametrize(("durability", "marked"), [("run", 1), ("file", 0), ("none", 0)])
def test_a_run_is_marked_until_its_outputs_are_safe(
    small: Studio, durability: str, marked: int
) -> None:
    small.library(f"outputs: {{folder: out, formats: [json], durability: {durability}}}\n")
    found: list[int] = []

    class Looks:
        def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
            found.append(state_of(small).execute("select count(*) from notes").fetchone()[0])
            return map(run_job, jobs)

    library = Library.load(small.folder / "library.yaml")
    list(run_batch(library, Looks(), registry()))
    assert found == [marked]
    names = state_of(small).execute("select name from notes").fetchall()
    assert [name for (name,) in names] == ["standing ../library.yaml"]


def test_a_run_that_writes_nothing_syncs_nothing(
    small: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[Path] = []
    monkeypatch.setattr(whole_files, "sync_folder", synced.append)
    build(small)
    assert len(synced) == 1
    (small.folder / "recipes" / "half-raglan.yaml").unlink()
    assert made(build(small)) == []  # planned, since two variants are listed as removed
    assert len(synced) == 1
    cut_off(small, Path("/proc/sys/kernel/random/boot_id").read_text().strip())
    build(small)  # what a run that was killed has written may not be on disk yet
    assert len(synced) == 2
