"""`elbow-dart`: a dart in the back underarm seam at the elbow, so that the sleeve bends with the arm."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, bridge, find_root
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.cutting import Spot, cut_chain
from sleevewright.operations.darts import named_anew, with_piece_resewn
from sleevewright.operations.marks import Marks
from sleevewright.operations.sleeves import (
    biceps_level,
    half_of_sleeve,
    sleeve_axis,
    wrist_level,
    wrist_of,
)
from sleevewright.pattern import Edge, Pattern, Piece, Role, Side

Array = NDArray[np.float64]

_BLEND = 60.0  # mm; of the other seam, on either side of where the sleeve bends


@operation
class ElbowDart:
    """Open a dart on the back underarm seam at the elbow line; the sleeve swings forward below it.

    The arm is bent, so its back is longer than its front (Pepin, Modern Pattern Design, 1942): the sleeve is cut across
    from the back seam to the other one, and its lower part turns about that end until the back has
    opened by the dart's width. Folded, the back seam is as long as it was.
    """

    width: Annotated[Length, about("of the dart on the seam", at_least=5, at_most=30)] = 12.0
    length: Annotated[
        Length | None,
        about(
            "of the dart's legs; a third of the width there, 75 mm at most",
            at_least=30,
            at_most=140,
        ),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Turn the lower sleeve and put the dart in."""
        piece = half_of_sleeve(pattern, Side.BACK)
        back, other = _seams(piece)
        level = (biceps_level(piece) + wrist_level(piece)) / 2
        spots = [Spot(e.name, _station_at(e, piece, level)) for e in (back, other)]
        opened, hinge = (piece[s.edge].curve.point_at(s.at) for s in spots)
        across = float(np.hypot(*(opened - hinge)))
        length = min(75.0, across / 3) if self.length is None else self.length
        if length > 0.6 * across:
            raise OperationError(
                f"the sleeve is {across:.0f} mm wide at the elbow; an elbow dart may be"
                f" {0.6 * across:.0f} mm long, not {length:.0f}"
            )
        turn = math.degrees(2 * math.asin(self.width / (2 * across)))
        downwards = float(
            (Affine.rotation(turn, hinge).apply(opened) - opened) @ sleeve_axis(piece)
        )
        lower_turn = Affine.rotation(turn if downwards < 0 else -turn, hinge)
        lower, upper = cut_chain(piece.edges, *spots)
        slash = Curve.line(lower[-1].curve.end, lower[0].curve.start)
        below = Marks.of(piece).within((*(edge.curve for edge in lower), slash))
        above = Marks.of(piece).within((*(edge.curve for edge in upper), slash.reversed))
        marked = (above + below.transformed(lower_turn)).on(piece)
        lower = tuple(edge.transformed(lower_turn) for edge in lower)
        chain = (*_joined(upper, lower), *_legs(upper[-1], lower[0], length))
        return with_piece_resewn(pattern, named_anew(marked, chain))

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The dart is as asked; seams and wrist are as long as they were."""
        was = half_of_sleeve(before, Side.BACK)
        now = after[was.name]
        dart = next(dart for dart in now.darts() if dart.on is Role.UNDERARM_SEAM)
        mouth = float(np.hypot(*(dart.mouth[1] - dart.mouth[0])))
        yield Promise("dart as wide as asked", self.width, mouth, 0.01, "elbow")
        wanted = dart.into.length if self.length is None else self.length
        for leg in (dart.into, dart.out):
            yield Promise("dart as long as asked", wanted, leg.length, 0.01, leg.name)
        for role in (Role.UNDERARM_SEAM, Role.OVERARM_SEAM, Role.WRIST, Role.CAP):
            for side in Side:
                wanted, got = was.length(role, side), now.length(role, side)
                yield Promise(f"{side} {role} as it was", wanted, got, 0.1, was.name)


def _legs(above: Edge, below: Edge, length: float) -> tuple[Edge, Edge]:
    """Return the legs from the upper part of the seam to the tip and on to the lower part."""
    start, end = above.curve.end, below.curve.start
    width = float(np.hypot(*(end - start)))
    along = (end - start) / width
    inward = np.array([-along[1], along[0]])
    tip = (start + end) / 2 + math.sqrt(length**2 - (width / 2) ** 2) * inward
    return (
        Edge(name="into", role=Role.DART_LEG, curve=Curve.line(start, tip)),
        Edge(name="out of", role=Role.DART_LEG, curve=Curve.line(tip, end)),
    )


def _seams(piece: Piece) -> tuple[Edge, Edge]:
    """Return the back underarm seam and the seam on the other side of the wrist."""
    if piece.has(Role.HEM):
        raise OperationError("an elbow dart needs a sleeve of its own, not one cut with the bodice")
    backs = piece.with_role(Role.UNDERARM_SEAM, Side.BACK)
    if len(backs) != 1:
        raise OperationError(f"{piece.name} has an elbow dart already")
    before, after = piece.neighbours(wrist_of(piece).name)
    return backs[0], after if before.name == backs[0].name else before


def _station_at(edge: Edge, piece: Piece, level: float) -> float:
    up = sleeve_axis(piece)
    try:
        return find_root(
            lambda s: float(edge.curve.point_at(s) @ up) - level, 0.0, edge.length, 1e-6
        )
    except ValueError:
        raise OperationError(f"the elbow line does not cross {edge.name} of {piece.name}") from None


def _joined(upper: tuple[Edge, ...], lower: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Return the lower part, the seam that bends drawn through fair, and the upper part.

    Both parts of that seam keep their name: the lower one ends where the upper one begins.
    """
    below, above = lower[-1], upper[0]
    reach = min(_BLEND, 0.4 * below.length, 0.4 * above.length)
    kept = below.curve.between(0.0, below.length - reach)
    rest = above.curve.between(reach, above.length)
    seam = Curve.joined([kept, bridge(kept, rest, 2 * reach), rest])
    run = below.length
    notches = (*below.notches, *(replace(n, at=n.at + run) for n in above.notches))
    return (*lower[:-1], replace(below, curve=seam, notches=notches), *upper[1:])
