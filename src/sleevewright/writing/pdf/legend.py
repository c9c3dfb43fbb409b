"""What the lines of a printed pattern mean: each kind with its pen, each size with its dashes."""

from collections.abc import Iterator, Sequence

from sleevewright.formats.line_styles import LineKind
from sleevewright.pattern.piece import Point
from sleevewright.writing.numbers import Part
from sleevewright.writing.pdf.pens import colour_of, pen_of
from sleevewright.writing.pdf.strokes import BLACK, fitted, polyline, shade, text
from sleevewright.writing.pdf.typeface import Letters

_LINES = (
    (LineKind.CUT, "cut"),
    (LineKind.SEW, "sew"),
    (LineKind.FOLD, "fold"),
    (LineKind.GRAIN, "grain"),
    (LineKind.INTERNAL, "marked inside"),
    (LineKind.NOTCH, "notch"),
)
#: Of several sizes only cut lines are drawn, and sewing lines of darts and slits; see `nests`.
_NOT_NESTED = (LineKind.CUT,)
_SEWN = "sew: darts and slits alone"
_NESTED = (
    "Heavy lines are cut lines, with the size on them;",
    "sew inside them by the allowance lettered on the piece.",
)
_STEP, _HEIGHT = 6.0, 2.3  # mm: from line to line, of a capital
_SAMPLE, _WORDS = 36.0, 40.0  # mm: length of the sample, where words begin


def legend(
    at: Point, room: tuple[float, float], sizes: Sequence[str], letters: Letters
) -> Iterator[Part]:
    """Show every kind of line, and of several sizes the cut line of each, downwards from a point.

    Args:
        at: left end of the first sample line, mm.
        room: width and height to keep within, mm.
    """
    x, y = at
    nested = len(sizes) > 1
    step = min(_STEP, room[1] / rows(sizes))
    height = min(_HEIGHT, 0.6 * step)
    for kind, words in _LINES:
        if nested and kind in _NOT_NESTED:
            continue
        yield pen_of(kind, 0, 1.0)
        if kind is LineKind.NOTCH:
            middle = x + _SAMPLE / 2
            yield polyline([(middle, y), (middle, y + min(4.0, 0.8 * step))])
        else:
            yield polyline([(x, y + height / 2), (x + _SAMPLE, y + height / 2)])
        if kind is LineKind.GRAIN:
            tip, tail = (x + _SAMPLE, y + height / 2), x + _SAMPLE - 5
            yield polyline([(tail, tip[1] + 1.6), tip, (tail, tip[1] - 1.6)])
        said = _SEWN if nested and kind is LineKind.SEW else words
        yield text(letters, said, (x + _WORDS, y), height)
        y -= step
    if not nested:
        return
    for i, size in enumerate(sizes):
        yield shade(colour_of(i))
        yield pen_of(LineKind.CUT, i, 1.0)
        yield polyline([(x, y + height / 2), (x + _SAMPLE, y + height / 2)])
        line, _ = fitted(f"cut, size {size}", room[0] - _WORDS, height, height)
        yield text(letters, line, (x + _WORDS, y), height)
        y -= step
    yield shade(BLACK)
    for words in _NESTED:
        line, size_of = fitted(words, room[0], height, 1.2)
        yield text(letters, line, (x, y), size_of)
        y -= step


def rows(sizes: Sequence[str]) -> int:
    """Return the number of lines of a legend."""
    if len(sizes) == 1:
        return len(_LINES)
    return len(_LINES) - len(_NOT_NESTED) + len(sizes) + len(_NESTED)


def height_of(sizes: Sequence[str]) -> float:
    """Return the height of a legend whose lines are as far apart as they may be, mm."""
    return _STEP * rows(sizes)
