"""The pieces of a raglan sleeve: two with an overarm seam, one with a dart, or one that is gathered.

The halves come *front-wise* (wrist, underarm seam, cap, raglan seam, neckline, overarm) and are turned
counter-clockwise when a piece is made.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, fair_curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.marks import Marks, shared_marks
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.raglan_halves import LowerSeams
from sleevewright.operations.sections import Section
from sleevewright.pattern import Edge, Notch, Piece, Role, Side, Sleeve
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]


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


def pieces_of(
    making: str,
    sleeve: Sleeve,
    placed: dict[Side, Section],
    seams: dict[Side, LowerSeams],
    overarm: Overarm,
) -> tuple[Piece, ...]:
    """Return the pieces of a sleeve.

    Args:
        making: "two-piece", "one-piece" or "gathered".
        sleeve: as it was set in.
        placed: sections where they lie on the sleeve.
        seams: of either half.
        overarm: common to both.

    Raises:
        OperationError: the wrist is in parts or not under the crown, or there is no neckline to gather.
    """
    build = {"two-piece": _two_piece, "one-piece": _one_piece, "gathered": _gathered}
    return _marked(build[making](sleeve, placed, seams, overarm), sleeve, placed)


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
        raise OperationError("a half raglan leaves no neckline on the sleeve to gather")
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
        raise OperationError("the wrist of the sleeve is in several parts; label it as one edge")
    return first


def _marked(
    pieces: tuple[Piece, ...], sleeve: Sleeve, placed: dict[Side, Section]
) -> tuple[Piece, ...]:
    """Return pieces with what is marked on the set-in sleeve and on the sections they are made of."""
    halves = [tuple(Side)] if len(pieces) == 1 else [(side,) for side in Side]
    return tuple(
        sum((placed[side].marks for side in sides), Marks.of(piece)).on(piece)
        for piece, sides in zip(shared_marks(sleeve.piece, pieces), halves, strict=True)
    )


def _foot(wrist: Curve, overarm: Overarm) -> float:
    """Return the station where the centre line meets the wrist."""
    across = np.array([overarm.down[1], -overarm.down[0]])
    try:
        return find_root(
            lambda s: float((wrist.point_at(s) - overarm.crown) @ across), 1.0, wrist.length - 1.0
        )
    except ValueError:
        raise OperationError("the sleeve's centre line does not meet its wrist") from None


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
