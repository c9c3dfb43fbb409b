"""Expressions: the value of each operator and function, and what is said of one that has none, whole."""

import math

import pytest

from sleevewright.quantities import Kind, Quantity
from sleevewright.recipe.expression import ExpressionError, parse_expression

SCOPE = {
    "armhole": Quantity(450.5, Kind.LENGTH),
    "slope": Quantity(22.5, Kind.ANGLE),
    "ease": Quantity(0.04, Kind.RATIO),
    "tucks": Quantity(3.0, Kind.COUNT),
    "none": Quantity(0.0, Kind.LENGTH),
    "unmeasured": Quantity(math.nan, Kind.LENGTH),
    "Bust_B2Z": Quantity(900.0, Kind.LENGTH),
    "_z9": Quantity(1.0, Kind.RATIO),
    "has_dart": True,
    "is_lined": False,
}


def mm(value: float) -> Quantity:
    return Quantity(value, Kind.LENGTH)


def ratio(value: float) -> Quantity:
    return Quantity(value, Kind.RATIO)


def degrees(value: float) -> Quantity:
    return Quantity(value, Kind.ANGLE)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # numbers and names
        ("12", ratio(12.0)), ("1.5 cm", mm(15.0)), (".5", ratio(0.5)), ("5%", ratio(0.05)), ("2 m", mm(2000.0)),
        ("1 in", mm(25.4)), ("15°", degrees(15.0)), ("15 deg", degrees(15.0)), ("  7 mm  ", mm(7.0)),
        (".55", ratio(0.55)), ("12.75 mm", mm(12.75)), ("5 mm-5 mm", mm(0.0)),
        ("armhole", mm(450.5)), ("Bust_B2Z", mm(900.0)), ("_z9", ratio(1.0)), ("tucks", Quantity(3.0, Kind.COUNT)),
        ("true", True), ("false", False), ("has_dart", True), ("is_lined", False), ("1\u00a0+\t1\n", ratio(2.0)),
        # measures
        ("3 mm + 4 mm", mm(7.0)), ("3 mm - 4 mm", mm(-1.0)), ("slope + 1 deg", degrees(23.5)),
        ("2 * 3 mm", mm(6.0)), ("3 mm * 2", mm(6.0)), ("3 * 2", ratio(6.0)), ("slope * 2", degrees(45.0)),
        ("6 mm / 2", mm(3.0)), ("6 mm / 2 mm", ratio(3.0)), ("6 / 4", ratio(1.5)), ("slope / 22.5 deg", ratio(1.0)),
        ("tucks / tucks", ratio(1.0)), ("none / armhole", ratio(0.0)), ("none * 0", mm(0.0)),
        # from left to right, tight ones first
        ("10 - 4 - 3", ratio(3.0)), ("10 - 4 + 3", ratio(9.0)), ("24 / 4 / 2", ratio(3.0)), ("24 / 4 * 2", ratio(12.0)),
        ("1 + 2 * 3", ratio(7.0)), ("2 * 3 + 1", ratio(7.0)), ("(1 + 2) * 3", ratio(9.0)), ("1 - 6 / 3", ratio(-1.0)),
        ("-2 + 3", ratio(1.0)), ("- 2 mm", mm(-2.0)), ("--2", ratio(2.0)), ("+2", ratio(2.0)), ("-+2", ratio(-2.0)),
        ("2 * -3", ratio(-6.0)), ("2 - -3", ratio(5.0)), ("-(1 + 2)", ratio(-3.0)),
        # comparisons
        ("1 < 2", True), ("2 < 2", False), ("3 < 2", False), ("1 <= 2", True), ("2 <= 2", True), ("3 <= 2", False),
        ("1 > 2", False), ("2 > 2", False), ("3 > 2", True), ("1 >= 2", False), ("2 >= 2", True), ("3 >= 2", True),
        ("2 == 2", True), ("2 == 3", False), ("3 == 2", False), ("2 != 2", False), ("2 != 3", True), ("3 != 2", True),
        ("25.4 mm == 1 in", True),
        ("1 + 1 < 3", True), ("3 < 1 + 1", False), ("2 * 2 == 4", True),
        ("3 <= 1 + 1", False), ("3 > 1 + 1", True), ("3 >= 1 + 1", True), ("3 == 1 + 1", False), ("3 != 1 + 1", True),
        ("not 1 <= 2", False), ("not 1 > 2", True), ("not 1 >= 2", True), ("not 1 != 2", False),
        # truth: not is looser than a comparison, tighter than and; and is tighter than or
        ("not true", False), ("not false", True), ("not not true", True), ("not 1 < 2", False), ("not 1 == 2", True),
        ("not false and false", False), ("not true or true", True),
        ("true and true", True), ("true and false", False), ("false and true", False), ("false and false", False),
        ("true or true", True), ("true or false", True), ("false or true", True), ("false or false", False),
        ("true or true and false", True), ("false and true or true", True), ("(true or true) and false", False),
        ("1 < 2 and 2 < 3", True), ("1 < 2 or 1 < 0", True), ("has_dart and not is_lined", True),
        # functions
        ("min(3, 1, 2)", ratio(1.0)), ("max(1, 3, 2)", ratio(3.0)), ("min(armhole)", mm(450.5)),
        ("max(2 deg, slope)", degrees(22.5)), ("min(1 + 1, 2 * 3)", ratio(2.0)),
        ("abs(-3 mm)", mm(3.0)), ("abs(3 deg)", degrees(3.0)), ("round(2.6 mm)", mm(3.0)), ("round(-2.4)", ratio(-2.0)),
        ("sqrt(9)", ratio(3.0)), ("sqrt(0)", ratio(0.0)), ("2 * max(1, 2) - 1", ratio(3.0)),
        ("max(max(1, 2), 3)", ratio(3.0)),
        ("min(" + "2," * 19 + "1)", ratio(1.0)), ("max(" + "1," * 19 + "2)", ratio(2.0)),
        # the last that is allowed
        ("10000 * 10000 * 10000", ratio(1e12)), ("-10000 * 10000 * 10000", ratio(-1e12)),
        ("(" * 50 + "1" + ")" * 50, ratio(1.0)), ("-" * 50 + "1", ratio(1.0)), ("not " * 50 + "true", True),
        ("abs(" * 50 + "1" + ")" * 50, ratio(1.0)), ("1 + " + "(" * 49 + "1" + ")" * 49, ratio(2.0)),
        ("max(1, " + "(" * 49 + "2" + ")" * 49 + ")", ratio(2.0)), (" " * 1999 + "1", ratio(1.0)),
        ("1" + "-1" * 990 + "-" * 10 + "1", ratio(-988.0)),
    ],
    ids=lambda value: value[:30] if isinstance(value, str) else "",
)  # fmt: skip
def test_an_expression_has_one_value(text: str, value: Quantity | bool) -> None:
    found = parse_expression(text).value(SCOPE)
    assert found == value
    assert type(found) is type(value)


