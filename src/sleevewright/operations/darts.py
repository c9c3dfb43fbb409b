"""Darts moved out of the way: pivoted about the tip, or closed.

Pivoting closes a dart at its mouth and opens it at another place of the outline: the part of the
piece between the two turns about the dart tip by the dart's angle. Every length of the part that
turns is kept, and so are the legs' equality and the area (TRADE-NOTES 5.8).
"""

from dataclasses import replace

from sleevewright.geometry import Affine, Curve
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.pattern import Dart, Edge, Piece, Role
from sleevewright.pattern.naming import with_standard_names


def pivot_dart(piece: Piece, dart: Dart, edge_name: str, station: float) -> Piece:
    """Close a dart and open it at a station of another edge.

    Args:
        piece: the piece the dart is in.
        dart: one of its darts.
        edge_name: the edge that the dart shall open on.
        station: where on that edge, mm from its start in outline order.

    Returns:
        The piece with standard edge names. The part that turns is the one without a centre edge.

    Raises:
        ValueError: the station is not inside the edge.
    """
    lower, upper = piece[edge_name].split_at(station, (edge_name, edge_name))
    rest = _from(piece, dart.out.name)[1:-1]  # from the mouth round to the mouth, legs left out
    at = [edge.name for edge in rest].index(edge_name)
    forward, onward = (*rest[:at], lower), (upper, *rest[at + 1 :])
    turns_forward = not any(edge.role is Role.CENTRE for edge in forward)
    start, end = dart.mouth  # outline order: into the dart, out of it
    angle = turn_between(end - dart.tip, start - dart.tip)
    turn = Affine.rotation(angle if turns_forward else -angle, dart.tip)
    if turns_forward:
        forward = tuple(edge.transformed(turn) for edge in forward)
    else:
        onward = tuple(edge.transformed(turn) for edge in onward)
    into = replace(dart.into, curve=Curve.line(forward[-1].curve.end, dart.tip), notches=())
    out = replace(dart.out, curve=Curve.line(dart.tip, onward[0].curve.start), notches=())
    if onward[-1].role is forward[0].role:  # the closed mouth is inside one edge now
        onward, forward = (*onward[:-1], join_edges(onward[-1], forward[0])), forward[1:]
    chain = (out, *onward, *forward, into)
    return replace(piece, edges=with_standard_names(chain), finish=None)


def join_edges(first: Edge, second: Edge) -> Edge:
    """Return two edges that meet as one, notches kept; the second is shifted to close rounding."""
    shift = Affine.translation(first.curve.end - second.curve.start)
    curve = Curve.joined([first.curve, second.curve.transformed(shift)])
    run = first.length
    notches = (*first.notches, *(replace(n, at=n.at + run) for n in second.notches))
    return replace(first, curve=curve, notches=notches)


def _from(piece: Piece, name: str) -> tuple[Edge, ...]:
    """Return the outline from the named edge round to the one before it."""
    at = [edge.name for edge in piece.edges].index(name)
    return piece.edges[at:] + piece.edges[:at]
