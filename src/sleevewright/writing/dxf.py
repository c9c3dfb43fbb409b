"""DXF R12 after the layer conventions of ASTM D6673: one BLOCK a piece, placed as on the sheet.

A template writer: the records of R12 are few and plain, and a library writes thousands of files.
Curves are polylines within 0.02 mm; coordinates in a BLOCK are those of the piece.
"""

from collections.abc import Iterator

from sleevewright.formats.d6673 import Layer, StyleKey
from sleevewright.formats.line_styles import LINE_STYLES, LineKind
from sleevewright.pattern.result import Result
from sleevewright.writing.ascii_text import block_name
from sleevewright.writing.dxf_block import SYSTEM_HEIGHT, SYSTEM_STEP, block, text_record
from sleevewright.writing.numbers import SLOT, Part, filled
from sleevewright.writing.sheet import Sheet, lay_out


def write_dxf(result: Result) -> bytes:
    """Return a finished pattern as a DXF file.

    Raises:
        ValueError: a piece is not finished.
    """
    return filled(_parts(result, lay_out(result))).encode("ascii")


def _parts(result: Result, sheet: Sheet) -> Iterator[Part]:
    names = _block_names(sheet)
    yield _HEADER, [0.0, 0.0, sheet.width, sheet.height]
    yield _TABLES, []
    yield "  0\nSECTION\n  2\nBLOCKS\n", []
    for name, placed in zip(names, sheet.pieces, strict=True):
        yield from block(name, placed, sheet.size)
    yield "  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES\n", []
    yield from _style_texts(result)
    for name, placed in zip(names, sheet.pieces, strict=True):
        yield _INSERT.format(name=name), [*placed.shift]
    yield "  0\nENDSEC\n  0\nEOF\n", []


_HEADER = (
    "  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1009\n"
    f"  9\n$EXTMIN\n 10\n{SLOT}\n 20\n{SLOT}\n  9\n$EXTMAX\n 10\n{SLOT}\n 20\n{SLOT}\n"
    "  0\nENDSEC\n"
)
_INSERT = f"  0\nINSERT\n  8\n{Layer.CUT}\n  2\n{{name}}\n 10\n{SLOT}\n 20\n{SLOT}\n"


def _tables() -> str:
    """Line types, layers and the text style, so that any CAD program draws the file well."""

    def table(kind: str, entries: list[str]) -> str:
        return f"  0\nTABLE\n  2\n{kind}\n 70\n{len(entries)}\n{''.join(entries)}  0\nENDTAB\n"

    def line_type(name: str, about: str, dash: tuple[float, ...]) -> str:
        signed = (length if i % 2 == 0 else -length for i, length in enumerate(dash))
        items = "".join(f" 49\n{length:.4f}\n" for length in signed)
        return (
            f"  0\nLTYPE\n  2\n{name}\n 70\n0\n  3\n{about}\n 72\n65\n"
            f" 73\n{len(dash)}\n 40\n{sum(dash):.4f}\n{items}"
        )

    def layer(name: str, colour: int, lines: str = "CONTINUOUS") -> str:
        return f"  0\nLAYER\n  2\n{name}\n 70\n0\n 62\n{colour}\n  6\n{lines}\n"

    sew = LINE_STYLES[LineKind.SEW]
    layers = [layer("0", 7), layer(Layer.TURN_POINT, 8), layer(Layer.CURVE_POINT, 8)]
    layers += [
        layer(style.layer, style.colour, "DASHED" if style is sew else "CONTINUOUS")
        for style in LINE_STYLES.values()
        if style.layer
    ]
    line_types = [
        line_type("CONTINUOUS", "Solid line", ()),
        line_type("DASHED", "Sew line", sew.dash),
    ]
    text_style = (
        "  0\nSTYLE\n  2\nSTANDARD\n 70\n0\n 40\n0.0\n 41\n1.0\n 50\n0.0\n 71\n0\n"
        " 42\n2.5\n  3\ntxt\n  4\n\n"
    )
    tables = (table("LTYPE", line_types), table("LAYER", layers), table("STYLE", [text_style]))
    return f"  0\nSECTION\n  2\nTABLES\n{''.join(tables)}  0\nENDSEC\n"


_TABLES = _tables()


#: Names the edition whose layers are followed and claims no more: its text was not at hand.
_VERSION = "LAYERS AFTER D6673-10, CONFORMANCE NOT CLAIMED"


def _style_texts(result: Result) -> Iterator[Part]:
    """The texts of the whole file, under the row of pieces."""
    entries = (
        (StyleKey.ASTM_VERSION, _VERSION),
        (StyleKey.PRODUCT, "SLEEVEWRIGHT"),
        (StyleKey.STYLE_NAME, f"{result.block} {result.recipe}".upper()),
        (StyleKey.SAMPLE_SIZE, result.size),
        (StyleKey.UNITS, "METRIC"),
    )
    for i, (key, value) in enumerate(entries, start=1):
        yield text_record(Layer.CUT, f"{key}: {value}", (0.0, -i * SYSTEM_STEP), SYSTEM_HEIGHT)


def _block_names(sheet: Sheet) -> list[str]:
    """Return PIECE_SIZE for each piece, numbered where R12's short names would coincide."""
    taken: list[str] = []
    for placed in sheet.pieces:
        base = name = block_name(f"{placed.piece.name}_{sheet.size}")
        number = 1
        while name in taken:
            number += 1
            name = f"{base[: 30 - len(str(number))]}_{number}"
        taken.append(name)
    return taken
