"""Seams carried along when edges are cut, renamed or moved to other pieces.

An operation says what became of each edge it touched; every seam that used one is rewritten, so that
no seam has to be guessed again from roles.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from sleevewright.pattern.pattern import EdgeUse, Pattern, Seam
from sleevewright.pattern.piece import Piece

#: (piece, edge) -> the (piece, edge) that took its place, in the direction of the old outline;
#: empty where it is gone.
Became = Mapping[tuple[str, str], tuple[tuple[str, str], ...]]


def resewn(
    pattern: Pattern, pieces: Iterable[Piece], became: Became, added: Iterable[Seam] = ()
) -> Pattern:
    """Return the pattern with other pieces, its seams rewritten.

    Args:
        pattern: as it was.
        pieces: all pieces of the result, in order.
        became: what took the place of each edge that is not where it was; edges left out stayed.
        added: new seams.

    A seam with a side of which nothing is left is dropped.

    Raises:
        ValueError: a seam names an edge that is neither there nor in `became`.
    """
    seams = [
        replace(seam, first=first, second=second)
        for seam in pattern.seams
        if (first := _followed(seam.first, became)) and (second := _followed(seam.second, became))
    ]
    return replace(pattern, pieces=tuple(pieces), seams=(*seams, *added))


def _followed(side: tuple[EdgeUse, ...], became: Became) -> tuple[EdgeUse, ...]:
    found: list[EdgeUse] = []
    for use in side:
        now = became.get((use.piece, use.edge), ((use.piece, use.edge),))
        for piece, edge in reversed(now) if use.backwards else now:
            new = EdgeUse(piece=piece, edge=edge, backwards=use.backwards)
            if new not in found:  # two edges may have become one
                found.append(new)
    return tuple(found)
