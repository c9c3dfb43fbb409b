"""Layers and system texts of pattern DXF files, after ASTM D6673 (withdrawn 2019).

One table for reader and writer. The layer name is the number as text; a system text is
"Key: value" in one TEXT, matched without regard to case or blanks (`normal_key`).
"""

from enum import StrEnum


class Layer(StrEnum):
    """What lies on a layer."""

    CUT = "1"  # the piece's boundary; system texts too
    TURN_POINT = "2"  # corners, grade rule numbers "# n"
    CURVE_POINT = "3"  # shape-defining points of smooth runs
    NOTCH = "4"  # V and slit notches
    GRADE_REFERENCE = "5"
    MIRROR = "6"  # the fold
    GRAIN = "7"
    INTERNAL = "8"
    STRIPE = "9"
    PLAID = "10"
    CUTOUT = "11"
    DRILL = "13"
    SEW = "14"
    ANNOTATION = "15"
    T_NOTCH = "80"
    CASTLE_NOTCH = "81"
    CHECK_NOTCH = "82"
    U_NOTCH = "83"
    CHECK_CUT = "84"  # the sender's own copies of the curves on 1, 8, 11 and 14: never geometry
    CHECK_INTERNAL = "85"
    CHECK_CUTOUT = "86"
    CHECK_SEW = "87"


#: Notches of every shape.
NOTCH_LAYERS = frozenset(
    {Layer.NOTCH, Layer.T_NOTCH, Layer.CASTLE_NOTCH, Layer.CHECK_NOTCH, Layer.U_NOTCH}
)

#: Copies for validation, no geometry of the piece.
VALIDATION_LAYERS = frozenset(
    {Layer.CHECK_CUT, Layer.CHECK_INTERNAL, Layer.CHECK_CUTOUT, Layer.CHECK_SEW}
)


class StyleKey(StrEnum):
    """Keys of the texts that belong to the whole file."""

    ASTM_VERSION = "ASTM/D13Proposal 1 Version"
    AAMA_VERSION = "ANSI/AAMA Version"
    PRODUCT = "Product"
    VERSION = "Version"
    CREATION_DATE = "Creation Date"
    CREATION_TIME = "Creation Time"
    AUTHOR = "Author"
    STYLE_NAME = "Style Name"
    SAMPLE_SIZE = "Sample Size"
    GRADE_RULE_TABLE = "Grade Rule Table"
    UNITS = "Units"


class PieceKey(StrEnum):
    """Keys of the texts that belong to a piece."""

    NAME = "Piece Name"
    SIZE = "Size"
    QUANTITY = "Quantity"
    MATERIAL = "Material"
    CATEGORY = "Category"
    ANNOTATION = "Annotation"


#: Value of `StyleKey.UNITS` -> millimetres in one unit of the file.
UNITS_MM = {"METRIC": 1.0, "ENGLISH": 25.4}

#: Our own convention: an annotation text at the middle of a sew line that names its edge.
EDGE_PREFIX = "EDGE "


def normal_key(key: str) -> str:
    """Return a key as it is compared: lower case, without blanks.

    >>> normal_key(" Piece  Name ") == normal_key("PieceName")
    True
    """
    return "".join(key.split()).casefold()
