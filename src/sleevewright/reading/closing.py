"""Loose strokes, in any order and direction, to closed outlines.

Ends within 0.05 mm are one point; up to 1 mm they are closed with a finding; beyond that, and
at a branch, the drawing is refused with the places.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import nsmallest
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Curve
from sleevewright.geometry.region import signed_area

#: mm. Ends nearer than this are one point; nothing is said.
SILENT_GAP = 0.05
#: mm. Ends nearer than this are joined with a finding; the limit of a drawing slip.
LARGEST_GAP = 1.0
#: mm. Both strokes this near at their ends and middles are one stroke drawn twice.
_TWICE = 0.05
#: Of many ends within the largest gap of one, so many are looked at as its partner.
_MOST_NEAR = 8
#: A person does not read more.
_MOST_LOOSE = 20

Array = NDArray[np.float64]


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Link(Generic[T]):
    """A curve of a chain with what it stands for.

    Attributes:
        curve: mm.
        what: anything.
        name: for messages.
        place: where it was drawn.
    """

    curve: Curve
    what: T
    name: str
    place: Place


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a stroke: its index, and which end (0 start, 1 end)."""

    stroke: int
    which: int


def chained(links: Iterable[Link[T]], name: str) -> tuple[tuple[Link[T], ...], tuple[float, ...]]:
    """Order links, in any order and direction, into one closed chain.

    Args:
        links: of one piece; specks of up to 0.05 mm are left out.
        name: of the piece, for messages.

    Returns:
        The chain, counter-clockwise, every link starting where the one before it ends, and the gaps
        that were closed though wider than 0.05 mm.

    Raises:
        LabelError: the outline is open, branches, has a line twice, or falls into several.
    """
    kept = [link for link in links if link.curve.length > SILENT_GAP]
    _refuse_doubles(kept, name)
    partner, gaps = _partners(kept, name)
    rings = list(_walks(kept, partner))
    if len(rings) != 1:
        firsts = ", ".join(f"{r[0].name} at {point_text(r[0].curve.start)}" for r in rings)
        raise LabelError(
            Problem(
                f"{name} has {len(rings)} closed outlines{f', with {firsts}' if rings else ''}",
                kept[0].place if kept else Place(),
                "a piece has one outline, and there is one piece of a name",
                "give lines inside it the layer or class 'internal', others 'ignore'",
            )
        )
    return _counter_clockwise(rings[0]), tuple(gaps)


def point_text(point: Array) -> str:
    """Return coordinates as messages write them."""
    return f"({point[0]:.2f}, {point[1]:.2f})"


def _refuse_doubles(strokes: Sequence[Link[Any]], piece: str) -> None:
    seen: dict[tuple[int, int], list[Link[Any]]] = defaultdict(list)
    for stroke in strokes:
        middle = stroke.curve.point_at(stroke.curve.length / 2)
        for cell in cells_near(middle, 1.0):
            for other in seen[cell]:
                if _same_course(stroke.curve, other.curve, middle):
                    raise LabelError(
                        Problem(
                            f"a line of {piece} ({stroke.name}) is drawn twice, from"
                            f" {point_text(stroke.curve.start)} to {point_text(stroke.curve.end)}"
                            f" (the other: {other.name}, {other.place})",
                            stroke.place,
                            "every line once",
                            "delete one, or give it the layer or class 'ignore'",
                        )
                    )
        seen[cell_of(middle, 1.0)].append(stroke)


def _same_course(a: Curve, b: Curve, middle_a: Array) -> bool:
    if math.dist(middle_a, b.point_at(b.length / 2)) > _TWICE:
        return False
    ends = ((a.start, b.start), (a.end, b.end)), ((a.start, b.end), (a.end, b.start))
    return any(all(math.dist(p, q) <= _TWICE for p, q in pairs) for pairs in ends)


def cell_of(point: Array, size: float) -> tuple[int, int]:
    """Return the cell of a grid that a point lies in; size of a cell in mm."""
    return math.floor(point[0] / size), math.floor(point[1] / size)


def cells_near(point: Array, size: float) -> Iterator[tuple[int, int]]:
    """Yield the cells in which a point lies that is no farther than a cell's size."""
    x, y = cell_of(point, size)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            yield x + i, y + j


