"""The round of the body at the underarm points, as it is when the darts are sewn.

Front and back are measured square to the grain, from the centre to the underarm point. A dart in the side
seam is closed first: it turns the underarm point about its tip. Another dart that the level runs
through takes out what it is open there.
"""

import numpy as np
from numpy.typing import NDArray

from sleevewright.pattern import Dart, Piece, Role
from sleevewright.pattern.result import Result

Array = NDArray[np.float64]


def chest(result: Result) -> float:
    """Return the round of the body at the underarm points, mm.

    0 where the body is cut in panels or tiers, has no armhole, or two darts in one side seam: there
    is no such level then, or no plain one.
    """
    bodies = [piece for piece in result.pattern.pieces if piece.has(Role.HEM)]
    if sorted(piece.name for piece in bodies) != ["back", "front"]:
        return 0.0
    widths = [_width(piece) for piece in bodies]
    return sum(widths) if all(widths) else 0.0


def _width(piece: Piece) -> float:
    """Return the width of a piece, unfolded, at the level of its underarm points, mm."""
    points = _underarm_points(piece)
    darts = list(piece.darts())
    beside = [dart for dart in darts if dart.on is Role.SIDE_SEAM]
    if len(points) not in (1, 2):
        return 0.0
    if not (piece.has(Role.ARMHOLE) or piece.has(Role.RAGLAN_SEAM)):
        return 0.0
    of_point: list[list[Dart]] = [[] for _ in points]
    for dart in beside:
        gaps = [float(np.hypot(*(dart.mouth[0] - point))) for point in points]
        of_point[gaps.index(min(gaps))].append(dart)
    if any(len(darts) > 1 for darts in of_point):
        return 0.0
    closed = [_closed(point, darts) for point, darts in zip(points, of_point, strict=True)]
    up = piece.up
    across = np.array([up[1], -up[0]])
    level = float(np.mean([point @ up for point in closed]))
    taken = sum(_open_at(dart, up, across, level) for dart in darts if dart not in beside)
    if len(closed) == 2:
        return abs(float((closed[1] - closed[0]) @ across)) - taken
    centre = [edge.curve.flattened(0.1) for edge in piece.with_role(Role.CENTRE)]
    if not centre:
        return 0.0
    line = np.concatenate(centre)
    order = np.argsort(line @ up)
    middle = float(np.interp(level, (line @ up)[order], (line @ across)[order]))
    return 2 * (abs(float(closed[0] @ across) - middle) - taken)


def _underarm_points(piece: Piece) -> list[Array]:
    """Return where the side seams end above: at neither the hem nor a dart."""
    found = []
    below = (Role.HEM, Role.DART_LEG, Role.SIDE_SEAM)
    for edge in piece.with_role(Role.SIDE_SEAM):
        before, after = piece.neighbours(edge.name)
        found += [edge.curve.start] if before.role not in below else []
        found += [edge.curve.end] if after.role not in below else []
    return found


def _closed(point: Array, darts: list[Dart]) -> Array:
    """Return where an underarm point lies when the dart in its side seam is closed."""
    if not darts:
        return point
    (dart,) = darts
    near, far = sorted(dart.mouth, key=lambda p: float(np.hypot(*(p - point))))
    u, v = near - dart.tip, far - dart.tip
    angle = float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(dart.tip + np.array([[c, -s], [s, c]]) @ (point - dart.tip))


def _open_at(dart: Dart, up: Array, across: Array, level: float) -> float:
    """Return how wide a dart is open at a level, mm; 0 where the level does not run through it."""
    places = []
    for mouth in dart.mouth:
        a, b = float(mouth @ up), float(dart.tip @ up)
        if min(a, b) >= level or max(a, b) <= level:
            return 0.0
        part = (level - a) / (b - a)
        places.append(float((mouth + part * (dart.tip - mouth)) @ across))
    return abs(places[1] - places[0])
