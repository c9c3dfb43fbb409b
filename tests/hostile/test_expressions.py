"""Expressions and quantities: hostile ones are refused with the part and its column, right ones are exact.

`DRAWN=20000 pytest tests/hostile/test_expressions.py` is the long run of the drawn ones.
"""

import math
import os
import re
import sys
import time
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from samples_of_ours import registry
from sleevewright.errors import RecipeError
from sleevewright.quantities import Kind, Quantity, QuantityError, formatted, parse, parse_quantity
from sleevewright.recipe import Recipe, bind
from sleevewright.recipe.expression import ExpressionError, parse_expression

DRAWN = settings(max_examples=int(os.environ.get("DRAWN", "100")))

SCOPE = {
    "armhole": Quantity(450.5, Kind.LENGTH),
    "neckline_front": Quantity(123.25, Kind.LENGTH),
    "slope": Quantity(22.5, Kind.ANGLE),
    "ease": Quantity(0.04, Kind.RATIO),
    "none": Quantity(0.0, Kind.LENGTH),
    "unmeasured": Quantity(math.nan, Kind.LENGTH),
    "endless": Quantity(math.inf, Kind.LENGTH),
    "has_bust_dart": True,
}

#: Expression -> the column (first is 1) and words of its refusal.
REFUSED = {
    # never an expression
    "": (1, "a value is expected, not 'the end'"),
    "   ": (4, "a value is expected, not 'the end'"),
    "9**9**9": (3, "a value is expected, not '*'"),
    "9^9": (2, "'^' has no meaning"),
    "9//2": (3, "a value is expected, not '/'"),
    "9 % 2": (5, "'2' is not expected"),
    "9 % ease": (5, "'ease' is not expected"),
    "armhole.real": (8, "'.' has no meaning"),
    "armhole.__class__.__mro__": (8, "'.' has no meaning"),
    "(1).__class__": (4, "'.' has no meaning"),
    "armhole[0]": (8, "'[' has no meaning"),
    "[1, 2]": (1, "'[' has no meaning"),
    "{1}": (1, "'{' has no meaning"),
    "'text'": (1, '"\'" has no meaning'),
    '"text"': (1, "has no meaning"),
    "'{0.__class__}'.format(1)": (1, "has no meaning"),
    "f'{armhole}'": (2, "has no meaning"),
    "lambda: 1": (7, "':' has no meaning"),
    "lambda x": (8, "'x' is not expected"),
    "armhole := 3": (9, "':' has no meaning"),
    "armhole = 3": (9, "'=' has no meaning"),
    "1; 2": (2, "';' has no meaning"),
    "1 if true else 2": (3, "'if' is not expected"),
    "[x for x in (1)]": (1, "has no meaning"),
    "import os": (8, "'os' is not expected"),
    "__import__('os')": (12, "has no meaning"),
    "__import__(os)": (1, "'__import__' is no function"),
    "eval(1)": (1, "'eval' is no function"),
    "open(armhole)": (1, "'open' is no function"),
    "mn(1, 2)": (1, "did you mean 'min'?"),
    "armhole(1)": (1, "'armhole' is no function"),
    "(min)(1, 2)": (6, "'(' is not expected"),
    "sqrt": (1, "'sqrt' is no setting"),
    "1 2": (3, "'2' is not expected"),
    "1 mm mm": (6, "'mm' is not expected"),
    "1 parsec": (3, "'parsec' is not expected"),
    "1e3": (2, "'e3' is not expected"),
    "0x10": (2, "'x10' is not expected"),
    "1_000": (2, "'_000' is not expected"),
    "010": (1, "begins with a zero"),
    "1,5": (2, "',' is not expected"),
    "1.": (2, "'.' has no meaning"),
    "1.2.3": (4, "'.3' is not expected"),
    "\u0661 + 1": (1, "has no meaning"),
    "\uff11": (1, "has no meaning"),
    "\u00b2": (1, "has no meaning"),
    "arm\u00a0hole": (5, "'hole' is not expected"),
    "1 \u2212 2": (3, "has no meaning"),
    "1 \u00d7 2": (3, "has no meaning"),
    "1 +\0 2": (4, "'\\x00' has no meaning"),
    "\u202e1": (1, "'\\u202e' has no meaning"),
    "(1": (3, "')' is expected, not 'the end'"),
    "1)": (2, "')' is not expected"),
    "()": (2, "a value is expected, not ')'"),
    "min()": (5, "a value is expected, not ')'"),
    "min(1,)": (7, "a value is expected, not ')'"),
    "min(1 2)": (7, "')' is expected, not '2'"),
    "1 +": (4, "a value is expected, not 'the end'"),
    "* 2": (1, "a value is expected, not '*'"),
    "and": (1, "a value is expected, not 'and'"),
    "1 < > 2": (5, "a value is expected, not '>'"),
    "1 <> 2": (4, "a value is expected, not '>'"),
    "1 === 1": (5, "'=' has no meaning"),
    "1 & 2": (3, "'&' has no meaning"),
    "~1": (1, "'~' has no meaning"),
    # too much of it
    "1" + "+1" * 1000: (2001, "longer than 2000 characters"),
    "-" * 20_000 + "1": (2001, "longer than 2000 characters"),
    "-" * 100 + "1": (52, "nested deeper than 50"),
    "(" * 100 + "1" + ")" * 100: (52, "nested deeper than 50"),
    "not " * 60 + "true": (205, "nested deeper than 50"),
    "min(" * 60 + "1" + ")" * 60: (205, "nested deeper than 50"),
    "9" * 200: (1, "is no number"),
    "999999999": (1, "larger than anything"),
    # what cannot be computed
    "1/0": (2, "'1/0': division by zero"),
    "3 mm + armhole / (1 - 1) * 2": (16, "'armhole / (1 - 1)': division by zero"),
    "armhole / none": (9, "'armhole / none': division by zero"),
    "sqrt(1 - 2)": (1, "'sqrt(1 - 2)': sqrt of a negative number"),
    "2 * sqrt(armhole)": (5, "'sqrt(armhole)': sqrt of a length"),
    "99999 * 99999 * 99999": (15, "'99999 * 99999 * 99999': gives no finite number below 1e+12"),
    "1 / 0.000001 / 0.000001 / 0.000001": (25, "gives no finite number"),
    "unmeasured": (1, "'unmeasured' could not be measured"),
    "1 mm + endless": (8, "'endless' could not be measured"),
    "armhol": (1, "'armhol' is no setting or measurement (did you mean 'armhole'?)"),
    "1 mm + neckline_frnt": (8, "(did you mean 'neckline_front'?)"),
    "zzzzzz": (1, "'zzzzzz' is no setting or measurement"),
    "armhole * armhole": (9, "'armhole * armhole': length times length is no measure"),
    "1 + armhole": (3, "'1 + armhole': ratio + length: both sides must measure the same"),
    "armhole - slope": (9, "length - angle: both sides"),
    "armhole < 3": (9, "length < ratio: both sides"),
    "3 / armhole": (3, "ratio divided by length"),
    "max(1 mm, 3)": (1, "'max(1 mm, 3)': max of different measures"),
    "abs(1, 2)": (1, "abs takes 1 to 1 values"),
    "min(" + "1," * 20 + "1)": (1, "min takes 1 to 20 values"),
    "true + 1": (6, "'true + 1': '+' wants numbers, not true or false"),
    "-true": (1, "'-' wants numbers"),
    "abs(has_bust_dart)": (1, "'abs' wants numbers"),
    "1 and true": (3, "'and' wants true or false"),
    "not 1": (1, "'not' wants true or false"),
    "1 < 2 < 3": (7, "'<' wants numbers"),
}


