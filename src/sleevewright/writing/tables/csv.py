"""A table as CSV, after RFC 4180: commas, CRLF, quotes doubled; the first line names the columns.

The bytes begin with a byte order mark only where the table has a letter beyond ASCII: a spreadsheet
takes UTF-8 without it for the machine's own code page and spoils the letter, while a plain ASCII
file reads the same everywhere and a mark would only stick to the first column's name.
"""

import csv
import io

from sleevewright.writing.tables.table import Cell, Table, number_text

#: What makes a spreadsheet run a cell; their full-width forms do so too.
_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_LEADING = ("\t", "\r", "\n")


def to_csv(table: Table) -> bytes:
    """Return the table as the bytes of a CSV file. Text that would be a formula is made text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for row in (table.columns, *table.rows):
        writer.writerow([_text(cell) for cell in row])
    text = out.getvalue()
    return text.encode("utf-8" if text.isascii() else "utf-8-sig", errors="replace")


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return harmless(cell) if isinstance(cell, str) else number_text(cell)


def harmless(text: str) -> str:
    """Return text with an apostrophe before it where a spreadsheet would take it for a formula.

    >>> harmless("=1+1"), harmless("  @x"), harmless("CUT 1 PAIR")
    ("'=1+1", "'  @x", 'CUT 1 PAIR')
    """
    if text.startswith(_LEADING) or text.lstrip().startswith(_FORMULA):
        return "'" + text
    return text
