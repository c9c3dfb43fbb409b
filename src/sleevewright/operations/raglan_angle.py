"""`raglan-angle`: a raglan sleeve drafted on the bodice, at an overarm angle."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

from sleevewright.geometry import find_root
from sleevewright.operations.angle_half import (
    MOST_CLIMB,
    AngleDraft,
    AngleHalf,
    cap_for,
    climb_of,
    draw_angle_half,
)
from sleevewright.operations.asking import plain_sleeve, the_block
from sleevewright.operations.contract import (
    Angle,
    Length,
    OperationError,
    Promise,
    about,
    operation,
)
from sleevewright.operations.marks import sleeve_marks_lost
from sleevewright.operations.raglan_bodice import with_darts_clear, with_seam_notches
from sleevewright.operations.raglan_lines import Asked, Line, Path, raglan_path
from sleevewright.operations.raglan_settings import HalfLine
from sleevewright.operations.sections import Section, cut_section, fullness_closed
from sleevewright.pattern import (
    HalfBodice,
    Pattern,
    Piece,
    Role,
    Side,
    measurements,
    standard_seams,
)

#: Parts of the wrist that the front half may have.
_FRONT_PART = (0.34, 0.66)


@operation
class RaglanAngle:
    """Draft a two-piece raglan on the bodice, its overarm falling at an angle from the shoulder.

    30 degrees below the horizontal is loose and lets the arm be lifted, 45 is usual, 60 hangs close
    and clean. The lower edge of the sleeve is the bodice's lower armhole mirrored about the line
    through P that halves the angle between both underarm points, so that they
    are equal; the cap height decides how wide the sleeve is. Combinations that cannot be drawn are
    refused with what would do.
    """

    overarm_angle: Annotated[
        Angle, about("of the overarm below the horizontal", at_least=20, at_most=65)
    ] = 45.0
    front_steeper: Annotated[
        Angle, about("how much steeper the front falls", at_least=0, at_most=5)
    ] = 0.0
    cap_height: Annotated[
        Length | None,
        about(
            "from where the overarm begins to the biceps line; what keeps the block's biceps, or the"
            " widest that the angle gives, without a horn under the arm",
            at_least=20,
            at_most=260,
        ),
    ] = None
    raise_tip: Annotated[
        Length, about("how far the overarm begins above the shoulder tip", at_least=0, at_most=15)
    ] = 5.0
    extend: Annotated[
        Length, about("how far it begins outside the shoulder tip", at_least=0, at_most=25)
    ] = 8.0
    front: Annotated[HalfLine, about("the raglan line on the front")] = HalfLine()
    back: Annotated[HalfLine, about("the raglan line on the back")] = HalfLine()
    length: Annotated[
        Length | None,
        about(
            "of the overarm from the shoulder tip; the block's sleeve", at_least=120, at_most=900
        ),
    ] = None
    bust_dart: Annotated[
        Length,
        about("where a bust dart in the way goes, down the side seam", at_least=20, at_most=300),
    ] = 80.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Cut the bodice along its lines and draft both half sleeves."""
        *_, sleeve = the_block(pattern, "raglan-angle")
        plain_sleeve(sleeve, "raglan-angle")
        facts = measurements(pattern)
        cleared = with_darts_clear(pattern, self.bust_dart)
        halves = {side: HalfBodice(cleared[side.value], side) for side in Side}
        paths = {side: self._path(halves[side]) for side in Side}
        sections, rests = {}, {}
        for side in Side:
            sections[side], rests[side] = cut_section(halves[side], paths[side])
        sections = _balanced(sections)
        drafts = self._drafts(halves, sections, rests, facts)
        wrist = sleeve.length(Role.WRIST)
        made = _meeting(drafts, wrist)
        pieces = (
            *(with_seam_notches(rests[side], side, paths[side]) for side in Side),
            *(made[side].piece(sleeve) for side in Side),
        )
        seams = standard_seams(pieces)
        return replace(cleared, pieces=pieces, seams=seams).with_facts(_facts(made, self))

    def _path(self, half: HalfBodice) -> Path:
        asked = self.front if half.side is Side.FRONT else self.back
        return raglan_path(half, Line.CLASSIC, Asked(asked.neck_drop, asked.pitch, asked.bow))

    def _drafts(
        self,
        halves: dict[Side, HalfBodice],
        sections: dict[Side, Section],
        rests: dict[Side, Piece],
        facts: dict[str, float],
    ) -> dict[Side, AngleDraft]:
        drafts = {
            side: AngleDraft(
                half=halves[side],
                section=sections[side],
                rest=rests[side],
                angle=self.overarm_angle + (self.front_steeper if side is Side.FRONT else 0.0),
                raised=self.raise_tip,
                extended=self.extend,
                length=facts["sleeve_length"] if self.length is None else self.length,
                cap=self.cap_height or 0.0,
            )
            for side in Side
        }
        if self.cap_height is None:
            cap = cap_for(list(drafts.values()), facts["biceps"])
            drafts = {side: replace(draft, cap=cap) for side, draft in drafts.items()}
        return drafts

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Every seam meets its partner; overarm and neckline are as asked and as before."""
        for side in Side:
            bodice, sleeve = after[side.value], after[f"sleeve_{side}"]
            for role, on_bodice in ((Role.RAGLAN_SEAM, Role.RAGLAN_SEAM), (Role.CAP, Role.ARMHOLE)):
                wanted, got = bodice.length(on_bodice), sleeve.length(role)
                yield Promise(f"{side} {role}: sleeve and bodice", wanted, got, 0.1, side)
            wanted = before[side.value].length(Role.SIDE_SEAM)
            yield Promise(f"{side} side seam", wanted, bodice.length(Role.SIDE_SEAM), 0.01, side)
        for role in (Role.OVERARM_SEAM, Role.UNDERARM_SEAM):
            one, other = (after[f"sleeve_{side}"].length(role) for side in Side)
            yield Promise(f"{role}, front and back", one, other, 0.1, role)
        asked = measurements(before)["sleeve_length"] if self.length is None else self.length
        for side in Side:
            edge = after[f"sleeve_{side}"].with_role(Role.OVERARM_SEAM)[0]
            tip = next(n for n in edge.notches if n.name == "shoulder tip")
            got = edge.length - tip.at if side is Side.FRONT else tip.at
            yield Promise(f"{side} overarm from the shoulder tip", asked, got, 0.5, "overarm")
        for side in Side:
            climb = _climb(after[f"sleeve_{side}"], side)
            yield Promise(
                f"{side} cap climbs to its underarm point by {MOST_CLIMB:.0f} degrees at the most (less with a"
                " higher cap_height or a smaller overarm_angle)",
                min(climb, MOST_CLIMB), climb, 0.5, f"sleeve_{side}.cap",
            )  # fmt: skip
        was = sum(before[side.value].length(Role.NECKLINE) for side in Side)
        now = sum(piece.length(Role.NECKLINE) for piece in after.pieces)
        yield Promise("neckline", was, now, 0.5, "neckline")
        yield from sleeve_marks_lost(before)


def _climb(sleeve: Piece, side: Side) -> float:
    """Return how far the cap falls below the biceps line where it leaves the underarm point, degrees."""
    cap = sleeve.with_role(Role.CAP)[0].curve
    return climb_of(cap.start_direction if side is Side.FRONT else -cap.end_direction, -sleeve.up)


def _balanced(sections: dict[Side, Section]) -> dict[Side, Section]:
    """Make both shoulders as long as the shorter, at the tip; shoulder darts are closed."""
    wanted = min(sum(e.length for e in s.of(Role.SHOULDER)) for s in sections.values())
    found = {}
    for side, section in sections.items():
        total = sum(e.length for e in section.of(Role.SHOULDER))
        darted = any(e.role is Role.DART_LEG for e in section.edges)
        even = not darted and abs(total - wanted) < 0.02
        found[side] = section if even else fullness_closed(section, wanted)
    return found


def _meeting(drafts: dict[Side, AngleDraft], wrist: float) -> dict[Side, AngleHalf]:
    """Share the wrist out so that both underarm seams are equally long."""

    def made(part: float) -> dict[Side, AngleHalf]:
        shares = {Side.FRONT: part * wrist, Side.BACK: (1 - part) * wrist}
        return {side: draw_angle_half(drafts[side], shares[side]) for side in Side}

    def miss(part: float) -> float:
        both = made(part)
        return both[Side.FRONT].underarm.length - both[Side.BACK].underarm.length

    try:
        return made(find_root(miss, *_FRONT_PART))
    except ValueError:
        raise OperationError(
            "front and back underarm seams cannot be made equally long: the front is"
            f" {miss(0.5):+.1f} mm longer; choose another overarm_angle, front_steeper or pitch"
        ) from None


def _facts(made: dict[Side, AngleHalf], asked: RaglanAngle) -> tuple[tuple[str, float], ...]:
    cap = made[Side.FRONT].draft.cap
    biceps = sum(half.width for half in made.values())
    return (
        ("raglan_angle.cap_height_mm", cap),
        ("raglan_angle.biceps_mm", biceps),
        ("raglan_angle.flat_angle_deg", math.degrees(math.atan2(cap, biceps / 2))),
        # The sleeve lies without folds when the arm is lifted so far from hanging.
        ("raglan_angle.lift_deg", 90.0 - asked.overarm_angle),
    )
