"""`petal`: a sleeve of two layers that cross over the crown."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.operations.asking import asked_piece, plain_sleeve
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.cutting import Spot, cut_chain
from sleevewright.operations.marks import shared_marks
from sleevewright.operations.square_wrist import across
from sleevewright.pattern import (
    Edge,
    EdgeUse,
    HemKind,
    Notch,
    NotchKind,
    Pattern,
    Piece,
    Role,
    Seam,
    Side,
)
from sleevewright.pattern.naming import TIP_MARK, with_standard_names
from sleevewright.pattern.resewing import resewn

_HANDLE = 0.5  # of the chord: a full petal, where 0.33 would be a circle's arc
_KIND = {Side.FRONT: NotchKind.SINGLE, Side.BACK: NotchKind.DOUBLE}


@operation
class Petal:
    """Cut a set-in sleeve into two petals that cross over the crown.

    Each layer goes on past the crown by the overlap and sweeps from there to the foot of its own underarm
    seam. Where they cross, the layers are laid on one another and set into the armhole as one.
    """

    overlap: Annotated[
        Length, about("how far each layer goes on past the crown, along the cap", at_least=20, at_most=160)
    ] = 70.0  # fmt: skip
    hem: Annotated[Length, about("allowance of the curved edge", at_least=3, at_most=20)] = 8.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Draw both layers and lay them on one another."""
        sleeve = self._sleeve(pattern)
        layers = [self._layer(sleeve, side) for side in Side]
        became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
            ("sleeve", edge.name): () for edge in sleeve.edges
        }
        for side, layer in zip(Side, layers, strict=True):
            for role in (Role.CAP, Role.UNDERARM_SEAM):
                old = sleeve.with_role(role, side)[0].name
                new = layer.with_role(role, side)
                became["sleeve", old] = tuple((layer.name, edge.name) for edge in new)
        pieces = [q for p in pattern.pieces for q in (layers if p.name == "sleeve" else [p])]
        seams = [_layers_seam(layers, side) for side in Side]
        return resewn(pattern, pieces, became, seams)

    def _sleeve(self, pattern: Pattern) -> Piece:
        sleeve = asked_piece(pattern, "sleeve")
        plain_sleeve(sleeve, "petal")
        for role, count in ((Role.CAP, 2), (Role.UNDERARM_SEAM, 2), (Role.WRIST, 1)):
            if len(sleeve.with_role(role)) != count or len(sleeve.edges) != 5:
                raise OperationError("petal needs a set-in sleeve in one piece; put it first")
        wrist = sleeve.with_role(Role.WRIST)[0].name
        sewn = [seam.name for seam in pattern.seams for use in seam.uses
                if (use.piece, use.edge) == ("sleeve", wrist)]  # fmt: skip
        if sewn:
            raise OperationError(f"petal does away with the wrist, which {sewn[0]} is sewn to")
        for seam in pattern.seams:
            if (seam.gather or seam.pleated) and any(use.piece == "sleeve" for use in seam.uses):
                raise OperationError(f"petal needs a plain cap; {seam.name} has fullness")
        for side in Side:
            most = sleeve.length(Role.CAP, side) - 30.0
            if self.overlap > most:
                raise OperationError(
                    f"overlap is {self.overlap:g} mm; the {side} cap is {most + 30:.1f} mm, which"
                    f" allows {most:.1f} mm at the most"
                )
        return sleeve

    def _layer(self, sleeve: Piece, side: Side) -> Piece:
        """Return the layer of a half: over its own cap, past the crown, and down the petal's edge."""
        front = side is Side.FRONT
        theirs = sleeve.with_role(Role.CAP, _other(side))[0]
        seam = sleeve.with_role(Role.UNDERARM_SEAM, side)[0]
        # The outline runs up the front underarm seam, over the crown and down the back one.
        at_tip = Spot(theirs.name, self.overlap if front else theirs.length - self.overlap)
        at_foot = Spot(seam.name, 0.0 if front else seam.length)
        tip, foot = theirs.curve.point_at(at_tip.at), seam.curve.point_at(at_foot.at)
        # The petal leaves the cap down the grain and arrives square to the underarm seam.
        arriving = across(seam.curve.direction_at(at_foot.at), foot - tip)
        handle = _HANDLE * float(np.hypot(*(foot - tip)))
        sweep = Curve.cubic(tip, tip - handle * sleeve.up, foot - handle * arriving, foot)
        petal = Edge(
            name="", role=Role.FREE_EDGE, curve=sweep, hem=HemKind.ROLLED, allowance=self.hem
        )
        if front:
            rest, kept = cut_chain(sleeve.edges, at_tip, at_foot)
        else:
            rest, kept = cut_chain(sleeve.edges, at_foot, at_tip)
            petal = petal.reversed
        edges = [part for edge in kept for part in self._in_layer(edge, side)]
        layer = replace(
            sleeve, name=f"sleeve_{side}", edges=with_standard_names((*edges, petal)), finish=None
        )
        left = replace(layer, edges=with_standard_names((*rest, petal.reversed)))
        return shared_marks(sleeve, [layer, left])[0]

    def _in_layer(self, edge: Edge, side: Side) -> tuple[Edge, ...]:
        """Return an edge of the sleeve as the layer of a half has it."""
        if edge.role is not Role.CAP:
            return (edge,)
        if edge.side is not side:  # past the crown: it is laid on the other layer
            clear = tuple(n for n in edge.notches if 10.0 < n.at < edge.length - 10.0)
            return (replace(edge, role=Role.LAYER_SEAM, side=None, notches=clear),)
        station = edge.length - self.overlap if side is Side.FRONT else self.overlap
        first, second = edge.split_at(station, (edge.name, edge.name))
        mark = Notch(at=0.0, name=f"{TIP_MARK} {side}", kind=_KIND[side])
        return first, second.with_notch(mark)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Caps and underarm seams are what they were, and the layers lie on one another."""
        sleeve = before["sleeve"]
        for side in Side:
            layer, under = after[f"sleeve_{side}"], after[f"sleeve_{_other(side)}"]
            for role in (Role.CAP, Role.UNDERARM_SEAM):
                wanted, got = sleeve.length(role, side), layer.length(role, side)
                yield Promise(f"{side} {role}", wanted, got, 0.001, layer.name)
            got = under.length(Role.LAYER_SEAM)
            yield Promise(f"{side} overlap", self.overlap, got, 0.001, under.name)


def _other(side: Side) -> Side:
    return Side.BACK if side is Side.FRONT else Side.FRONT


def _layers_seam(layers: list[Piece], side: Side) -> Seam:
    """Return where the other half's layer is laid on this half's cap, walked from the crown."""
    mine = next(layer for layer in layers if layer.name == f"sleeve_{side}")
    other = next(layer for layer in layers if layer is not mine)
    cap, laid = mine.with_role(Role.CAP, side), other.with_role(Role.LAYER_SEAM)[0]
    # Round a front the outline runs up to the crown, round a back down from it.
    front = side is Side.FRONT
    return Seam(
        name=f"{side} layers",
        first=(EdgeUse(piece=other.name, edge=laid.name, backwards=front),),
        second=(EdgeUse(piece=mine.name, edge=cap[-1 if front else 0].name, backwards=front),),
    )
