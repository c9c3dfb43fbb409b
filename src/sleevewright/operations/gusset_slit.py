"""The slit that a gusset is set into: from the underarm towards the shoulder."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge, InternalLine, Notch, Piece, Role
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]

#: mm. Half the mouth of the slit: what is seamed away there on either side (common practice).
AT_MOUTH = 6.0
_CLEAR = 25.0  # mm between the slit point and any other seam; common practice
_PATCH = 50.0  # mm; side of the stay patch
_BEFORE_POINT = 3.0  # mm; stitching turns so far before the slit's point


def slit_piece(piece: Piece, length: float) -> Piece:
    """Return a half with a slit whose stitching lines are so long, from its underarm.

    The slit bisects the underarm, so that both lines are equal; it is marked with its point and a
    patch to stay it.

    Raises:
        OperationError: the point comes too near to another seam.
    """
    into, out = _at_underarm(piece)
    corner = into.curve.end
    before = into.curve.between(0.0, into.length - AT_MOUTH)
    after = out.curve.between(AT_MOUTH, out.length)
    mouth = after.start - before.end
    width = float(np.hypot(*mouth))
    inward = np.array([-mouth[1], mouth[0]]) / width
    middle = (before.end + after.start) / 2
    depth = math.sqrt(length**2 - (width / 2) ** 2)
    tip = middle + depth * inward
    _refuse_near(piece, (into.name, out.name), tip, length)
    legs = (
        Edge(name="", role=Role.GUSSET_SEAM, curve=Curve.line(before.end, tip)),
        Edge(name="", role=Role.GUSSET_SEAM, curve=Curve.line(tip, after.start)),
    )
    gone = out.length - after.length
    new_into = replace(into, curve=before, notches=_kept(into, 0.0, before.length))
    new_out = replace(out, curve=after, notches=_kept(out, gone, after.length))
    chain: list[Edge] = []
    for edge in piece.edges:
        if edge.name == into.name:
            chain += [new_into, *legs]
        else:
            chain.append(new_out if edge.name == out.name else edge)
    hole = tip - _BEFORE_POINT * inward
    return replace(
        piece,
        edges=with_standard_names(chain),
        internal=(
            *piece.internal,
            InternalLine(curve=Curve.line(corner, hole), name="slit"),
            InternalLine(curve=_patch(tip, inward), name="stay patch"),
        ),
        drill_holes=(*piece.drill_holes, (float(hole[0]), float(hole[1]))),
        finish=None,
    )


def _at_underarm(piece: Piece) -> tuple[Edge, Edge]:
    """Return the edges that run into the underarm point and out of it, outline order."""
    roles = {Role.UNDERARM_SEAM, Role.SIDE_SEAM}
    for edge in piece.edges:
        after = piece.neighbours(edge.name)[1]
        if {edge.role, after.role} == roles:
            return edge, after
    raise OperationError(f"the underarm seam of {piece.name} does not run into its side seam")


def _kept(edge: Edge, gone: float, length: float) -> tuple[Notch, ...]:
    moved = (replace(n, at=n.at - gone) for n in edge.notches)
    return tuple(n for n in moved if 12.0 < n.at < length - 12.0)


def _refuse_near(piece: Piece, beside: tuple[str, str], tip: Array, length: float) -> None:
    for edge in piece.edges:
        if edge.name in beside:
            continue
        room = edge.curve.nearest(tip)[1]
        if room < _CLEAR:
            raise OperationError(
                f"a slit of {length:.0f} mm comes to {room:.0f} mm from {edge.name} of {piece.name};"
                f" {_CLEAR:.0f} mm at the least; make it shorter"
            )


def _patch(tip: Array, inward: Array) -> Curve:
    across = np.array([inward[1], -inward[0]]) * _PATCH / 2
    along = inward * _PATCH / 2
    corners = [tip + a + b for a, b in (
        (across, along), (-across, along), (-across, -along), (across, -along), (across, along)
    )]  # fmt: skip
    return Curve.polyline(np.array(corners))
