"""What a tiled sheet has round the pattern: trim lines, flaps, marks that match, names."""

from collections.abc import Iterator
from dataclasses import dataclass

from sleevewright.writing.numbers import SLOT, Part
from sleevewright.writing.pdf.strokes import (
    BLACK,
    GREY,
    Colour,
    centred,
    fitted,
    pen,
    polyline,
    rectangle,
    shade,
    text,
)
from sleevewright.writing.pdf.tiling import MARGIN, OVERLAP, Tile, Tiling, label_of
from sleevewright.writing.pdf.typeface import Letters, text_width

_PALE: Colour = (0.88, 0.88, 0.88)
_FLAP: Colour = (0.95, 0.95, 0.95)
_DIAMOND = 6.0  # mm: half its size
_CROSS = 5.0  # mm: half the size of the cross at a corner
_ALONG = 0.8  # where on lower and upper borders the diamond is: clear of the names at the left
_NUMBER = 2.6  # mm: height of the number in a diamond


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetNames:
    """What is written on every sheet.

    Attributes:
        heading: style, block, sizes, scale.
        pieces: name of each placement.
    """

    heading: str
    pieces: tuple[str, ...]


def tile_box(tiling: Tiling) -> tuple[float, float, float, float]:
    """Return where the tile is on its sheet (left, bottom, width, height), mm."""
    return MARGIN, MARGIN + OVERLAP, *tiling.step


def sheet_content(
    tiling: Tiling, tile: Tile, names: SheetNames, letters: Letters
) -> Iterator[Part]:
    """Draw a sheet: marks in grey, over them the pattern, clipped to what is printed."""
    left, bottom, wide, high = tile_box(tiling)
    printable = (left, bottom - OVERLAP, wide + OVERLAP, high + OVERLAP)
    clip = (f"{SLOT} {SLOT} {SLOT} {SLOT} re W n\n", list(printable))
    yield "/Artifact BMC\nq\n", []
    yield clip
    yield from _flaps(tiling, tile)
    yield shade(_PALE)
    yield centred(letters, tile.label, (left + wide / 2, bottom + high / 2 - 14), 28.0)
    yield from _trim_lines(tiling)
    for border in _borders(tiling, tile):
        yield from _mark(border, letters)
    yield "Q\nEMC\n", []
    yield "q\n", []
    yield clip
    x, y = tiling.corner(tile)
    for i in tile.shown:
        across, up = tiling.place(tiling.placements[i])
        yield from _placed(i, tiling.scale, (across - x + left, up - y + bottom))
    yield "Q\n", []
    yield from _footer(tiling, tile, names, letters)


def _placed(number: int, scale: float, at: tuple[float, float]) -> Iterator[Part]:
    matrix = f"{SLOT} 0 0 {SLOT} {SLOT} {SLOT}"
    yield f"q {matrix} cm /P{number} Do Q\n", [scale, scale, *at]


# --- flaps, trim lines, marks -----------------------------------------------------------------


def _flaps(tiling: Tiling, tile: Tile) -> Iterator[Part]:
    """Shade the strips that neighbours are laid on."""
    left, bottom, wide, high = tile_box(tiling)
    yield shade(_FLAP)
    if (tile.row, tile.column + 1) in tiling.printed:
        yield rectangle((left + wide, bottom, OVERLAP, high), "f")
    if (tile.row + 1, tile.column) in tiling.printed:
        yield rectangle((left, bottom - OVERLAP, wide, OVERLAP), "f")


def _trim_lines(tiling: Tiling) -> Iterator[Part]:
    left, bottom, wide, high = tile_box(tiling)
    yield shade(GREY)
    yield pen(0.15)
    yield rectangle((left, bottom, wide, high))
    for x in (left, left + wide):
        for y in (bottom, bottom + high):
            yield polyline([(x - _CROSS, y), (x + _CROSS, y)])
            yield polyline([(x, y - _CROSS), (x, y + _CROSS)])


@dataclass(frozen=True, slots=True)
class _Border:
    """A shared border as a sheet sees it: where its mark is, which way the neighbour is, names."""

    at: tuple[float, float]
    outward: tuple[float, float]
    number: int
    neighbour: str


def _borders(tiling: Tiling, tile: Tile) -> Iterator[_Border]:
    left, bottom, wide, high = tile_box(tiling)
    middle = (left + _ALONG * wide, bottom + high / 2)
    places = {
        (0, 1): ((left + wide, middle[1]), (1.0, 0.0)),
        (1, 0): ((middle[0], bottom), (0.0, -1.0)),
        (0, -1): ((left, middle[1]), (-1.0, 0.0)),
        (-1, 0): ((middle[0], bottom + high), (0.0, 1.0)),
    }
    for (down, right), (at, outward) in places.items():
        row, column = tile.row + down, tile.column + right
        if (row, column) in tiling.printed:
            first, way = ((tile.row, tile.column), (down, right))
            if down + right < 0:
                first, way = (row, column), (-down, -right)
            number = tiling.joints[first, way]
            yield _Border(at, outward, number, label_of(row, column))


def _mark(border: _Border, letters: Letters) -> Iterator[Part]:
    """Draw a diamond astride the border; its number in both halves, the neighbour's name beside."""
    (x, y), (u, v) = border.at, border.outward
    d = _DIAMOND
    yield shade(GREY)
    yield pen(0.2)
    yield polyline([(x - d, y), (x, y - d), (x + d, y), (x, y + d)], "s")
    number = str(border.number)
    for side in (-1, 1):
        place = (x + side * u * d * 0.42, y + side * v * d * 0.45 - _NUMBER / 2)
        yield centred(letters, number, place, _NUMBER)
    words = border.neighbour
    if u:
        width = text_width(words, 3.0)
        at = (x - u * (d + 1.5) - (width if u > 0 else 0.0), y - 1.5)
    else:
        at = (x - text_width(words, 3.0) / 2, y - v * (d + 1.5) - (3.0 if v > 0 else 0.0))
    yield text(letters, words, at, 3.0)


# --- names ------------------------------------------------------------------------------------


def _footer(tiling: Tiling, tile: Tile, names: SheetNames, letters: Letters) -> Iterator[Part]:
    """Name the sheet, the style and the pieces on it, in the strip below the tile."""
    left, _, wide, _ = tile_box(tiling)
    number = tiling.order[tile.row, tile.column]
    heading = f"{names.heading}, sheet {number} of {len(tiling.tiles)}"
    pieces = ", ".join(names.pieces[i] for i in tile.named)
    indent = left + 4 + text_width(tile.label, 4.5)
    room = left + _ALONG * wide - _DIAMOND - 2 - indent
    yield shade(BLACK)
    yield text(letters, tile.label, (left + 2, MARGIN + 2.2), 4.5)
    for words, y in ((heading, 5.4), (pieces, 1.6)):
        line, height = fitted(words, room, 2.2, 1.4)
        yield text(letters, line, (indent, MARGIN + y), height)
