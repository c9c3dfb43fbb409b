"""YAML that cannot surprise: text, lists and mappings with their places, and nothing else.

Built on PyYAML's composer, which runs nothing. Every scalar stays text, so that `no`, `010`
and `1:30` mean what they say; the schema decides what is a number. Refused, each with line and
column: tags, anchors and aliases, duplicate keys, keys that are no text, control characters, and
files larger or deeper than any recipe.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

from sleevewright.errors import Place, Problem, SleevewrightError, did_you_mean
from sleevewright.limits import YAML_BYTES, YAML_DEPTH, YAML_NODES


@dataclass(frozen=True, slots=True)
class Node:
    """A value with its place.

    Attributes:
        value: text; a tuple of nodes; or a tuple of (key node, value node) pairs.
        is_map: whether the value is pairs.
        place: where it begins.
    """

    value: "str | tuple[Node, ...] | tuple[tuple[Node, Node], ...]"
    is_map: bool
    place: Place

    @property
    def is_text(self) -> bool:
        """Whether it is a scalar."""
        return isinstance(self.value, str)

    @property
    def is_list(self) -> bool:
        """Whether it is a list."""
        return not self.is_text and not self.is_map

    @property
    def text(self) -> str:
        """The scalar's text; "" for a list or mapping."""
        return self.value if isinstance(self.value, str) else ""

    def items(self) -> "Iterator[tuple[str, Node]]":
        """Yield key text and value of a mapping, in the order written."""
        for key, value in self._pairs():
            yield key.text, value

    def key_nodes(self) -> "tuple[Node, ...]":
        """Return the key nodes of a mapping."""
        return tuple(key for key, _ in self._pairs())

    def _pairs(self) -> "tuple[tuple[Node, Node], ...]":
        return cast("tuple[tuple[Node, Node], ...]", self.value) if self.is_map else ()

    def get(self, name: str) -> "Node | None":
        """Return the value of a key, or None."""
        return next((value for key, value in self.items() if key == name), None)

    def list(self) -> "tuple[Node, ...]":
        """Return the items of a list; a single value counts as a list of one."""
        return cast("tuple[Node, ...]", self.value) if self.is_list else (self,)

    def plain(self) -> Any:
        """Return the value as dicts, lists and text."""
        if self.is_map:
            return {key: value.plain() for key, value in self.items()}
        return self.text if self.is_text else [item.plain() for item in self.list()]


def load_yaml(text: bytes, file: str, error: type[SleevewrightError]) -> Node:
    """Read a YAML document.

    Args:
        text: the file's bytes, UTF-8.
        file: its name, for messages.
        error: the exception to raise (RecipeError or LabelError).

    Raises:
        error: with line and column, for anything that is refused.
    """
    import yaml  # noqa: PLC0415 (only when a recipe or label map is read)

    def refuse(found: str, mark: Any = None, allowed: str = "") -> SleevewrightError:
        line, column = (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)
        return error(Problem(found, Place(file, line, column), allowed))

    if len(text) > YAML_BYTES:
        raise refuse(f"the file has {len(text)} bytes", None, f"{YAML_BYTES} are allowed")
    try:
        words = text.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        raise refuse(f"byte {bad.start} is not UTF-8", None, "save the file as UTF-8") from None
    try:
        _check_events(words, yaml, refuse)
        composed = yaml.compose(words, Loader=yaml.SafeLoader)
    except yaml.MarkedYAMLError as bad:
        raise refuse(f"not YAML: {bad.problem}", bad.problem_mark or bad.context_mark) from None
    except (yaml.YAMLError, ValueError, RecursionError) as bad:
        raise refuse(f"not YAML: {' '.join(str(bad).split())}") from None
    if composed is None:
        raise refuse("the file is empty")
    return _node(composed, file, refuse)


def _check_events(words: str, yaml: Any, refuse: Any) -> None:
    """Refuse what a recipe never has, before anything is built (anchors, tags, depth, size)."""
    depth = documents = 0
    for count, event in enumerate(yaml.parse(words, Loader=yaml.SafeLoader), 1):
        mark = event.start_mark
        documents += isinstance(event, yaml.DocumentStartEvent)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise refuse("anchors and aliases (& and *) are not allowed here; write it out", mark)
        if getattr(event, "tag", None):
            raise refuse(f"tags ({event.tag}) are not allowed here", mark)
        if isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            depth += 1
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            depth -= 1
        if depth > YAML_DEPTH:
            raise refuse(f"nested deeper than {YAML_DEPTH} levels", mark)
        if count > YAML_NODES:
            raise refuse(f"more than {YAML_NODES} values", mark)
        if documents > 1:
            raise refuse("a second document begins (---); one is allowed", mark)


def _node(raw: Any, file: str, refuse: Any) -> Node:
    place = Place(file, raw.start_mark.line + 1, raw.start_mark.column + 1)
    if isinstance(raw.value, str):
        if any((ord(c) < 32 and c not in "\n\t") or ord(c) in range(0x7F, 0xA0) for c in raw.value):
            raise refuse("a control character is in this text", raw.start_mark)
        return Node(raw.value, False, place)
    if raw.id == "sequence":
        return Node(tuple(_node(item, file, refuse) for item in raw.value), False, place)
    pairs: list[tuple[Node, Node]] = []
    first: dict[str, Node] = {}
    for raw_key, raw_value in raw.value:
        key = _node(raw_key, file, refuse)
        if not key.is_text:
            raise refuse("a key must be a word", raw_key.start_mark)
        if key.text.count("(") != key.text.count(")"):
            raise refuse(
                f"{key.text!r} is no key; an expression with a comma inside {{...}} must be quoted",
                raw_key.start_mark,
            )
        if key.text in first:
            raise refuse(
                f"key {key.text!r} stands twice; first at line {first[key.text].place.line}",
                raw_key.start_mark,
            )
        first[key.text] = key
        pairs.append((key, _node(raw_value, file, refuse)))
    return Node(tuple(pairs), True, place)


def unknown_keys(node: Node, allowed: tuple[str, ...], what: str) -> list[Problem]:
    """Return a problem for each key of a mapping that is not allowed, with the nearest right one."""
    return [
        Problem(
            f"{key.text!r} is no {what}{did_you_mean(key.text, allowed)}",
            key.place,
            f"allowed are {', '.join(allowed)}",
        )
        for key in node.key_nodes()
        if key.text not in allowed
    ]
