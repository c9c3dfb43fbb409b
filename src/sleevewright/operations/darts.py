"""Darts moved or taken out: pivoted about the tip, whole or in part.

Pivoting closes a dart at its mouth and opens it at another place of the outline: the part of the
piece between the two turns about the dart tip. Every length of the part that turns is kept, and so
are the legs' equality and the area.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.operations.asking import as_role
from sleevewright.operations.contract import OperationError
from sleevewright.operations.marks import Marks
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.pattern import Dart, Edge, EdgeUse, Pattern, Piece, Role, Seam
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.resewing import Became, resewn

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pivoted:
    """A piece with a dart pivoted.

    Attributes:
        piece: as it is now, edges with standard names.
        became: where the edges of the piece went.
    """

    piece: Piece
    became: Became


def pivot_dart(
    piece: Piece, dart: Dart, edge_name: str, station: float, share: float = 1.0
) -> Pivoted:
    """Close a dart, or a share of it, and open as much at a station of another edge.

    Args:
        piece: the piece the dart is in.
        dart: one of its darts.
        edge_name: the edge that the dart shall open on.
        station: where on that edge, mm from its start in outline order.
        share: of the dart's angle, above 0 and up to 1.

    The part that turns is the one without a centre edge, with what is marked on it. Where the dart
    closes wholly, its legs go and the edges that it parted are one again.

    Raises:
        ValueError: the station is not inside the edge.
    """
    lower, upper = piece[edge_name].split_at(station, (edge_name, edge_name))
    rest = chain_from(piece.edges, dart.out.name)[1:-1]  # round from mouth to mouth, legs left out
    at = [edge.name for edge in rest].index(edge_name)
    forward, onward = (*rest[:at], lower), (upper, *rest[at + 1 :])
    start, end = dart.mouth  # outline order: into the dart, out of it
    angle = share * turn_between(end - dart.tip, start - dart.tip)
    into, out = dart.into, dart.out
    marks, opened = Marks.of(piece), Curve.line(lower.curve.end, dart.tip)
    before = marks.within((out.curve, *(edge.curve for edge in forward), opened))
    after = marks.within((opened.reversed, *(edge.curve for edge in onward), into.curve))
    if any(edge.role is Role.CENTRE for edge in forward):
        turn = Affine.rotation(-angle, dart.tip)
        onward = tuple(edge.transformed(turn) for edge in onward)
        into, after = into.transformed(turn), after.transformed(turn)
    else:
        turn = Affine.rotation(angle, dart.tip)
        forward = tuple(edge.transformed(turn) for edge in forward)
        out, before = out.transformed(turn), before.transformed(turn)
    legs = (
        _leg("new into", forward[-1].curve.end, dart.tip),
        _leg("new out", dart.tip, onward[0].curve.start),
    )
    chain = (out, *forward, *legs, *onward, into)
    if share >= 1.0 - 1e-9:
        chain = closed_at_seam(chain[1:-1])
    while chain[0].role is Role.DART_LEG:  # a run that a dart parts is numbered from its beginning
        chain = (chain[-1], *chain[:-1])
    return named_anew((before + after).on(piece), chain)


def closed_at_seam(chain: Sequence[Edge]) -> tuple[Edge, ...]:
    """Return an open chain whose ends meet as a closed one; ends of one role become one edge."""
    first, last = chain[0], chain[-1]
    if first.role is last.role and first.side is last.side:
        return (*chain[1:-1], join_edges(last, first))
    shift = Affine.translation(last.curve.end - first.curve.start)
    return (first.transformed(shift) if _tiny(shift) else first, *chain[1:])


def _tiny(shift: Affine) -> bool:
    return bool(abs(shift.apply((0.0, 0.0))).max() < 1e-3)


def _leg(name: str, start: object, end: object) -> Edge:
    return Edge(name=name, role=Role.DART_LEG, curve=Curve.line(start, end))  # type: ignore[arg-type]


def named_anew(piece: Piece, chain: tuple[Edge, ...]) -> Pivoted:
    """Return a piece with another outline, its edges with standard names.

    Args:
        piece: as it was.
        chain: the outline; edges keep their old names, or "one+other" where two became one.
    """
    edges = with_standard_names(chain)
    became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
        (piece.name, edge.name): () for edge in piece.edges
    }
    for old, new in zip(chain, edges, strict=True):
        for name in old.name.split("+"):
            key = (piece.name, name)
            if key in became:
                became[key] = (*became[key], (piece.name, new.name))
    fold = next(
        (n.name for o, n in zip(chain, edges, strict=True) if piece.fold and o.name == piece.fold),
        "",
    )
    return Pivoted(replace(piece, edges=edges, fold=fold, finish=None), became)


def join_edges(first: Edge, second: Edge) -> Edge:
    """Return two edges that meet as one, notches kept; the second is shifted to close rounding.

    Its name holds both ("armhole.1+armhole.2") until it is named anew.
    """
    shift = Affine.translation(first.curve.end - second.curve.start)
    curve = Curve.joined([first.curve, second.curve.transformed(shift)])
    run = first.length
    notches = (*first.notches, *(replace(n, at=n.at + run) for n in second.notches))
    return replace(first, name=f"{first.name}+{second.name}", curve=curve, notches=notches)


def chain_from(edges: tuple[Edge, ...], name: str) -> tuple[Edge, ...]:
    """Return an outline from the named edge round to the one before it."""
    at = [edge.name for edge in edges].index(name)
    return edges[at:] + edges[:at]


def with_tips_back(piece: Piece, by: float) -> Piece:
    """Return a piece with the tip of every dart set back towards its mouth, legs straight.

    Args:
        piece: the piece.
        by: along the middle line of the dart, mm.

    Raises:
        OperationError: a dart is not that long.
    """
    changed = []
    for dart in piece.darts():
        middle = (dart.mouth[0] + dart.mouth[1]) / 2 - dart.tip
        reach = float((middle @ middle) ** 0.5)
        if by > 0.7 * reach:
            raise OperationError(
                f"a dart of {piece.name} is {reach:.0f} mm long; its tip can be set back by up to"
                f" {0.7 * reach:.0f} mm, not {by:.0f}"
            )
        tip = dart.tip + by * middle / reach
        changed += [
            replace(dart.into, curve=Curve.line(dart.into.curve.start, tip), notches=()),
            replace(dart.out, curve=Curve.line(tip, dart.out.curve.end), notches=()),
        ]
    return replace(piece.with_edges(changed), finish=None)


def angle_about(dart: Dart, point: Array) -> float:
    """Return the angle under which a point sees a dart's mouth, degrees."""
    start, end = dart.mouth
    return abs(turn_between(start - point, end - point))


