"""Recipes, libraries and label maps: whatever the bytes, the loader's own exception with places, or a value."""

import random
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from hostile.harness import attempt, unreadable
from hostile.yaml_cases import CASES, KINDS, LABELS, LIBRARY, RECIPE, ROOT
from samples_of_ours import registry
from sleevewright.quantities import Kind, Quantity
from sleevewright.recipe import Recipe, bind

_PATH = Path(tempfile.mkdtemp()) / "hostile.yaml"
_BLOCK = {
    "armhole": Quantity(450.0, Kind.LENGTH), "neckline_front": Quantity(120.0, Kind.LENGTH), "has_bust_dart": False,
}  # fmt: skip


def _seeds() -> Iterator[bytes]:
    yield from (RECIPE.encode(), LABELS.encode(), LIBRARY.encode())
    for path in sorted((ROOT / "recipes").glob("*.yaml")):
        yield path.read_bytes()
    for case in CASES:
        data = case.data if isinstance(case.data, bytes) else b""
        if 0 < len(data) < 2_000 and b"'/*" not in data:  # whole disks take too long here
            yield data


SEEDS = tuple(dict.fromkeys(_seeds()))


def _bound(path: Path) -> object:
    return bind(Recipe.load(path, registry()), _BLOCK, "38", {})


def one(data: bytes) -> None:
    _PATH.write_bytes(data)
    for read in (_bound, *(reads for reads, _, _ in KINDS.values())):
        outcome, _ = attempt(read, _PATH)
        assert outcome.ended in ("read", "refused"), outcome.text
        if outcome.ended == "refused":
            wrong = unreadable(outcome, _PATH.name)
            assert not wrong, wrong


# --- changes of words ----------------------------------------------------------------------------

_WORDS = (
    "raglan", "lower-armhole", "by", "front", "size", "default", "36", "when", "side", "left", "params",
    "steps", "finish", "outputs", "formats", "pieces", "allowances", "notches", "corners", "paper", "roll",
    "scale", "yes", "no", "true", "~", "null", "", "12 mm", "1 3/8 in", "= armhole * 2", "= min(", "= 1/0",
    "-1", "010", "1e9", "nan", "&a", "*a", "!!str", "<<", "blocks", "recipes", "matrix", "sizes", "exclude",
    "limits", "layers", "units", "*.svg", "**", "../x", "'", '"', "\\0", "\t",
)  # fmt: skip
_SIGNS = (
    "- ",
    ": ",
    "{",
    "}",
    "[",
    "]",
    ",",
    "\n",
    "\n  ",
    "? ",
    "| ",
    "> ",
    "#",
    "---\n",
    "\u202e",
    "\u00e9",
    "=",
    "'",
    '"',
)


def mutate(data: bytes, draw: random.Random) -> bytes:
    """Change words and signs, lines and their indentation."""
    text = data.decode("utf-8", "replace")
    for _ in range(draw.choice((1, 1, 2, 4))):
        kind = draw.randrange(5)
        spans = [m.span() for m in re.finditer(r"[\w.-]+" if kind < 2 else r"[^\w\s]|\n +", text)]
        start, stop = draw.choice(spans) if spans else (0, 0)
        lines = text.splitlines(keepends=True) or [""]
        at = draw.randrange(len(lines))
        if kind < 2:
            text = text[:start] + draw.choice(_WORDS) + text[stop:]
        elif kind == 2:
            text = text[:start] + draw.choice(_SIGNS) + text[stop:]
        elif kind == 3:
            lines[at:at] = [" " * draw.randrange(5) + lines[draw.randrange(len(lines))].lstrip(" ")]
            text = "".join(lines)
        else:
            del lines[at]
            text = "".join(lines)
    return text.encode()
