"""A library is rebuilt when, and only when, something a variant depends on has changed."""

import os
from pathlib import Path

import pytest

from conftest_pipeline import Studio, made


def test_first_run_makes_all_and_the_second_nothing(small: Studio) -> None:
    status, events = small.batch()
    assert status == 0
    assert made(events) == [
        "men/classic-raglan/50", "men/classic-raglan/52", "men/half-raglan/50", "men/half-raglan/52",
    ]  # fmt: skip
    first = small.bytes_out()
    assert len(first) == 8
    status, events = small.batch()
    assert (status, made(events)) == (0, [])
    assert small.bytes_out() == first


def test_time_stamps_and_comments_rebuild_nothing(small: Studio) -> None:
    small.batch()
    block = small.folder / "blocks" / "men_overblock_50.svg"
    os.utime(block, (1, 1))
    recipe = small.folder / "recipes" / "half-raglan.yaml"
    recipe.write_text("# a remark\n" + recipe.read_text())
    assert made(small.batch()[1]) == []


def test_a_block_edited_by_1_mm_rebuilds_its_variants_alone(small: Studio) -> None:
    small.batch()
    before = small.bytes_out()
    block = small.folder / "blocks" / "men_overblock_50.svg"
    text = block.read_text()
    assert text.count("823.000000") > 3
    block.write_text(text.replace("823.000000", "824.000000"))
    _, events = small.batch()
    assert made(events) == ["men/classic-raglan/50", "men/half-raglan/50"]
    moved = next(e for e in events if e["key"] == "men/half-raglan/50")["moved"]
    assert isinstance(moved, list)
    assert "front.hem moved by 1.00 mm" in moved
    assert not any("sleeve" in line or "neckline" in line for line in moved)
    after = small.bytes_out()
    assert [n for n in after if after[n] != before[n] and "/52." in n] == []
    block.write_text(text)
    assert len(made(small.batch()[1])) == 2
    assert small.bytes_out() == before


def test_a_setting_rebuilds_the_recipe_that_has_it(small: Studio) -> None:
    small.batch()
    recipe = small.folder / "recipes" / "classic-raglan.yaml"
    recipe.write_text(recipe.read_text().replace("35 mm", "36 mm"))
    _, events = small.batch()
    assert made(events) == ["men/classic-raglan/50", "men/classic-raglan/52"]
    reasons = [e["reasons"] for e in events if e["event"] == "made"]
    assert reasons == [["the recipe or its settings changed"]] * 2


def test_deleted_and_edited_outputs_are_made_again(small: Studio) -> None:
    small.batch()
    first = small.bytes_out()
    (small.out / "men/half-raglan/50.svg").unlink()
    edited = small.out / "men/half-raglan/52.json"
    edited.write_bytes(edited.read_bytes().replace(b"half", b"HALF"))
    done = small.run("batch", "library.yaml", "--dry-run")
    assert "would make men/half-raglan/50: men/half-raglan/50.svg is missing" in done.stdout
    assert "would make men/half-raglan/52: men/half-raglan/52.json was edited" in done.stdout
    assert made(small.batch()[1]) == ["men/half-raglan/50", "men/half-raglan/52"]
    assert small.bytes_out() == first


def test_dry_run_makes_nothing(small: Studio) -> None:
    done = small.run("batch", "library.yaml", "--dry-run")
    assert done.returncode == 0
    assert done.stdout.count("would make") == 4
    assert not small.out.exists()


def test_force_makes_all_again(small: Studio) -> None:
    small.batch()
    assert len(made(small.batch("--force")[1])) == 4


def test_removed_variants_are_listed_and_pruned_only_when_asked(small: Studio) -> None:
    small.batch()
    (small.folder / "recipes" / "half-raglan.yaml").unlink()
    _, events = small.batch()
    removed = [e["key"] for e in events if e["event"] == "removed"]
    assert removed == ["men/half-raglan/50", "men/half-raglan/52"]
    assert len(small.bytes_out()) == 8
    mine = small.out / "men/half-raglan/50.json"
    mine.write_text("mine now")
    _, events = small.batch("--prune")
    assert [e["key"] for e in events if e["event"] == "kept"] == ["men/half-raglan/50"]
    assert [e["key"] for e in events if e["event"] == "pruned"] == ["men/half-raglan/52"]
    assert mine.read_text() == "mine now"
    assert not (small.out / "men/half-raglan/52.svg").exists()


