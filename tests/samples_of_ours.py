"""The sample blocks and recipes, read once a test run."""

from functools import cache
from pathlib import Path

from sleevewright.operations.registry import Registry
from sleevewright.pattern import Pattern
from sleevewright.reading import read_pattern
from sleevewright.recipe import Recipe

ROOT = Path(__file__).parent.parent
BLOCKS = ("women_overblock", "men_overblock", "child_block")
RECIPES = tuple(sorted(path.stem for path in (ROOT / "recipes").glob("*.yaml")))

#: Recipes for a bust dart refuse a block without one, and say so.
WANT_A_DART = {
    "bust-dart-shared", "bust-dart-to-gathers", "bust-dart-to-shoulder", "princess-armhole",
    "princess-shoulder",
}  # fmt: skip


@cache
def registry() -> Registry:
    return Registry.installed()


@cache
def recipe(name: str) -> Recipe:
    return Recipe.load(ROOT / "recipes" / f"{name}.yaml", registry())


@cache
def from_d6673(block: str) -> tuple[Pattern, ...]:
    return read_pattern([ROOT / "sample_patterns" / f"{block}.dxf"]).patterns


def _each(block: str, folder: str, ending: str) -> tuple[Pattern, ...]:
    files = sorted((ROOT / "sample_patterns" / folder).glob(f"{block}_*.{ending}"))
    return tuple(read_pattern([file]).patterns[0] for file in files)


@cache
def from_svg(block: str) -> tuple[Pattern, ...]:
    return _each(block, "svg", "svg")


@cache
def from_named(block: str) -> tuple[Pattern, ...]:
    return _each(block, "named", "dxf")


def by_size(patterns: tuple[Pattern, ...]) -> dict[str, Pattern]:
    return {pattern.size: pattern for pattern in patterns}


def all_blocks() -> list[Pattern]:
    return [pattern for block in BLOCKS for pattern in from_svg(block)]
