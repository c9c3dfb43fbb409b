"""A piece slashed from one edge to another, its strips moved apart, its edges drawn fair again.

Terms: a *run* is the chain of edges that the slash lines begin or end on, in outline order; a *strip* is
what lies between two lines. Strips are numbered along the opened run, so along the other run they
come the other way round. Every strip is moved rigidly. Where an edge hinges, a fair curve over a
*window* about each line joins strip to strip, and the strips keep their middles exactly.

Where an edge opens, it is moved as a whole: each strip's middle goes with its strip, and what lies
between follows smoothly, so that the edge keeps its shape and is only drawn wider.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.operations.runs import Run, Stand, redrawn
from sleevewright.operations.slash_openings import Gap, hinged_step, shifted_step, turned_step
from sleevewright.operations.strips import strips_of, with_marks_moved
from sleevewright.pattern import Edge, Piece, Role

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Slash:
    """A slash line.

    Attributes:
        at: its station on the opened run, mm.
        to: its station on the other run, mm.
        amount: what the opened run gains there, mm.
    """

    at: float
    to: float
    amount: float


@dataclass(frozen=True)
class Slashed:
    """A piece and the lines it is slashed along.

    Attributes:
        piece: as it was.
        opened, other: the run that is opened and the run that the lines run to.
        slashes: in the order of the opened run.

    Raises:
        OperationError: a line leaves the piece.
    """

    piece: Piece
    opened: Run
    other: Run
    slashes: tuple[Slash, ...]

    @cached_property
    def lines(self) -> tuple[Curve, ...]:
        """The slash lines, from the opened run to the other."""
        return tuple(
            Curve.line(self.opened.curve.point_at(s.at), self.other.curve.point_at(s.to))
            for s in self.slashes
        )

    @cached_property
    def cuts(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Stations of the lines on the opened run and on the other, each in outline order."""
        return tuple(s.at for s in self.slashes), tuple(s.to for s in reversed(self.slashes))

    def spread(self, *, hinged: bool) -> "Spread":
        """Move the strips apart: hinged at the other run, or parallel.

        Each line opens until a fair curve over its window gains its amount. Hinged, the other run keeps
        its length: the hinge itself gives by the hundredths of a millimetre that fairing takes.

        Raises:
            OperationError: a line cannot be opened so far.
        """
        rooms = self.opened.rooms(self.cuts[0]), self.other.rooms(self.cuts[1])[::-1]
        steps = []
        for slash, line, room, far in zip(self.slashes, self.lines, *rooms, strict=True):
            near_gap = Gap(self.opened.curve, slash.at, room, forward=True)
            far_gap = Gap(self.other.curve, slash.to, far, forward=False)
            step = (
                hinged_step(line, slash.amount, near_gap, far_gap)
                if hinged
                else shifted_step(line, slash.amount, near_gap)
            )
            steps.append(step)
        return Spread(self, tuple(_placed(self, steps)), hinged)

    def opened_square(self, width: float, *, hinged: bool) -> "Spread":
        """Move the strips apart by a width, measured square to each line where it begins, mm."""
        far = self.other.rooms(self.cuts[1])[::-1]
        steps = []
        for slash, line, room in zip(self.slashes, self.lines, far, strict=True):
            if hinged:
                gap = Gap(self.other.curve, slash.to, room, forward=False)
                steps.append(turned_step(line, width, gap))
            else:
                u = line.start_direction
                steps.append(Affine.translation(width * np.array([u[1], -u[0]])))
        return Spread(self, tuple(_placed(self, steps)), hinged)