def _partners(strokes: list[Link[Any]], piece: str) -> tuple[dict[_End, _End], list[float]]:
    """Return which end meets which."""
    at = {
        _End(i, which): (stroke.curve.start, stroke.curve.end)[which]
        for i, stroke in enumerate(strokes)
        for which in (0, 1)
    }
    grid: _Grid = defaultdict(list)
    for end, point in at.items():
        grid[cell_of(point, LARGEST_GAP)].append(end)
    _refuse_branches(strokes, at, grid, piece)
    near = {
        end: nsmallest(_MOST_NEAR, ((d, o.stroke, o.which) for d, o in _ends_near(end, at, grid)))
        for end in at
    }
    partner: dict[_End, _End] = {}
    gaps: list[float] = []
    pairs = sorted((d, end.stroke, end.which, s, w) for end in near for d, s, w in near[end])
    for gap, s, w, other_s, other_w in pairs:  # the nearest ends first
        one, other = _End(s, w), _End(other_s, other_w)
        if one in partner or other in partner:
            continue
        partner[one], partner[other] = other, one
        if gap > SILENT_GAP:
            gaps.append(gap)
    loose = [end for end in at if end not in partner]
    if loose:
        raise LabelError(_open_ends(strokes, at, loose, piece))
    return partner, gaps


_Grid = dict[tuple[int, int], list[_End]]


def _ends_near(end: _End, at: dict[_End, Array], grid: _Grid) -> Iterator[tuple[float, _End]]:
    """Yield the other ends within the largest gap, and how far away they are."""
    for cell in cells_near(at[end], LARGEST_GAP):
        for other in grid.get(cell, ()):
            distance = math.dist(at[end], at[other])
            if other != end and distance <= LARGEST_GAP:
                yield distance, other


def _refuse_branches(
    strokes: list[Link[Any]], at: dict[_End, Array], grid: _Grid, piece: str
) -> None:
    for end, point in at.items():
        touching = [strokes[o.stroke].name for d, o in _ends_near(end, at, grid) if d <= SILENT_GAP]
        if len(touching) > 1:
            labels = ", ".join(str(label) for label in [strokes[end.stroke].name, *touching])
            raise LabelError(
                Problem(
                    f"the outline of {piece} branches: {len(touching) + 1} ends meet at"
                    f" {point_text(point)} ({labels})",
                    strokes[end.stroke].place,
                    "two ends at every point of an outline",
                    "give lines that are no part of the outline another layer or class"
                    " ('internal' or 'ignore')",
                )
            )


def _open_ends(
    strokes: list[Link[Any]], at: dict[_End, Array], loose: list[_End], piece: str
) -> Iterator[Problem]:
    """Yield a problem for each loose end and the loose end nearest to it, each pair once."""
    said: set[frozenset[_End]] = set()
    for end in loose[:_MOST_LOOSE]:
        others = [other for other in loose if other != end]
        if not others:  # cannot be: ends come in pairs
            continue
        other = min(others, key=lambda o: math.dist(at[end], at[o]))
        if frozenset((end, other)) in said:
            continue
        said.add(frozenset((end, other)))
        gap = math.dist(at[end], at[other])
        yield Problem(
            f"the outline of {piece} is open: {strokes[end.stroke].name} ends at"
            f" {point_text(at[end])}, and the nearest loose end is"
            f" {strokes[other.stroke].name} at {point_text(at[other])}, {gap:.2f} mm away",
            strokes[end.stroke].place,
            f"gaps up to {LARGEST_GAP:g} mm are closed",
            "draw the missing line, or give it the layer or class of its edge",
        )
    if len(loose) > _MOST_LOOSE:
        yield Problem(
            f"{len(loose)} ends of {piece} are loose; the first {_MOST_LOOSE} are told",
            strokes[loose[0].stroke].place,
        )


def _walks(strokes: list[Link[Any]], partner: dict[_End, _End]) -> Iterator[tuple[Link[Any], ...]]:
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


def _meeting(run: list[Link[Any]]) -> Iterator[Link[Any]]:
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


def _counter_clockwise(ring: tuple[Link[T], ...]) -> tuple[Link[T], ...]:
    if signed_area(link.curve for link in ring) > 0:
        return ring
    return tuple(replace(link, curve=link.curve.reversed) for link in reversed(ring))