@pytest.mark.parametrize("text", REFUSED, ids=lambda text: ascii(text)[1:30])
def test_refused_with_its_part_and_column(text: str) -> None:
    column, words = REFUSED[text]
    began = time.process_time()
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text).value(SCOPE)
    assert time.process_time() - began < 0.5
    assert words in str(caught.value)
    assert caught.value.column == column
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 400


def test_the_number_of_operations_is_bounded() -> None:
    text = "1" + "+1" * 999
    assert parse_expression(text).value({}) == Quantity(1000.0, Kind.RATIO)
    assert parse_expression("-1" * 1000).value({}) == Quantity(-1000.0, Kind.RATIO)
    minus = "+ -1" * 499  # two operations each
    assert parse_expression(f"1{minus}").value({}) == Quantity(-498.0, Kind.RATIO)
    with pytest.raises(ExpressionError, match="more than 1000 operations") as caught:
        parse_expression("1" + "--1" * 600)
    assert (
        caught.value.column == 1 + 3 * 500 + 2
    )  # 500 subtractions of a negative number, and then one more


def test_evaluating_nests_no_deeper_than_the_brackets() -> None:
    """However long an expression is, it takes few frames; a batch may call from deep within."""
    flat = parse_expression("1" + "+1*1" * 499)
    deep = parse_expression("(" * 49 + "1" + "+1)" * 49)
    limit = sys.getrecursionlimit()
    here = len(_frames())
    try:
        sys.setrecursionlimit(here + 30)
        assert flat.value({}) == Quantity(500.0, Kind.RATIO)
        sys.setrecursionlimit(here + 150)
        assert deep.value({}) == Quantity(50.0, Kind.RATIO)
    finally:
        sys.setrecursionlimit(limit)


