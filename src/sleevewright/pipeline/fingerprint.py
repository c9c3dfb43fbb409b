"""What a variant depends on, as named parts, so that a rebuild can say why.

Content decides, never a time stamp. A part is a digest: SHA-256 of a canonical form of the value.
"""

import dataclasses
import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from enum import Enum
from functools import cache
from importlib.util import find_spec
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from sleevewright import __version__
from sleevewright.errors import Place, Problem, RecipeError

if TYPE_CHECKING:
    from importlib.metadata import Distribution


def digest_of_bytes(data: bytes) -> str:
    """Return the digest of bytes, as text."""
    return hashlib.sha256(data).hexdigest()


def digest_of(value: Any) -> str:
    """Return the digest of a value made of dataclasses, tuples, texts, numbers, enums and curves.

    Two values have one digest just when they are equal, places in files aside.

    Raises:
        TypeError: something else is in it.
    """
    found = hashlib.sha256()
    for part in _canonical(value):
        found.update(part)
        found.update(b"\0")
    return found.hexdigest()


def _canonical(value: Any) -> Iterator[bytes]:
    if value is None or isinstance(value, bool | int | float | str | Enum):
        yield f"{type(value).__name__}:{value!r}".encode()
    elif isinstance(value, Place):
        yield b"place"
    elif dataclasses.is_dataclass(value):
        yield f"({type(value).__qualname__}".encode()
        for field in dataclasses.fields(value):
            yield field.name.encode()
            yield from _canonical(getattr(value, field.name))
        yield b")"
    elif isinstance(value, tuple | list):
        yield f"[{len(value)}".encode()
        for item in value:
            yield from _canonical(item)
    elif isinstance(value, Mapping):
        yield f"{{{len(value)}".encode()
        for key in sorted(value, key=repr):
            yield from _canonical(key)
            yield from _canonical(value[key])
    elif hasattr(value, "controls"):
        yield b"curve"
        yield value.controls.tobytes()
    else:
        raise TypeError(f"{type(value).__name__} has no canonical form")


# --- versions of code -------------------------------------------------------------------------


@cache
def tool_version() -> str:
    """Return version and source digest of sleevewright itself."""
    return f"{__version__}+{_digest_of_files(_under(Path(__file__).parent.parent))}"


@cache
def package_version(name: str) -> str:
    """Return version and source digest of an installed package that gives an operation."""
    from importlib.metadata import PackageNotFoundError, distribution  # noqa: PLC0415

    from sleevewright.operations.registry import OWN  # noqa: PLC0415

    if name == OWN:
        return tool_version()
    try:
        found = distribution(name)
    except PackageNotFoundError:
        return "?"
    return f"{found.version}+{_digest_of_files(_code(found))}"


def pinned(plugins: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Return plug-ins with what they are here: (NAME==VERSION, version and source digest)."""
    return tuple((plugin, package_version(plugin.partition("==")[0])) for plugin in plugins)


def refuse_other_code(planned: Iterable[tuple[str, str]]) -> None:
    """Refuse to work with other code than a batch was planned with.

    Args:
        planned: as `pinned` gives it on the side that planned.

    Raises:
        RecipeError: says what is here and what was planned.
    """
    for plugin, there in planned:
        name = plugin.partition("==")[0]
        here = package_version(name)
        if here != there:
            raise RecipeError(
                Problem(f"this worker has {name} {here}, the batch was planned with {there}",
                        remedy="install the same on every machine, and start the batch anew")
            )  # fmt: skip


def _digest_of_files(files: Iterable[tuple[str, Path]]) -> str:
    """Digest named files, in the order of their names."""
    whole = hashlib.sha256()
    for name, path in sorted(files):
        whole.update(name.encode() + b"\0")
        whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()[:16]


def _code(found: "Distribution") -> Iterator[tuple[str, Path]]:
    """Yield the files of a package: those that it lists, or else those of its modules.

    What an installer writes (metadata, scripts, caches) differs between machines and is left out.
    """
    listed = found.files or ()
    if not listed or _is_editable(found):
        tops = {p.value.partition(":")[0].partition(".")[0] for p in _operations(found)}
        for top in tops:
            yield from _module(top)
        return
    for file in listed:
        name = PurePosixPath(file)
        made = name.parts[0] == ".." or name.parts[0].endswith((".dist-info", ".egg-info"))
        path = Path(str(file.locate()))
        if not made and _is_source(name) and path.is_file():
            yield str(name), path


def _operations(found: "Distribution") -> Iterator[Any]:
    from sleevewright.operations.registry import GROUP  # noqa: PLC0415

    return (point for point in found.entry_points if point.group == GROUP)


def _is_editable(found: "Distribution") -> bool:
    """Whether its code lies outside it (PEP 660, 610); also where what tells so is damaged."""
    try:
        direct = json.loads(found.read_text("direct_url.json") or "{}")
        return bool(direct.get("dir_info", {}).get("editable"))
    except (ValueError, AttributeError):
        return True


def _module(top: str) -> Iterator[tuple[str, Path]]:
    """Yield the files of a module or package of the top level, which is found but not imported."""
    try:
        spec = None if top == "__main__" else find_spec(top)
    except ValueError:  # no name at all
        return
    if spec is None:
        return
    for folder in spec.submodule_search_locations or ():
        yield from ((f"{top}/{name}", path) for name, path in _under(Path(folder)))
    if spec.submodule_search_locations is None and spec.has_location and spec.origin:
        yield top, Path(spec.origin)


def _under(folder: Path) -> Iterator[tuple[str, Path]]:
    for place, _, names in os.walk(folder):
        inside = PurePosixPath(Path(place).relative_to(folder).as_posix())
        if _is_source(inside):
            yield from ((str(inside / name), Path(place, name)) for name in names)


def _is_source(name: PurePosixPath) -> bool:
    return "__pycache__" not in name.parts
