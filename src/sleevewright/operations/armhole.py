"""`lower-armhole`: the underarm point lowered, and the sleeve refitted to it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.operations.sleeves import half_of_sleeve
from sleevewright.operations.underarm import Refit, refitted
from sleevewright.pattern import Edge, HalfBodice, Pattern, Piece, Role, Side, Sleeve
from sleevewright.pattern.views import laid_end_to_end

Array = NDArray[np.float64]


@operation
class LowerArmhole:
    """Lower the underarm point and refit the sleeve to the deeper armhole.

    The lower armhole is redrawn fair from the pitch point to the new underarm point; the sleeve's
    underarm point follows so that its lower cap changes by exactly as much. `lift` says what
    happens to the sleeve's underarm seam: given up with the armhole (none), kept as long as it was
    (keep), or made longer (extra), as if a gusset were built in.
    """

    by: Annotated[Length, about("down the side seam", at_least=0, at_most=120)]
    out: Annotated[Length, about("outwards, square to the side seam", at_least=0, at_most=60)] = 0.0
    lift: Annotated[
        Literal["none", "keep", "extra"], about("whether the arm can still be lifted")
    ] = "keep"
    extra: Annotated[
        Length, about("how much the underarm seam grows (lift: extra)", at_least=10, at_most=40)
    ] = 20.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Lower the armhole on front, back and sleeve."""
        grow = {"none": -self.by, "keep": 0.0, "extra": self.extra}[self.lift]
        for side in Side:
            if side.value not in pattern:
                raise OperationError(f"there is no {side} to lower the armhole of")
            half = HalfBodice(pattern[side.value], side)
            armhole = _lowered(half, self.by, self.out)
            sleeve = half_of_sleeve(pattern, side)
            refit = _refit(sleeve, side, armhole, grow)
            pattern = pattern.with_pieces([armhole.piece, refit])
        return pattern

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Caps still fit their armholes, side seams are shorter by `by`, the lift is as asked."""
        for side in Side:
            was, now = before[side.value], after[side.value]
            deeper = now.length(Role.ARMHOLE) - was.length(Role.ARMHOLE)
            cap = _cap_length(after, side) - _cap_length(before, side)
            yield Promise(f"{side} cap grows as its armhole", deeper, cap, 0.1, f"{side} armhole")
            wanted = was.length(Role.SIDE_SEAM) - self.by
            got = now.length(Role.SIDE_SEAM)
            yield Promise(f"{side} side seam shorter by the lowering", wanted, got, 0.1, "side")
            grow = {"none": -self.by, "keep": 0.0, "extra": self.extra}[self.lift]
            seam = half_of_sleeve(before, side).length(Role.UNDERARM_SEAM, side) + grow
            got = half_of_sleeve(after, side).length(Role.UNDERARM_SEAM, side)
            yield Promise(f"{side} underarm seam as lift asks", seam, got, 0.1, "underarm")


@dataclass(frozen=True, slots=True)
class _Lowered:
    """A half bodice with its armhole lowered.

    Attributes:
        piece: the half.
        lower: length of armhole below P before, mm.
        longer: by how much it has grown, mm.
    """

    piece: Piece
    lower: float
    longer: float


def _cap_length(pattern: Pattern, side: Side) -> float:
    return sum(p.length(Role.CAP, side) for p in pattern.pieces)


def _lowered(half: HalfBodice, by: float, out: float) -> _Lowered:
    edges = half.edges(Role.ARMHOLE)
    if not edges:
        raise OperationError(
            f"{half.piece.name} has no armhole below its raglan line; lower-armhole has nothing to"
            " lower (a deep raglan is lowered already)"
        )
    first, side = edges[0], half.edges(Role.SIDE_SEAM)[0]
    if not by < side.length - 20.0:
        raise OperationError(
            f"the armhole of {half.piece.name} cannot be lowered by {by:.1f} mm: its side seam"
            f" runs {side.length:.0f} mm to the next corner; up to {side.length - 20:.0f} mm"
        )
    raglan = half.piece.has(Role.RAGLAN_SEAM)
    pitch = first.length if raglan else min(half.pitch, first.length)
    seam = side.curve.between(by, side.length) if by else side.curve
    seam = _swung_out(half, seam, out)
    at_p, up = first.curve.point_at(pitch), first.curve.direction_at(pitch)
    turn = turn_between(side.curve.start_direction, seam.start_direction)
    arriving = Affine.rotation(turn).apply(-first.curve.start_direction)
    lower = fair_curve(at_p, seam.start, -up, arriving)
    upper = () if pitch >= first.length - 1e-6 else (first.curve.between(pitch, first.length),)
    curve = Curve.joined([lower.reversed, *upper])
    new_first = _with_lower(first, curve, pitch, lower.length)
    new_side = replace(
        side, curve=seam, notches=tuple(replace(n, at=n.at - by) for n in side.notches if n.at > by)
    )
    if half.side is Side.FRONT:
        new_first = new_first.reversed
    else:
        new_side = new_side.reversed
    piece = replace(half.piece.with_edges([new_first, new_side]), finish=None)
    return _Lowered(piece, pitch, lower.length - pitch)


def _swung_out(half: HalfBodice, seam: Curve, out: float) -> Curve:
    """Return a side seam turned about its lower end until its upper end is moved out by `out`.

    Turned, not stretched: front and back stay equally long.
    """
    if not out < seam.chord:
        raise OperationError(
            f"the side seam of {half.piece.name} is too short to go out {out:.1f} mm"
        )
    angle = float(np.degrees(np.arcsin(out / seam.chord)))
    sign = -1.0 if half.side is Side.FRONT else 1.0
    return seam.transformed(Affine.rotation(-sign * angle, seam.end))


def _with_lower(edge: Edge, curve: Curve, old: float, new: float) -> Edge:
    """Return an edge that starts at the underarm with its first `old` mm redrawn as `new` mm.

    Notches of the redrawn part keep their proportion, the others their distance from its end.
    """
    notches = tuple(
        replace(n, at=n.at * new / old if n.at <= old else n.at - old + new) for n in edge.notches
    )
    return replace(edge, curve=curve, notches=notches)


def _refit(piece: Piece, side: Side, armhole: _Lowered, grow: float) -> Piece:
    view = Sleeve(piece)
    caps = view.edges(Role.CAP, side)
    underarm = view.edges(Role.UNDERARM_SEAM, side)
    if not caps or not underarm:
        raise OperationError(
            f"{piece.name} has no {side} cap with an underarm seam to refit; put lower-armhole before the"
            " step that cut the sleeve up"
        )
    first = caps[0]
    at_q = min(armhole.lower, first.length)
    if piece.has(Role.RAGLAN_SEAM, side):
        at_q = first.length
    lower = first.curve.between(0.0, at_q)
    seam = laid_end_to_end([e.curve for e in underarm])
    q, leaving = lower.end, -first.curve.direction_at(at_q)
    try:
        refit = refitted(
            q, leaving, Refit(lower.reversed, seam), lower.length + armhole.longer, grow
        )
    except OperationError as error:
        raise OperationError(f"the {side} of the sleeve does not follow: {error}") from None
    upper = () if at_q >= first.length - 1e-6 else (first.curve.between(at_q, first.length),)
    cap = _with_lower(first, Curve.joined([refit.cap.reversed, *upper]), at_q, refit.cap.length)
    longer = refit.seam.length - seam.length
    if len(underarm) > 1:
        raise OperationError(f"{piece.name}: a dart in the underarm seam is in the way")
    new_seam = replace(
        underarm[0],
        curve=refit.seam,
        notches=tuple(
            replace(n, at=n.at + longer) for n in underarm[0].notches if n.at + longer > 0
        ),
    )
    if side is Side.FRONT:
        new_seam = new_seam.reversed
    else:
        cap = cap.reversed
    return replace(piece.with_edges([cap, new_seam]), finish=None)
