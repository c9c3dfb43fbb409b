"""One half of a kimono: the half sleeve drawn onto the half bodice along an overarm line.

Everything runs front-wise (see `sections`): from the neck over the overarm to the wrist, back along
the underarm seam and down the side seam. A back is drawn the same way and turned round at the end.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.operations.contract import OperationError
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.square_wrist import across, square_wrist
from sleevewright.pattern import Edge, HalfBodice, Notch, Piece, Role, Side
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]

_SHORTEST_UNDERARM = 30.0  # mm; a shorter sleeve is a cap
_TIGHTEST_CAP = 12.0  # mm; a cap's edge that bends more tightly is a hook, no armhole
_MEETS = 120.0  # mm below the tip where the overarm is straight; as the raglan's overarm_blend


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What both halves have in common.

    Attributes:
        angle: of the overarm below the horizontal, degrees.
        beyond: how far outside the shoulder tip the crown is set, mm.
        length: of the overarm from the shoulder tip, mm.
        depth: how far the underarm point is lowered down the side seam, mm.
        radius: of the underarm curve, mm.
        straight: whether the overarm is one straight line from the neck (one-piece).
        shoulder: length of the shoulder within that line, mm.
    """

    angle: float
    beyond: float
    length: float
    depth: float
    radius: float
    straight: bool
    shoulder: float


@dataclass(frozen=True, slots=True)
class KimonoHalf:
    """A half bodice with its half sleeve.

    Attributes:
        half: the half bodice it was made from.
        shoulder: from the neck to the shoulder tip; None where the overarm begins at the neck.
        overarm: on to the wrist.
        wrist: from the overarm to the underarm seam.
        underarm: from the wrist to where the underarm curve is half round; None for a cap sleeve
            whose edge runs into the side seam.
        side: on down to the hem (or to a dart in the side seam).
    """

    half: HalfBodice
    shoulder: Curve | None
    overarm: Curve
    wrist: Curve
    underarm: Curve | None
    side: Curve

    @property
    def below(self) -> float:
        """Length from the wrist to the hem or dart, mm."""
        return self.side.length + (self.underarm.length if self.underarm else 0.0)


def outward(half: HalfBodice) -> Array:
    """Return the horizontal direction away from the centre, square to the grain, shape (2,)."""
    up = half.piece.up
    across = np.array([up[1], -up[0]])
    away = float((half.underarm_point - half.edges(Role.CENTRE)[0].curve.start) @ across)
    return across if away > 0 else -across


def overarm_way(half: HalfBodice, angle: float) -> Array:
    """Return the direction of the overarm, shape (2,)."""
    rad = math.radians(angle)
    return np.asarray(math.cos(rad) * outward(half) - math.sin(rad) * half.piece.up)


def shoulder_slope(half: HalfBodice) -> float:
    """Return by how much the shoulder falls below the horizontal, degrees."""
    run = half.shoulder_tip - half.shoulder_neck_point
    return math.degrees(math.atan2(-float(run @ half.piece.up), float(run @ outward(half))))


def inward(way: Array, half: HalfBodice) -> Array:
    """Return the direction square to the overarm, towards the underarm, shape (2,)."""
    square = np.array([way[1], -way[0]])
    return square if float(square @ half.piece.up) < 0 else -square


def with_side_out(half: HalfBodice, by: float) -> HalfBodice:
    """Return a half whose side seam is moved outwards along the hem, mm; inwards below 0."""
    if by == 0.0:
        return half
    hem = half.edges(Role.HEM)[0]
    old = hem.curve
    if by > 0.0:
        added = Curve.line(old.start - by * old.start_direction, old.start)
        new = Curve.joined([added, old])
    else:
        new = old.between(-by, old.length)
    way = new.start - old.start
    marks = tuple(replace(n, at=n.at + by) for n in hem.notches if n.at + by > 0.0)
    below = [replace(hem, curve=new, notches=marks)]
    below += [e.transformed(Affine.translation(way)) for e in half.edges(Role.SIDE_SEAM)]
    armhole = half.edges(Role.ARMHOLE)[0]
    first = armhole.curve
    armhole = replace(armhole, curve=first.with_ends(first.start + way, first.end))
    # Round a front the outline runs down the armhole and along side seam and hem; round a back up.
    if half.side is Side.FRONT:
        armhole = armhole.reversed
    else:
        below = [edge.reversed for edge in below]
    return replace(half, piece=half.piece.with_edges([*below, armhole]))


