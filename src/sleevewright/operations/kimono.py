"""`kimono`: bodice and sleeve cut in one."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Annotated, Literal

from sleevewright.geometry import fair_curve, find_root
from sleevewright.operations.asking import plain_sleeve, the_block
from sleevewright.operations.contract import (
    Angle,
    Length,
    OperationError,
    Promise,
    about,
    operation,
)
from sleevewright.operations.darts import pivot_dart, with_piece_resewn
from sleevewright.operations.join import Join
from sleevewright.operations.kimono_half import (
    Draft,
    KimonoHalf,
    depth_for,
    draw_half,
    largest_radius,
    parted_at,
    piece_of,
    shoulder_slope,
    with_side_out,
)
from sleevewright.operations.marks import sleeve_marks_lost
from sleevewright.pattern import (
    Dart,
    EdgeUse,
    HalfBodice,
    Pattern,
    Piece,
    Role,
    Seam,
    Side,
    Sleeve,
    measurements,
    standard_seams,
)

#: Parts of the wrist that the front half may have; beyond them the underarm seam leaves the palm.
_RADIUS = 80.0  # mm; common practice: 60 to 120
_OF_WHAT_FITS = 0.8
_FRONT_PART = (0.36, 0.64)
_SIDE_MOVES = 25.0  # mm; a seam farther from its place is no longer seen as the side seam


@operation
class Kimono:
    """Merge bodice and sleeve: the half sleeves are drawn onto front and back, armhole and cap vanish.

    Both overarms fall at one angle; the underarm is lowered until the sleeve is as wide there as the
    block's, or by `depth` (a dolman, and further down a batwing); side seam and underarm seam run into
    each other in a curve. Front and back are made equally long under the arm by sharing out the wrist
    between them, and where that is not enough by moving the side seam along the hem, by up to 25 mm
    (common practice). Darts on shoulder and armhole are left
    open in the armhole that vanishes, as ease (common practice); to keep one, move it to the neckline
    or the hem with dart-pivot first. One-piece: the overarm is one straight line
    from the neck, and front and back are cut in one; the centre back stays on the fold.
    """

    sleeve: Annotated[
        Literal["two-piece", "one-piece"], about("with an overarm seam, or without any")
    ] = "two-piece"
    overarm_angle: Annotated[
        Angle | None,
        about(
            "below the horizontal; 35 deg, and the shoulders' own slope for one-piece",
            at_least=0,
            at_most=60,
        ),
    ] = None
    beyond: Annotated[
        Length, about("how far the crown is set outside the shoulder tip", at_least=0, at_most=30)
    ] = 10.0
    depth: Annotated[
        Length | None,
        about("how far the underarm point comes down the side seam", at_least=0, at_most=600),
    ] = None
    underarm_radius: Annotated[
        Length | None,
        about("of the curve under the arm; 80 mm, or what fits", at_least=25, at_most=350),
    ] = None
    length: Annotated[
        Length | None,
        about("of the overarm from the shoulder tip; the block's sleeve", at_least=50, at_most=900),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Draw both halves so that they meet along overarm, underarm and side."""
        *_, sleeve = the_block(pattern, "kimono")
        plain_sleeve(sleeve, "kimono")
        facts = measurements(pattern)
        width = _width_at(pattern, self._length(facts), facts)
        pattern = _darts_clear(pattern)
        halves = {side: HalfBodice(pattern[side.value], side) for side in Side}
        draft = self._draft(halves, facts)
        made = _meeting(halves, draft, width, fitted=self.underarm_radius is None)
        pieces = tuple(piece_of(made[side]) for side in Side)
        forward = pattern["front"].length(Role.HEM) - pieces[0].length(Role.HEM)
        pattern = replace(pattern, pieces=pieces, seams=_seams(pieces))
        pattern = pattern.with_facts(_facts(made, draft, forward))
        return _in_one(pattern) if self.sleeve == "one-piece" else pattern

    def _length(self, facts: dict[str, float]) -> float:
        return facts["sleeve_length"] if self.length is None else self.length

    def _draft(self, halves: dict[Side, HalfBodice], facts: dict[str, float]) -> Draft:
        straight = self.sleeve == "one-piece"
        slope = sum(shoulder_slope(half) for half in halves.values()) / 2
        if straight and self.overarm_angle is not None:
            raise OperationError(
                "a one-piece kimono has no overarm seam to bend over the shoulder: its overarm falls"
                f" as the shoulders do, {slope:.1f} degrees; leave overarm_angle out"
            )
        usual = slope if straight else 35.0
        draft = Draft(
            angle=usual if self.overarm_angle is None else self.overarm_angle,
            beyond=self.beyond,
            length=self._length(facts),
            depth=self.depth or 0.0,
            radius=self.underarm_radius or _RADIUS,
            straight=straight,
            shoulder=halves[Side.FRONT].run(Role.SHOULDER).length,
        )
        if self.depth is None:
            wanted = max(depth_for(h, draft, facts["biceps"] / 2) for h in halves.values())
            draft = replace(draft, depth=wanted)
        return draft

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Halves meet everywhere; neckline, centre and hem are kept; the overarm is as long as asked."""
        bodies = [p for p in after.pieces if p.has(Role.WRIST)]

        def total(role: Role, side: Side | None = None) -> float:
            return sum(piece.length(role, side) for piece in bodies)

        for role in (Role.NECKLINE, Role.CENTRE, Role.HEM):
            was = before["front"].length(role) + before["back"].length(role)
            yield Promise(f"{role} as it was", was, total(role), 0.5, role)
        facts = dict(after.facts)
        sleeve = measurements(before)["sleeve_length"] if self.length is None else self.length
        yield Promise("overarm from the shoulder tip", sleeve, facts["kimono.overarm_mm"], 0.5, "")
        yield Promise(
            "darts left open as ease", 0.0, _left_open(before), 0.5, Role.SHOULDER.value,
            "they lie in the armhole that vanishes; move them with dart-pivot first to keep their shape",
        )  # fmt: skip
        yield Promise(
            "side seam moved forward", 0.0, facts["kimono.side_forward_mm"], 0.5, Role.SIDE_SEAM.value,
            "front and back are too unlike for the wrist alone to make them equally long under the arm",
        )  # fmt: skip
        yield from sleeve_marks_lost(before)
        if self.sleeve == "two-piece":
            yield from self._meets(after, sleeve)
            angles = [_axis_angle(after, side) for side in Side]
            yield Promise("angle of the sleeve, front and back", *_pair(angles), 3.0, "overarm")

    def _meets(self, after: Pattern, sleeve: float) -> Iterator[Promise]:
        front, back = (after[side.value] for side in Side)
        for name, roles in (
            ("overarm", (Role.OVERARM_SEAM,)),
            ("underarm and side", (Role.UNDERARM_SEAM, Role.SIDE_SEAM)),
        ):
            one, other = (sum(p.length(r) for r in roles) for p in (front, back))
            yield Promise(f"{name}, front and back", one, other, 0.1, name)
        yield Promise("overarm as asked", sleeve, front.length(Role.OVERARM_SEAM), 0.5, "overarm")


def _left_open(before: Pattern) -> float:
    """Return how wide the darts on shoulders and armholes are together, mm."""
    mouths = [
        dart.mouth
        for side in Side
        for dart in before[side.value].darts()
        if dart.on in (Role.SHOULDER, Role.ARMHOLE)
    ]
    return sum(math.dist(*mouth) for mouth in mouths)


def _pair(values: list[float]) -> tuple[float, float]:
    return values[0], values[1]


def _axis_angle(pattern: Pattern, side: Side) -> float:
    """Return the angle of the overarm's last part below the horizontal, degrees."""
    piece = pattern[side.value]
    edge = piece.with_role(Role.OVERARM_SEAM)[0]
    way = edge.curve.end_direction if side is Side.FRONT else -edge.curve.start_direction
    fall = -float(way @ piece.up)
    return math.degrees(math.atan2(fall, math.sqrt(max(0.0, 1.0 - fall * fall))))


