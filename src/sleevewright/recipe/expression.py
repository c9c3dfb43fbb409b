"""Arithmetic with dimensions: what follows `=` in a recipe. No Python is run.

Grammar, loosest first:

    or, and, not, comparison (< <= > >= == !=), + -, * /, unary -, call or name or quantity

Functions: min, max, abs, round, sqrt. Lengths are mm, angles degrees. A length plus an angle, or a
length times a length, is refused. Numbers are floats, finite at every step; what goes wrong is told
with the part of the expression and its column. Length, depth and the number of operations have limits,
so that neither parsing nor evaluating takes more than a moment.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sleevewright.errors import did_you_mean, on_one_line
from sleevewright.limits import EXPRESSION_CHARACTERS, EXPRESSION_DEPTH, EXPRESSION_OPERATIONS
from sleevewright.quantities import Kind, Quantity, QuantityError, parse_quantity

#: Larger numbers are a mistake, whatever they measure.
LARGEST = 1e12

_TOKEN = re.compile(
    r"\s*(?:(?P<number>(?:\d+(?:\.\d+)?|\.\d+)(?:\s*(?:mm|cm|m|in|deg|%|°)(?![A-Za-z_0-9]))?)"
    r"|(?P<name>[A-Za-z_][A-Za-z_0-9]*)|(?P<op><=|>=|==|!=|[-+*/()<>,]))",
    re.ASCII,
)
_JOINING = ("and", "or")


class ExpressionError(ValueError):
    """What is wrong with an expression, and at which column of it (first is 1)."""

    def __init__(self, message: str, column: int) -> None:
        super().__init__(message)
        self.column = column


Value = Quantity | bool
Scope = Mapping[str, Quantity | bool]
Run = Callable[[Scope], Value]


@dataclass(frozen=True, slots=True)
class _Token:
    """A word of an expression; columns are those of its first character and behind its last."""

    kind: str
    text: str
    column: int
    stop: int


@dataclass(frozen=True, slots=True)
class _Part:
    """An operator or function and the part of the expression that it computes."""

    token: _Token
    said: str

    def error(self, message: str) -> ExpressionError:
        return ExpressionError(f"{on_one_line(self.said, 80)!r}: {message}", self.token.column)


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression.

    Attributes:
        text: as it was written.
        names: what it reads from the scope.
    """

    text: str
    names: frozenset[str]
    _run: Run

    def value(self, scope: Scope) -> Value:
        """Evaluate over names and their quantities.

        Raises:
            ExpressionError: an unknown name, kinds that do not go together, a division by zero or
                a number that is not finite.
        """
        return self._run(scope)


def parse_expression(text: str) -> Expression:
    """Parse an expression (without its leading `=`).

    Raises:
        ExpressionError: it is no expression, too long or too deep.
    """
    if len(text) > EXPRESSION_CHARACTERS:
        raise ExpressionError(
            f"longer than {EXPRESSION_CHARACTERS} characters", EXPRESSION_CHARACTERS + 1
        )
    parser = _Parser(text)
    run = parser.parse(0, 0)
    if parser.peek.kind != "end":
        raise ExpressionError(f"{parser.peek.text!r} is not expected here", parser.peek.column)
    return Expression(text, frozenset(parser.names), run)


def _tokens(text: str) -> list[_Token]:
    text = re.sub(r"\s", " ", text)  # a blank that is pasted may be any of many
    tokens, at = [], 0
    while text[at:].strip():
        match = _TOKEN.match(text, at)
        if match is None:
            column = at + len(text[at:]) - len(text[at:].lstrip()) + 1
            raise ExpressionError(f"{text[column - 1]!r} has no meaning here", column)
        kind = str(match.lastgroup)
        at = match.end()
        tokens.append(_Token(kind, match[kind], match.start(kind) + 1, at + 1))
    return [*tokens, _Token("end", "the end", len(text) + 1, len(text) + 1)]


_BINDING = {
    "or": 1, "and": 2, "<": 4, "<=": 4, ">": 4, ">=": 4, "==": 4, "!=": 4,
    "+": 5, "-": 5, "*": 6, "/": 6,
}  # fmt: skip


