"""joint-notch: where a seam ends and no corner shows it, a notch does, and meets what ends there too.

The crown of a cap meets the shoulder seam: where the two halves of the cap join, the two armholes
join as well, at a seam of the other side. A sleeve without that notch cannot be set in.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from sleevewright.checking.measure import interior_angle, length_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Edge, EdgeUse, Pattern, Piece, Role, Seam

CHECK = "joint-notch"
WITHIN = 0.5  # mm
CORNER = 20.0  # degrees: a joint that turns more shows by itself


@dataclass(frozen=True, slots=True)
class _End:
    """An end of a seam, seen from one side.

    Attributes:
        seam: the seam.
        other: the last edge of the other side there.
        crossing: the edge after it, which runs on across the seam.
    """

    seam: Seam
    other: tuple[str, str]
    crossing: tuple[str, str]


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every joint without a corner of the finished pieces."""
    for piece in pattern.pieces:
        if piece.finish is None:
            continue
        for i, after in enumerate(piece.edges):
            before = piece.edges[i - 1]
            if _smooth(piece, before, after):
                yield from _joint(pattern, piece, before, after)


def _smooth(piece: Piece, before: Edge, after: Edge) -> bool:
    if piece.fold in (before.name, after.name) or Role.DART_LEG in (before.role, after.role):
        return False
    return abs(interior_angle(before.curve, after.curve) - 180.0) <= CORNER


def _joint(pattern: Pattern, piece: Piece, before: Edge, after: Edge) -> Iterator[Finding]:
    ends = (
        list(_ends(pattern, (piece.name, before.name), at_end=True)),
        list(_ends(pattern, (piece.name, after.name), at_end=False)),
    )
    inside = _inside(pattern, piece, before, after)
    if not any(ends) if inside is None else not inside:
        return
    met = "meets a seam of the other side" if inside else _met(pattern, ends)
    length = length_of(before.curve)
    assert piece.finish is not None
    cut = {mark.name for mark in piece.finish.notches}
    offs = [(abs(length - n.at), n.name) for n in before.notches if n.name in cut]
    offs += [(n.at, n.name) for n in after.notches if n.name in cut]
    off, name = min(offs, default=(np.inf, ""))
    held = off <= WITHIN
    where = f"{piece.name}: {before.name} to {after.name}"
    far = f"{name} {off:.3f} mm from the joint" if held else "no notch at the joint"
    text = f"{where}: {far}, {WITHIN:g} allowed; {met or 'no seam of the other side ends there'}"
    status = Status.HELD if met else Status.NOTED
    yield Finding(
        CHECK, status if held else Status.FAILED, where, text, 0.0, float(min(off, 9e9)), WITHIN
    )


def _ends(pattern: Pattern, edge: tuple[str, str], *, at_end: bool) -> Iterator[_End]:
    """Yield the seams that end at an end of an edge (outline order)."""
    for seam in pattern.seams:
        for side, other in ((seam.first, seam.second), (seam.second, seam.first)):
            for at_start, use, fellow in ((True, side[0], other[0]), (False, side[-1], other[-1])):
                if (use.piece, use.edge) == edge and (at_start is use.backwards) is at_end:
                    yield _End(
                        seam,
                        (fellow.piece, fellow.edge),
                        _across(pattern, fellow, at_start),
                    )


def _across(pattern: Pattern, use: EdgeUse, at_start: bool) -> tuple[str, str]:
    """Return the edge that the outline runs on to at an end of a side."""
    before, after = pattern[use.piece].neighbours(use.edge)
    return use.piece, (before if at_start is not use.backwards else after).name


def _met(pattern: Pattern, ends: tuple[list[_End], list[_End]]) -> str:
    """Return what the joint meets on the other side, in words; "" where nothing ends there."""
    for one, other in product(*ends):
        if one.crossing == other.other and other.crossing == one.other:
            return "meets the same joint of the other side"
        if one.seam is other.seam:
            return f"both ends of the {one.seam.name} seam are there"
        for seam in pattern.seams:
            for i in (0, -1):
                pair = {(use.piece, use.edge) for use in (seam.first[i], seam.second[i])}
                if pair == {one.crossing, other.crossing}:
                    return f"meets the {seam.name} seam"
    if not all(ends):
        alone = next(end for some in ends for end in some)
        return f"meets the end of the {alone.seam.name} seam"
    return ""


def _inside(pattern: Pattern, piece: Piece, before: Edge, after: Edge) -> bool | None:
    """Whether a seam that runs on over the joint goes on to another piece there; None: none runs on."""
    joint = [(piece.name, before.name), (piece.name, after.name)]
    for seam in pattern.seams:
        for side, other in ((seam.first, seam.second), (seam.second, seam.first)):
            for k in range(1, len(side)):
                two = side[k - 1 : k + 1]
                run = [
                    (use.piece, use.edge) for use in (reversed(two) if two[0].backwards else two)
                ]
                if run == joint:
                    here = (_walked(pattern, side[:k]), _walked(pattern, side[k:]))
                    return any(
                        abs(here[0] - _walked(pattern, other[:m])) <= WITHIN
                        or abs(here[1] - _walked(pattern, other[m:])) <= WITHIN
                        for m in range(1, len(other))
                        if other[m - 1].piece != other[m].piece
                    )
    return None


def _walked(pattern: Pattern, uses: tuple[EdgeUse, ...]) -> float:
    return sum(length_of(pattern[use.piece][use.edge].curve) for use in uses)
