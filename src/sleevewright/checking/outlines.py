"""outline, smooth-edge, grain: every piece is one closed line without kinks, grain inside it."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.checking.measure import interior_angle, length_of, points_of
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.pattern import Pattern, Piece

OUTLINE, SMOOTH, GRAIN = "outline", "smooth-edge", "grain"
SHORTEST_EDGE = 1.0  # mm
SHARPEST_KINK = 2.0  # degrees, inside an edge
WIDEST_GAP = 0.01  # mm


def check(pattern: Pattern, before: Pattern | None) -> Iterator[Finding]:
    """Yield findings for every piece."""
    yield from soundness(pattern)
    for piece in pattern.pieces:
        yield _grain(piece, before)


def soundness(pattern: Pattern) -> Iterator[Finding]:
    """Yield what does not depend on marks or finishing: outlines closed, simple, without kinks."""
    for piece in pattern.pieces:
        yield _outline(piece)
        yield from _kinks(piece)


def _outline(piece: Piece) -> Finding:
    from shapely import Polygon, is_valid_reason  # noqa: PLC0415

    ring = np.concatenate([points_of(e.curve, 16)[:, :-1].reshape(-1, 2) for e in piece.edges])
    if not np.isfinite(ring).all():
        return Finding(OUTLINE, Status.NOT_COMPUTED, piece.name, "a coordinate is not finite")
    x, y = ring[:, 0], ring[:, 1]
    area = 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    ends = [e.curve.controls for e in piece.edges]
    gaps = [
        float(np.hypot(*(b[0, 0] - a[-1, 3])))
        for a, b in zip(ends, ends[1:] + ends[:1], strict=True)
    ]
    short = [(length_of(e.curve), e.name) for e in piece.edges]
    shape = Polygon(ring)
    wrong = []
    if max(gaps) > WIDEST_GAP:
        wrong.append(f"a gap of {max(gaps):.3f} mm")
    if area <= 0:
        wrong.append(f"it runs clockwise (area {area:.0f} mm2)")
    if not shape.is_valid:
        wrong.append(f"it crosses itself: {is_valid_reason(shape)}")
    if min(short)[0] < SHORTEST_EDGE:
        wrong.append(f"{min(short)[1]} is {min(short)[0]:.2f} mm long")
    text = "; ".join(wrong) or f"closed, simple, {len(piece.edges)} edges, area {area:.0f} mm2"
    status = Status.FAILED if wrong else Status.HELD
    return Finding(OUTLINE, status, piece.name, f"{piece.name}: {text}")


def _kinks(piece: Piece) -> Iterator[Finding]:
    for edge in piece.edges:
        c = edge.curve.controls
        if len(c) == 1:
            continue
        into, out = c[:-1, 3] - c[:-1, 2], c[1:, 1] - c[1:, 0]
        turn = np.degrees(
            np.abs(
                np.arctan2(
                    into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1)
                )
            )
        )
        for i in np.flatnonzero(np.minimum(np.hypot(*into.T), np.hypot(*out.T)) < 1e-7).tolist():
            turn[i] = _turn_past_handles(c, i)
        worst = float(np.nan_to_num(turn, nan=180.0).max())
        status = Status.HELD if worst <= SHARPEST_KINK else Status.FAILED
        text = f"{piece.name}.{edge.name}: sharpest kink {worst:.2f} degrees, {SHARPEST_KINK:g} allowed"
        yield Finding(SMOOTH, status, f"{piece.name}.{edge.name}", text, 0.0, worst, SHARPEST_KINK)


def _turn_past_handles(c: NDArray[np.float64], i: int) -> float:
    """Return the turn at a joint where a handle lies on its end, degrees; nan where nothing has a direction."""
    try:
        return abs(180.0 - interior_angle(Curve(c[i : i + 1]), Curve(c[i + 1 : i + 2])))
    except ValueError:
        return math.nan


def _grain(piece: Piece, before: Pattern | None) -> Finding:
    from shapely import LineString, Polygon  # noqa: PLC0415

    if piece.grain is None:
        return Finding(GRAIN, Status.NOT_COMPUTED, piece.name, f"{piece.name} has no grainline")
    ring = np.concatenate([points_of(e.curve, 8)[:, :-1].reshape(-1, 2) for e in piece.edges])
    line = LineString([piece.grain.start, piece.grain.end])
    inside = Polygon(ring).buffer(0.1).contains(line)
    turned = 0.0
    parent = piece.name.split("_")[0]
    if before is not None and parent in before and before[parent].grain is not None:
        u, v = before[parent].up, piece.up
        turned = float(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)))
    held = inside and abs(turned) <= 0.5
    text = (
        f"{piece.name}: grainline {line.length:.0f} mm, {'inside' if inside else 'not inside'},"
        f" turned by {turned:.2f} degrees, 0.5 allowed"
    )
    return Finding(
        GRAIN, Status.HELD if held else Status.FAILED, piece.name, text, 0.0, turned, 0.5
    )