FUNCTIONS_ARE = "functions are min, max, abs, round, sqrt"

#: Expression -> the column (first is 1) and all that is said.
REFUSED = {
    "1 $ 2": (3, "'$' has no meaning here"),
    "1   $": (5, "'$' has no meaning here"),
    "1 mmx": (3, "'mmx' is not expected here"),
    "\u0663 + 1": (1, "'\u0663' has no meaning here"),
    "1 mmX": (3, "'mmX' is not expected here"),
    "1 mm_": (3, "'mm_' is not expected here"),
    "1 mm5": (3, "'mm5' is not expected here"),
    "1 mm0": (3, "'mm0' is not expected here"),
    "1 mm * 2 mm / 2 mm": (6, "'1 mm * 2 mm': length times length is no measure"),
    "1 2": (3, "'2' is not expected here"),
    "(1": (3, "')' is expected, not 'the end'"),
    "(1 2)": (4, "')' is expected, not '2'"),
    "min(1": (6, "')' is expected, not 'the end'"),
    "min(1 2)": (7, "')' is expected, not '2'"),
    "1 + ": (5, "a value is expected, not 'the end'"),
    "1 + * 2": (5, "a value is expected, not '*'"),
    "1 + or": (5, "a value is expected, not 'or'"),
    "2 * and": (5, "a value is expected, not 'and'"),
    "not": (4, "a value is expected, not 'the end'"),
    "1 + 010": (5, "'010' begins with a zero; write a plain decimal number"),
    "1 + mn(2)": (5, f"'mn' is no function (did you mean 'min'?); {FUNCTIONS_ARE}"),
    "1 + xyzzy(2)": (5, f"'xyzzy' is no function; {FUNCTIONS_ARE}"),
    "1 mm + armhol": (8, "'armhol' is no setting or measurement (did you mean 'armhole'?)"),
    "1 mm + xyzzy": (8, "'xyzzy' is no setting or measurement"),
    "1 mm + unmeasured": (8, "'unmeasured' could not be measured"),
    "1 mm + none * (2 mm / none)": (21, "'2 mm / none': division by zero"),
    "armhole * slope": (9, "'armhole * slope': length times angle is no measure"),
    "tucks * armhole": (7, "'tucks * armhole': count times length is no measure"),
    "armhole / slope": (9, "'armhole / slope': length divided by angle is no measure"),
    "3 / armhole": (3, "'3 / armhole': ratio divided by length is no measure"),
    "1 + armhole": (3, "'1 + armhole': ratio + length: both sides must measure the same"),
    "armhole < slope": (9, "'armhole < slope': length < angle: both sides must measure the same"),
    "2 * (1 - slope)": (8, "'1 - slope': ratio - angle: both sides must measure the same"),
    "-true": (1, "'-true': '-' wants numbers, not true or false"),
    "1 + +true": (5, "'+true': '+' wants numbers, not true or false"),
    "1 * true": (3, "'1 * true': '*' wants numbers, not true or false"),
    "true * 1": (6, "'true * 1': '*' wants numbers, not true or false"),
    "abs( has_dart )": (1, "'abs( has_dart )': 'abs' wants numbers, not true or false"),
    "max(1, true)": (1, "'max(1, true)': 'max' wants numbers, not true or false"),
    "abs(1 or true)": (7, "'1 or true': 'or' wants true or false"),
    "max(1, 1 or true)": (10, "'1 or true': 'or' wants true or false"),
    "true and 1": (6, "'true and 1': 'and' wants true or false"),
    "1 or true": (3, "'1 or true': 'or' wants true or false"),
    "true or 1": (6, "'true or 1': 'or' wants true or false"),  # both sides are looked at
    "not 1": (1, "'not 1': 'not' wants true or false"),
    "abs(1, 2)": (1, "'abs(1, 2)': abs takes 1 to 1 values"),
    "1 + sqrt(1, 2)": (5, "'sqrt(1, 2)': sqrt takes 1 to 1 values"),
    "round(1, 2)": (1, "'round(1, 2)': round takes 1 to 1 values"),
    "max(" + "1," * 20 + "2)": (1, "'max(" + "1," * 20 + "2)': max takes 1 to 20 values"),
    "min(" + "1," * 20 + "2)": (1, "'min(" + "1," * 20 + "2)': min takes 1 to 20 values"),
    "max(1 mm, 3)": (1, "'max(1 mm, 3)': max of different measures"),
    "1 + sqrt(armhole)": (5, "'sqrt(armhole)': sqrt of a length is no measure"),
    "sqrt(0 - 0.5)": (1, "'sqrt(0 - 0.5)': sqrt of a negative number"),
    "10000 * 10000 * 10000 + 1": (23, "'10000 * 10000 * 10000 + 1': gives no finite number below 1e+12"),
    "-10000 * 10000 * 10000 - 1": (24, "'-10000 * 10000 * 10000 - 1': gives no finite number below 1e+12"),
    "9 / 0.000001 / 0.000001": (14, "'9 / 0.000001 / 0.000001': gives no finite number below 1e+12"),
    "1 / 0" + " + 1" * 30: (3, "'1 / 0': division by zero"),
    "1" + "+1" * 1000: (2001, "longer than 2000 characters"),
    "1" + "-1" * 991 + "-" * 10 + "1": (1984, "more than 1000 operations"),
    "(" * 51 + "1" + ")" * 51: (52, "nested deeper than 50"),
    "-" * 51 + "1": (52, "nested deeper than 50"),
    "1 + " + "(" * 50 + "1" + ")" * 50: (55, "nested deeper than 50"),
    "abs(" * 51 + "1" + ")" * 51: (205, "nested deeper than 50"),
    "max(1, " + "(" * 50 + "2" + ")" * 50 + ")": (58, "nested deeper than 50"),
}  # fmt: skip


