"""Where outputs go: OUT/BLOCK/RECIPE/[SETTINGS/]SIZE.ending."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from sleevewright.errors import Problem, WriteError
from sleevewright.formats import ENDINGS

if TYPE_CHECKING:
    from sleevewright.pattern.result import Result

_LONGEST = 100  # characters of one part of a path


def variant_key(block: str, recipe: str, settings: Iterable[tuple[str, str]], size: str) -> str:
    """Return the place of a variant under the output folder, without the ending.

    >>> variant_key("women", "classic", [("drop", "45 mm")], "38")
    'women/classic/drop=45mm/38'
    """
    parts = [block, recipe]
    if chosen := tuple(settings):
        parts.append(",".join(f"{name}={value}" for name, value in chosen))
    return "/".join(safe(part) for part in (*parts, size))


def output_path(out: Path, result: "Result", name: str) -> Path:
    """Return the path of one output; `name` is its format."""
    key = variant_key(result.block, result.recipe, result.settings, result.size)
    return out / f"{key}.{ENDINGS[name]}"


def safe(name: str) -> str:
    """Return a name as one part of a path: letters, digits, - _ . , = % and nothing else.

    >>> safe("neck_drop=45 mm")
    'neck_drop=45mm'
    """
    plain = re.sub(r"[^\w,=%.+-]", "_", name.replace(" ", ""), flags=re.ASCII)
    return plain.lstrip(".-")[:_LONGEST].rstrip(".") or "_"


def refuse_collisions(paths: Iterable[Path]) -> None:
    """Refuse two outputs of one path, letter case aside.

    Raises:
        WriteError: there are two.
    """
    seen: dict[str, Path] = {}
    for path in paths:
        key = str(path).casefold()
        if key in seen:
            raise WriteError(
                Problem(f"two outputs would be one file: {seen[key]} and {path}", remedy=
                        "name blocks, recipes or sizes apart")
            )  # fmt: skip
        seen[key] = path
