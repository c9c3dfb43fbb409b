"""`raise-cap` and `lower-cap`: another cap height, the width solved anew to the armhole."""

from collections.abc import Iterator
from typing import Annotated

from sleevewright.operations.asking import the_block
from sleevewright.operations.cap_shape import (
    EASE_PART,
    CapAsked,
    cap_height,
    with_armhole_eases,
    with_cap,
)
from sleevewright.operations.contract import Length, Promise, about, operation
from sleevewright.operations.sleeves import wrist_level, wrist_of
from sleevewright.pattern import Pattern, Piece, Role, Side, Sleeve

_EASE = "cap ease in all, 40 % of it on the front; the block's when left out"


@operation
class RaiseCap:
    """Make the cap higher and the sleeve narrower, so that it hangs closer and cleaner.

    Crown, wrist and sleeve length stay; the underarm points drop, and the width is solved anew so
    that each half of the cap still fits its armhole with the ease asked.
    """

    by: Annotated[Length, about("how much higher", at_least=1, at_most=80)]
    ease: Annotated[Length | None, about(_EASE, at_least=0, at_most=60)] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Draw the higher cap."""
        return _with_height(pattern, "raise-cap", self.by, self.ease)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Height as asked, cap fits, wrist and length kept."""
        yield from _promises(before, after, self.by, self.ease)


@operation
class LowerCap:
    """Make the cap lower and the sleeve wider, so that the arm can be lifted more freely.

    Crown, wrist and sleeve length stay; the underarm points come up, and the width is solved anew
    so that each half of the cap still fits its armhole with the ease asked.
    """

    by: Annotated[Length, about("how much lower", at_least=1, at_most=140)]
    ease: Annotated[Length | None, about(_EASE, at_least=0, at_most=60)] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Draw the lower cap."""
        return _with_height(pattern, "lower-cap", -self.by, self.ease)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Height as asked, cap fits, wrist and length kept."""
        yield from _promises(before, after, -self.by, self.ease)


def _with_height(pattern: Pattern, name: str, by: float, ease: float | None) -> Pattern:
    *_, sleeve = the_block(pattern, name)
    asked = CapAsked(lengths=_wanted(pattern, ease), level_up=-by, notches={})
    return with_armhole_eases(pattern.with_pieces([with_cap(sleeve, asked)]))


def _wanted(pattern: Pattern, ease: float | None) -> dict[Side, float]:
    if ease is None:
        return {side: pattern["sleeve"].length(Role.CAP, side) for side in Side}
    return {
        side: pattern[side.value].length(Role.ARMHOLE) + EASE_PART[side] * ease for side in Side
    }


def _promises(before: Pattern, after: Pattern, by: float, ease: float | None) -> Iterator[Promise]:
    was, now = before["sleeve"], after["sleeve"]
    yield Promise("cap height", cap_height(was) + by, cap_height(now), 0.01, "sleeve")
    for side, wanted in _wanted(before, ease).items():
        got = now.length(Role.CAP, side)
        yield Promise(f"{side} cap fits its armhole", wanted, got, 0.01, f"{side} armhole")
    ends = [wrist_of(piece).curve.chord for piece in (was, now)]
    yield Promise("wrist corners as far apart as before", ends[0], ends[1], 0.001, "wrist")
    seams = [now.length(Role.UNDERARM_SEAM, side) for side in Side]
    yield Promise("underarm seams", seams[0], seams[1], 0.01, "underarm")
    long, length = (_length(piece) for piece in (was, now))
    yield Promise("sleeve length", long, length, 0.01, "sleeve")


def _length(piece: Piece) -> float:
    crown = Sleeve(piece).crown @ piece.up
    return float(crown) - wrist_level(piece)
