"""neckline-whole: what a conversion cuts up, it must give back."""

import math
from collections.abc import Iterator

from sleevewright.checking.measure import length_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Role

CHECK = "neckline-whole"
WITHIN = 0.5  # mm


def check(pattern: Pattern, before: Pattern) -> Iterator[Finding]:
    """Yield one finding, where both patterns have a neckline; gathers and pleats count as sewn."""
    gathered = any(name.endswith("raglan.neck_gather_ratio") for name, _ in pattern.facts)
    halved = {p.name for p in before.pieces if p.fold and not pattern_fold(pattern, p.name)}
    # Pieces of one side of the body are half of what both sides have.
    halved |= {p.name for p in pattern.pieces if p.name.endswith(("_left", "_right"))}
    was, now = _total(before, frozenset()), _total(pattern, frozenset(halved))
    if not was or not now or gathered:
        return
    text = f"neckline {now:.2f} mm, before {was:.2f}, {WITHIN:g} allowed"
    status = Status.HELD if abs(now - was) <= WITHIN else Status.FAILED
    yield Finding(CHECK, status, "neckline", text, was, now, WITHIN)


def pattern_fold(pattern: Pattern, name: str) -> str:
    """Return what lies on the fold of a piece; "" where it was unfolded or is not there."""
    return pattern[name].fold if name in pattern else ""


def _total(pattern: Pattern, whole: frozenset[str]) -> float:
    """Return the length of all necklines of a half garment, mm; whole pieces count half, full ones as sewn."""
    fullness = _neckline_fullness(pattern)
    return math.fsum(
        length_of(edge.curve)
        * (0.5 if piece.name in whole else 1.0)
        / fullness.get(piece.name, 1.0)
        for piece in pattern.pieces
        for edge in piece.edges
        if edge.role is Role.NECKLINE
    )


def _neckline_fullness(pattern: Pattern) -> dict[str, float]:
    """Return piece name -> cut length of its neckline to its length as sewn."""
    found: dict[str, float] = {}
    for name, ratio in pattern.facts:
        kind, _, rest = name.partition(".")
        piece, _, what = rest.rpartition(".")
        if kind in ("gather", "pleat") and what == "neckline_ratio":
            found[piece] = found.get(piece, 1.0) * ratio
    return found
