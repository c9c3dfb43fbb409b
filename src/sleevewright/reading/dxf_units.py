"""The unit of a DXF file: what its text Units says, else its header; never guessed."""

import re

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.formats.d6673 import UNITS_MM, StyleKey, normal_key
from sleevewright.reading.dxf_document import Document

#: $INSUNITS -> mm. The DXF reference's list; light years and the like are no garment's.
INSUNITS = {
    1: 25.4, 2: 304.8, 3: 1609344.0, 4: 1.0, 5: 10.0, 6: 1000.0, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3,
    10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100.0, 15: 1e4, 16: 1e5, 17: 1e12,
    21: 304.8006096, 22: 25.4000508, 23: 914.4018288, 24: 1609347.2187,
}  # fmt: skip

#: What a label map may say.
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def unit_of(document: Document) -> tuple[float, str]:
    """Return how many mm are one unit, 0 where the file says none, and what is odd about it.

    Raises:
        ReadError: its texts name several.
    """
    header = document.units
    number = int(header) if re.fullmatch(r"\d{1,4}", header, re.ASCII) else 0
    by_header = INSUNITS.get(number, 0.0)
    word = _unit_text(document)
    by_text = UNITS_MM.get(word, 0.0)
    if not by_text:
        unknown = f"the text Units: {word} is no unit that is known; $INSUNITS {number} is"
        return by_header, unknown if word else ""
    differs = by_header not in (0.0, by_text)
    return by_text, f"the text Units: {word} stands above $INSUNITS {number}" if differs else ""


def refuse_unit(document: Document, width: float, height: float) -> ReadError:
    """Return the refusal of a drawing without a unit; it says how large it would be in each.

    Args:
        document: the file.
        width, height: in the drawing's unit; 0 where nothing is drawn.
    """
    header = document.units
    says = f"$INSUNITS is {header!r}" if header else "$INSUNITS is missing"
    sizes = (
        f"in {unit} it is {width * mm / 10:.0f} by {height * mm / 10:.0f} cm"
        for unit, mm in UNITS.items()
    )
    return ReadError(
        Problem(f"the drawing says no unit ({says})", Place(document.file),
                ", ".join(sizes) if width or height else "",
                "say it in a label map, such as units: mm")
    )  # fmt: skip


def _unit_text(document: Document) -> str:
    """Return the value of the text Units of a file; "" where it has none."""
    found: dict[str, None] = {}
    for entity in document.everything():
        key, colon, value = entity.text.partition(":")
        if colon and entity.kind != "INSERT" and normal_key(key) == normal_key(StyleKey.UNITS):
            found[value.strip().upper()] = None
    if len(found) > 1:
        raise ReadError(
            Problem(f"texts name several units: {', '.join(found)}", Place(document.file),
                    "one unit a file", "say it in a label map, such as units: mm")
        )  # fmt: skip
    return next(iter(found), "")
