"""`Curve`: a chain of cubic Bezier segments, immutable; the one curve type of the project.

Terms: a *segment* is one cubic; a *station* is a length along the curve from its start, in mm;
a *turn* is the angle by which the direction changes at a joint, counter-clockwise positive.
A straight line is a cubic with its handles at the thirds. Lengths are mm, y points up,
angles are degrees counter-clockwise.
"""

import math
from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sleevewright.geometry import bezier
from sleevewright.geometry.affine import Affine
from sleevewright.geometry.tolerance import CORNER, FLATTEN, SAME_POINT

Array = NDArray[np.float64]


class Curve:
    """A chain of cubics that meet end to end.

    Args:
        controls: control points, shape (n, 4, 2), n >= 1, mm; each segment starts where the one
            before it ends (within 1e-6 mm; the joint is made exact).

    Raises:
        ValueError: wrong shape, a number that is not finite, or segments that do not meet.
    """

    __slots__ = ("_controls", "_flat", "_measured")

    def __init__(self, controls: ArrayLike) -> None:
        array = (
            np.array(controls, dtype=float) + 0.0
        )  # a copy of our own; + 0.0 turns -0.0 into 0.0
        if array.ndim != 3 or array.shape[0] < 1 or array.shape[1:] != (4, 2):
            raise ValueError(f"controls of shape (n, 4, 2) are wanted, not {array.shape}")
        if not np.isfinite(array).all():
            raise ValueError("a coordinate is not a finite number")
        gaps = np.abs(array[1:, 0] - array[:-1, 3])
        if gaps.size and gaps.max() > SAME_POINT:
            raise ValueError(f"segments do not meet: a gap of {gaps.max():.6f} mm")
        array[1:, 0] = array[:-1, 3]
        array.setflags(write=False)
        self._controls = array
        self._measured: tuple[Array, NDArray[np.bool_]] | None = None
        self._flat: tuple[float, Array] | None = None

    # --- making -------------------------------------------------------------------------------

    @classmethod
    def line(cls, start: ArrayLike, end: ArrayLike) -> "Curve":
        """Return the straight line from start to end, shapes (2,), mm."""
        return cls.polyline(np.array([start, end]))

    @classmethod
    def polyline(cls, points: ArrayLike) -> "Curve":
        """Return straight segments through points, shape (m, 2), m >= 2, mm."""
        p = np.asarray(points, dtype=float)
        if p.ndim != 2 or p.shape[0] < 2 or p.shape[1] != 2:
            raise ValueError(f"points of shape (m, 2), m >= 2, are wanted, not {p.shape}")
        a, b = p[:-1], p[1:]
        return cls(np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=1))

    @classmethod
    def cubic(cls, p0: ArrayLike, p1: ArrayLike, p2: ArrayLike, p3: ArrayLike) -> "Curve":
        """Return one cubic of four control points, shapes (2,), mm."""
        return cls(np.array([[p0, p1, p2, p3]]))

    @classmethod
    def joined(cls, curves: "Iterable[Curve]") -> "Curve":
        """Return curves that meet end to end as one.

        Raises:
            ValueError: they do not meet within 1e-6 mm, or there is none.
        """
        return cls(np.concatenate([curve.controls for curve in curves]))

    # --- what it is ---------------------------------------------------------------------------

    @property
    def controls(self) -> Array:
        """The control points, shape (n, 4, 2), read-only, mm."""
        return self._controls

    @property
    def start(self) -> Array:
        """The first point, shape (2,), mm."""
        return np.asarray(self._controls[0, 0])

    @property
    def end(self) -> Array:
        """The last point, shape (2,), mm."""
        return np.asarray(self._controls[-1, 3])

    @property
    def chord(self) -> float:
        """The straight distance from start to end, mm."""
        return float(np.hypot(*(self.end - self.start)))

    @property
    def stations(self) -> Array:
        """The stations of the joints, shape (n + 1,), from 0 to the length, mm."""
        return self._measures()[0]

    def _measures(self) -> tuple[Array, NDArray[np.bool_]]:
        """Return the stations, and which segments run evenly: functions of the value alone, computed once."""
        if self._measured is None:
            lengths, even = bezier.measured(self._controls)
            starts = np.concatenate([[0.0], np.cumsum(lengths)])
            starts.setflags(write=False)
            self._measured = starts, even
        return self._measured

    @property
    def length(self) -> float:
        """The arc length, mm; right to 1e-6 mm."""
        return float(self.stations[-1])

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The exact bounding box (left, bottom, right, top), mm."""
        d = np.diff(self._controls, axis=1)
        a, b, c = d[:, 0] - 2 * d[:, 1] + d[:, 2], 2 * (d[:, 1] - d[:, 0]), d[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            root = np.sqrt(b * b - 4 * a * c)
            t = np.concatenate([(-b - root) / (2 * a), (-b + root) / (2 * a), -c / b], axis=1)
        t = np.clip(np.nan_to_num(t), 0.0, 1.0)  # any t there gives a point of the curve
        points = np.concatenate(
            [bezier.evaluate(self._controls, t), self._controls[:, [0, 3]]], axis=1
        )
        (left, bottom), (right, top) = points.min(axis=(0, 1)), points.max(axis=(0, 1))
        return float(left), float(bottom), float(right), float(top)

    def is_straight(self, within: float = 1e-6) -> bool:
        """Whether every control point lies within `within` mm of the chord."""
        run = self.end - self.start
        reach = np.hypot(*run)
        if reach <= within:
            return False
        off = self._controls - self.start
        return bool(np.abs(off[..., 0] * run[1] - off[..., 1] * run[0]).max() <= within * reach)

    @property
    def green_area(self) -> float:
        """The exact integral of (x dy - y dx) / 2 along the curve, mm2.

        Summed round a closed counter-clockwise outline it is the area (Green's theorem).
        """
        x, y = self._controls[..., 0], self._controls[..., 1]
        return float((x @ _CROSSED * y).sum() / 20.0)

    # --- along it -----------------------------------------------------------------------------

    def _locate(self, station: ArrayLike) -> tuple[NDArray[np.int64], Array]:
        """Return segment indices and parameters of stations, flattened to (m,)."""
        starts, even = self._measures()
        s = np.asarray(station).ravel()
        index = np.clip(np.searchsorted(starts, s, side="right") - 1, 0, len(self._controls) - 1)
        whole, along = starts[index + 1] - starts[index], s - starts[index]
        return index, bezier.parameter_at(self._controls[index], whole, even[index], along)

    def point_at(self, station: ArrayLike) -> Array:
        """Return the points at stations, mm: shape (...) gives (..., 2). Stations are clamped."""
        index, t = self._locate(station)
        points = bezier.evaluate(self._controls[index], t[:, None])[:, 0]
        return np.asarray(points.reshape((*np.shape(station), 2)))

    def direction_at(self, station: ArrayLike) -> Array:
        """Return unit tangents at stations, shape (..., 2), pointing along the curve.

        Where a handle lies on its end point the direction is the limit along the curve.
        """
        index, t = self._locate(station)
        return _unit_tangents(self._controls[index], t).reshape((*np.shape(station), 2))

    @property
    def start_direction(self) -> Array:
        """The unit tangent at the start, shape (2,)."""
        return np.asarray(_unit_tangents(self._controls[:1], np.zeros(1))[0])

    @property
    def end_direction(self) -> Array:
        """The unit tangent at the end, shape (2,)."""
        return np.asarray(_unit_tangents(self._controls[-1:], np.ones(1))[0])

    def curvature_at(self, station: ArrayLike) -> Array:
        """Return signed curvatures at stations, 1/mm, positive where the curve turns left."""
        index, t = self._locate(station)
        d1 = bezier.derivative(self._controls[index], t[:, None])[:, 0]
        d2 = bezier.second_derivative(self._controls[index], t[:, None])[:, 0]
        speed = np.hypot(d1[:, 0], d1[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            k = (d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]) / speed**3
        return np.asarray(k.reshape(np.shape(station)))

    def corners(self, sharper_than: float = CORNER) -> tuple[float, ...]:
        """Return the stations of joints that turn by more than `sharper_than` degrees."""
        if len(self._controls) == 1:
            return ()
        n = len(self._controls)
        out = _unit_tangents(self._controls[:-1], np.ones(n - 1))
        into = _unit_tangents(self._controls[1:], np.zeros(n - 1))
        turns = np.degrees(
            np.arctan2(out[:, 0] * into[:, 1] - out[:, 1] * into[:, 0], (out * into).sum(axis=1))
        )
        return tuple(float(s) for s in self.stations[1:-1][np.abs(turns) > sharper_than])

    # --- parts of it --------------------------------------------------------------------------

    def split_at(self, station: float) -> "tuple[Curve, Curve]":
        """Split at a station, mm; a joint there is used as it is.

        Raises:
            ValueError: the station is not inside the curve by more than 1e-6 mm.
        """
        if not SAME_POINT < station < self.length - SAME_POINT:
            raise ValueError(f"station {station:.6f} is not inside a curve of {self.length:.6f} mm")
        near = int(np.argmin(np.abs(self.stations - station)))
        if abs(self.stations[near] - station) <= SAME_POINT:
            return Curve(self._controls[:near]), Curve(self._controls[near:])
        index, t = self._locate(station)
        i = int(index[0])
        first, second = bezier.split(self._controls[i], float(t[0]))
        return (
            Curve(np.concatenate([self._controls[:i], first[None]])),
            Curve(np.concatenate([second[None], self._controls[i + 1 :]])),
        )

    def between(self, start: float, end: float) -> "Curve":
        """Return the part from station `start` to station `end`, mm, start < end; ends are clamped."""
        curve = self
        if end < self.length - SAME_POINT:
            curve = curve.split_at(end)[0]
        if start > SAME_POINT:
            curve = curve.split_at(start)[1]
        return curve

    @property
    def reversed(self) -> "Curve":
        """The same curve run the other way."""
        return Curve(self._controls[::-1, ::-1])

    def transformed(self, affine: Affine) -> "Curve":
        """Return its image under an affine map; exact."""
        return Curve(affine.apply(self._controls))

    def with_ends(self, start: ArrayLike, end: ArrayLike) -> "Curve":
        """Return the curve turned, scaled and moved so that it runs from start to end, mm.

        Itself where the ends stay. Its angles are kept; its length scales with its chord.
        """
        a, b = np.array([start, end], dtype=float)
        if np.array_equal(a, self.start) and np.array_equal(b, self.end):
            return self
        scale = float(np.hypot(*(b - a))) / self.chord
        move = Affine.moving((self.start, self.end), (a, b))
        controls = (Affine.scaling(scale, scale, a) @ move).apply(self._controls)
        controls[0, 0], controls[-1, 3] = a, b
        return Curve(controls)

    def flattened(self, within: float = FLATTEN) -> Array:
        """Return a read-only polyline, shape (m, 2), whose chords keep within `within` mm of the curve.

        The joints are among its points; straight segments give one chord.
        """
        if self._flat is not None and self._flat[0] == within:
            return self._flat[1]
        counts = bezier.chord_counts(self._controls, within)
        index = np.repeat(np.arange(len(counts)), counts)
        first = np.cumsum(counts) - counts
        t = (np.arange(len(index)) - first[index] + 1) / counts[index]
        points = bezier.evaluate(self._controls[index], t[:, None])[:, 0]
        points[first + counts - 1] = self._controls[:, 3]  # joints exactly, not to rounding
        flat = np.concatenate([self.start[None], points])
        flat.setflags(write=False)
        self._flat = within, flat  # a function of the value and of `within`
        return flat

    def nearest(self, point: ArrayLike) -> tuple[float, float]:
        """Return (station, distance) of the point of the curve nearest to point, shape (2,), mm."""
        p = np.asarray(point)
        off = _GRID_BASIS @ self._controls - p
        distance = (off[..., 0] ** 2 + off[..., 1] ** 2).ravel()
        places = (divmod(place, len(_GRID)) for place in _valleys(distance))
        found = [(i, *_nearest_on(self._controls[i], at, p)) for i, at in places]
        segment, t, best = min(found, key=lambda place: place[2])
        one = slice(segment, segment + 1)
        starts, even = self._measures()
        run = bezier.lengths_between(self._controls[one], even[one], np.zeros(1), np.array([t]))
        return float(starts[segment] + run[0]), best

    # --- as a value ---------------------------------------------------------------------------

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Curve) and np.array_equal(self._controls, other._controls)

    def __hash__(self) -> int:
        return hash(self._controls.tobytes())

    def __reduce__(self) -> tuple[type, tuple[Any]]:
        return Curve, (self._controls.tolist(),)

    def __repr__(self) -> str:
        (x0, y0), (x1, y1) = self.start, self.end
        return (
            f"<Curve {len(self._controls)} segments, ({x0:.2f}, {y0:.2f}) to ({x1:.2f}, {y1:.2f})>"
        )


#: Weights of x_i y_j in 20 times that integral over one cubic.
_CROSSED = np.array([[0.0, 6, 3, 1], [-6, 0, 3, 3], [-3, -3, 0, 6], [-1, -3, -6, 0]])
_GRID = np.linspace(0.0, 1.0, 17)
_GRID_LIST: list[float] = _GRID.tolist()
_GRID_BASIS = bezier.point_basis(_GRID)


#: From control points to the powers of t.
_POWERS = np.array([[1.0, 0, 0, 0], [-3, 3, 0, 0], [3, -6, 3, 0], [-1, 3, -3, 1]])
_VALLEYS = 4  # of the distance along a curve that are searched


def _valleys(distance: Array) -> list[int]:
    """Return the places of the lowest local minima of samples, shape (n,), the lowest first."""
    padded = np.concatenate([[np.inf], distance, [np.inf]])
    low = np.flatnonzero((distance <= padded[:-2]) & (distance <= padded[2:]))
    return sorted(low.tolist(), key=distance.__getitem__)[:_VALLEYS]


def _nearest_on(control: Array, at: int, p: Array) -> tuple[float, float]:
    """Return (t, distance) of the point of one cubic, (4, 2), nearest to p between two grid points around `at`.

    Where the distance stops falling, (B - p) . B' = 0: Newton's method inside the bracket, halving where it
    leaves it. Plain floats: on single numbers numpy costs more than the arithmetic.
    """
    x, y = (_Cubic(*row) for row in (_POWERS @ (control - p)).T.tolist())
    lo, t, hi = _GRID_LIST[max(at - 1, 0)], _GRID_LIST[at], _GRID_LIST[min(at + 1, len(_GRID) - 1)]
    for _ in range(60):
        (bx, dx, ddx), (by, dy, ddy) = x.at(t), y.at(t)
        slope = bx * dx + by * dy
        lo, hi = (t, hi) if slope < 0.0 else (lo, t)
        bend = dx * dx + dy * dy + bx * ddx + by * ddy
        new = t - slope / bend if bend > 0.0 else math.nan
        if not lo <= new <= hi:
            new = 0.5 * (lo + hi)
        if abs(new - t) < 1e-13:
            break
        t = new
    return t, math.hypot(x.at(t)[0], y.at(t)[0])


class _Cubic(NamedTuple):
    """a + b t + c t2 + d t3."""

    a: float
    b: float
    c: float
    d: float

    def at(self, t: float) -> tuple[float, float, float]:
        """Return value, first and second derivative at t."""
        a, b, c, d = self
        return (
            a + t * (b + t * (c + t * d)), b + t * (2.0 * c + t * 3.0 * d), 2.0 * c + 6.0 * d * t
        )  # fmt: skip


def _unit_tangents(controls: Array, t: Array) -> Array:
    """Return unit tangents of n cubics at t, (n,): the first derivative that does not vanish.

    At a cusp or a handle on its end point the limit from inside the segment is taken.
    """
    d1 = bezier.derivative(controls, t[:, None])[:, 0]
    size = np.hypot(d1[:, 0], d1[:, 1])
    span = np.abs(controls - controls[:, :1]).max(axis=(1, 2))
    weak = size <= 1e-9 * span
    if weak.any():
        inward = np.where(t[weak] < 0.5, 1e-4, -1e-4)
        d1[weak] = bezier.derivative(controls[weak], (t[weak] + inward)[:, None])[:, 0]
        size = np.hypot(d1[:, 0], d1[:, 1])
    return d1 / np.maximum(size, bezier.LEAST)[:, None]
