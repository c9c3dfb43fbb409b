"""The raglan seam on the sleeve: the line as it was cut, turned into the lower cap, trued in length."""

import math

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, bezier, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.operations.sections import Section

Array = NDArray[np.float64]


def faired_line(section: Section, q: Array, arriving: Array, length: float) -> Curve:
    """Return the section's line, run into the lower cap at Q, with a length.

    The line keeps its shape, its ends and its direction at N; over its last half it turns into the
    direction of the lower cap. What length that costs or leaves is made up by its bow. Where that
    does not do, the shortest such line is returned; the bodice's seam follows it.

    Raises:
        OperationError: no such line is fair.
    """
    line = section.fair_line
    line = line.with_ends(line.start, q)
    turn = math.radians(turn_between(line.end_direction, arriving))
    bend = LineBend(line, turn, 0.5 * line.length)

    def miss(move: float) -> float:
        return bend.length(move) - length

    moves = np.linspace(-MOST_BOW, MOST_BOW, 19)
    misses = np.array([miss(float(move)) for move in moves])
    low = bend.shortest(float(moves[np.argmin(misses)]))
    if misses.min() > 0 >= miss(low):  # the line is short enough only between two of the moves
        i = int(np.searchsorted(moves, low))
        moves, misses = np.insert(moves, i, low), np.insert(misses, i, miss(low))
    changes = np.flatnonzero(misses[:-1] * misses[1:] <= 0)
    if changes.size:
        i = int(changes[np.argmin(np.abs(moves[changes] + moves[changes + 1]))])
        move = find_root(miss, float(moves[i]), float(moves[i + 1]))
    else:
        move = low
        nearest = bend.length(move) if misses.max() > 0 else length + float(misses.max())
        if not 0 < nearest - length < MOST_LONGER:
            raise OperationError(
                f"the sleeve's raglan seam cannot be made {length:.1f} mm long and fair, as it turns by"
                f" {abs(math.degrees(turn)):.0f} degrees into the lower cap"
            )
    return Curve(bend.controls(move))


#: mm. How far the sleeve's line may be moved from the bodice's in its middle to true its length.
MOST_BOW = 18.0
#: mm. How much longer than the line it was cut along a seam may become on both partners.
MOST_LONGER = 3.0


class LineBend:
    """A line whose last part is turned and whose middle is moved, square to itself.

    Args:
        line: from N to Q, without corners, mm.
        turn: of its end direction, radians, counter-clockwise.
        reach: the length at its end over which it turns, mm.
    """

    def __init__(self, line: Curve, turn: float, reach: float) -> None:
        stations = np.linspace(0.0, line.length, 17)
        self.points = line.point_at(stations)
        self.along = line.direction_at(stations)
        self.square = np.stack([-self.along[:, 1], self.along[:, 0]], axis=1)
        self.bend = np.nan_to_num(line.curvature_at(stations))
        self.step = line.length / 16
        self.points[0], self.points[-1] = line.start, line.end
        late = np.clip((stations - line.length + reach) / reach, 0.0, 1.0)
        slope = math.tan(turn)
        self.turned = slope * reach * (late**3 - late**2)
        self.turned_slope = slope * (3 * late**2 - 2 * late)
        u = stations / line.length
        self.bump = 16 * u**2 * (1 - u) ** 2
        self.bump_slope = 32 * u * (1 - u) * (1 - 2 * u) / line.length

    def length(self, move: float) -> float:
        """Return the length with the middle moved by `move` mm."""
        return float(bezier.lengths(self.controls(move)).sum())

    def shortest(self, near: float) -> float:
        """Return the move near which the line is shortest (its length is nearly a parabola)."""
        for _ in range(4):
            before, here, after = (self.length(near + d) for d in (-1.0, 0.0, 1.0))
            bend = before - 2 * here + after
            if bend <= 0:
                break
            near += float(np.clip(0.5 * (before - after) / bend, -4.0, 4.0))
        return near

    def controls(self, move: float) -> Array:
        """Return the cubics, shape (16, 4, 2), with the middle moved by `move` mm to the left."""
        offset = self.turned + move * self.bump
        slope = self.turned_slope + move * self.bump_slope
        points = self.points + offset[:, None] * self.square
        velocity = (1 - self.bend * offset)[:, None] * self.along + slope[:, None] * self.square
        a, b = points[:-1], points[1:]
        handles = velocity * (self.step / 3)
        return np.stack([a, a + handles[:-1], b - handles[1:], b], axis=1)
