"""Notches where an outline runs on smoothly although what it is sewn to changes.

A corner shows by itself where one seam ends and the next begins. Where there is no corner, nothing
shows it: the crown of a cap, which meets the shoulder seam, and which a gathered head needs most;
the shoulder tip of a kimono; a cuff where its extension begins; a wrist at its opening. The notch is
derived from the seams, so that it is there whichever operation made the edges. It is single, as its
fellow, where it has one, is on the other side of the same seam (common practice).
"""

from itertools import chain, count, pairwise

from sleevewright.pattern import Edge, EdgeUse, Notch, Pattern, Piece, Role, Seam
from sleevewright.pattern.junctions import interior_angle
from sleevewright.pattern.naming import CROWN

#: degrees. An outline that turns by more than this shows the joint as a corner.
CORNER = 20.0
#: mm. A notch this near to a joint marks it.
AT_JOINT = 1.0

_NAMES = {
    frozenset({Role.CAP}): CROWN,
    frozenset({Role.CAP, Role.LAYER_SEAM}): CROWN,
    frozenset({Role.SHOULDER, Role.OVERARM_SEAM}): "shoulder tip",
    frozenset({Role.SIDE_SEAM, Role.UNDERARM_SEAM}): "underarm",
    frozenset({Role.CUFF_SEAM, Role.FREE_EDGE}): "cuff extension",
    frozenset({Role.WRIST}): "opening",
    frozenset({Role.FACING_SEAM}): "seam",
}


def with_joint_notches(pattern: Pattern) -> Pattern:
    """Return the pattern with a notch at every joint that needs one and has none."""
    for piece in pattern.pieces:
        for before, after in zip((piece.edges[-1], *piece.edges[:-1]), piece.edges, strict=True):
            if _shows(piece, before, after) or _is_marked(before, after):
                continue
            if _is_joint(pattern, piece.name, before, after):
                pattern = _notched(pattern, piece.name, (before.name, after.name))
    return pattern


def _shows(piece: Piece, before: Edge, after: Edge) -> bool:
    """Whether the joint needs no mark: a corner, the end of a fold, the mouth or tip of a dart."""
    if piece.fold in (before.name, after.name) or Role.DART_LEG in (before.role, after.role):
        return True
    return abs(interior_angle(before, after) - 180.0) > CORNER


def _is_marked(before: Edge, after: Edge) -> bool:
    return any(before.length - notch.at < AT_JOINT for notch in before.notches) or any(
        notch.at < AT_JOINT for notch in after.notches
    )


def _is_joint(pattern: Pattern, piece: str, before: Edge, after: Edge) -> bool:
    """Whether sewing does not simply go on: another seam begins, or another piece of this one."""
    sewn = False
    for seam in pattern.seams:
        for side, other in ((seam.first, seam.second), (seam.second, seam.first)):
            sewn = sewn or any(
                use.piece == piece and use.edge in (before.name, after.name) for use in side
            )
            for k, (one, two) in enumerate(pairwise(side), 1):
                into, out = (two, one) if one.backwards else (one, two)
                if (into.piece, into.edge, out.piece, out.edge) == (
                    piece,
                    before.name,
                    piece,
                    after.name,
                ) and one.backwards is two.backwards:
                    return _meets_a_seam(pattern, seam, side[:k], other)
    return sewn


def _meets_a_seam(
    pattern: Pattern, seam: Seam, walked: tuple[EdgeUse, ...], other: tuple[EdgeUse, ...]
) -> bool:
    """Whether the other side goes on to another piece after the length walked, from either end."""
    here = pattern.side_length(walked)
    spare = pattern.side_length(other) - pattern.side_length(
        seam.second if other is seam.first else seam.first
    )
    return any(
        min(abs(there - here), abs(there - here - spare)) <= seam.within
        for k, (a, b) in enumerate(pairwise(other), 1)
        if a.piece != b.piece
        for there in (pattern.side_length(other[:k]),)
    )


def _notched(pattern: Pattern, name: str, joint: tuple[str, str]) -> Pattern:
    """Return the pattern with a notch at a joint, on the edge whose seam comes first.

    So fellows on both sides of a seam (the shoulder tips of a kimono) are on the same one.
    """
    piece = pattern[name]
    before, after = (piece[edge] for edge in joint)
    into, out = (_first_seam(pattern, name, edge) for edge in joint)
    roles = frozenset({before.role, after.role})
    word = _NAMES.get(roles) or " to ".join(sorted(role.replace("_", " ") for role in roles))
    if into <= out:
        taken = _names_along(pattern, into, name, before.name)
        marked = before.with_notch(Notch(at=before.length, name=_free(word, taken)))
    else:
        taken = _names_along(pattern, out, name, after.name)
        marked = after.with_notch(Notch(at=0.0, name=_free(word, taken)))
    return pattern.with_pieces([piece.with_edges([marked])])


def _first_seam(pattern: Pattern, piece: str, edge: str) -> int:
    """Return the number of the first seam of an edge; one past the last where it is not sewn."""
    for i, seam in enumerate(pattern.seams):
        if any((use.piece, use.edge) == (piece, edge) for use in seam.uses):
            return i
    return len(pattern.seams)


def _names_along(pattern: Pattern, number: int, piece: str, edge: str) -> set[str]:
    """Return the names of the notches on an edge's side of a seam."""
    seam = pattern.seams[number]
    uses = next(
        side
        for side in (seam.first, seam.second)
        if any((use.piece, use.edge) == (piece, edge) for use in side)
    )
    return {notch.name for use in uses for notch in pattern[use.piece][use.edge].notches}


def _free(name: str, taken: set[str]) -> str:
    """Return the name, numbered where it is taken: along a seam every notch has its own."""
    numbered = (f"{name} {i}" for i in count(2))
    return next(free for free in chain([name], numbered) if free not in taken)
