"""A closed chain of labelled curves to a piece: turned, mirrored, cut at the crown, notched."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import signed_area
from sleevewright.pattern import Edge, InternalLine, Notch, NotchKind, Piece, Role, Side
from sleevewright.pattern.naming import with_standard_names
from sleevewright.reading.derived_marks import without_derived_marks
from sleevewright.reading.sleeve_halves import Hints, with_halves

Array = NDArray[np.float64]

#: mm. A notch farther from every edge than this is off the edge.
OFF_EDGE = 1.0
#: degrees. A dart turns more than this at its tip.
TIP = 60.0
#: mm. Two marks as far apart as this are one double notch (usual: 10).
DOUBLE = (6.0, 14.0)


@dataclass(frozen=True, slots=True)
class Tick:
    """A notch as drawn.

    Attributes:
        at: where, mm.
        place: for messages.
        name: where the file says it.
        double: whether it stands for two marks.
        edge: name of the edge it is on, where the file says it (two edges meet in a corner).
    """

    at: Array
    place: Place
    name: str = ""
    double: bool = False
    edge: str = ""


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
    place: Place = field(default_factory=Place)


def joined_edges(edges: Iterable[Edge]) -> tuple[Edge, ...]:
    """Join neighbours of one role and half (an edge drawn in parts).

    The chain is turned so that it starts between two different edges. The parts of a dart are
    joined too and parted again at the tip, their sharpest corner.
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
    return tuple(part for edge in found for part in _legs(edge))


def _legs(edge: Edge) -> tuple[Edge, ...]:
    """Return the two legs of a dart, or the edge as it is."""
    corners = edge.curve.corners(TIP) if edge.role is Role.DART_LEG else ()
    if not corners:
        return (edge,)

    def turn(station: float) -> float:
        into, out = edge.curve.split_at(station)
        return float(into.end_direction @ out.start_direction)

    return edge.split_at(min(corners, key=turn), (edge.name, edge.name))


def _same(a: Edge, b: Edge) -> bool:
    if a.role is not b.role or a.side is not b.side:
        return False
    return not (a.name and b.name and a.name != b.name)


def finished_piece(bare: Bare, hints: Hints) -> tuple[Piece, tuple[str, ...]]:
    """Return the piece in the project's hand, and what was mended or inferred for that.

    Args:
        bare: the piece as drawn.
        hints: what may tell the front of a sleeve.

    Raises:
        LabelError: a notch is off the edge, or the sleeve's front cannot be told.
    """
    edges = joined_edges(bare.edges)
    if signed_area(edge.curve for edge in edges) < 0:
        edges = tuple(edge.reversed for edge in reversed(edges))
    ticks = _each_once(bare.ticks)
    edges = _with_ticks(edges, bare.name, ticks)
    grain = _upright(bare.grain, edges)
    notes: list[str] = []
    if repeats := len(bare.ticks) - len(ticks):
        said = "1 notch" if repeats == 1 else f"{repeats} notches"
        notes.append(f"{said} of {bare.name} at the place of another; read once")
    if grain is None:
        grain = _inferred_grain(edges)
        source = "one along its middle or centre is taken" if grain else "none is written"
        notes.append(f"{bare.name} has no grainline; {source}")
    sleeve = any(edge.role in (Role.CAP, Role.WRIST) for edge in edges)
    if sleeve:
        edges, told = with_halves(edges, (bare.name, bare.place), grain, hints)
        notes += [told] if told else []
    piece = Piece(
        name=bare.name,
        edges=edges_from_hem(edges),
        grain=grain,
        internal=bare.internal,
        drill_holes=bare.drill_holes,
        quantity=bare.quantity,
        material=bare.material,
    )
    if _is_other_hand(piece):
        notes.append(f"{piece.name} is drawn as the wearer's left; read as the right")
        piece = piece.transformed(Affine.scaling(-1.0, 1.0))
        piece = replace(piece, edges=edges_from_hem(piece.edges))
    if bare.fold is not None or (not sleeve and _has_straight_centre(piece)):
        centres = piece.with_role(Role.CENTRE)
        piece = replace(piece, fold=centres[0].name if centres else "")
    return without_derived_marks(piece), tuple(notes)


def edges_from_hem(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Return the chain started at hem, wrist or neckline, with its standard names.

    Wherever a file starts an outline, parts of one edge are numbered alike.
    """
    n = len(edges)
    for role in (Role.HEM, Role.WRIST, Role.NECKLINE):
        free = [i for i in range(n) if edges[i].role is role and edges[i - 1].role is not role]
        if free:
            # a dart may part the edge: start after the longest stretch without it
            gaps = [(free[k] - free[k - 1] - 1) % n for k in range(len(free))]
            first = free[gaps.index(max(gaps))]
            return with_standard_names(edges[first:] + edges[:first])
    return with_standard_names(edges)


def _inferred_grain(edges: tuple[Edge, ...]) -> Curve | None:
    """Return a grainline along a straight centre, or up the middle of a sleeve, else None."""
    centres = [e.curve for e in edges if e.role is Role.CENTRE and e.curve.is_straight(0.01)]
    if centres:
        centre = max(centres, key=lambda curve: curve.length)
        along, reach = centre.start_direction, 0.4 * centre.length
        middle = np.array([edge.curve.point_at(edge.length / 2) for edge in edges]).mean(axis=0)
        return _upright(Curve.line(middle - reach * along, middle + reach * along), edges)
    caps = [edge.curve for edge in edges if edge.role is Role.CAP]
    wrists = [edge.curve for edge in edges if edge.role is Role.WRIST]
    if not caps or not wrists or len(caps) > 2:
        return None
    if len(caps) == 2 and float(np.hypot(*(caps[0].end - caps[1].start))) > 1e-3:
        caps.reverse()  # the chain starts at the crown
    biceps = caps[-1].end - caps[0].start
    up = np.array([biceps[1], -biceps[0]]) / np.hypot(*biceps)
    middle = (caps[0].start + caps[-1].end) / 2
    low = float((wrists[0].point_at(wrists[0].length / 2) - middle) @ up)
    return Curve.line(middle + 0.9 * low * up, middle + 0.1 * low * up)


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


def _each_once(ticks: tuple[Tick, ...]) -> tuple[Tick, ...]:
    """Leave out marks that repeat another: the same place, rounded to 0.01 mm, name and edge."""
    found = {(*np.round(tick.at, 2), tick.name, tick.edge): tick for tick in reversed(ticks)}
    return tuple(reversed(found.values()))


def _with_ticks(edges: tuple[Edge, ...], name: str, ticks: tuple[Tick, ...]) -> tuple[Edge, ...]:
    """Put every drawn notch on the edge it lies on; two marks close together are one double."""
    found: dict[int, list[tuple[float, Tick]]] = {}
    for tick in ticks:
        reaches = [edge.curve.nearest(tick.at) for edge in edges]
        named = [k for k, edge in enumerate(edges) if tick.edge and edge.name == tick.edge]
        i = min(named or range(len(edges)), key=lambda k: reaches[k][1])
        station, distance = reaches[i]
        if distance > OFF_EDGE:
            raise LabelError(
                Problem(
                    f"a notch of {name} at ({tick.at[0]:.2f}, {tick.at[1]:.2f}) lies"
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
