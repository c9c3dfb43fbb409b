"""The sleeve of a raglan: sections laid on the cap, seams faired, pieces made.

Halves are built *front-wise* (wrist, underarm seam, cap, raglan seam, neckline, overarm), the back
as the mirror order of the front, and turned counter-clockwise when a piece is made.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, bezier, fair_curve, find_root
from sleevewright.geometry.region import polygon
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.raglan_lines import Path, turn_between
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


class SleeveError(ValueError):
    """The sleeve cannot be made; the text says why and what would do."""


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
        *_facts_of_placing(placed, overarm),
        *_facts_of_area(sleeve, halves, placed, pieces),
    ]
    if raglan.sleeve == "gathered":
        facts.append(("raglan.neck_gather_ratio", _gather_ratio(pieces[0], placed)))
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
        seam = _faired_line(section, at_q.end, -at_q.end_direction, length)
        edges = (*underarm, *cap, _raglan_edge(half, seam, raglan.raglan_ease, pitch=True))
    else:
        seam, new_underarm = _deep_seam(half, section, underarm, length)
        edges = (*new_underarm, _raglan_edge(half, seam, raglan.raglan_ease, pitch=False))
    longer = seam.length - length
    return LowerSeams(edges, longer if longer > 1e-6 else 0.0)


def _faired_line(section: Section, q: Array, arriving: Array, length: float) -> Curve:
    """Return the section's line, run into the lower cap at Q, with a length.

    The line keeps its shape, its ends and its direction at N; over its last half it turns into the
    direction of the lower cap. What length that costs or leaves is made up by its bow. Where that
    does not do, the shortest such line is returned; the bodice's seam follows it.

    Raises:
        SleeveError: no such line is fair.
    """
    line = section.fair_line
    line = line.with_ends(line.start, q)
    turn = math.radians(turn_between(line.end_direction, arriving))
    bend = LineBend(line, turn, 0.5 * line.length)
    moves = np.linspace(-MOST_BOW, MOST_BOW, 19)
    misses = np.array([bend.length(float(move)) for move in moves]) - length
    changes = np.flatnonzero(misses[:-1] * misses[1:] <= 0)
    if changes.size:
        i = int(changes[np.argmin(np.abs(moves[changes] + moves[changes + 1]))])
        move = find_root(lambda m: bend.length(m) - length, float(moves[i]), float(moves[i + 1]))
    else:
        move = bend.shortest(float(moves[np.argmin(misses)]))
        nearest = bend.length(move) if misses.max() > 0 else length + float(misses.max())
        if not 0 < nearest - length < MOST_LONGER:
            raise SleeveError(
                f"the sleeve's raglan seam cannot be made {length:.1f} mm long and fair: the nearest"
                f" is {nearest:.1f} mm; use placement: pitch, or move the pitch point"
            )
    return Curve(bend.controls(move))


#: mm. How far the sleeve's line may be moved from the bodice's in its middle to true its length.
MOST_BOW = 18.0
#: mm. How much longer than the line it was cut along a seam may become on both partners.
MOST_LONGER = 3.0


class LineBend:
    """A line whose last part is turned and whose middle is moved, square to itself.

    Args:
        line: from N to Q, without corners, mm.
        turn: of its end direction, radians, counter-clockwise.
        reach: the length at its end over which it turns, mm.
    """

    def __init__(self, line: Curve, turn: float, reach: float) -> None:
        stations = np.linspace(0.0, line.length, 17)
        self.points = line.point_at(stations)
        self.along = line.direction_at(stations)
        self.square = np.stack([-self.along[:, 1], self.along[:, 0]], axis=1)
        self.bend = np.nan_to_num(line.curvature_at(stations))
        self.step = line.length / 16
        self.points[0], self.points[-1] = line.start, line.end
        late = np.clip((stations - line.length + reach) / reach, 0.0, 1.0)
        slope = math.tan(turn)
        self.turned = slope * reach * (late**3 - late**2)
        self.turned_slope = slope * (3 * late**2 - 2 * late)
        u = stations / line.length
        self.bump = 16 * u**2 * (1 - u) ** 2
        self.bump_slope = 32 * u * (1 - u) * (1 - 2 * u) / line.length

    def length(self, move: float) -> float:
        """Return the length with the middle moved by `move` mm."""
        return float(bezier.lengths(self.controls(move)).sum())

    def shortest(self, near: float) -> float:
        """Return the move near which the line is shortest (its length is nearly a parabola)."""
        for _ in range(4):
            before, here, after = (self.length(near + d) for d in (-1.0, 0.0, 1.0))
            bend = before - 2 * here + after
            if bend <= 0:
                break
            near += float(np.clip(0.5 * (before - after) / bend, -4.0, 4.0))
        return near

    def controls(self, move: float) -> Array:
        """Return the cubics, shape (16, 4, 2), with the middle moved by `move` mm to the left."""
        offset = self.turned + move * self.bump
        slope = self.turned_slope + move * self.bump_slope
        points = self.points + offset[:, None] * self.square
        velocity = (1 - self.bend * offset)[:, None] * self.along + slope[:, None] * self.square
        a, b = points[:-1], points[1:]
        handles = velocity * (self.step / 3)
        return np.stack([a, a + handles[:-1], b - handles[1:], b], axis=1)


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


# --- what is reported -------------------------------------------------------------------------


def _facts_of_placing(placed: dict[Side, Section], overarm: Overarm) -> list[tuple[str, float]]:
    """The wedge between the shoulder lines, the neck gap, and how far the tips miss the crown."""
    lines = {side: placed[side].shoulder for side in Side}
    directions = {s: lines[s].start - lines[s].end for s in Side}
    angles = {s: np.degrees(np.arctan2(*directions[s][::-1])) for s in Side}
    wedge = (angles[Side.BACK] - angles[Side.FRONT]) % 360.0
    gap = np.hypot(*(lines[Side.FRONT].start - lines[Side.BACK].start))
    facts = [("raglan.wedge_deg", float(wedge)), ("raglan.neck_gap_mm", float(gap))]
    for side in Side:
        miss = float(np.hypot(*(placed[side].tip - overarm.crown)))
        facts.append((f"raglan.tip_from_crown_{side}_mm", miss))
    return facts


def _facts_of_area(
    sleeve: Sleeve,
    halves: dict[Side, HalfSleeve],
    placed: dict[Side, Section],
    pieces: tuple[Piece, ...],
) -> list[tuple[str, float]]:
    """Cloth filled in between section and cap, lost where they overlap, and trimmed off."""
    from shapely import unary_union  # noqa: PLC0415 (heavy; used only when a raglan is made)

    caps = (halves[Side.FRONT].cap, halves[Side.BACK].cap.reversed)
    others = [e.curve for e in sleeve.piece.edges if e.role is not Role.CAP]
    chain = _chained([*caps, *others])
    parts = [polygon(chain, 0.05).buffer(0)]
    parts += [polygon(placed[side].outline, 0.05).buffer(0) for side in Side]
    before = unary_union(parts)
    made = [polygon((e.curve for e in p.edges), 0.05).buffer(0) for p in pieces]
    after = unary_union(made)
    twice = sum(p.area for p in made) - after.area  # where both halves of the sleeve reach over
    return [
        ("raglan.filled_mm2", float(after.difference(before).area + twice)),
        ("raglan.overlap_mm2", float(sum(p.area for p in parts) - before.area)),
        ("raglan.trimmed_mm2", float(before.difference(after).area)),
    ]


def _chained(curves: list[Curve]) -> list[Curve]:
    """Order curves that form one closed chain."""
    chain = [curves.pop(0)]
    while curves:
        gaps = [float(np.hypot(*(c.start - chain[-1].end))) for c in curves]
        chain.append(curves.pop(int(np.argmin(gaps))))
    return chain


def _gather_ratio(piece: Piece, placed: dict[Side, Section]) -> float:
    finished = sum(e.length for side in Side for e in placed[side].edges if e.role is Role.NECKLINE)
    return piece.length(Role.NECKLINE) / finished
