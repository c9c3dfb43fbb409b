"""The first page: the map of the sheets, two squares that prove the size, and how to go on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from sleevewright.pattern.piece import Point
from sleevewright.writing.numbers import SLOT, Part
from sleevewright.writing.pdf.legend import legend
from sleevewright.writing.pdf.strokes import (
    BLACK,
    GREY,
    centred,
    fitted,
    pen,
    rectangle,
    shade,
    text,
)
from sleevewright.writing.pdf.tiling import MARGIN, Tiling
from sleevewright.writing.pdf.typeface import Letters, text_width

#: mm. Sides of the test squares, true whatever the scale of the pattern.
HUNDRED, FOUR_INCHES = 100.0, 101.6

_GAP = 6.0  # mm: between squares and map
_NAME = 24.0  # mm: room for the name of a piece, however narrow it is on the map
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
    yield from legend((u + 8, v + 72), (FOUR_INCHES - 16, 66.0), names.sizes, letters)


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
    yield from _names(tiling, layout, names.pieces, letters)


def _names(
    tiling: Tiling, layout: _Layout, names: Sequence[str], letters: Letters
) -> Iterator[Part]:
    """Write the name of each piece on it, clear of the names of its neighbours."""
    (x, y), s = layout.at, layout.scale
    high = s * tiling.step[1]
    ends = (x, x + s * tiling.width)
    taken: list[tuple[float, float, float]] = []  # left end, right end, base line
    for placement, name in zip(tiling.placements, names, strict=True):
        a, b = tiling.place(placement)
        k = s * tiling.scale
        across = k * placement.nest.width
        line, height = fitted(name, min(max(across + 6, _NAME), ends[1] - ends[0]), 2.0, 1.6)
        half = text_width(line, height) / 2
        middle = min(
            max(x + s * a + across / 2, ends[0] + half), max(ends[1] - half, ends[0] + half)
        )
        # low in a sheet of the map, clear of the labels, which stand at the top
        row = int((b + 0.4 * tiling.scale * placement.nest.height) / tiling.step[1])
        levels = [y + (row + part) * high for part in (0.2, 0.45, -0.55, -0.8, 1.2, 1.45)]
        at = next(
            (
                level
                for level in levels
                if level > y
                and not any(
                    middle - half < right + 1 and middle + half > left - 1
                    and abs(level - base) < 1.5 * height
                    for left, right, base in taken
                )
            ),
            levels[0],
        )  # fmt: skip
        taken.append((middle - half, middle + half, at))
        yield centred(letters, line, (middle, at), height)


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
