"""How far a strip is turned or shifted at a slash line, so that edges gain what they should and no more."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.operations.contract import OperationError

Array = NDArray[np.float64]

_WIDEST = 60.0  # degrees; strips turned further apart than that are no fullness any more


@dataclass(frozen=True)
class Gap:
    """A run where a slash line meets it: how long the fair curve over the window becomes."""

    curve: Curve
    at: float
    room: tuple[float, float]
    forward: bool  # the strip that is moved comes later along the run

    def opening(self, step: Affine) -> float:
        """Return what the run gains when the later strip is moved, mm."""
        ends = list(self._ends)
        i = 1 if self.forward else 0
        ends[i] = (step.apply(ends[i][0]), step.apply(ends[i][1]))
        (a, ahead), (b, beyond) = ends
        return fair_curve(a, b, ahead - a, beyond - b).length - sum(self.room)

    @cached_property
    def _ends(self) -> tuple[tuple[Array, Array], ...]:
        """Where the window begins and ends, each with a point ahead of it."""
        stations = np.array([self.at - self.room[0], self.at + self.room[1]])
        points, along = self.curve.point_at(stations), self.curve.direction_at(stations)
        return tuple((p, p + d) for p, d in zip(points, along, strict=True))

    @cached_property
    def outward(self) -> Array:
        """The direction along the run in which the moved strip leaves its neighbour."""
        along = self.curve.direction_at(self.at)
        return along if self.forward else -along


def hinged_step(line: Curve, amount: float, near: Gap, far: Gap) -> Affine:
    """Return the turn about the line's far end by which the near run gains an amount, no other."""

    def miss(x: Array) -> Array:
        step = _hinged(line, far, x)
        return np.array([near.opening(step) - amount, far.opening(step)])

    x = _solved(miss, np.array([amount / line.length, 0.0]), amount, line)
    return _hinged(line, far, x)


def _hinged(line: Curve, far: Gap, x: Array) -> Affine:
    """Return the turn by x[0] radians about a line's far end, which gives by x[1] mm."""
    turn = Affine.rotation(float(np.degrees(x[0])), line.end)
    return Affine.translation(x[1] * far.outward) @ turn


def turned_step(line: Curve, width: float, far: Gap) -> Affine:
    """Return the turn about the line's far end that opens the near end by a width, chord, mm."""
    if width > line.length:
        raise OperationError(
            f"a slash of {line.length:.1f} mm cannot be opened by {width:.1f} mm; make pleats shallower"
        )

    def miss(x: Array) -> Array:
        step = _hinged(line, far, x)
        opened = float(np.hypot(*(step.apply(line.start) - line.start)))
        return np.array([opened - width, far.opening(step)])

    start = np.array([2 * float(np.arcsin(width / 2 / line.length)), 0.0])
    return _hinged(line, far, _solved(miss, start, width, line))


def shifted_step(line: Curve, amount: float, near: Gap) -> Affine:
    """Return the shift square to the line by which the near run gains an amount."""
    u = line.start_direction
    square = np.array([u[1], -u[0]])
    slant = float(square @ near.outward)
    if slant < 0.35:
        raise OperationError("a slash line meets the edge that it opens too slantwise")

    def miss(x: Array) -> Array:
        return np.array([near.opening(Affine.translation(x[0] * square)) - amount])

    x = _solved(miss, np.array([amount / slant]), amount, line)
    return Affine.translation(x[0] * square)


def _solved(miss: Callable[[Array], Array], x: Array, amount: float, line: Curve) -> Array:
    """Newton's method with numeric derivatives; lengths to 1e-8 mm."""
    for _ in range(30):
        off = miss(x)
        if np.abs(off).max() < 1e-8:
            break
        slopes = np.empty((len(x), len(x)))
        for k in range(len(x)):
            nudge = np.zeros(len(x))
            nudge[k] = 1e-6
            slopes[:, k] = (miss(x + nudge) - off) / 1e-6
        if not np.isfinite(slopes).all() or abs(np.linalg.det(slopes)) < 1e-9:
            break
        x = x - np.linalg.solve(slopes, off)
    turned = len(x) > 1 and abs(float(np.degrees(x[0]))) > _WIDEST
    if turned or np.abs(miss(x)).max() > 1e-5:
        raise OperationError(
            f"a slash of {line.length:.1f} mm cannot be opened by {amount:.1f} mm and its edges"
            " drawn fair; take more lines, or a smaller amount"
        )
    return x
