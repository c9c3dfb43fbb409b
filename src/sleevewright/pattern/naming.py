"""Names of edges: one rule for readers and operations alike."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from sleevewright.pattern.piece import Edge

#: How the names of notches begin that are folded onto one another, and so have no fellow on another edge.
FOLD_MARK = "pleat"

#: How the names of notches begin that mark where the tip of a layer lies, with no fellow either.
TIP_MARK = "petal"

#: How the names of the two notches of a dart begin; they meet each other when the dart is folded.
DART_MARK = "dart"

#: The name of the notch on a sleeve cap that meets the shoulder seam.
CROWN = "crown"


def lettered(name: str) -> str:
    """Return a name as it is lettered on a piece.

    >>> lettered("raglan_seam.front")
    'RAGLAN SEAM FRONT'
    """
    return name.replace("_", " ").replace(".", " ").upper()


def with_standard_names(edges: Iterable[Edge]) -> tuple[Edge, ...]:
    """Return edges of one piece, in outline order, with their standard names.

    The name is the role, with the half behind it where the edge has one ("armhole",
    "cap.front"), numbered in the order given where several would share it ("side_seam.1").
    """
    chain = tuple(edges)
    bases = [f"{e.role}.{e.side}" if e.side else str(e.role) for e in chain]
    count, seen = Counter(bases), Counter[str]()
    named = []
    for edge, base in zip(chain, bases, strict=True):
        seen[base] += 1
        named.append(replace(edge, name=base if count[base] == 1 else f"{base}.{seen[base]}"))
    return tuple(named)
