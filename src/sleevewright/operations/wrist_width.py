"""The wrist made narrower or wider, taken evenly from the seams from a level down.

A seam leaves its old place without a corner: sideways it moves by a part of what it moves at the
wrist, and that part starts with no slope. Every seam keeps its length, so that partners still meet;
corners rise or drop by what that takes.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, fair_curve, find_root
from sleevewright.geometry.warp import eased_start, warped
from sleevewright.operations.contract import OperationError
from sleevewright.operations.sleeves import (
    sleeve_axis,
    with_length,
    with_wrist_seams,
    wrist_level,
    wrist_of,
)
from sleevewright.pattern import Piece

Array = NDArray[np.float64]

#: Part of the way to the wrist over which a flare begins; below it runs straight.
ONSET = 0.35


def eased(t: Array) -> Array:
    """A parabola: nothing at 0, everything at 1."""
    return np.asarray(t * t)


def flared(t: Array) -> Array:
    """A parabola over the onset, then straight on: nothing at 0, everything at 1."""
    return eased_start(t, ONSET)


def with_wrist(
    piece: Piece, length: float, level: float, profile: Callable[[Array], Array], *, fall: bool
) -> Piece:
    """Return a sleeve piece whose wrist has a length.

    Args:
        piece: the piece.
        length: of the new wrist, mm.
        level: height along the grain where the seams begin to leave their place, mm.
        profile: how far a seam has moved at a part (0 to 1) of the way from level to wrist.
        fall: draw the wrist anew, square to both seams (a flare's hem falls in a curve); else it
            keeps its shape.

    Raises:
        OperationError: no width does it.
    """
    edge = wrist_of(piece)
    before, after = piece.neighbours(edge.name)
    inward = (edge.curve.end - edge.curve.start) / edge.curve.chord
    low = wrist_level(piece)

    def redrawn(move: float) -> tuple[Curve, Curve, Curve]:
        seams = []
        for seam, sign in ((before.curve, -1.0), (after.curve.reversed, 1.0)):
            new = _moved(seam, sleeve_axis(piece), (level, low), sign * move * inward, profile)
            seams.append(with_length(new, seam.length))
        into, out = seams
        if fall:
            wrist = fair_curve(
                into.end, out.end, _square(into.end_direction, inward),
                _square(out.end_direction, inward),
            )  # fmt: skip
        else:
            wrist = edge.curve.with_ends(into.end, out.end)
        return into, out, wrist

    def miss(move: float) -> float:
        return redrawn(move)[2].length - length

    most = 0.5 * (length - edge.length)
    try:
        move = find_root(miss, *sorted((0.4 * most, 1.8 * most + math.copysign(5.0, most))))
    except ValueError:
        raise OperationError(
            f"the wrist of {piece.name}, {edge.length:.1f} mm, cannot be made {length:.1f} mm"
        ) from None
    into, out, wrist = redrawn(move)
    return with_wrist_seams(piece, into, out.reversed, wrist)


def _square(seam: Array, along: Array) -> Array:
    """Return the direction square to a seam's end, on the side of `along`."""
    square = np.array([-seam[1], seam[0]])
    return square if square @ along > 0 else -square


def _moved(
    seam: Curve,
    up: Array,
    levels: tuple[float, float],
    move: Array,
    profile: Callable[[Array], Array],
) -> Curve:
    """Return a seam (running down) with each point moved by its part of `move`."""
    top, low = levels
    reach = top - low

    def part(points: Array) -> Array:
        return np.clip((top - points @ up) / reach, 0.0, None)

    def mapping(points: Array) -> Array:
        return np.asarray(points + profile(part(points))[:, None] * move)

    return warped(seam, mapping)
