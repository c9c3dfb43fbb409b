"""`taper-cuff`: the wrist made narrower (or wider), taken evenly from the seams."""

from collections.abc import Iterator
from typing import Annotated, Literal

from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.sleeves import biceps_level, sleeve_pieces, wrist_level
from sleevewright.operations.wrist_width import eased, with_wrist
from sleevewright.pattern import Pattern, Role


@operation
class TaperCuff:
    """Taper the sleeve to a wrist, evenly from its seams, from a level down.

    Give `to` (the whole wrist) or `by` (the change; negative is narrower). The seams stay fair, keep
    their lengths and leave their old place without a corner.
    """

    to: Annotated[Length | None, about("the whole wrist", at_least=80, at_most=1200)] = None
    by: Annotated[
        Length | None, about("the change; negative is narrower", at_least=-400, at_most=400)
    ] = None
    level: Annotated[Literal["biceps", "elbow"], about("where the taper begins")] = "biceps"
    hand: Annotated[
        Length | None,
        about("the hand's girth, which the wrist must pass", at_least=100, at_most=400),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Taper every sleeve piece by its share."""
        pieces = sleeve_pieces(pattern)
        total = sum(piece.length(Role.WRIST) for piece in pieces)
        change = self._wanted(total) - total
        tapered = []
        for piece in pieces:
            top = biceps_level(piece)
            if self.level == "elbow":
                top = (top + wrist_level(piece)) / 2
            length = piece.length(Role.WRIST) + change / len(pieces)
            tapered.append(with_wrist(piece, length, top, eased, fall=False))
        return pattern.with_pieces(tapered)

    def _wanted(self, total: float) -> float:
        if (self.to is None) == (self.by is None):
            raise OperationError("taper-cuff wants either to or by")
        wanted = self.to if self.to is not None else total + (self.by or 0.0)
        if wanted < 80.0:
            raise OperationError(
                f"a wrist of {wanted:.1f} mm is asked of {total:.1f} mm; 80 mm at the least"
            )
        return wanted

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The wrist is as asked and the seams keep their lengths."""
        total = sum(piece.length(Role.WRIST) for piece in sleeve_pieces(before))
        got = sum(piece.length(Role.WRIST) for piece in sleeve_pieces(after))
        yield Promise("wrist as asked", self._wanted(total), got, 0.1, "wrist")
        yield from seams_kept(before, after)
        if self.hand is not None:
            yield Promise(
                "wrist passes the hand", max(self.hand, got), got, 0.5, "wrist",
                advice="a placket or elastic is needed",
            )  # fmt: skip


def seams_kept(before: Pattern, after: Pattern) -> Iterator[Promise]:
    """Promise that underarm and overarm seams are as long as before."""
    for piece in sleeve_pieces(before):
        for edge in piece.edges:
            if edge.role in (Role.UNDERARM_SEAM, Role.OVERARM_SEAM):
                yield Promise(
                    f"{piece.name} {edge.name} as long as before",
                    edge.length,
                    after[piece.name][edge.name].length,
                    0.1,
                    f"{piece.name}.{edge.name}",
                )
