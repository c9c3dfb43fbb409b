"""What the README shows runs."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

from samples_of_ours import ROOT, registry
from sleevewright.pipeline.library import Library
from sleevewright.recipe import Recipe

README = (ROOT / "README.md").read_text()


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def ran(code: str, folder: Path) -> str:
    """Run a script as a user would, beside recipes and samples; return what it prints."""
    for name in ("recipes", "sample_patterns"):
        shutil.copytree(ROOT / name, folder / name)
    (folder / "script.py").write_text(code)
    done = subprocess.run(
        [sys.executable, "script.py"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_python_example(tmp_path: Path) -> None:
    (code,) = blocks("python")
    assert len(code.splitlines()) <= 10
    said = ran(code, tmp_path)
    found = {p.name for p in tmp_path.glob("out/men_overblock/classic-raglan/*/*.svg")}
    assert found == {"48.svg", "50.svg", "52.svg"}
    assert len(list(tmp_path.glob("out/women/classic-raglan/*/*.dxf"))) == 2 * 5
    assert "women/kimono/38" in said


def test_python_example_of_the_docs(tmp_path: Path) -> None:
    text = (ROOT / "docs" / "libraries.md").read_text()
    (code,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    ran(code, tmp_path)
    assert (tmp_path / "out" / "men_overblock" / "kimono" / "48.svg").is_file()


def test_library_examples(tmp_path: Path) -> None:
    """The README's library and the sample are read, and the sample says what it says."""
    (tmp_path / "l.yaml").write_text(blocks("yaml")[1])
    for name in ("recipes", "sample_patterns"):
        (tmp_path / name).symlink_to(ROOT / name)
    assert len(Library.load(tmp_path / "l.yaml").recipes) == 2
    assert len(Library.load(ROOT / "sample_patterns" / "library.yaml").blocks) == 3


def test_recipe_example() -> None:
    recipe = Recipe.parse(blocks("yaml")[0].encode(), "README.md", registry())
    assert [step.name for step in recipe.steps] == ["raglan", "lower-armhole", "lengthen-sleeve"]


def test_every_command_and_exit_status_is_named() -> None:
    for command in (
        "convert", "inspect", "batch", "watch", "compare", "operations", "check", "schema",
        "verify",
    ):  # fmt: skip
        assert f"sleevewright {command}" in README
    for recipe in (ROOT / "recipes").glob("*.yaml"):
        assert f"recipes/{recipe.name}" in (ROOT / "docs" / "cookbook.md").read_text()
