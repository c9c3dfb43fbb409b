"""`flare`: the wrist opened evenly from the biceps line, as by many slash lines."""

from collections.abc import Iterator
from typing import Annotated

from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.sleeves import biceps_level, sleeve_pieces
from sleevewright.operations.taper import seams_kept
from sleevewright.operations.wrist_width import flared, with_wrist
from sleevewright.pattern import Pattern, Role


@operation
class Flare:
    """Flare the sleeve from the biceps line to the wrist; the cap stays as it is.

    The limit of many slash lines from the wrist to hinges on the biceps line, opened evenly. The
    wrist falls in a curve that is square to every seam, and grows by exactly what is asked.
    """

    to: Annotated[Length | None, about("the whole wrist", at_least=100, at_most=2000)] = None
    by: Annotated[Length | None, about("what the wrist gains", at_least=0, at_most=1200)] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Flare every sleeve piece by its share."""
        pieces = sleeve_pieces(pattern)
        total = sum(piece.length(Role.WRIST) for piece in pieces)
        gain = (self._wanted(total) - total) / len(pieces)
        if gain < 0:
            raise OperationError(
                f"a flare to {self.to:.1f} mm is narrower than the wrist, {total:.1f} mm;"
                " taper-cuff narrows it"
            )
        return pattern.with_pieces(
            with_wrist(
                piece, piece.length(Role.WRIST) + gain, biceps_level(piece), flared, fall=True
            )
            for piece in pieces
        )

    def _wanted(self, total: float) -> float:
        if (self.to is None) == (self.by is None):
            raise OperationError("flare wants either to or by")
        return self.to if self.to is not None else total + (self.by or 0.0)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The wrist grows by what is asked; cap and seams keep their lengths."""
        total = sum(piece.length(Role.WRIST) for piece in sleeve_pieces(before))
        got = sum(piece.length(Role.WRIST) for piece in sleeve_pieces(after))
        yield Promise("wrist as asked", self._wanted(total), got, 0.1, "wrist")
        for role in (Role.CAP, Role.RAGLAN_SEAM):
            was = sum(piece.length(role) for piece in sleeve_pieces(before))
            now = sum(piece.length(role) for piece in sleeve_pieces(after))
            yield Promise(f"{role} as it was", was, now, 0.0001, str(role))
        yield from seams_kept(before, after)
