"""Half a sleeve drafted on the half bodice, at an overarm angle."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.kimono_half import inward, overarm_way
from sleevewright.operations.overarm import overarm_curve
from sleevewright.operations.raglan_lines import turn_between
from sleevewright.operations.sections import Section
from sleevewright.operations.square_wrist import square_wrist
from sleevewright.pattern import Edge, HalfBodice, Notch, NotchKind, Piece, Role, Side
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]

#: degrees. A raglan seam that turns more at P puckers (common practice).
MOST_TURN = 60.0
#: degrees. A lower edge that climbs more steeply to U' ends in a horn under the arm.
MOST_CLIMB = 30.0
_MEETS = 120.0  # mm below the tip where the overarm is straight


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleDraft:
    """What a half is drafted from.

    Attributes:
        half: the half bodice before it was cut.
        section: what lies on the shoulder side of its raglan line, shoulder balanced.
        rest: the rest of the half.
        angle: of the overarm below the horizontal, degrees.
        raised, extended: where the overarm begins, from the shoulder tip, mm.
        length: of the overarm from the shoulder tip, mm.
        cap: from where the overarm begins down to the biceps line, mm.
    """

    half: HalfBodice
    section: Section
    rest: Piece
    angle: float
    raised: float
    extended: float
    length: float
    cap: float

    @property
    def way(self) -> Array:
        """Direction of the overarm, shape (2,)."""
        return overarm_way(self.half, self.angle)

    @property
    def begin(self) -> Array:
        """Where the straight overarm line comes from, shape (2,), mm."""
        along = self.section.shoulder.end_direction
        square = np.array([-along[1], along[0]])
        upwards = square if float(square @ self.half.piece.up) > 0 else -square
        return self.section.tip + self.extended * along + self.raised * upwards

    @property
    def lower(self) -> Curve:
        """The bodice's armhole from the underarm point to P, mm."""
        return HalfBodice(self.rest, self.half.side).run(Role.ARMHOLE)

    def reach(self, cap: float) -> float | None:
        """Return how far the biceps line runs from the overarm to U', mm; None where it meets none.

        U' is where it meets the circle about P through the bodice's underarm point.
        """
        square = inward(self.way, self.half)
        d = self.begin + cap * self.way - self.lower.end
        radius = float(np.hypot(*(self.lower.end - self.lower.start)))
        along = float(d @ square)
        root = along**2 - float(d @ d) + radius**2
        return None if root < 0 else -along + math.sqrt(root)

    def mirrored(self, under: Array) -> Curve:
        """Return the lower armhole mirrored so that its underarm point comes to U', from there to P."""
        p = self.lower.end
        one, other = ((q - p) / float(np.hypot(*(q - p))) for q in (self.lower.start, under))
        return self.lower.transformed(Affine.reflection(p, one + other)).with_ends(under, p)

    def under(self, cap: float, width: float) -> Array:
        """Return U': so far along the overarm and square to it, shape (2,), mm."""
        return self.begin + cap * self.way + width * inward(self.way, self.half)

    def climb(self, cap: float) -> float:
        """Return how steeply the lower edge climbs above the biceps line to U', degrees; 0 where it cannot."""
        width = self.reach(cap)
        if width is None:
            return 0.0
        back = self.mirrored(self.under(cap, width)).start_direction
        return climb_of(back, self.way)

    def highest_cap(self) -> float:
        """Return the highest cap that can be drawn, mm: there the biceps line touches the circle."""
        radius = float(np.hypot(*(self.lower.end - self.lower.start)))
        return float((self.lower.end - self.begin) @ self.way) + radius


@dataclass(frozen=True, slots=True)
class AngleHalf:
    """A half sleeve, where it was drafted.

    Attributes:
        draft: what it was drafted from.
        width: of the half at the biceps line, mm.
        overarm: from the shoulder-neck point over the tip to the wrist.
        tip_at: station of the shoulder tip on it, mm.
        wrist, underarm, cap: on from there; the cap from U' to P.
    """

    draft: AngleDraft
    width: float
    overarm: Curve
    tip_at: float
    wrist: Curve
    underarm: Curve
    cap: Curve

    def piece(self, sleeve: Piece) -> Piece:
        """Return the half as a piece, turned so that its overarm hangs as the sleeve's grain does."""
        side = self.draft.half.side
        kind = NotchKind.SINGLE if side is Side.FRONT else NotchKind.DOUBLE
        line = self.draft.section.line.reversed
        seam = Edge(name="", role=Role.RAGLAN_SEAM, curve=line, side=side)
        seam = seam.with_notch(Notch(at=0.0, name=f"{side} pitch", kind=kind))
        seam = seam.with_notch(Notch(at=line.length / 2, name=f"{side} raglan", kind=kind))
        over = Edge(name="", role=Role.OVERARM_SEAM, curve=self.overarm, side=side)
        neck = (replace(e, side=side, notches=()) for e in self.draft.section.of(Role.NECKLINE))
        chain = (
            *neck,
            over.with_notch(Notch(at=self.tip_at, name="shoulder tip")),
            Edge(name="", role=Role.WRIST, curve=self.wrist, side=side),
            Edge(name="", role=Role.UNDERARM_SEAM, curve=self.underarm, side=side),
            Edge(name="", role=Role.CAP, curve=self.cap, side=side),
            seam,
        )
        if side is Side.BACK:
            chain = tuple(edge.reversed for edge in reversed(chain))
        made = Piece(
            name=f"sleeve_{side}", edges=with_standard_names(chain), quantity=sleeve.quantity,
            material=sleeve.material,
        )  # fmt: skip
        made = self.draft.section.marks.on(made)
        turn = turn_between(self.draft.way, -sleeve.up)
        hung = made.transformed(Affine.rotation(turn, self.overarm.end))
        wrist = hung.with_role(Role.WRIST)[0].curve
        foot = (wrist.start + wrist.end) / 2
        long = self.draft.length
        grain = Curve.line(foot + 0.1 * long * sleeve.up, foot + 0.7 * long * sleeve.up)
        return replace(hung, grain=grain)


