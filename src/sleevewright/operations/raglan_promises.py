"""What a raglan promises about its own result; the tool compares, tests hold it to it."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.findings import Promise
from sleevewright.operations.raglan_lines import largest_bow
from sleevewright.operations.raglan_settings import RaglanSettings
from sleevewright.pattern import HalfBodice, Pattern, Piece, Role, Side

Array = NDArray[np.float64]

#: degrees. A wider wedge says that cap ease was left in: 62 degrees and more with it, about 48 without.
WIDEST_WEDGE = 60.0


def promises(raglan: RaglanSettings, before: Pattern, after: Pattern) -> Iterator[Promise]:
    """Yield every promise of a raglan that applies to these settings."""
    sleeves = tuple(p for p in after.pieces if p.name not in ("front", "back"))
    for side in Side:
        yield from _seams(raglan, after, sleeves, side)
        yield from _bodice(before, after, side)
        yield from _line(raglan, after, side)
    yield from _underarm(raglan, before, sleeves)
    yield from _overarm(after)
    yield from _neck(raglan, before, after, sleeves)
    yield from _area(before, after)
    facts = dict(after.facts)
    if raglan.sleeve != "gathered":
        wedge = facts["raglan.wedge_deg"]
        yield Promise(
            "the shoulder wedge is one that can be sewn", min(wedge, WIDEST_WEDGE), wedge, 0.0,
            "overarm", advice="a wider wedge says that cap ease was left in; cap_ease: remove",
        )  # fmt: skip


def _seams(
    raglan: RaglanSettings, after: Pattern, sleeves: tuple[Piece, ...], side: Side
) -> Iterator[Promise]:
    on_sleeve = sum(piece.length(Role.RAGLAN_SEAM, side) for piece in sleeves)
    on_bodice = after[side.value].length(Role.RAGLAN_SEAM)
    yield Promise(
        f"{side} raglan seam: sleeve equals bodice plus ease",
        on_bodice + raglan.raglan_ease, on_sleeve, 0.5, f"{side} raglan",
    )  # fmt: skip
    cap = sum(piece.length(Role.CAP, side) for piece in sleeves)
    armhole = after[side.value].length(Role.ARMHOLE)
    if raglan.line != "deep":
        yield Promise(
            f"{side} below the pitch point: cap equals armhole", armhole, cap, 0.5,
            f"{side} armhole",
        )  # fmt: skip


def _bodice(before: Pattern, after: Pattern, side: Side) -> Iterator[Promise]:
    was, now = before[side.value], after[side.value]
    moved = len(tuple(was.darts())) != 0
    if not any(edge.role is Role.RAGLAN_SEAM for edge in was.edges) and not moved:
        for role in (Role.HEM, Role.CENTRE):
            if raglan_keeps(role, now):
                yield Promise(
                    f"{side} {role} untouched", was.length(role), now.length(role), 1e-6,
                    f"{side}.{role}",
                )  # fmt: skip


def raglan_keeps(role: Role, piece: Piece) -> bool:
    """Whether a role that a raglan may cut is whole on the piece it left."""
    if role is Role.CENTRE:  # a yoke's line leaves the centre
        return piece.has(Role.NECKLINE)
    return True


def _line(raglan: RaglanSettings, after: Pattern, side: Side) -> Iterator[Promise]:
    """The line leaves the neckline nearly square, and bows as asked."""
    half = HalfBodice(after[side.value], side)
    seam = half.run(Role.RAGLAN_SEAM)
    if raglan.line not in ("classic", "deep"):  # a saddle runs along the shoulder by its nature
        return
    neck = half.edges(Role.NECKLINE)[0].curve.start_direction
    off = 90.0 - float(np.degrees(np.arccos(np.clip(abs(neck @ seam.start_direction), 0, 1))))
    yield Promise(
        f"{side} raglan line leaves the neckline within 25 degrees of square", 0.0, off, 25.0,
        f"{side} raglan", advice="move neck_drop, or bow the line more",
    )  # fmt: skip
    asked = (raglan.front if side is Side.FRONT else raglan.back).bow
    if raglan.line == "classic" and asked is not None:
        tip = seam.start + 10 * _towards_shoulder(half, seam.end - seam.start)
        yield Promise(
            f"{side} raglan line bows as asked", asked, largest_bow(seam, tip), 0.1,
            f"{side} raglan", advice="the direction of the armhole at the pitch point decides",
        )  # fmt: skip


def _towards_shoulder(half: HalfBodice, chord: Array) -> Array:
    sign = -1.0 if half.side is Side.FRONT else 1.0
    return sign * np.array([-chord[1], chord[0]]) / float(np.hypot(*chord))


def _underarm(
    raglan: RaglanSettings, before: Pattern, sleeves: tuple[Piece, ...]
) -> Iterator[Promise]:
    was = before["sleeve"]
    for side in Side:
        now = sum(piece.length(Role.UNDERARM_SEAM, side) for piece in sleeves)
        yield Promise(
            f"{side} underarm seam as long as before", was.length(Role.UNDERARM_SEAM, side), now,
            0.1, "underarm",
        )  # fmt: skip
    wrist = sum(piece.length(Role.WRIST) for piece in sleeves)
    yield Promise("wrist as it was", was.length(Role.WRIST), wrist, 0.1, "wrist")
    if raglan.line != "deep":
        for side in Side:
            corner = _underarm_point(was, side)
            piece = next(p for p in sleeves if p.has(Role.UNDERARM_SEAM, side))
            moved = float(np.hypot(*(_underarm_point(piece, side) - corner)))
            yield Promise(f"{side} underarm point unmoved", 0.0, moved, 0.1, piece.name)


def _underarm_point(piece: Piece, side: Side) -> Array:
    edge = piece.with_role(Role.UNDERARM_SEAM, side)[0]
    return edge.curve.end if side is Side.FRONT else edge.curve.start


def _overarm(after: Pattern) -> Iterator[Promise]:
    for seam in after.seams:
        if seam.name == "overarm":
            first, second = after.side_length(seam.first), after.side_length(seam.second)
            yield Promise(
                "front and back overarm seams equal but for the ease kept",
                second + seam.ease, first, 0.5, "overarm",
            )  # fmt: skip
        if seam.name == "sleeve dart":
            first, second = after.side_length(seam.first), after.side_length(seam.second)
            yield Promise("shoulder dart legs equal", second, first, 0.2, seam.name)


def _neck(
    raglan: RaglanSettings, before: Pattern, after: Pattern, sleeves: tuple[Piece, ...]
) -> Iterator[Promise]:
    was = sum(before[side.value].length(Role.NECKLINE) for side in Side)
    bodice = sum(after[side.value].length(Role.NECKLINE) for side in Side)
    on_sleeve = sum(piece.length(Role.NECKLINE) for piece in sleeves)
    if raglan.sleeve == "gathered":
        ratio = dict(after.facts)["raglan.neck_gather_ratio"]
        on_sleeve = on_sleeve / ratio
    yield Promise("neckline in total as before", was, bodice + on_sleeve, 0.5, "neckline")


def _area(before: Pattern, after: Pattern) -> Iterator[Promise]:
    """Area is kept but for what was filled in, overlaps, was trimmed or lowered away."""
    facts = dict(after.facts)
    was = sum(piece.area for piece in before.pieces)
    now = sum(piece.area for piece in after.pieces)
    lost = ("overlap", "trimmed", "lowered", "shoulder", "trued")
    expected = was + facts["raglan.filled_mm2"] - sum(facts[f"raglan.{n}_mm2"] for n in lost)
    within = 1e-4 * was  # regions are compared as polylines, 0.05 mm chords
    yield Promise("area kept but for what is reported", expected, now, within, "all pieces")
