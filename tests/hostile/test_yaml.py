"""Hostile recipes, libraries and label maps: refused with file, line and column, or read and right."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from hostile.harness import Case, verify
from hostile.yaml_cases import CASES, GROUPS, KINDS, LABELS, RECIPE, SAMPLE, WITHOUT_PLACE
from samples_of_ours import ROOT, registry
from sleevewright import convert, read, write
from sleevewright.errors import LabelError, RecipeError
from sleevewright.formats.strict_yaml import load_yaml
from sleevewright.limits import YAML_BYTES
from sleevewright.pipeline.file_patterns import MOST_LOOKED_AT, files_of
from sleevewright.recipe import Recipe

PLACE = re.compile(r"hostile\.yaml:\d+:\d+: ")


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_hostile_yaml(group: Callable[[], Iterator[Case]]) -> None:
    registry()
    cases = list(group())
    for case, outcome in zip(cases, verify(cases), strict=True):
        lines = outcome.text.splitlines() if case.expect == "refused" else ()
        for line in lines:
            assert PLACE.search(line) or case.name in WITHOUT_PLACE, (
                f"{case.name}: no place in {line!r}"
            )


def test_cases_have_names_of_their_own() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names) >= 110


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_file_is_refused_at_once(kind: str, tmp_path: Path) -> None:
    read, error, _ = KINDS[kind]
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "zero.yaml").symlink_to("/dev/zero")
    (tmp_path / "loop.yaml").symlink_to("loop.yaml")
    for name in ("pipe", "folder", "zero", "loop", "missing", "x" * 300, "a\0b"):
        with pytest.raises(error, match="cannot be read"):
            read(tmp_path / f"{name}.yaml")
    with (tmp_path / "large.yaml").open("wb") as file:
        file.truncate(1 << 40)  # of nothing; no more of it is read than may be
    with pytest.raises(error, match=f"too large; {YAML_BYTES} bytes"):
        read(tmp_path / "large.yaml")


def test_nothing_of_python_runs(tmp_path: Path) -> None:
    """Every tag of PyYAML that could do something; what would be run is seen to run without us."""
    mark = tmp_path / "PWNED"
    for tag in (
        "apply:os.system",
        "apply:subprocess.getoutput",
        "new:os.system",
        "name:os.system",
        "module:os",
    ):
        text = f"name: !!python/object/{tag} ['touch {mark}']\n"
        with pytest.raises(RecipeError, match="tags"):
            Recipe.parse(text.encode(), "r.yaml", registry())
        assert not mark.exists()
    yaml.unsafe_load(f"!!python/object/apply:os.system ['touch {mark}']")
    assert mark.exists()


# --- where things go -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["../../evil", "/tmp/evil", "~/{x.__class__}", "..", "con\u0301"])
def test_names_from_a_label_map_stay_in_the_output_folder(name: str, tmp_path: Path) -> None:
    """Block and size name folder and file of the outputs; whatever they are, nothing is written elsewhere."""
    (tmp_path / "labels.yaml").write_text(f'block: "{name}"\nsize: "{name}"\n')
    recipe = Recipe.parse(b"name: r\nsteps:\n  - flare: {by: 10 mm}\n", "r.yaml", registry())
    (block,) = read(SAMPLE / "svg/women_overblock_38.svg", tmp_path / "labels.yaml")
    assert (block.name, block.size) == (name, name)
    out = tmp_path / "in" / "out"
    made = write(convert(block, recipe), out, ["json"])
    there = [path for path in tmp_path.rglob("*") if path.is_file() and path.suffix != ".yaml"]
    assert len(made) == len(there) == 1
    assert there[0].resolve().is_relative_to(out.resolve())
    assert not Path("/tmp/evil").exists()
    assert all(re.fullmatch(r"[\w.-]+", part) for part in there[0].relative_to(tmp_path).parts)


# --- patterns of files ---------------------------------------------------------------------------


def test_patterns_find_what_the_shell_would(tmp_path: Path) -> None:
    for name in ("a.svg", "b.svg", "sub/c.svg", "sub/deep/d.svg", "sub/e.dxf", "[x]/f.svg"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    for pattern, *wanted in (
        ("*.svg", "a.svg", "b.svg"), ("[ab].svg", "a.svg", "b.svg"), ("?.svg", "a.svg", "b.svg"),
        ("**/*.svg", "[x]/f.svg", "a.svg", "b.svg", "sub/c.svg", "sub/deep/d.svg"), ("a.svg", "a.svg"),
        ("sub/*/d.svg", "sub/deep/d.svg"), ("**/deep/*", "sub/deep/d.svg"), ("s*b/**/*.dxf", "sub/e.dxf"),
        ("sub/../a.svg", "sub/../a.svg"), ("sub",), ("*.dxf",), ("none/*",),
    ):  # fmt: skip
        assert files_of(tmp_path, pattern) == [tmp_path / name for name in wanted], pattern
        assert files_of(Path("/none"), f"{tmp_path}/{pattern}") == files_of(tmp_path, pattern)
    assert files_of(tmp_path / "[x]", "*.svg") == [
        tmp_path / "[x]/f.svg"
    ]  # the folder is no pattern


def test_patterns_end_in_circles_of_links(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub/a.svg").touch()
    (tmp_path / "sub/again").symlink_to(tmp_path)
    (tmp_path / "sub/self").symlink_to("self")
    assert files_of(tmp_path, "**/*.svg") == [tmp_path / "sub/a.svg"]
    assert files_of(tmp_path, "*/again/*/*.svg") == [tmp_path / "sub/again/sub/a.svg"]


def test_patterns_are_bounded(tmp_path: Path) -> None:
    for i in range(30):
        (tmp_path / f"{i}").mkdir()
        for j in range(20):
            (tmp_path / f"{i}/{j}.svg").touch()
    assert len(files_of(tmp_path, "*/*.svg")) == 600
    with pytest.raises(ValueError, match="more than 10000 files"):
        files_of(tmp_path, "*/../*/*.svg")
    with pytest.raises(ValueError, match=f"more than {MOST_LOOKED_AT} names"):
        files_of(tmp_path, "*/../*/../*/../*/none")
    with pytest.raises(ValueError, match="wildcards"):
        files_of(tmp_path, "/".join(["*"] * 21))


# --- properties ----------------------------------------------------------------------------------


@given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
def test_any_bytes_are_a_document_or_refused(data: bytes) -> None:
    try:
        root = load_yaml(data, "hostile.yaml", LabelError)
    except LabelError as error:
        assert all(PLACE.search(line) for line in str(error).splitlines()), str(error)
    else:
        assert root.place.line >= 1


damage = st.tuples(st.integers(0, len(RECIPE) - 1), st.integers(0, 12), st.text(max_size=6))


@given(st.lists(damage, min_size=1, max_size=4))
def test_any_damage_to_a_recipe_is_refused_or_a_recipe(damages: list[tuple[int, int, str]]) -> None:
    text = RECIPE
    for at, cut, put in damages:
        text = text[:at] + put + text[at + cut :]
    try:
        made = Recipe.parse(text.encode("utf-8", "surrogatepass"), "hostile.yaml", registry())
    except RecipeError as error:
        lines = str(error).splitlines()
        assert len(lines) == len(error.problems) > 0
        for line, problem in zip(lines, error.problems, strict=True):
            assert PLACE.search(line), line
            assert line.isprintable()
            assert len(line) < 1000
            assert 1 <= problem.place.line <= len(re.split(r"\r\n|\r|\n", text))
    else:
        assert made.steps


@pytest.mark.parametrize("name", sorted(path.stem for path in (ROOT / "recipes").glob("*.yaml")))
def test_recipes_of_ours_are_what_another_reader_reads(name: str) -> None:
    """Keys, order and words as PyYAML's own composer has them."""
    text = (ROOT / "recipes" / f"{name}.yaml").read_bytes()
    assert load_yaml(text, name, RecipeError).plain() == yaml.load(text, Loader=yaml.BaseLoader)
    assert load_yaml(LABELS.encode(), name, LabelError).plain() == yaml.load(
        LABELS, Loader=yaml.BaseLoader
    )
