"""A piece under another name, its seams with it."""

from dataclasses import replace

from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Pattern
from sleevewright.pattern.resewing import resewn


def renamed(pattern: Pattern, old: str, new: str) -> Pattern:
    """Return the pattern with a piece renamed.

    Raises:
        OperationError: the new name is taken.
    """
    if old == new:
        return pattern
    if new in pattern:
        raise OperationError(f"there is a piece {new!r} already")
    became = {(old, edge.name): ((new, edge.name),) for edge in pattern[old].edges}
    pieces = [replace(p, name=new) if p.name == old else p for p in pattern.pieces]
    return resewn(pattern, pieces, became)
