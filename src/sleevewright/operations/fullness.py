"""What a seam or a free edge is told of fullness: gathered, pleated, or left to flare."""

from collections.abc import Iterator
from dataclasses import replace

from sleevewright.operations.contract import OperationError, Promise
from sleevewright.pattern import Pattern, Role, Seam

_NOTHING = 0.01  # mm; less than that is no fullness


def with_fullness(before: Pattern, after: Pattern, name: str, kind: str) -> Pattern:
    """Return the pattern after a step, the new length in edges of a piece noted where it is sewn.

    Args:
        before, after: the pattern before and after, with the same seams.
        name: of the piece.
        kind: gather (the seam's gathered side comes first, with its ratio), ease (the ease wanted
            grows), pleat (what is folded away is noted on the seam) or flare (edges that are sewn to nothing only).

    Edges that grew have facts with their ratio, such as "gather.sleeve.wrist_ratio".

    Raises:
        OperationError: a flare on an edge that is sewn.
    """
    known = {seam.name for seam in before.seams}
    seams = [
        _told(before, after, seam, kind)
        if seam.name in known and any(use.piece == name for use in seam.uses)
        else seam
        for seam in after.seams
    ]
    facts = dict(before.facts)
    for role, ratio in _ratios(before, after, name):
        fact = f"{kind}.{name}.{role}_ratio"
        facts[fact] = facts.get(fact, 1.0) * ratio
    return replace(after, seams=tuple(seams)).with_facts(facts.items())


def _told(before: Pattern, after: Pattern, seam: Seam, kind: str) -> Seam:
    was = before.seam(seam.name)
    one = after.side_length(seam.first) - before.side_length(was.first)
    other = after.side_length(seam.second) - before.side_length(was.second)
    extra = one - other
    if abs(extra) < _NOTHING:
        return seam
    if kind == "flare":
        raise OperationError(
            f"the {seam.name} seam is sewn: {abs(extra):.1f} mm more on one side must be gathered or"
            " pleated (fullness: gather, or fullness: pleat)"
        )
    if kind == "pleat":
        return replace(seam, pleated=seam.pleated + extra)
    if kind == "ease":
        return replace(seam, ease=seam.ease + extra)
    if seam.gather and extra < 0:
        raise OperationError(
            f"the other side of the {seam.name} seam is gathered already; both cannot be"
        )
    if extra < 0:
        seam = replace(
            seam, first=seam.second, second=seam.first, ease=-seam.ease, pleated=-seam.pleated
        )
    ratio = after.side_length(seam.first) / after.side_length(seam.second)
    return replace(seam, gather=ratio)


def _ratios(before: Pattern, after: Pattern, name: str) -> Iterator[tuple[Role, float]]:
    """Yield (role, new length : old) of all edges of a piece that grew."""
    was, now = before[name], after[name]
    for role in dict.fromkeys(edge.role for edge in was.edges):
        one, other = was.length(role), now.length(role)
        if other - one > _NOTHING:
            yield role, other / one


def fullness_promises(before: Pattern, after: Pattern, name: str) -> Iterator[Promise]:
    """Promise that every seam into which a piece brings fullness is sewn to what it was sewn to."""
    for was in before.seams:
        now = after.seam(was.name)
        if not any(use.piece == name for use in was.uses) or now == was:
            continue
        flat = [side for side in (now.first, now.second) if all(u.piece != name for u in side)]
        for side in flat:
            full = now.first if side == now.second else now.second
            taken = now.pleated - was.pleated if full == now.first else was.pleated - now.pleated
            got = after.side_length(full)
            if now.gather:
                # Invariant 33: a ratio declared and measured within 1 %.
                wanted = now.gather * after.side_length(side)
                yield Promise(f"{now.name} gathered to its ratio", wanted, got, 0.01 * got, name)
            else:
                wanted = before.side_length(full) + taken
                yield Promise(f"{now.name} as long as it was, folded", wanted, got, 0.1, name)
