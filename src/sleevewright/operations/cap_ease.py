"""Cap ease taken out before a raglan: a raglan seam has no place for it.

The cap above the pitch points is lowered until the upper cap is as long as the upper armhole plus
what is left for easing, and the crown moves along so that each half carries its own share.
Everything below the pitch points stays (common practice).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.warp import eased_start, warped
from sleevewright.operations.contract import OperationError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cap:
    """Both halves of a cap above their pitch points, from the pitch point to the crown.

    Attributes:
        front, back: curves that end at the crown, mm.
    """

    front: Curve
    back: Curve

    @property
    def crown(self) -> Array:
        """The crown, shape (2,), mm."""
        return self.front.end


def lowered_cap(cap: Cap, up: Array, front_length: float, back_length: float) -> Cap:
    """Lower a cap until its upper halves have these lengths.

    Args:
        cap: the upper halves.
        up: unit direction of the sleeve's grain towards the crown, shape (2,).
        front_length, back_length: the lengths wanted, mm.

    Each half is lowered above its fixed pitch point, so that the cap stays smooth there and level at
    the crown. Two unknowns (where the crown comes to), two lengths: Broyden's
    method on exact arc lengths, to 1e-8 mm.

    Raises:
        OperationError: a half is wider than the length wanted, so that no lowering does it.
    """
    across = np.array([up[1], -up[0]])
    crown = cap.crown
    for name, half, wanted in (("front", cap.front, front_length), ("back", cap.back, back_length)):
        if abs(float((half.start - crown) @ across)) >= wanted:
            raise OperationError(
                f"the {name} cap above the pitch point is {half.length:.1f} mm and cannot be"
                f" lowered to {wanted:.1f} mm; keep the cap ease or set the pitch lower"
            )

    def moved(shift: Array) -> Cap:
        target = crown + shift[0] * across + shift[1] * up
        return Cap(_squeezed(cap.front, up, target), _squeezed(cap.back, up, target))

    def miss(shift: Array) -> Array:
        now = moved(shift)
        return np.array([now.front.length - front_length, now.back.length - back_length])

    shift = np.zeros(2)
    off = miss(shift)
    step = 1e-3
    columns = [(miss(step * axis) - off) / step for axis in np.eye(2)]
    slope = np.linalg.inv(np.stack(columns, axis=1))
    for _ in range(60):
        if np.abs(off).max() < 1e-8:
            return moved(shift)
        change = -slope @ off
        change *= min(1.0, 25.0 / float(np.hypot(*change)))
        before, shift = off, shift + change
        off = miss(shift)
        # Broyden's update (1965): the slope learns from every step.
        gain = slope @ (off - before)
        slope = slope + np.outer(change - gain, change @ slope) / float(change @ gain)
    raise OperationError(
        f"the cap cannot be lowered to {front_length:.1f} mm front and {back_length:.1f} mm back"
    )


def _squeezed(half: Curve, up: Array, crown: Array) -> Curve:
    """Move a half so that it ends at `crown`, its pitch point and direction there unmoved.

    Every point moves by the part of the height it stands at, eased in over the lowest quarter, so that
    the cap runs on smoothly below the pitch point; it stays level at the crown.
    """
    pitch, shift = half.start, crown - half.end
    height = float((half.end - pitch) @ up)

    def mapping(points: Array) -> Array:
        part = np.clip((points - pitch) @ up / height, 0.0, None)
        return np.asarray(points + eased_start(part, 0.25)[:, None] * shift)

    return warped(half, mapping)
