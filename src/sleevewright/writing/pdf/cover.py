"""The first page: the map of the sheets, two squares that prove the size, and how to go on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from sleevewright.formats.line_styles import LineKind
from sleevewright.pattern.piece import Point
from sleevewright.writing.numbers import SLOT, Part
from sleevewright.writing.pdf.pens import colour_of, pen_of
from sleevewright.writing.pdf.strokes import (
    BLACK,
    GREY,
    centred,
    fitted,
    pen,
    polyline,
    rectangle,
    shade,
    text,
)
from sleevewright.writing.pdf.tiling import MARGIN, Tiling
from sleevewright.writing.pdf.typeface import Letters

#: mm. Sides of the test squares, true whatever the scale of the pattern.
HUNDRED, FOUR_INCHES = 100.0, 101.6

_GAP = 6.0  # mm: between squares and map
_TITLE = 14.0  # mm: of the page, kept for the title
_CHECK = "check this square before you cut cloth"
_HOW = (
    "1  Print at 100 %, without fitting to the page.",
    "2  Measure both squares: 100 mm and 4 inches a side.",
    "3  Cut every sheet along its left and its upper line.",
    "4  Lay it on the grey strip of its neighbour, up to the",
    "    line. The name beside a diamond is the neighbour's;",
    "    both halves of a diamond bear the same number.",
    "5  Sheets with nothing on them are left out.",
)
_LINES = (
    (LineKind.CUT, "cut"),
    (LineKind.SEW, "sew"),
    (LineKind.FOLD, "fold"),
    (LineKind.GRAIN, "grain"),
    (LineKind.INTERNAL, "marked inside"),
    (LineKind.NOTCH, "notch"),
)


@dataclass(frozen=True, slots=True)
class CoverNames:
    """What the first page says: title and subtitle; the sizes; the pieces by placement."""

    title: str
    subtitle: str
    sizes: tuple[str, ...]
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Layout:
    """Lower left corners of the two squares, and the map's lower left corner and scale."""

    squares: tuple[Point, Point]
    at: Point
    scale: float


def cover_content(tiling: Tiling, names: CoverNames, letters: Letters) -> Iterator[Part]:
    """Draw the first page; the cut lines of placement i are drawn by the form M<i>."""
    layout = _layout(tiling)
    room = tiling.paper[0] - 2 * MARGIN
    yield shade(BLACK)
    top = tiling.paper[1] - MARGIN
    for words, y, height in ((names.title, 5.0, 4.5), (names.subtitle, 10.5, 2.6)):
        line, height = fitted(words, room, height, 1.6)  # noqa: PLW2901
        yield text(letters, line, (MARGIN, top - y), height)
    yield from _map(tiling, layout, names, letters)
    (x, y), (u, v) = layout.squares
    yield from square((x, y), HUNDRED, "100 mm", letters)
    for i, line in enumerate(_HOW):
        yield text(letters, line, (x + 7, y + 72 - 5.5 * i), 2.3)
    yield from square((u, v), FOUR_INCHES, "4 in", letters)
    yield from _legend((u + 10, v + 72), names.sizes, letters)


def _layout(tiling: Tiling) -> _Layout:
    """Return the layout with the largest map: squares abreast or stacked, map above or beside."""
    wide, high = (side - 2 * MARGIN for side in tiling.paper)
    high -= _TITLE
    abreast = (HUNDRED + _GAP + FOUR_INCHES, FOUR_INCHES)
    stacked = (FOUR_INCHES, HUNDRED + _GAP + FOUR_INCHES)
    best = _Layout(((MARGIN, MARGIN), (MARGIN, MARGIN)), (MARGIN, MARGIN), 0.0)
    for (w, h), beside in product((abreast, stacked), (False, True)):
        if w > wide or h > high:
            continue
        corner = (MARGIN + w + _GAP, MARGIN) if beside else (MARGIN, MARGIN + h + _GAP)
        room = (wide - w - _GAP, high) if beside else (wide, high - h - _GAP)
        scale = min(room[0] / tiling.width, room[1] / tiling.height)
        if scale > best.scale:
            second = (w - FOUR_INCHES, h - FOUR_INCHES)
            squares = ((MARGIN, MARGIN), (MARGIN + second[0], MARGIN + second[1]))
            # in the middle of its room across, right below the title
            x = corner[0] + (room[0] - scale * tiling.width) / 2
            y = MARGIN + high - scale * tiling.height
            best = _Layout(squares, (x, y), scale)
    return best


