"""A closed chain of labelled curves to a piece: turned, mirrored, cut at the crown, notched."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import signed_area
from sleevewright.pattern import Edge, InternalLine, Notch, NotchKind, Piece, Role, Side
from sleevewright.pattern.naming import with_standard_names
from sleevewright.reading.halving import halved, is_whole

Array = NDArray[np.float64]

#: mm. A notch farther from every edge than this is off the edge.
OFF_EDGE = 1.0
#: mm. Two marks as far apart as this are one double notch (usual: 10).
DOUBLE = (6.0, 14.0)


@dataclass(frozen=True, slots=True)
class Tick:
    """A notch as drawn: where, its name where the file says it, and its place."""

    at: Array
    place: Place
    name: str = ""
    double: bool = False


@dataclass(frozen=True, slots=True)
class Bare:
    """A piece before its hand and halves are settled.

    Attributes:
        name: of the piece.
        edges: a closed chain in any direction, roles known, sides perhaps not.
        ticks: notches as drawn.
        grain, fold: lines as drawn, or None.
        internal: lines drawn inside.
        drill_holes: points.
        quantity, material: as the file says.
        place: for messages.
    """

    name: str
    edges: tuple[Edge, ...]
    ticks: tuple[Tick, ...] = ()
    grain: Curve | None = None
    fold: Curve | None = None
    internal: tuple[InternalLine, ...] = ()
    drill_holes: tuple[tuple[float, float], ...] = ()
    quantity: int = 1
    material: str = ""
    place: Place = Place()


def joined_edges(edges: Iterable[Edge]) -> tuple[Edge, ...]:
    """Join neighbours of one role and half (an edge drawn in parts); dart legs stay two.

    The chain is turned so that it starts between two different edges.
    """
    chain = list(edges)
    for _ in range(len(chain)):
        if _same(chain[-1], chain[0]):
            chain.insert(0, chain.pop())
        else:
            break
    found: list[Edge] = []
    for edge in chain:
        if found and _same(found[-1], edge):
            last = found[-1]
            run = last.length
            notches = (*last.notches, *(replace(n, at=n.at + run) for n in edge.notches))
            found[-1] = replace(last, curve=Curve.joined([last.curve, edge.curve]), notches=notches)
        else:
            found.append(edge)
    return tuple(found)


def _same(a: Edge, b: Edge) -> bool:
    if a.role is Role.DART_LEG or a.role is not b.role or a.side is not b.side:
        return False
    return not (a.name and b.name and a.name != b.name)


def finished_piece(bare: Bare, sleeve_front: str) -> tuple[Piece, bool]:
    """Return the piece in the project's hand, and whether it was mirrored for that.

    Args:
        bare: the piece as drawn.
        sleeve_front: "left" or "right" where a label map says where the sleeve's front is.

    Raises:
        LabelError: a notch is off the edge, or the sleeve's front cannot be told.
    """
    edges = joined_edges(bare.edges)
    if signed_area(edge.curve for edge in edges) < 0:
        edges = tuple(edge.reversed for edge in reversed(edges))
    edges = _with_ticks(edges, bare)
    whole = bare.name in ("front", "back") and is_whole(edges)
    if whole:
        edges = halved(edges, bare.name, bare.place)
    grain = _upright(bare.grain, edges)
    sleeve = any(edge.role in (Role.CAP, Role.WRIST) for edge in edges)
    if sleeve:
        edges = _with_halves(edges, bare, grain, sleeve_front)
    piece = Piece(
        name=bare.name,
        edges=with_standard_names(edges),
        grain=grain,
        internal=bare.internal,
        drill_holes=bare.drill_holes,
        quantity=bare.quantity,
        material=bare.material,
    )
    mirrored = _is_other_hand(piece)
    if mirrored:
        piece = piece.transformed(Affine.scaling(-1.0, 1.0))
        piece = replace(piece, edges=with_standard_names(piece.edges))
    if whole or bare.fold is not None or (not sleeve and _has_straight_centre(piece)):
        centres = piece.with_role(Role.CENTRE)
        piece = replace(piece, fold=centres[0].name if centres else "")
    return piece, mirrored


def _has_straight_centre(piece: Piece) -> bool:
    centres = piece.with_role(Role.CENTRE)
    return len(centres) == 1 and centres[0].curve.is_straight(0.01)


def _upright(grain: Curve | None, edges: tuple[Edge, ...]) -> Curve | None:
    """Return the grainline pointing away from hem and wrist, as a straight line."""
    if grain is None:
        return None
    low = [e.curve.point_at(e.length / 2) for e in edges if e.role in (Role.HEM, Role.WRIST)]
    line = Curve.line(grain.start, grain.end)
    if low:
        start, end = (min(float(np.hypot(*(p - q))) for q in low) for p in (line.start, line.end))
        if start > end:
            line = line.reversed
    return line


def _is_other_hand(piece: Piece) -> bool:
    """Whether the piece is drawn as the wearer's left.

    Round a right front the shoulder (or raglan seam) comes before the armhole (or side seam), the
    neckline before the shoulder; round a right back after. Sleeves: the front cap comes first.
    """
    order = [(edge.role, edge.side) for edge in piece.edges]

    def before(first: Role, second: Role) -> bool | None:
        for i, (role, _) in enumerate(order):
            if order[i - 1][0] is first and role is second:
                return True
            if order[i - 1][0] is second and role is first:
                return False
        return None

    if piece.name in ("front", "back"):
        for first, second in (
            (Role.SHOULDER, Role.ARMHOLE),
            (Role.NECKLINE, Role.SHOULDER),
            (Role.NECKLINE, Role.RAGLAN_SEAM),
            (Role.ARMHOLE, Role.SIDE_SEAM),
        ):
            found = before(first, second)
            if found is not None:
                return found is not (piece.name == "front")
        return False
    for role, front_first in ((Role.UNDERARM_SEAM, Role.WRIST), (Role.CAP, Role.UNDERARM_SEAM)):
        for i, edge in enumerate(piece.edges):
            other = piece.edges[i - 1]
            if edge.role is role and other.role is front_first and edge.side is not None:
                front = edge.side is Side.FRONT
                return front if role is Role.CAP else not front
    return False


# --- notches ----------------------------------------------------------------------------------


def _with_ticks(edges: tuple[Edge, ...], bare: Bare) -> tuple[Edge, ...]:
    """Put every drawn notch on the edge it lies on; two marks close together are one double."""
    found: dict[int, list[tuple[float, Tick]]] = {}
    for tick in bare.ticks:
        reaches = [edge.curve.nearest(tick.at) for edge in edges]
        i = min(range(len(edges)), key=lambda k: reaches[k][1])
        station, distance = reaches[i]
        if distance > OFF_EDGE:
            raise LabelError(
                Problem(
                    f"a notch of {bare.name} at ({tick.at[0]:.2f}, {tick.at[1]:.2f}) lies"
                    f" {distance:.2f} mm off the nearest edge, {edges[i].role}",
                    tick.place,
                    f"notches lie on an edge, within {OFF_EDGE:g} mm",
                )
            )
        found.setdefault(i, []).append((station, tick))
    return tuple(
        replace(edge, notches=_notches(found[i])) if i in found else edge
        for i, edge in enumerate(edges)
    )


def _notches(ticks: list[tuple[float, Tick]]) -> tuple[Notch, ...]:
    ordered = sorted(ticks, key=lambda pair: pair[0])
    notches: list[Notch] = []
    i = 0
    while i < len(ordered):
        station, tick = ordered[i]
        if i + 1 < len(ordered):
            gap = ordered[i + 1][0] - station
            if DOUBLE[0] <= gap <= DOUBLE[1] and tick.name == ordered[i + 1][1].name:
                notches.append(Notch(at=station + gap / 2, name=tick.name, kind=NotchKind.DOUBLE))
                i += 2
                continue
        kind = NotchKind.DOUBLE if tick.double else NotchKind.SINGLE
        notches.append(Notch(at=station, name=tick.name, kind=kind))
        i += 1
    return tuple(notches)


# --- the halves of a sleeve -------------------------------------------------------------------


def _with_halves(
    edges: tuple[Edge, ...], bare: Bare, grain: Curve | None, sleeve_front: str
) -> tuple[Edge, ...]:
    """Cut the cap at the crown and say which half of the sleeve is the front."""
    if all(e.side for e in edges if e.role in (Role.CAP, Role.UNDERARM_SEAM)):
        return edges
    caps = [i for i, e in enumerate(edges) if e.role is Role.CAP]
    if bare.name in ("sleeve_front", "sleeve_back"):
        side = Side.FRONT if bare.name == "sleeve_front" else Side.BACK
        return tuple(replace(e, side=e.side or side) for e in edges)
    if not caps:
        raise LabelError(
            Problem(f"{bare.name} has no cap", bare.place, "label its edges", "sleeve.cap")
        )
    edges = edges[caps[0] :] + edges[: caps[0]]
    n_caps = len(caps)
    if n_caps == 1:
        at = _crown(edges[0], grain)
        edges = (*edges[0].split_at(at, ("", "")), *edges[1:])
        edges = tuple(_without_end_notches(e) if e.role is Role.CAP else e for e in edges)
    elif n_caps > 2:
        raise LabelError(
            Problem(f"the cap of {bare.name} is in {n_caps} parts", bare.place, "one or two")
        )
    front_first = _front_first(edges, bare, grain, sleeve_front)
    sides = (Side.FRONT, Side.BACK) if front_first else (Side.BACK, Side.FRONT)
    # From the crown on: second half of the cap, its underarm seam, wrist, the other underarm seam.
    labelled, now = [replace(edges[0], side=sides[0])], sides[1]
    for edge in edges[1:]:
        if edge.role is Role.WRIST:
            labelled.append(edge)
            now = sides[0]
        else:
            labelled.append(replace(edge, side=now))
    return tuple(labelled)


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
    near = [n.at for n in cap.notches if abs(n.at - top) < 40.0]
    return min(near, key=lambda s: abs(s - top)) if near else top


def _without_end_notches(edge: Edge) -> Edge:
    kept = tuple(n for n in edge.notches if 1.0 < n.at < edge.length - 1.0)
    return replace(edge, notches=kept)


def _front_first(
    edges: tuple[Edge, ...], bare: Bare, grain: Curve | None, sleeve_front: str
) -> bool:
    """Whether the first half of the cap, in outline order, is the front."""
    if sleeve_front:
        up = grain.end_direction if grain is not None else np.array([0.0, 1.0])
        right = np.array([up[1], -up[0]])
        first_is_right = float((edges[0].curve.start - edges[1].curve.end) @ right) > 0
        return first_is_right is (sleeve_front == "right")
    told = [edge.side for edge in edges[:2]]
    if any(told):
        return told[0] is Side.FRONT or told[1] is Side.BACK
    doubles = [sum(n.kind is NotchKind.DOUBLE for n in edge.notches) for edge in edges[:2]]
    if doubles[0] != doubles[1]:
        return doubles[0] < doubles[1]
    raise LabelError(
        Problem(
            "which half of the sleeve is the front cannot be told: neither half of the cap has"
            " a double notch",
            bare.place,
            "",
            "say so in the label map: sleeve_front: right (or left), crown up;"
            " or label the halves sleeve.cap_front and sleeve.cap_back",
        )
    )
