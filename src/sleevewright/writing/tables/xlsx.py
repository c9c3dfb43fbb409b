"""Tables as a workbook: a sheet a table, the same bytes for the same tables.

Text is written as text: never as a formula, a link or a number, whatever it begins with.
"""

import datetime
import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sleevewright.writing.tables.table import Table, number_text

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

#: A workbook must say when it was made; the same moment always, that the same tables be the same bytes.
_MADE = datetime.datetime(2000, 1, 1)

_OPTIONS = {
    "in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
    "strings_to_numbers": False, "nan_inf_to_errors": False,
}  # fmt: skip
_WIDEST = 60  # characters
_NARROWEST = 8
_MOST_LETTERS = 32767  # in a cell, a limit of the format
_MOST_IN_NAME = 31
_MOST_IN_HEADER = 255


def to_xlsx(tables: Sequence[Table]) -> bytes:
    """Return the tables as the bytes of a workbook, a sheet each, the heading row frozen.

    Raises:
        ValueError: no tables.
    """
    from xlsxwriter import Workbook  # noqa: PLC0415

    if not tables:
        raise ValueError("a workbook of no tables")
    out = io.BytesIO()
    book = Workbook(out, _OPTIONS)
    book.set_properties({"created": _MADE, "title": _clean(tables[0].title)[:_MOST_IN_HEADER]})
    formats = {
        str: book.add_format({"text_wrap": True, "valign": "top"}),
        int: book.add_format({"num_format": "0", "valign": "top"}),
        float: book.add_format({"num_format": "0.0", "valign": "top"}),
    }
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    for name, table in zip(sheet_names(tables), tables, strict=True):
        _fill(book.add_worksheet(name), table, formats, head)
    book.close()
    return out.getvalue()


def _fill(sheet: "Worksheet", table: Table, formats: dict[type, "Format"], head: "Format") -> None:
    for j, name in enumerate(table.columns):
        sheet.write_string(0, j, _clean(name), head)
        sheet.set_column(j, j, _width(table, j))
    for i, row in enumerate(table.rows, start=1):
        for j, cell in enumerate(row):
            if isinstance(cell, str):
                sheet.write_string(i, j, _clean(cell), formats[str])
            elif cell is not None:
                sheet.write_number(i, j, cell, formats[type(cell)])
    sheet.freeze_panes(1, 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.set_paper(9)  # A4
    title = " ".join(_clean(table.title).split()).replace("&", "&&")
    if title and len(title) + 2 <= _MOST_IN_HEADER:
        sheet.set_header(f"&L{title}")


def _width(table: Table, column: int) -> int:
    """Return the width of a column in characters: its longest line, the heading in words."""
    texts = table.columns[column].split()
    for row in table.rows:
        cell = row[column]
        if cell is not None:
            texts += cell.splitlines() if isinstance(cell, str) else [number_text(cell)]
    return min(_WIDEST, max(_NARROWEST, 2 + max(map(len, texts), default=0)))


def _clean(text: str) -> str:
    """Return text that a cell can hold."""
    text = text.encode("utf-8", errors="replace").decode("utf-8")
    return text if len(text) <= _MOST_LETTERS else text[: _MOST_LETTERS - 3] + "..."


def sheet_names(tables: Sequence[Table]) -> list[str]:
    """Return a name for each sheet: what its title says before the colon, numbered where two agree."""
    names: list[str] = []
    taken: set[str] = {"history"}  # a name that spreadsheets keep for themselves
    for table in tables:
        base = re.sub(r"[\x00-\x1f\[\]:*?/\\]", " ", _clean(table.title).partition(":")[0])
        base = base.strip().strip("'").strip() or "Table"
        name, n = base[:_MOST_IN_NAME].strip("' "), 1
        while not name or name.lower() in taken:
            n += 1
            name = f"{base[: _MOST_IN_NAME - 1 - len(str(n))]} {n}"
        taken.add(name.lower())
        names.append(name)
    return names