def _map(tiling: Tiling, layout: _Layout, names: CoverNames, letters: Letters) -> Iterator[Part]:
    (x, y), s = layout.at, layout.scale
    wide, high = (s * side for side in tiling.step)
    corners = [tiling.corner(tile) for tile in tiling.tiles]
    yield shade((0.96, 0.96, 0.96))
    for a, b in corners:
        yield rectangle((x + s * a, y + s * b, wide, high), "f")
    yield from _outlines(tiling, layout)
    yield shade(GREY)
    yield pen(0.2)
    for a, b in corners:
        yield rectangle((x + s * a, y + s * b, wide, high))
    yield shade(BLACK)
    size = min(4.0, 0.22 * high, 0.3 * wide)
    for tile, (a, b) in zip(tiling.tiles, corners, strict=True):
        at = (x + s * a + 0.06 * wide, y + s * (b + tiling.step[1]) - 1.35 * size)
        yield text(letters, tile.label, at, size)
    for placement, name in zip(tiling.placements, names.pieces, strict=True):
        a, b = tiling.place(placement)
        k = s * tiling.scale
        across = k * placement.nest.width
        line, height = fitted(name, max(across + 2, 8.0), 2.0, 1.2)
        # low in a sheet of the map, clear of the labels, which stand at the top
        row = int((b + 0.4 * tiling.scale * placement.nest.height) / tiling.step[1])
        middle = (x + s * a + across / 2, y + (row + 0.2) * high)
        yield centred(letters, line, middle, height)


def _outlines(tiling: Tiling, layout: _Layout) -> Iterator[Part]:
    k = layout.scale * tiling.scale
    yield shade((0.1, 0.25, 0.5))
    for i, placement in enumerate(tiling.placements):
        a, b = tiling.place(placement)
        at = [layout.at[0] + layout.scale * a, layout.at[1] + layout.scale * b]
        yield "q\n", []
        yield pen(0.25 / k)
        # eight decimals: at 1 : 20 the last of four is 3 mm on a large pattern
        yield f"{k:.8f} 0 0 {k:.8f} {SLOT} {SLOT} cm /M{i} Do Q\n", at


def square(at: Point, side: float, name: str, letters: Letters) -> Iterator[Part]:
    """Draw a test square, lower left corner first, and say what it is for."""
    yield shade(BLACK)
    yield pen(0.2)
    yield rectangle((*at, side, side))
    middle = at[0] + side / 2
    yield centred(letters, name, (middle, at[1] + side - 14), 6.0)
    yield centred(letters, _CHECK, (middle, at[1] + side - 21), 2.8)


def _legend(at: Point, sizes: Sequence[str], letters: Letters) -> Iterator[Part]:
    """Show every kind of line with its pen, and the cut line of every size."""
    x, y = at
    step = min(6.0, 64.0 / (len(_LINES) + (len(sizes) if len(sizes) > 1 else 0)))
    height = min(2.3, 0.6 * step)
    for kind, words in _LINES:
        yield pen_of(kind, 0, 1.0)
        if kind is LineKind.NOTCH:
            yield polyline([(x + 15, y), (x + 15, y + min(4.0, 0.8 * step))])
        else:
            yield polyline([(x, y + height / 2), (x + 30, y + height / 2)])
        if kind is LineKind.GRAIN:
            tip, tail = (x + 30, y + height / 2), x + 25
            yield polyline([(tail, tip[1] + 1.6), tip, (tail, tip[1] - 1.6)])
        yield text(letters, words, (x + 34, y), height)
        y -= step
    for i, size in enumerate(sizes if len(sizes) > 1 else ()):
        yield shade(colour_of(i))
        yield pen_of(LineKind.CUT, i, 1.0)
        yield polyline([(x, y + height / 2), (x + 30, y + height / 2)])
        line, _ = fitted(f"size {size}", FOUR_INCHES - 50, height, height)
        yield text(letters, line, (x + 34, y), height)
        y -= step
    yield shade(BLACK)
