"""Numbers, lengths and transforms of SVG; what is no such is a ValueError that says where in the text.

No pattern here can be matched in two ways, so that no text takes more than a time in proportion to it.
"""

import math
import re
from collections.abc import Callable

from sleevewright.errors import on_one_line
from sleevewright.geometry import Affine

#: mm of one unit. A user unit is 1/96 in where the file says no size.
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25, "m": 1000.0}

#: User units. Larger numbers are a mistake, whatever the units are.
LARGEST = 1e9
#: Characters of a number, of a length with its unit and of a list of transforms.
LONGEST, LONGEST_TRANSFORM = 64, 10_000
#: A transform that makes areas less than this of what lengths say flattens the drawing.
FLATTEST = 1e-9

#: A number, and what separates it from the next: one comma at most; two of them may have lost a number.
_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
_BLANKS = r"[ \t\r\n\f]*"
_NEXT = re.compile(rf"({_NUMBER}){_BLANKS}(?:,{_BLANKS})?", re.ASCII)
_BLANK = re.compile(_BLANKS)
_LENGTH = re.compile(r"([^A-Za-z%]*(?:[eE][-+]?\d+)?)([A-Za-z%]*)", re.ASCII)
_TRANSFORM = re.compile(
    rf"(matrix|translate|scale|rotate|skewX|skewY){_BLANKS}\(([^()]*)\){_BLANKS}(?:,{_BLANKS})?"
)
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3)}


def after_blanks(text: str, at: int = 0) -> int:
    """Return the index of the first character that is no blank."""
    match = _BLANK.match(text, at)
    return match.end() if match else at


def number_at(text: str, at: int, what: str) -> tuple[float, int]:
    """Return the number that begins at an index, and the index of what follows it.

    Raises:
        ValueError: there is none, or it is beyond 10^9.
    """
    match = _NEXT.match(text, at)
    if match is None:
        raise ValueError(f"{what}: {text[at : at + 8]!r} at character {at + 1} is no number")
    word = match[1]
    if len(word) > LONGEST or not -LARGEST <= (value := float(word)) <= LARGEST:
        raise ValueError(
            f"{what}: {on_one_line(word, 20)} at character {at + 1} is beyond {LARGEST:g}"
        )
    return value, match.end()


def numbers(text: str, what: str, count: Callable[[int], None] | None = None) -> list[float]:
    """Return the numbers of a list.

    Args:
        text: numbers between blanks and commas.
        what: names the list in messages.
        count: is told of each number before the next one is read.

    Raises:
        ValueError: with the position in the text, first character 1.
    """
    found: list[float] = []
    at = after_blanks(text)
    while at < len(text):
        value, at = number_at(text, at, what)
        found.append(value)
        if count:
            count(1)
    return found


def length(text: str, what: str) -> tuple[float, str]:
    """Return the number of a length and its unit in small letters, "" without one.

    Raises:
        ValueError: it is none.
    """
    match = _LENGTH.fullmatch(text.strip()) if len(text) <= LONGEST else None
    number = match[1].strip() if match else ""
    if match is None or re.fullmatch(_NUMBER, number, re.ASCII) is None:
        raise ValueError(f"{what} {on_one_line(text, 40)!r} is no length")
    value, _ = number_at(number, 0, what)
    return value, match[2].lower()


def user_units(text: str, what: str) -> float:
    """Return a coordinate in user units; physical units are converted at 96 to the inch.

    Raises:
        ValueError: it is no length, or a part of a size (%, em) that is not known.
    """
    value, unit = length(text, what)
    if unit in ("", "px"):
        return value
    if unit not in MM:
        raise ValueError(f"{what} {text!r} is no length; units are px, {', '.join(MM)}")
    return value * MM[unit] * 96 / 25.4


def transform(text: str) -> Affine:
    """Return the map that a list of transforms makes.

    Raises:
        ValueError: it cannot be read, or flattens or blows up the drawing.
    """
    if len(text) > LONGEST_TRANSFORM:
        raise ValueError(f"a transform of {len(text)} characters; {LONGEST_TRANSFORM} are allowed")
    total = Affine.identity()
    at = after_blanks(text)
    while at < len(text):
        match = _TRANSFORM.match(text, at)
        if match is None:
            raise ValueError(
                f"transform: {text[at : at + 20]!r} at character {at + 1} cannot be read; allowed are"
                " matrix, translate, scale, rotate, skewX and skewY with their numbers in brackets"
            )
        total = total @ _one_transform(match[1], match[2])
        at = match.end()
    size = total.a**2 + total.b**2 + total.c**2 + total.d**2
    if not (1e-12 < size < 1e12) or not abs(total.determinant) > FLATTEST * size:
        raise ValueError(f"transform {on_one_line(text, 80)!r} flattens the drawing or blows it up")
    return total


def _one_transform(name: str, text: str) -> Affine:
    v = numbers(text, f"transform {name}")
    if len(v) not in _COUNTS.get(name, (1,)):
        raise ValueError(f"transform {name}({on_one_line(text, 40)}) has {len(v)} numbers")
    if name == "matrix":
        return Affine(*v)
    if name == "translate":
        return Affine.translation((v[0], v[1] if len(v) > 1 else 0.0))
    if name == "scale":
        return Affine.scaling(v[0], v[-1])
    if name == "rotate":
        return Affine.rotation(v[0], v[1:] if len(v) == 3 else (0.0, 0.0))
    slope = math.tan(math.radians(v[0]))
    return Affine(1, 0, slope, 1, 0, 0) if name == "skewX" else Affine(1, slope, 0, 1, 0, 0)
