"""The pattern on a plotter's roll: laid out to save paper, the grain along the roll."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, cos, radians, sin

import numpy as np

from sleevewright.errors import Problem, WriteError
from sleevewright.pattern.result import Result
from sleevewright.writing.numbers import SLOT, Part
from sleevewright.writing.pdf.cover import HUNDRED, square
from sleevewright.writing.pdf.document import Document
from sleevewright.writing.pdf.drawing import draw, drawn_box
from sleevewright.writing.pdf.legend import height_of, legend
from sleevewright.writing.pdf.nests import Nest, nests_of, size_names
from sleevewright.writing.pdf.packing import Spot, pack
from sleevewright.writing.pdf.strokes import BLACK, fitted, shade, text
from sleevewright.writing.pdf.tiled import heading_of, heading_parts, human, scale_words
from sleevewright.writing.pdf.typeface import Letters
from sleevewright.writing.sheet import GAP

#: mm. The longest page: 200 in, past which readers differ.
LONGEST = 5080.0
#: mm. Free on every side (common practice).
MARGIN = 10.0

_UPRIGHT = 0.01  # degrees: a grain this near to the length of the roll is not turned


@dataclass(frozen=True, slots=True)
class _Item:
    """A nest as it lies on the roll: turned, the lower left corner of its box, the box's size."""

    nest: Nest
    angle: float
    corner: tuple[float, float]
    size: tuple[float, float]


def write_plot(results: Sequence[Result]) -> bytes:
    """Return a finished pattern as a PDF for a plotter: one page as wide as the roll.

    Several sizes of one pattern are nested. What is longer than 5080 mm goes on several pages.
    Roll and scale are those of the first.

    Raises:
        ValueError: there is no result, or a piece is not finished.
        WriteError: a piece does not go on the roll.
    """
    if not results:
        raise ValueError("no pattern to plot")
    printing, sizes = results[0].printing, size_names(results)
    items = [_item(nest, printing.scale) for nest in nests_of(results)]
    wide = printing.roll - 2 * MARGIN
    _check(items, printing.roll, results[0].recipe)
    boxes = [*(item.size for item in items), (HUNDRED, HUNDRED)]
    if len(sizes) > 1:
        boxes.append((HUNDRED, height_of(sizes)))
    spots = pack(boxes, wide, LONGEST - 2 * MARGIN, GAP)
    document = Document(heading_of(results, sizes), sizes)
    # as many lines as the test square has room for
    lines = (*heading_parts(results, sizes), scale_words(printing.scale))[:10]
    for i, item in enumerate(items):
        parts = draw(item.nest, sizes, document.letters, printing.scale)
        document.add_form(f"P{i}", drawn_box(item.nest), parts)
    for page in range(1 + max(spot.page for spot in spots)):
        here = [(i, spot) for i, spot in enumerate(spots) if spot.page == page]
        high = max(spot.at[1] + boxes[i][1] for i, spot in here) + 2 * MARGIN
        content = _content(items, here, printing.scale, (lines, sizes), document.letters)
        size = (printing.roll, high)
        document.add_page(f"plot {page + 1}", size, (0.0, 0.0, *size), content)
    return document.to_bytes()


def _item(nest: Nest, scale: float) -> _Item:
    """Turn a nest so that its grain runs along the roll, the top of the garment ahead."""
    from shapely import affinity  # noqa: PLC0415 (heavy)

    up = nest.least.placed.piece.up
    angle = 90.0 - float(np.degrees(np.arctan2(up[1], up[0])))
    if abs(angle) <= _UPRIGHT:
        angle = 0.0
    turned = [affinity.rotate(shape, angle, origin=(0, 0)) for shape in nest.shapes()]
    boxes = scale * np.array([shape.bounds for shape in turned])
    (left, bottom), (right, top) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    size = (float(right - left), float(top - bottom))
    return _Item(nest, angle, (float(left), float(bottom)), size)


def _check(items: Sequence[_Item], roll: float, recipe: str) -> None:
    wide, long = roll - 2 * MARGIN, LONGEST - 2 * MARGIN
    for item in items:
        across, along = item.size
        if across <= wide and along <= long:
            continue
        room = f"{wide:.0f} mm across" if across > wide else f"{long:.0f} mm along"
        needed = 10 * ceil((max(item.size[0] for item in items) + 2 * MARGIN) / 10)
        remedy = (
            f"say `outputs: {{roll: {needed} mm}}`, or a wider roll, in the recipe {recipe}"
            if along <= long
            else f"say `outputs: {{scale: half}}` in the recipe {recipe}, or cut the piece in two"
        )
        raise WriteError(
            Problem(
                f"{human(item.nest.name)} of {recipe} takes {across:.0f} x {along:.0f} mm with its grain "
                f"along the roll of {roll:.0f} mm, which has room for {room}",
                remedy=remedy,
            )
        )


def _content(
    items: Sequence[_Item], here: Sequence[tuple[int, Spot]], scale: float,
    said: tuple[Sequence[str], Sequence[str]], letters: Letters,
) -> Iterator[Part]:  # fmt: skip
    """Place the nests, the test square and, of several sizes, the legend; `said` is heading, sizes."""
    lines, sizes = said
    for i, spot in here:
        x, y = spot.at[0] + MARGIN, spot.at[1] + MARGIN
        if i < len(items):
            item = items[i]
            c, s = scale * cos(radians(item.angle)), scale * sin(radians(item.angle))
            # eight decimals: the fourth is a tenth of a millimetre at the far end of a piece
            turn = f"{c:.8f} {s:.8f} {-s:.8f} {c:.8f}"
            place = [x - item.corner[0], y - item.corner[1]]
            yield f"q {turn} {SLOT} {SLOT} cm /P{i} Do Q\n", place
        elif i > len(items):
            yield shade(BLACK)
            high = height_of(sizes)
            yield from legend((x, y + high - 4), (HUNDRED, high), sizes, letters)
        else:
            yield from square((x, y), HUNDRED, "100 mm", letters)
            yield shade(BLACK)
            for k, words in enumerate(lines):
                line, height = fitted(words, HUNDRED - 14, 3.0, 1.6)
                yield text(letters, line, (x + 7, y + 68 - 6 * k), height)
