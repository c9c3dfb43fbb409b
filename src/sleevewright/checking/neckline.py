"""neckline-whole: what a conversion cuts up, it must give back."""

import math
from collections.abc import Iterator

from sleevewright.checking.measure import length_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Role

CHECK = "neckline-whole"
WITHIN = 0.5  # mm


def check(pattern: Pattern, before: Pattern) -> Iterator[Finding]:
    """Yield one finding, where both patterns have a neckline and none of it is gathered."""
    gather = dict(pattern.facts).get("raglan.neck_gather_ratio")
    was, now = (_total(p) for p in (before, pattern))
    if not was or not now or gather is not None:
        return
    text = f"neckline {now:.2f} mm, before {was:.2f}, {WITHIN:g} allowed"
    status = Status.HELD if abs(now - was) <= WITHIN else Status.FAILED
    yield Finding(CHECK, status, "neckline", text, was, now, WITHIN)


def _total(pattern: Pattern) -> float:
    return math.fsum(
        length_of(edge.curve)
        for piece in pattern.pieces
        for edge in piece.edges
        if edge.role is Role.NECKLINE
    )
