"""allowance: the cut line lies at the allowance from the sewing line, nowhere inside it.

Measured at nine points of every segment of a cut edge, corners left out: the distance to its own
edge is the allowance within 0.02 mm. No stretch of the cut line, corners included, runs inside the
sewing line, and the cut line does not cross itself.
"""

from collections.abc import Iterator

import numpy as np

from sleevewright.checking.measure import cut_ring, points_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Piece

CHECK = "allowance"
WITHIN = 0.02  # mm
_FLAT = 0.002  # mm: chords of the line measured against


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every finished piece."""
    for piece in pattern.pieces:
        if piece.finish is not None:
            yield _check(piece)


def _check(piece: Piece) -> Finding:
    from shapely import LineString, Polygon, distance, points, prepare  # noqa: PLC0415

    assert piece.finish is not None
    widths = dict(piece.finish.allowances)
    folded = {e.name for e in piece.edges if e.role.value == "dart_leg"}
    folded |= {leg.name for slit in piece.slits() for leg in (slit.into, slit.out)}
    outline = Polygon(np.concatenate([e.curve.flattened(0.01)[:-1] for e in piece.edges]))
    ring = cut_ring(piece, 0.01)
    # A step of rounding's size at a corner is no crossing.
    cut = Polygon(ring[np.hypot(*(np.roll(ring, -1, axis=0) - ring).T) > 1e-4])
    worst, place, inside = 0.0, "", 0.0
    shrunk = outline.buffer(-0.05)
    prepare(shrunk)
    for part in piece.finish.cut_line:
        samples = points_of(part.curve, 8).reshape(-1, 2)
        if shrunk.intersects(LineString(part.curve.flattened(0.01))):
            inside += 1
        if part.edge not in widths or part.edge in folded:
            continue
        sew = LineString(piece[part.edge].curve.flattened(_FLAT))
        off = np.abs(distance(sew, points(samples)) - widths[part.edge])
        if float(off.max()) > worst:
            worst, place = float(off.max()), part.edge
    wrong = []
    if not cut.is_valid:
        wrong.append("the cut line crosses itself")
    if inside:
        wrong.append(f"{inside:.0f} stretches of the cut line lie inside the sewing line")
    if worst > WITHIN + _FLAT:
        wrong.append(f"{place} is {worst:.3f} mm off its allowance")
    text = "; ".join(wrong) or f"every cut edge within {worst:.4f} mm of its allowance"
    return Finding(
        CHECK, Status.FAILED if wrong else Status.HELD, piece.name, f"{piece.name}: {text}",
        0.0, worst, WITHIN,
    )  # fmt: skip
