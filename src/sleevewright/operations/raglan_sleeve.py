"""The sleeve of a raglan: sections laid on the cap, seams faired, pieces made.

Halves are built *front-wise* (wrist, underarm seam, cap, raglan seam, neckline, overarm), the back
as the mirror order of the front, and turned counter-clockwise when a piece is made.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve, find_root
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.raglan_facts import facts_of_area, facts_of_placing, gather_ratio
from sleevewright.operations.raglan_lines import Path
from sleevewright.operations.raglan_seam import SleeveError, faired_line
from sleevewright.operations.sections import (
    Section,
    placed_by_crown,
    placed_by_fit,
    placed_by_pitch,
)
from sleevewright.operations.underarm import Refit, refitted
from sleevewright.pattern import Edge, Notch, NotchKind, Piece, Role, Side, Sleeve
from sleevewright.pattern.naming import with_standard_names

if TYPE_CHECKING:
    from sleevewright.operations.raglan import Raglan

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HalfSleeve:
    """What a half of the sleeve is made of.

    Attributes:
        side: front or back.
        section: cut from the bodice, still where it was there.
        path: the raglan line's places.
        cap: from the underarm point to the crown, ease taken out, mm.
        sleeve: the set-in sleeve.
    """

    side: Side
    section: Section
    path: Path
    cap: Curve
    sleeve: Sleeve

    @property
    def q(self) -> Array:
        """Q: as far up the cap as the pitch point is up the armhole, shape (2,), mm."""
        return self.cap.point_at(self.path.pitch)

    @property
    def turn_sign(self) -> float:
        """+1 where turning counter-clockwise about Q lifts the shoulder tip."""
        return -1.0 if self.side is Side.FRONT else 1.0


@dataclass(frozen=True, slots=True)
class Made:
    """The sleeve's pieces and what is to be reported about them.

    Attributes:
        pieces: one or two.
        facts: (name, number).
        longer: by half, how much longer its raglan seam came out than it was cut, mm.
    """

    pieces: tuple[Piece, ...]
    facts: tuple[tuple[str, float], ...]
    longer: dict[Side, float]


@dataclass(frozen=True, slots=True)
class Overarm:
    """Where the overarm runs: common to both halves.

    Attributes:
        crown: where the halves' caps meet, shape (2,), mm.
        down: unit direction of the centre line to the wrist, shape (2,).
        meets: where the two curves join the centre line (or the dart tip), shape (2,), mm.
    """

    crown: Array
    down: Array
    meets: Array

    def curve(self, section: Section) -> Curve:
        """Return the overarm of a placed section down to `meets`."""
        return overarm_curve(section.shoulder, self.meets, self.down)


def make_sleeve(raglan: "Raglan", sleeve: Sleeve, halves: dict[Side, HalfSleeve]) -> Made:
    """Lay both sections on the sleeve and make its pieces.

    Raises:
        SleeveError: a seam cannot be made fair with the length it must have.
        RefitError: no underarm point fits (deep raglan).
    """
    up = sleeve.piece.up
    crown = halves[Side.FRONT].cap.end
    below = raglan.dart_length if raglan.sleeve == "one-piece" else raglan.overarm_blend
    overarm = Overarm(crown, -up, crown - below * up)
    placed = {side: _placed(raglan, halves[side], crown, up) for side in Side}
    if raglan.sleeve != "gathered":
        placed = _with_equal_overarms(placed, halves, overarm, raglan.back_shoulder == "ease")
    seams = {side: _lower_seams(raglan, halves[side], placed[side]) for side in Side}
    build = {"two-piece": _two_piece, "one-piece": _one_piece, "gathered": _gathered}
    pieces = build[raglan.sleeve](sleeve, placed, seams, overarm)
    facts = [
        *facts_of_placing(placed, overarm.crown),
        *facts_of_area(sleeve, {s: halves[s].cap for s in Side}, placed, pieces),
    ]
    if raglan.sleeve == "gathered":
        facts.append(("raglan.neck_gather_ratio", gather_ratio(pieces[0], placed)))
    longer = {side: seams[side].longer for side in Side}
    return Made(pieces, tuple(facts), longer)


# --- placing ----------------------------------------------------------------------------------


def _placed(raglan: "Raglan", half: HalfSleeve, crown: Array, up: Array) -> Section:
    if raglan.placement == "crown":
        arriving = -half.cap.direction_at(half.path.pitch)
        return placed_by_crown(half.section, half.q, crown + raglan.crown_gap * up, arriving)
    if raglan.placement == "fit":
        return placed_by_fit(half.section, half.cap.between(half.path.pitch, half.cap.length))
    return placed_by_pitch(half.section, half.q, crown)


def _with_equal_overarms(
    placed: dict[Side, Section], halves: dict[Side, HalfSleeve], overarm: Overarm, eased: bool
) -> dict[Side, Section]:
    """Turn both sections a little about Q, one up and one down, until their overarms are equal.

    A millimetre of difference is about half a degree. Where shoulder fullness is kept as ease it
    is left in the difference.
    """
    wanted = 0.0
    if eased:
        wanted = placed[Side.BACK].shoulder.length - placed[Side.FRONT].shoulder.length

    signs = {Side.FRONT: 1.0, Side.BACK: -1.0}
    shoulders = {side: placed[side].shoulder for side in Side}

    def turn(side: Side, angle: float) -> Affine:
        return Affine.rotation(signs[side] * halves[side].turn_sign * angle, halves[side].q)

    def length(side: Side, angle: float) -> float:
        shoulder = shoulders[side].transformed(turn(side, angle))
        return overarm_curve(shoulder, overarm.meets, overarm.down).length

    def miss(angle: float) -> float:
        return length(Side.BACK, angle) - length(Side.FRONT, angle) - wanted

    def turned(angle: float) -> dict[Side, Section]:
        return {side: placed[side].transformed(turn(side, angle)) for side in Side}

    most = 8.0
    try:
        return turned(find_root(miss, -most, most, 1e-5))
    except ValueError:
        raise SleeveError(
            f"the two overarm seams differ by {miss(0.0):+.1f} mm and cannot be made equal;"
            " take the cap ease out or move the pitch points"
        ) from None


# --- raglan seam, lower cap, underarm seam ----------------------------------------------------


@dataclass(frozen=True, slots=True)
class LowerSeams:
    """The edges of a half sleeve from the wrist to the neck, front-wise, and the raglan seam.

    Attributes:
        edges: underarm seam, lower cap (none for the deep raglan), raglan seam.
        longer: how much longer the raglan seam is than asked, mm; the bodice's follows.
    """

    edges: tuple[Edge, ...]
    longer: float


def _lower_seams(raglan: "Raglan", half: HalfSleeve, section: Section) -> LowerSeams:
    underarm = _front_wise(half.sleeve, Role.UNDERARM_SEAM, half.side)
    length = section.line.length + raglan.raglan_ease
    if half.path.arrives is Role.ARMHOLE:
        cap = _lower_cap(half)
        at_q = cap[-1].curve
        seam = faired_line(section, at_q.end, -at_q.end_direction, length)
        edges = (*underarm, *cap, _raglan_edge(half, seam, raglan.raglan_ease, pitch=True))
    else:
        seam, new_underarm = _deep_seam(half, section, underarm, length)
        edges = (*new_underarm, _raglan_edge(half, seam, raglan.raglan_ease, pitch=False))
    longer = seam.length - length
    return LowerSeams(edges, longer if longer > 1e-6 else 0.0)


def _deep_seam(
    half: HalfSleeve, section: Section, underarm: tuple[Edge, ...], length: float
) -> tuple[Curve, tuple[Edge, ...]]:
    """Return the raglan seam down to a new underarm point, and the underarm seam from there."""
    line = section.fair_line
    at, _ = line.nearest(half.q)
    upper = line.between(0.0, at)
    seam = Curve.joined([edge.curve for edge in underarm]).reversed
    old = Refit(half.cap.between(0.0, half.path.pitch).reversed, seam)
    new = refitted(upper.end, upper.end_direction, old, length - upper.length)
    whole = Curve.joined([upper, new.cap])
    return whole, (replace(underarm[0], curve=new.seam.reversed, notches=()),)


def _lower_cap(half: HalfSleeve) -> tuple[Edge, ...]:
    """Return the edges of the cap from the underarm point to Q, front-wise, notches kept.

    Below the pitch point the cap is the sleeve's own; a Q higher up lies on the lowered cap.
    """
    kept: list[Edge] = []
    run = 0.0
    whole = half.cap.between(0.0, half.path.pitch)
    for edge in _front_wise(half.sleeve, Role.CAP, half.side):
        if run < half.path.pitch - 1e-3:
            end = min(run + edge.length, half.path.pitch)
            notches = tuple(n for n in edge.notches if n.at < end - run - 2.0)
            part = edge.curve if end == run + edge.length else whole.between(run, end)
            kept.append(replace(edge, curve=part, notches=notches))
        run += edge.length
    return tuple(kept)


def _front_wise(sleeve: Sleeve, role: Role, side: Side) -> tuple[Edge, ...]:
    """Return edges of a half front-wise: underarm seam from the wrist, cap from the underarm."""
    edges = sleeve.edges(role, side)
    if role is Role.CAP:
        return edges
    return tuple(edge.reversed for edge in reversed(edges))


def _raglan_edge(half: HalfSleeve, seam: Curve, ease: float, *, pitch: bool) -> Edge:
    """Return the sleeve's raglan seam from Q (or the underarm point) to N, with its notches."""
    curve, side = seam.reversed, half.side
    kind = NotchKind.SINGLE if side is Side.FRONT else NotchKind.DOUBLE
    edge = Edge(name="", role=Role.RAGLAN_SEAM, curve=curve, side=side)
    edge = edge.with_notch(
        Notch(at=curve.length - (curve.length - ease) / 2, name=f"{side} raglan", kind=kind)
    )
    if pitch:
        edge = edge.with_notch(Notch(at=0.0, name=f"{side} pitch", kind=kind))
    return edge


