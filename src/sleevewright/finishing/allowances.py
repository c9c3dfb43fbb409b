"""Seam allowances: the cut line of a piece, edge by edge, corner by corner."""

import math
from dataclasses import dataclass, replace

import numpy as np

from sleevewright.errors import OperationError, Place, Problem
from sleevewright.finishing.corners import CornerError, Strand, crossing, met
from sleevewright.geometry import Curve
from sleevewright.geometry.offset import OffsetError, parallel
from sleevewright.pattern import Corner, CutEdge, Dart, Edge, HemKind, Pattern, Piece, Role
from sleevewright.pattern.finish_settings import FinishSettings

_TURNED_UP = (Role.HEM, Role.WRIST)
_WORTH_CUTTING = 10.0  # mm of cloth between the allowances; a narrower dart is folded


@dataclass(frozen=True, slots=True)
class Sewn:
    """A stretch of the line that the cut line is parallel to.

    Attributes:
        name: of its edge.
        role: of its edge.
        curve: mm.
        width: allowance, mm.
        turned_up: whether it is a hem or wrist whose allowance is folded back.
    """

    name: str
    role: Role
    curve: Curve
    width: float
    turned_up: bool = False


def allowance_of(piece: Piece, edge: Edge, settings: FinishSettings) -> float:
    """Return the allowance of an edge, mm: none on the fold, its own where it has one."""
    if edge.name == piece.fold:
        return 0.0
    return settings.allowance_of(edge.role) if edge.allowance is None else edge.allowance


def with_sewn_hems(pattern: Pattern, settings: FinishSettings) -> Pattern:
    """Return the pattern, hems and wrists that something is sewn to having a seam's allowance."""
    sewn = {(use.piece, use.edge) for seam in pattern.seams for use in seam.uses}
    pieces = []
    for piece in pattern.pieces:
        edges = tuple(
            replace(edge, hem=HemKind.SEWN, allowance=settings.allowance)
            if edge.role in _TURNED_UP
            and (piece.name, edge.name) in sewn
            and edge.allowance is None
            else edge
            for edge in piece.edges
        )
        pieces.append(replace(piece, edges=edges) if edges != piece.edges else piece)
    return replace(pattern, pieces=tuple(pieces))


def _is_turned_up(edge: Edge) -> bool:
    return edge.role in _TURNED_UP and edge.hem in (None, HemKind.TURNED)


def cut_line(piece: Piece, settings: FinishSettings) -> tuple[CutEdge, ...]:
    """Return the cut line of a piece, closed and counter-clockwise.

    Raises:
        OperationError: an allowance is wider than the piece allows; names the edge.
    """
    sewn = sewn_line(piece, settings)
    strands = [Strand(s.curve, _parallel(piece, s), s.width) for s in sewn]
    n = len(sewn)
    cuts = [strand.cut for strand in strands]
    fills: list[tuple[Curve, ...]] = []
    for i in range(n):
        j = (i + 1) % n
        into = Strand(strands[i].sew, cuts[i], strands[i].width)
        out = Strand(strands[j].sew, cuts[j], strands[j].width)
        hem = "into" if sewn[i].turned_up else "out"
        try:
            cuts[i], fill, cuts[j] = met(into, out, _kind(sewn[i], sewn[j], settings), hem)
        except (CornerError, ValueError) as error:
            raise _too_wide(piece, sewn[i], f"where it meets {sewn[j].name}: {error}") from None
        fills.append(fill)
    parts: list[CutEdge] = []
    for i in range(n):
        parts.append(CutEdge(edge=sewn[i].name, curve=cuts[i]))
        parts += [CutEdge(edge="", curve=curve) for curve in fills[i]]
    _check(piece, parts, sewn)
    return tuple(parts)


def _kind(first: Sewn, second: Sewn, settings: FinishSettings) -> Corner:
    """The hem's kind decides at a hem, else the wider allowance's."""
    for one in (first, second):
        if one.turned_up:
            return settings.corner_of(one.role)
    wider = first if first.width >= second.width else second
    kind = settings.corner_of(wider.role)
    # Only what is turned up has a fold line to mirror in.
    return Corner.EXTENDED if kind is Corner.MIRRORED else kind