@dataclass(frozen=True)
class Spread:
    """Strips moved apart.

    Attributes:
        slashed: the piece before.
        placed: the rigid move of every strip.
        hinged: whether the other run is where the strips hinge.
    """

    slashed: Slashed
    placed: tuple[Affine, ...]
    hinged: bool

    def opened_edges(self, stand: Stand | None = None) -> tuple[Edge, ...]:
        """Return the edges of the opened run, drawn fair (and drawn out to stand)."""
        return redrawn(self.slashed.opened, self.slashed.cuts[0], self.placed, stand)

    def other_edges(self) -> tuple[Edge, ...]:
        """Return the edges of the other run, drawn fair; as long as before where hinged."""
        cuts, placed = self.slashed.cuts[1], self.placed[::-1]
        if not self.hinged:
            return redrawn(self.slashed.other, cuts, placed)
        # What hinges keeps its stations.
        return self.slashed.other.named(_blended(self.slashed.other, cuts, placed))

    def outline(self, opened: Sequence[Edge], other: Sequence[Edge]) -> tuple[Edge, ...]:
        """Return the whole outline with these edges for its two runs, all else moved with its strip."""
        slashed = self.slashed
        sides = sides_of(slashed.piece, slashed.opened, slashed.other)
        after = (edge.transformed(self.placed[-1]) for edge in sides[0])
        before = (edge.transformed(self.placed[0]) for edge in sides[1])
        chain = (*opened, *after, *other, *before)
        turn = [edge.name for edge in chain].index(slashed.piece.edges[0].name)
        return (*chain[turn:], *chain[:turn])

    def piece(self, edges: tuple[Edge, ...], fold: str) -> Piece:
        """Return the piece with an outline, what is marked on it moved with its strip."""
        slashed = self.slashed
        strips = strips_of(slashed.piece, slashed.lines)
        moved = with_marks_moved(slashed.piece, strips, slashed.lines, self.placed)
        return replace(moved, edges=edges, fold=fold, finish=None)


def sides_of(piece: Piece, opened: Run, other: Run) -> tuple[tuple[Edge, ...], tuple[Edge, ...]]:
    """Return the edges between the opened run and the other, and from there round again."""
    names = [edge.name for edge in piece.edges]
    start = names.index(opened.edges[0].name)
    turned = piece.edges[start:] + piece.edges[:start]
    rest = [edge.name for edge in turned].index(other.edges[0].name)
    return (
        turned[len(opened.edges) : rest],
        turned[rest + len(other.edges) :],
    )


def _placed(slashed: Slashed, steps: list[Affine]) -> list[Affine]:
    """Return the move of every strip; the anchor, or the middle of the piece, stays."""
    placed = [Affine.identity()]
    for step in steps:
        placed.append(placed[-1] @ step)
    anchor = _anchor(slashed)
    base = placed[int(anchor)]
    if anchor != int(anchor):
        base = _halfway(base, placed[int(anchor) + 1], slashed.lines[int(anchor)].end)
    return [base.inverse @ move for move in placed]


def _halfway(one: Affine, other: Affine, about: Array) -> Affine:
    """Return the rigid move half-way between two, as a point moves that both carry."""
    step = one.inverse @ other
    half = float(np.degrees(np.arctan2(step.b, step.a))) / 2
    at, to = one.apply(about), other.apply(about)
    return Affine.translation((to - at) / 2) @ Affine.rotation(half, at) @ one


def _anchor(slashed: Slashed) -> float:
    """Return the strip that stays: that of the centre, else the middle one; .5 is between two."""
    after, before = sides_of(slashed.piece, slashed.opened, slashed.other)
    last = len(slashed.slashes)
    for strip, side in ((0, before), (last, after)):
        if any(edge.role is Role.CENTRE or edge.name == slashed.piece.fold for edge in side):
            return strip
    if not before or not after:
        return last if after else 0  # lines across a corner: the rest of the piece stays
    return last / 2


def _blended(run: Run, cuts: Sequence[float], placed: Sequence[Affine]) -> Curve:
    """Return a run whose strips were turned: their middles, joined by fair curves."""
    rooms = run.rooms(cuts)
    starts = [0.0, *(cut + after for cut, (_, after) in zip(cuts, rooms, strict=True))]
    ends = [
        *(cut - before for cut, (before, _) in zip(cuts, rooms, strict=True)),
        run.curve.length,
    ]
    kept = [
        run.curve.between(a, b).transformed(move)
        for a, b, move in zip(starts, ends, placed, strict=True)
    ]
    parts = [kept[0]]
    for part in kept[1:]:
        last = parts[-1]
        parts.append(fair_curve(last.end, part.start, last.end_direction, part.start_direction))
        parts.append(part)
    return Curve.joined(parts)