# --- pieces -----------------------------------------------------------------------------------


def _neck_edges(section: Section, side: Side) -> tuple[Edge, ...]:
    """Return what lies between N and the shoulder: neckline, and centre for a yoke."""
    roles = (Role.CENTRE, Role.NECKLINE)
    return tuple(replace(e, side=side) for e in section.edges if e.role in roles)


def _with_tip(edge: Edge, placed: dict[Side, Section]) -> Edge:
    """Mark the shoulder tip on an edge that starts at the neck, at one distance on both halves."""
    at = sum(section.shoulder.length for section in placed.values()) / len(placed)
    return edge.with_notch(Notch(at=at, name="shoulder tip"))


def _two_piece(
    sleeve: Sleeve, placed: dict[Side, Section], seams: dict[Side, LowerSeams], overarm: Overarm
) -> tuple[Piece, ...]:
    wrist = _whole_wrist(sleeve)
    foot_at = _foot(wrist.curve, overarm)
    foot = wrist.curve.point_at(foot_at)
    back_wrist, front_wrist = wrist.split_at(foot_at, ("wrist", "wrist"))
    wrists = {Side.FRONT: front_wrist, Side.BACK: back_wrist.reversed}
    pieces = []
    for side in Side:
        curve = Curve.joined([overarm.curve(placed[side]), Curve.line(overarm.meets, foot)])
        over = Edge(name="", role=Role.OVERARM_SEAM, curve=curve, side=side)
        over = _with_tip(over, placed)
        wrist_edge = _meeting_seam(
            replace(wrists[side], side=side), seams[side].edges[0].curve.start
        )
        chain = (wrist_edge, *seams[side].edges, *_neck_edges(placed[side], side), over)
        pieces.append(_piece(f"sleeve_{side}", chain, sleeve.piece, overarm))
    return tuple(pieces)


