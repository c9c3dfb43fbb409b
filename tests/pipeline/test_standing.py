"""A run with nothing to do is seen at one look; what a run that ended badly left vouches for nothing."""

import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from conftest_pipeline import Here, Studio, build, made
from samples_of_ours import registry
from sleevewright.errors import WriteError
from sleevewright.pipeline import batch, gallery_of, plan
from sleevewright.pipeline import state as module
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.job import Job, Outcome, run_job
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.state import State
from sleevewright.writing import whole_files


@pytest.fixture
def unplanned(small: Studio, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """A library that was built, and in which nothing may be planned from now on."""
    build(small)

    def planned(*_: object, **__: object) -> None:
        raise AssertionError("a plan was made")

    monkeypatch.setattr(plan, "make_plan", planned)
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


def test_records_are_emptied_before_the_first_output_changes(small: Studio) -> None:
    build(small)
    first = small.bytes_out()
    library = Library.load(small.folder / "library.yaml")

    class Looks:
        """Sees what the record on disk says when the first job is asked for."""

        parts: list[dict[str, str]]

        def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
            with State(small.out, read_only=True) as state:
                self.parts = [dict(record.parts) for record in state.records()]
            return map(run_job, jobs)

    looks = Looks()
    list(run_batch(library, lambda: looks, registry, batch.Options(force=True)))
    assert looks.parts == [{}] * 4
    assert small.bytes_out() == first


def test_a_run_that_ended_badly_is_finished_by_the_next(small: Studio) -> None:
    build(small)
    block = small.folder / "blocks" / "men_overblock_50.svg"
    block.write_text(block.read_text().replace("823.000000", "824.000000"))
    library = Library.load(small.folder / "library.yaml")
    with pytest.raises(WriteError):
        list(run_batch(library, Stops, registry))
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


def cut_off(studio: Studio, monkeypatch: pytest.MonkeyPatch, *, restarted: bool = True) -> None:
    """Leave the state as a run leaves it that did not get to its end, and start the machine anew."""
    with State(studio.out) as state:
        state.begin("../library.yaml", [], lasting=False)
    if restarted:
        monkeypatch.setattr(module, "_this_start", lambda: "another start")


def test_after_a_power_cut_bytes_decide(small: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    build(small)
    first = small.bytes_out()
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    assert made(build(small)) == []  # stamps are trusted while the machine runs on
    cut_off(small, monkeypatch)
    assert made(build(small)) == ["men/half-raglan/52"]
    assert small.bytes_out() == first
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    assert made(build(small)) == []  # that run has ended: all is safe, stamps count again


def test_a_kill_alone_costs_no_reading(small: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    build(small)
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    cut_off(small, monkeypatch, restarted=False)
    assert made(build(small)) == []


def test_what_no_run_has_looked_at_stays_in_doubt(
    small: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run that cannot read a recipe, or another library's, vouches for nothing it has not seen."""
    build(small)
    first = small.bytes_out()
    damaged_in_place(small.out / "men/half-raglan/52.svg")
    cut_off(small, monkeypatch)
    recipe = small.folder / "recipes" / "half-raglan.yaml"
    recipe.rename(recipe.with_suffix(".away"))
    build(small)
    text = (small.folder / "library.yaml").read_text()
    (small.folder / "other.yaml").write_text(text.replace("men:", "women:"))
    run = small.run("batch", "other.yaml")
    assert run.returncode == 0, run.stderr
    recipe.with_suffix(".away").rename(recipe)
    assert made(build(small)) == ["men/half-raglan/52"]
    assert small.bytes_out().items() >= first.items()


def test_a_variant_that_is_no_more_is_forgotten_even_in_doubt(
    small: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    build(small)
    cut_off(small, monkeypatch)
    (small.folder / "recipes" / "half-raglan.yaml").unlink()
    library = Library.load(small.folder / "library.yaml")
    events = list(run_batch(library, Here, registry, batch.Options(prune=True)))
    assert [e.key for e in events if e.kind == "pruned"] == [
        "men/half-raglan/50",
        "men/half-raglan/52",
    ]
    with State(small.out, read_only=True) as state:
        assert state.lasts("../library.yaml")
        assert len(list(state.records())) == 2


def test_without_durability_every_start_of_the_machine_is_in_doubt(
    small: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    small.library("outputs: {folder: out, formats: [json], durability: none}\n")
    build(small)
    damaged_in_place(small.out / "men/half-raglan/52.json")
    assert made(build(small)) == []
    monkeypatch.setattr(module, "_this_start", lambda: "another start")
    assert made(build(small)) == ["men/half-raglan/52"]
    damaged_in_place(small.out / "men/half-raglan/52.json")
    assert made(build(small)) == []  # looked at since the machine has started


@pytest.mark.parametrize(
    ("durability", "during", "after"),
    [("run", False, True), ("file", True, True), ("none", False, False)],
)
def test_a_run_is_marked_until_its_outputs_are_safe(
    small: Studio, durability: str, during: bool, after: bool
) -> None:
    small.library(f"outputs: {{folder: out, formats: [json], durability: {durability}}}\n")

    def lasts() -> bool:
        with State(small.out, read_only=True) as state:
            return state.lasts("../library.yaml")

    found: list[bool] = []

    class Looks:
        def run(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
            found.append(lasts())
            return map(run_job, jobs)

    library = Library.load(small.folder / "library.yaml")
    list(run_batch(library, Looks, registry))
    assert found == [during]
    assert lasts() is after


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
    cut_off(small, monkeypatch, restarted=False)
    small.recipe("half-raglan")
    build(small)  # what a run that was killed has written may not be on disk yet
    assert len(synced) == 2


# --- the gallery ----------------------------------------------------------------------------------


def test_a_gallery_that_a_kill_came_before_is_made_by_the_next_run(
    small: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    small.library("outputs: {folder: out, formats: [json], gallery: true}\n")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(gallery_of, "put_gallery", killed)
        with pytest.raises(KeyboardInterrupt):
            build(small)
    assert made(build(small)) == []
    assert (small.out / "index.html").exists()


def test_a_gallery_is_made_when_it_is_asked_for(small: Studio) -> None:
    build(small)
    small.library("outputs: {folder: out, formats: [svg, json], gallery: true}\n")
    assert made(build(small)) == []
    assert (small.out / "index.html").exists()