def _frames() -> list[object]:
    frame, found = sys._getframe(1), []
    while frame is not None:
        found.append(frame)
        frame = frame.f_back
    return found


# --- against exact arithmetic --------------------------------------------------------------------

EPSILON = Fraction(1, 2**52)


@dataclass(frozen=True)
class Exact:
    """An exact value, what it measures, and how far floats may be off by the rounding of each step."""

    value: Fraction
    kind: Kind
    off: Fraction


class Refused(Exception):  # noqa: N818
    """The expression has no value."""


class Undecided(Exception):  # noqa: N818
    """Rounding may decide either way."""


def _rounded(value: Fraction, kind: Kind, off: Fraction) -> Exact:
    if abs(value) > 10**12:
        raise Undecided if abs(value) < 10**12 + 1 else Refused
    return Exact(value, kind, off + abs(value) * EPSILON)


def _need(a: object, kind: type) -> None:
    if not isinstance(a, kind):
        raise Refused


def _binary(op: str, a: object, b: object) -> Exact | bool:
    if op in ("and", "or"):
        _need(a, bool)
        _need(b, bool)
        return (a and b) if op == "and" else (a or b)
    _need(a, Exact)
    _need(b, Exact)
    if op == "*":
        if Kind.RATIO not in (a.kind, b.kind):
            raise Refused
        kind = a.kind if b.kind is Kind.RATIO else b.kind
        return _rounded(
            a.value * b.value, kind, abs(a.value) * b.off + abs(b.value) * a.off + a.off * b.off
        )
    if op == "/":
        if abs(b.value) <= b.off:
            raise Refused if b.value == 0 and b.off == 0 else Undecided
        if b.kind is not Kind.RATIO and a.kind is not b.kind:
            raise Refused
        value = a.value / b.value
        off = (a.off + abs(value) * b.off) / (abs(b.value) - b.off)
        return _rounded(value, Kind.RATIO if a.kind is b.kind else a.kind, off)
    if a.kind is not b.kind:
        raise Refused
    if op in ("+", "-"):
        return _rounded(
            a.value + b.value if op == "+" else a.value - b.value, a.kind, a.off + b.off
        )
    if abs(a.value - b.value) <= a.off + b.off and (a.off or b.off):
        raise Undecided
    return {"<": a.value < b.value, "<=": a.value <= b.value, ">": a.value > b.value, ">=": a.value >= b.value,
            "==": a.value == b.value, "!=": a.value != b.value}[op]  # fmt: skip


