"""`raglan`: a set-in sleeve becomes a raglan sleeve, by transferred sections."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.region import signed_area
from sleevewright.operations import raglan_promises
from sleevewright.operations.asking import plain_sleeve, the_block
from sleevewright.operations.cap_ease import Cap, lowered_cap
from sleevewright.operations.contract import OperationError, Promise, operation
from sleevewright.operations.raglan_bodice import following, with_darts_clear, with_seam_notches
from sleevewright.operations.raglan_halves import HalfSleeve
from sleevewright.operations.raglan_lines import Asked, Line, Path, raglan_path
from sleevewright.operations.raglan_settings import RaglanSettings
from sleevewright.operations.raglan_sleeve import make_sleeve
from sleevewright.operations.sections import (
    Section,
    cut_section,
    fullness_as_ease,
    fullness_closed,
    fullness_into_line,
)
from sleevewright.pattern import (
    HalfBodice,
    Pattern,
    Piece,
    Role,
    Side,
    Sleeve,
    standard_seams,
)

Array = NDArray[np.float64]
T = TypeVar("T")


@operation
class Raglan(RaglanSettings):
    """Turn a set-in sleeve into a raglan sleeve by transferring sections of the bodice.

    A design line is drawn from the neck to the armhole on front and back; what lies between it and
    the shoulder is cut off the bodice and grown onto the sleeve. Below the pitch point the sleeve
    stays what it was. Cap ease is taken out first, shoulder fullness and bust darts are moved out
    of the way, and both raglan seams come out equal.
    """

    def apply(self, pattern: Pattern) -> Pattern:
        """Convert the pattern; see the class."""
        *_, block_sleeve = the_block(pattern, "raglan")
        plain_sleeve(block_sleeve, "raglan")
        pattern = with_darts_clear(pattern, self.bust_dart)
        halves = {side: HalfBodice(pattern[side.value], side) for side in Side}
        paths = {side: self._path(halves[side]) for side in Side}
        sections, bodice = {}, {}
        for side in Side:
            sections[side], bodice[side] = cut_section(halves[side], paths[side])
        cut = sum(abs(signed_area(section.outline)) for section in sections.values())
        sections, overarm_ease = self._balanced(sections)
        closed = cut - sum(abs(signed_area(section.outline)) for section in sections.values())
        sleeve = Sleeve(pattern["sleeve"])
        cap = self._cap(sleeve, halves)
        made = make_sleeve(
            self,
            sleeve,
            {s: HalfSleeve(s, sections[s], paths[s], cap[s], sleeve) for s in Side},
        )
        was = sum(piece.area for piece in bodice.values())
        bodice = {side: following(bodice[side], side, made.longer[side]) for side in Side}
        trued = was - sum(piece.area for piece in bodice.values())
        pieces = (
            *(with_seam_notches(bodice[side], side, paths[side]) for side in Side),
            *made.pieces,
        )
        eases = {f"{side} raglan": self.raglan_ease for side in Side}
        eases["shoulder"] = _shoulder_difference(bodice)
        eases["overarm"] = overarm_ease
        facts = (
            ("raglan.crown_lowered_mm", cap.lowered),
            ("raglan.lowered_mm2", cap.area_lost),
            ("raglan.shoulder_mm2", closed),
            ("raglan.trued_mm2", trued),
            *made.facts,
        )
        return replace(pattern, pieces=pieces, seams=standard_seams(pieces, eases)).with_facts(
            facts
        )

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Say what the result is measured to keep; see `raglan_promises`."""
        yield from raglan_promises.promises(self, before, after)

    # --- steps ----------------------------------------------------------------------------

    def _path(self, half: HalfBodice) -> Path:
        asked = self.front if half.side is Side.FRONT else self.back
        return raglan_path(half, Line(self.line), Asked(asked.neck_drop, asked.pitch, asked.bow))

    def _balanced(self, sections: dict[Side, Section]) -> tuple[dict[Side, Section], float]:
        """Make both shoulders equal; return the sections and the ease left on the overarm seam."""
        lengths = {s: sum(e.length for e in sections[s].of(Role.SHOULDER)) for s in Side}
        darted = [s for s in Side if any(e.role is Role.DART_LEG for e in sections[s].edges)]
        longer = max(Side, key=lambda s: (s in darted, lengths[s]))
        other = Side.BACK if longer is Side.FRONT else Side.FRONT
        wanted = min(lengths.values())
        if longer not in darted and abs(lengths[longer] - wanted) < 0.02:
            return sections, 0.0
        if self.back_shoulder == "ease":
            if self.sleeve == "one-piece":
                raise OperationError(
                    "back_shoulder: ease needs an overarm seam; a one-piece sleeve closes its"
                    " shoulder dart, whose legs are equal: ask for raglan or closed"
                )
            eased = {s: fullness_as_ease(sections[s]) for s in Side}
            difference = eased[Side.BACK].shoulder.length - eased[Side.FRONT].shoulder.length
            return eased, difference
        how = fullness_into_line if self.back_shoulder == "raglan" else fullness_closed
        return {
            longer: how(sections[longer], wanted),
            other: sections[other],
        }, 0.0

    def _cap(self, sleeve: Sleeve, halves: dict[Side, HalfBodice]) -> "PreparedCap":
        """Return both halves of the cap from the underarm point, ease taken out if asked."""
        whole = {side: sleeve.run(Role.CAP, side) for side in Side}
        if self.cap_ease == "keep":
            return PreparedCap(whole, whole, 0.0)
        lower, upper, wanted = {}, {}, {}
        for side in Side:
            pitch = halves[side].pitch
            armhole = halves[side].run(Role.ARMHOLE).length
            lower[side], upper[side] = whole[side].split_at(pitch)
            wanted[side] = min(armhole - pitch + self.residual_ease, upper[side].length)
        cap = Cap(upper[Side.FRONT], upper[Side.BACK])
        up = sleeve.piece.up
        low = lowered_cap(cap, up, wanted[Side.FRONT], wanted[Side.BACK])
        new = {
            Side.FRONT: Curve.joined([lower[Side.FRONT], low.front]),
            Side.BACK: Curve.joined([lower[Side.BACK], low.back]),
        }
        return PreparedCap(new, whole, float((cap.crown - low.crown) @ up))


@dataclass(frozen=True, slots=True)
class PreparedCap:
    """Both halves of the cap, from the underarm point to the crown, ready for the sections.

    Attributes:
        halves: after ease was taken out.
        whole: as they were.
        lowered: by how much the crown came down, mm.
    """

    halves: dict[Side, Curve]
    whole: dict[Side, Curve]
    lowered: float

    def __getitem__(self, side: Side) -> Curve:
        return self.halves[side]

    @property
    def area_lost(self) -> float:
        """Cloth between the cap as it was and as it is, mm2."""
        before, after = (
            signed_area((halves[Side.FRONT], halves[Side.BACK].reversed))
            for halves in (self.whole, self.halves)
        )
        return abs(before - after)


def _shoulder_difference(bodice: dict[Side, Piece]) -> float:
    back, front = bodice[Side.BACK], bodice[Side.FRONT]
    return back.length(Role.SHOULDER) - front.length(Role.SHOULDER)
