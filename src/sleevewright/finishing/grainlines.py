"""Grainlines: kept where they are; drawn where a piece has none."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.pattern import Piece

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

#: mm. Between a grainline's ends and the sewing line, at the least.
CLEAR = 10.0


def with_grainline(piece: Piece) -> Piece:
    """Return the piece with a grainline inside it.

    Its own where that lies inside; cut off at 10 mm from the edges where it reaches out; else one
    along its direction (up the page without one) through the middle of the piece, two thirds of
    what the piece is long there (TRADE-NOTES 7.4).
    """
    from shapely import LineString  # noqa: PLC0415

    from sleevewright.geometry.region import polygon  # noqa: PLC0415

    whole = polygon((edge.curve for edge in piece.edges), 0.5)
    shape = next(
        (s for clear in (CLEAR, 3.0, 0.5) if not (s := whole.buffer(-clear)).is_empty), whole
    )
    if piece.grain is not None:
        line = LineString([piece.grain.start, piece.grain.end])
        if shape.contains(line):
            return piece
        inside = _longest(shape.intersection(line))
        if inside is not None and inside.length > 0.3 * shape.length / 4:
            return replace(piece, grain=_upwards(inside, piece))
    middle = np.array([shape.centroid.x, shape.centroid.y])
    reach = 2000.0 * piece.up
    across = _longest(shape.intersection(LineString([middle - reach, middle + reach])))
    if across is None:
        return piece
    start, end = (np.asarray(p) for p in (across.coords[0], across.coords[-1]))
    sixth = (end - start) / 6
    return replace(piece, grain=_upwards(LineString([start + sixth, end - sixth]), piece))


def _longest(shape: "BaseGeometry") -> "BaseGeometry | None":
    """Return the longest line of a set of lines; None where there is none."""
    lines = [part for part in getattr(shape, "geoms", [shape]) if part.length > 1.0]
    return max(lines, key=lambda part: part.length) if lines else None


def _upwards(line: "BaseGeometry", piece: Piece) -> Curve:
    a, b = np.asarray(line.coords[0]), np.asarray(line.coords[-1])
    return Curve.line(a, b) if float((b - a) @ piece.up) > 0 else Curve.line(b, a)
