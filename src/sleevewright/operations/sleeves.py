"""What operations on sleeves share: which pieces are sleeve, their levels, seams into the wrist."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge, Pattern, Piece, Role, Side

Array = NDArray[np.float64]


def sleeve_pieces(pattern: Pattern) -> tuple[Piece, ...]:
    """Return the pieces that have a wrist.

    Raises:
        OperationError: there is none.
    """
    found = tuple(piece for piece in pattern.pieces if piece.has(Role.WRIST))
    if not found:
        raise OperationError(
            f"there is no sleeve with a wrist among {[piece.name for piece in pattern.pieces]}"
        )
    return found


def half_of_sleeve(pattern: Pattern, side: Side) -> Piece:
    """Return the piece with the underarm seam of a half.

    Raises:
        OperationError: there is none.
    """
    for piece in sleeve_pieces(pattern):
        if piece.has(Role.UNDERARM_SEAM, side):
            return piece
    raise OperationError(f"no sleeve piece has a {side} underarm seam")


def wrist_of(piece: Piece) -> Edge:
    """Return the wrist of a sleeve piece.

    Raises:
        OperationError: it is in several parts.
    """
    edges = piece.with_role(Role.WRIST)
    if len(edges) != 1:
        raise OperationError(f"the wrist of {piece.name} is in {len(edges)} parts; one is wanted")
    return edges[0]


def sleeve_axis(piece: Piece) -> Array:
    """Return the unit direction of the sleeve from the wrist upwards, shape (2,).

    A sleeve's grain; where the sleeve is cut in one with the bodice (it has a hem too), the
    direction of its overarm seam at the wrist, or without one the direction square to the wrist.
    """
    if not piece.has(Role.HEM):
        return piece.up
    wrist = wrist_of(piece)
    before, after = piece.neighbours(wrist.name)
    if before.role is Role.OVERARM_SEAM:
        return -before.curve.end_direction
    if after.role is Role.OVERARM_SEAM:
        return after.curve.start_direction
    # Counter-clockwise the piece lies to the left of its wrist.
    along = (wrist.curve.end - wrist.curve.start) / wrist.curve.chord
    return np.array([-along[1], along[0]])


def biceps_level(piece: Piece) -> float:
    """Return the height of the underarm points along the sleeve's axis, mm (their mean).

    Raises:
        OperationError: the sleeve has no underarm seam.
    """
    axis = sleeve_axis(piece)
    tops: dict[Side | None, float] = {}
    for edge in piece.with_role(Role.UNDERARM_SEAM):
        top = float(max(edge.curve.start @ axis, edge.curve.end @ axis))
        tops[edge.side] = max(top, tops.get(edge.side, -np.inf))  # an elbow dart parts a seam
    if not tops:
        raise OperationError(f"{piece.name} has no underarm seam; its sleeve is too short for that")
    return float(np.mean(list(tops.values())))


def wrist_level(piece: Piece) -> float:
    """Return the height of the wrist's corners along the sleeve's axis, mm (their mean)."""
    wrist = wrist_of(piece).curve
    return float((wrist.start + wrist.end) @ sleeve_axis(piece) / 2)


def with_length(curve: Curve, length: float) -> Curve:
    """Return a curve cut off at its end, or run straight on, to have a length, mm."""
    if length < curve.length:
        return curve.between(0.0, length)
    if length - curve.length < 1e-9:
        return curve
    on = curve.end + (length - curve.length) * curve.end_direction
    return Curve.joined([curve, Curve.line(curve.end, on)])


def with_turned_ends(curve: Curve, start: float, end: float) -> Curve:
    """Return a wrist whose ends turn with their seams, so that it stays as square to them as it was.

    Args:
        curve: the wrist, mm.
        start, end: by how much its ends turn, degrees; a third of it is redrawn for each.
    """
    third = curve.length / 3
    parts = [curve.between(0.0, third), curve.between(third, 2 * third)]
    parts.append(curve.between(2 * third, curve.length))
    if abs(start) > 1e-9:
        leaving = Affine.rotation(start).apply(curve.start_direction)
        parts[0] = fair_curve(curve.start, parts[0].end, leaving, parts[0].end_direction)
    if abs(end) > 1e-9:
        arriving = Affine.rotation(end).apply(curve.end_direction)
        parts[2] = fair_curve(parts[2].start, curve.end, parts[2].start_direction, arriving)
    return Curve.joined(parts)


def with_wrist_seams(piece: Piece, into: Curve, out: Curve, wrist: Curve) -> Piece:
    """Return a sleeve piece with the seams on either side of its wrist, and its wrist, redrawn.

    Args:
        piece: the piece.
        into, out: the new seam into the wrist and the new seam from it, outline order, mm.
        wrist: the new wrist.

    Notches keep their distance from the upper ends of the seams.
    """
    edge = wrist_of(piece)
    before, after = piece.neighbours(edge.name)
    for seam, stays, stood in (
        (before, into.start, before.curve.start), (after, out.end, after.curve.end)
    ):  # fmt: skip
        if float(np.hypot(*(stays - stood))) > 1e-6:
            raise OperationError(
                f"{seam.name} of {piece.name} begins below the level that is changed, for something"
                " was put into its seam; change the wrist before that step"
            )
    lengthened = out.length - after.length
    kept_after = tuple(
        replace(n, at=n.at + lengthened) for n in after.notches if n.at + lengthened > 0
    )
    kept_before = tuple(n for n in before.notches if n.at < into.length)
    changed = piece.with_edges(
        [
            replace(before, curve=into, notches=kept_before),
            replace(edge, curve=wrist, notches=()),
            replace(after, curve=out, notches=kept_after),
        ]
    )
    return replace(changed, grain=_grain_within(changed), finish=None)


def _grain_within(piece: Piece) -> Curve | None:
    """Return the grainline, shortened where the piece no longer reaches so far down."""
    if piece.grain is None or piece.has(Role.HEM):
        return piece.grain
    up, low = piece.up, wrist_level(piece)
    foot, head = piece.grain.start, piece.grain.end
    height = float(head @ up) - low
    lowest = low + 0.08 * height
    if float(foot @ up) < lowest and float(head @ up) > lowest:
        foot = foot + (lowest - float(foot @ up)) * up
    return Curve.line(foot, head)
