"""`true-dart`: a dart drawn short of its point, and the edge it opens on made fair when it is folded."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, bridge, fair_curve
from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.darts import asked_dart, with_tips_back
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.pattern import Dart, Edge, Pattern, Piece

Array = NDArray[np.float64]

_MOST_MOVED = 3.0  # mm; common practice: what a blend may move an edge unasked
_MOST_LOST = 0.25  # mm of length to the blend: half of what a seam may be off
_REACHES = (60.0, 40.0, 30.0, 20.0, 15.0, 10.0, 7.0, 5.0)  # mm on either side that may be redrawn


@operation
class TrueDart:
    """True a dart: set its tip back, make its legs equal, and its edge fair when it is folded.

    Folded, the two parts of the edge must run on without a corner where the legs meet; both are
    blended by up to 3 mm, and keep their length. The tip stands back from the point of the body by
    20 to 40 mm (common practice).
    """

    piece: Annotated[str, about("the piece")] = "front"
    dart: Annotated[str | None, about("role of the edge it opens on, where there are several")] = (
        None
    )
    short: Annotated[Length, about("how far the tip is set back", at_least=0, at_most=70)] = 25.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Set the tip back and blend the edge over the folded mouth."""
        piece = asked_piece(pattern, self.piece)
        dart = asked_dart(piece, self.dart)
        if abs(dart.into.length - dart.out.length) > 1.0:
            raise OperationError(
                f"the legs of the dart of {piece.name} are {dart.into.length:.1f} and"
                f" {dart.out.length:.1f} mm; true-dart makes legs equal that differ by 1 mm at most"
            )
        if self.short:
            names = {dart.into.name, dart.out.name}
            back = with_tips_back(piece, self.short)
            piece = piece.with_edges([e for e in back.edges if e.name in names])
            dart = next(d for d in piece.darts() if d.into.name == dart.into.name)
        before, _ = piece.neighbours(dart.into.name)
        _, after = piece.neighbours(dart.out.name)
        if before.role is after.role:
            piece = _blended(piece, dart, before, after)
        return pattern.with_pieces([replace(piece, finish=None)])

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Legs are equal; folded, the edge has no corner; it moved little and kept its length."""
        was, now = before[self.piece], after[self.piece]
        dart = asked_dart(now, self.dart)
        yield Promise("dart legs", dart.into.length, dart.out.length, 0.1, dart.into.name)
        yield Promise(
            f"{dart.on} as long as before",
            was.length(dart.on),
            now.length(dart.on),
            _MOST_LOST + 0.05,
            self.piece,
        )
        one, _ = now.neighbours(dart.into.name)
        _, other = now.neighbours(dart.out.name)
        if one.role is other.role:
            turn = turn_between(dart.mouth[1] - dart.tip, dart.mouth[0] - dart.tip)
            on = Affine.rotation(turn).apply(other.curve.start_direction)
            kink = abs(turn_between(one.curve.end_direction, on))
            yield Promise("corner of the folded edge", 0.0, kink, 1.0, str(dart.on))
        moved = max(_farthest(was[e.name].curve, e.curve) for e in (one, other))
        yield Promise("the edge moved", 0.0, moved, _MOST_MOVED, str(dart.on))


def _blended(piece: Piece, dart: Dart, before: Edge, after: Edge) -> Piece:
    """Blend the edge over the folded dart, over the greatest length that moves and loses little."""
    a, b = (p - dart.tip for p in dart.mouth)
    fold = Affine.rotation(turn_between(b, a), dart.tip)
    folded = replace(after, curve=after.curve.transformed(fold))
    gap = folded.curve.start - before.curve.end
    folded = replace(folded, curve=folded.curve.transformed(Affine.translation(-gap)))
    for joined, reach in product((_natural, bridge), _REACHES):
        if reach > 0.45 * min(before.length, after.length):
            continue
        kept = before.curve.between(0.0, before.length - reach)
        rest = folded.curve.between(reach, after.length)
        joint = joined(kept, rest, 2 * reach)
        moved = _farthest(joint, before.curve, (before.length - reach, before.length))
        if moved > _MOST_MOVED or abs(2 * reach - joint.length) > _MOST_LOST:
            continue
        at = _on_leg(joint, dart)
        if at is None:
            continue
        first, second = joint.split_at(at)
        into, out = Curve.joined([kept, first]), Curve.joined([second, rest])
        out = out.transformed(Affine.translation(gap)).transformed(fold.inverse)
        grown = out.length - after.length
        return piece.with_edges(
            [
                replace(before, curve=into),
                replace(
                    after,
                    curve=out,
                    notches=tuple(replace(n, at=n.at + grown) for n in after.notches),
                ),
                replace(dart.into, curve=Curve.line(into.end, dart.tip), notches=()),
                replace(dart.out, curve=Curve.line(dart.tip, out.start), notches=()),
            ]
        )
    raise OperationError(
        f"the edges at the dart of {piece.name} meet at such an angle when it is folded that they"
        f" cannot be blended within {_MOST_MOVED:g} mm; set its tip back less, or move the dart"
    )


def _natural(before: Curve, after: Curve, _length: float) -> Curve:
    """Return the fair curve from one curve's end to another's start, whatever its length."""
    return fair_curve(before.end, after.start, before.end_direction, after.start_direction)


def _on_leg(bridge: Curve, dart: Dart) -> float | None:
    """Return the station where the blended edge crosses the leg, run on past the mouth."""
    from sleevewright.geometry.intersect import intersections  # noqa: PLC0415

    along = (dart.mouth[0] - dart.tip) / math.dist(dart.mouth[0], dart.tip)
    ray = Curve.line(dart.tip, dart.mouth[0] + 10.0 * along)
    hits = intersections(bridge, ray)
    return hits[0][0] if len(hits) == 1 else None


def _farthest(old: Curve, new: Curve, part: tuple[float, float] | None = None) -> float:
    start, end = part or (0.0, new.length)
    return max(old.nearest(p)[1] for p in new.point_at(np.linspace(start, end, 21)))