def _call(name: str, values: list[object]) -> Exact:
    for value in values:
        _need(value, Exact)
    first = values[0]
    if len({value.kind for value in values}) > 1 or (
        name in ("abs", "round", "sqrt") and len(values) > 1
    ):
        raise Refused
    off = max(value.off for value in values)
    if name in ("min", "max"):
        return Exact((min if name == "min" else max)(v.value for v in values), first.kind, off)
    if name == "abs":
        return Exact(abs(first.value), first.kind, off)
    if name == "round":
        if abs(abs(first.value) % 1 - Fraction(1, 2)) <= off and off:
            raise Undecided
        return Exact(Fraction(round(first.value)), first.kind, Fraction(0))
    if first.kind is not Kind.RATIO:
        raise Refused
    if first.value <= off:
        if first.value == off == 0:
            return first
        raise Refused if first.value < -off else Undecided
    with localcontext() as context:
        context.prec = 60
        root = Fraction((Decimal(first.value.numerator) / Decimal(first.value.denominator)).sqrt())
    return _rounded(root, Kind.RATIO, off / root)


Tree = tuple[str, object]  # text, and its value or the exception that it ends in


def _joined(text: str, compute: object, *parts: Tree) -> Tree:
    for _, value in parts:
        if isinstance(value, Exception):
            return text, value
    try:
        return text, compute()
    except (Refused, Undecided) as end:
        return text, end


UNITS = {
    "": (Kind.RATIO, Fraction(1)), "%": (Kind.RATIO, Fraction(1, 100)), "mm": (Kind.LENGTH, Fraction(1)),
    "cm": (Kind.LENGTH, Fraction(10)), " in": (Kind.LENGTH, Fraction(254, 10)), " deg": (Kind.ANGLE, Fraction(1)),
    " \u00b0": (Kind.ANGLE, Fraction(1)),
}  # fmt: skip


def _literal(parts: tuple[int, int, str]) -> Tree:
    digits, places, unit = parts
    number = f"{Decimal(digits).scaleb(-places):f}"
    kind, size = UNITS[unit]
    value = Fraction(number) * size
    if value > 100_000:  # no quantity is larger
        return number + unit, Refused()
    return number + unit, Exact(value, kind, abs(value) * EPSILON)


literals = st.tuples(st.integers(0, 9999), st.integers(0, 3), st.sampled_from(list(UNITS))).map(
    _literal
)
names = st.sampled_from(["armhole", "neckline_front", "slope", "ease", "none"]).map(
    lambda name: (name, Exact(Fraction(SCOPE[name].value), SCOPE[name].kind, Fraction(0)))
)
truths = st.sampled_from([("true", True), ("false", False), ("has_bust_dart", True)])

#: How tight each operator binds, as the grammar in the module has it.
TIGHT = {
    "or": 1,
    "and": 2,
    **dict.fromkeys(("<", "<=", ">", ">=", "==", "!="), 4),
    "+": 5,
    "-": 5,
    "*": 6,
    "/": 6,
}


def _grown(children: st.SearchStrategy[Tree]) -> st.SearchStrategy[Tree]:
    def chain(drawn: tuple[Tree, list[tuple[str, Tree]]]) -> Tree:
        """Operands with operators between: what they mean is by rank, left to right."""
        first, rest = drawn
        text = _operand(first[0]) + "".join(f" {op} {_operand(part[0])}" for op, part in rest)
        if isinstance(first[1], Exception):
            return text, first[1]
        operands, operators = [first], [op for op, _ in rest]
        operands += [part for _, part in rest]
        return text, _by_rank(operands, operators)

    def call(drawn: tuple[str, list[Tree]]) -> Tree:
        name, parts = drawn
        text = f"{name}({', '.join(part[0] for part in parts)})"
        return _joined(text, lambda: _call(name, [part[1] for part in parts]), *parts)

    def minus(part: Tree) -> Tree:
        def compute() -> Exact:
            _need(part[1], Exact)
            return Exact(-part[1].value, part[1].kind, part[1].off)

        return _joined(f"-({part[0]})", compute, part)

    def negated(part: Tree) -> Tree:
        def compute() -> bool:
            _need(part[1], bool)
            return not part[1]

        return _joined(f"(not {_operand(part[0])})", compute, part)

    operators = st.sampled_from([*"+-*/+-*/", "<", "<=", ">", ">=", "==", "!=", "and", "or"])
    return (
        st.tuples(children, st.lists(st.tuples(operators, children), min_size=1, max_size=4)).map(
            chain
        )
        | st.tuples(
            st.sampled_from(["min", "max", "abs", "round", "sqrt"]),
            st.lists(children, min_size=1, max_size=3),
        ).map(call)
        | children.map(minus)
        | children.map(negated)
    )


