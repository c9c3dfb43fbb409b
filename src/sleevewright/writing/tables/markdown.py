"""A table as Markdown (the pipe tables of GitHub's dialect), its title a heading above it."""

import re

from sleevewright.writing.tables.table import Cell, Table, number_text

_MARKS = re.compile(r"([\\`*_{}\[\]<>|~#!$&])")
_BREAKS = re.compile(r"\s+")


def to_markdown(table: Table) -> str:
    """Return the table as Markdown; no text of it can be markup, and no line break ends a row."""
    heads = [_text(name) for name in table.columns]
    numbers = [table.is_number(i) for i in range(len(heads))]
    rules = ["---:" if number else ":---" for number in numbers]
    rows = [[_text(cell) for cell in row] for row in table.rows]
    lines = ["| " + " | ".join(cells) + " |" for cells in (heads, rules, *rows)]
    return f"## {_text(table.title)}\n\n" + "\n".join(lines) + "\n"


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if not isinstance(cell, str):
        return number_text(cell)
    return _MARKS.sub(r"\\\1", _BREAKS.sub(" ", cell).strip())
