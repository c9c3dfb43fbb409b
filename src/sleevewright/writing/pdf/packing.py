"""Boxes on a strip: each as low as it goes, then as far left; the best of a few orders is taken."""

from collections.abc import Sequence
from dataclasses import dataclass

from sleevewright.pattern.piece import Point

_WITHIN = 1e-9  # mm: boxes that fit but for this, fit


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a box lies: the page, from 0, and its lower left corner there, mm."""

    page: int
    at: Point


def pack(boxes: Sequence[Point], width: float, longest: float, gap: float) -> tuple[Spot, ...]:
    """Lay boxes (width, height) on strips of a width, `gap` apart, strips no longer than `longest`.

    Raises:
        ValueError: a box is larger than a strip.
    """
    for wide, high in boxes:
        if wide > width + _WITHIN or high > longest + _WITHIN:
            raise ValueError(f"a box of {wide:.1f} x {high:.1f} mm is larger than the strip")
    keys = (
        lambda i: (-boxes[i][1], -boxes[i][0], i),
        lambda i: (-boxes[i][0], -boxes[i][1], i),
        lambda i: (-boxes[i][0] * boxes[i][1], -boxes[i][1], i),
    )
    tried = [
        _packed(sorted(range(len(boxes)), key=key), boxes, (width, longest), gap) for key in keys
    ]
    return min(tried, key=lambda spots: _lengths(spots, boxes))


def _lengths(spots: Sequence[Spot], boxes: Sequence[Point]) -> tuple[int, float]:
    """Return what an arrangement costs: its pages, and the lengths of all of them together."""
    tops: dict[int, float] = {}
    for spot, (_, high) in zip(spots, boxes, strict=True):
        tops[spot.page] = max(tops.get(spot.page, 0.0), spot.at[1] + high)
    return len(tops), round(sum(tops.values()), 6)


def _packed(
    order: Sequence[int], boxes: Sequence[Point], strip: Point, gap: float
) -> tuple[Spot, ...]:
    spots = [Spot(0, (0.0, 0.0))] * len(boxes)
    skylines: list[list[tuple[float, float, float]]] = []
    for i in order:
        box = (boxes[i][0] + gap, boxes[i][1] + gap)
        room = (strip[0] + gap, strip[1] + gap)
        page, at = 0, None
        while at is None:
            if page == len(skylines):
                skylines.append([(0.0, room[0], 0.0)])
            at = _lowest(skylines[page], box, room)
            page += 1
        skylines[page - 1] = _raised(skylines[page - 1], at, box)
        spots[i] = Spot(page - 1, at)
    return tuple(spots)


def _lowest(skyline: list[tuple[float, float, float]], box: Point, room: Point) -> Point | None:
    """Return the lowest place for a box on a skyline of (left, right, height), leftmost of these."""
    best: Point | None = None
    for left, _, _ in skyline:
        if left + box[0] > room[0] + _WITHIN:
            break
        under = (h for a, b, h in skyline if a < left + box[0] - _WITHIN and b > left + _WITHIN)
        y = max(under)
        if y + box[1] <= room[1] + _WITHIN and (best is None or y < best[1] - _WITHIN):
            best = (left, y)
    return best


def _raised(
    skyline: list[tuple[float, float, float]], at: Point, box: Point
) -> list[tuple[float, float, float]]:
    """Return the skyline with a box put on it."""
    left, right = at[0], at[0] + box[0]
    kept = []
    for a, b, h in skyline:
        if a < left:
            kept.append((a, min(b, left), h))
        if b > right + _WITHIN:
            kept.append((max(a, right), b, h))
    return sorted([*kept, (left, right, at[1] + box[1])])
