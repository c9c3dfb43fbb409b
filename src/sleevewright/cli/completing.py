"""What the shell offers behind TAB: functions for the `shell_complete` of click's parameters.

They answer in a moment, so none reads a drawing or loads an operation. `HOOKS` says whose they are.
"""

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import click
from click.shell_completion import CompletionItem

Items = list[CompletionItem]
Hook = Callable[[click.Context, click.Parameter, str], Items]

_DRAWINGS = (".dxf", ".svg")
_YAML = (".yaml", ".yml")

SCHEMA_KINDS = {
    "recipe": "what a recipe may say",
    "library": "what a library may say",
    "labels": "what a label map may say",
}


def recipe_files(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> Items:
    """Offer YAML files, and folders that have some."""
    return _files(incomplete, _YAML)


def drawing_files(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> Items:
    """Offer DXF and SVG files, and folders that have some."""
    return _files(incomplete, _DRAWINGS)


def operation_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> Items:
    """Offer the operations that are installed, by name."""
    from importlib.metadata import entry_points  # noqa: PLC0415

    names = {point.name for point in entry_points(group="sleevewright.operations")}
    return [CompletionItem(name) for name in sorted(names) if name.startswith(incomplete)]


def format_lists(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> Items:
    """Offer formats, each once: behind "dxf," the others."""
    from sleevewright.formats import NAMES  # noqa: PLC0415

    before, comma, last = incomplete.rpartition(",")
    taken = {name.strip() for name in before.split(",")}
    return [
        CompletionItem(before + comma + name)
        for name in NAMES
        if name.startswith(last) and name not in taken
    ]


def schema_kinds(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> Items:
    """Offer what has a schema."""
    return [
        CompletionItem(kind, help=text)
        for kind, text in SCHEMA_KINDS.items()
        if kind.startswith(incomplete)
    ]


#: (command, parameter) -> what completes it.
HOOKS: Mapping[tuple[str, str], Hook] = {
    ("convert", "block"): drawing_files,
    ("convert", "labels"): recipe_files,
    ("convert", "recipe"): recipe_files,
    ("convert", "formats"): format_lists,
    ("inspect", "block"): drawing_files,
    ("inspect", "labels"): recipe_files,
    ("check", "file"): drawing_files,
    ("batch", "library"): recipe_files,
    ("watch", "library"): recipe_files,
    ("compare", "old"): drawing_files,
    ("compare", "new"): drawing_files,
    ("operations", "name"): operation_names,
    ("schema", "kind"): schema_kinds,
}


def _files(incomplete: str, endings: tuple[str, ...]) -> Items:
    """Offer files with these endings and folders that hold any, as they are typed.

    A shell puts a space behind the only thing that is offered; so that a folder is never that,
    a folder alone is offered as what is in it.
    """
    head, _, _ = incomplete.rpartition("/")
    prefix = f"{head}/" if "/" in incomplete else ""
    last = incomplete[len(prefix) :]
    found = list(_entries(prefix, last, endings))
    while len(found) == 1 and found[0].endswith("/"):
        found = list(_entries(found[0], "", endings))
    return [CompletionItem(name) for name in found]


def _entries(prefix: str, last: str, endings: tuple[str, ...]) -> Iterator[str]:
    for path in _listed(Path(prefix or ".").expanduser()):
        if not path.name.startswith(last) or (path.name.startswith(".") and not last):
            continue
        if path.is_dir():
            if _leads_to(path, endings):
                yield f"{prefix}{path.name}/"
        elif path.suffix.lower() in endings:
            yield f"{prefix}{path.name}"


def _leads_to(folder: Path, endings: tuple[str, ...]) -> bool:
    """Whether a folder has such a file, or a folder that might: looking deeper takes too long."""
    inside = [path for path in _listed(folder) if not path.name.startswith(".")]
    return any(path.suffix.lower() in endings or path.is_dir() for path in inside)


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError:
        return []