def _one_piece(
    sleeve: Sleeve, placed: dict[Side, Section], seams: dict[Side, LowerSeams], overarm: Overarm
) -> tuple[Piece, ...]:
    halves = {}
    for side in Side:
        leg = Edge(name="", role=Role.DART_LEG, curve=overarm.curve(placed[side]), side=side)
        halves[side] = (
            *seams[side].edges,
            *_neck_edges(placed[side], side),
            _with_tip(leg, placed),
        )
    return (_piece("sleeve", _whole(sleeve, halves), sleeve.piece, overarm),)


def _gathered(
    sleeve: Sleeve, placed: dict[Side, Section], seams: dict[Side, LowerSeams], overarm: Overarm
) -> tuple[Piece, ...]:
    """The neckline runs in one fair curve from the front raglan seam to the back one."""
    front, back = (_neck_edges(placed[side], side) for side in Side)
    ends = [[e for e in neck if e.role is Role.NECKLINE] for neck in (front, back)]
    if not all(ends):
        raise SleeveError("a half raglan leaves no neckline on the sleeve to gather")
    a, b = ends[0][0].curve, ends[1][0].curve
    head = Edge(
        name="",
        role=Role.NECKLINE,
        curve=fair_curve(a.start, b.start, a.start_direction, -b.start_direction),
    )
    centres = [[e for e in neck if e.role is Role.CENTRE] for neck in (front, back)]
    halves = {
        Side.FRONT: (*seams[Side.FRONT].edges, *centres[0], head),
        Side.BACK: (*seams[Side.BACK].edges, *centres[1]),
    }
    return (_piece("sleeve", _whole(sleeve, halves), sleeve.piece, overarm),)


