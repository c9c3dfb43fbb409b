"""How the cut lines of two neighbouring edges meet.

At a corner P an edge arrives (its cut line ends at P + w n) and another leaves. On the outside of
a convex corner there is room to fill, by the corner's kind; in a hollow one the two cut lines
cross and are cut off where they do.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, find_root
from sleevewright.geometry.intersect import intersections
from sleevewright.pattern.roles import Corner

Array = NDArray[np.float64]

#: An extended corner is trimmed at this many times the wider allowance (common practice).
TRIM = 2.5

_SMOOTH = 0.5  # degrees
_SNAPPED = 0.01  # mm
_MILD = 12.0  # degrees


class CornerError(ValueError):
    """The cut lines of two neighbours cannot be brought together."""


@dataclass(frozen=True, slots=True)
class Strand:
    """An edge with its cut line, on one side of a corner.

    Attributes:
        sew: the sewing line.
        cut: the cut line, as far as it has been settled.
        width: the allowance, mm.
    """

    sew: Curve
    cut: Curve
    width: float


def met(
    into: Strand, out: Strand, kind: Corner, hem: str
) -> tuple[Curve, tuple[Curve, ...], Curve]:
    """Bring two cut lines together.

    Args:
        into: the edge that arrives at the corner.
        out: the edge that leaves it.
        kind: how the corner is made.
        hem: for mirrored corners, which of the two is the hem or wrist: "into" or "out".

    Returns:
        The arriving cut line (perhaps cut off), what fills the corner, and the leaving cut line.

    Raises:
        CornerError: in a hollow corner the cut lines do not cross.
    """
    u, v = into.sew.end_direction, out.sew.start_direction
    turn = math.degrees(math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v)))
    if turn > 170.0:  # a dart tip whose legs run out into each other, not a spike
        turn -= 360.0
    if abs(turn) < _SMOOTH and abs(into.width - out.width) < 1e-9:
        return _smooth_joint(into, out, turn)
    if turn < 0:
        return _hollow(into, out, turn)
    if kind is Corner.MIRRORED and into.width != out.width:
        return _mirrored(into, out, hem)
    if abs(turn) < _MILD and into.width != out.width:
        return into.cut, _line(into.cut.end, out.cut.start), out.cut  # a step, square to both
    if kind is Corner.SQUARED:
        return into.cut, _squared(into, out), out.cut
    return into.cut, _extended(into, out, kind), out.cut


def _smooth_joint(into: Strand, out: Strand, turn: float) -> tuple[Curve, tuple[Curve, ...], Curve]:
    """Bring the cut lines of edges that hardly turn into each other together."""
    if float(np.hypot(*(out.cut.start - into.cut.end))) < _SNAPPED:
        # Too small a step to cut, and in a hollow it would run backwards.
        middle = (into.cut.end + out.cut.start) / 2
        before = into.cut.with_ends(into.cut.start, middle)
        return before, (), out.cut.with_ends(middle, out.cut.end)
    if turn < 0:
        return _hollow(into, out, turn)
    return into.cut, _line(into.cut.end, out.cut.start), out.cut


def _line(a: Array, b: Array) -> tuple[Curve, ...]:
    return (Curve.line(a, b),) if float(np.hypot(*(b - a))) > 1e-7 else ()


def _path(*points: Array) -> tuple[Curve, ...]:
    return tuple(part for a, b in zip(points, points[1:], strict=False) for part in _line(a, b))


def crossing(p: Array, u: Array, q: Array, v: Array) -> Array | None:
    """Return where the line through p along u meets the line through q along v."""
    det = u[0] * v[1] - u[1] * v[0]
    if abs(det) < 1e-9:
        return None
    w = q - p
    return np.asarray(p + (w[0] * v[1] - w[1] * v[0]) / det * u)


def _extended(into: Strand, out: Strand, kind: Corner) -> tuple[Curve, ...]:
    a, b = into.cut.end, out.cut.start
    u, v = into.sew.end_direction, out.sew.start_direction
    corner = into.sew.end
    limit = TRIM * max(into.width, out.width)
    tip = crossing(a, u, b, v)
    if tip is None or float((tip - a) @ u) < -1e-6 or float((b - tip) @ v) < -1e-6:
        return _path(a, b)
    reach = float(np.hypot(*(tip - corner)))
    if kind is Corner.MITRED:
        limit = min(limit, 1.2 * max(into.width, out.width))
    if reach <= limit:
        return _path(a, tip, b)
    outward = (tip - corner) / reach
    across = np.array([-outward[1], outward[0]])
    trim = corner + limit * outward
    first, second = crossing(a, u, trim, across), crossing(b, v, trim, across)
    if first is None or second is None:
        return _path(a, b)
    return _path(a, first, second, b)


def _squared(into: Strand, out: Strand) -> tuple[Curve, ...]:
    """The arriving seam runs on by the other's allowance and ends square."""
    a, b = into.cut.end, out.cut.start
    u, v = into.sew.end_direction, out.sew.start_direction
    run_on = a + out.width * u
    square = np.array([-u[1], u[0]])
    foot = crossing(run_on, square, b, v)
    if foot is None or float((b - foot) @ v) < 0 or float((foot - run_on) @ square) < 0:
        return _extended(into, out, Corner.EXTENDED)
    return _path(a, run_on, foot, b)


