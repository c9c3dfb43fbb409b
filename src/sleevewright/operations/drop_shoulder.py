"""`drop-shoulder`: part of the cap joins the bodice, below the shoulder."""

from collections.abc import Iterator
from typing import Annotated

from sleevewright.operations.contract import Length, Promise, about, operation
from sleevewright.operations.shoulder_tip import TipAsked, tip_promises, with_tips_out
from sleevewright.pattern import Pattern


@operation
class DropShoulder:
    """Run the shoulder on over the arm; a flatter cap is set into a lower, straighter armhole.

    What the shoulder gains the sleeve gives up, so that neck to wrist stays as long; the armhole
    comes down by half the extension, and the cap has little ease (common practice).
    """

    by: Annotated[Length, about("how far the shoulder runs on", at_least=15, at_most=110)] = 50.0
    drop: Annotated[
        Length, about("how far it curves down over the arm", at_least=0, at_most=25)
    ] = 9.0
    lower: Annotated[
        Length | None, about("how far the armhole comes down; half of by", at_least=0, at_most=120)
    ] = None
    ease: Annotated[Length, about("cap ease in all", at_least=0, at_most=12)] = 4.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Move the tips, draw the armhole anew and refit the sleeve."""
        return with_tips_out(pattern, self._asked())

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Both shoulders grow alike and the cap fits its armhole."""
        yield from tip_promises(before, after, self._asked())

    def _asked(self) -> TipAsked:
        lower = self.by / 2 if self.lower is None else self.lower
        return TipAsked(
            operation="drop-shoulder",
            out=self.by,
            drop=self.drop,
            lower=lower,
            ease=self.ease,
            whole=True,
        )
