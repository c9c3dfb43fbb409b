"""The seam walk as a picture: both sides of a seam as straight bars from the same end."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sleevewright.findings import SeamRow, Status
from sleevewright.pattern import EdgeUse, Pattern, Seam
from sleevewright.pattern.naming import DART_MARK
from sleevewright.pattern.result import Result
from sleevewright.pattern.roles import NotchKind, Role
from sleevewright.writing.report.verdict import CALLED
from sleevewright.writing.report.words import human, joined, number, signed

_WIDE = 1000.0  # of a bar as long as the longest side of all
_TIED = 0.5  # mm: a notch this near to the end of a side is at the end
_TWIN = 5.0  # mm: a double notch is two marks 10 mm apart
_SMALL = 0.05  # mm: what is less is not worth a word


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One side of a seam, unrolled.

    Attributes:
        name: its edges.
        length: mm, as text.
        parts: (start, width) of each edge.
        beyond: (start, width) of what it has over the other side; None for nothing.
        marks: where notches are; two for a double one.
    """

    name: str
    length: str
    parts: tuple[tuple[str, str], ...]
    beyond: tuple[str, str] | None
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A seam of the walk.

    Attributes:
        name: of the seam.
        status, called: the outcome, as a class name and in words.
        first, second: edges of the sides, for the table.
        lengths, wanted, off, allowed: numbers for the table, mm.
        bars: the two sides; empty where the pattern does not have the seam.
        ties: (x on the first side, x on the second) of notches that are sewn together.
        walk: from where to where it is walked.
        fullness: how the sides are brought together.
        notches: a line for each notch.
    """

    name: str
    status: str
    called: str
    first: str
    second: str
    lengths: tuple[str, str]
    wanted: str
    off: str
    allowed: str
    bars: tuple[Bar, ...]
    ties: tuple[tuple[str, str], ...]
    walk: str
    fullness: str
    notches: tuple[str, ...]


def seam_walk(result: Result) -> tuple[Walked, ...]:
    """Return the rows of the seam walk, bars on one scale, in the order of the walk."""
    pattern = result.pattern
    seams = {seam.name: seam for seam in pattern.seams}
    sides = [row.lengths for row in result.seam_rows]
    longest = max((v for pair in sides for v in pair if math.isfinite(v)), default=0.0) or 1.0
    return tuple(_walked(row, seams.get(row.name), pattern, longest) for row in result.seam_rows)


def _walked(row: SeamRow, seam: Seam | None, pattern: Pattern, longest: float) -> Walked:
    bars: tuple[Bar, ...] = ()
    ties: tuple[tuple[str, str], ...] = ()
    notches: tuple[str, ...] = ()
    walk = ""
    if seam is not None and all(math.isfinite(v) for v in row.lengths):
        stations = [_stations(pattern, side) for side in (seam.first, seam.second)]
        bars = tuple(
            _bar(pattern, side, (mine, other), on, longest)
            for side, mine, other, on in zip(
                (seam.first, seam.second), row.lengths, row.lengths[::-1], stations, strict=True
            )
        )
        both = [name for name in stations[0] if name in stations[1]]
        ties = tuple(
            (_at(stations[0][n][0], longest), _at(stations[1][n][0], longest)) for n in both
        )
        notches = _told(stations[0], stations[1], row.lengths)
        walk = _from_to(pattern, seam.second)
    return Walked(
        name=human(row.name),
        status=row.status.value.replace(" ", "-"),
        called=CALLED[row.status],
        first=joined([human(name) for name in row.edges[0]]),
        second=joined([human(name) for name in row.edges[1]]),
        lengths=(number(row.lengths[0], 2), number(row.lengths[1], 2)),
        wanted=signed(row.wanted_ease, 2),
        off=signed(row.difference, 2),
        allowed=number(row.allowed, 2),
        bars=bars,
        ties=ties,
        walk=walk,
        fullness=fullness(row, seam),
        notches=notches,
    )


def fullness(row: SeamRow, seam: Seam | None) -> str:
    """Return how the two sides are brought together, and by how much they miss."""
    said = [_brought(row, seam)]
    if row.status is Status.NOT_COMPUTED or not math.isfinite(row.difference):
        said.append("could not be measured")
    elif row.status is not Status.HELD:
        kind = "long" if row.difference > 0 else "short"
        said.append(f"the first side is {number(abs(row.difference), 2)} mm too {kind} for that")
    elif abs(row.difference) >= _SMALL:
        said.append(f"off by {signed(row.difference, 2)} mm, {number(row.allowed, 2)} allowed")
    return "; ".join(said)


def _brought(row: SeamRow, seam: Seam | None) -> str:
    wanted = row.wanted_ease
    if seam is not None and seam.gather:
        return f"gathered {number(seam.gather, 2)} : 1, {number(abs(wanted))} mm drawn in"
    if seam is not None and seam.pleated:
        side = "" if seam.pleated > 0 else " on the second side"
        text = f"{number(abs(seam.pleated))} mm folded away in pleats{side}"
        return text + (f", {_eased(seam.ease)}" if abs(seam.ease) >= _SMALL else "")
    return _eased(wanted) if abs(wanted) >= _SMALL else "edge to edge, no ease"


def _eased(ease: float) -> str:
    side = "first" if ease > 0 else "second"
    return f"{number(abs(ease))} mm eased in on the {side} side"


def _stations(pattern: Pattern, side: Sequence[EdgeUse]) -> dict[str, tuple[float, NotchKind]]:
    """Return notch name -> (how far along the side, kind)."""
    found, run = {}, 0.0
    for use in side:
        edge = pattern.edge(use)
        for notch in edge.notches:
            found[notch.name] = (run + notch.at, notch.kind)
        run += edge.length
    return dict(sorted(found.items(), key=lambda item: (item[1][0], item[0])))


def _bar(
    pattern: Pattern,
    side: Sequence[EdgeUse],
    lengths: tuple[float, float],
    stations: dict[str, tuple[float, NotchKind]],
    longest: float,
) -> Bar:
    mine, other = lengths
    parts, run = [], 0.0
    for use in side:
        length = pattern[use.piece][use.edge].length
        parts.append((_at(run, longest), _at(length, longest)))
        run += length
    beyond = None
    if mine - other >= _SMALL:
        beyond = (_at(other, longest), _at(mine - other, longest))
    marks = []
    for at, kind in stations.values():
        twins = (-_TWIN, _TWIN) if kind is NotchKind.DOUBLE else (0.0,)
        marks += [_at(at + twin, longest) for twin in twins]
    return Bar(
        name=joined([human(str(use)) for use in side]),
        length=number(mine, 2),
        parts=tuple(parts),
        beyond=beyond,
        marks=tuple(marks),
    )


def _at(mm: float, longest: float) -> str:
    return f"{round(mm / longest * _WIDE, 2) + 0.0:.2f}"


def _told(
    first: dict[str, tuple[float, NotchKind]],
    second: dict[str, tuple[float, NotchKind]],
    lengths: tuple[float, float],
) -> tuple[str, ...]:
    """Return a line for each notch: its stations on both sides, or what it meets at a seam's end."""
    lines = []
    for name in dict.fromkeys((*first, *second)):
        at = [number(side[name][0]) if name in side else "" for side in (first, second)]
        mine, length = (first, lengths[0]) if name in first else (second, lengths[1])
        if all(at):
            where = f"at {at[0]} and {at[1]} mm" if at[0] != at[1] else f"at {at[0]} mm on both"
        else:
            where = f"at {at[0] or at[1]} mm, on the {'first' if at[0] else 'second'} side only"
            if name.startswith(DART_MARK):
                where += ", one on each leg of the dart"
            elif min(mine[name][0], length - mine[name][0]) <= _TIED:
                where += ", meets the seam at the end of the other"
        lines.append(f"{human(name)} ({mine[name][1]}) {where}")
    return tuple(lines)


def _from_to(pattern: Pattern, side: Sequence[EdgeUse]) -> str:
    """Return between which edges a side runs, as a cutter says where a walk begins and ends."""
    ends = []
    for use, at_start in ((side[0], True), (side[-1], False)):
        before, after = pattern[use.piece].neighbours(use.edge)
        role = before.role if at_start is not use.backwards else after.role
        ends.append("dart tip" if role is Role.DART_LEG else human(role))
    return f"walked from {ends[0]} to {ends[1]}"
