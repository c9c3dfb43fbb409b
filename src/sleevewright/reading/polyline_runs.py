"""Polylines to fair curves: corners from turn points or sharp turns, smooth runs between them."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError
from sleevewright.geometry import Curve
from sleevewright.geometry.fitting import fit_polyline

Array = NDArray[np.float64]

#: degrees. A polyline that turns more at a vertex has a corner there (where no turn points say so).
CORNER = 25.0
#: mm. How near a fitted curve keeps to the vertices: the chords themselves stray as much.
FIT = 0.01
#: mm. A fitted curve is as long as its polyline to this, or its knots were no good guide.
FAIR = 0.05
#: mm. A turn or curve point belongs to the vertex within this.
SAME_VERTEX = 0.02


def vertices(curve: Curve) -> Array:
    """Return the vertices of a closed polyline without its repeated last; curves are flattened."""
    if all(Curve([c]).is_straight(1e-9) for c in curve.controls[:8]):
        return np.array(curve.controls[:, 0])
    return curve.flattened(0.01)[:-1]


def between_corners(points: Array, turns: Array, knots: Array) -> tuple[Curve, ...]:
    """Cut a closed polyline at its corners and fit fair curves between them.

    Args:
        points: vertices without the repeated last one, shape (m, 2), mm.
        turns: turn points; where there are none corners are where the line turns by 25 degrees.
        knots: curve points, where the sender's curve had joints.
    """
    steps = np.diff(np.concatenate([points, points[:1]]), axis=0)
    keep = np.hypot(*steps.T) > 1e-9
    points = points[keep]
    corners = _matching(points, turns)
    if len(corners) < 3:
        corners = _sharp(points)
    if len(corners) < 3:
        raise LabelError(f"an outline has {len(corners)} corners; a piece has three or more")
    first = corners[0]
    points = np.concatenate([points[first:], points[:first], points[first : first + 1]])
    cuts = [c - first for c in corners] + [len(points) - 1]
    marked = _matching(points, knots)
    return tuple(_fair(points[a : b + 1], [k - a for k in marked]) for a, b in pairwise(cuts))


def fair_between(points: Array, turns: Array, knots: Array) -> Curve:
    """Fit fair curves to one edge, parted at the turn points inside it."""
    last = len(points) - 1
    cuts = [0, *(i for i in _matching(points, turns) if 0 < i < last), last]
    marked = _matching(points, knots)
    return Curve.joined(
        _fair(points[a : b + 1], [k - a for k in marked]) for a, b in pairwise(cuts)
    )


def _fair(points: Array, knots: list[int]) -> Curve:
    """Fit one smooth run; knots too dense for its vertices to give directions are left out."""
    curve = fit_polyline(points, [k for k in knots if 0 < k < len(points) - 1], FIT)
    drawn = float(np.hypot(*np.diff(points, axis=0).T).sum())
    return curve if abs(curve.length - drawn) <= FAIR else fit_polyline(points, within=FIT)


def _matching(points: Array, marks: Array) -> list[int]:
    """Return the indices of vertices that have a mark within 0.02 mm."""
    if not len(marks) or not len(points):
        return []
    gaps = np.hypot(*np.moveaxis(points[:, None] - marks[None], -1, 0))
    return np.flatnonzero(gaps.min(axis=1) < SAME_VERTEX).tolist()


def _sharp(points: Array) -> list[int]:
    """Return the vertices where the outline turns by more than 25 degrees."""
    into = points - np.roll(points, 1, axis=0)
    out = np.roll(points, -1, axis=0) - points
    turn = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1))
    return np.flatnonzero(np.abs(np.degrees(turn)) > CORNER).tolist()
