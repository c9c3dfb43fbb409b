"""The halves of a sleeve: where the cap's crown is, and which half is the front.

Told by names, by a label map, by the trade's rule that the back notch is double, by notches that
match an armhole's, or by the lengths of the armholes; where none of these tells, it is doubt.
"""

from dataclasses import dataclass, replace

import numpy as np

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Curve
from sleevewright.pattern import Edge, NotchKind, Piece, Role, Side
from sleevewright.reading.derived_marks import END

#: mm. A mark this near the top of the cap is its crown notch.
CROWN = 40.0
#: mm. Notches that meet when sewn lie this near to the same distance from the underarm.
SAME_NOTCH = 3.0
#: mm. The halves of a cap must fit the armholes this much better one way than the other.
CLEAR_FIT = 5.0
#: Part of the armhole: least and most ease of half a cap (common practice, and a margin).
EASE = (-0.01, 0.11)


@dataclass(frozen=True, slots=True)
class Hints:
    """What may tell the front of a sleeve.

    Attributes:
        sleeve_front: "left" or "right", crown up, where a label map says so.
        bodice: the front and back pieces of the size, as far as they are read.
    """

    sleeve_front: str = ""
    bodice: tuple[Piece, ...] = ()


def with_halves(
    edges: tuple[Edge, ...], piece: tuple[str, Place], grain: Curve | None, hints: Hints
) -> tuple[tuple[Edge, ...], str]:
    """Cut the cap at the crown and say which half of the sleeve is the front.

    Args:
        edges: the outline, counter-clockwise.
        piece: name and place, for messages.
        grain: from the wrist to the crown, or None.
        hints: what may tell the front.

    Returns:
        The edges with their sides, and how the front was told where it was inferred.

    Raises:
        LabelError: there is no cap, it is in more than two parts, or the front cannot be told.
    """
    name, place = piece
    if all(e.side for e in edges if e.role in (Role.CAP, Role.UNDERARM_SEAM)):
        return edges, ""
    caps = [i for i, e in enumerate(edges) if e.role is Role.CAP]
    if name in ("sleeve_front", "sleeve_back"):
        side = Side.FRONT if name == "sleeve_front" else Side.BACK
        return tuple(replace(e, side=e.side or side) for e in edges), ""
    if not caps:
        raise LabelError(Problem(f"{name} has no cap", place, "label its edges", "sleeve.cap"))
    edges = edges[caps[0] :] + edges[: caps[0]]
    n_caps = len(caps)
    if n_caps == 1:
        at = _crown(edges[0], grain)
        if not END < at < edges[0].length - END:
            raise LabelError(
                Problem(f"the cap of {name} has no crown: it is highest at its end", place,
                        "label its halves", "sleeve.cap_front and sleeve.cap_back")
            )  # fmt: skip
        edges = (*edges[0].split_at(at, ("", "")), *edges[1:])
    elif n_caps > 2:
        raise LabelError(Problem(f"the cap of {name} is in {n_caps} parts", place, "one or two"))
    # A crown notch tells no half, and finishing derives it; the underarm needs none.
    edges = tuple(_without_end_notches(e) if e.role is Role.CAP else e for e in edges)
    front_first, told = _front_first(edges, piece, grain, hints)
    sides = (Side.FRONT, Side.BACK) if front_first else (Side.BACK, Side.FRONT)
    # From the crown on: second half of the cap, its underarm seam, wrist, the other underarm seam.
    labelled, now = [replace(edges[0], side=sides[0])], sides[1]
    for edge in edges[1:]:
        if edge.role is Role.WRIST:
            labelled.append(edge)
            now = sides[0]
        else:
            labelled.append(replace(edge, side=now))
    return tuple(labelled), told


def _crown(cap: Edge, grain: Curve | None) -> float:
    """Return the station of the crown: the notch near the top of the cap, else its top."""
    up = grain.end_direction if grain is not None else None
    line = cap.curve.flattened(0.01)
    if up is None:  # square to the biceps line, on the side the cap bulges to
        chord = cap.curve.end - cap.curve.start
        up = np.array([-chord[1], chord[0]]) / cap.curve.chord
        if float(((line - line[0]) @ up).mean()) < 0:
            up = -up
    runs = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    top = float(runs[int(np.argmax(line @ up))])
    near = [n.at for n in cap.notches if abs(n.at - top) < CROWN]
    return min(near, key=lambda s: abs(s - top)) if near else top


