"""What a recipe says about finishing; values only, so that finishing knows no recipe."""

from dataclasses import dataclass, field

from sleevewright.pattern.roles import Corner, NotchKind, NotchMark, Role

#: Allowance widths, mm. Common practice for a woven garment.
DEFAULT_ALLOWANCES: dict[Role, float] = {
    Role.NECKLINE: 6.0,
    Role.FACING_SEAM: 6.0,
    Role.HEM: 30.0,
    Role.WRIST: 25.0,
}

#: Corner kinds. A turn-up lies flat only when its ends mirror the seams.
DEFAULT_CORNERS: dict[Role, Corner] = {Role.HEM: Corner.MIRRORED, Role.WRIST: Corner.MIRRORED}


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishSettings:
    """Allowances, corners, notches and lettering.

    Attributes:
        allowance: width on every role that `allowances` does not name, mm.
        allowances: width by role, mm; an edge on the fold has none whatever is said here.
        corner: corner kind at every role that `corners` does not name.
        corners: corner kind by role; the wider allowance of the two edges decides.
        notch_front, notch_back: marks of a notch on front and back partners.
        notch_mark: slit or V.
        notch_depth, notch_width: mm; the width counts for V notches alone.
        whole: unfold half pieces; None leaves them as they were read.
        style, note, date: lettering; left out where empty.
    """

    allowance: float = 10.0
    allowances: dict[Role, float] = field(default_factory=lambda: dict(DEFAULT_ALLOWANCES))
    corner: Corner = Corner.EXTENDED
    corners: dict[Role, Corner] = field(default_factory=lambda: dict(DEFAULT_CORNERS))
    notch_front: NotchKind = NotchKind.SINGLE
    notch_back: NotchKind = NotchKind.DOUBLE
    notch_mark: NotchMark = NotchMark.SLIT
    notch_depth: float = 5.0
    notch_width: float = 4.0
    whole: bool | None = None
    style: str = ""
    note: str = ""
    date: str = ""

    def allowance_of(self, role: Role) -> float:
        """Width on edges of a role, mm."""
        return self.allowances.get(role, self.allowance)

    def corner_of(self, role: Role) -> Corner:
        """Corner kind at edges of a role."""
        return self.corners.get(role, self.corner)
