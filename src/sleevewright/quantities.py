"""Lengths, angles, ratios and counts: exact parsing, formatting, the kinds a setting may have.

Inside the program a length is a float in mm, an angle a float in degrees, a ratio a plain number.
Text is parsed as a fraction and converted once, so that 1 3/8 in is 34.925 mm to the last digit.
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from sleevewright.errors import on_one_line


class Kind(StrEnum):
    """What a number measures."""

    LENGTH = "length"
    ANGLE = "angle"
    RATIO = "ratio"
    COUNT = "count"


#: Units by name: kind and size in mm, degrees or plain numbers. The inch is 25.4 mm by definition.
UNITS: dict[str, tuple[Kind, Fraction]] = {
    "mm": (Kind.LENGTH, Fraction(1)),
    "cm": (Kind.LENGTH, Fraction(10)),
    "m": (Kind.LENGTH, Fraction(1000)),
    "in": (Kind.LENGTH, Fraction(254, 10)),
    '"': (Kind.LENGTH, Fraction(254, 10)),
    "deg": (Kind.ANGLE, Fraction(1)),
    "°": (Kind.ANGLE, Fraction(1)),
    "%": (Kind.RATIO, Fraction(1, 100)),
}

#: mm, degrees. Nothing on a garment is larger; a larger number is a mistake.
LARGEST = 100_000
#: Characters of a quantity.
LONGEST = 100

_EXAMPLES = {
    Kind.LENGTH: "12 mm, 1.5 cm or 1 3/8 in",
    Kind.ANGLE: "15 deg",
    Kind.RATIO: "40 % or 1.5",
    Kind.COUNT: "a whole number such as 4",
}

_VULGAR = dict(
    zip("½⅓⅔¼¾⅛⅜⅝⅞", ("1/2", "1/3", "2/3", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), strict=True)
)

_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)\s+)?(?:(?P<top>\d+)/(?P<bottom>\d+)"
    r"|(?P<decimal>\d+(?:\.\d+)?|\.\d+))",
    re.ASCII,
)
#: 010 is 10 to some and 8 to others.
_LEADING_ZERO = re.compile(r"(?<![\d.])0\d", re.ASCII)


class QuantityError(ValueError):
    """Text that is no quantity of the kind wanted; says what is allowed."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its kind.

    Attributes:
        value: mm, degrees, or a plain number.
        kind: what it measures.
    """

    value: float
    kind: Kind


def parse_quantity(text: str) -> Quantity:
    """Read a quantity whose unit says its kind; a plain number is a ratio.

    Raises:
        QuantityError: it is no number, has an unknown unit, or is larger than 100 m.

    >>> parse_quantity("1 3/8 in")
    Quantity(value=34.925, kind=<Kind.LENGTH: 'length'>)
    >>> parse_quantity("40 %").value
    0.4
    """
    said = on_one_line(repr(text), 60)
    plain = text.strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.strip()
    match = _NUMBER.match(plain) if len(plain) <= LONGEST else None
    if match is None or (match["whole"] and match["decimal"]):
        raise QuantityError(f"{said} is no number with a unit; write {_EXAMPLES[Kind.LENGTH]}")
    if _LEADING_ZERO.search(match[0]):
        raise QuantityError(f"{said} begins with a zero; write a plain decimal number")
    unit = plain[match.end() :].strip().lower()
    if unit and unit not in UNITS:
        hint = " (write a decimal point, not a comma)" if unit.startswith(",") else ""
        raise QuantityError(
            f"{said} has no unit that is known{hint}; units are mm, cm, m, in, deg and %"
        )
    if match["top"]:
        if int(match["bottom"]) == 0:
            raise QuantityError(f"{said} divides by zero")
        number = Fraction(int(match["top"]), int(match["bottom"])) + int(match["whole"] or 0)
    else:
        number = Fraction(match["decimal"])
    kind, size = UNITS[unit] if unit else (Kind.RATIO, Fraction(1))
    exact = (-number if match["sign"] == "-" else number) * size
    if abs(exact) > LARGEST:
        raise QuantityError(f"{said} is larger than anything on a garment (100 m)")
    return Quantity(float(exact), kind)


def parse(text: str, kind: Kind) -> float:
    """Read a quantity of one kind: mm, degrees, a plain number or a whole number.

    Raises:
        QuantityError: it is something else; a length without a unit is refused.

    >>> parse('3/8"', Kind.LENGTH)
    9.525
    """
    quantity = parse_quantity(text)
    if kind is Kind.COUNT:
        if (
            quantity.kind is Kind.RATIO
            and quantity.value == int(quantity.value)
            and "%" not in text
        ):
            return quantity.value
    elif quantity.kind is kind:
        return quantity.value
    elif quantity.value == 0 and quantity.kind is Kind.RATIO and "%" not in text:
        return 0.0  # nothing is nothing in every unit
    missing = quantity.kind is Kind.RATIO and "%" not in text and kind is not Kind.COUNT
    what = "has no unit" if missing else f"is no {kind}"
    raise QuantityError(f"{on_one_line(repr(text), 60)} {what}; write {_EXAMPLES[kind]}")


def example(kind: Kind) -> str:
    """Return how a quantity of a kind is written, for messages."""
    return _EXAMPLES[kind]


def formatted(value: float, kind: Kind) -> str:
    """Return a quantity as text that `parse` reads back to within 1e-9.

    >>> formatted(35.0, Kind.LENGTH)
    '35 mm'
    """
    number = f"{value:.9f}".rstrip("0").rstrip(".")
    number = "0" if number == "-0" else number
    return {
        Kind.LENGTH: f"{number} mm",
        Kind.ANGLE: f"{number} deg",
    }.get(kind, number)
