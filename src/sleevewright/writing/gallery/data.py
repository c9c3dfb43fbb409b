"""Entries as scripts that hold data: chunks, each complete in itself.

A variant that changed changes one file.

Names stand in lists, never as keys of an object, and text is escaped down to ASCII: whatever a
block or recipe is called stays text to every parser on its way.
"""

import json
import math
from collections.abc import Iterator, Sequence
from urllib.parse import quote

from sleevewright.writing.gallery.entry import STATES, Entry, Outline

#: Entries in a file: about 250 kB of them.
PER_CHUNK = 250

_ESCAPES = {ord(sign): f"\\u{ord(sign):04x}" for sign in "<>&"}


def chunk_scripts(entries: Sequence[Entry]) -> Iterator[bytes]:
    """Yield the scripts, `PER_CHUNK` entries each."""
    for start in range(0, len(entries), PER_CHUNK):
        chunk = _chunk(entries[start : start + PER_CHUNK])
        text = json.dumps(chunk, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
        script = f"(self.galleryData=self.galleryData||[]).push({text.translate(_ESCAPES)});\n"
        yield script.encode("ascii")


class _Table:
    """Things by the number of their first use."""

    def __init__(self) -> None:
        self._numbers: dict[object, int] = {}

    def number(self, thing: object) -> int:
        return self._numbers.setdefault(thing, len(self._numbers))

    def all(self) -> list[object]:
        return list(self._numbers)


def _chunk(entries: Sequence[Entry]) -> dict[str, object]:
    names, columns, shapes = _Table(), _Table(), _Table()
    rows = [_row(entry, names, columns, shapes) for entry in entries]
    return {"names": names.all(), "columns": columns.all(), "shapes": shapes.all(), "rows": rows}


def _row(entry: Entry, names: _Table, columns: _Table, shapes: _Table) -> list[object]:
    """Return the values of an entry, in the order in which gallery.js reads them."""
    finite = [(name, value) for name, value in entry.measurements if math.isfinite(value)]
    column = columns.number(tuple(names.number(name) for name, _ in finite))
    drawn = []
    for outline in entry.outlines:
        if outline.points:
            shape, corner = _shape(outline)
            drawn.append([names.number(outline.piece), shapes.number(shape), *corner])
    return [
        entry.key,
        entry.block,
        entry.recipe,
        entry.family,
        entry.size,
        [list(pair) for pair in entry.settings],
        STATES.index(entry.state),
        entry.problem,
        column,
        [_short(value) for _, value in finite],
        _links(entry.links),
        drawn,
    ]


def _short(value: float) -> float | int:
    short = round(value, 3) + 0.0
    return int(short) if short == int(short) else short


def _links(links: tuple[tuple[str, str], ...]) -> list[object]:
    """Return [what all addresses begin with, format, rest, format, rest ...]."""
    # "./" first: "javascript:" at the beginning of a name must not become a scheme.
    addresses = ["./" + quote(path, errors="replace") for _, path in links]
    start = _common(addresses)
    found: list[object] = [start]
    for (name, _), address in zip(links, addresses, strict=True):
        found += [name, address[len(start) :]]
    return found


def _common(words: list[str]) -> str:
    """Return what all words begin with."""
    if not words:
        return ""
    first, last = min(words), max(words)
    same = (i for i, (a, b) in enumerate(zip(first, last, strict=False)) if a != b)
    return first[: next(same, min(len(first), len(last)))]


def _shape(outline: Outline) -> tuple[tuple[object, ...], tuple[int, int]]:
    """Return an outline as (path, first x, first y, width, height), and its upper left corner.

    Whole millimetres, y down, from that corner; the path holds steps from point to point. The same
    piece at another place of the page, or in another variant, is the same shape.
    """
    points = [(round(x), -round(y)) for x, y in outline.points]
    left, top = min(x for x, _ in points), min(y for _, y in points)
    width, height = max(x for x, _ in points) - left, max(y for _, y in points) - top
    path, at = [], points[0]
    for point in points[1:]:
        if point != at:
            path += [point[0] - at[0], point[1] - at[1]]
            at = point
    # A minus sign parts numbers as well as a space does.
    text = " ".join(map(str, path)).replace(" -", "-")
    first = (points[0][0] - left, points[0][1] - top)
    return (f"l{text}z" if path else "", *first, width, height), (left, top)
