"""The label map: a YAML file that says what a drawing does not.

units: mm                 # of one unit of the drawing, where the file does not say
block: overblock          # names the output folder
size: "38"
layers: {A1: front.armhole, 7B: ignore}     # what a layer, id or class means
pieces: {outline 1: front, outline 2: back} # what a plain outline is
sleeve_front: right       # on which side the sleeve's front is, crown up
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sleevewright.errors import LabelError, Place, Problem, did_you_mean
from sleevewright.formats.strict_yaml import Node, load_yaml, unknown_keys, yaml_bytes
from sleevewright.reading.edge_names import PIECES, ROLES, Label, normal, read_label

KEYS = ("units", "block", "size", "layers", "pieces", "sleeve_front")
_MAPS = ("layers", "pieces")
UNITS = ("mm", "cm", "in")
#: Lines of `layers` or `pieces`; every line of a drawing is looked up in them.
MOST_LINES = 1000


@dataclass(frozen=True, slots=True)
class LabelMap:
    """A label map; empty where none is given.

    Attributes:
        file: where it was read from.
        units: of one unit of the drawing; None where not said.
        block, size: names; "" where not said.
        layers: label (in the form of `normal`) -> (meaning, its place, as written).
        pieces: name of a plain outline -> (piece, its place).
        sleeve_front: "left" or "right", crown up; "" where not said.
    """

    file: str = ""
    units: str | None = None
    block: str = ""
    size: str = ""
    layers: tuple[tuple[str, Label, Place], ...] = ()
    pieces: tuple[tuple[str, str, Place], ...] = ()
    sleeve_front: str = ""

    def meaning(self, word: str) -> Label | None:
        """Return what a label means: by the map, else by its own grammar."""
        plain = normal(word)
        for name, label, _ in self.layers:
            if name == plain:
                return label
        return read_label(word)


def read_label_map(path: Path) -> LabelMap:
    """Read a label map.

    Raises:
        LabelError: every mistake at once, with line and column.
    """
    file = str(path)
    root = load_yaml(yaml_bytes(path, LabelError), file, LabelError)
    if not root.is_map:
        raise LabelError(Problem("no label map", root.place, f"keys are {', '.join(KEYS)}"))
    problems = unknown_keys(root, KEYS, "key of a label map")
    for key, value in root.items():
        if key in KEYS and (value.is_map if key in _MAPS else value.is_text) is False:
            kind = "names and their meanings, such as {A: front.hem}" if key in _MAPS else "a word"
            problems.append(Problem(f"{key} is of another kind", value.place, f"it is {kind}"))
    if problems:
        raise LabelError(problems)
    words = {key: root.get(key) for key in KEYS}
    for key, allowed in (("units", UNITS), ("sleeve_front", ("left", "right"))):
        node = words[key]
        if node is not None and node.text not in allowed:
            problems.append(
                Problem(f"{key}: {node.text!r}", node.place, f"allowed are {', '.join(allowed)}")
            )
    layers = _layers(words["layers"], problems)
    pieces = _pieces(words["pieces"], problems)
    if problems:
        raise LabelError(problems)

    def text_of(key: str) -> str:
        node = words[key]
        return node.text if node is not None else ""

    return LabelMap(
        file, text_of("units") or None, text_of("block"), text_of("size"), layers, pieces,
        text_of("sleeve_front"),
    )  # fmt: skip


def _lines(node: Node | None, key: str, problems: list[Problem]) -> Iterator[tuple[str, Node]]:
    """Yield the lines of a map whose value is a word and whose name no other line has."""
    if node is None:
        return
    names = node.key_nodes()
    if len(names) > MOST_LINES:
        found = f"{key} has {len(names)} lines"
        problems.append(Problem(found, names[MOST_LINES].place, f"{MOST_LINES} are allowed"))
        return
    first: dict[str, tuple[Node, Node]] = {}
    for name, (text, value) in zip(names, node.items(), strict=True):
        same, means = first.setdefault(normal(text), (name, value))
        if means.text != value.text:
            problems.append(
                Problem(
                    f"{key}: {text!r} is {same.text!r} of line {same.place.line} again", name.place,
                    "letter case, blanks, dots and hyphens make no difference",
                )
            )  # fmt: skip
        elif not value.is_text:
            problems.append(
                Problem(f"{key}: {text!r} must mean a word", value.place, "not a list or a map")
            )
        else:
            yield text, value


def _layers(node: Node | None, problems: list[Problem]) -> tuple[tuple[str, Label, Place], ...]:
    found = []
    for name, value in _lines(node, "layers", problems):
        label = read_label(value.text)
        if label is None or label.what is None:
            problems.append(
                Problem(
                    f"layers: {value.text!r} is no edge{did_you_mean(value.text, ROLES)}",
                    value.place,
                    "write PIECE.ROLE, such as front.armhole, or ignore",
                )
            )
        else:
            found.append((normal(name), label, value.place))
    return tuple(found)


def _pieces(node: Node | None, problems: list[Problem]) -> tuple[tuple[str, str, Place], ...]:
    found = []
    for name, value in _lines(node, "pieces", problems):
        piece = PIECES.get(normal(value.text))
        if piece is None and value.text != "ignore":
            problems.append(
                Problem(
                    f"pieces: {value.text!r} is no piece{did_you_mean(value.text, PIECES)}",
                    value.place,
                    f"pieces are {', '.join(sorted(set(PIECES.values())))}, ignore",
                )
            )
        else:
            found.append((normal(name), piece or "ignore", value.place))
    return tuple(found)


def label_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of label maps."""
    strings = {"type": "object", "additionalProperties": {"type": "string"}}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sleevewright label map",
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "units": {"enum": list(UNITS)},
            "block": {"type": "string"},
            "size": {"type": ["string", "number"]},
            "layers": strings,
            "pieces": strings,
            "sleeve_front": {"enum": ["left", "right"]},
        },
    }
