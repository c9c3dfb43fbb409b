"""`raglan`: a set-in sleeve becomes a raglan sleeve, by transferred sections."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve, find_root
from sleevewright.geometry.region import signed_area
from sleevewright.operations import raglan_promises
from sleevewright.operations.asking import plain_sleeve, the_block
from sleevewright.operations.cap_ease import Cap, CapEaseError, lowered_cap
from sleevewright.operations.contract import (
    Length,
    OperationError,
    Promise,
    about,
    operation,
    settings,
)
from sleevewright.operations.darts import pivot_dart
from sleevewright.operations.raglan_lines import Asked, Line, LineError, Path, raglan_path
from sleevewright.operations.raglan_seam import MOST_BOW, LineBend, SleeveError
from sleevewright.operations.raglan_sleeve import HalfSleeve, make_sleeve
from sleevewright.operations.sections import (
    Section,
    SectionError,
    cut_section,
    fullness_as_ease,
    fullness_closed,
    fullness_into_line,
)
from sleevewright.operations.underarm import RefitError
from sleevewright.pattern import (
    HalfBodice,
    Notch,
    NotchKind,
    Pattern,
    Piece,
    Role,
    Side,
    Sleeve,
    standard_seams,
)

Array = NDArray[np.float64]
T = TypeVar("T")


@settings
class HalfLine:
    """The raglan line on one half; what is left out takes the usual of the line asked."""

    neck_drop: Annotated[
        Length | None,
        about(
            "where the line leaves, from the shoulder-neck point along the neckline"
            " (yoke: down the centre; half: along the shoulder)",
            at_least=0,
            at_most=300,
        ),
    ] = None
    pitch: Annotated[
        Length | None,
        about(
            "where it meets the armhole, from the underarm point along the armhole"
            " (deep: down the side seam)",
            at_least=0,
            at_most=400,
        ),
    ] = None
    bow: Annotated[
        Length | None, about("how far it bows towards the shoulder", at_least=0, at_most=40)
    ] = None


@operation
class Raglan:
    """Turn a set-in sleeve into a raglan sleeve by transferring sections of the bodice.

    A design line is drawn from the neck to the armhole on front and back; what lies between it and
    the shoulder is cut off the bodice and grown onto the sleeve. Below the pitch point the sleeve
    stays what it was. Cap ease is taken out first, shoulder fullness and bust darts are moved out
    of the way, and both raglan seams come out equal.
    """

    line: Annotated[
        Literal["classic", "saddle", "yoke", "half", "deep"],
        about("where the line begins and ends"),
    ] = "classic"
    front: Annotated[HalfLine, about("the line on the front")] = HalfLine()
    back: Annotated[HalfLine, about("the line on the back")] = HalfLine()
    sleeve: Annotated[
        Literal["two-piece", "one-piece", "gathered"],
        about("overarm seam, shoulder dart, or fullness gathered into the neckline"),
    ] = "two-piece"
    cap_ease: Annotated[
        Literal["remove", "keep"], about("whether the cap is lowered to lose its ease first")
    ] = "remove"
    residual_ease: Annotated[
        Length, about("ease left in each half of the upper cap", at_least=0, at_most=6)
    ] = 3.0
    placement: Annotated[
        Literal["pitch", "crown", "fit"],
        about(
            "how sections are laid on the sleeve: held at the pitch point, at the crown, or fitted"
        ),
    ] = "pitch"
    crown_gap: Annotated[
        Length,
        about("how far the tips stand above the crown (placement: crown)", at_least=0, at_most=20),
    ] = 10.0
    overarm_blend: Annotated[
        Length,
        about(
            "how far below the crown the overarm meets the centre line", at_least=60, at_most=250
        ),
    ] = 120.0
    dart_length: Annotated[
        Length, about("of the shoulder dart below the crown (one-piece)", at_least=60, at_most=130)
    ] = 90.0
    raglan_ease: Annotated[
        Length, about("how much longer the sleeve's raglan seam is", at_least=0, at_most=6)
    ] = 0.0
    back_shoulder: Annotated[
        Literal["raglan", "ease", "closed"],
        about("where the longer back shoulder (or its dart) goes"),
    ] = "raglan"
    bust_dart: Annotated[
        Length,
        about(
            "where a bust dart in the way is moved to: down the side seam from the underarm point",
            at_least=20,
            at_most=300,
        ),
    ] = 75.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Convert the pattern; see the class."""
        *_, block_sleeve = the_block(pattern, "raglan")
        plain_sleeve(block_sleeve, "raglan")
        pattern = with_darts_clear(pattern, self)
        halves = {side: HalfBodice(pattern[side.value], side) for side in Side}
        paths = {side: self._path(halves[side]) for side in Side}
        sections, bodice = {}, {}
        for side in Side:
            sections[side], bodice[side] = in_words(cut_section, halves[side], paths[side])
        cut = sum(abs(signed_area(section.outline)) for section in sections.values())
        sections, overarm_ease = self._balanced(sections)
        closed = cut - sum(abs(signed_area(section.outline)) for section in sections.values())
        sleeve = Sleeve(pattern["sleeve"])
        cap = self._cap(sleeve, halves)
        made = in_words(
            make_sleeve,
            self,
            sleeve,
            {
                side: HalfSleeve(side, sections[side], paths[side], cap[side], sleeve)
                for side in Side
            },
        )
        was = sum(piece.area for piece in bodice.values())
        bodice = {side: _following(bodice[side], side, made.longer[side]) for side in Side}
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
        return in_words(
            raglan_path, half, Line(self.line), Asked(asked.neck_drop, asked.pitch, asked.bow)
        )

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
            longer: in_words(how, sections[longer], wanted),
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
        try:
            low = lowered_cap(cap, up, wanted[Side.FRONT], wanted[Side.BACK])
        except CapEaseError as error:
            raise OperationError(str(error)) from None
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