def _without_end_notches(edge: Edge) -> Edge:
    kept = tuple(n for n in edge.notches if END < n.at < edge.length - END)
    return replace(edge, notches=kept)


def _front_first(
    edges: tuple[Edge, ...], piece: tuple[str, Place], grain: Curve | None, hints: Hints
) -> tuple[bool, str]:
    """Whether the first half of the cap, in outline order, is the front; and how that was told."""
    if hints.sleeve_front:
        up = grain.end_direction if grain is not None else np.array([0.0, 1.0])
        right = np.array([up[1], -up[0]])
        first_is_right = float((edges[0].curve.start - edges[1].curve.end) @ right) > 0
        return first_is_right is (hints.sleeve_front == "right"), ""
    told = [edge.side for edge in edges[:2]]
    if any(told):
        return told[0] is Side.FRONT or told[1] is Side.BACK, ""
    doubles = [sum(n.kind is NotchKind.DOUBLE for n in edge.notches) for edge in edges[:2]]
    if doubles[0] != doubles[1]:
        return doubles[0] < doubles[1], ""
    for how, found in (
        ("the notches of the armholes", _by_notches(edges, hints.bodice)),
        ("the lengths of the armholes", _by_lengths(edges, hints.bodice)),
    ):
        if found is not None:
            return found, f"the front of the {piece[0]} was told by {how}"
    raise LabelError(
        Problem(
            "which half of the sleeve is the front cannot be told: neither half of the cap has"
            " a double notch, and both fit either armhole",
            piece[1],
            "",
            "say so in the label map: sleeve_front: right (or left), crown up;"
            " or label the halves sleeve.cap_front and sleeve.cap_back",
        )
    )


def _by_notches(edges: tuple[Edge, ...], bodice: tuple[Piece, ...]) -> bool | None:
    """Compare distances of notches from the underarm, on both halves of the cap."""
    first = [n.at for n in edges[0].notches]
    second = [edges[1].length - n.at for n in edges[1].notches]
    armholes = {side: _notch_distances(bodice, side) for side in Side}

    def fits(front: list[float], back: list[float]) -> bool:
        pairs = ((front, armholes[Side.FRONT]), (back, armholes[Side.BACK]))
        return all(
            min((abs(a - b) for a in cap for b in arm), default=np.inf) <= SAME_NOTCH
            for cap, arm in pairs
        )

    ways = fits(first, second), fits(second, first)
    return ways[0] if ways[0] is not ways[1] else None


def _notch_distances(bodice: tuple[Piece, ...], side: Side) -> list[float]:
    """Return the distances of an armhole's notches from the underarm point, mm."""
    found, run = [], 0.0
    for piece in bodice:
        if piece.name != side:
            continue
        edges = piece.with_role(Role.ARMHOLE)
        if side is Side.FRONT:  # round a front the armhole comes down to the underarm
            edges = tuple(edge.reversed for edge in reversed(edges))
        for edge in edges:
            found += [run + notch.at for notch in edge.notches]
            run += edge.length
    return found


def _by_lengths(edges: tuple[Edge, ...], bodice: tuple[Piece, ...]) -> bool | None:
    """Compare the halves of the cap with the armholes: the ease is usual, and shared evenly."""
    arm = {piece.name: piece.length(Role.ARMHOLE) for piece in bodice}
    front, back = arm.get(Side.FRONT, 0.0), arm.get(Side.BACK, 0.0)
    if not front or not back:
        return None
    first, second = edges[0].length, edges[1].length
    uneven = []
    for a, b in ((first, second), (second, first)):
        usual = all(
            EASE[0] * hole <= cap - hole <= EASE[1] * hole for cap, hole in ((a, front), (b, back))
        )
        uneven.append(abs((a - front) - (b - back)) if usual else np.inf)
    if min(uneven) == np.inf or abs(uneven[0] - uneven[1]) < CLEAR_FIT:
        return None
    return bool(uneven[0] < uneven[1])
