"""What is drawn for a pleat: its folds, where they are laid, and arrows from the one to the other."""

import numpy as np

from sleevewright.geometry import Curve

_ARROW_IN = 25.0  # mm from the edge to the arrow
_BARB = 5.0  # mm


def shown(line: Curve, length: float | None) -> Curve:
    """Return so much of a fold, from its start, as is drawn, mm; all of it for None."""
    if length is None or length >= line.length:
        return line
    return line.between(0.0, length)


def moved(line: Curve, by: np.ndarray) -> Curve:
    """Return a straight line moved by a vector, shape (2,), mm."""
    return Curve.line(line.start + by, line.end + by)


def arrow(fold: Curve, placed: Curve) -> Curve:
    """Return an arrow from a fold, which lies high, to where it is laid."""
    a, b = (line.point_at(min(_ARROW_IN, line.length / 2)) for line in (fold, placed))
    u = (b - a) / np.hypot(*(b - a))
    barbs = [b - _BARB * (u + side * 0.6 * np.array([-u[1], u[0]])) for side in (1, -1)]
    return Curve.polyline([a, b, barbs[0], b, barbs[1]])