def test_matrix_include_exclude_and_sizes(small: Studio) -> None:
    small.library("matrix: {front_drop: [30 mm, 40 mm]}\nexclude: [{recipe: half-*, size: 52}]\n")
    done = small.run("batch", "library.yaml", "--dry-run")
    keys = [
        line.split(":")[0].removeprefix("would make ") for line in done.stdout.splitlines()[:-1]
    ]
    assert keys == [
        "men/classic-raglan/front_drop=30mm/50", "men/classic-raglan/front_drop=30mm/52",
        "men/classic-raglan/front_drop=40mm/50", "men/classic-raglan/front_drop=40mm/52",
        "men/half-raglan/50",
    ]  # fmt: skip
    small.library("sizes: [52]\ninclude: [{recipe: classic*}]\n")
    done = small.run("batch", "library.yaml", "--dry-run")
    assert done.stdout.splitlines()[0] == "would make men/classic-raglan/52: new"


def test_a_block_that_cannot_be_read_hurts_itself_alone(small: Studio) -> None:
    (small.folder / "blocks" / "bad.svg").write_text("<svg")
    small.library(blocks="men: {files: [blocks/men_*.svg]}\n  bad: {files: [blocks/bad.svg]}")
    status, events = small.batch()
    assert status == 5
    assert len(made(events)) == 4
    assert [e["key"] for e in events if e["event"] == "failed"] == ["bad"]
    assert not [e for e in events if e["event"] == "removed"]


def test_a_broken_recipe_does_not_list_its_variants_as_removed(small: Studio) -> None:
    small.batch()
    small.recipe("half-raglan", "steps: [nonsense]\n")
    status, events = small.batch()
    assert status == 5
    assert [e for e in events if e["event"] in ("removed", "made")] == []


def test_same_bytes_at_any_number_of_workers_and_stored_by_workers(small: Studio) -> None:
    small.batch()
    first = small.bytes_out()
    small.library("outputs: {folder: out, formats: [svg, json], stored_by: workers}\n")
    done = small.run("batch", "library.yaml", "--jobs", 1, "--force")
    assert "4 made" in done.stdout
    assert small.bytes_out() == first
    assert made(small.batch()[1]) == []


def test_another_library_in_the_same_folder_is_refused(small: Studio) -> None:
    small.batch()
    (small.folder / "other.yaml").write_text((small.folder / "library.yaml").read_text())
    done = small.run("batch", "other.yaml")
    assert done.returncode == 2
    assert "in out was made by the library library.yaml" in done.stderr
    assert "Traceback" not in done.stderr


def test_disk_says_no(small: Studio, tmp_path: Path) -> None:
    small.out.write_text("a file where the folder should be")
    done = small.run("batch", "library.yaml")
    assert done.returncode == 4
    assert "Traceback" not in done.stderr
    assert small.out.read_text().startswith("a file")


@pytest.mark.parametrize("block", ["gallery-data", "Index.html"])
def test_the_gallery_and_a_block_are_never_one_place(small: Studio, block: str) -> None:
    small.library(
        "outputs: {folder: out, formats: [json], gallery: true}\n",
        blocks=f"{block}: {{files: [blocks/men_*.svg]}}",
    )
    done = small.run("batch", "library.yaml")
    assert done.returncode == 4
    assert "of the gallery would be the folder of other outputs" in done.stderr
    assert small.bytes_out() == {}


def test_sizes_and_rules_that_mean_nothing_are_told(small: Studio) -> None:
    """And told again when there is nothing to do."""
    words = "sizes: ['50', '99']\nexclude: [{recipe: kimno}, {block: men, size: '7*'}]\n"
    small.library(words)
    for count in (2, 0):
        status, events = small.batch()
        assert (status, len(made(events))) == (0, count)
        assert [e["message"] for e in events if e["event"] == "noted"] == [
            "sizes: no block has '99'; there are 50, 52",
            "exclude: {recipe: kimno} means none of the blocks, recipes and sizes",
            "exclude: {block: men, size: 7*} means none of the blocks, recipes and sizes",
        ]


def test_a_library_of_no_variant_is_refused(small: Studio) -> None:
    small.library("sizes: ['99']\n")
    done = small.run("batch", "library.yaml")
    assert done.returncode == 2
    assert "no variant is left" in done.stderr
    assert "no block has '99'; there are 50, 52" in done.stderr


def test_a_library_that_was_renamed_takes_over(small: Studio) -> None:
    small.batch()
    first = small.bytes_out()
    (small.folder / "library.yaml").rename(small.folder / "renamed.yaml")
    done = small.run("batch", "renamed.yaml")
    assert done.returncode == 0, done.stderr
    assert "4 made" in done.stdout
    assert small.bytes_out() == first
    assert "4 up to date" in small.run("batch", "renamed.yaml").stdout
