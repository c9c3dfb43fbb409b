"""Tables read back cell by cell: CSV by the standard library, workbooks by their own XML."""

import csv
import io
import re
import xml.etree.ElementTree as ET
import zipfile
import zlib
from collections.abc import Sequence

from sleevewright.pipeline.proofread.agreeing import near, same
from sleevewright.writing.tables import Cell, Table

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_FORMULA = re.compile(r"[\t\r\n]|\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")
_MOST = 32767  # characters of a cell of a workbook
_MOST_BYTES = 64 << 20  # of a part of a workbook, unpacked

Rows = list[list[Cell]]


# --- CSV --------------------------------------------------------------------------------------


def read_csv(data: bytes) -> list[list[str]]:
    """Read a CSV file of ours.

    Raises:
        ValueError: it is no UTF-8, cut off, its rows differ in length, or a cell is a formula.
    """
    text = data.decode("utf-8-sig")
    if not text.endswith("\r\n"):
        raise ValueError("it is cut off: its last row does not end")
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        raise ValueError(f"it is no CSV: {error}") from None
    for row in rows:
        same("number of cells in a row", len(row), len(rows[0]))
        for cell in row:
            if _FORMULA.match(cell) and not _is_number(cell):
                raise ValueError(f"a spreadsheet would take {cell[:40]!r} for a formula")
    return rows


def compare_csv(data: bytes, table: Table) -> None:
    """Compare a CSV file with a table.

    Raises:
        ValueError: it cannot be read, or is something else.
    """
    rows = read_csv(data)
    same("number of rows", len(rows), 1 + len(table.rows))
    for i, (found, wanted) in enumerate(zip(rows, (table.columns, *table.rows), strict=True)):
        same(f"row {i}: number of cells", len(found), len(wanted))
        for text, cell in zip(found, wanted, strict=True):
            _compare_text(f"row {i}", text, cell)


def _compare_text(what: str, text: str, cell: Cell) -> None:
    if cell is None:
        same(what, text, "")
    elif isinstance(cell, str):
        plain = cell.encode("utf-8", errors="replace").decode("utf-8")
        same(what, text, f"'{plain}" if _FORMULA.match(plain) else plain)
    else:
        near(what, float(text), cell, 0.0)


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?\d+(\.\d+)?", text, re.ASCII) is not None


# --- workbooks --------------------------------------------------------------------------------


def read_workbook(data: bytes) -> dict[str, Rows]:
    """Read a workbook of ours: sheet -> rows.

    Raises:
        ValueError, KeyError, IndexError: it is no workbook, is damaged, or holds a formula or a link.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            if any(part.file_size > _MOST_BYTES for part in book.infolist()):
                raise ValueError("a part of it is too large")
            parts = {name: book.read(name) for name in book.namelist()}
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ValueError(f"it is no workbook: {error}") from None
    trees = {name: _tree(name, part) for name, part in parts.items()}
    texts = [_text_of(item) for item in trees["xl/sharedStrings.xml"].findall(f"{_MAIN}si")]
    targets = {item.get("Id"): item.get("Target") for item in trees["xl/_rels/workbook.xml.rels"]}
    sheets = trees["xl/workbook.xml"].iterfind(f".//{_MAIN}sheet")
    return {
        sheet.get("name", ""): _rows(trees[f"xl/{targets[sheet.get(_REL)]}"], texts)
        for sheet in sheets
    }


def compare_workbook(data: bytes, tables: Sequence[Table]) -> None:
    """Compare a workbook with tables, a sheet each.

    Raises:
        ValueError, KeyError, IndexError: it cannot be read, or is something else.
    """
    sheets = read_workbook(data)
    same("number of sheets", len(sheets), len(tables))
    for (name, rows), table in zip(sheets.items(), tables, strict=True):
        same(f"{name}: number of rows", len(rows), 1 + len(table.rows))
        for i, (found, wanted) in enumerate(zip(rows, (table.columns, *table.rows), strict=True)):
            filled: Rows = [[*found, *[None] * (len(wanted) - len(found))]]
            same(f"{name}: row {i}", filled[0], [_held(cell) for cell in wanted])


def _tree(name: str, part: bytes) -> ET.Element:
    if b"<!" in part:
        raise ValueError(f"{name} declares a document type or entities")
    try:
        tree = ET.fromstring(part)
    except ET.ParseError as error:
        raise ValueError(f"{name} is no XML: {error}") from None
    for element in tree.iter():
        if element.tag in (f"{_MAIN}f", f"{_MAIN}hyperlink"):
            raise ValueError(f"{name} has a formula or a link")
        if element.get("TargetMode") == "External":
            raise ValueError(f"{name} leads out of the workbook")
    return tree


def _rows(sheet: ET.Element, texts: list[str]) -> Rows:
    rows: Rows = []
    for row in sheet.iterfind(f".//{_MAIN}row"):
        cells: list[Cell] = []
        for cell in row.findall(f"{_MAIN}c"):
            column = re.sub(r"\d", "", cell.get("r", ""))
            cells += [None] * (_number(column) - len(cells) - 1)
            value = cell.findtext(f"{_MAIN}v")
            if not value:
                cells.append(None)
            elif cell.get("t") == "s":
                cells.append(texts[int(value)] or None)
            else:
                cells.append(float(value))
        rows.append(cells)
    return rows


def _number(column: str) -> int:
    """Return the number of a column from its letters.

    >>> _number("A"), _number("AB")
    (1, 28)
    """
    number = 0
    for letter in column:
        number = 26 * number + ord(letter) - 64
    return number


def _text_of(item: ET.Element) -> str:
    text = "".join(part.text or "" for part in item.iter(f"{_MAIN}t"))
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)


def _held(cell: Cell) -> Cell:
    """Return a cell as a workbook can hold it; an empty text is no cell."""
    if not isinstance(cell, str):
        return None if cell is None else float(cell)
    text = cell.encode("utf-8", errors="replace").decode("utf-8")
    return (text if len(text) <= _MOST else f"{text[: _MOST - 3]}...") or None
