"""Mistakes in a library file: all at once, each with line and column."""

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from conftest_pipeline import Studio
from samples_of_ours import ROOT
from sleevewright.errors import RecipeError
from sleevewright.pipeline.library import Library


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("block: {}\n", "'block' is no key of a library (did you mean 'blocks'?)"),
        ("blocks: {}\n", "a library needs blocks"),
        ("blocks: {a: {files: [none*.svg]}}\n", "nothing matches 'none*.svg'"),
        ("blocks: {a: {file: [x]}}\n", "'file' is no key of a block (did you mean 'files'?)"),
        ("blocks: {'../a': {files: [x.svg]}}\n", "'../a' cannot name a folder"),
        ("matrix: {d: [1 mm, 1 mm]}\n", "matrix d: a value stands twice"),
        ("outputs: {formats: [dxff]}\n", "'dxff' is no format (did you mean 'dxf'?)"),
        ("outputs: {stored_by: me}\n", "stored_by: 'me'; one of here, workers"),
        ("limits: {seconds: soon}\n", "seconds: 'soon'; a whole number, 1 or more"),
        ("exclude: [{blok: x}]\n", "'blok' is no key of a rule (did you mean 'block'?)"),
    ],
)
def test_mistakes(studio: Studio, text: str, said: str) -> None:
    path = studio.folder / "library.yaml"
    path.write_text(text)
    with pytest.raises(RecipeError) as caught:
        Library.load(path)
    assert said in str(caught.value)
    assert all(p.place.line for p in caught.value.problems)


def test_a_param_that_no_recipe_has(small: Studio) -> None:
    small.library("matrix: {front_dorp: [30 mm]}\n")
    done = small.run("batch", "library.yaml")
    assert done.returncode == 2
    assert "no recipe has a param 'front_dorp' (did you mean 'front_drop'?)" in done.stderr


def test_a_missing_library(studio: Studio) -> None:
    done = studio.run("batch", "nowhere.yaml")
    assert done.returncode == 2
    assert "nowhere.yaml: cannot be read" in done.stderr


def test_two_recipes_of_one_name(small: Studio) -> None:
    small.recipe("again", "name: half-raglan\nsteps:\n  - raglan\n")
    done = small.run("batch", "library.yaml")
    assert done.returncode == 2
    assert "would be made twice" in done.stderr


def test_the_schema_takes_what_is_read_and_nothing_else(small: Studio) -> None:
    schema = json.loads(small.run("schema", "library").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema).is_valid
    sample = yaml.safe_load((ROOT / "sample_patterns" / "library.yaml").read_text())
    assert check(sample)
    assert not check({**sample, "recipe": []})
    assert not check({**sample, "outputs": {"formats": ["dfx"]}})
    assert not check({**sample, "exclude": [{"blok": "child"}]})
    assert not check({"recipes": ["a.yaml"]})


def test_a_folder_that_may_not_be_looked_into_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(folder: Path) -> None:
        raise PermissionError(13, "Permission denied", str(folder))

    monkeypatch.setattr("sleevewright.pipeline.file_patterns.os.scandir", refused)
    (tmp_path / "l.yaml").write_text("blocks: {a: {files: [secret/*.svg]}}\nrecipes: [r.yaml]\n")
    with pytest.raises(RecipeError, match=r"secret cannot be read: Permission denied"):
        Library.load(tmp_path / "l.yaml")