def _operand(text: str) -> str:
    """In brackets, unless it is one number or name."""
    return text if re.fullmatch(r"[\w.]+( ?(mm|cm|in|deg|%|\u00b0))?", text) else f"({text})"


def _by_rank(operands: list[Tree], operators: list[str]) -> object:
    """The value of a chain: the tightest operators first, equal ones from the left.

    As the program does left before right within each, an end in an exception is the first that it meets;
    either is a refusal, so which one does not matter here.
    """
    operands, operators = list(operands), list(operators)
    while operators:
        at = max(range(len(operators)), key=lambda i: (TIGHT[operators[i]], -i))
        (_, a), (_, b) = operands[at : at + 2]
        for value in (a, b):
            if isinstance(value, Exception):
                return value
        try:
            value = _binary(operators[at], a, b)
        except (Refused, Undecided) as end:
            return end
        operands[at : at + 2] = [("", value)]
        del operators[at]
    return operands[0][1]


trees = st.recursive(literals | names | truths, _grown, max_leaves=14)


@DRAWN
@given(trees)
def test_values_are_those_of_exact_arithmetic(tree: Tree) -> None:
    text, exact = tree
    assume(len(text) <= 2000 and not isinstance(exact, Undecided))
    try:
        value = parse_expression(text).value(SCOPE)
    except ExpressionError as error:
        assert isinstance(exact, Refused) or "deeper" in str(error), (text, exact, error)
        assert 1 <= error.column <= len(text) + 1
        return
    assert not isinstance(exact, Exception), (text, value)
    if isinstance(exact, bool):
        assert value is exact, text
        return
    assert isinstance(value, Quantity)
    assert value.kind is exact.kind, text
    gap = abs(Fraction(value.value) - exact.value)
    assert gap <= 2 * exact.off, (text, value.value, float(exact.value))
    if exact.off * 10**13 <= abs(exact.value):  # nothing has cancelled out
        assert gap <= abs(exact.value) / 10**12


@DRAWN
@given(
    st.text(max_size=80) | st.text("0123456789.+-*/()<>=!, mincdegoratuslf%\u00b0_", max_size=80)
)
@example("1" * 13)
def test_any_text_is_an_expression_or_refused(text: str) -> None:
    try:
        value = parse_expression(text).value(SCOPE)
    except ExpressionError as error:
        assert 1 <= error.column <= len(text) + 1
        assert str(error).isprintable()
    else:
        assert isinstance(value, bool) or math.isfinite(value.value)


@DRAWN
@given(st.text(max_size=60))
def test_any_text_in_a_recipe_gives_only_recipe_errors(text: str) -> None:
    quoted = "'= " + text.replace("'", "''") + "'"
    for where in ("by: {}", "by: 5 mm\n    when: {}"):
        recipe = f"steps:\n  - lower-armhole:\n      {where.replace('{}', quoted)}\n"
        try:
            data = recipe.encode("utf-8", "surrogatepass")
            bind(Recipe.parse(data, "r.yaml", registry()), SCOPE, "38", {})
        except RecipeError as error:
            assert all(problem.place.line or problem.found for problem in error.problems)


# --- quantities ----------------------------------------------------------------------------------

