"""SVG files that this program wrote, read back as the finished patterns they are.

Every sewing line says there which edge of which piece it is, and a note names the seams, so that
panels, tiers and facings can be walked too. A file without the note is no finished pattern of ours.
"""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.formats.line_styles import SEAMS_ID, LineKind
from sleevewright.geometry import Curve
from sleevewright.limits import LARGEST_COORDINATE, Limits
from sleevewright.pattern import Edge, EdgeUse, Notch, NotchKind, Pattern, Piece, Role, Seam, Side
from sleevewright.reading.svg_numbers import numbers
from sleevewright.reading.svg_paths import path_controls
from sleevewright.reading.svg_tree import Element, read_tree

_APART = 0.01  # mm; numbers are written to less than that


def read_finished(path: Path) -> Pattern | None:
    """Return the pattern of a finished SVG file; None where it is no such file.

    Raises:
        ReadError: it cannot be read, or its parts do not fit together.
    """
    if path.suffix.lower() != ".svg":
        return None
    root = read_tree(path)
    note = next((e for e in root.children if e.attributes.get("id") == SEAMS_ID), None)
    if note is None:
        return None
    groups = [e for e in root.children if e.attributes.get("data-piece")]
    count = _Count(str(path))
    try:
        pieces = tuple(_piece(group, count) for group in groups)
        seams = tuple(_seam(item) for item in _list(json.loads(note.text)))
        size = root.attributes.get("data-size") or "base"
        return Pattern(name=path.stem, size=size, pieces=pieces, seams=seams)
    except (ValueError, LookupError, TypeError, ArithmeticError, RecursionError) as error:
        raise ReadError(
            Problem(f"the finished pattern in it has been damaged: {error}",
                    Place(str(path), note.line), "", "make the file anew")
        ) from None  # fmt: skip


class _Count:
    """Counts segments, and refuses more than a drawing may have."""

    def __init__(self, file: str) -> None:
        self.place = Place(file)
        self.points = 0

    def __call__(self, segments: int) -> None:
        self.points += segments
        Limits().refuse_more("points", self.points, self.place)


def _piece(group: Element, count: _Count) -> Piece:
    marks: dict[str, dict[tuple[str, float], Notch]] = {}
    for mark in _of_kind(group, LineKind.NOTCH):
        said = mark.attributes
        notch = Notch(
            at=_number(said["data-at"]), name=said.get("data-name", ""),
            kind=NotchKind(said["data-kind"]),
        )  # fmt: skip
        # the two marks of a double notch say the same
        marks.setdefault(said.get("data-edge", ""), {})[notch.name, notch.at] = notch
    edges = [_edge(path, count) for path in _of_kind(group, LineKind.SEW)]
    astray = marks.keys() - {edge.name for edge in edges}
    if astray:
        raise ValueError(f"notches are on {sorted(astray)}, which is not there")
    closed = [
        replace(edge, curve=_closed(edge.curve, after.curve))
        for edge, after in zip(edges, [*edges[1:], edges[0]], strict=True)
    ]
    notched = (
        replace(edge, notches=tuple(sorted(marks.get(edge.name, {}).values(), key=lambda n: n.at)))
        for edge in closed
    )
    name, fold = group.attributes["data-piece"], group.attributes.get("data-fold", "")
    holes = tuple(
        (_number(hole.attributes["cx"]), -_number(hole.attributes["cy"]))
        for hole in _of_kind(group, LineKind.DRILL, "circle")
    )
    return Piece(name=name, edges=tuple(notched), fold=fold, drill_holes=holes)


def _of_kind(group: Element, kind: LineKind, tag: str = "path") -> Iterator[Element]:
    for child in group.children:
        if child.tag == tag and child.attributes.get("class", "").split()[:1] == [kind.value]:
            yield child


def _edge(path: Element, count: _Count) -> Edge:
    said = path.attributes
    (controls,) = path_controls(said["d"], count)
    if np.abs(controls).max() > LARGEST_COORDINATE:
        raise ValueError(f"{said['data-edge']!r} goes beyond 100 m")
    role = said["class"].split()[1]
    side = said.get("data-side")
    curve = Curve(controls * np.array([1.0, -1.0]))
    return Edge(
        name=said["data-edge"], role=Role(role), curve=curve, side=Side(side) if side else None
    )


def _closed(curve: Curve, after: Curve) -> Curve:
    """Return a curve that ends just where the next begins; they were written rounded."""
    if float(np.hypot(*(after.start - curve.end))) > _APART:
        return curve  # the outline is open, and the piece says so
    return curve.with_ends(curve.start, after.start)


def _seam(item: dict[str, Any]) -> Seam:
    first, second = (
        tuple(
            EdgeUse(piece=_word(piece), edge=_word(edge), backwards=bool(backwards))
            for piece, edge, backwards in item[side]
        )
        for side in ("first", "second")
    )
    ease, gather, pleated, within = (
        _finite(item[key]) for key in ("ease", "gather", "pleated", "within")
    )
    return Seam(
        name=_word(item["name"]), first=first, second=second, ease=ease, gather=gather,
        pleated=pleated, within=within,
    )  # fmt: skip


def _list(value: object) -> list[Any]:
    if not isinstance(value, list):
        raise TypeError("the seams are no list")
    return value


def _word(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no name")
    return value


def _finite(value: object) -> float:
    if not isinstance(value, int | float) or not abs(value) <= LARGEST_COORDINATE:
        raise ValueError(f"{value!r} is no number of a seam")
    return float(value)


def _number(text: str) -> float:
    (value,) = numbers(text, "a place")
    return _finite(value)
