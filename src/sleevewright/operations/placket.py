"""`placket`: the slit in the back of a sleeve that lets the hand through a cuff."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.operations.contract import (
    Length,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
)
from sleevewright.operations.sleeves import half_of_sleeve, sleeve_pieces, wrist_of
from sleevewright.pattern import InternalLine, Pattern, Role, Side
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.resewing import resewn

_CLEAR = 15.0  # mm from a seam


@operation
class Placket:
    """Mark a placket: a slit square to the wrist, a quarter of the wrist from the back edge.

    The slit is an internal line with a drill hole at its end; the wrist is parted there, so that a
    cuff begins and ends at it (common practice).
    """

    length: Annotated[Length, about("of the slit", at_least=40, at_most=180)] = 80.0
    at: Annotated[
        Ratio,
        about("where, as a part of the whole wrist from its back edge", at_least=0.1, at_most=0.45),
    ] = 0.25

    def apply(self, pattern: Pattern) -> Pattern:
        """Part the wrist and mark the slit."""
        piece = half_of_sleeve(pattern, Side.BACK)
        if any(line.name == "placket" for p in pattern.pieces for line in p.internal):
            raise OperationError("the sleeve has a placket already")
        if piece.has(Role.HEM):
            raise OperationError("a placket needs a sleeve of its own, not one cut with the bodice")
        if any(p.has(Role.CUFF_SEAM) for p in pattern.pieces):
            raise OperationError("the cuff is on already; put placket before cuff")
        edge = wrist_of(piece)
        station = self.at * sum(p.length(Role.WRIST) for p in sleeve_pieces(pattern))
        if not _CLEAR < station < edge.length - _CLEAR:
            raise OperationError(
                f"a placket {station:.0f} mm from the back edge does not lie on the wrist of"
                f" {piece.name}, {edge.length:.0f} mm wide, clear of its seams by {_CLEAR:.0f} mm"
            )
        foot, along = edge.curve.point_at(station), edge.curve.direction_at(station)
        end = foot + self.length * np.array([-along[1], along[0]])
        parts = edge.split_at(station, (edge.name, edge.name))
        chain = [q for e in piece.edges for q in (parts if e.name == edge.name else (e,))]
        edges = with_standard_names(chain)
        became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
        for old, new in zip(chain, edges, strict=True):
            key = (piece.name, old.name)
            became[key] = (*became.get(key, ()), (piece.name, new.name))
        marked = replace(
            piece,
            edges=edges,
            internal=(*piece.internal, InternalLine(curve=Curve.line(foot, end), name="placket")),
            drill_holes=(*piece.drill_holes, (float(end[0]), float(end[1]))),
            finish=None,
        )
        pieces = [marked if p.name == piece.name else p for p in pattern.pieces]
        return resewn(pattern, pieces, became)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The slit is as long as asked, where asked, square to the wrist."""
        was = half_of_sleeve(before, Side.BACK)
        now = after[was.name]
        slit = next(line.curve for line in now.internal if line.name == "placket")
        yield Promise("placket as long as asked", self.length, slit.length, 0.01, now.name)
        first = next(e for e in now.edges if e.role is Role.WRIST)
        total = sum(p.length(Role.WRIST) for p in sleeve_pieces(before))
        yield Promise("placket from the back edge", self.at * total, first.length, 0.01, now.name)
        cosine = float(slit.start_direction @ first.curve.end_direction)
        yield Promise("placket square to the wrist", 0.0, cosine, 0.001, now.name)
