"""The reference and the cookbook say what the declarations and recipes say."""

import sys
from pathlib import Path

import pytest

from samples_of_ours import RECIPES, ROOT, registry
from sleevewright.operations.describe import describe

sys.path.insert(0, str(ROOT / "docs"))
import make_docs


def test_reference_is_fresh() -> None:
    pages = make_docs.reference(registry())
    there = {path.name: path.read_text() for path in (ROOT / "docs" / "reference").glob("*.md")}
    assert there == pages, "run python docs/make_docs.py"
    assert len(pages) == len(registry().names) + 1


def test_cookbook_is_fresh_and_every_recipe_has_its_picture() -> None:
    text = (ROOT / "docs" / "cookbook.md").read_text()
    assert text == make_docs.cookbook(), "run python docs/make_docs.py"
    assert len(RECIPES) >= 25
    for name in RECIPES:
        assert (Path(ROOT) / "docs" / "pictures" / f"{name}.png").stat().st_size > 2000


@pytest.mark.parametrize("name", registry().names)
def test_every_operation_has_a_page_and_a_recipe(name: str) -> None:
    page = describe(registry(), name)
    assert page.record["settings"]
    assert all(row["meaning"] for row in page.record["settings"])
    if name != "join":
        assert any(make_docs.uses(p.read_text(), name) for p in (ROOT / "recipes").glob("*.yaml"))
