"""Runs of edges, and runs redrawn when the strips that they lie on are moved apart.

A run that opens keeps its shape and is drawn wider: the middle of every strip's part goes where its
strip goes, the ends go with the outer strips in place and direction, and a spline through these
moves carries all points between.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge

Array = NDArray[np.float64]

_WINDOW = 0.45  # of a strip's part of the edge, on either side of a line
_WIDEST = 30.0  # mm; over more than that on either side one cubic no longer follows a sleeve head
_STEP = 12.0  # mm; a redrawn edge is one cubic for so much of the old one
_LONE = 0.8  # of the room beside a single line, over which its opening is drawn fair


@dataclass(frozen=True)
class Run:
    """Neighbouring edges of an outline as one curve.

    Attributes:
        edges: in outline order, each beginning where the one before it ends.
    """

    edges: tuple[Edge, ...]

    @cached_property
    def curve(self) -> Curve:
        """All edges as one curve, mm."""
        return Curve.joined(edge.curve for edge in self.edges)

    @cached_property
    def joints(self) -> tuple[float, ...]:
        """Stations of the ends of all edges, from 0 to the length, mm."""
        return (0.0, *(float(s) for s in np.cumsum([edge.length for edge in self.edges])))

    def rooms(self, cuts: Sequence[float]) -> list[tuple[float, float]]:
        """Return how far a window reaches before and after every cut, mm: clear of corners."""
        stops = sorted({0.0, *cuts, *self.curve.corners(), self.curve.length})
        return [
            (
                min(_WIDEST, _WINDOW * (cut - max(s for s in stops if s < cut))),
                min(_WIDEST, _WINDOW * (min(s for s in stops if s > cut) - cut)),
            )
            for cut in cuts
        ]

    def named(self, curve: Curve) -> tuple[Edge, ...]:
        """Return the edges on a curve of the same length, their ends and notches where they were."""
        ends = [*self.joints[:-1], curve.length]
        return tuple(
            replace(edge, curve=curve.between(a, b))
            for edge, a, b in zip(self.edges, ends[:-1], ends[1:], strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """An edge drawn out along a direction between two stations, most at a peak, fading to nothing.

    Attributes:
        most: how far, mm.
        peak: where, as a part of the stretch.
        stretch: stations on the run as it was, mm.
        up: the grain, a unit direction, shape (2,); it is drawn out along it, away from the piece.
    """

    most: float
    peak: float
    stretch: tuple[float, float]
    up: Array

    def drawn(self, curve: Curve, stations: Array) -> tuple[Array, Array]:
        """Return displacements and their slopes along the run, shapes (m, 2).

        Raises:
            OperationError: the stretch runs along the grain.
        """
        a, b = self.stretch
        along = curve.point_at(b) - curve.point_at(a)
        slant = float(np.array([along[1], -along[0]]) @ self.up / np.hypot(*along))
        if abs(slant) < 0.5:
            raise OperationError("an edge that runs along the grain cannot be drawn out to stand")
        t = np.clip((stations - a) / (b - a), 0.0, 1.0)
        rising = t < self.peak
        phase = np.pi / 2 * np.where(rising, t / self.peak, (1 - t) / (1 - self.peak))
        speed = np.pi / 2 / (b - a) * np.where(rising, 1 / self.peak, -1 / (1 - self.peak))
        out = np.sign(slant) * self.up * self.most
        return np.sin(phase)[:, None] ** 2 * out, (np.sin(2 * phase) * speed)[:, None] * out


def redrawn(
    run: Run, cuts: Sequence[float], placed: Sequence[Affine], stand: Stand | None = None
) -> tuple[Edge, ...]:
    """Return the edges of a run whose strips are moved apart at cuts.

    Args:
        run: as it was.
        cuts: stations, rising, mm.
        placed: the move of every strip, one more than cuts.
        stand: how it is drawn out besides.
    """
    marks = [joint + n.at for edge, joint in zip(run.edges, run.joints, strict=False)
             for n in edge.notches]  # fmt: skip
    nodes = _nodes(run, cuts)
    grid = _grid(run, [*nodes, *marks, *(stand.stretch if stand else ())])
    move, slope = _spline(run, nodes, placed, grid)
    if stand is not None:
        more = stand.drawn(run.curve, grid)
        move, slope = move + more[0], slope + more[1]
    points = run.curve.point_at(grid) + move
    starts, ends = _tangents(run, grid)
    thirds = np.diff(grid)[:, None] / 3
    curve = Curve(
        np.stack(
            [
                points[:-1],
                points[:-1] + thirds * (starts + slope[:-1]),
                points[1:] - thirds * (ends + slope[1:]),
                points[1:],
            ],
            axis=1,
        )
    )
    return _edges_of(run, curve, grid)


def _edges_of(run: Run, curve: Curve, grid: Array) -> tuple[Edge, ...]:
    """Return the edges on a curve with one segment for each step of the grid."""

    def gone(station: float) -> float:
        return float(curve.stations[int(np.argmin(np.abs(grid - station)))])

    edges = []
    for edge, a, b in zip(run.edges, run.joints, run.joints[1:], strict=False):
        notches = tuple(replace(n, at=gone(a + n.at) - gone(a)) for n in edge.notches)
        edges.append(replace(edge, curve=curve.between(gone(a), gone(b)), notches=notches))
    return tuple(edges)


def _nodes(run: Run, cuts: Sequence[float]) -> list[float]:
    """Return the stations that go with their strips: where fairing begins, middles, where it ends."""
    rooms = cuts[0], run.curve.length - cuts[-1]
    gaps = np.diff(cuts)
    first, last = (gaps[0], gaps[-1]) if len(gaps) else (_LONE * min(rooms),) * 2
    middles = [(a + b) / 2 for a, b in zip(cuts[:-1], cuts[1:], strict=True)]
    return [cuts[0] - min(first, rooms[0]), *middles, cuts[-1] + min(last, rooms[1])]


def _grid(run: Run, wanted: Sequence[float]) -> Array:
    """Return rising stations no further apart than a step, with all wanted ones and all joints."""
    known = np.sort(np.clip([*wanted, *run.joints, *run.curve.stations], 0.0, run.curve.length))
    kept = [known[0]]
    for station in known[1:]:
        if station - kept[-1] > 1e-7:
            kept.append(station)
    pieces = [
        np.linspace(a, b, int(np.ceil((b - a) / _STEP)) + 1)[:-1]
        for a, b in zip(kept[:-1], kept[1:], strict=True)
    ]
    return np.concatenate([*pieces, [run.curve.length]])


def _tangents(run: Run, grid: Array) -> tuple[Array, Array]:
    """Return unit tangents at the starts and at the ends of the grid's steps, shapes (m, 2)."""
    nudge = 1e-6
    return run.curve.direction_at(grid[:-1] + nudge), run.curve.direction_at(grid[1:] - nudge)


