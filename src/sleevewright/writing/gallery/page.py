"""The page: one file with its style and script inside, and the data beside it."""

import re
from base64 import b64encode
from collections.abc import Iterable, Mapping
from hashlib import sha256
from html import escape
from importlib.resources import files

from sleevewright.writing.gallery.data import chunk_scripts
from sleevewright.writing.gallery.entry import Entry
from sleevewright.writing.safety import SAFETY

INDEX = "index.html"
DATA_FOLDER = "gallery-data"

_DIGITS = re.compile(r"([0-9]+)")


def write_gallery(entries: Iterable[Entry], title: str) -> Mapping[str, bytes]:
    """Return the files of a gallery, name relative to the output folder -> bytes.

    The same entries give the same bytes, in whatever order they come.

    Raises:
        ValueError: two entries have one key.
    """
    ordered = sorted(entries, key=lambda entry: (_natural(entry.key), entry.key))
    for one, other in zip(ordered, ordered[1:], strict=False):
        if one.key == other.key:
            raise ValueError(f"two entries have the key {one.key!r}")
    chunks = {
        f"{DATA_FOLDER}/{number:03}.js": script
        for number, script in enumerate(chunk_scripts(ordered))
    }
    return {INDEX: _page(title, list(chunks), len(ordered)), **chunks}


def _natural(key: str) -> tuple[tuple[int, str], ...]:
    """Order numbers in names by value: size 8 before size 10."""
    parts = _DIGITS.split(key)
    bare = (p.lstrip("0") if i % 2 else p for i, p in enumerate(parts))
    return tuple((len(p) if i % 2 else 0, p) for i, p in enumerate(bare))


def _page(title: str, scripts: list[str], count: int) -> bytes:
    style, script = _resource("gallery.css"), _resource("gallery.js")
    policy = (
        "default-src 'none'; base-uri 'none'; form-action 'none';"
        f" style-src '{_hash(style)}'; script-src 'self' '{_hash(script)}'"
    )
    values = {
        "policy": policy,
        "title": escape(title),
        "count": str(count),
        "safety": escape(SAFETY),
        "style": style,
        "script": script,
        "data": "\n".join(f'<script defer src="{name}"></script>' for name in scripts),
    }
    page = re.sub(r"\{\{(\w+)\}\}", lambda m: values[m[1]], _resource("gallery.html"))
    return page.encode("utf-8", "replace")


def _resource(name: str) -> str:
    data = files("sleevewright.writing.gallery").joinpath(name).read_bytes()
    return data.decode().replace("\r\n", "\n")


def _hash(text: str) -> str:
    return "sha256-" + b64encode(sha256(text.encode()).digest()).decode()
