"""Tables for people at a terminal; everywhere else the plain lines that scripts rely on.

A command hands over both: rows, and the lines that it prints into a pipe or file. On a terminal the
rows are laid out to its width, coloured unless NO_COLOR is set, with nothing beyond ASCII where the
terminal's encoding is not UTF-8. A status is always a word; colour only repeats it. Where a table of
so many columns has no room, each row is listed as "column: value" lines.
"""

import os
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TextIO

import click

from sleevewright.cli.shared import visible

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

Cell = str | int | float | None
Row = Sequence[Cell]

#: Status as findings have it -> the word for it, and its colour.
_WORDS = {
    "held": ("held", "green"),
    "noted": ("noted", "yellow"),
    "failed": ("fell short", "bold red"),
    "not computed": ("not computed", "bold red"),
}
_COLOURS = dict(_WORDS.values())

_NARROW = 16  # columns of a terminal; text folded narrower than this cannot be read
_BETWEEN = 3  # columns between the columns of a table: a space, the divider, a space


def word(status: str) -> str:
    """Return a status in the words of the command line.

    >>> word("failed"), word("held")
    ('fell short', 'held')
    """
    return _WORDS.get(status, (status, ""))[0]


def show(
    title: str,
    columns: Sequence[str],
    rows: Iterable[Row],
    plain: Iterable[str],
    *,
    to: TextIO | None = None,
) -> None:
    """Print a table on a terminal, the plain lines elsewhere.

    Args:
        title: a line above the table; none where empty.
        columns: headings, with the unit where there is one.
        rows: as many cells each; floats are shown to 0.01, and a column of numbers to the right.
        plain: what is printed where nobody looks: stable, a line a fact, no colour.
        to: stdout if not given.
    """
    stream = to or sys.stdout
    if not stream.isatty():
        for line in plain:
            click.echo(visible(line), file=stream)
        return
    console = _console(stream)
    cells = [[_shown(cell, stream) for cell in row] for row in rows]
    heads = [_shown(name, stream) for name in columns]
    right = [_is_of_numbers([row[i] for row in cells]) for i in range(len(heads))]
    if title:
        console.print(_shown(title, stream), style="bold", markup=False)
    widths = _widths(heads, cells, right, console.width)
    if widths:
        console.print(_table(heads, cells, right, widths))
        return
    for row in cells:
        for head, cell in zip(heads, row, strict=True):
            console.print(_coloured(cell, before=f"{head}: "), overflow="fold")
        console.print()


# --- what the commands show -------------------------------------------------------------------


def show_edges(piece: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`inspect`: the edges of a piece as (edge, role, mm, notches)."""
    show(piece, ("edge", "role", "mm", "notches"), rows, plain)


def show_seams(title: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`inspect`, `check`, `convert`: the seam walk as (seam, mm, mm, ease, off by, status).

    Example:
        >>> show_seams("men, size 50", [("side", 400.0, 400.2, 0.0, -0.2, "held")],
        ...            ["  side 400.00 400.20 mm  ease +0.00  off -0.200  held"])
          side 400.00 400.20 mm  ease +0.00  off -0.200  held
    """
    told = [(*row[:-1], word(str(row[-1]))) for row in rows]
    show(title, ("seam", "first mm", "second mm", "ease mm", "off by mm", "status"), told, plain)


def show_findings(title: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`convert`, `inspect`: what checks found as (status, where, message)."""
    told = [(word(str(status)), where, message) for status, where, message in rows]
    show(title, ("status", "where", "what was found"), told, plain)


def show_measurements(title: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`inspect`: measurements as (name, mm)."""
    show(title, ("measurement", "mm"), rows, plain)


def show_moves(title: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`compare`: what moved as (what, was mm, is mm, moved mm); a cell is None where there is none."""
    show(title, ("what", "was mm", "is mm", "moved mm"), rows, plain)


def show_variants(title: str, rows: Iterable[Row], plain: Iterable[str]) -> None:
    """`batch`: what became of variants as (variant, outcome, why or what)."""
    show(title, ("variant", "outcome", "why"), rows, plain)


# --- laying out -------------------------------------------------------------------------------


def _console(stream: TextIO) -> "Console":
    from rich.console import Console  # noqa: PLC0415

    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    return Console(
        file=stream, force_terminal=True, color_system=None if plain else "auto",
        highlight=False, markup=False, emoji=False, soft_wrap=False,
    )  # fmt: skip


def _widths(heads: list[str], cells: list[list[str]], right: list[bool], room: int) -> list[int]:
    """Return a width for each column that together fill at most the room; none where they cannot.

    Numbers and words of a heading stay whole; text may be folded, to `_NARROW` at the least.
    """
    from rich.cells import cell_len  # noqa: PLC0415

    least, most = [], []
    for i, head in enumerate(heads):
        column = [row[i] for row in cells]
        whole = column if right[i] else [w for cell in column for w in _words(cell)]
        longest = max(map(cell_len, whole), default=0)
        of_head = max(map(cell_len, head.split()), default=0)
        least.append(max(of_head, longest if right[i] else min(longest, _NARROW), 1))
        most.append(max(map(cell_len, [head, *column])))
    spare = room - _BETWEEN * (len(heads) - 1) - sum(least)
    if spare < 0:
        return []
    widths, wanting = list(least), sorted(range(len(heads)), key=lambda i: most[i] - least[i])
    for n, i in enumerate(wanting):  # those that want little get it, the others share what is left
        more = max(0, min(most[i] - least[i], spare // (len(wanting) - n)))
        widths[i], spare = least[i] + more, spare - more
    return widths


def _table(
    heads: list[str], cells: list[list[str]], right: list[bool], widths: list[int]
) -> "Table":
    from rich import box  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for head, numbers, width in zip(heads, right, widths, strict=True):
        # Folding keeps every letter; cutting off with dots would lose some, and is not ASCII.
        side = "right" if numbers else "left"
        table.add_column(Text(head), justify=side, overflow="fold", width=width)  # type: ignore[arg-type]
    for row in cells:
        table.add_row(*(_coloured(cell) for cell in row))
    return table


def _coloured(cell: str, before: str = "") -> "Text":
    from rich.text import Text  # noqa: PLC0415

    return Text(before).append(cell, style=_COLOURS.get(cell, ""))


def _shown(cell: Cell, stream: TextIO) -> str:
    """Return a cell as text that this stream can take and that cannot steer the terminal."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell + 0.0:.2f}"
    encoding = stream.encoding or "ascii"
    if not encoding.lower().replace("_", "-").startswith("utf"):
        encoding = "ascii"
    return visible(str(cell)).encode(encoding, "backslashreplace").decode(encoding)


def _words(cell: str) -> list[str]:
    """Return what is not to be broken; a status of two words is one."""
    return [cell] if cell in _COLOURS else cell.split()


def _is_of_numbers(cells: Sequence[str]) -> bool:
    try:
        return [float(cell) for cell in cells if cell] != []
    except ValueError:
        return False
