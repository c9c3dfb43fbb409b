"""Fair curves: the smooth curve from A to B with given end directions, and with a given length.

The heart of trueing. A cubic with ends and end directions given has its two handle lengths free.
Kept in their natural proportion they leave one number, and the length of the curve grows with it:
a one-parameter root find. Where no fair curve has the length, the error says by how much it misses.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sleevewright.geometry import bezier
from sleevewright.geometry.curve import Curve

#: Handles as parts of the chord, the shortest first; beyond them a curve kinks or loops.
_HANDLES = np.linspace(0.08, 1.2, 24)
#: Parts of the chord that both handles of a bridge may reach along it together: at 2 a straight curve stands
#: still in its middle and turns back on itself, and long before that it bends in a point.
_MOST_REACH = 1.5
_SETTLED = 1e-7  # mm
_MOST_STEPS = 200  # of a root find; the worst jump takes a third of them


class FairingError(ValueError):
    """No fair curve of the asked length.

    Attributes:
        miss: how much longer (positive) or shorter the asked length is than the nearest fair one, mm.
    """

    def __init__(self, asked: float, nearest: float) -> None:
        self.miss = asked - nearest
        super().__init__(
            f"no fair curve is {asked:.2f} mm long here; the nearest is {nearest:.2f} mm"
            f" ({self.miss:+.2f} mm)"
        )


def fair_curve(
    start: ArrayLike,
    end: ArrayLike,
    start_direction: ArrayLike,
    end_direction: ArrayLike,
    length: float | None = None,
) -> Curve:
    """Return the fair cubic from start to end.

    Args:
        start, end: points, shapes (2,), mm.
        start_direction, end_direction: directions along the curve, shapes (2,), any size > 0.
        length: the arc length wanted, mm, met to 1e-6 mm; None for the natural curve, whose
            handles are those of a circular arc of the same turn.

    Raises:
        FairingError: no fair curve has that length.
        ValueError: start and end are one point.
    """
    a, b = np.array([start, end], dtype=float)
    u, v = _unit(start_direction), _unit(end_direction)
    chord = float(np.hypot(*(b - a)))
    if chord < 1e-9:
        raise ValueError("a fair curve needs two different ends")

    def with_handles(part: float) -> Curve:
        return Curve.cubic(a, a + part * chord * u, b - part * chord * v, b)

    part = natural_handle((b - a) / chord, u, v)
    natural = with_handles(part)
    if length is None or abs(natural.length - length) < _SETTLED:
        return natural
    many = np.broadcast_to(np.array([a, a, b, b]), (len(_HANDLES), 4, 2)).copy()
    many[:, 1] += chord * _HANDLES[:, None] * u
    many[:, 2] -= chord * _HANDLES[:, None] * v
    lengths = bezier.lengths(many) - length
    crossings = np.flatnonzero(np.sign(lengths[1:]) != np.sign(lengths[0]))
    if not crossings.size:
        raise FairingError(length, length + float(lengths[np.argmin(np.abs(lengths))]))
    i = crossings[0]  # the length grows with the handles: there is one
    return with_handles(
        find_root(lambda part: with_handles(part).length - length, *_HANDLES[i : i + 2])
    )


def bridge(before: Curve, after: Curve, length: float) -> Curve:
    """Return the fair curve from one curve's end to another's start, as long as asked where one is.

    Args:
        before, after: mm.
        length: mm; where no fair curve has it, or only one whose handles overlap, the natural one is taken.
    """
    ends = (before.end, after.start, before.end_direction, after.start_direction)
    try:
        found = fair_curve(*ends, length)
    except FairingError:
        return fair_curve(*ends)
    a, b, c, d = found.controls[0]
    overlap = float((b - a + d - c) @ (d - a)) > _MOST_REACH * found.chord**2
    return fair_curve(*ends) if overlap else found


def natural_handle(
    chord: NDArray[np.float64], u: NDArray[np.float64], v: NDArray[np.float64]
) -> float:
    """Return the handle length, as a part of the chord, of a circular arc with this turn.

    Args:
        chord, u, v: unit directions of the chord, the start and the end, shapes (2,).

    For an arc of half-angle h the handle is 4/3 tan(h/2) r and the chord 2 r sin h; that is
    1/3 for a straight run (the usual approximation of arcs by cubics).
    """
    turn = math.acos(float(np.clip(chord @ u, -1, 1))) + math.acos(float(np.clip(chord @ v, -1, 1)))
    half = min(turn / 2, 1.4)
    return 1 / 3 if half < 1e-6 else 2 / 3 * math.tan(half / 2) / math.sin(half)


def find_root(
    function: Callable[[float], float], lo: float, hi: float, settled: float = _SETTLED
) -> float:
    """Return where a continuous function of one number changes sign between lo and hi.

    The Illinois form of false position: never leaves the bracket; stops when |value| <= settled.

    Raises:
        ValueError: the function has one sign at both ends.
    """
    f_lo, f_hi = function(lo), function(hi)
    if abs(f_lo) <= settled:
        return float(lo)
    if abs(f_hi) <= settled:
        return float(hi)
    if f_lo / f_hi > 0:  # one sign; the product of small values may vanish
        raise ValueError(f"no change of sign: {f_lo:.6g} at {lo:.6g}, {f_hi:.6g} at {hi:.6g}")
    last = math.inf
    for _ in range(_MOST_STEPS):
        middle = (f_lo * hi - f_hi * lo) / (f_lo - f_hi)
        value = function(middle)
        if abs(value) <= settled or math.isclose(lo, hi, rel_tol=1e-15, abs_tol=1e-15):
            break
        stalls = value / last > 0  # the same end moves again: the other weighs half
        if value / f_hi > 0:
            hi, f_hi = middle, value
            f_lo = f_lo / 2 if stalls else f_lo
        else:
            lo, f_lo = middle, value
            f_hi = f_hi / 2 if stalls else f_hi
        last = value
    return float(middle)


def _unit(direction: ArrayLike) -> NDArray[np.float64]:
    d = np.asarray(direction, dtype=float)
    size = float(np.hypot(*d))
    if not size > 0 or not math.isfinite(size):
        raise ValueError("a direction has no length")
    return d / size
