"""Expressions and quantities: whatever the text, the parser's own exception with a column, or a finite value."""

import math
import random
import re

from hostile.test_expressions import REFUSED, SCOPE
from sleevewright.quantities import Kind, QuantityError, parse
from sleevewright.recipe.expression import ExpressionError, parse_expression

_RIGHT = (
    "0.3 * neckline_front", "armhole / 2 - 12 mm", "min(armhole, 3 * neckline_front) > 1 3/8 in",
    "not has_bust_dart or slope < 3 deg", "round(armhole / 10 mm) * 10 mm", "sqrt(abs(-ease))",
    "40 % * armhole", "-(1 + 2) * .5", "max(1 in, 2 cm, 3 mm)", "1½ in", "3/8\"",
)  # fmt: skip
SEEDS = tuple(text.encode() for text in (*_RIGHT, *REFUSED) if len(text) < 300)


def one(data: bytes) -> None:
    text = data.decode("utf-8", "replace")
    try:
        value = parse_expression(text).value(SCOPE)
        assert isinstance(value, bool) or math.isfinite(value.value)
    except ExpressionError as error:
        assert 1 <= error.column <= max(len(text), 2000) + 1
        assert str(error).isprintable()
        assert len(str(error)) < 1000
    for kind in Kind:
        try:
            assert abs(parse(text, kind)) <= 100_000
        except QuantityError as error:
            assert str(error).isprintable()
            assert len(str(error)) < 300


_PARTS = (
    "armhole", "slope", "ease", "has_bust_dart", "true", "min(", "max(", "abs(", "round(", "sqrt(", "(", ")",
    ",", "+", "-", "*", "/", "<", "<=", "==", "!=", "and", "or", "not", "1", "0", ".5", "12 mm", "3/8 in",
    "40 %", "2 deg", "1e3", "9" * 20, " ", "°", "½",
)  # fmt: skip


def mutate(data: bytes, draw: random.Random) -> bytes:
    """Change words and signs."""
    parts = re.findall(r"\w+|\s+|.", data.decode("utf-8", "replace"), re.DOTALL)
    for _ in range(draw.choice((1, 1, 2, 4))):
        at = draw.randrange(len(parts) + 1)
        parts[at : at + draw.randrange(3)] = [
            draw.choice(_PARTS),
            *parts[at : at + 9] * (draw.random() < 0.1),
        ]
    return "".join(parts).encode()
