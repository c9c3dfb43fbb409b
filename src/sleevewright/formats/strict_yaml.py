"""YAML that cannot surprise: text, lists and mappings with their places, and nothing else.

Built on PyYAML's parser alone, which makes nothing and runs nothing. Every scalar stays text, so that
`no`, `010` and `1:30` mean what they say; the schema decides what is a number. Refused, each with line
and column: tags, anchors and aliases, duplicate keys, keys that are no text, control characters, and
files larger or deeper than any recipe.
"""

import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from sleevewright.errors import Place, Problem, SleevewrightError, did_you_mean
from sleevewright.limits import YAML_BYTES, YAML_DEPTH, YAML_NODES, YAML_TEXT

#: Controls but tab and line ends; marks that embed, override or isolate a direction of text, so that it
#: reads otherwise than it is; line ends that no editor counts; halves of characters; what is none.
_STRANGE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)
_LINE_END = re.compile(r"\r\n|\r|\n")


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


def yaml_bytes(path: Path, error: type[SleevewrightError]) -> bytes:
    """Return what is in a file, but no more of it than `load_yaml` takes.

    Args:
        path: of the file; a pipe or a device, which may never end, is none.
        error: the exception to raise (RecipeError or LabelError).

    Raises:
        error: it cannot be read.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise error(Problem("cannot be read: it is no file", Place(str(path))))
        with path.open("rb") as file:
            return file.read(YAML_BYTES + 1)
    except (OSError, ValueError) as bad:
        why = getattr(bad, "strerror", None) or str(bad)
        raise error(Problem(f"cannot be read: {why}", Place(str(path)))) from None


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

    composer = _Composer(file, error)
    words = composer.decoded(text)
    try:
        return composer.document(yaml.parse(words, Loader=yaml.SafeLoader))
    except yaml.MarkedYAMLError as bad:
        composer.go_to(bad.problem_mark or bad.context_mark)
        raise composer.refuse(f"not YAML: {bad.problem}") from None
    except (yaml.YAMLError, ValueError, LookupError) as bad:
        raise composer.refuse(f"not YAML: {bad}") from None


class _Composer:
    """Makes nodes of the events of a YAML parser, each checked and counted as it comes."""

    def __init__(self, file: str, error: type[SleevewrightError]) -> None:
        self.error = error
        self.place = Place(file)
        self.events: Iterator[Any] = iter(())
        self.count = self.depth = 0

    def refuse(
        self, found: str, allowed: str = "", place: Place | None = None
    ) -> SleevewrightError:
        return self.error(Problem(found, place or self.place, allowed))

    def go_to(self, mark: Any) -> None:
        """Take a place of the parser for that of what follows."""
        if mark is not None:
            self.place = Place(self.place.file, mark.line + 1, mark.column + 1)

    def go_behind(self, text: str) -> None:
        """Take the end of a text for the place of what follows."""
        lines = _LINE_END.split(text)
        self.place = Place(self.place.file, len(lines), len(lines[-1]) + 1)

    def decoded(self, text: bytes) -> str:
        """Return the text of a file.

        Raises:
            error: it is too large, no UTF-8, or holds a character that no recipe needs.
        """
        if len(text) > YAML_BYTES:
            raise self.refuse("the file is too large", f"{YAML_BYTES} bytes are allowed")
        try:
            words = text.decode("utf-8-sig")
        except UnicodeDecodeError as bad:
            self.go_behind(bad.object[: bad.start].decode("utf-8", "replace"))
            raise self.refuse("what stands here is not UTF-8", "save the file as UTF-8") from None
        strange = _STRANGE.search(words)
        if strange:
            self.go_behind(words[: strange.start()])
            raise self.strange(strange[0])
        return words

    def strange(self, character: str) -> SleevewrightError:
        return self.refuse(
            f"the character U+{ord(character):04X} is in it",
            "neither controls nor marks that turn the direction of text are",
        )

    def document(self, events: Iterator[Any]) -> Node:
        """Return the root of the one document.

        Raises:
            error: there is none or another, or something in it is refused.
        """
        self.events = events
        self.next()
        start = self.next()
        if _kind(start) == "StreamEnd":
            raise self.refuse("the file is empty")
        root = self.node(self.next())
        self.next()
        if _kind(self.next()) != "StreamEnd":
            raise self.refuse("a second document begins (---); one is allowed")
        return root

    def next(self) -> Any:
        """Return the next event, if it is one that recipes may have."""
        event = next(self.events)
        self.go_to(event.start_mark)
        self.count += 1
        if self.count > YAML_NODES:
            raise self.refuse(f"more than {YAML_NODES} values")
        if _kind(event) == "Alias" or getattr(event, "anchor", None):
            raise self.refuse("anchors and aliases (& and *) are not allowed here; write it out")
        if getattr(event, "tag", None):
            raise self.refuse(f"tags ({event.tag}) are not allowed here")
        return event

    def node(self, event: Any) -> Node:
        """Return the node that begins with an event."""
        place = self.place
        if _kind(event) == "Scalar":
            return self.scalar(event.value)
        self.depth += 1
        if self.depth > YAML_DEPTH:
            raise self.refuse(f"nested deeper than {YAML_DEPTH} levels")
        if _kind(event) == "SequenceStart":
            items = []
            while _kind(event := self.next()) != "SequenceEnd":
                items.append(self.node(event))
            node = Node(tuple(items), False, place)
        else:
            node = Node(self.pairs(), True, place)
        self.depth -= 1
        return node

    def scalar(self, text: str) -> Node:
        if len(text) > YAML_TEXT:
            raise self.refuse(f"a text of {len(text)} characters", f"{YAML_TEXT} are allowed")
        strange = _STRANGE.search(text)  # written as an escape, "\0"
        if strange:
            raise self.strange(strange[0])
        return Node(text, False, self.place)

    def pairs(self) -> tuple[tuple[Node, Node], ...]:
        """Return keys and values of the mapping that has begun."""
        pairs: list[tuple[Node, Node]] = []
        first: dict[str, Place] = {}
        while _kind(event := self.next()) != "MappingEnd":
            place = self.place
            key = self.node(event)
            if not key.is_text:
                raise self.refuse("a key must be a word", place=place)
            if key.text.count("(") != key.text.count(")"):
                raise self.refuse(
                    f"{key.text!r} is no key; an expression with a comma inside {{...}} must be quoted"
                )
            if key.text in first:
                line = first[key.text].line
                raise self.refuse(f"key {key.text!r} stands twice; first at line {line}")
            first[key.text] = key.place
            pairs.append((key, self.node(self.next())))
        return tuple(pairs)


def _kind(event: Any) -> str:
    """Return what an event of PyYAML is."""
    return type(event).__name__.removesuffix("Event")


#: Keys of one mapping that are named in messages; the others are counted.
_TOLD = 20


def unknown_keys(node: Node, allowed: tuple[str, ...], what: str) -> list[Problem]:
    """Return a problem for each key of a mapping that is not allowed, with the nearest right one."""
    unknown = [key for key in node.key_nodes() if key.text not in allowed]
    problems = [
        Problem(
            f"{key.text!r} is no {what}{did_you_mean(key.text, allowed)}",
            key.place,
            f"allowed are {', '.join(allowed)}",
        )
        for key in unknown[:_TOLD]
    ]
    if len(unknown) > _TOLD:
        found = f"and {len(unknown) - _TOLD} keys more that are no {what}"
        problems.append(Problem(found, unknown[_TOLD].place))
    return problems
