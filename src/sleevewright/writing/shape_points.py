"""The points that shape a line: its corners (turn points) and its smooth knots (curve points)."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.tolerance import CORNER, SAME_POINT
from sleevewright.pattern.piece import Point

Array = NDArray[np.float64]

_SAME_PLACE = 4  # decimals, mm: places that are written alike are one place


def shape_points(lines: Iterable[Curve], ring: Curve) -> tuple[list[Point], list[Point]]:
    """Return (corners, smooth knots) of a closed ring and of open lines, each place once.

    An end of an open line is a corner. A joint between two straight segments that do not turn
    is neither: it only interpolates.
    """
    controls = [ring.controls, *(line.controls for line in lines)]
    sizes = [len(part) for part in controls]
    segments = np.concatenate(controls)
    first = np.cumsum(sizes) - sizes
    before = np.arange(len(segments)) - 1
    before[first] = first + np.array(sizes) - 1  # each line runs round, as the ring does
    into, out = _directions(segments)
    straight = _straight(segments)

    sharp = _turn(out[before], into) > CORNER
    sharp[first[1:]] = True
    knots = ~sharp & ~(straight & straight[before])
    corners = [*segments[sharp, 0], *segments[first[1:] + np.array(sizes[1:], dtype=int) - 1, 3]]
    corner_places = _once(corners)
    taken = set(corner_places)
    return corner_places, [p for p in _once(segments[knots, 0]) if p not in taken]


def _once(points: Iterable[Array]) -> list[Point]:
    places = (
        (round(float(x), _SAME_PLACE) + 0.0, round(float(y), _SAME_PLACE) + 0.0) for x, y in points
    )
    return list(dict.fromkeys(places))


def _directions(segments: Array) -> tuple[Array, Array]:
    """Return the directions at start and end of cubics, (n, 2), of any length.

    Where a handle lies on its end point the next control point gives the direction.
    """
    into, out = segments[:, 3] - segments[:, 0], segments[:, 3] - segments[:, 0]
    for k in (2, 1):
        start, end = segments[:, k] - segments[:, 0], segments[:, 3] - segments[:, 3 - k]
        into = np.where((np.abs(start).max(axis=1) > SAME_POINT)[:, None], start, into)
        out = np.where((np.abs(end).max(axis=1) > SAME_POINT)[:, None], end, out)
    return into, out


def _turn(u: Array, v: Array) -> Array:
    """Return the unsigned angles between directions, degrees."""
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    turn: Array = np.abs(np.degrees(np.arctan2(cross, (u * v).sum(axis=1))))
    return turn


def _straight(segments: Array) -> NDArray[np.bool_]:
    """Whether cubics keep within 1e-6 mm of their chord."""
    run = segments[:, 3] - segments[:, 0]
    off = segments[:, 1:3] - segments[:, :1]
    cross = np.abs(off[..., 0] * run[:, None, 1] - off[..., 1] * run[:, None, 0]).max(axis=1)
    return np.asarray(cross <= SAME_POINT * np.hypot(run[:, 0], run[:, 1]))