class _Parser:
    """A Pratt parser that makes closures."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = _tokens(text)
        self.at = 0
        self.operations = 0
        self.names: set[str] = set()

    @property
    def peek(self) -> _Token:
        return self.tokens[self.at]

    def take(self, text: str = "") -> _Token:
        token = self.peek
        if text and token.text != text:
            raise ExpressionError(f"{text!r} is expected, not {token.text!r}", token.column)
        self.at += 1
        return token

    def part(self, token: _Token, start: int) -> _Part:
        """Return what an operator computes: the text from a column to the last word taken.

        Raises:
            ExpressionError: there are too many operations.
        """
        self.operations += 1
        if self.operations > EXPRESSION_OPERATIONS:
            raise ExpressionError(f"more than {EXPRESSION_OPERATIONS} operations", token.column)
        return _Part(token, self.text[start - 1 : self.tokens[self.at - 1].stop - 1])

    def parse(self, binding: int, depth: int) -> Run:
        """Parse operators that bind tighter than `binding`; all are done from left to right."""
        if depth > EXPRESSION_DEPTH:
            raise ExpressionError(f"nested deeper than {EXPRESSION_DEPTH}", self.peek.column)
        start = self.peek.column
        first = self.prefix(depth)
        rest: list[tuple[_Part, Run]] = []
        while _BINDING.get(self.peek.text, 0) > binding:
            token = self.take()
            right = self.parse(_BINDING[token.text], depth + 1)
            rest.append((self.part(token, start), right))
        return _in_turn(first, rest) if rest else first

    def prefix(self, depth: int) -> Run:
        token = self.take()
        if token.kind == "number":
            return self.number(token)
        if token.text == "(":
            inner = self.parse(0, depth + 1)
            self.take(")")
            return inner
        if token.text in ("-", "+", "not"):
            inner = self.parse(3 if token.text == "not" else 7, depth + 1)
            return _unary(self.part(token, token.column), inner)
        if token.kind == "name":
            return self.name(token, depth)
        raise ExpressionError(f"a value is expected, not {token.text!r}", token.column)

    @staticmethod
    def number(token: _Token) -> Run:
        try:
            value = parse_quantity(token.text)
        except QuantityError as error:
            raise ExpressionError(str(error), token.column) from None
        return lambda _scope: value

    def name(self, token: _Token, depth: int) -> Run:
        if token.text in ("true", "false"):
            return lambda _scope: token.text == "true"
        if token.text in _JOINING:
            raise ExpressionError(f"a value is expected, not {token.text!r}", token.column)
        if self.peek.text != "(":
            self.names.add(token.text)
            return _named(token)
        if token.text not in _FUNCTIONS:
            raise ExpressionError(
                f"{token.text!r} is no function{did_you_mean(token.text, _FUNCTIONS)};"
                f" functions are {', '.join(_FUNCTIONS)}",
                token.column,
            )
        self.take("(")
        arguments = [self.parse(0, depth + 1)]
        while self.peek.text == ",":
            self.take()
            arguments.append(self.parse(0, depth + 1))
        self.take(")")
        return _call(self.part(token, token.column), arguments)


def _named(token: _Token) -> Run:
    def run(scope: Scope) -> Value:
        if token.text not in scope:
            raise ExpressionError(
                f"{token.text!r} is no setting or measurement{did_you_mean(token.text, scope)}",
                token.column,
            )
        value = scope[token.text]
        if isinstance(value, Quantity) and not math.isfinite(value.value):
            raise ExpressionError(f"{token.text!r} could not be measured", token.column)
        return value

    return run


def _number(value: Value, part: _Part) -> Quantity:
    if isinstance(value, bool):
        raise part.error(f"{part.token.text!r} wants numbers, not true or false")
    return value


def _truth(value: Value, part: _Part) -> bool:
    if not isinstance(value, bool):
        raise part.error(f"{part.token.text!r} wants true or false")
    return value


def _finite(value: float, kind: Kind, part: _Part) -> Quantity:
    if not abs(value) <= LARGEST:
        raise part.error(f"gives no finite number below {LARGEST:g}")
    return Quantity(value, kind)


def _unary(part: _Part, inner: Run) -> Run:
    def run(scope: Scope) -> Value:
        value = inner(scope)
        if part.token.text == "not":
            return not _truth(value, part)
        number = _number(value, part)
        return Quantity(-number.value, number.kind) if part.token.text == "-" else number

    return run


def _in_turn(first: Run, rest: list[tuple[_Part, Run]]) -> Run:
    """Do operators one after the other: `a - b + c` is (a - b) + c. However many, they nest no deeper."""

    def run(scope: Scope) -> Value:
        value = first(scope)
        for part, right in rest:
            value = _binary(part, value, right(scope))
        return value

    return run


def _binary(part: _Part, a: Value, b: Value) -> Value:
    if part.token.text in _JOINING:
        both = (_truth(a, part), _truth(b, part))
        return all(both) if part.token.text == "and" else any(both)
    return _arithmetic(part, _number(a, part), _number(b, part))


_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "==": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}


def _arithmetic(part: _Part, a: Quantity, b: Quantity) -> Value:
    operator = part.token.text
    if operator == "*":
        kind = b.kind if a.kind is Kind.RATIO else a.kind
        if Kind.RATIO not in (a.kind, b.kind):
            raise part.error(f"{a.kind} times {b.kind} is no measure")
        return _finite(a.value * b.value, kind, part)
    if operator == "/":
        if b.value == 0:
            raise part.error("division by zero")
        if b.kind is not Kind.RATIO and a.kind is not b.kind:
            raise part.error(f"{a.kind} divided by {b.kind} is no measure")
        return _finite(a.value / b.value, Kind.RATIO if a.kind is b.kind else a.kind, part)
    if a.kind is not b.kind:
        raise part.error(f"{a.kind} {operator} {b.kind}: both sides must measure the same")
    if operator in _COMPARE:
        return _COMPARE[operator](a.value, b.value)
    return _finite(a.value + (b.value if operator == "+" else -b.value), a.kind, part)


_FUNCTIONS: dict[str, tuple[int, int, Callable[..., float]]] = {
    "min": (1, 20, lambda *values: min(values)),
    "max": (1, 20, lambda *values: max(values)),
    "abs": (1, 1, abs),
    "round": (1, 1, lambda v: float(round(v))),
    "sqrt": (1, 1, math.sqrt),
}


def _call(part: _Part, arguments: list[Run]) -> Run:
    name = part.token.text
    least, most, function = _FUNCTIONS[name]
    if not least <= len(arguments) <= most:
        raise part.error(f"{name} takes {least} to {most} values")

    def run(scope: Scope) -> Value:
        values = [_number(argument(scope), part) for argument in arguments]
        kinds = {value.kind for value in values}
        if len(kinds) > 1:
            raise part.error(f"{name} of different measures")
        kind = kinds.pop()
        if name == "sqrt" and kind is not Kind.RATIO:
            raise part.error(f"sqrt of a {kind} is no measure")
        if name == "sqrt" and values[0].value < 0:
            raise part.error("sqrt of a negative number")
        return _finite(function(*(value.value for value in values)), kind, part)

    return run
