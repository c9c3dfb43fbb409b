"""What a variant depends on, as named parts, so that a rebuild can say why.

Content decides, never a time stamp. A part is a digest: SHA-256 of a canonical form of the value.
"""

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from enum import Enum
from functools import cache
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

from sleevewright import __version__
from sleevewright.errors import Place

#: Names of the parts, as reasons write them.
PARTS = ("block", "recipe", "operations", "tool", "formats")


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
        return
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


def digest_of_parts(parts: Mapping[str, str]) -> str:
    """Return one digest for all parts."""
    return digest_of_bytes(json.dumps(dict(parts), sort_keys=True).encode())


@cache
def tool_version() -> str:
    """Return version and source digest of sleevewright itself."""
    return f"{__version__}+{_digest_of_sources(Path(__file__).parent.parent)[:16]}"


@cache
def package_version(name: str) -> str:
    """Return version and source digest of an installed package that gives an operation."""
    if name == "sleevewright":
        return tool_version()
    try:
        found = distribution(name)
    except PackageNotFoundError:
        return "?"
    return f"{found.version}+{_digest_of_files(found)[:16]}"


def _digest_of_sources(folder: Path) -> str:
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*.py")):
        whole.update(path.relative_to(folder).as_posix().encode() + b"\0")
        whole.update(path.read_bytes())
    return whole.hexdigest()


def _digest_of_files(found: Distribution) -> str:
    """Digest the modules of a package; of an editable install, those of its source folder."""
    direct = json.loads(found.read_text("direct_url.json") or "{}")
    if direct.get("dir_info", {}).get("editable") and direct["url"].startswith("file://"):
        return _digest_of_sources(Path(direct["url"].removeprefix("file://")))
    whole = hashlib.sha256()
    for file in sorted(found.files or (), key=str):
        if file.suffix == ".py":
            whole.update(str(file).encode() + b"\0" + file.read_binary())
    return whole.hexdigest()