def depth_for(half: HalfBodice, draft: Draft, width: float) -> float:
    """Return how far the underarm must be lowered for the half sleeve to be so wide there, mm."""
    way = overarm_way(half, draft.angle)
    square = inward(way, half)
    side = half.edges(Role.SIDE_SEAM)[0].curve
    origin = _origin(half, draft)

    def reach(depth: float) -> float:
        return float((side.point_at(depth) - origin) @ square)

    depths = np.linspace(0.0, side.length, 101)
    enough = [float(d) for d in depths if reach(float(d)) >= width]
    return enough[0] if enough else side.length


def _origin(half: HalfBodice, draft: Draft) -> Array:
    """Return where the straight overarm line comes from, shape (2,), mm."""
    if draft.straight:
        return half.shoulder_neck_point
    shoulder = half.run(Role.SHOULDER)
    return half.shoulder_tip + draft.beyond * shoulder.end_direction


def draw_half(half: HalfBodice, draft: Draft, width: float) -> KimonoHalf:
    """Draw a half with a wrist of a width.

    Raises:
        OperationError: the underarm curve does not fit, or the sleeve's edge meets no underarm fairly.
    """
    way = overarm_way(half, draft.angle)
    square = inward(way, half)
    shoulder, overarm = _overarm(half, draft, way)
    end = overarm.end
    first = half.edges(Role.SIDE_SEAM)[0].curve
    if draft.depth > first.length - 20.0:
        raise OperationError(
            f"the underarm of {half.piece.name} can be lowered by up to {first.length - 20.0:.0f} mm"
            f" (its side seam runs {first.length:.0f} mm to the next corner), not {draft.depth:.0f}"
        )
    side = first.between(draft.depth, first.length) if draft.depth else first
    if float((end - side.start) @ way) < _SHORTEST_UNDERARM:
        # A cap: its edge runs like an armhole into the side seam.
        arriving = across(side.start_direction, outward(half))
        edge = fair_curve(end, side.start, square, arriving)
        _refuse_hook(half, edge)
        return KimonoHalf(half, shoulder, overarm, edge, None, side)
    corner, wrist = square_wrist(end, square, side.start, width)
    under = Curve.line(corner, side.start)
    underarm, below = _rounded(half, under, side, draft.radius)
    return KimonoHalf(half, shoulder, overarm, wrist, underarm, below)


def _refuse_hook(half: HalfBodice, edge: Curve) -> None:
    """Refuse the edge of a cap that ends beside the underarm: too long for a cap, too short for a seam."""
    bends = np.abs(edge.curvature_at(np.linspace(0.0, edge.length, 201)))
    tightest = 1.0 / max(float(bends.max()), 1e-9)
    if tightest < _TIGHTEST_CAP:
        raise OperationError(
            f"the sleeve of the {half.side} ends beside the underarm: its edge would hook into the side seam"
            f" with a radius of {tightest:.0f} mm, {_TIGHTEST_CAP:.0f} mm at the least; make it shorter, as a"
            " cap, or longer, so that it has an underarm seam"
        )


def _overarm(half: HalfBodice, draft: Draft, way: Array) -> tuple[Curve | None, Curve]:
    """Return the shoulder and the overarm from the tip, the latter as long as asked."""
    if draft.straight:
        neck = half.shoulder_neck_point
        total = draft.shoulder + draft.length
        return None, Curve.line(neck, neck + total * way)
    shoulder = half.run(Role.SHOULDER)
    origin = _origin(half, draft)
    meets = origin + min(_MEETS, 0.6 * draft.length) * way
    over = overarm_curve(shoulder, meets, way)
    at = float(over.nearest(half.shoulder_tip)[0])
    head, tail = over.split_at(at)
    more = draft.length - tail.length
    if more < 1.0:
        raise OperationError(
            f"an overarm of {draft.length:.0f} mm is too short to leave the shoulder"
        )
    return head, Curve.joined([tail, Curve.line(tail.end, tail.end + more * way)])