def _parallel(piece: Piece, sewn: Sewn) -> Curve:
    try:
        return parallel(sewn.curve, sewn.width)
    except OffsetError as error:
        raise _too_wide(piece, sewn, str(error)) from None


def _too_wide(piece: Piece, sewn: Sewn, why: str) -> OperationError:
    return OperationError(
        Problem(
            f"an allowance of {sewn.width:g} mm on {sewn.name} of {piece.name} is wider than the"
            f" piece allows: {why}",
            Place(within=f"{piece.name}.{sewn.name}"),
            "",
            f"give a smaller allowance for {sewn.role} under finish: allowances",
        )
    )


def _check(piece: Piece, parts: list[CutEdge], sewn: list[Sewn]) -> None:
    """Refuse a cut line that crosses itself or the sewing line."""
    from shapely import Polygon  # noqa: PLC0415

    ring = np.concatenate([part.curve.flattened(0.05)[:-1] for part in parts])
    # A step of rounding's size at a corner is no crossing.
    ring = ring[np.hypot(*(np.roll(ring, -1, axis=0) - ring).T) > 1e-4]
    shape = Polygon(ring)
    widest = max(sewn, key=lambda s: s.width)
    if not shape.is_valid:
        raise _too_wide(piece, widest, "the cut line crosses itself")


# --- darts ------------------------------------------------------------------------------------


def sewn_line(piece: Piece, settings: FinishSettings) -> list[Sewn]:
    """Return the outline as the cut line follows it: darts that are folded are bridged.

    A dart is folded, not cut out: across its mouth the line goes to where both edges, run straight
    on, meet over the middle of the dart, so that the folded dart is caught in the seam. The slit of
    a gusset is marked, sewn and then slashed; the line crosses it too.
    """
    darts = [dart for dart in piece.darts() if not is_cut_out(piece, dart, settings)]
    folded = {d.into.name: d for d in (*darts, *piece.slits())}
    skip = {dart.out.name for dart in folded.values()}
    found: list[Sewn] = []
    for edge in piece.edges:
        if edge.name in folded:
            before, _ = piece.neighbours(edge.name)
            found += _cap(piece, folded[edge.name], before, settings)
        elif edge.name not in skip:
            width = allowance_of(piece, edge, settings)
            found.append(Sewn(edge.name, edge.role, edge.curve, width, _is_turned_up(edge)))
    return found


def is_cut_out(piece: Piece, dart: Dart, settings: FinishSettings) -> bool:
    """Whether a dart is cut out along its legs: a raglan sleeve's shoulder dart, where it is wide enough."""
    if not (dart.on is Role.NECKLINE and piece.has(Role.WRIST) and piece.has(Role.RAGLAN_SEAM)):
        return False
    kept = sum(allowance_of(piece, leg, settings) for leg in (dart.into, dart.out))
    return math.dist(*dart.mouth) > kept + _WORTH_CUTTING


def _cap(piece: Piece, dart: Dart, before: Edge, settings: FinishSettings) -> list[Sewn]:
    _, after = piece.neighbours(dart.out.name)
    a, b = dart.mouth
    middle = (a + b) / 2
    axis = (middle - dart.tip) / float(np.hypot(*(middle - dart.tip)))
    ends = (
        crossing(a, before.curve.end_direction, dart.tip, axis),
        crossing(b, after.curve.start_direction, dart.tip, axis),
    )
    reach = float(np.hypot(*(b - a)))
    points = [p for p in ends if p is not None and float(np.hypot(*(p - middle))) < reach]
    top = np.mean(points, axis=0) if points else middle
    if float((top - middle) @ axis) < 0:
        top = middle
    width = allowance_of(piece, before, settings)
    return [
        Sewn(leg.name, before.role, Curve.line(p, q), width)
        for leg, p, q in ((dart.into, a, top), (dart.out, top, b))
    ]
