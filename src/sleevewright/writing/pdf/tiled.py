"""The pattern on sheets of paper, to be printed at true size and joined."""

from collections.abc import Sequence

from sleevewright.pattern.result import Result
from sleevewright.print_settings import PrintSettings
from sleevewright.writing.pdf.cover import CoverNames, cover_content
from sleevewright.writing.pdf.document import Document
from sleevewright.writing.pdf.drawing import cut_lines, draw, drawn_box
from sleevewright.writing.pdf.nests import in_a_row, nests_of, size_names
from sleevewright.writing.pdf.sheets import SheetNames, sheet_content, tile_box
from sleevewright.writing.pdf.tiling import MARGIN, Tiling, best_tiling


def write_pdf(results: Sequence[Result]) -> bytes:
    """Return a finished pattern as a PDF of tiled sheets, its first page a map of them.

    Several sizes of one pattern are nested: pieces of one name lie on one another.
    Paper and scale are those of the first.

    Raises:
        ValueError: there is no result, or a piece is not finished.
    """
    if not results:
        raise ValueError("no pattern to print")
    printing, sizes = results[0].printing, size_names(results)
    nests = nests_of(results)
    tiling = best_tiling(in_a_row(nests), printing)
    heading = heading_of(results, sizes)
    document = Document(heading, sizes)
    for i, nest in enumerate(nests):
        box = drawn_box(nest)
        document.add_form(f"P{i}", box, draw(nest, sizes, document.letters, printing.scale))
        document.add_form(f"M{i}", box, cut_lines(nest))
    pieces = tuple(human(nest.name) for nest in nests)
    cover = CoverNames(heading, _subtitle(tiling, printing), sizes, pieces)
    wide, high = tiling.paper
    inside = (MARGIN, MARGIN, wide - MARGIN, high - MARGIN)
    document.add_page("map", tiling.paper, inside, cover_content(tiling, cover, document.letters))
    names = SheetNames(heading=f"{heading}, {scale_words(printing.scale)}", pieces=pieces)
    left, bottom, w, h = tile_box(tiling)
    trim = (left, bottom, left + w, bottom + h)
    for tile in tiling.tiles:
        content = sheet_content(tiling, tile, names, document.letters)
        document.add_page(tile.label, tiling.paper, trim, content)
    return document.to_bytes()


def human(name: str) -> str:
    """Return the name of a piece as a cutter reads it.

    >>> human("sleeve_front")
    'sleeve front'
    """
    return name.replace("_", " ")


def heading_of(results: Sequence[Result], sizes: Sequence[str]) -> str:
    """Return one line that names style, block, sizes and settings."""
    return ", ".join(heading_parts(results, sizes))


def heading_parts(results: Sequence[Result], sizes: Sequence[str]) -> tuple[str, ...]:
    """Return style, block, sizes and settings, each a line."""
    first = results[0]
    settings = [f"{name} {value}" for name, value in first.settings]
    size = "size" if len(sizes) == 1 else "sizes"
    return first.recipe, first.block, f"{size} {', '.join(sizes)}", *settings


def scale_words(scale: float) -> str:
    """Return a scale in words.

    >>> scale_words(0.5)
    'scale 1 : 2'
    """
    return "true size" if scale == 1 else f"scale 1 : {1 / scale:g}"


def _subtitle(tiling: Tiling, printing: PrintSettings) -> str:
    count = len(tiling.tiles)
    way = "portrait" if tiling.paper[0] < tiling.paper[1] else "landscape"
    sheets = f"{count} sheet" + ("" if count == 1 else "s")
    return f"{sheets} of {printing.paper.value.capitalize()}, {way}, {scale_words(printing.scale)}"
