"""One value of a recipe: read by its kind, with its place in every message.

A value is a literal (`12 mm`), an expression (`= 0.4 * armhole_depth`) or a table by size
(`{size: {"36": 10 mm, default: 12 mm}}`). The declaration of a setting says what it must be.

Settings are checked by this walker over the declared fields, not by a validation library: there
are six kinds of value, each message must carry file, line and column and be in our words, and
values may be expressions that are only known for one block and size.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sleevewright.errors import Place, Problem, RecipeError, did_you_mean, on_one_line
from sleevewright.formats.strict_yaml import Node, unknown_keys
from sleevewright.operations.contract import About, Setting, settings_of
from sleevewright.quantities import (
    Kind,
    Quantity,
    QuantityError,
    example,
    formatted,
    parse,
    parse_quantity,
)
from sleevewright.recipe.expression import Expression, ExpressionError, parse_expression


@dataclass(frozen=True, slots=True)
class Scope:
    """What a recipe is bound to.

    Attributes:
        names: params and measurements of the block, name -> quantity (or true/false).
        size: the size that tables are read for; None while only literals are checked.
        trial: whether values that need a block may be left out (checking on load).
    """

    names: Mapping[str, Quantity | bool]
    size: str | None = None
    trial: bool = False


UNKNOWN = object()
"""Stands for a value that is known only for a block and size."""


def read_settings(cls: type, node: Node | None, place: Place, scope: Scope) -> Any:
    """Read a mapping of settings into a value of their class.

    Returns:
        The value; UNKNOWN on a trial where a setting depends on the block.

    Raises:
        RecipeError: every mistake at once.
    """
    declared = settings_of(cls)
    problems: list[Problem] = []
    if node is not None and not node.is_map:
        if not (node.is_text and node.text == ""):
            raise RecipeError(
                Problem(f"{node.text!r} is no mapping of settings", node.place, _allowed(declared))
            )
        node = None
    if node is not None:
        problems += [
            replace(problem, remedy="it stands beside the operation, not among its settings")
            if problem.found.startswith(_BESIDE)
            else problem
            for problem in unknown_keys(node, tuple(s.name for s in declared), "setting here")
        ]
    given: dict[str, Any] = {}
    unknown = False
    for setting in declared:
        value = node.get(setting.name) if node is not None else None
        if value is None:
            if setting.required:
                problems.append(
                    Problem(f"setting {setting.name!r} is missing", place, setting.about.meaning)
                )
            continue
        try:
            given[setting.name] = read_value(setting, value, scope)
            unknown = unknown or given[setting.name] is UNKNOWN
        except RecipeError as error:
            problems += error.problems
    if problems:
        raise RecipeError(problems)
    return UNKNOWN if unknown else cls(**given)


def _allowed(declared: tuple[Setting, ...]) -> str:
    return f"settings are {', '.join(setting.name for setting in declared)}"


def read_value(setting: Setting, node: Node, scope: Scope) -> Any:
    """Read the value of one setting; UNKNOWN on a trial where it depends on the block.

    Raises:
        RecipeError: it is not what the setting allows.
    """
    node = at_size(node, scope)
    if setting.optional and node.is_text and node.text in ("", "~", "null"):
        return None
    if setting.many:
        one = dataclasses.replace(setting, many=False)
        values = tuple(read_value(one, item, scope) for item in node.list())
        return UNKNOWN if UNKNOWN in values else values
    kind = setting.kind
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return read_settings(kind, node, node.place, scope)
    if not node.is_text:
        raise RecipeError(
            Problem(f"a single value is wanted for {setting.name!r}", node.place, _kind_text(kind))
        )
    if isinstance(kind, Kind):
        value = read_number(node, kind, scope)
        return value if value is UNKNOWN else within(setting, value, node.place)
    return _word(setting, node)


def _word(setting: Setting, node: Node) -> Any:
    kind = setting.kind
    if kind is bool:
        if node.text in ("true", "yes"):
            return True
        if node.text in ("false", "no"):
            return False
        raise RecipeError(Problem(f"{node.text!r} is neither true nor false", node.place))
    if kind is str:
        return node.text
    if node.text not in kind:
        raise RecipeError(
            Problem(
                f"{node.text!r} is no {setting.name}{did_you_mean(node.text, kind)}",
                node.place,
                f"allowed are {', '.join(kind)}",
            )
        )
    return node.text


#: How a message begins about what a step says of the operation as a whole.
_BESIDE = ("'when' ", "'side' ")
_SUCH_AS = {Kind.LENGTH: ", such as 45 mm", Kind.ANGLE: ", such as 45 deg"}


def read_number(node: Node, kind: Kind, scope: Scope) -> Any:
    """Read a literal or an expression of a kind: mm, degrees or a plain number.

    Raises:
        RecipeError: it is of another kind, or cannot be evaluated.
    """
    if not node.is_text:
        raise RecipeError(Problem("a single value is wanted", node.place, _kind_text(kind)))
    text = node.text.strip()
    if text.startswith("="):
        value = evaluate(node, scope)
        if value is UNKNOWN:
            return UNKNOWN
        if not isinstance(value, Quantity) or (
            value.kind is not kind and not (kind is Kind.COUNT and value.kind is Kind.RATIO)
        ):
            found = value.kind if isinstance(value, Quantity) else "true or false"
            allowed = f"a {kind} is wanted{_SUCH_AS.get(kind, '')}"
            raise RecipeError(Problem(f"{text!r} is a {found}", node.place, allowed))
        return _whole(value.value, node) if kind is Kind.COUNT else value.value
    try:
        number = parse(text, kind)
    except QuantityError as error:
        raise RecipeError(Problem(str(error), node.place)) from None
    return int(number) if kind is Kind.COUNT else number


def _whole(value: float, node: Node) -> int:
    if abs(value - round(value)) > 1e-9:  # what arithmetic leaves is no part of a pleat
        raise RecipeError(
            Problem(f"{node.text.strip()!r} is {value:g}", node.place, "a whole number is wanted",
                    "say which with round()")
        )  # fmt: skip
    return round(value)


def expression_of(node: Node) -> Expression:
    """Parse the expression of a value that begins with `=` (or stands under `when:`).

    Raises:
        RecipeError: with the column inside the expression added to its place.
    """
    text = node.text
    body = text[text.index("=") + 1 :] if text.lstrip().startswith("=") else text
    try:
        return parse_expression(body)
    except ExpressionError as error:
        raise _expression_problem(node, error, len(text) - len(body)) from None


def evaluate(node: Node, scope: Scope) -> Any:
    """Evaluate the expression of a value; UNKNOWN on a trial where a name is the block's.

    Raises:
        RecipeError: it cannot be evaluated.
    """
    expression = expression_of(node)
    if scope.trial and not expression.names <= scope.names.keys():
        return UNKNOWN
    try:
        return expression.value(scope.names)
    except ExpressionError as error:
        offset = len(node.text) - len(expression.text)
        raise _expression_problem(node, error, offset) from None


def _expression_problem(node: Node, error: ExpressionError, offset: int) -> RecipeError:
    place = dataclasses.replace(node.place, column=node.place.column + offset + error.column - 1)
    return RecipeError(Problem(f"in {on_one_line(repr(node.text), 100)}: {error}", place))


def at_size(node: Node, scope: Scope) -> Node:
    """Return a value for the size: a table by size gives its entry.

    Raises:
        RecipeError: the table has neither the size nor a default.
    """
    table = node.get("size") if node.is_map and len(node.key_nodes()) == 1 else None
    if table is None or not table.is_map:
        return node
    if scope.size is None:
        first = next(iter(table.items()), None)
        if first is None:
            raise RecipeError(Problem("the table by size is empty", node.place))
        return first[1]
    found = table.get(scope.size) or table.get("default")
    if found is None:
        sizes = ", ".join(key for key, _ in table.items())
        raise RecipeError(
            Problem(
                f"no value for size {scope.size!r} and no default", node.place, f"sizes are {sizes}"
            )
        )
    return found


def within(setting: Setting, value: float, place: Place) -> float:
    """Return a number if it lies within its setting's bounds.

    Raises:
        RecipeError: it does not.
    """
    about: About = setting.about
    low, high = about.at_least, about.at_most
    if (low is not None and value < low) or (high is not None and value > high):
        limits = " to ".join(formatted(v, setting.kind) for v in (low, high) if v is not None)
        raise RecipeError(
            Problem(
                f"{setting.name} is {formatted(value, setting.kind)}", place, f"allowed is {limits}"
            )
        )
    return value


def parameter(node: Node, scope: Scope) -> Any:
    """Read the value of a param: its unit says what it measures.

    Returns:
        A quantity, true or false; UNKNOWN on a trial where it depends on the block.

    Raises:
        RecipeError: it is no quantity.
    """
    node = at_size(node, scope)
    if not node.is_text:
        raise RecipeError(
            Problem("a param has a single value", node.place, "or a table by size: {size: {...}}")
        )
    if node.text.strip().startswith("="):
        return evaluate(node, scope)
    if node.text in ("true", "false"):
        return node.text == "true"
    try:
        return parse_quantity(node.text)
    except QuantityError as error:
        raise RecipeError(Problem(str(error), node.place)) from None


def _kind_text(kind: Any) -> str:
    if isinstance(kind, Kind):
        return f"write {example(kind)}"
    return f"allowed are {', '.join(kind)}" if isinstance(kind, tuple) else ""
