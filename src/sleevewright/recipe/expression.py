"""Arithmetic with dimensions: what follows `=` in a recipe. No Python is run.

Grammar, loosest first:

    or, and, not, comparison (< <= > >= == !=), + -, * /, unary -, call or name or quantity

Functions: min, max, abs, round, sqrt. Lengths are mm, angles degrees. A length plus an angle, or a
length times a length, is refused with its column.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sleevewright.errors import did_you_mean
from sleevewright.quantities import Kind, Quantity, QuantityError, parse_quantity

LONGEST = 500
DEEPEST = 50

_TOKEN = re.compile(
    r"\s*(?:(?P<number>(?:\d{1,12}(?:\.\d{1,12})?|\.\d{1,12})(?:\s*(?:mm|cm|m|in|deg|%|°)(?![A-Za-z_0-9]))?)"
    r"|(?P<name>[A-Za-z_][A-Za-z_0-9]*)|(?P<op><=|>=|==|!=|[-+*/()<>,]))",
    re.ASCII,
)
_KEYWORDS = ("and", "or", "not", "true", "false")


class ExpressionError(ValueError):
    """What is wrong with an expression, and at which column of it (first is 1)."""

    def __init__(self, message: str, column: int) -> None:
        super().__init__(message)
        self.column = column


Value = Quantity | bool
Scope = Mapping[str, Quantity | bool]


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    column: int


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression.

    Attributes:
        text: as it was written.
        names: what it reads from the scope.
    """

    text: str
    names: frozenset[str]
    _run: Callable[[Scope], Value]

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
    if len(text) > LONGEST:
        raise ExpressionError(f"longer than {LONGEST} characters", LONGEST)
    parser = _Parser(_tokens(text))
    run = parser.parse(0, 0)
    if parser.peek.kind != "end":
        raise ExpressionError(f"{parser.peek.text!r} is not expected here", parser.peek.column)
    return Expression(text, frozenset(parser.names), run)


def _tokens(text: str) -> list[_Token]:
    tokens, at = [], 0
    while text[at:].strip():
        match = _TOKEN.match(text, at)
        if match is None:
            column = at + len(text[at:]) - len(text[at:].lstrip()) + 1
            raise ExpressionError(f"{text[column - 1]!r} has no meaning here", column)
        kind = str(match.lastgroup)
        tokens.append(_Token(kind, match[kind], match.start(kind) + 1))
        at = match.end()
    return [*tokens, _Token("end", "the end", len(text) + 1)]


_BINDING = {
    "or": 1, "and": 2, "<": 4, "<=": 4, ">": 4, ">=": 4, "==": 4, "!=": 4,
    "+": 5, "-": 5, "*": 6, "/": 6,
}  # fmt: skip


class _Parser:
    """A Pratt parser that makes closures."""

    def __init__(self, tokens: list[_Token]) -> None:
        self.tokens = tokens
        self.at = 0
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

    def parse(self, binding: int, depth: int) -> Callable[[Scope], Value]:
        if depth > DEEPEST:
            raise ExpressionError(f"nested deeper than {DEEPEST}", self.peek.column)
        left = self.prefix(depth)
        while _BINDING.get(self.peek.text, 0) > binding and self.peek.kind in ("op", "name"):
            token = self.take()
            right = self.parse(_BINDING[token.text], depth + 1)
            left = _binary(token, left, right)
        return left

    def prefix(self, depth: int) -> Callable[[Scope], Value]:
        token = self.take()
        if token.kind == "number":
            return self.number(token)
        if token.text == "(":
            inner = self.parse(0, depth + 1)
            self.take(")")
            return inner
        if token.text in ("-", "+", "not"):
            inner = self.parse(3 if token.text == "not" else 7, depth + 1)
            return _unary(token, inner)
        if token.kind == "name":
            return self.name(token, depth)
        raise ExpressionError(f"a value is expected, not {token.text!r}", token.column)

    @staticmethod
    def number(token: _Token) -> Callable[[Scope], Value]:
        try:
            value = parse_quantity(token.text)
        except QuantityError as error:
            raise ExpressionError(str(error), token.column) from None
        return lambda _scope: value

    def name(self, token: _Token, depth: int) -> Callable[[Scope], Value]:
        if token.text in ("true", "false"):
            return lambda _scope: token.text == "true"
        if token.text in _KEYWORDS:
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
        return _call(token, arguments)