# --- darts that recipes ask for, and their seams ----------------------------------------------


def asked_dart(piece: Piece, on: str | None) -> Dart:
    """Return the dart that opens on an edge of a role, or the only one.

    Raises:
        OperationError: there is none, or several where none is named.
    """
    darts = tuple(piece.darts())
    if not darts:
        raise OperationError(
            f"{piece.name} has no dart; the step is for a block that has one there"
        )
    if on is None and len(darts) > 1:
        raise OperationError(
            f"{piece.name} has darts on {', '.join(str(d.on) for d in darts)}; say which with dart"
        )
    for dart in darts:
        if on is None or str(dart.on) == as_role(on):
            return dart
    raise OperationError(
        f"{piece.name} has no dart on {on!r}; it has one on {', '.join(str(d.on) for d in darts)}"
    )


def with_piece_resewn(pattern: Pattern, pivoted: Pivoted, added: Sequence[Seam] = ()) -> Pattern:
    """Return the pattern with a changed piece; seams follow its edges, every dart is a seam."""
    name = pivoted.piece.name
    pieces = [pivoted.piece if piece.name == name else piece for piece in pattern.pieces]
    moved = resewn(pattern, pieces, pivoted.became, added)
    others = tuple(s for s in moved.seams if not _is_dart_of(moved, s, name))
    return replace(moved, seams=(*others, *dart_seams(pivoted.piece)))


def _is_dart_of(pattern: Pattern, seam: Seam, name: str) -> bool:
    return all(
        use.piece == name and pattern[name][use.edge].role is Role.DART_LEG for use in seam.uses
    )


def dart_seams(piece: Piece) -> tuple[Seam, ...]:
    """Return the seams that a piece's darts are, each leg walked from the mouth to the tip."""
    darts = tuple(piece.darts())
    return tuple(
        Seam(
            name=f"{piece.name} dart" if len(darts) == 1 else f"{piece.name} dart {i + 1}",
            first=(EdgeUse(piece=piece.name, edge=dart.out.name, backwards=True),),
            second=(EdgeUse(piece=piece.name, edge=dart.into.name),),
        )
        for i, dart in enumerate(darts)
    )
