"""Loose strokes, in any order and direction, to closed outlines.

Ends within 0.05 mm are one point; up to 1 mm they are closed with a finding; beyond that, at a
branch, and where an outline crosses itself, the drawing is refused with the places.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.geometry.region import flattened_ring, signed_area
from sleevewright.reading.drawing import Stroke

#: mm. Ends nearer than this are one point; nothing is said.
JOIN = 0.05
#: mm. Ends nearer than this are joined with a finding; the limit of a drawing slip.
CLOSE = 1.0
#: mm. Both strokes this near at their ends and middles are one stroke drawn twice.
_TWICE = 0.05

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed outline: strokes head to tail, counter-clockwise, their ends made exact."""

    strokes: tuple[Stroke, ...]

    @property
    def area(self) -> float:
        """Area inside, mm2."""
        return signed_area(stroke.curve for stroke in self.strokes)


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a stroke: its index, and which end (0 start, 1 end)."""

    stroke: int
    which: int


def closed_rings(
    strokes: Iterable[Stroke], piece: str = ""
) -> tuple[tuple[Ring, ...], tuple[Finding, ...]]:
    """Return the closed outlines that strokes make, the largest first, and what was mended.

    Args:
        strokes: every one of them must be part of an outline.
        piece: for messages.

    Raises:
        ReadError: open ends, branches, strokes drawn twice, or an outline that crosses itself.
    """
    kept = [stroke for stroke in strokes if stroke.curve.length > JOIN]
    _refuse_doubles(kept)
    partner, findings = _partners(kept, piece)
    rings = [Ring(strokes) for strokes in _walks(kept, partner)]
    rings = [_counter_clockwise(ring) for ring in rings]
    for ring in rings:
        check_simple([stroke.curve for stroke in ring.strokes], ring.strokes[0], piece)
    rings.sort(key=lambda ring: -ring.area)
    return tuple(rings), tuple(findings)


def check_simple(curves: Sequence[Curve], stroke: Stroke, piece: str) -> None:
    """Refuse a closed outline that touches or crosses itself.

    Raises:
        ReadError: with the coordinates of the crossing.
    """
    from shapely import LinearRing, Polygon  # noqa: PLC0415 (only where a drawing is read)
    from shapely.validation import explain_validity  # noqa: PLC0415

    points = flattened_ring(curves)
    if len(points) >= 3 and LinearRing(points).is_simple:
        return
    where = explain_validity(Polygon(points)) if len(points) >= 4 else "no area"
    raise ReadError(
        Problem(
            f"the outline{_of(piece)} crosses or touches itself: {where}"
            f" (layer or label {stroke.label!r})",
            stroke.place,
            "an outline without crossings",
            "trim the lines that overlap, or leave out a line with the layer or class 'ignore'",
        )
    )


def point_text(point: Array) -> str:
    """Return coordinates as messages write them."""
    return f"({point[0]:.2f}, {point[1]:.2f})"


def _of(piece: str) -> str:
    return f" of {piece}" if piece else ""


def _refuse_doubles(strokes: Sequence[Stroke]) -> None:
    seen: dict[tuple[int, int], list[Stroke]] = defaultdict(list)
    for stroke in strokes:
        middle = stroke.curve.point_at(stroke.curve.length / 2)
        for cell in _cells_near(middle, 1.0):
            for other in seen[cell]:
                if _same_course(stroke.curve, other.curve, middle):
                    raise ReadError(
                        Problem(
                            f"a line with the label {stroke.label!r} is drawn twice, from"
                            f" {point_text(stroke.curve.start)} to {point_text(stroke.curve.end)}"
                            f" (the other: {other.label!r}, {other.place})",
                            stroke.place,
                            "every line once",
                            "delete one, or give it the layer or class 'ignore'",
                        )
                    )
        seen[_cell(middle, 1.0)].append(stroke)


def _same_course(a: Curve, b: Curve, middle_a: Array) -> bool:
    if math.dist(middle_a, b.point_at(b.length / 2)) > _TWICE:
        return False
    ends = ((a.start, b.start), (a.end, b.end)), ((a.start, b.end), (a.end, b.start))
    return any(all(math.dist(p, q) <= _TWICE for p, q in pairs) for pairs in ends)


def _cell(point: Array, size: float) -> tuple[int, int]:
    return math.floor(point[0] / size), math.floor(point[1] / size)


def _cells_near(point: Array, size: float) -> Iterator[tuple[int, int]]:
    x, y = _cell(point, size)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            yield x + i, y + j


def _partners(strokes: list[Stroke], piece: str) -> tuple[dict[_End, _End], list[Finding]]:
    """Return which end meets which."""
    at = {
        _End(i, which): (stroke.curve.start, stroke.curve.end)[which]
        for i, stroke in enumerate(strokes)
        for which in (0, 1)
    }
    grid: dict[tuple[int, int], list[_End]] = defaultdict(list)
    for end, point in at.items():
        grid[_cell(point, CLOSE)].append(end)
    near = {
        end: sorted(
            (math.dist(point, at[other]), other.stroke, other.which)
            for cell in _cells_near(point, CLOSE)
            for other in grid.get(cell, ())
            if other != end and math.dist(point, at[other]) <= CLOSE
        )
        for end, point in at.items()
    }
    _refuse_branches(strokes, at, near, piece)
    partner: dict[_End, _End] = {}
    findings: list[Finding] = []
    pairs = sorted((d, end.stroke, end.which, s, w) for end in near for d, s, w in near[end])
    for gap, s, w, other_s, other_w in pairs:  # the nearest ends first
        one, other = _End(s, w), _End(other_s, other_w)
        if one in partner or other in partner:
            continue
        partner[one], partner[other] = other, one
        if gap > JOIN:
            findings.append(_closed_gap(strokes, at, one, other, piece))
    loose = [end for end in at if end not in partner]
    if loose:
        raise ReadError(_open_ends(strokes, at, loose, piece))
    return partner, findings


def _refuse_branches(
    strokes: list[Stroke],
    at: dict[_End, Array],
    near: dict[_End, list[tuple[float, int, int]]],
    piece: str,
) -> None:
    for end, others in near.items():
        touching = [strokes[s].label for d, s, _ in others if d <= JOIN]
        if len(touching) > 1:
            labels = ", ".join(repr(label) for label in [strokes[end.stroke].label, *touching])
            raise ReadError(
                Problem(
                    f"the outline{_of(piece)} branches: {len(touching) + 1} ends meet at"
                    f" {point_text(at[end])} (labels {labels})",
                    strokes[end.stroke].place,
                    "two ends at every point of an outline",
                    "give lines that are no part of the outline another layer or class"
                    " ('internal' or 'ignore')",
                )
            )


def _closed_gap(
    strokes: list[Stroke], at: dict[_End, Array], one: _End, other: _End, piece: str
) -> Finding:
    return Finding(
        "reading.gap",
        Status.NOTED,
        piece,
        f"a gap of {math.dist(at[one], at[other]):.3f} mm at {point_text(at[one])} between"
        f" {strokes[one.stroke].label!r} and {strokes[other.stroke].label!r} was closed",
    )


def _open_ends(
    strokes: list[Stroke], at: dict[_End, Array], loose: list[_End], piece: str
) -> Iterator[Problem]:
    """Yield a problem for each loose end and the loose end nearest to it, each pair once."""
    said: set[frozenset[_End]] = set()
    for end in loose:
        others = [other for other in loose if other != end]
        if not others:  # cannot be: ends come in pairs
            continue
        other = min(others, key=lambda o: math.dist(at[end], at[o]))
        if frozenset((end, other)) in said:
            continue
        said.add(frozenset((end, other)))
        gap = math.dist(at[end], at[other])
        yield Problem(
            f"the outline{_of(piece)} is open: {strokes[end.stroke].label!r} ends at"
            f" {point_text(at[end])}, and the nearest loose end is"
            f" {strokes[other.stroke].label!r} at {point_text(at[other])}, {gap:.2f} mm away",
            strokes[end.stroke].place,
            f"gaps up to {CLOSE:g} mm are closed",
            "draw the missing line, or give it the layer or class of its edge",
        )


def _walks(strokes: list[Stroke], partner: dict[_End, _End]) -> Iterator[tuple[Stroke, ...]]:
    """Yield each closed walk, joints made exact."""
    left = dict.fromkeys(range(len(strokes)))
    while left:
        first = next(iter(left))
        order: list[_End] = []  # the ends at which strokes are entered
        end = _End(first, 0)
        while end.stroke in left:
            del left[end.stroke]
            order.append(end)
            end = partner[_End(end.stroke, 1 - end.which)]
        run = [
            replace(strokes[e.stroke], curve=strokes[e.stroke].curve.reversed)
            if e.which
            else strokes[e.stroke]
            for e in order
        ]
        yield tuple(_meeting(run))


def _meeting(run: list[Stroke]) -> Iterator[Stroke]:
    """Yield strokes with the ends that meet moved to their middle."""
    n = len(run)
    joints = [(run[i - 1].curve.end + run[i].curve.start) / 2 for i in range(n)]
    for i, stroke in enumerate(run):
        curve = with_ends_moved(stroke.curve, joints[i], joints[(i + 1) % n])
        yield stroke if curve is stroke.curve else replace(stroke, curve=curve)


def with_ends_moved(curve: Curve, start: Array, end: Array) -> Curve:
    """Return a curve whose ends are moved a little; its end directions stay."""
    if np.array_equal(start, curve.start) and np.array_equal(end, curve.end):
        return curve
    if curve.is_straight() and len(curve.controls) == 1:
        return Curve.line(start, end)
    controls = np.array(curve.controls)
    controls[0, :2] += start - curve.start
    controls[-1, 2:] += end - curve.end
    controls[0, 0], controls[-1, 3] = start, end
    return Curve(controls)


def _counter_clockwise(ring: Ring) -> Ring:
    if ring.area > 0:
        return ring
    return Ring(
        tuple(replace(stroke, curve=stroke.curve.reversed) for stroke in reversed(ring.strokes))
    )