def _named(token: _Token) -> Callable[[Scope], Value]:
    def run(scope: Scope) -> Value:
        if token.text not in scope:
            raise ExpressionError(
                f"{token.text!r} is no setting or measurement{did_you_mean(token.text, scope)}",
                token.column,
            )
        return scope[token.text]

    return run


def _number(value: Value, token: _Token) -> Quantity:
    if isinstance(value, bool):
        raise ExpressionError(f"{token.text!r} wants numbers, not true or false", token.column)
    return value


def _finite(value: float, kind: Kind, token: _Token) -> Quantity:
    if not math.isfinite(value) or abs(value) > 1e12:
        raise ExpressionError(f"{token.text!r} gives no finite number", token.column)
    return Quantity(value, kind)


def _unary(token: _Token, inner: Callable[[Scope], Value]) -> Callable[[Scope], Value]:
    def run(scope: Scope) -> Value:
        value = inner(scope)
        if token.text == "not":
            if not isinstance(value, bool):
                raise ExpressionError("'not' wants true or false", token.column)
            return not value
        number = _number(value, token)
        return Quantity(-number.value if token.text == "-" else number.value, number.kind)

    return run


def _binary(
    token: _Token, left: Callable[[Scope], Value], right: Callable[[Scope], Value]
) -> Callable[[Scope], Value]:
    def run(scope: Scope) -> Value:
        a = left(scope)
        if token.text in ("and", "or"):
            b = right(scope)
            if not isinstance(a, bool) or not isinstance(b, bool):
                raise ExpressionError(f"{token.text!r} wants true or false", token.column)
            return a and b if token.text == "and" else a or b
        return _arithmetic(token, _number(a, token), _number(right(scope), token))

    return run


_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "==": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}


def _arithmetic(token: _Token, a: Quantity, b: Quantity) -> Value:
    if token.text == "*":
        kind = b.kind if a.kind is Kind.RATIO else a.kind
        if Kind.RATIO not in (a.kind, b.kind):
            raise ExpressionError(f"{a.kind} times {b.kind} is no measure", token.column)
        return _finite(a.value * b.value, kind, token)
    if token.text == "/":
        if b.value == 0:
            raise ExpressionError("division by zero", token.column)
        if b.kind is not Kind.RATIO and a.kind is not b.kind:
            raise ExpressionError(f"{a.kind} divided by {b.kind} is no measure", token.column)
        return _finite(a.value / b.value, Kind.RATIO if a.kind is b.kind else a.kind, token)
    if a.kind is not b.kind:
        raise ExpressionError(
            f"{a.kind} {token.text} {b.kind}: both sides must measure the same", token.column
        )
    if token.text in _COMPARE:
        return _COMPARE[token.text](a.value, b.value)
    return _finite(a.value + (b.value if token.text == "+" else -b.value), a.kind, token)


_FUNCTIONS: dict[str, tuple[int, int, Callable[..., float]]] = {
    "min": (1, 20, min),
    "max": (1, 20, max),
    "abs": (1, 1, abs),
    "round": (1, 1, lambda v: float(round(v))),
    "sqrt": (1, 1, lambda v: math.sqrt(v) if v >= 0 else math.nan),
}


def _call(token: _Token, arguments: list[Callable[[Scope], Value]]) -> Callable[[Scope], Value]:
    least, most, function = _FUNCTIONS[token.text]
    if not least <= len(arguments) <= most:
        raise ExpressionError(f"{token.text} takes {least} to {most} values", token.column)

    def run(scope: Scope) -> Value:
        values = [_number(argument(scope), token) for argument in arguments]
        kinds = {value.kind for value in values}
        if len(kinds) > 1:
            raise ExpressionError(f"{token.text} of different measures", token.column)
        kind = kinds.pop()
        if token.text == "sqrt" and kind is not Kind.RATIO:
            raise ExpressionError(f"sqrt of a {kind} is no measure", token.column)
        numbers = [value.value for value in values]
        return _finite(function(*numbers), kind, token)

    return run
