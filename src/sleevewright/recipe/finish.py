"""The `finish:` and `outputs:` parts of a recipe."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

from sleevewright.errors import Problem, RecipeError, did_you_mean
from sleevewright.formats import NAMES, USUAL
from sleevewright.formats.printing import KEYS as PRINT_KEYS
from sleevewright.formats.printing import read_printing, word_of
from sleevewright.formats.strict_yaml import Node, unknown_keys
from sleevewright.operations.contract import Setting, about
from sleevewright.pattern.finish_settings import (
    DEFAULT_ALLOWANCES,
    DEFAULT_CORNERS,
    FinishSettings,
)
from sleevewright.pattern.roles import Corner, NotchKind, NotchMark, Role
from sleevewright.print_settings import PrintSettings
from sleevewright.quantities import Kind
from sleevewright.recipe.values import UNKNOWN, Scope, at_size, read_number, within

FINISH_KEYS = ("allowances", "corners", "notches", "style", "note", "date")
NOTCH_KEYS = ("front", "back", "mark", "depth", "width")
OUTPUT_KEYS = ("formats", "pieces", *PRINT_KEYS)
FORMATS = NAMES
PIECES = ("as-read", "half", "whole")

#: mm. Allowances beyond this are mistakes of a unit.
WIDEST_ALLOWANCE = 150.0

W = TypeVar("W", bound=StrEnum)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputSettings:
    """What is written.

    Attributes:
        formats: of FORMATS.
        pieces: half pieces on the fold, whole ones, or as the block has them.
        printing: what it is printed on.
    """

    formats: tuple[str, ...] = USUAL
    pieces: str = "as-read"
    printing: PrintSettings = PrintSettings()


class _Collector:
    """Runs readers and keeps their problems, so that all come at once."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def __call__(self, read: Any, *args: Any) -> Any:
        try:
            return read(*args)
        except RecipeError as error:
            self.problems += error.problems
            return None


def read_finish(node: Node | None, scope: Scope, whole: bool | None) -> FinishSettings:
    """Read `finish:`.

    Raises:
        RecipeError: every mistake at once.
    """
    if node is None:
        return FinishSettings(whole=whole)
    collect = _Collector()
    collect.problems += _must_map(node, "finish") or unknown_keys(node, FINISH_KEYS, "finish key")
    default, by_role = 10.0, dict(DEFAULT_ALLOWANCES)
    for name, value in _items(node, "allowances", collect):
        width = collect(_width, value, scope)
        if name == "default":
            default = 10.0 if width in (None, UNKNOWN) else width
        elif (role := collect(_role, name, value)) is not None and width not in (None, UNKNOWN):
            by_role[role] = width
    corner, corners = Corner.EXTENDED, dict(DEFAULT_CORNERS)
    for name, value in _items(node, "corners", collect):
        kind = collect(_one_of, Corner, at_size(value, scope), "corner")
        if name == "default":
            corner = kind or corner
        elif (role := collect(_role, name, value)) is not None and kind is not None:
            corners[role] = kind
    notches = _notches(node, scope, collect)
    words: dict[str, Any] = {}
    for key in ("style", "note", "date"):
        written = node.get(key)
        if written is not None:
            words[key] = collect(_words, at_size(written, scope), key)
    if collect.problems:
        raise RecipeError(collect.problems)
    return FinishSettings(
        allowance=default, allowances=by_role, corner=corner, corners=corners, whole=whole,
        **notches, **words,
    )  # fmt: skip


def _notches(node: Node, scope: Scope, collect: _Collector) -> dict[str, Any]:
    found: dict[str, Any] = {}
    pairs = _items(node, "notches", collect)
    given = node.get("notches")
    if given is not None:
        collect.problems += unknown_keys(given, NOTCH_KEYS, "notch setting")
    for name, value in pairs:
        one = at_size(value, scope)
        if name in ("front", "back"):
            found[f"notch_{name}"] = collect(_one_of, NotchKind, one, "kind of notch")
        elif name == "mark":
            found["notch_mark"] = collect(_one_of, NotchMark, one, "notch mark")
        elif name in ("depth", "width"):
            found[f"notch_{name}"] = collect(_width, value, scope)
    return {key: value for key, value in found.items() if value not in (None, UNKNOWN)}


def read_outputs(node: Node | None) -> OutputSettings:
    """Read `outputs:`.

    Raises:
        RecipeError: every mistake at once.
    """
    if node is None:
        return OutputSettings()
    problems = _must_map(node, "outputs") or unknown_keys(node, OUTPUT_KEYS, "output key")
    formats = node.get("formats")
    chosen = tuple(item.text for item in formats.list()) if formats is not None else USUAL
    if formats is not None and not chosen:
        problems.append(Problem("no format", formats.place, f"formats are {', '.join(FORMATS)}"))
    if formats is not None:
        problems += [
            Problem(
                f"{item.text!r} is no format{did_you_mean(item.text, FORMATS)}",
                item.place,
                f"formats are {', '.join(FORMATS)}",
            )
            for item in formats.list()
            if item.text not in FORMATS
        ]
    pieces = word_of(node.get("pieces"), PIECES, "way to write pieces", problems)
    printing = read_printing(dict(node.items()), problems)
    if problems:
        raise RecipeError(problems)
    return OutputSettings(
        formats=chosen, pieces=pieces or "as-read", printing=printing or PrintSettings()
    )


def _items(node: Node, key: str, collect: _Collector) -> tuple[tuple[str, Node], ...]:
    value = node.get(key)
    if value is None:
        return ()
    problems = _must_map(value, key)
    collect.problems += problems
    return () if problems else tuple(value.items())


def _must_map(node: Node, what: str) -> list[Problem]:
    if node.is_map or (node.is_text and not node.text):  # nothing is nothing said
        return []
    return [Problem(f"{what} must be a mapping of names to values", node.place)]


def _width(node: Node, scope: Scope) -> Any:
    setting = Setting(
        "allowance", about("", at_least=0.0, at_most=WIDEST_ALLOWANCE), Kind.LENGTH, False, False, 0
    )
    node = at_size(node, scope)
    value = read_number(node, Kind.LENGTH, scope)
    return value if value is UNKNOWN else within(setting, value, node.place)


def _words(node: Node, key: str) -> str:
    if not node.is_text:
        raise RecipeError(Problem(f"{key} must be words", node.place))
    return node.text


def _role(name: str, node: Node) -> Role:
    plain = name.replace("-", "_").replace(" ", "_")
    if plain not in set(Role):
        raise RecipeError(
            Problem(
                f"{name!r} is no edge role{did_you_mean(plain, list(Role))}",
                node.place,
                f"roles are {', '.join(Role)}",
            )
        )
    return Role(plain)


def _one_of(kinds: type[W], node: Node, what: str) -> W:
    if node.text not in set(kinds):
        raise RecipeError(
            Problem(
                f"{node.text!r} is no {what}{did_you_mean(node.text, list(kinds))}",
                node.place,
                f"allowed are {', '.join(kinds)}",
            )
        )
    return kinds(node.text)
