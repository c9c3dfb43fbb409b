"""The shoulder tip moved outwards, and everything that follows: armhole, cap, sleeve length."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, fair_curve, find_root
from sleevewright.operations.asking import the_block
from sleevewright.operations.cap_shape import (
    EASE_PART,
    CapAsked,
    cap_height,
    with_armhole_eases,
    with_cap,
)
from sleevewright.operations.contract import OperationError, Promise
from sleevewright.operations.sleeves import wrist_level
from sleevewright.pattern import Edge, HalfBodice, Notch, Pattern, Piece, Role, Side, Sleeve

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TipAsked:
    """Where the shoulder tip goes, and what follows.

    Attributes:
        operation: its name, for messages.
        out: by which the shoulder grows, mm.
        drop: of the tip below the shoulder run on, square to it, mm.
        lower: how far the underarm comes down the side seam, mm.
        ease: of the cap in all, mm; None for what the block has.
        whole: draw the whole armhole anew; else only above the pitch point.
    """

    operation: str
    out: float
    drop: float
    lower: float
    ease: float | None
    whole: bool


def with_tips_out(pattern: Pattern, asked: TipAsked) -> Pattern:
    """Move both shoulder tips and refit the sleeve; neck to wrist stays as long as it was.

    Raises:
        OperationError: a dart is in the way, or the cap cannot follow.
    """
    *_, sleeve = the_block(pattern, asked.operation)
    halves = {side: _moved(HalfBodice(pattern[side.value], side), asked) for side in Side}
    pieces = [halves[side].piece for side in Side]
    lengths = {}
    for side in Side:
        armhole = pieces[list(Side).index(side)].length(Role.ARMHOLE)
        had = sleeve.length(Role.CAP, side) - pattern[side.value].length(Role.ARMHOLE)
        lengths[side] = armhole + (had if asked.ease is None else EASE_PART[side] * asked.ease)
    crown = CapAsked(
        lengths=lengths,
        crown_down=asked.out,
        level_up=0.0,
        notches={name: at for half in halves.values() for name, at in half.notches.items()},
    )
    return with_armhole_eases(pattern.with_pieces([*pieces, with_cap(sleeve, crown)]))


@dataclass(frozen=True, slots=True)
class _Moved:
    """A half bodice with its tip moved.

    Attributes:
        piece: the half.
        notches: of its armhole, name -> station from the underarm, mm.
    """

    piece: Piece
    notches: dict[str, float]


def _moved(half: HalfBodice, asked: TipAsked) -> _Moved:
    shoulder, armhole = half.edges(Role.SHOULDER)[-1], half.edges(Role.ARMHOLE)
    if len(armhole) != 1:
        raise OperationError(
            f"the dart on the armhole of {half.piece.name} is in the way; move it with dart-pivot"
        )
    along = shoulder.curve.end_direction
    down = np.array([along[1], -along[0]])
    down = down if float(down @ half.piece.up) < 0 else -down
    new_shoulder = _extended(half, shoulder, along, down, asked)
    tip, arriving = new_shoulder.curve.end, new_shoulder.curve.end_direction
    side = half.edges(Role.SIDE_SEAM)[0]
    if asked.lower > side.length - 20.0:
        raise OperationError(
            f"the armhole of {half.piece.name} can be lowered by up to {side.length - 20.0:.0f} mm"
        )
    new_side = _lowered(side, asked.lower)
    square = np.array([-arriving[1], arriving[0]])
    square = square if float(square @ half.piece.up) > 0 else -square
    old = armhole[0]
    curve, kept = _armhole(half, old, (new_side.curve.start, tip), square, whole=asked.whole)
    places = {
        n.name: n.at
        if n.at <= kept
        else kept + (n.at - kept) * (curve.length - kept) / (old.length - kept)
        for n in old.notches
    }
    notches = tuple(Notch(at=places[n.name], name=n.name, kind=n.kind) for n in old.notches)
    new_armhole = replace(old, curve=curve, notches=notches)
    changed = [new_shoulder, new_armhole, new_side]
    # The views run front-wise: shoulder and side with a front's outline, the armhole against it.
    back = half.side is Side.BACK
    turned = [back, not back, back]
    edges = [e.reversed if turn else e for e, turn in zip(changed, turned, strict=True)]
    return _Moved(replace(half.piece.with_edges(edges), finish=None), places)


def _extended(half: HalfBodice, shoulder: Edge, along: Array, down: Array, asked: TipAsked) -> Edge:
    """Return the shoulder longer by what is asked, falling away over its last part.

    Raises:
        OperationError: the fall alone makes it longer than that.
    """
    keep = 0.6 * shoulder.length
    kept = shoulder.curve.between(0.0, keep)
    fall = asked.drop * down
    arriving = asked.out * along + fall

    def drawn(out: float) -> Curve:
        tip = half.shoulder_tip + out * along + fall
        on = fair_curve(kept.end, tip, kept.end_direction, arriving)
        return Curve.joined([kept, on])

    def miss(out: float) -> float:
        return drawn(out).length - shoulder.length - asked.out

    least = 0.01 * asked.out
    if miss(least) > 0:
        raise OperationError(
            f"{asked.operation}: a shoulder {asked.out:g} mm longer cannot fall {asked.drop:g} mm;"
            " let it fall less"
        )
    # A shoulder that bends is straightened where it is drawn on, and so must reach a little farther.
    most = 1.5 * asked.out + 20.0
    if miss(most) < 0:
        raise OperationError(
            f"the shoulder of {half.piece.name} bends too much to be drawn on {asked.out:g} mm"
        )
    curve = drawn(find_root(miss, least, most))
    notches = tuple(n for n in shoulder.notches if n.at < keep)
    return replace(shoulder, curve=curve, notches=notches)


def _lowered(side: Edge, by: float) -> Edge:
    if not by:
        return side
    notches = tuple(replace(n, at=n.at - by) for n in side.notches if n.at > by)
    return replace(side, curve=side.curve.between(by, side.length), notches=notches)


def _armhole(
    half: HalfBodice, old: Edge, ends: tuple[Array, Array], square: Array, *, whole: bool
) -> tuple[Curve, float]:
    """Return the armhole from the underarm to the tip, and how much of it is as it was, mm."""
    under, tip = ends
    if whole:
        return fair_curve(under, tip, old.curve.start_direction, square), 0.0
    pitch = half.pitch
    lower = old.curve.between(0.0, pitch)
    upper = fair_curve(lower.end, tip, lower.end_direction, square)
    return Curve.joined([lower, upper]), pitch


def tip_promises(before: Pattern, after: Pattern, asked: TipAsked) -> Iterator[Promise]:
    """Shoulders grow by what is asked; caps fit; neck to wrist, side seams and wrist are as they should be."""
    was, now = before["sleeve"], after["sleeve"]
    grown = [
        after[s.value].length(Role.SHOULDER) - before[s.value].length(Role.SHOULDER) for s in Side
    ]
    for side, more in zip(Side, grown, strict=True):
        yield Promise(f"{side} shoulder longer", asked.out, more, 0.01, "shoulder")
    for side in Side:
        armhole = after[side.value].length(Role.ARMHOLE)
        had = was.length(Role.CAP, side) - before[side.value].length(Role.ARMHOLE)
        wanted = armhole + (had if asked.ease is None else EASE_PART[side] * asked.ease)
        got = now.length(Role.CAP, side)
        yield Promise(f"{side} cap fits its armhole", wanted, got, 0.01, f"{side} armhole")
        seam = before[side.value].length(Role.SIDE_SEAM) - asked.lower
        got = after[side.value].length(Role.SIDE_SEAM)
        yield Promise(f"{side} side seam", seam, got, 0.01, "side")
    long = [float(Sleeve(p).crown @ p.up) - wrist_level(p) for p in (was, now)]
    yield Promise("sleeve shorter by the extension", long[0] - asked.out, long[1], 0.1, "sleeve")
    yield Promise(
        "cap lower by the extension", cap_height(was) - asked.out, cap_height(now), 0.1, ""
    )
    seams = [now.length(Role.UNDERARM_SEAM, side) for side in Side]
    yield Promise("underarm seams", seams[0], seams[1], 0.01, "underarm")
    for side in Side:
        half = HalfBodice(after[side.value], side)
        ends = [half.edges(role)[-1].curve for role in (Role.SHOULDER, Role.ARMHOLE)]
        cosine = float(ends[0].end_direction @ ends[1].end_direction)
        angle = float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))
        yield Promise(f"{side} armhole square to the shoulder", 90.0, angle, 1.0, side)
