"""Draw the pictures of the docs with the tool's own SVG: a block and what a recipe makes of it.

Run from the repository: `python docs/make_pictures.py` (needs the test extra, for resvg).
"""

import re
from pathlib import Path

import resvg_py

from sleevewright import FORMATS, Recipe, Registry, convert, read_pattern
from sleevewright.finishing import finish
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.result import Result

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "docs" / "pictures"
WIDTH = 1800  # pixels

SHOWN = (
    ("women_overblock_40", "classic-raglan", "women-raglan"),
    ("women_overblock_40", "one-piece-raglan", "women-one-piece"),
    ("women_overblock_40", "saddle-shoulder", "women-saddle"),
    ("women_overblock_40", "deep-raglan", "women-deep"),
    ("men_overblock_50", "easy-raglan", "men-easy-raglan"),
    ("men_overblock_50", "half-raglan", "men-half-raglan"),
    ("men_overblock_50", "gathered-raglan", "men-gathered"),
    ("child_block_110", "yoke-raglan", "child-yoke"),
    ("child_block_110", "flared-raglan", "child-flared"),
    ("child_block_110", "cropped-raglan", "child-cropped"),
)


def size_of(svg: str) -> tuple[float, float]:
    """Return width and height of a drawing, mm."""
    match = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert match is not None
    return float(match[1]), float(match[2])


def side_by_side(first: str, second: str) -> str:
    """Return two drawings in one, to the same scale, the second to the right."""
    (w1, h1), (w2, h2) = size_of(first), size_of(second)
    width, height = w1 + w2 + 60, max(h1, h2)
    place = '<svg x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"'

    def placed(svg: str, x: float, w: float, h: float) -> str:
        body = svg[svg.index("<svg") :]
        body = re.sub(r'(<svg[^>]*?) width="[^"]*" height="[^"]*"', r"\1", body, count=1)
        return body.replace("<svg", place.format(x, height - h, w, h), 1)

    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}" height="{height:.1f}"'
        f' viewBox="0 0 {width:.1f} {height:.1f}">'
        f"{placed(first, 0, w1, h1)}{placed(second, w1 + 60, w2, h2)}</svg>"
    )


def main() -> None:
    """Draw every picture."""
    PICTURES.mkdir(exist_ok=True)
    registry = Registry.installed()
    for block_name, recipe_name, name in SHOWN:
        file = ROOT / "sample_patterns" / "svg" / f"{block_name}.svg"
        block = read_pattern([file]).patterns[0]
        recipe = Recipe.load(ROOT / "recipes" / f"{recipe_name}.yaml", registry)
        result = convert(block, recipe, {}, registry)
        net = FinishSettings(allowance=0.0, allowances={})
        before = Result(
            block=block.name, recipe="block", size=block.size, pattern=finish(block, net)
        )
        drawing = side_by_side(*(FORMATS["svg"](r).decode() for r in (before, result)))
        png = resvg_py.svg_to_bytes(
            svg_string=drawing,
            background="white",
            width=WIDTH,
            dpi=96,
            sans_serif_family="DejaVu Sans",
        )
        (PICTURES / f"{name}.png").write_bytes(bytes(png))


if __name__ == "__main__":
    main()