def _whole(sleeve: Sleeve, halves: dict[Side, tuple[Edge, ...]]) -> tuple[Edge, ...]:
    back = tuple(edge.reversed for edge in reversed(halves[Side.BACK]))
    wrist = _whole_wrist(sleeve)
    curve = wrist.curve.with_ends(back[-1].curve.end, halves[Side.FRONT][0].curve.start)
    return (replace(wrist, curve=curve), *halves[Side.FRONT], *back)


def _whole_wrist(sleeve: Sleeve) -> Edge:
    """Return the wrist as one edge, from the back underarm seam to the front one."""
    first, *rest = sleeve.piece.with_role(Role.WRIST)
    if rest:
        raise SleeveError("the wrist of the sleeve is in several parts; label it as one edge")
    return first


def _foot(wrist: Curve, overarm: Overarm) -> float:
    """Return the station where the centre line meets the wrist."""
    across = np.array([overarm.down[1], -overarm.down[0]])
    try:
        return find_root(
            lambda s: float((wrist.point_at(s) - overarm.crown) @ across), 1.0, wrist.length - 1.0
        )
    except ValueError:
        raise SleeveError("the sleeve's centre line does not meet its wrist") from None


def _meeting_seam(edge: Edge, corner: Array) -> Edge:
    return replace(edge, curve=edge.curve.with_ends(edge.curve.start, corner))


def _piece(name: str, chain: Iterable[Edge], parent: Piece, overarm: Overarm) -> Piece:
    piece = Piece.closed(
        name,
        with_standard_names(chain),
        quantity=max(2, parent.quantity),
        material=parent.material,
    )
    return replace(piece, grain=_grain(piece, overarm))


def _grain(piece: Piece, overarm: Overarm) -> Curve:
    """Return a grainline along the centre line's direction, over the middle of the wrist."""
    wrist = piece.with_role(Role.WRIST)[0].curve
    low = wrist.point_at(wrist.length / 2)
    tops = [e.curve.start for e in piece.with_role(Role.CAP)] or [overarm.crown]
    up = -overarm.down
    height = max(float((top - low) @ up) for top in tops)
    return Curve.line(low + 0.08 * height * up, low + 0.92 * height * up)