def largest_radius(half: HalfBodice, draft: Draft, width: float) -> float:
    """Return the largest radius of an underarm curve that fits on a half, mm."""
    made = draw_half(half, replace(draft, radius=0.1), width)
    if made.underarm is None:
        return math.inf
    under, side = made.underarm, made.side
    return _room(under, side) / math.tan(_turn(under, side) / 2)


def _turn(under: Curve, side: Curve) -> float:
    """Return the turn from the underarm seam into the side seam, away from their end, radians."""
    into, out = under.direction_at(0.5 * under.length), side.direction_at(0.5 * side.length)
    return math.acos(min(1.0, max(-1.0, float(into @ out))))


def _room(under: Curve, side: Curve) -> float:
    return min(0.9 * under.length, side.length - 15.0)


def _rounded(half: HalfBodice, under: Curve, side: Curve, radius: float) -> tuple[Curve, Curve]:
    """Round the underarm corner; return underarm seam and side seam, parted half round."""
    turn, room = _turn(under, side), _room(under, side)
    reach = radius * math.tan(turn / 2)
    if reach > room:
        raise OperationError(
            f"an underarm curve of radius {radius:.0f} mm does not fit on {half.piece.name}; up to"
            f" {room / math.tan(turn / 2):.0f} mm does"
        )
    above, below = under.between(0.0, under.length - reach), side.between(reach, side.length)
    bend = fair_curve(above.end, below.start, above.end_direction, below.start_direction)
    first, second = bend.split_at(bend.length / 2)
    return Curve.joined([above, first]), Curve.joined([second, below])


def parted_at(made: KimonoHalf, side_length: float) -> KimonoHalf:
    """Return a half whose side seam has a length, taken from or given to the underarm seam."""
    if made.underarm is None:
        return made
    whole = Curve.joined([made.underarm, made.side])
    underarm, side = whole.split_at(whole.length - side_length)
    return replace(made, underarm=underarm, side=side)


def piece_of(made: KimonoHalf) -> Piece:
    """Return the half as a piece, edges with standard names, notches where partners meet."""
    half = made.half
    side = half.side
    drawn: list[Edge] = []
    if made.shoulder is not None:
        drawn.append(Edge(name="", role=Role.SHOULDER, curve=made.shoulder))
    drawn.append(_marked(Role.OVERARM_SEAM, made.overarm, side, "overarm"))
    drawn.append(Edge(name="", role=Role.WRIST, curve=made.wrist, side=side))
    if made.underarm is not None:
        drawn.append(_marked(Role.UNDERARM_SEAM, made.underarm.reversed, side, "underarm").reversed)
    old = half.edges(Role.SIDE_SEAM)[0]
    gone = old.length - made.side.length
    marks = tuple(replace(n, at=n.at - gone) for n in old.notches if n.at - gone > 15.0)
    drawn.append(replace(old, curve=made.side, notches=marks))
    chain = half.piece.edges
    if side is Side.BACK:
        chain = tuple(edge.reversed for edge in reversed(chain))
    names = [edge.name for edge in chain]
    begin, end = names.index(old.name), names.index(half.edges(Role.SHOULDER)[0].name)
    rest = (chain + chain)[begin + 1 : end if end > begin else end + len(chain)]
    whole = (*drawn, *rest)
    if side is Side.BACK:
        whole = tuple(edge.reversed for edge in reversed(whole))
    edges = with_standard_names(whole)
    fold = next((e.name for e in edges if e.role is Role.CENTRE), "") if half.piece.fold else ""
    return replace(half.piece, edges=edges, fold=fold, finish=None)


def _marked(role: Role, curve: Curve, side: Side, name: str) -> Edge:
    """Return an edge with a notch in its middle, met by the other half's."""
    edge = Edge(name="", role=role, curve=curve, side=side)
    if curve.length < 80.0:
        return edge
    return edge.with_notch(Notch(at=curve.length / 2, name=f"{name} middle"))