def climb_of(leaving: Array, down: Array) -> float:
    """Return how far a direction that leaves U' falls below the biceps line, degrees.

    Args:
        leaving: direction of the lower edge at U', towards P, shape (2,).
        down: direction of the overarm, shape (2,).
    """
    return math.degrees(math.asin(min(1.0, max(-1.0, float(leaving @ down)))))


def cap_for(drafts: Sequence[AngleDraft], biceps: float) -> float:
    """Return the cap of a sleeve so wide, mm; a higher one where it would end in a horn under the arm."""
    cap, highest = _cap_so_wide(drafts, biceps), min(draft.highest_cap() for draft in drafts) - 0.5

    def climb(cap: float) -> float:
        return max(draft.climb(cap) for draft in drafts) - MOST_CLIMB

    if climb(cap) > 0.0 > climb(highest):
        return find_root(climb, cap, highest, 1e-6)
    return cap


def _cap_so_wide(drafts: Sequence[AngleDraft], biceps: float) -> float:
    """Return the highest cap at which both halves together are so wide, mm.

    Where the angle gives no such width, the cap that gives the widest sleeve.
    """
    highest = min(draft.highest_cap() for draft in drafts) - 0.5

    def width(cap: float) -> float:
        reaches = [draft.reach(cap) for draft in drafts]
        return sum(r if r is not None else -math.inf for r in reaches)

    # From the widest on, a higher cap makes a narrower sleeve.
    grid = np.linspace(0.25 * highest, highest, 76)
    widest = float(max(grid, key=lambda cap: width(float(cap))))
    if width(widest) <= biceps or width(highest) >= biceps:
        return widest if width(widest) <= biceps else highest
    return find_root(lambda cap: width(cap) - biceps, widest, highest, 1e-6)


def draw_angle_half(draft: AngleDraft, wrist_width: float) -> AngleHalf:
    """Draft a half with a wrist of a width.

    Raises:
        OperationError: the cap is too high for this angle and armhole.
    """
    width = draft.reach(draft.cap)
    if width is None:
        raise OperationError(
            f"a cap of {draft.cap:.0f} mm cannot be drawn on the {draft.half.side} at"
            f" {draft.angle:.0f} degrees: the biceps line misses the underarm by"
            f" {draft.cap - draft.highest_cap():.0f} mm; up to {draft.highest_cap():.0f} mm can, more"
            " with a lowered armhole"
        )
    way, square = draft.way, inward(draft.way, draft.half)
    under = draft.under(draft.cap, width)
    cap = draft.mirrored(under)
    _refuse_turning_back(draft, cap)
    overarm, tip_at = _overarm(draft, way)
    corner, wrist = square_wrist(overarm.end, square, under, wrist_width)
    return AngleHalf(draft, width, overarm, tip_at, wrist, Curve.line(corner, under), cap)


def _refuse_turning_back(draft: AngleDraft, cap: Curve) -> None:
    """Refuse a sleeve whose lower edge turns so sharply at P that it cannot be sewn as one seam."""
    turn = abs(turn_between(draft.section.line.end_direction, -cap.end_direction))
    if turn > MOST_TURN:
        raise OperationError(
            f"on the {draft.half.side} the sleeve's seam would turn by {turn:.0f} degrees at the pitch"
            f" point, {MOST_TURN:.0f} at the most: at {draft.angle:.0f} degrees the sleeve lies too"
            " close to the body there; choose a smaller overarm_angle, a lower cap_height or a higher"
            " pitch"
        )


def _overarm(draft: AngleDraft, way: Array) -> tuple[Curve, float]:
    meets = draft.begin + min(_MEETS, 0.6 * draft.length) * way
    over = overarm_curve(draft.section.shoulder, meets, way)
    # Both overarms are sewn from the neck: what the curve over the tip saves is given at the wrist.
    total = draft.section.shoulder.length + draft.length
    more = total - over.length
    return Curve.joined([over, Curve.line(over.end, over.end + more * way)]), total - draft.length
