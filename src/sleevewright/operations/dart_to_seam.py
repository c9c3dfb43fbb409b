"""`dart-to-seam`: a dart becomes part of a style seam that runs through its tip across the piece."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, FairingError, fair_curve
from sleevewright.operations.asking import as_role, asked_edges, asked_piece
from sleevewright.operations.contract import OperationError, Promise, Ratio, about, operation
from sleevewright.operations.cutting import as_part
from sleevewright.operations.darts import asked_dart, chain_from
from sleevewright.operations.marks import shared_marks
from sleevewright.operations.panels import with_balance_notches
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.pattern import Dart, Edge, EdgeUse, Pattern, Piece, Role, Seam
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.resewing import resewn

Array = NDArray[np.float64]

_BLEND = 50.0  # mm on either side of the tip; a seam over the bust has no corner


@operation
class DartToSeam:
    """Turn a dart into a style seam through its tip to another edge, as in a princess line.

    Where a dart opens on that edge too, the seam takes both in, tip to tip. The two edges are
    drawn fair over the tips and made equally long; the piece falls into two, named after the centre
    and the side.
    """

    to: Annotated[str, about("edge or role that the seam runs to, such as hem")] = "hem"
    at: Annotated[
        Ratio,
        about("where on it, as a part of its length from its start", at_least=0.1, at_most=0.9),
    ] = 0.5
    piece: Annotated[str, about("the piece")] = "front"
    dart: Annotated[str | None, about("role of the edge it opens on, where there are several")] = (
        None
    )

    def apply(self, pattern: Pattern) -> Pattern:
        """Cut the piece through its dart."""
        piece = asked_piece(pattern, self.piece)
        dart = asked_dart(piece, self.dart)
        other = self._other(piece, dart)
        chain = chain_from(piece.edges, dart.out.name)[1:-1]
        if other is None:
            ends = self._spot(piece, chain)
        else:
            at = [edge.name for edge in chain].index(other.into.name)
            ends = _Ends(chain[:at], chain[at + 2 :], (other.tip,), other.mouth)
        lines = _equally_long(
            [ends.mouth[0], *ends.tips, dart.tip, dart.mouth[1]],
            [dart.mouth[0], dart.tip, *ends.tips[::-1], ends.mouth[1]],
        )
        return _parted(pattern, piece, (ends.first, ends.second), lines)

    def _other(self, piece: Piece, dart: Dart) -> Dart | None:
        """Return the dart that opens on the edge where the seam shall end, if there is one."""
        wanted = as_role(self.to)
        others = (d for d in piece.darts() if d.into.name != dart.into.name)
        return next((d for d in others if str(d.on) == wanted), None)

    def _spot(self, piece: Piece, chain: tuple[Edge, ...]) -> "_Ends":
        edges = asked_edges(piece, self.to)
        if len(edges) != 1 or edges[0].role is Role.DART_LEG:
            raise OperationError(f"a style seam cannot end on {self.to} of {piece.name}")
        edge = edges[0]
        at = [e.name for e in chain].index(edge.name)
        before, after = edge.split_at(self.at * edge.length, (edge.name, edge.name))
        point = before.curve.end
        return _Ends((*chain[:at], before), (after, *chain[at + 1 :]), (), (point, point))

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The seam's edges are equal and nothing else of the piece has changed its length."""
        was = before[self.piece]
        parts = [after[name] for name in part_names(was)]
        seam = after.seam(f"{self.piece} style")
        one, other = (after.side_length(side) for side in (seam.first, seam.second))
        yield Promise("both edges of the seam", one, other, 0.1, seam.name)
        for role in sorted({e.role for e in was.edges} - {Role.DART_LEG, Role.STYLE_SEAM}):
            got = sum(part.length(role) for part in parts)
            yield Promise(f"{role} as it was", was.length(role), got, 0.01, self.piece)
        area = sum(part.area for part in parts)
        yield Promise("area, but for the blends", was.area, area, 0.01 * was.area, self.piece)


def part_names(piece: Piece) -> tuple[str, str]:
    """Return the names of the parts beside the centre and beside the side of a piece."""
    return f"{piece.name}_centre", f"{piece.name}_side"


