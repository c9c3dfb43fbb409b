"""What the README shows runs."""

import re
from pathlib import Path

import pytest

from samples_of_ours import ROOT, registry
from sleevewright.recipe import Recipe

README = (ROOT / "README.md").read_text()


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_python_example(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("recipes", "sample_patterns"):
        (tmp_path / name).symlink_to(ROOT / name)
    monkeypatch.chdir(tmp_path)
    (code,) = blocks("python")
    exec(compile(code, "README.md", "exec"), {})
    assert sorted(p.name for p in tmp_path.glob("*.svg")) == [
        "men_48.svg",
        "men_50.svg",
        "men_52.svg",
    ]


def test_recipe_example() -> None:
    recipe = Recipe.parse(blocks("yaml")[0].encode(), "README.md", registry())
    assert [step.name for step in recipe.steps] == ["raglan", "lower-armhole", "lengthen-sleeve"]


def test_every_command_and_exit_status_is_named() -> None:
    for command in (
        "convert", "inspect", "batch", "watch", "compare", "operations", "check", "schema"
    ):  # fmt: skip
        assert f"sleevewright {command}" in README
    for recipe in (ROOT / "recipes").glob("*.yaml"):
        assert f"recipes/{recipe.name}" in (ROOT / "docs" / "cookbook.md").read_text()
