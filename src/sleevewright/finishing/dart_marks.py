"""Marks of the darts that are left in a piece: a notch at each leg, a drill hole short of the tip.

The notches are at the ends of the legs, on the edges the dart opens on, and fall on one another when
it is folded. The hole tells where the stitching runs to; it lies inside the dart, so that it is
hidden when the dart is sewn (common practice). A dart that is closed, gathered or eased in has no
legs any more, and so no marks. One that is cut out along its legs has corners at its mouth, which
need no notches.
"""

from dataclasses import replace

import numpy as np

from sleevewright.finishing.allowances import is_cut_out
from sleevewright.pattern import Dart, Notch, Piece
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import DART_MARK
from sleevewright.pattern.piece import Point

#: mm. Between the drill hole and the tip: 10 to 15, common practice for a bust dart.
SHORT_OF_TIP = 12.0


def with_dart_marks(piece: Piece, settings: FinishSettings) -> Piece:
    """Return the piece with the marks of its darts: notches "dart front", or "dart front 1" ..."""
    darts = tuple(piece.darts())
    for i, dart in enumerate(darts, 1):
        if not is_cut_out(piece, dart, settings):
            name = f"{DART_MARK} {piece.name}"
            piece = _notched(piece, dart, name if len(darts) == 1 else f"{name} {i}")
    holes = (*piece.drill_holes, *map(drill_hole, darts))
    return replace(piece, drill_holes=tuple(dict.fromkeys(holes)))


def drill_hole(dart: Dart) -> Point:
    """Return the point in the middle of a dart, short of its tip, mm; of a very short dart, half way."""
    into, out = dart.into.curve, dart.out.curve
    short = min(SHORT_OF_TIP, into.length / 2, out.length / 2)
    between = (into.point_at(into.length - short) + out.point_at(short)) / 2 - dart.tip
    x, y = dart.tip + short * between / np.hypot(*between)
    return float(x), float(y)


def _notched(piece: Piece, dart: Dart, name: str) -> Piece:
    """Return the piece with a notch on either edge that the dart opens on; on a fold nothing is cut."""
    before, _ = piece.neighbours(dart.into.name)
    _, after = piece.neighbours(dart.out.name)
    for edge, at in ((before, before.length), (after, 0.0)):
        notch = Notch(at=at, name=name)
        if edge.name != piece.fold and notch not in edge.notches:
            piece = piece.with_edges([piece[edge.name].with_notch(notch)])
    return piece