@pytest.mark.parametrize("text", REFUSED, ids=lambda text: ascii(text)[1:30])
def test_what_has_no_value_is_told_whole(text: str) -> None:
    column, said = REFUSED[text]
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text).value(SCOPE)
    assert str(caught.value) == said
    assert caught.value.column == column


@pytest.mark.parametrize("count", [80, 81])
def test_a_long_part_is_cut_off_at_80_characters(count: int) -> None:
    text = f"1{' ' * (count - 10)}/ (2 - 2)"
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text).value({})
    part = text if count == 80 else f"{text[:79]}…"
    assert str(caught.value) == f"'{part}': division by zero"


def test_what_it_reads_is_known_before_it_is_computed() -> None:
    text = "max(armhole, 2 * other) + none / 2 > 1 mm and not has_dart or true"
    expression = parse_expression(text)
    assert expression.text == text
    assert expression.names == {"armhole", "other", "none", "has_dart"}
    assert parse_expression("1 + 2").names == frozenset()


def test_one_expression_has_a_value_in_every_scope() -> None:
    expression = parse_expression("2 * a")
    assert [expression.value({"a": mm(v)}) for v in (1.0, 2.0)] == [mm(2.0), mm(4.0)]


@pytest.mark.parametrize("text", ["abs(far)", "max(1 mm, far)", "far + 1 mm", "far / 1"])
def test_no_step_gives_a_larger_number_whatever_was_measured(text: str) -> None:
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text).value({"far": mm(math.nextafter(1e12, math.inf))})
    assert str(caught.value) == f"'{text}': gives no finite number below 1e+12"
