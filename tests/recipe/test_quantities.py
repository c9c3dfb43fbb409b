"""Quantities: what each text means, and the whole of what is said to one that is refused."""

import pytest

from sleevewright.quantities import (
    Kind,
    Quantity,
    QuantityError,
    example,
    formatted,
    parse,
    parse_quantity,
)

LENGTHS = "12 mm, 1.5 cm or 1 3/8 in"
UNITS_ARE = "units are mm, cm, m, in, deg and %"


@pytest.mark.parametrize(
    ("text", "value", "kind"),
    [
        ("12 mm", 12.0, Kind.LENGTH),
        ("1.5 cm", 15.0, Kind.LENGTH),
        ("2 m", 2000.0, Kind.LENGTH),
        ("1 in", 25.4, Kind.LENGTH),
        ('2"', 50.8, Kind.LENGTH),
        ("15 deg", 15.0, Kind.ANGLE),
        ("15°", 15.0, Kind.ANGLE),
        ("40 %", 0.4, Kind.RATIO),
        ("1.5", 1.5, Kind.RATIO),
        (".5", 0.5, Kind.RATIO),
        ("3/4", 0.75, Kind.RATIO),
        ("  7 MM  ", 7.0, Kind.LENGTH),
        ("+5 mm", 5.0, Kind.LENGTH),
        ("- 5 mm", -5.0, Kind.LENGTH),
        ("1 3/8 in", 34.925, Kind.LENGTH),
        ("12  13/16 in", 325.4375, Kind.LENGTH),
        (".55", 0.55, Kind.RATIO),
        ("-1 3/8 in", -34.925, Kind.LENGTH),
        ("0 1/2 in", 12.7, Kind.LENGTH),
        ("½ in", 12.7, Kind.LENGTH),
        ("2½ in", 63.5, Kind.LENGTH),
        ("1⅓", 4 / 3, Kind.RATIO),
        ("⅔", 2 / 3, Kind.RATIO),
        ("¼", 0.25, Kind.RATIO),
        ("¾", 0.75, Kind.RATIO),
        ("⅛", 0.125, Kind.RATIO),
        ("⅜", 0.375, Kind.RATIO),
        ("⅝", 0.625, Kind.RATIO),
        ("⅞", 0.875, Kind.RATIO),
        ("0.05 mm", 0.05, Kind.LENGTH),
        ("10 mm", 10.0, Kind.LENGTH),
        ("100 m", 100_000.0, Kind.LENGTH),
        ("-100 m", -100_000.0, Kind.LENGTH),
        ("100000", 100_000.0, Kind.RATIO),
        ("0." + "1" * 98, 1 / 9, Kind.RATIO),
    ],
)
def test_what_is_written_is_what_is_meant(text: str, value: float, kind: Kind) -> None:
    assert parse_quantity(text) == Quantity(value, kind)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", f"'' is no number with a unit; write {LENGTHS}"),
        ("wide", f"'wide' is no number with a unit; write {LENGTHS}"),
        ("1 2 mm", f"'1 2 mm' is no number with a unit; write {LENGTHS}"),
        ("0 5", f"'0 5' is no number with a unit; write {LENGTHS}"),
        ("٣ mm", f"'٣ mm' is no number with a unit; write {LENGTHS}"),
        ("010 mm", "'010 mm' begins with a zero; write a plain decimal number"),
        ("1 02/3 in", "'1 02/3 in' begins with a zero; write a plain decimal number"),
        ("5 parsec", f"'5 parsec' has no unit that is known; {UNITS_ARE}"),
        ("5 mm mm", f"'5 mm mm' has no unit that is known; {UNITS_ARE}"),
        ("1e3 mm", f"'1e3 mm' has no unit that is known; {UNITS_ARE}"),
        ("1 ,5 mm", f"'1 ,5 mm' has no unit that is known (write a decimal point, not a comma); {UNITS_ARE}"),
        ("1,5 mm", f"'1,5 mm' has no unit that is known (write a decimal point, not a comma); {UNITS_ARE}"),
        ("1.5½", f"'1.5½' has no unit that is known; {UNITS_ARE}"),
        ("1/0 in", "'1/0 in' divides by zero"),
        ("100.001 m", "'100.001 m' is larger than anything on a garment (100 m)"),
        ("-100001 mm", "'-100001 mm' is larger than anything on a garment (100 m)"),
        ("0." + "1" * 99, f"'0.{'1' * 56}… is no number with a unit; write {LENGTHS}"),
        ("a" * 58, f"'{'a' * 58}' is no number with a unit; write {LENGTHS}"),
        ("a" * 59, f"'{'a' * 58}… is no number with a unit; write {LENGTHS}"),
    ],
)  # fmt: skip
def test_what_is_no_quantity_is_told_so(text: str, said: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)
    assert str(caught.value) == said


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ('3/8"', Kind.LENGTH, 9.525),
        ("15 deg", Kind.ANGLE, 15.0),
        ("40 %", Kind.RATIO, 0.4),
        ("1.5", Kind.RATIO, 1.5),
        ("4", Kind.COUNT, 4.0),
        ("-2", Kind.COUNT, -2.0),
        ("4.0", Kind.COUNT, 4.0),
        ("0", Kind.COUNT, 0.0),
        ("0", Kind.LENGTH, 0.0),  # nothing is nothing in every unit
        ("0.00", Kind.ANGLE, 0.0),
        ("0", Kind.RATIO, 0.0),
        ("0 %", Kind.RATIO, 0.0),
    ],
)
def test_a_kind_takes_its_own_units(text: str, kind: Kind, value: float) -> None:
    assert parse(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("5", Kind.LENGTH, f"'5' has no unit; write {LENGTHS}"),
        ("5", Kind.ANGLE, "'5' has no unit; write 15 deg"),
        ("5 %", Kind.LENGTH, f"'5 %' is no length; write {LENGTHS}"),
        ("0 %", Kind.LENGTH, f"'0 %' is no length; write {LENGTHS}"),
        ("0 deg", Kind.LENGTH, f"'0 deg' is no length; write {LENGTHS}"),
        ("5 deg", Kind.LENGTH, f"'5 deg' is no length; write {LENGTHS}"),
        ("5 mm", Kind.ANGLE, "'5 mm' is no angle; write 15 deg"),
        ("5 mm", Kind.RATIO, "'5 mm' is no ratio; write 40 % or 1.5"),
        ("0 mm", Kind.RATIO, "'0 mm' is no ratio; write 40 % or 1.5"),
        ("4 mm", Kind.COUNT, "'4 mm' is no count; write a whole number such as 4"),
        ("1.5", Kind.COUNT, "'1.5' is no count; write a whole number such as 4"),
        ("100 %", Kind.COUNT, "'100 %' is no count; write a whole number such as 4"),
        ("0 %", Kind.COUNT, "'0 %' is no count; write a whole number such as 4"),
        ("5." + "0" * 56, Kind.LENGTH, f"'5.{'0' * 56}' has no unit; write {LENGTHS}"),
        ("5." + "0" * 57, Kind.LENGTH, f"'5.{'0' * 56}… has no unit; write {LENGTHS}"),
        ("wide", Kind.ANGLE, f"'wide' is no number with a unit; write {LENGTHS}"),
    ],
)
def test_another_kind_is_told_what_to_write(text: str, kind: Kind, said: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    assert str(caught.value) == said


@pytest.mark.parametrize("kind", Kind)
def test_the_example_of_a_kind_is_one(kind: Kind) -> None:
    for text in example(kind).removeprefix("a whole number such as ").split(" or "):
        for one in text.split(", "):
            assert parse(one, kind) > 0


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (35.0, Kind.LENGTH, "35 mm"),
        (-34.925, Kind.LENGTH, "-34.925 mm"),
        (100_000.0, Kind.LENGTH, "100000 mm"),
        (22.5, Kind.ANGLE, "22.5 deg"),
        (0.4, Kind.RATIO, "0.4"),
        (10.0, Kind.COUNT, "10"),
        (0.0, Kind.LENGTH, "0 mm"),
        (-0.0, Kind.COUNT, "0"),
        (-1e-12, Kind.ANGLE, "0 deg"),
        (1 / 3, Kind.RATIO, "0.333333333"),
        (0.000000001, Kind.LENGTH, "0.000000001 mm"),
        (0.1 + 0.2, Kind.LENGTH, "0.3 mm"),
    ],
)
def test_a_quantity_is_written_plainly(value: float, kind: Kind, text: str) -> None:
    assert formatted(value, kind) == text
