"""Marks that are drawn on a piece besides its lines: arrow heads, brackets, crosses, notches.

One place for their shapes: formats draw them, lettering keeps clear of them. All in the coordinates
of the piece, mm.
"""

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.pattern.piece import NotchCut, Point

Array = NDArray[np.float64]

_ARROW = (5.0, 1.6)  # mm: length and half width of an arrow head
_BRACKET_DEPTH = 12.0  # mm: of the bracket that says "place on the fold"
_BRACKET_ENDS = (0.25, 0.75)  # parts of the fold's length
_DRILL_ARM = 2.0  # mm: half the size of the cross of a drill hole


def grain_heads(grain: Curve) -> tuple[Curve, Curve]:
    """Return the arrow heads at both ends of a grainline."""
    return (
        _arrow_head(grain.start, -grain.start_direction),
        _arrow_head(grain.end, grain.end_direction),
    )


def fold_bracket(start: Array, end: Array) -> tuple[Curve, Curve, Curve]:
    """Return the bracket whose two arrows say "place on the fold", and its arrow heads.

    The fold runs from `start` to `end` with the piece on its left, as an outline does.
    """
    along = (end - start) / np.hypot(*(end - start))
    inward = np.array([-along[1], along[0]])  # the outline runs counter-clockwise
    tips = [start + part * (end - start) for part in _BRACKET_ENDS]
    inner = [tip + _BRACKET_DEPTH * inward for tip in tips]
    bracket = Curve.polyline([tips[0], inner[0], inner[1], tips[1]])
    return bracket, _arrow_head(tips[0], -inward), _arrow_head(tips[1], -inward)


def drill_cross(hole: Point) -> tuple[Curve, Curve]:
    """Return the two arms of the cross at a drill hole."""
    x, y = hole
    return (
        Curve.line((x - _DRILL_ARM, y), (x + _DRILL_ARM, y)),
        Curve.line((x, y - _DRILL_ARM), (x, y + _DRILL_ARM)),
    )


def notch_shape(cut: NotchCut) -> Array:
    """Return a notch as a polyline from the cut line: (2, 2) for a slit, (3, 2) for a V."""
    point, inward = np.array(cut.point), np.array(cut.direction)
    apex = point + cut.depth * inward
    if cut.width <= 0:
        return np.array([point, apex])
    half = 0.5 * cut.width * np.array([-inward[1], inward[0]])
    return np.array([point + half, apex, point - half])


def _arrow_head(tip: Array, direction: Array) -> Curve:
    length, half = _ARROW
    across = np.array([-direction[1], direction[0]])
    base = tip - length * direction
    return Curve.polyline([base + half * across, tip, base - half * across])