def with_darts_clear(pattern: Pattern, raglan: Raglan) -> Pattern:
    """Move a bust dart on shoulder, neckline or armhole of the front to the side seam.

    Raises:
        OperationError: the place asked is not on the side seam.
    """
    for name in ("front", "back", "sleeve"):
        if name not in pattern:
            raise OperationError(
                f"raglan needs a front, a back and a sleeve; there is no {name}"
                f" among {[piece.name for piece in pattern.pieces]}"
            )
    front = pattern["front"]
    in_the_way = (Role.SHOULDER, Role.NECKLINE, Role.ARMHOLE)
    while True:
        dart = next((d for d in front.darts() if d.on in in_the_way), None)
        if dart is None:
            return pattern.with_pieces([front]) if front is not pattern["front"] else pattern
        pattern = replace(pattern, seams=())
        side = front.with_role(Role.SIDE_SEAM)[0]
        if not raglan.bust_dart < side.length - 20.0:
            raise OperationError(
                f"the bust dart cannot be moved {raglan.bust_dart:.0f} mm down a side seam of"
                f" {side.length:.0f} mm; bust_dart may be 20 to {side.length - 20:.0f} mm"
            )
        front = pivot_dart(front, dart, side.name, raglan.bust_dart).piece


def _following(piece: Piece, side: Side, longer: float) -> Piece:
    """Bow the bodice's raglan seam until it is as much longer as the sleeve's came out.

    What is trued on one partner is trued on the other.
    """
    if longer <= 0.0:
        return piece
    edge = piece.with_role(Role.RAGLAN_SEAM)[0]
    bend = LineBend(edge.curve, 0.0, edge.length)
    wanted = edge.length + longer
    ends = {sign * MOST_BOW: bend.length(sign * MOST_BOW) for sign in (1.0, -1.0)}
    far = max(ends, key=lambda move: ends[move])
    if ends[far] < wanted:
        raise OperationError(
            f"the {side} raglan seam cannot be trued: the sleeve's is {longer:.1f} mm longer"
        )
    move = find_root(lambda m: bend.length(m) - wanted, 0.0, far)
    return piece.with_edges([replace(edge, curve=Curve(bend.controls(move)))])


def with_seam_notches(piece: Piece, side: Side, path: Path) -> Piece:
    """Mark the middle of the bodice's raglan seam and, where it ends on the armhole, P."""
    edge = piece.with_role(Role.RAGLAN_SEAM)[0]
    total = edge.length
    kind = NotchKind.SINGLE if side is Side.FRONT else NotchKind.DOUBLE
    from_neck = {f"{side} raglan": total / 2}
    if path.arrives is Role.ARMHOLE:
        from_neck[f"{side} pitch"] = total
    for name, station in from_neck.items():
        at = station if side is Side.FRONT else total - station
        edge = edge.with_notch(Notch(at=at, name=name, kind=kind))
    return piece.with_edges([edge])


def _shoulder_difference(bodice: dict[Side, Piece]) -> float:
    back, front = bodice[Side.BACK], bodice[Side.FRONT]
    return back.length(Role.SHOULDER) - front.length(Role.SHOULDER)


def in_words(function: Callable[..., T], *args: Any) -> T:
    """Call a step; its own error becomes the operation's."""
    try:
        return function(*args)
    except (LineError, SectionError, SleeveError, RefitError) as error:
        raise OperationError(str(error)) from None