def _spline(
    run: Run, nodes: Sequence[float], placed: Sequence[Affine], grid: Array
) -> tuple[Array, Array]:
    """Return displacements and their slopes along the run at stations, shapes (m, 2)."""
    x = np.array(nodes)
    points, along = run.curve.point_at(x), run.curve.direction_at(x)
    moves = np.array([move.apply(p) - p for move, p in zip(placed, points, strict=True)])
    turns = np.array(
        [m.apply(p + d) - m.apply(p) - d for m, p, d in zip(placed, points, along, strict=True)]
    )
    slopes = _slopes(x, moves, turns[0], turns[-1])
    i = np.clip(np.searchsorted(x, grid, side="right") - 1, 0, len(x) - 2)
    h = (x[i + 1] - x[i])[:, None]
    t = np.clip((grid - x[i])[:, None] / h, 0.0, 1.0)
    value = (
        (1 + 2 * t) * (1 - t) ** 2 * moves[i] + t * (1 - t) ** 2 * h * slopes[i]
        + t * t * (3 - 2 * t) * moves[i + 1] + t * t * (t - 1) * h * slopes[i + 1]
    )  # fmt: skip
    slope = (
        6 * t * (t - 1) / h * (moves[i] - moves[i + 1])
        + (1 - t) * (1 - 3 * t) * slopes[i] + t * (3 * t - 2) * slopes[i + 1]
    )  # fmt: skip
    for outside, move in ((grid < x[0], placed[0]), (grid > x[-1], placed[-1])):
        if not outside.any():
            continue
        at, ahead = run.curve.point_at(grid[outside]), run.curve.direction_at(grid[outside])
        value[outside] = move.apply(at) - at
        slope[outside] = move.apply(at + ahead) - move.apply(at) - ahead
    return value, slope


def _slopes(x: Array, values: Array, first: Array, last: Array) -> Array:
    """Return the slopes of the cubic spline through values with given end slopes, shape (n, 2)."""
    n = len(x)
    h = np.diff(x)
    matrix, right = np.eye(n), np.zeros((n, 2))
    right[0], right[-1] = first, last
    for k in range(1, n - 1):
        matrix[k, k - 1 : k + 2] = h[k], 2 * (h[k - 1] + h[k]), h[k - 1]
        steps = (values[k] - values[k - 1]) / h[k - 1], (values[k + 1] - values[k]) / h[k]
        right[k] = 3 * (h[k] * steps[0] + h[k - 1] * steps[1])
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
