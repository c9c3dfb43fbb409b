"""The text of a DXF file as records: pairs of group code and value, gathered from one code 0 to the next.

Every number of a drawing is looked at here, as text, before anything makes a float of it: NaN, infinity,
underscores, digits of other alphabets and decimal commas are refused with their line.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import LARGEST_NUMBER

LARGEST_CODE = 1071
LONGEST_VALUE = 1 << 16  # characters
COMMENT = 999

_CODE = re.compile(r"\s*\d{1,4}\s*", re.ASCII)
_NUMBER = re.compile(
    r"\s*[-+]?(?:\d{1,60}\.?\d{0,60}|\.\d{1,60})(?:[eE][-+]?\d{1,4})?\s*", re.ASCII
)
_WHOLE = re.compile(r"\s*[-+]?\d{1,18}(?:\.0*)?\s*", re.ASCII)

#: Codes whose values are numbers (10 to 59 and so on) and whole numbers, by the DXF reference.
_FLOATS = frozenset((*range(10, 60), *range(110, 150), *range(210, 240), *range(460, 470)))
_WHOLES = frozenset((*range(60, 100), *range(160, 180), *range(270, 290), *range(370, 390)))

Value = float | int | str


@dataclass(slots=True)
class Record:
    """What stands between one code 0 and the next.

    Attributes:
        kind: the value of code 0.
        line: where it stands.
        tags: code and value, in order; numbers are floats and ints. Outside the sections of entities only
            a SECTION has them, as text.
    """

    kind: str
    line: int
    tags: list[tuple[int, Value]] = field(default_factory=list)


#: Sections that hold what is drawn; only their values are looked at.
DRAWN = ("BLOCKS", "ENTITIES")


def records(text: str, file: str, most: int) -> Iterator[Record]:
    """Yield the records of a file.

    Args:
        text: of the file.
        file: its path, for messages.
        most: groups of one record that are taken.

    Raises:
        ReadError: with the line, for what is no pair of group code and value, and for every number of a
            drawing that is not plain, finite and of a garment's size.
    """
    record: Record | None = None
    typed = False
    for line, code, value in _pairs(text, file):
        if code == 0:
            if record is not None:
                yield record
            record = Record(value.strip(), line)
            if record.kind == "SECTION":
                typed = False
        elif record is None:
            raise ReadError(
                Problem("not a DXF file: it does not begin with a section", Place(file, line))
            )
        elif typed:
            _refuse_long(record, most, file)
            record.tags.append((code, _typed(code, value, Place(file, line + 1))))
        elif record.kind == "SECTION":
            record.tags.append((code, value))
            typed = code == 2 and value.strip() in DRAWN
    if record is None:
        raise ReadError(Problem("not a DXF file: it holds no groups", Place(file, 1)))
    yield record


def _refuse_long(record: Record, most: int, file: str) -> None:
    if len(record.tags) >= most:
        found = f"{record.kind[:24]!r} has more than {most} groups"
        raise ReadError(Problem(found, Place(file, record.line)))


def _pairs(text: str, file: str) -> Iterator[tuple[int, int, str]]:
    """Yield (line of the code, code, value without its line end); comments are left out."""
    lines = io.StringIO(text.rstrip("\x1a\r\n\t "), newline=None)
    known: dict[str, int] = {}
    line = 1
    for head in lines:
        code = known.get(head)
        if code is None:
            code = known[head] = _code(head, Place(file, line))
        value = lines.readline()
        if not value:
            raise ReadError(
                Problem("the file is cut off: it ends after a group code", Place(file, line))
            )
        if len(value) > LONGEST_VALUE:
            raise ReadError(
                Problem(f"a value of {len(value)} characters", Place(file, line + 1),
                        f"{LONGEST_VALUE} are allowed")
            )  # fmt: skip
        if code != COMMENT:
            yield line, code, value.rstrip("\n")
        line += 2


def _code(text: str, place: Place) -> int:
    if _CODE.fullmatch(text) is None or int(text) > LARGEST_CODE:
        shown = text.strip()[:24]
        if place.line == 1:
            raise ReadError(
                Problem(f"not a DXF file: it begins with {shown!r}, which is no group code", place)
            )
        raise ReadError(
            Problem(f"{shown!r} is no group code", place,
                    f"a whole number from 0 to {LARGEST_CODE} is wanted",
                    "is a line missing or doubled before it?")
        )  # fmt: skip
    return int(text)


def _typed(code: int, value: str, place: Place) -> Value:
    if code in _FLOATS:
        return _number(value, place)
    if code in _WHOLES:
        if _WHOLE.fullmatch(value) is None:
            raise ReadError(
                Problem(f"{value.strip()[:24]!r} is no whole number (group {code})", place)
            )
        return int(value.partition(".")[0])
    return value


def _number(value: str, place: Place) -> float:
    shown = value.strip()[:24]
    if _NUMBER.fullmatch(value) is None:
        comma = " (a decimal point is wanted)" if "," in value else ""
        raise ReadError(
            Problem(f"{shown!r} is no number{comma}", place, "a plain decimal is wanted")
        )
    number = float(value)
    if abs(number) > LARGEST_NUMBER:
        raise ReadError(
            Problem(f"{shown} is beyond all measure", place, f"up to {LARGEST_NUMBER:g} is allowed")
        )
    return number
