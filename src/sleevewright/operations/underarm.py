"""The sleeve's underarm point moved so that a lower cap of given length fits.

The underarm seam turns about its wrist end as a rigid line until the fair curve from Q to the new
underarm point has the length of the bodice's edge. Turned so, the seam keeps its length: the arm
can be lifted as before; trimmed first it gives the lift up, lengthened
first it adds to it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve, find_root
from sleevewright.operations.contract import OperationError

Array = NDArray[np.float64]

_MOST_TURN = 25.0  # degrees; more would turn a sleeve into a wing


@dataclass(frozen=True, slots=True)
class Refit:
    """The lower end of a half sleeve after refitting.

    Attributes:
        cap: from Q to the new underarm point, mm.
        seam: from the new underarm point to the wrist, mm.
    """

    cap: Curve
    seam: Curve


def refitted(q: Array, leaving: Array, old: Refit, length: float, grow: float = 0.0) -> Refit:
    """Move the underarm point so that the lower cap has a given length.

    Args:
        q: where the lower cap begins, shape (2,), mm.
        leaving: direction of the edge at Q towards the underarm, shape (2,).
        old: the lower cap and underarm seam as they were (the corner between them is kept).
        length: arc length wanted from Q to the underarm point, mm.
        grow: how much longer (or, negative, shorter) the underarm seam becomes, mm.

    Raises:
        OperationError: no turn of the seam within 25 degrees gives that length.
    """
    seam = _grown(old.seam, grow)
    wrist, arriving = seam.end, old.cap.end_direction
    outward = 1.0 if _cross(seam.start - wrist, seam.start - q) > 0 else -1.0

    def turned(angle: float) -> Refit:
        turn = Affine.rotation(outward * angle, wrist)
        new = seam.transformed(turn)
        swung = Affine.rotation(outward * angle).apply(arriving)
        return Refit(fair_curve(q, new.start, leaving, swung), new)

    def miss(angle: float) -> float:
        return turned(angle).cap.length - length

    lo, hi = -_MOST_TURN, _MOST_TURN
    grid = np.linspace(lo, hi, 21)
    misses = [miss(float(angle)) for angle in grid]
    rising = [
        i for i in range(20) if misses[i] < 0 <= misses[i + 1]
    ]  # longer the further out: take the crossing nearest to no turn
    if not rising:
        nearest = min(misses, key=abs)
        raise OperationError(
            f"no underarm point gives the sleeve a lower edge of {length:.1f} mm;"
            f" the nearest is {length + nearest:.1f} mm"
        )
    i = min(rising, key=lambda k: abs(grid[k]))
    return turned(find_root(miss, float(grid[i]), float(grid[i + 1])))


def _grown(seam: Curve, grow: float) -> Curve:
    """Return a seam longer at its start, straight on, or shorter by cutting it off there."""
    if grow > 0:
        begin = seam.start - grow * seam.start_direction
        return Curve.joined([Curve.line(begin, seam.start), seam])
    if grow < 0:
        return seam.between(-grow, seam.length)
    return seam


def _cross(u: Array, v: Array) -> float:
    return float(u[0] * v[1] - u[1] * v[0])
