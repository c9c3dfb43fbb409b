"""Measuring by dense points, for tests: nothing of the package's own arc lengths or areas is used."""

import numpy as np
from numpy.typing import NDArray

from samples_of_ours import BLOCKS, by_size, from_named
from sleevewright.geometry import Curve
from sleevewright.pattern import Pattern, Piece, Role

Array = NDArray[np.float64]

#: Smallest, middle and largest of every block.
SIZES = [
    (block, sizes[k])
    for block in BLOCKS
    for sizes in [sorted(by_size(from_named(block)), key=int)]
    for k in sorted({0, len(sizes) // 2, len(sizes) - 1})
]
SIDES = ("front", "back")


def block_of(block: str, size: str) -> Pattern:
    return by_size(from_named(block))[size]


def dense(curve: Curve, steps: int = 1000) -> Array:
    """Points of a chain of cubics, (m, 2), by the Bernstein form."""
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    basis = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    parts = [sum(b * p for b, p in zip(basis, cubic, strict=True)) for cubic in curve.controls]
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def walked(points: Array) -> float:
    """The length of a polyline, mm."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def along(points: Array, at: float) -> Array:
    """The point of a polyline at a length, (2,)."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return np.array([np.interp(at, run, column) for column in points.T])


def long(piece: Piece, role: Role) -> float:
    """The length of all edges of a role, mm."""
    return sum(walked(dense(e.curve)) for e in piece.edges if e.role is role)


def outline(piece: Piece) -> Array:
    """The outline as a polyline without its first point again, (m, 2)."""
    return np.concatenate([dense(edge.curve)[:-1] for edge in piece.edges])


def area_within(points: Array) -> float:
    """Area inside a closed polyline by the shoelace formula, mm2."""
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
