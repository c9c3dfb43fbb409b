"""Where slash lines begin and end, as a recipe gives them: parts of edges, or between notches."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import did_you_mean
from sleevewright.operations.asking import asked_edges
from sleevewright.operations.contract import OperationError, Promise
from sleevewright.operations.runs import Run
from sleevewright.operations.spreading import Slash, sides_of
from sleevewright.pattern import Piece, Role, Side

_TO_THE_JOINT = 8.0  # mm; a line that nearly runs to where two edges meet (the crown) runs there
_NARROWEST = 4.0  # mm between two lines, or between a line and the end of its edge


def asked_runs(piece: Piece, opens: str, towards: str) -> tuple[Run, Run]:
    """Return the run that is opened and the run that the lines run to.

    Raises:
        OperationError: one is not there, is parted, or they share an edge.
    """
    opened, other = (Run(asked_edges(piece, name)) for name in (opens, towards))
    shared = {e.name for e in opened.edges} & {e.name for e in other.edges}
    if shared:
        raise OperationError(f"slash lines cannot run from {opens} to itself")
    return opened, other


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where a recipe wants slash lines.

    Attributes:
        lines: how many, evenly set, where no parts are given.
        at, to: parts of the opened edge and of the other, from the front or the centre.
        between: two notches of the opened edge.
    """

    lines: int
    at: tuple[float, ...] = ()
    to: tuple[float, ...] = ()
    between: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """Where the slash lines are.

    Attributes:
        at, to: stations on the opened run and on the other, line by line in the opened run's order.
        stretch: stations of the opened run between which it opens.
        counted_back: whether parts are counted against the outline.
    """

    at: tuple[float, ...]
    to: tuple[float, ...]
    stretch: tuple[float, float]
    counted_back: bool

    @classmethod
    def of(cls, piece: Piece, runs: tuple[Run, Run], asked: Places) -> "Placing":
        """Return the placing of lines by count, by parts, or between two notches.

        Raises:
            OperationError: parts out of order, lines too near to each other, no such notch.
        """
        opened, other = runs
        length = opened.curve.length
        stretch = _stretch(opened, asked.between)
        back = _counted_back(piece, opened)
        if asked.at:
            stations = length * _rising("at", asked.at, back)
        else:
            share = np.arange(1, asked.lines + 1) / (asked.lines + 1)
            stations = stretch[0] + share * (stretch[1] - stretch[0])
        stations = np.array([_at_joint(opened, s) for s in stations])
        # The other run comes the other way round.
        ends = other.curve.length * (1 - stations / length)
        if asked.to:
            if len(asked.to) != len(stations):
                raise OperationError(
                    f"to has {len(asked.to)} places for {len(stations)} slash lines"
                )
            ends = other.curve.length * _rising("to", asked.to, _counted_back(piece, other))[::-1]
        ends = np.array([_at_joint(other, s) for s in ends])
        _refuse_crowding(opened, list(stations))
        _refuse_crowding(other, list(ends[::-1]))
        return cls(
            at=tuple(float(s) for s in stations),
            to=tuple(float(s) for s in ends),
            stretch=stretch,
            counted_back=back,
        )

    def slashes(self, amounts: Sequence[float]) -> tuple[Slash, ...]:
        """Return the lines that open, each with its amount, mm."""
        return tuple(
            Slash(at=a, to=b, amount=amount)
            for a, b, amount in zip(self.at, self.to, amounts, strict=True)
            if amount > 1e-9
        )


def notch_stations(run: Run) -> dict[str, float]:
    """Return notch name -> station on the run, mm."""
    return {
        notch.name: joint + notch.at
        for edge, joint in zip(run.edges, run.joints[:-1], strict=True)
        for notch in edge.notches
    }


def sides_kept(was: Piece, now: Piece, runs: tuple[Run, Run]) -> Iterator[Promise]:
    """Promise that every edge between the two runs is as long as before."""
    for side in sides_of(was, *runs):
        for edge in side:
            got = now[edge.name].length
            where = f"{was.name}.{edge.name}"
            yield Promise(f"{edge.name} as long as before", edge.length, got, 0.001, where)


def _stretch(opened: Run, between: Sequence[str]) -> tuple[float, float]:
    if not between:
        return 0.0, opened.curve.length
    if len(between) != 2:
        raise OperationError(f"between wants two notches, not {len(between)}")
    known = notch_stations(opened)
    for name in between:
        if name not in known:
            raise OperationError(
                f"there is no notch {name!r} on the edge that opens"
                f"{did_you_mean(name, known)}; it has {', '.join(known) or 'none'}"
            )
    one, other = sorted(known[name] for name in between)
    return one, other


def _counted_back(piece: Piece, run: Run) -> bool:
    """Whether the front (of a sleeve) or the centre (of a bodice) comes after the run."""
    before, after = piece.neighbours(run.edges[0].name)[0], piece.neighbours(run.edges[-1].name)[1]

    def leads(name: str) -> bool:
        edge = piece[name]
        return edge.role is Role.CENTRE or edge.side is Side.FRONT

    return leads(after.name) and not leads(before.name)


def _at_joint(run: Run, station: float) -> float:
    near = [j for j in run.joints[1:-1] if abs(j - station) < _TO_THE_JOINT]
    return near[0] if near else float(station)


def _rising(name: str, parts: Sequence[float], back: bool) -> NDArray[np.float64]:
    """Return parts of a run in outline order, which a recipe may count the other way."""
    if list(parts) != sorted(set(parts)):
        raise OperationError(f"{name}: the parts must rise, each greater than the one before")
    return 1 - np.array(parts)[::-1] if back else np.array(parts, dtype=float)


def _refuse_crowding(run: Run, stations: Sequence[float]) -> None:
    gaps = np.diff([0.0, *stations, run.curve.length])
    if gaps.min() < _NARROWEST:
        raise OperationError(
            f"slash lines would be {gaps.min():.1f} mm apart on {run.edges[0].name};"
            f" {_NARROWEST:g} mm at the least"
        )