def _darts_clear(pattern: Pattern) -> Pattern:
    """Leave darts on shoulder and armhole open in the armhole that vanishes.

    Raises:
        OperationError: a dart is in the side seam, where the underarm curve needs the room.
    """
    for side in Side:
        if any(dart.on is Role.SIDE_SEAM for dart in pattern[side.value].darts()):
            raise OperationError(
                f"the dart in the side seam of the {side} is where the underarm curve runs; move it"
                " to the neckline or the hem with dart-pivot first"
            )
        while dart := next((d for d in pattern[side.value].darts() if d.on is Role.SHOULDER), None):
            pattern = _into_armhole(pattern, side, dart)
    return pattern


def _into_armhole(pattern: Pattern, side: Side, dart: Dart) -> Pattern:
    piece = pattern[side.value]
    armhole = max(piece.with_role(Role.ARMHOLE), key=lambda e: e.length)
    pivoted = pivot_dart(piece, dart, armhole.name, armhole.length / 2)
    piece = pivoted.piece
    shoulder = piece.with_role(Role.SHOULDER)[0]
    old = shoulder.curve
    fair = fair_curve(old.start, old.end, old.start_direction, old.end_direction)
    piece = piece.with_edges([replace(shoulder, curve=fair, notches=())])
    return with_piece_resewn(pattern, replace(pivoted, piece=piece))


def _width_at(pattern: Pattern, length: float, facts: dict[str, float]) -> float:
    """Return how wide the block's sleeve is so far from the crown, mm; below the biceps linear."""
    whole, cap = facts["sleeve_length"], facts["cap_height"]
    part = min(max((length - cap) / (whole - cap), 0.0), 1.0)
    return facts["biceps"] + part * (
        Sleeve(pattern["sleeve"]).piece.length(Role.WRIST) - facts["biceps"]
    )