def _mirrored(into: Strand, out: Strand, hem: str) -> tuple[Curve, tuple[Curve, ...], Curve]:
    """The side's cut line, mirrored in the hem line, bounds the turn-up."""
    if hem == "into":  # the same corner seen the other way round
        flipped_in = Strand(out.sew.reversed, out.cut.reversed, out.width)
        flipped_out = Strand(into.sew.reversed, into.cut.reversed, into.width)
        a, fill, b = _mirrored(flipped_in, flipped_out, "out")
        return b.reversed, tuple(part.reversed for part in reversed(fill)), a.reversed
    corner, along = out.sew.start, out.sew.start_direction
    u = into.sew.end_direction
    side = into.cut
    at_hem = crossing(side.end, u, corner, along)
    if at_hem is None:
        return into.cut, _extended(into, out, Corner.EXTENDED), out.cut
    ahead = float((at_hem - side.end) @ u)
    if ahead < 0:  # the side's cut line reaches below the hem line already: cut it off there
        side = _cut_at_level(side, corner, along, 0.0)
    path = Curve.joined([side, *_line(side.end, at_hem)]) if ahead > 1e-7 else side
    above = _cut_at_level(path, corner, along, out.width)
    turned_up = path.between(above.length, path.length).reversed
    mirror = turned_up.transformed(Affine.reflection(corner, along))
    if float(np.hypot(*(mirror.start - side.end))) < 1e-3:
        mirror = mirror.with_ends(side.end, mirror.end)
    low = mirror.end
    lead = float((out.cut.start - low) @ along)
    hem_cut = out.cut if lead >= 0 else out.cut.between(-lead, out.cut.length)
    return side, (*_line(side.end, mirror.start), mirror, *_line(low, hem_cut.start)), hem_cut


def _cut_at_level(path: Curve, corner: Array, along: Array, level: float) -> Curve:
    """Return a path that comes down to a hem line, up to where it is `level` mm above it."""
    normal = np.array([-along[1], along[0]])
    inside = 1.0 if float((path.start - corner) @ normal) > 0 else -1.0

    def height(station: float) -> float:
        return inside * float((path.point_at(station) - corner) @ normal) - level

    begin = max(0.0, path.length - 3.0 * level - 60.0)
    try:
        return path.between(0.0, find_root(height, begin, path.length, 1e-6))
    except ValueError:
        raise CornerError("the side is shorter than the turn-up of its hem") from None


def _hollow(into: Strand, out: Strand, turn: float) -> tuple[Curve, tuple[Curve, ...], Curve]:
    """Cut both cut lines off where they cross."""
    if into.width == 0.0 and out.width == 0.0:
        return into.cut, (), out.cut
    if turn > -_MILD:
        back = max(into.width, out.width) * math.tan(math.radians(-turn) / 2)
        if back < 0.2 * min(into.cut.length, out.cut.length):
            first = into.cut.between(0.0, into.cut.length - back) if back > 1e-6 else into.cut
            second = out.cut.between(back, out.cut.length) if back > 1e-6 else out.cut
            return first, _line(first.end, second.start), second
    crossings = intersections(into.cut, out.cut)
    if not crossings:
        raise CornerError("the allowances of a hollow corner do not meet")
    stations = crossings[-1]  # the one nearest to the corner
    first = into.cut.between(0.0, stations[0])
    second = out.cut.between(stations[1], out.cut.length)
    return first, _line(first.end, second.start), second
