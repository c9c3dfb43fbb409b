"""Loose strokes to closed outlines.

Terms: an *end* is the first or last point of a stroke; ends nearer than 1 mm meet, with a gap;
a *joint* is where two ends meet; where three meet the outline *branches* and is refused.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, NoReturn, TypeVar

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Curve

#: mm. Gaps up to this close without a word; programs round coordinates.
SILENT_GAP = 0.05
#: mm. Gaps up to this are closed and reported; wider ones leave the outline open.
LARGEST_GAP = 1.0

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Link(Generic[T]):
    """A curve of a chain with what it stands for.

    Attributes:
        curve: in the direction of the chain, mm.
        what: anything.
        name: for messages.
        place: where it was drawn.
    """

    curve: Curve
    what: T
    name: str
    place: Place

    @property
    def turned(self) -> "Link[T]":
        """The same, run the other way."""
        return Link(self.curve.reversed, self.what, self.name, self.place)


def chained(links: Sequence[Link[T]], name: str) -> tuple[tuple[Link[T], ...], tuple[float, ...]]:
    """Order links, in any order and direction, into one closed chain.

    Args:
        links: of one piece.
        name: of the piece, for messages.

    Returns:
        The chain, every link starting where the one before it ends, and the gaps that were closed
        though wider than 0.05 mm.

    Raises:
        LabelError: the outline is open, branches, or falls into several.
    """
    if not links:
        raise LabelError(f"{name} has no outline")
    rest = list(links)
    chain = [rest.pop(0)]
    gaps: list[float] = []
    while rest:
        end = chain[-1].curve.end
        near = sorted(
            (float(np.hypot(*(point - end))), i, turned)
            for i, link in enumerate(rest)
            for turned, point in ((False, link.curve.start), (True, link.curve.end))
        )
        gap, i, turned = near[0]
        if gap > LARGEST_GAP:
            break
        if len(near) > 1 and near[1][0] <= LARGEST_GAP and near[1][1] != i:
            _refuse_branch(name, chain[-1], rest[i], rest[near[1][1]])
        link = rest.pop(i)
        if gap > SILENT_GAP:
            gaps.append(gap)
        chain.append(_starting_at(link.turned if turned else link, end))
    last = float(np.hypot(*(chain[0].curve.start - chain[-1].curve.end)))
    if rest or last > LARGEST_GAP:
        _refuse_open(name, chain, len(rest), last)
    if last > SILENT_GAP:
        gaps.append(last)
    chain[-1] = _starting_at(chain[-1].turned, chain[0].curve.start).turned
    return tuple(chain), tuple(gaps)


def _starting_at(link: Link[T], point: NDArray[np.float64]) -> Link[T]:
    shift = point - link.curve.start
    if not shift.any():
        return link
    controls = np.array(link.curve.controls)
    controls[0, :2] += shift
    controls[0, 0] = point
    return Link(Curve(controls), link.what, link.name, link.place)


def _at(point: NDArray[np.float64]) -> str:
    return f"({point[0]:.2f}, {point[1]:.2f})"


def _refuse_branch(name: str, a: Link[T], b: Link[T], c: Link[T]) -> NoReturn:
    raise LabelError(
        Problem(
            f"the outline of {name} branches at {_at(a.curve.end)}: {a.name}, {b.name} and"
            f" {c.name} meet there",
            a.place,
            "two ends meet at a joint",
            "remove what is drawn twice, or label it internal or ignore",
        )
    )


def _refuse_open(name: str, chain: list[Link[T]], rest: int, gap: float) -> NoReturn:
    left = f"; {rest} more strokes are not joined to it" if rest else ""
    raise LabelError(
        Problem(
            f"the outline of {name} is open: {chain[-1].name} ends at {_at(chain[-1].curve.end)}"
            f" and {chain[0].name} begins at {_at(chain[0].curve.start)}, {gap:.2f} mm apart{left}",
            chain[-1].place,
            f"gaps up to {LARGEST_GAP:g} mm are closed",
            "draw the missing edge or join the ends",
        )
    )
