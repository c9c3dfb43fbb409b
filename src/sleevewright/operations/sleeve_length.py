"""`lengthen-sleeve`: longer or shorter, at the elbow line or at the wrist."""

from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, find_root
from sleevewright.geometry.tolerance import ARC_LENGTH
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.marks import Marks
from sleevewright.operations.sleeves import (
    biceps_level,
    sleeve_axis,
    sleeve_pieces,
    with_length,
    with_wrist_seams,
    wrist_level,
    wrist_of,
)
from sleevewright.pattern import Pattern, Piece, Role, Side

Array = NDArray[np.float64]

#: mm. What is left of a sleeve below the biceps line at the least.
SHORTEST = 30.0

#: degrees. How far the wrist turns at the most to even out its underarm seams.
MOST_TURN = 8.0


@operation
class LengthenSleeve:
    """Make the sleeve longer (or shorter, by a negative amount).

    At the elbow the sleeve is cut across half-way between biceps line and wrist, spread (or
    overlapped) parallel to the grain, and the underarm seams are redrawn between their ends. The
    wrist keeps its width; where front and back slant unlike each other, as on a sleeve pitched
    forward, it turns a little, so that both underarm seams grow by as much. At the wrist the seams
    are run straight on, or cut off: a cropped sleeve takes the width it has there.
    """

    by: Annotated[Length, about("how much longer; negative shortens", at_least=-600, at_most=300)]
    at: Annotated[
        Literal["elbow", "wrist"], about("where it is spread, overlapped, run on or cut off")
    ] = "elbow"

    def apply(self, pattern: Pattern) -> Pattern:
        """Change the length of every sleeve piece."""
        pieces = sleeve_pieces(pattern)
        for piece in pieces:
            room = biceps_level(piece) - wrist_level(piece) - SHORTEST
            if self.by < -room:
                possible = (
                    f"up to {room:.0f} mm leave {SHORTEST:.0f} mm below the biceps line"
                    if room > 0
                    else f"it has {room + SHORTEST:.0f} mm below the biceps line, and"
                    f" {SHORTEST:.0f} mm are left at the least"
                )
                raise OperationError(
                    f"{piece.name} cannot be shortened by {-self.by:.1f} mm; {possible}"
                )
        if self.at == "wrist":
            return pattern.with_pieces(_run_on(piece, self.by) for piece in pieces)
        return pattern.with_pieces(_spread_evenly(pieces, self.by))

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The grain length changes by `by`; spread at the elbow the wrist is kept."""
        for piece in sleeve_pieces(before):
            now = after[piece.name]
            where = f"{piece.name} wrist"
            if self.at == "wrist":  # cropped or run on along slanting seams, each by as much
                for seam in piece.neighbours(wrist_of(piece).name):
                    got = now[seam.name].length
                    yield Promise(
                        f"{seam.name} longer by it", seam.length + self.by, got, 0.1, where
                    )
            else:
                drop = float((_held(piece) - _held(now)) @ sleeve_axis(piece))
                yield Promise(f"{piece.name} longer along the grain", self.by, drop, 0.1, where)
                was, got = piece.length(Role.WRIST), now.length(Role.WRIST)
                yield Promise(f"{piece.name} wrist as it was", was, got, 0.1, where)
            for edge in piece.with_role(Role.OVERARM_SEAM):
                was = edge.length + self.by
                got = now[edge.name].length
                yield Promise(f"{piece.name} overarm longer by it", was, got, 0.1, edge.name)


def _held(piece: Piece) -> Array:
    """Return the point that a wrist turns about, mm: its end at the overarm or a style seam, else its middle."""
    wrist = wrist_of(piece)
    before, after = piece.neighbours(wrist.name)
    ends = ((before, wrist.curve.start), (after, wrist.curve.end))
    outer = [end for seam, end in ends if seam.role is not Role.UNDERARM_SEAM]
    return outer[0] if outer else (wrist.curve.start + wrist.curve.end) / 2


def _spread_evenly(pieces: tuple[Piece, ...], by: float) -> list[Piece]:
    """Spread at the elbow line; the wrist turns until both underarm seams grow by as much."""

    def spread(turn: float) -> list[Piece]:
        return [_spread(piece, by, turn) for piece in pieces]

    def longer(changed: Sequence[Piece], side: Side) -> float:
        now, was = (
            sum(piece.length(Role.UNDERARM_SEAM, side) for piece in each)
            for each in (changed, pieces)
        )
        return now - was

    def uneven(turn: float) -> float:
        changed = spread(turn)
        return longer(changed, Side.FRONT) - longer(changed, Side.BACK)

    if abs(uneven(0.0)) < ARC_LENGTH:
        return spread(0.0)
    try:
        return spread(find_root(uneven, -MOST_TURN, MOST_TURN))
    except ValueError:
        raise OperationError(
            f"front and back underarm seams slant too unlike each other to be made {by:.1f} mm longer"
            " at the elbow by as much; ask for at: wrist"
        ) from None


def _spread(piece: Piece, by: float, turn: float) -> Piece:
    """Cut across at the elbow line and spread; redraw the underarm seams.

    Args:
        piece: a sleeve piece.
        by: how far its wrist goes down, mm.
        turn: how far the wrist turns then, degrees, about the point that is held.
    """
    wrist = wrist_of(piece)
    before, after = piece.neighbours(wrist.name)
    shift = -by * sleeve_axis(piece)
    level = (biceps_level(piece) + wrist_level(piece)) / 2
    down = Affine.rotation(turn, _held(piece) + shift) @ Affine.translation(shift)
    moved = wrist.curve.transformed(down)
    new = []
    for edge, seam, end in (
        (before, before.curve, moved.start), (after, after.curve.reversed, moved.end)
    ):  # fmt: skip
        if edge.role is Role.OVERARM_SEAM:
            new.append(_spread_across(seam, sleeve_axis(piece), level, by))
        else:
            new.append(_stretched(seam, sleeve_axis(piece), by).with_ends(seam.start, end))
    up = sleeve_axis(piece)
    elbow = Curve.line(level * up, level * up + np.array([up[1], -up[0]]))
    above, below = Marks.of(piece).beside(elbow)
    piece = (above + below.transformed(down)).on(piece)
    return with_wrist_seams(piece, new[0], new[1].reversed, moved.with_ends(new[0].end, new[1].end))


def _stretched(seam: Curve, up: Array, by: float) -> Curve:
    """Return a seam stretched along the grain from its upper end, so that its end drops by `by`.

    For a straight seam that is the straight line between the new ends.
    """
    drop = float((seam.start - seam.end) @ up)
    factor = (drop + by) / drop
    across = np.array([up[1], -up[0]])
    frame = Affine(*across, *up, *seam.start)
    return seam.transformed(frame @ Affine.scaling(1.0, factor) @ frame.inverse)


def _spread_across(seam: Curve, up: Array, level: float, by: float) -> Curve:
    """Return a seam that runs along the grain at a level, cut there and spread by `by`."""
    if by > 0:
        at = _station_at(seam, up, level)
        upper, lower = seam.split_at(at)
        lower = lower.transformed(Affine.translation(-by * up))
        return Curve.joined([upper, Curve.line(upper.end, lower.start), lower])
    upper = seam.between(0.0, _station_at(seam, up, level - by / 2))
    lower = seam.between(_station_at(seam, up, level + by / 2), seam.length)
    return Curve.joined([upper, lower.transformed(Affine.translation(upper.end - lower.start))])


def _station_at(seam: Curve, up: Array, level: float) -> float:
    """Return the station where a seam that runs down comes to a level, mm."""
    line = seam.flattened(0.001)
    heights = line @ up
    runs = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return float(np.interp(-level, -heights, runs) * seam.length / runs[-1])


def _run_on(piece: Piece, by: float) -> Piece:
    """Run the seams straight on at the wrist, or cut them off, all by the same length."""
    wrist = wrist_of(piece)
    before, after = piece.neighbours(wrist.name)
    seams = (before.curve, after.curve.reversed)
    into, out = (with_length(seam, seam.length + by) for seam in seams)
    return with_wrist_seams(piece, into, out.reversed, wrist.curve.with_ends(into.end, out.end))
