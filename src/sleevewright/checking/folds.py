"""grain-to-fold: a piece cut on the fold lies with its fold along the grain, or square across it.

The cloth is folded along its warp, so a fold is laid on the straight grain: that is usual; folded the other
way, along the weft, it is cut on the cross grain. At any other angle the piece cannot be laid
on the fold and along the grain at once (common practice). The fold is straight,
else its halves do not meet.
"""

from collections.abc import Iterator

import numpy as np

from sleevewright.checking.measure import points_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Piece

CHECK = "grain-to-fold"
WITHIN = 0.5  # degrees
HOLLOW = 0.1  # mm, that a fold may leave the straight line


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every piece that is cut on the fold and has a grainline."""
    for piece in pattern.pieces:
        if piece.fold and piece.grain is not None:  # none at all is the grain check's matter
            yield _laid(piece)


def _laid(piece: Piece) -> Finding:
    assert piece.grain is not None
    line = points_of(piece[piece.fold].curve, 16).reshape(-1, 2)
    fold, grain = line[-1] - line[0], piece.grain.end - piece.grain.start
    along = fold / np.hypot(*fold)
    hollow = float(np.abs((line - line[0]) @ np.array([-along[1], along[0]])).max())
    angle = float(np.degrees(np.arctan2(along[0] * grain[1] - along[1] * grain[0], along @ grain)))
    straight = abs((angle + 90.0) % 180.0 - 90.0)  # 0 along the fold, 90 square to it
    off = min(straight, 90.0 - straight)
    if off > WITHIN:
        way = f"{straight:.2f} degrees off the fold, neither along it nor square to it"
    else:
        way = (
            "along the fold (straight grain)"
            if straight < 45.0
            else "square to the fold (cross grain)"
        )
    bent = f"; the fold leaves the straight line by {hollow:.2f} mm" if hollow > HOLLOW else ""
    text = f"{piece.name}: grain {way}, {WITHIN:g} degrees allowed{bent}"
    status = Status.HELD if off <= WITHIN and not bent else Status.FAILED
    return Finding(CHECK, status, piece.name, text, 0.0, off, WITHIN)
