"""Pictures of the docs, drawn from the tool's own SVG: a pattern, or two side by side."""

import io
import re
from pathlib import Path

import resvg_py
from PIL import Image

from sleevewright import FORMATS, Recipe, read_pattern
from sleevewright.errors import OperationError
from sleevewright.finishing import finish
from sleevewright.pattern import Pattern
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.result import Result
from sleevewright.pipeline.convert import convert

ROOT = Path(__file__).parent.parent
WIDTH = 1100  # pixels
_GAP = 60  # mm between two drawings

NET = FinishSettings(allowance=0.0, allowances={})


def block(name: str) -> Pattern:
    """Return a sample block of one size, such as women_overblock_40."""
    return read_pattern([ROOT / "sample_patterns" / "svg" / f"{name}.svg"]).patterns[0]


def drawing_of(pattern: Pattern) -> str:
    """Return a pattern drawn net, as SVG."""
    result = Result(
        block=pattern.name, recipe="block", size=pattern.size, pattern=finish(pattern, NET)
    )
    return FORMATS["svg"](result).decode()


def converted(recipe: Recipe, blocks: tuple[str, ...]) -> tuple[Pattern, str]:
    """Return the first block that a recipe applies to, and its result as SVG.

    Raises:
        OperationError: it applies to none of them.
    """
    for name in blocks:
        try:
            pattern = block(name)
            return pattern, FORMATS["svg"](convert(pattern, recipe, {})).decode()
        except OperationError:
            continue
    raise OperationError(f"{recipe.name} applies to none of {', '.join(blocks)}")


def side_by_side(*drawings: str) -> str:
    """Return drawings in one, to one scale, from left to right."""
    sizes = [_size(svg) for svg in drawings]
    width = sum(w for w, _ in sizes) + _GAP * (len(sizes) - 1)
    height = max(h for _, h in sizes)
    body, left = [], 0.0
    for svg, (w, h) in zip(drawings, sizes, strict=True):
        text = svg[svg.index("<svg") :]
        text = re.sub(r'(<svg[^>]*?) width="[^"]*" height="[^"]*"', r"\1", text, count=1)
        place = f'<svg x="{left:.1f}" y="{height - h:.1f}" width="{w:.1f}" height="{h:.1f}"'
        body.append(text.replace("<svg", place, 1))
        left += w + _GAP
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}" height="{height:.1f}"'
        f' viewBox="0 0 {width:.1f} {height:.1f}">{"".join(body)}</svg>'
    )


def _size(svg: str) -> tuple[float, float]:
    match = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert match is not None
    return float(match[1]), float(match[2])


def save(svg: str, path: Path) -> None:
    """Write a drawing as a PNG of few colours, so that the repository stays light."""
    data = resvg_py.svg_to_bytes(
        svg_string=svg, background="white", width=WIDTH, dpi=96, sans_serif_family="DejaVu Sans"
    )
    path.parent.mkdir(parents=True, exist_ok=True)
    image = Image.open(io.BytesIO(bytes(data))).convert("L").quantize(16)
    image.save(path, optimize=True)
