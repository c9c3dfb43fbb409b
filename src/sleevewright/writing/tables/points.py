"""Points of measure of the finished garment: whole body, one sleeve, darts sewn, allowances gone.

A point is left out where the pattern has not the lines it is measured between.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sleevewright.pattern import Role, Side
from sleevewright.pattern.result import Result
from sleevewright.writing.tables.chest import chest
from sleevewright.writing.tables.hands import by_hand, measured, round_the_garment

WHOLE = ""

#: hand ("" for the whole garment) -> mm; a hand that is missing or 0 has no such point.
Lengths = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A point of measure.

    Attributes:
        name: in the trade's words.
        how: where the tape runs.
        lengths: of a result.
        close: whether it has the close tolerance of wrist, cuff and neckline.
        gathered: endings of facts that say that the line is still to be gathered in.
    """

    name: str
    how: str
    lengths: Callable[[Result], Lengths]
    close: bool = False
    gathered: tuple[str, ...] = ()


def _whole(length: Callable[[Result], float]) -> Callable[[Result], Lengths]:
    return lambda result: {WHOLE: length(result)}


def _round(role: Role) -> Callable[[Result], Lengths]:
    return _whole(lambda result: round_the_garment(result, role))


def _each(role: Role, side: Side | None = None) -> Callable[[Result], Lengths]:
    return lambda result: by_hand(result, role, side)


def _named(name: str) -> Callable[[Result], Lengths]:
    return lambda result: measured(result, name)


def _has(result: Result, role: Role) -> bool:
    return any(piece.has(role) for piece in result.pattern.pieces)


def _centre(half: str) -> Callable[[Result], Lengths]:
    """From the neckline to the hem: no length where a yoke or tier takes part of the centre."""

    def lengths(result: Result) -> Lengths:
        if half not in result.pattern or not result.pattern[half].has(Role.NECKLINE):
            return {}
        return measured(result, f"centre_{half}") if result.pattern[half].has(Role.HEM) else {}

    return lengths


def _armhole(result: Result) -> Lengths:
    return {} if _has(result, Role.RAGLAN_SEAM) else by_hand(result, Role.ARMHOLE)


def _raglan(half: str) -> Callable[[Result], Lengths]:
    """On the body alone: the sleeve's side of the seam is the same seam."""
    return _named(f"raglan_seam_{half}")


def _wrist(result: Result) -> Lengths:
    return {} if _has(result, Role.CUFF_SEAM) else by_hand(result, Role.WRIST)


def _cuff_depth(result: Result) -> Lengths:
    """Half of what is cut: cuffs are cut double. Each has two ends."""
    cuffs = [piece for piece in result.pattern.pieces if piece.has(Role.CUFF_SEAM)]
    return {
        WHOLE: max((e.length for c in cuffs for e in c.with_role(Role.BAND_END)), default=0.0) / 2
    }


POINTS = (
    Point(name="Chest, round", how="at the underarm points", lengths=_whole(chest)),
    Point(name="Hem, round", how="along the hem", lengths=_round(Role.HEM)),
    Point(
        name="Neckline, round", how="along the neckline seam", lengths=_round(Role.NECKLINE),
        close=True, gathered=("neck_gather_ratio", ".neckline_ratio"),
    ),
    Point(name="Centre front length", how="neckline to hem", lengths=_centre("front")),
    Point(name="Centre back length", how="neckline to hem", lengths=_centre("back")),
    Point(name="Shoulder seam", how="front, neck to shoulder tip", lengths=_named("shoulder_front")),
    Point(
        name="Armhole, round", how="along the seam", lengths=_armhole,
        gathered=(".armhole_ratio",),
    ),
    Point(name="Raglan seam, front", how="neck to end of seam", lengths=_raglan("front")),
    Point(name="Raglan seam, back", how="neck to end of seam", lengths=_raglan("back")),
    Point(name="Side seam", how="front, underarm to hem", lengths=_named("side_seam_front")),
    Point(
        name="Sleeve length", how="crown to wrist, without cuff", lengths=_named("sleeve_length")
    ),
    Point(
        name="Overarm seam", how="front, along the seam, without cuff",
        lengths=_each(Role.OVERARM_SEAM, Side.FRONT),
    ),
    Point(
        name="Underarm seam", how="front, underarm to wrist",
        lengths=_each(Role.UNDERARM_SEAM, Side.FRONT),
    ),
    Point(name="Biceps, round", how="at the underarm points", lengths=_named("biceps")),
    Point(
        name="Wrist, round", how="along the wrist", lengths=_wrist, close=True,
        gathered=(".wrist_ratio",),
    ),
    Point(
        name="Cuff, round", how="along its seam, wrap left out", lengths=_each(Role.CUFF_SEAM),
        close=True,
    ),
    Point(name="Cuff depth", how="finished, folded", lengths=_cuff_depth, close=True),
)  # fmt: skip
