"""`dart-to-gather`: what a dart took in becomes fullness on the edge it opens on."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np

from sleevewright.geometry import Curve, fair_curve
from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import OperationError, Promise, about, operation
from sleevewright.operations.darts import (
    asked_dart,
    chain_from,
    named_anew,
    with_piece_resewn,
)
from sleevewright.operations.fullness import with_fullness
from sleevewright.pattern import Edge, Pattern, Role

#: Part of each neighbour that is redrawn, so that the edge runs fair over the old mouth.
_BLEND = 0.4
_WIDEST_BLEND = 60.0  # mm


@operation
class DartToGather:
    """Leave a dart unsewn: its width is gathered (or eased) into the edge it opens on.

    The edge is drawn fair over the mouth. The seam is told the ratio; an edge that is sewn to
    nothing reports it. Up to 10 mm may be eased, more is gathered (common practice).
    """

    piece: Annotated[str, about("the piece")] = "front"
    dart: Annotated[str | None, about("role of the edge it opens on, where there are several")] = (
        None
    )
    fullness: Annotated[Literal["gather", "ease"], about("what becomes of the width")] = "gather"

    def apply(self, pattern: Pattern) -> Pattern:
        """Take the dart's legs out and draw the edge through."""
        piece = asked_piece(pattern, self.piece)
        dart = asked_dart(piece, self.dart)
        before, _ = piece.neighbours(dart.into.name)
        _, after = piece.neighbours(dart.out.name)
        if before.role is not after.role:
            raise OperationError(
                f"the dart of {piece.name} opens at a corner, between {before.name} and {after.name};"
                " move it with dart-pivot first"
            )
        edge = drawn_through(before, after)
        rest = chain_from(piece.edges, after.name)[1:-3]
        changed = with_piece_resewn(pattern, named_anew(piece, (edge, *rest)))
        return with_fullness(pattern, changed, piece.name, self.fullness)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The edge gains about what the dart took in, and everything else stays."""
        was, now = before[self.piece], after[self.piece]
        dart = asked_dart(was, self.dart)
        mouth = float(np.hypot(*(dart.mouth[1] - dart.mouth[0])))
        gain = now.length(dart.on) - was.length(dart.on)
        yield Promise(
            f"{dart.on} gains the dart's width", mouth, gain, 0.15 * mouth + 0.5, self.piece
        )
        for role in sorted({e.role for e in was.edges} - {Role.DART_LEG, dart.on}):
            yield Promise(
                f"{role} as it was", was.length(role), now.length(role), 0.001, self.piece
            )


def drawn_through(before: Edge, after: Edge) -> Edge:
    """Return two edges that a dart parts as one, drawn fair over the open mouth."""
    back = min(_BLEND * before.length, _WIDEST_BLEND)
    ahead = min(_BLEND * after.length, _WIDEST_BLEND)
    kept = before.curve.between(0.0, before.length - back)
    rest = after.curve.between(ahead, after.length)
    bridge = fair_curve(kept.end, rest.start, kept.end_direction, rest.start_direction)
    curve = Curve.joined([kept, bridge, rest])
    shift = curve.length - after.length
    notches = (
        *(n for n in before.notches if n.at <= before.length),
        *(replace(n, at=n.at + shift) for n in after.notches),
    )
    name = f"{before.name}+{after.name}"
    return replace(before, name=name, curve=curve, notches=notches)
