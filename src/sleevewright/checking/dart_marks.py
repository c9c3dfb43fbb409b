"""dart-marks: every dart that is left has a notch at each leg and one drill hole short of its tip.

Without the notches the legs cannot be brought together, without the hole nobody knows where the
stitching ends; a hole at the tip or beyond it would show (common practice: 10 to 15 mm short).
Folded, the two notches lie on one another. A dart whose mouth is cut open has corners in their place.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.checking.measure import cut_ring, length_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Dart, Edge, Piece
from sleevewright.pattern.pattern import Pattern

Array = NDArray[np.float64]

CHECK = "dart-marks"
WITHIN = 0.5  # mm
SHORT = (10.0, 15.0)  # mm, of the tip; less in a dart whose legs are shorter than SMALL
SMALL = 30.0  # mm


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every dart of the finished pieces."""
    for piece in pattern.pieces:
        if piece.finish is None:
            continue
        darts = tuple(piece.darts())
        for i, dart in enumerate(darts, 1):
            yield _marks(
                piece, dart, f"{piece.name} dart {i}" if len(darts) > 1 else f"{piece.name} dart"
            )


def _marks(piece: Piece, dart: Dart, where: str) -> Finding:
    holes = _holes(piece, dart)
    least = SHORT[0] if min(length_of(leg.curve) for leg in (dart.into, dart.out)) >= SMALL else 0.0
    opened = _cut_open(piece, dart)
    missing, apart = (0, 0.0) if opened else _notches(piece, dart)
    notches = "cut open, so without notches"
    if not opened:
        notches = f"{missing} of 2 notches missing, {apart:.3f} mm apart folded, {WITHIN:g} allowed"
    hole = f"{holes[0]:.1f} mm short of the tip" if len(holes) == 1 else f"{len(holes)} of them"
    text = f"{where}: {notches}; drill hole {hole}, {SHORT[0]:g} to {SHORT[1]:g} wanted"
    held = not missing and apart <= WITHIN and len(holes) == 1 and least <= holes[0] <= SHORT[1]
    return Finding(CHECK, Status.HELD if held else Status.FAILED, where, text, 0.0, apart, WITHIN)


def _holes(piece: Piece, dart: Dart) -> list[float]:
    """Return how far from the tip the drill holes inside a dart are, mm."""
    from shapely import Point, Polygon  # noqa: PLC0415

    legs = [leg.curve.flattened(0.01) for leg in (dart.into, dart.out)]
    inside = Polygon(np.concatenate(legs))
    return [
        float(np.hypot(*(np.array(hole) - dart.tip)))
        for hole in piece.drill_holes
        if inside.contains(Point(hole))
    ]


def _cut_open(piece: Piece, dart: Dart) -> bool:
    """Whether the middle of the mouth is cut away."""
    from shapely import Point, Polygon  # noqa: PLC0415

    a, b = dart.mouth
    return not Polygon(cut_ring(piece, 0.05)).contains(Point((a + b) / 2))


def _notches(piece: Piece, dart: Dart) -> tuple[int, float]:
    """Return how many legs have no notch, and how far apart the two are when the dart is folded, mm.

    What is on the fold is not cut. Folded, the legs lie on one another; how far apart the notches are
    is measured across them, as the cut edges there need not be flush.
    """
    before, _ = piece.neighbours(dart.into.name)
    _, after = piece.neighbours(dart.out.name)
    mouths = ((before, length_of(before.curve), dart.mouth[0]), (after, 0.0, dart.mouth[1]))
    wanted = [(edge, at, mouth) for edge, at, mouth in mouths if edge.name != piece.fold]
    cuts = [_cut(piece, edge, at, mouth) for edge, at, mouth in wanted]
    missing = sum(cut is None for cut in cuts)
    if missing or len(cuts) < 2:
        return missing, 0.0
    beside = []
    for cut, mouth in zip(cuts, dart.mouth, strict=True):
        leg, way = mouth - dart.tip, np.array(cut) - dart.tip
        beside.append(float(leg[0] * way[1] - leg[1] * way[0]) / float(np.hypot(*leg)))
    # A fold mirrors: what lies left of the one leg lies right of the other.
    return 0, abs(beside[0] + beside[1])


def _cut(piece: Piece, edge: Edge, at: float, mouth: Array) -> tuple[float, float] | None:
    """Return where the notch of a leg is on the cut line; None where there is none."""
    assert piece.finish is not None
    here = {n.name for n in edge.notches if abs(n.at - at) <= WITHIN}
    marks = (mark for mark in piece.finish.notches if mark.name in here)
    near = (m.point for m in marks if float(np.hypot(*(mouth - m.sew_point))) <= WITHIN)
    return next(near, None)
