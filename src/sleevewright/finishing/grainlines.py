"""Grainlines: kept where they are; drawn where a piece has none, moved off a line they lie on."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.pattern import Piece

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

#: mm. Between a grainline's ends and the sewing line, at the least.
CLEAR = 10.0
#: mm. A line inside the piece that is nearer lies on the grainline; one moved aside is so far from it.
_ON, _APART = 3.0, 8.0
_ASIDE = (7.0, -7.0, 14.0, -14.0, 21.0, -21.0)  # mm
_SHORTEST = 15.0  # mm
_STEP, _MOST = 4.0, 80.0  # mm: how a grainline is moved aside, and how far at the most


def with_grainline(piece: Piece) -> Piece:
    """Return the piece with a grainline inside it.

    Its own where that lies inside; cut off at 10 mm from the edges where it reaches out; else one
    along its direction (up the page without one) through the middle of the piece, two thirds of
    what the piece is long there (common practice). Where it would lie on a line inside the piece (a
    fold in the middle of a sleeve) it is moved aside, parallel to itself.
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
            return _beside_lines(piece, shape)
        inside = _longest(shape.intersection(line))
        if inside is not None and inside.length > 0.3 * shape.length / 4:
            return _beside_lines(replace(piece, grain=_upwards(inside, piece)), shape)
    middle = np.array([shape.centroid.x, shape.centroid.y])
    reach = 2000.0 * piece.up
    across = _longest(shape.intersection(LineString([middle - reach, middle + reach])))
    if across is None:
        return piece
    start, end = (np.asarray(p) for p in (across.coords[0], across.coords[-1]))
    sixth = (end - start) / 6
    grain = _upwards(LineString([start + sixth, end - sixth]), piece)
    return _beside_lines(replace(piece, grain=grain), shape)


def with_grainline_elsewhere(piece: Piece) -> Iterator[Piece]:
    """Yield a small piece with its grainline moved aside, or half as long: room for letters.

    Only places inside; a half not shorter than 15 mm, too short to lay a ruler on.
    """
    from shapely import LineString  # noqa: PLC0415

    from sleevewright.geometry.region import polygon  # noqa: PLC0415

    grain = piece.grain
    if grain is None:
        return
    shape = polygon((edge.curve for edge in piece.edges), 0.5).buffer(-_ON)
    along = (grain.end - grain.start) / grain.length
    across = np.array([-along[1], along[0]])
    for aside in _ASIDE:
        start, end = grain.start + aside * across, grain.end + aside * across
        if shape.contains(LineString([start, end])):
            yield replace(piece, grain=Curve.line(start, end))
    if grain.length >= 2 * _SHORTEST:
        middle = (grain.start + grain.end) / 2
        yield replace(piece, grain=Curve.line(middle, grain.end))
        yield replace(piece, grain=Curve.line(grain.start, middle))


def _beside_lines(piece: Piece, shape: "BaseGeometry") -> Piece:
    """Return the piece with its grainline moved off the lines inside that it lies on, if any.

    It goes to the nearest place that is clear of all of them and inside; where there is none it stays.
    """
    from shapely import LineString  # noqa: PLC0415

    grain = piece.grain
    if grain is None or not piece.internal:
        return piece
    along = (grain.end - grain.start) / grain.length
    across = np.array([-along[1], along[0]])
    drawn = [line.curve.flattened(0.5) - grain.start for line in piece.internal]
    # of every line inside: how far aside of the grainline it is beside it, mm
    beside = [found for line in drawn if (found := _aside(line, along, across, grain.length))]

    def clear(aside: float, apart: float) -> bool:
        return not any(low - apart < aside < high + apart for low, high in beside)

    if clear(0.0, _ON):
        return piece
    steps = np.arange(_STEP, _MOST + _STEP, _STEP)
    for aside in np.stack([steps, -steps], axis=1).ravel():
        start, end = grain.start + aside * across, grain.end + aside * across
        if clear(float(aside), _APART) and shape.contains(LineString([start, end])):
            return replace(piece, grain=Curve.line(start, end))
    return piece


def _aside(line: Array, along: Array, across: Array, length: float) -> tuple[float, float] | None:
    """Return how far aside of a grainline a line runs along it, least and most, mm; None where it does not.

    Points are from the grainline's start. A line runs along it where it is steeper than 4 : 1 to it
    and they lie abreast; others cross it, which does no harm.
    """
    up, aside = line @ along, line @ across
    abreast = up.max() > 0.0 and up.min() < length
    if not abreast or float(np.ptp(up)) < 4.0 * float(np.ptp(aside)):
        return None
    return float(aside.min()), float(aside.max())


def _longest(shape: "BaseGeometry") -> "BaseGeometry | None":
    """Return the longest line of a set of lines; None where there is none."""
    lines = [part for part in getattr(shape, "geoms", [shape]) if part.length > 1.0]
    return max(lines, key=lambda part: part.length) if lines else None


def _upwards(line: "BaseGeometry", piece: Piece) -> Curve:
    a, b = np.asarray(line.coords[0]), np.asarray(line.coords[-1])
    return Curve.line(a, b) if float((b - a) @ piece.up) > 0 else Curve.line(b, a)
