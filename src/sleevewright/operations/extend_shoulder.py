"""`extend-shoulder`: the shoulder a little longer, for a square or relaxed line."""

from collections.abc import Iterator
from typing import Annotated

from sleevewright.operations.contract import Length, Promise, about, operation
from sleevewright.operations.shoulder_tip import TipAsked, tip_promises, with_tips_out
from sleevewright.pattern import Pattern


@operation
class ExtendShoulder:
    """Extend the shoulder on front and back; armhole and cap follow, neck to wrist stays as long.

    The armhole is redrawn from the pitch point, square to the shoulder at its new tip; the crown
    comes down by as much as the shoulder grows (common practice).
    """

    by: Annotated[Length, about("how much longer", at_least=3, at_most=40)] = 15.0
    drop: Annotated[Length, about("how much lower the new tip is", at_least=0, at_most=15)] = 4.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Move the tips and refit the sleeve."""
        return with_tips_out(pattern, self._asked())

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Both shoulders grow alike and the cap fits its armhole."""
        yield from tip_promises(before, after, self._asked())

    def _asked(self) -> TipAsked:
        return TipAsked(
            operation="extend-shoulder",
            out=self.by,
            drop=self.drop,
            lower=0.0,
            ease=None,
            whole=False,
        )