SIZES = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    '"': Fraction(254, 10),
}
SIGNS = {"": 1, "+": 1, "-": -1, "- ": -1}
VULGAR = dict(
    zip(
        "½⅓⅔¼¾⅛⅜⅝⅞",
        map(Fraction, ("1/2", "1/3", "2/3", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8")),
        strict=True,
    )
)
blanks = st.sampled_from(["", " ", "  ", "\t", "\u00a0"])


@st.composite
def written(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A number as people write it, and what it is."""
    whole = draw(st.integers(0, 50))
    form = draw(
        st.sampled_from(
            ["whole", "decimal", "fraction", "mixed", "vulgar", "mixed vulgar", "point"]
        )
    )
    top, bottom = draw(st.integers(1, 999)), draw(st.integers(1, 999))
    digits = draw(st.text("0123456789", min_size=1, max_size=25))
    sign, part = draw(st.sampled_from(list(VULGAR)).map(lambda c: (c, VULGAR[c])))
    return {
        "whole": (f"{whole}", Fraction(whole)),
        "decimal": (f"{whole}.{digits}", Fraction(f"{whole}.{digits}")),
        "point": (f".{digits}", Fraction(f"0.{digits}")),
        "fraction": (f"{top}/{bottom}", Fraction(top, bottom)),
        "mixed": (f"{whole} {top}/{bottom}", whole + Fraction(top, bottom)),
        "vulgar": (sign, part),
        "mixed vulgar": (f"{whole}{sign}", whole + part),
    }[form]


@DRAWN
@given(written(), st.sampled_from(list(SIGNS)), st.sampled_from(list(SIZES)), blanks, blanks)
def test_lengths_are_the_floats_nearest_to_what_is_written(
    number: tuple[str, Fraction], sign: str, unit: str, before: str, after: str
) -> None:
    text, value = number
    exact = SIGNS[sign] * value * SIZES[unit]
    text = f"{sign}{text}{before}{unit}{after}"
    if abs(exact) > 100_000:
        with pytest.raises(QuantityError, match="larger than anything"):
            parse(text, Kind.LENGTH)
    else:
        assert parse(text, Kind.LENGTH) == float(exact)


@DRAWN
@given(written(), st.sampled_from(["", "%", " %"]))
def test_ratios_are_the_floats_nearest_to_what_is_written(
    number: tuple[str, Fraction], unit: str
) -> None:
    text, value = number
    assert parse(text + unit, Kind.RATIO) == float(value / (100 if unit else 1))


@DRAWN
@given(st.floats(-99_000, 99_000), st.sampled_from([Kind.LENGTH, Kind.ANGLE, Kind.RATIO]))
def test_what_is_formatted_reads_back(value: float, kind: Kind) -> None:
    assert parse(formatted(value, kind), kind) == pytest.approx(value, abs=1e-9)


@DRAWN
@given(
    st.text(max_size=30) | st.text('0123456789/.,+- mcindeg%"\u00b0\u00bd', max_size=30),
    st.sampled_from(list(Kind)),
)
def test_any_text_is_a_quantity_or_refused(text: str, kind: Kind) -> None:
    try:
        value = parse(text, kind)
    except QuantityError as error:
        assert str(error).isprintable()
        assert len(str(error)) < 300
    else:
        assert math.isfinite(value)
        assert abs(value) <= 100_000
        assert kind is not Kind.COUNT or value == int(value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("9" * 10**6, "is no number"), (" " * 10**6 + "5 mm", None), ("5" + " " * 10**6 + "mm", "is no number"),
        ("1/" * 10**5, "is no number"), ("\u00bd" * 10**5, "is no number"), ("1 " * 10**5 + "mm", "is no number"),
        ("1/00 in", "begins with a zero"), ("00 mm", "begins with a zero"), ("0.05 mm", None), ("1 0/5 in", None),
        ("1/3 mm", None), ("1.5.2 mm", "no unit"), ("5 MM", None), ("5 mm\n", None), ("5\nmm", None),
    ],
)  # fmt: skip
def test_odd_quantities(text: str, says: str | None) -> None:
    began = time.process_time()
    if says is None:
        assert 0 < parse_quantity(text).value < 30
    else:
        with pytest.raises(QuantityError, match=says):
            parse_quantity(text)
    assert time.process_time() - began < 0.5