@dataclass(frozen=True, slots=True)
class _Ends:
    """Where a seam from a dart ends, and the two chains it parts the outline into.

    Attributes:
        first, second: from the dart's mouth to the seam's end, and from there back.
        tips: of the dart that is taken in there, if there is one, shape (2,).
        mouth: where the first chain ends and the second begins, shapes (2,).
    """

    first: tuple[Edge, ...]
    second: tuple[Edge, ...]
    tips: tuple[Array, ...]
    mouth: tuple[Array, Array]


def _equally_long(one: list[Array], other: list[Array]) -> tuple[Curve, Curve]:
    """Return fair curves along two chains of points; the shorter is let out at a tip."""
    curves = [_fair(points) for points in (one, other)]
    target = max(curve.length for curve in curves)
    return (_fair(one, target), _fair(other, target))


def _fair(points: list[Array], length: float | None = None) -> Curve:
    """Return straight lines through points with fair curves over the corners.

    Args:
        points: shape (2,) each.
        length: of the whole; the sharpest bend is let out to it.

    Raises:
        OperationError: the bend cannot be let out so far.
    """
    lines = [Curve.line(a, b) for a, b in pairwise(points)]
    if len(lines) == 1:
        return lines[0]
    blend = min(_BLEND, *(0.4 * line.length for line in lines))
    cut = [
        line.between(blend if i else 0.0, line.length - (blend if i + 1 < len(lines) else 0.0))
        for i, line in enumerate(lines)
    ]
    bends = [
        fair_curve(a.end, b.start, a.end_direction, b.start_direction) for a, b in pairwise(cut)
    ]
    if length is not None:
        turns = [abs(turn_between(a.end_direction, b.start_direction)) for a, b in pairwise(cut)]
        i = int(np.argmax(turns))
        bends[i] = _let_out(bends[i], length - _joined(cut, bends).length)
    return _joined(cut, bends)


def _joined(lines: list[Curve], bends: list[Curve]) -> Curve:
    return Curve.joined(
        [lines[0], *(c for pair in zip(bends, lines[1:], strict=True) for c in pair)]
    )


def _let_out(bend: Curve, more: float) -> Curve:
    if more < 1e-7:
        return bend
    ends = (bend.start, bend.end, bend.start_direction, bend.end_direction)
    try:
        return fair_curve(*ends, bend.length + more)
    except FairingError as error:
        raise OperationError(
            f"the two edges of the style seam cannot be made equally long: {error}"
        ) from None


def _parted(
    pattern: Pattern,
    piece: Piece,
    chains: tuple[tuple[Edge, ...], tuple[Edge, ...]],
    lines: tuple[Curve, Curve],
) -> Pattern:
    """Return the pattern with a piece in two along the new seam."""
    centre = [any(e.role is Role.CENTRE for e in chain) for chain in chains]
    if sum(centre) != 1:
        raise OperationError(
            f"a style seam through {piece.name} must part its centre from its side; choose another"
            " edge for it to run to"
        )
    names = part_names(piece) if centre[0] else part_names(piece)[::-1]
    became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
        (piece.name, edge.name): () for edge in piece.edges
    }
    parts: list[Piece] = []
    uses: list[EdgeUse] = []
    for chain, line, name in zip(chains, lines, names, strict=True):
        style = Edge(name="", role=Role.STYLE_SEAM, curve=line)
        edges = with_standard_names((*chain, style))
        for old, new in zip(chain, edges[:-1], strict=True):
            became[piece.name, old.name] += ((name, new.name),)
        fold = next(
            (n.name for o, n in zip(chain, edges, strict=False) if o.name == piece.fold), ""
        )
        parts.append(as_part(piece, name, edges, fold))
        uses.append(EdgeUse(piece=name, edge=edges[-1].name, backwards=not uses))
    parts = shared_marks(piece, parts)
    pieces = [q for p in pattern.pieces for q in (parts if p.name == piece.name else [p])]
    seam = Seam(name=f"{piece.name} style", first=(uses[0],), second=(uses[1],))
    return with_balance_notches(resewn(pattern, pieces, became, (seam,)), seam.name)
