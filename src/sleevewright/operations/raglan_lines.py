"""The raglan line on a half bodice: from N at the neck to P at the armhole, and its family.

Terms: *N* is where the line leaves (neckline, shoulder or centre), *P* where it arrives (armhole,
or side seam for the deep raglan), the *bow* its largest distance from the chord N-P towards the
shoulder. Ranges are common practice.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import HalfBodice, Role, Side

Array = NDArray[np.float64]


class Line(StrEnum):
    """Which raglan: where its line begins and ends."""

    CLASSIC = "classic"
    SADDLE = "saddle"
    YOKE = "yoke"
    HALF = "half"
    DEEP = "deep"


@dataclass(frozen=True, slots=True)
class Path:
    """Where a raglan line runs on a half bodice.

    Attributes:
        curve: the line from N to P, mm.
        leaves: the role of the edge that N is on.
        leaves_at: its station there: neckline and shoulder from the shoulder-neck point, centre
            from the neck, mm.
        arrives: the role of the edge that P is on.
        arrives_at: its station there, from the underarm point, mm.
        pitch: station on the armhole, from the underarm point, where the section is held when
            it is placed on the sleeve, mm.
    """

    curve: Curve
    leaves: Role
    leaves_at: float
    arrives: Role
    arrives_at: float
    pitch: float


#: Distances by line and half, mm, where the recipe gives none (common practice).
NECK_DROP = {
    Line.CLASSIC: {Side.FRONT: 35.0, Side.BACK: 25.0},
    Line.DEEP: {Side.FRONT: 35.0, Side.BACK: 25.0},
    Line.SADDLE: {Side.FRONT: 20.0, Side.BACK: 20.0},
}
BOW = {Side.FRONT: 10.0, Side.BACK: 8.0}  # the roomy end of 6 to 10: the sleeve's line can follow
STRAP_DEPTH = 60.0  # of the saddle's P below the shoulder tip, along the armhole
YOKE_FALL = 0.35  # of the yoke's line from the centre to P, as a part of its width
LEAST_YOKE = 15.0  # of the yoke's N below the neck, along the centre
SIDE_DROP = 50.0  # of the deep raglan's P below the underarm point, along the side seam
LARGEST_NECK_PART = 0.6  # of the half neckline; beyond it the piece gets too narrow


@dataclass(frozen=True, slots=True)
class Asked:
    """What a recipe asks of the line on one half; None where it leaves the usual.

    Attributes:
        neck_drop: of N from the shoulder-neck point (centre point for the yoke), mm.
        pitch: of P from the underarm point along the armhole, mm.
        bow: towards the shoulder, mm.
    """

    neck_drop: float | None = None
    pitch: float | None = None
    bow: float | None = None


def raglan_path(half: HalfBodice, line: Line, asked: Asked) -> Path:
    """Draw the raglan line on a half bodice.

    Raises:
        OperationError: N or P does not lie on its edge.
    """
    draw = {
        Line.CLASSIC: _classic,
        Line.SADDLE: _saddle,
        Line.YOKE: _yoke,
        Line.HALF: _half,
        Line.DEEP: _deep,
    }[line]
    return draw(half, asked)


def _classic(half: HalfBodice, asked: Asked) -> Path:
    drop = _neck_drop(half, Line.CLASSIC, asked)
    pitch = _on_armhole(half, asked.pitch, half.pitch)
    start, _ = half.at(Role.NECKLINE, drop)
    return _to_armhole(half, asked, Role.NECKLINE, drop, pitch, start)


def _half(half: HalfBodice, asked: Asked) -> Path:
    """From half way along the shoulder (or `neck_drop` from the neck) to the pitch point."""
    length = half.piece.length(Role.SHOULDER)
    drop = 0.5 * length if asked.neck_drop is None else asked.neck_drop
    if not 10.0 <= drop <= length - 20.0:
        raise OperationError(
            f"the half raglan would leave the shoulder of {half.piece.name} {drop:.1f} mm from the"
            f" neck; 10 to {length - 20:.0f} mm are possible"
        )
    pitch = _on_armhole(half, asked.pitch, half.pitch)
    start, _ = half.at(Role.SHOULDER, drop)
    return _to_armhole(half, asked, Role.SHOULDER, drop, pitch, start)


def _to_armhole(  # noqa: PLR0913 (where the line leaves and arrives)
    half: HalfBodice, asked: Asked, leaves: Role, drop: float, pitch: float, start: Array
) -> Path:  # fmt: skip
    end, along = half.at(Role.ARMHOLE, pitch)
    bow = BOW[half.side] if asked.bow is None else asked.bow
    curve = bowed(start, end, -along, half.shoulder_tip, bow)
    return Path(curve, leaves, drop, Role.ARMHOLE, pitch, pitch)


def _saddle(half: HalfBodice, asked: Asked) -> Path:
    """Parallel to the shoulder, then round into the armhole: a strap."""
    drop = _neck_drop(half, Line.SADDLE, asked)
    pitch = _on_armhole(half, asked.pitch, half.piece.length(Role.ARMHOLE) - STRAP_DEPTH)
    start, _ = half.at(Role.NECKLINE, drop)
    end, up = half.at(Role.ARMHOLE, pitch)
    along = half.shoulder_tip - half.shoulder_neck_point
    along = along / np.hypot(*along)
    corner = _meeting(start, along, end, -up)
    if corner is None:
        curve = fair_curve(start, end, along, -up)
    else:
        radius = min(float(np.hypot(*(end - corner))), 0.8 * float(np.hypot(*(corner - start))))
        bend = corner - radius * along
        curve = Curve.joined([Curve.line(start, bend), fair_curve(bend, end, along, -up)])
    return Path(curve, Role.NECKLINE, drop, Role.ARMHOLE, pitch, pitch)


def _yoke(half: HalfBodice, asked: Asked) -> Path:
    """From the centre, square to it, across the chest and down into the armhole."""
    centre = half.edges(Role.CENTRE)[0].curve
    pitch = _on_armhole(half, asked.pitch, 0.5 * half.piece.length(Role.ARMHOLE))
    end, up = half.at(Role.ARMHOLE, pitch)
    level, across = centre.nearest(end)  # the centre is straight: level with P, and how far off
    drop = level - YOKE_FALL * across if asked.neck_drop is None else asked.neck_drop
    drop = max(drop, LEAST_YOKE) if asked.neck_drop is None else drop
    lowest = level - 0.15 * across
    if not LEAST_YOKE <= drop <= lowest:
        raise OperationError(
            f"the yoke would leave {half.piece.name} {drop:.1f} mm down its centre;"
            f" {LEAST_YOKE:.0f} to {max(lowest, LEAST_YOKE):.0f} mm let the line fall to its pitch point"
        )
    start, down = half.at(Role.CENTRE, drop)
    square = _square(down, towards=end - start)
    corner = _meeting(start, square, end, -up)
    if corner is None:
        curve = fair_curve(start, end, square, -up)
    else:  # as round as the nearer end allows
        radius = min(float(np.hypot(*(p - corner))) for p in (start, end))
        bend = corner - radius * square
        curve = fair_curve(bend, end, square, -up)
        if float(np.hypot(*(bend - start))) > 1.0:
            curve = Curve.joined([Curve.line(start, bend), curve])
    return Path(curve, Role.CENTRE, drop, Role.ARMHOLE, pitch, pitch)


def _deep(half: HalfBodice, asked: Asked) -> Path:
    """The classic line to the pitch point, and on in a deeper armhole to the side seam."""
    drop = _neck_drop(half, Line.DEEP, asked)
    length = half.edges(Role.SIDE_SEAM)[0].length
    depth = SIDE_DROP if asked.pitch is None else asked.pitch
    if length < 30.0:
        raise OperationError(
            f"the deep raglan ends on the side seam of {half.piece.name}, which runs {length:.0f} mm to its"
            " next corner; 30 mm at the least: move a dart that is in the way down with dart-pivot"
        )
    if not 10.0 <= depth <= length - 20.0:
        raise OperationError(
            f"the deep raglan would reach the side seam of {half.piece.name} {depth:.1f} mm below"
            f" the underarm point; 10 to {length - 20:.0f} mm are possible"
        )
    start, _ = half.at(Role.NECKLINE, drop)
    upper = _to_armhole(half, asked, Role.NECKLINE, drop, half.pitch, start)
    end, down = half.at(Role.SIDE_SEAM, depth)
    # The new armhole leaves the side seam as the old one did, so that front and back run on.
    _, side = half.at(Role.SIDE_SEAM, 0.0)
    _, armhole = half.at(Role.ARMHOLE, 0.0)
    outward = Affine.rotation(turn_between(side, down)).apply(-armhole)
    lower = fair_curve(upper.curve.end, end, upper.curve.end_direction, outward)
    curve = Curve.joined([upper.curve, lower])
    return Path(curve, Role.NECKLINE, drop, Role.SIDE_SEAM, depth, half.pitch)


# --- parts ------------------------------------------------------------------------------------


def bowed(start: Array, end: Array, arriving: Array, towards: Array, bow: float) -> Curve:
    """Return the fair curve from start to end that arrives in a direction and bows by an amount.

    Args:
        start, end: N and P, shapes (2,), mm.
        arriving: direction of the line at P, shape (2,).
        towards: a point on the side that the line bows to (the shoulder tip), shape (2,), mm.
        bow: largest distance from the chord on that side, mm.

    The direction at N is turned until the bow is met; where the armhole's direction alone bows
    the line more than asked, the handle at P is shortened first. The nearest bow is taken where
    neither meets it; the caller reports what came out.
    """
    chord = end - start
    reach = float(np.hypot(*chord))
    unit = chord / reach
    rel = towards - start
    side = 1.0 if unit[0] * rel[1] - unit[1] * rel[0] > 0 else -1.0
    normal = side * np.array([-unit[1], unit[0]])

    def curve(turn: float, handle: float) -> Curve:
        leaving = Affine.rotation(side * turn).apply(unit)
        return Curve.cubic(start, start + reach / 3 * leaving, end - handle * reach * arriving, end)

    def miss(turn: float, handle: float) -> float:
        points = curve(turn, handle).flattened(0.01)
        return float(((points - start) @ normal).max()) - bow

    if miss(0.0, 1 / 3) > 0:  # the armhole bows it too much already
        if miss(0.0, 0.12) > 0:
            return curve(0.0, 0.12)
        return curve(0.0, find_root(lambda h: miss(0.0, h), 0.12, 1 / 3, 1e-6))
    if miss(25.0, 1 / 3) < 0:
        return curve(25.0, 1 / 3)
    return curve(find_root(lambda t: miss(t, 1 / 3), 0.0, 25.0, 1e-6), 1 / 3)


def largest_bow(curve: Curve, towards: Array) -> float:
    """Return the largest distance of a line from its chord on the side of a point, mm."""
    unit = (curve.end - curve.start) / curve.chord
    rel = towards - curve.start
    side = 1.0 if unit[0] * rel[1] - unit[1] * rel[0] > 0 else -1.0
    normal = side * np.array([-unit[1], unit[0]])
    return float(((curve.flattened(0.01) - curve.start) @ normal).max())


def _neck_drop(half: HalfBodice, line: Line, asked: Asked) -> float:
    drop = NECK_DROP[line][half.side] if asked.neck_drop is None else asked.neck_drop
    most = LARGEST_NECK_PART * half.piece.length(Role.NECKLINE)
    if not 5.0 <= drop <= most:
        raise OperationError(
            f"neck_drop of {drop:.1f} mm on {half.piece.name}; 5 to {most:.0f} mm are possible"
            " (60 % of the half neckline)"
        )
    return drop


def _on_armhole(half: HalfBodice, asked: float | None, usual: float) -> float:
    length = half.piece.length(Role.ARMHOLE)
    station = usual if asked is None else asked
    if not 20.0 <= station <= length - 20.0:
        raise OperationError(
            f"the raglan line misses the armhole of {half.piece.name}: {station:.1f} mm from the"
            f" underarm point is asked; 20 to {length - 20:.0f} mm are possible"
        )
    return station


def turn_between(source: Array, target: Array) -> float:
    """Return the turn from one direction to another, degrees, -180 to 180."""
    cross = source[0] * target[1] - source[1] * target[0]
    return float(np.degrees(np.arctan2(cross, source @ target)))


def _square(direction: Array, towards: Array) -> Array:
    square = np.array([-direction[1], direction[0]])
    return square if square @ towards > 0 else -square


def _meeting(p: Array, u: Array, q: Array, v: Array) -> Array | None:
    """Return where the ray from p along u meets the line that arrives at q along v, if ahead."""
    det = u[0] * v[1] - u[1] * v[0]
    if abs(det) < math.sin(math.radians(5)):
        return None
    w = q - p
    ahead = float((w[0] * v[1] - w[1] * v[0]) / det)
    point = p + ahead * u
    return point if ahead > 0 and (q - point) @ v > 0 else None
