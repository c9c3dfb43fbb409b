"""Kinds of line of a pattern: their DXF layer, SVG class and pen, one table for both directions."""

from dataclasses import dataclass
from enum import StrEnum

from sleevewright.formats.d6673 import Layer

#: Id of the note in an SVG file that names the seams.
SEAMS_ID = "seams"


class LineKind(StrEnum):
    """What a line of a pattern sheet means; the value is its SVG class and label name."""

    CUT = "cut"
    SEW = "sew"
    NOTCH = "notch"
    GRAIN = "grain"
    FOLD = "fold"
    INTERNAL = "internal"
    DRILL = "drill"
    TEXT = "text"
    MARK = "ignore"  # arrow heads, bracket of the fold, drill crosses: no meaning of their own


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How a kind of line is written and drawn.

    Attributes:
        kind: the kind.
        layer: DXF layer after the conventions of ASTM D6673; "" where it is not written.
        weight: of the pen, mm.
        dash: lengths of dashes and gaps, mm; empty for a solid line.
        colour: DXF colour number, for programs that know nothing of the layers' meaning.
    """

    kind: LineKind
    layer: str
    weight: float
    dash: tuple[float, ...] = ()
    colour: int = 7


#: Cut solid and heaviest, sew dashed and fine on paper patterns; all legible in black.
LINE_STYLES: dict[LineKind, LineStyle] = {
    style.kind: style
    for style in (
        LineStyle(LineKind.CUT, Layer.CUT, 0.5),
        LineStyle(LineKind.SEW, Layer.SEW, 0.25, (3.0, 1.5), 5),
        LineStyle(LineKind.NOTCH, Layer.NOTCH, 0.35, (), 1),
        LineStyle(LineKind.GRAIN, Layer.GRAIN, 0.25, (), 3),
        LineStyle(LineKind.FOLD, Layer.MIRROR, 0.35, (8.0, 2.0, 1.0, 2.0), 6),
        LineStyle(LineKind.INTERNAL, Layer.INTERNAL, 0.25, (1.0, 1.0), 4),
        LineStyle(LineKind.DRILL, Layer.DRILL, 0.25, (), 1),
        LineStyle(LineKind.TEXT, Layer.ANNOTATION, 0.25, (), 8),
        LineStyle(LineKind.MARK, "", 0.25),
    )
}