def _meeting(
    halves: dict[Side, HalfBodice], draft: Draft, width: float, *, fitted: bool
) -> dict[Side, KimonoHalf]:
    """Make both halves equally long below the arm: the wrist is shared out, then the side seam moved.

    Args:
        halves, draft: what is drawn.
        width: of the wrist, mm.
        fitted: whether the underarm radius is lessened to what fits.
    """

    def made(part: float, forward: float = 0.0) -> dict[Side, KimonoHalf]:
        shares = {Side.FRONT: part * width, Side.BACK: (1 - part) * width}
        moved = {
            Side.FRONT: with_side_out(halves[Side.FRONT], -forward),
            Side.BACK: with_side_out(halves[Side.BACK], forward),
        }
        used = draft
        if fitted:
            fits = min(largest_radius(moved[side], draft, shares[side]) for side in Side)
            used = replace(draft, radius=min(draft.radius, _OF_WHAT_FITS * fits))
        return {side: draw_half(moved[side], used, shares[side]) for side in Side}

    def miss(part: float, forward: float = 0.0) -> float:
        both = made(part, forward)
        return both[Side.FRONT].below - both[Side.BACK].below - _darted(halves)

    even = made(0.5)
    if even[Side.FRONT].underarm is None or even[Side.BACK].underarm is None:
        if abs(miss(0.5)) > 0.3 or even[Side.FRONT].underarm or even[Side.BACK].underarm:
            raise OperationError(
                "front and back cannot be given equally long side seams below so short a sleeve"
            )
        return even
    try:
        both = made(find_root(miss, *_FRONT_PART))
    except ValueError:
        part = min(_FRONT_PART, key=lambda part: abs(miss(part)))
        both = made(part, _side_moved(lambda forward: miss(part, forward)))
    front = both[Side.FRONT]
    back_side = front.side.length - _darted(halves)
    return {Side.FRONT: front, Side.BACK: parted_at(both[Side.BACK], back_side)}


def _side_moved(miss: Callable[[float], float]) -> float:
    """Return how far forward the side seam must be moved for nothing to be missed, mm; below 0 back."""
    try:
        return find_root(miss, -_SIDE_MOVES, _SIDE_MOVES)
    except ValueError:
        least = min(map(miss, (-_SIDE_MOVES, _SIDE_MOVES)), key=abs)
        raise OperationError(
            "front and back cannot be made equally long under the arm: with the side seam moved by"
            f" {_SIDE_MOVES:.0f} mm the front is still {least:+.1f} mm longer; a block whose halves are"
            " more alike in width and in the slope of the shoulder can"
        ) from None


def _darted(halves: dict[Side, HalfBodice]) -> float:
    """Return how much less of the side seam lies below the first corner on the front, mm.

    A bust dart parts the front's side seam; what lies below it is not drawn anew.
    """
    rest = {
        side: sum(edge.length for edge in halves[side].edges(Role.SIDE_SEAM)[1:]) for side in Side
    }
    return rest[Side.BACK] - rest[Side.FRONT]


def _seams(pieces: tuple[Piece, ...]) -> tuple[Seam, ...]:
    """Return the seams of both halves."""
    front, back = pieces
    eases = {}
    if front.has(Role.SHOULDER):
        eases["shoulder"] = back.length(Role.SHOULDER) - front.length(Role.SHOULDER)
    found = list(standard_seams(pieces, eases))
    for name, role, back_first in (
        ("overarm", Role.OVERARM_SEAM, True), ("underarm", Role.UNDERARM_SEAM, False)
    ):  # fmt: skip
        if not front.has(role):
            continue
        uses = [
            EdgeUse(piece=p.name, edge=p.with_role(role)[0].name, backwards=backwards)
            for p, backwards in ((front, not back_first), (back, back_first))
        ]
        first, second = uses[::-1] if back_first else uses
        found.append(Seam(name=name, first=(first,), second=(second,)))
    return tuple(found)


def _facts(
    made: dict[Side, KimonoHalf], draft: Draft, forward: float
) -> tuple[tuple[str, float], ...]:
    front = made[Side.FRONT]
    overarm = front.overarm.length - (draft.shoulder if draft.straight else 0.0)
    return (
        ("kimono.overarm_angle_deg", draft.angle),
        ("kimono.overarm_mm", overarm),
        ("kimono.lowered_mm", draft.depth),
        ("kimono.underarm_mm", front.below),
        ("kimono.side_forward_mm", forward),
    )


def _in_one(pattern: Pattern) -> Pattern:
    """Join front and back along the straight overarm; the front opens at its centre."""
    front = replace(pattern["front"], fold="")
    pattern = pattern.with_pieces([front])
    return Join(seam="overarm", name="body").apply(pattern)
