"""Content streams: pens, paths and texts in millimetres, y up, as parts that `filled` writes."""

from collections.abc import Iterable, Iterator, Sequence
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, bezier
from sleevewright.writing.numbers import SLOT, Part
from sleevewright.writing.pdf.typeface import Letters, font_size, text_width

#: Points in a millimetre, for the one matrix that takes a page's content from mm to points.
MM = 72 / 25.4
IN_MILLIMETRES: Part = (f"{MM:.12f} 0 0 {MM:.12f} 0 0 cm\n", [])

Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)
GREY: Colour = (0.4, 0.4, 0.4)
WHITE: Colour = (1.0, 1.0, 1.0)

_PAIR = f"{SLOT} {SLOT}"
_LINE_TO = f"{_PAIR} l\n"
_CURVE_TO = f"{_PAIR} {_PAIR} {_PAIR} c\n"
FONT = "F1"  # its name in every resource dictionary


def shade(colour: Colour) -> Part:
    """Set the colour of lines and fillings."""
    three = f"{SLOT} {SLOT} {SLOT}"
    return f"{three} RG {three} rg\n", [*colour, *colour]


def pen(weight: float, dash: Sequence[float] = ()) -> Part:
    """Set the pen: its width and its dashes, mm."""
    return f"{SLOT} w [{' '.join([SLOT] * len(dash))}] 0 d\n", [weight, *dash]


def paths(curves: Sequence[Curve], closed: bool = False) -> Iterator[Part]:
    """Stroke curves; straight segments that run evenly become lines, all others stay cubics."""
    if not curves:
        return
    controls = np.concatenate([curve.controls for curve in curves])
    straight = bezier.evenly_straight(controls).tolist()
    numbers = controls.reshape(-1, 8).tolist()
    i = 0
    for curve in curves:
        template, values = [f"{_PAIR} m\n"], numbers[i][:2]
        for _ in range(len(curve.controls)):
            template.append(_LINE_TO if straight[i] else _CURVE_TO)
            values += numbers[i][6:] if straight[i] else numbers[i][2:]
            i += 1
        template.append("s\n" if closed else "S\n")
        yield "".join(template), values


def polyline(points: NDArray[np.float64] | Sequence[Sequence[float]], paint: str = "S") -> Part:
    """Paint straight lines through points with one of the painting operators (S, s, f)."""
    array = np.asarray(points, dtype=float)
    return f"{_PAIR} m\n" + _LINE_TO * (len(array) - 1) + f"{paint}\n", array.ravel().tolist()


def rectangle(box: Sequence[float], paint: str = "S") -> Part:
    """Paint the rectangle (left, bottom, width, height)."""
    return f"{_PAIR} {_PAIR} re {paint}\n", list(box)


def text(
    letters: Letters, words: str, at: Sequence[float], height: float, angle: float = 0
) -> Part:
    """Write one line from the left end of its base line; height of a capital, mm; degrees."""
    c, s = cos(radians(angle)), sin(radians(angle))
    template = f"BT /{FONT} {SLOT} Tf {SLOT} {SLOT} {SLOT} {SLOT} {_PAIR} Tm "
    return template + f"{letters.shown(words)} Tj ET\n", [font_size(height), c, s, -s, c, *at]


def centred(letters: Letters, words: str, at: Sequence[float], height: float) -> Part:
    """Write one line, level, whose base line has its middle at a point."""
    return text(letters, words, (at[0] - text_width(words, height) / 2, at[1]), height)


def fitted(words: str, room: float, height: float, least: float) -> tuple[str, float]:
    """Return a line and the height at which it fits a room, mm.

    It shrinks to `least`; what is too long even then loses its end.
    """
    width = text_width(words, height)
    if width <= room:
        return words, height
    height = max(least, height * room / width)
    while text_width(words, height) > room and len(words) > 1:
        over = text_width(words, height) / room
        words = words[: min(int(len(words) / over), len(words) - 2)].rstrip(" ,\u2026") + "\u2026"
    return words, height


def within_layer(name: str, parts: Iterable[Part]) -> Iterator[Part]:
    """Put parts on a layer; nothing where there are none."""
    held = list(parts)
    if held:
        yield f"/OC /{name} BDC\n", []
        yield from held
        yield "EMC\n", []
