"""`dart-pivot`: a dart, or a share of it, moved to another edge."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

from sleevewright.operations.asking import as_role, asked_edges, asked_piece
from sleevewright.operations.contract import (
    Length,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
)
from sleevewright.operations.darts import (
    angle_about,
    asked_dart,
    pivot_dart,
    with_piece_resewn,
    with_tips_back,
)
from sleevewright.pattern import Dart, Edge, Pattern, Piece, Role

_NEAR = 15.0  # mm; a dart nearer to a corner leaves no edge to sew
_SAME_PLACE = 0.1  # mm; a dart as near to where it shall go is there


@operation
class DartPivot:
    """Move a dart about its tip to another edge, whole or in part.

    The part of the piece between the old place and the new one turns about the tip: its edges and
    the area stay, the angle moves. A dart that opens on that edge already moves along it.
    """

    to: Annotated[str, about("edge or role that the dart opens on then, such as shoulder")]
    at: Annotated[
        Ratio, about("where on it, as a part of its length from its start", at_least=0, at_most=1)
    ] = 0.5
    share: Annotated[Ratio, about("how much of the dart", at_least=0.05, at_most=1)] = 1.0
    piece: Annotated[str, about("the piece")] = "front"
    short: Annotated[
        Length,
        about("how far tips stand back from where a dart moved in part", at_least=10, at_most=60),
    ] = 25.0
    dart: Annotated[
        str | None, about("role of the edge it opens on now, where there are several")
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Pivot the dart."""
        piece = asked_piece(pattern, self.piece)
        dart = asked_dart(piece, self.dart)
        edges = self._opens_on(piece, dart)
        if any(edge.role in (Role.DART_LEG, Role.CENTRE) for edge in edges):
            raise OperationError(f"a dart cannot open on {edges[0].name} of {piece.name}")
        total = sum(edge.length for edge in edges)
        station = self.at * total
        if not _NEAR < station < total - _NEAR:
            least = _NEAR / total
            raise OperationError(
                f"a dart at {self.at:.0%} of {self.to} of {piece.name} is nearer than {_NEAR:.0f} mm"
                f" to a corner; at may be {least:.0%} to {1 - least:.0%}"
            )
        edge, moved = edges[0], abs(station - edges[0].length)
        if len(edges) > 1 and moved < _NEAR:
            if self.share == 1.0 and moved < _SAME_PLACE:
                return pattern
            if self.share < 1.0:
                raise OperationError(
                    f"the dart opens {moved:.0f} mm from there already; a share of it goes"
                    f" {_NEAR:.0f} mm away at the least: give another at"
                )
        if station > edge.length:
            edge, station = edges[-1], station - edge.length
        pivoted = pivot_dart(piece, dart, edge.name, station, self.share)
        if self.share < 1.0:  # two darts cannot share one tip
            pivoted = replace(pivoted, piece=with_tips_back(pivoted.piece, self.short))
        return with_piece_resewn(pattern, pivoted)

    def _opens_on(self, piece: Piece, dart: Dart) -> tuple[Edge, ...]:
        """Return the edge that is asked for: one, or the two that the dart parts on either side of it."""
        before, _ = piece.neighbours(dart.into.name)
        _, after = piece.neighbours(dart.out.name)
        role = as_role(self.to)
        parted = before.role is after.role and len(piece.with_role(after.role)) == 2
        if parted and str(after.role) == role:
            return before, after
        edges = asked_edges(piece, self.to)
        if len(edges) > 1:
            raise OperationError(
                f"{self.to} of {piece.name} is in {len(edges)} parts; name one of"
                f" {', '.join(edge.name for edge in edges)}"
            )
        return edges

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The angle is kept about the old tip, legs are equal, edges as long as they were."""
        was, now = before[self.piece], after[self.piece]
        apex = asked_dart(was, self.dart).tip
        others = sum(d.angle for d in was.darts()) - asked_dart(was, self.dart).angle
        if not others:
            wanted, got = (sum(angle_about(d, apex) for d in p.darts()) for p in (was, now))
            yield Promise("the angle seen from the old tip", wanted, got, 0.001, self.piece)
        for dart in now.darts():
            yield Promise("dart legs", dart.into.length, dart.out.length, 0.1, dart.into.name)
        for role in sorted({edge.role for edge in was.edges} - {Role.DART_LEG}):
            yield Promise(
                f"{role} as long as before", was.length(role), now.length(role), 0.001, self.piece
            )
