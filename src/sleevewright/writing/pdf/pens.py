"""What sizes look like on one another: colour and rhythm of dashes both, so that black will do.

The rhythms are of long dashes without dots: none is like the dashes of sewing lines, folds and lines
inside a piece.
"""

from collections.abc import Sequence

from sleevewright.formats.line_styles import LINE_STYLES, LineKind
from sleevewright.writing.numbers import Part
from sleevewright.writing.pdf.strokes import Colour, pen

#: All are dark enough to be read on white as black is: a contrast of 4.5 : 1 or more. Seven of
#: them and eight rhythms: no two of 56 sizes look alike.
_COLOURS: tuple[Colour, ...] = (
    (0.0, 0.0, 0.0),
    (0.0, 0.2, 0.8),
    (0.78, 0.0, 0.0),
    (0.0, 0.42, 0.15),
    (0.48, 0.0, 0.66),
    (0.55, 0.28, 0.0),
    (0.7, 0.0, 0.42),
)
#: mm. Dashes and gaps of the cut line; the first size is solid.
_RHYTHMS: tuple[tuple[float, ...], ...] = (
    (),
    (16.0, 1.5),
    (16.0, 1.5, 4.0, 1.5),
    (7.0, 1.5),
    (16.0, 1.5, 4.0, 1.5, 4.0, 1.5),
    (7.0, 4.0),
    (16.0, 4.0),
    (10.0, 1.5, 10.0, 5.0),
)


def colour_of(size: int) -> Colour:
    """Return the colour of a size, counted from 0."""
    return _COLOURS[size % len(_COLOURS)]


def pen_of(kind: LineKind, size: int, scale: float) -> Part:
    """Return the pen of a kind of line in a size; on paper it is the same at every scale.

    The cut line has the rhythm of its size. So have the sewing lines that are drawn of further
    sizes, darts and slits; they are half as heavy.
    """
    style = LINE_STYLES[kind]
    dash: Sequence[float] = style.dash
    if kind is LineKind.CUT or (kind is LineKind.SEW and size):
        dash = _RHYTHMS[size % len(_RHYTHMS)]
    return pen(style.weight / scale, [length / scale for length in dash])
