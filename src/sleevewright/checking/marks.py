"""marks: every internal line and drill hole of a finished piece lies on it.

What lies beside the piece is drawn or drilled into the next one of the lay.
"""

from collections.abc import Iterator

import numpy as np

from sleevewright.checking.measure import cut_ring, points_of
from sleevewright.errors import counted
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Piece

CHECK = "marks"
WITHIN = 0.5  # mm


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every finished piece that has marks inside."""
    for piece in pattern.pieces:
        if piece.finish is not None and (piece.internal or piece.drill_holes):
            yield _inside(piece)


def _inside(piece: Piece) -> Finding:
    from shapely import Point, Polygon  # noqa: PLC0415

    cloth = Polygon(cut_ring(piece, 0.05))
    points = [p for line in piece.internal for p in points_of(line.curve, 16).reshape(-1, 2)]
    points += [np.array(hole) for hole in piece.drill_holes]
    off = max(cloth.distance(Point(p)) for p in points)
    found = ((len(piece.internal), "internal line"), (len(piece.drill_holes), "drill hole"))
    what = " and ".join(counted(n, word) for n, word in found if n)
    text = (
        f"{piece.name}: {what}, {off:.2f} mm outside the cut line at the most, {WITHIN:g} allowed"
    )
    status = Status.HELD if off <= WITHIN else Status.FAILED
    return Finding(CHECK, status, piece.name, text, 0.0, off, WITHIN)
