"""seam-length: the seam walk. Sides of a seam that differ cannot be sewn flat.

Held: within the seam's tolerance (0.5 mm) of the ease wanted (pleats folded away), or within 1 % of a gather ratio.
"""

import math
from collections.abc import Iterator

from sleevewright.checking.measure import length_of
from sleevewright.findings import Finding, SeamRow, Status
from sleevewright.pattern import EdgeUse, Pattern, Seam

CHECK = "seam-length"
GATHER_WITHIN = 0.01


def seam_rows(pattern: Pattern) -> tuple[SeamRow, ...]:
    """Return the seam walk as a table, one row a seam."""
    return tuple(_row(pattern, seam) for seam in pattern.seams)


def _row(pattern: Pattern, seam: Seam) -> SeamRow:
    lengths = (_length(pattern, seam.first), _length(pattern, seam.second))
    ease = seam.ease + seam.pleated if not seam.gather else (seam.gather - 1.0) * lengths[1]
    allowed = seam.within if not seam.gather else GATHER_WITHIN * lengths[0]
    difference = lengths[0] - lengths[1] - ease
    if not math.isfinite(difference):
        status = Status.NOT_COMPUTED
    else:
        status = Status.HELD if abs(difference) <= allowed else Status.FAILED
    names = tuple(tuple(str(use) for use in side) for side in (seam.first, seam.second))
    return SeamRow(
        name=seam.name, edges=(names[0], names[1]), lengths=lengths, wanted_ease=ease,
        difference=difference, allowed=allowed, status=status,
    )  # fmt: skip


def _length(pattern: Pattern, side: tuple[EdgeUse, ...]) -> float:
    try:
        return math.fsum(length_of(pattern[use.piece][use.edge].curve) for use in side)
    except (KeyError, ValueError):
        return math.nan


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every seam."""
    for row in seam_rows(pattern):
        a, b = row.lengths
        text = (
            f"{row.name}: {a:.2f} against {b:.2f} mm, ease wanted {row.wanted_ease:+.2f},"
            f" off by {row.difference:+.3f}, allowed {row.allowed:.2f}"
        )
        yield Finding(
            CHECK, row.status, row.name, text, row.wanted_ease, row.difference, row.allowed
        )
