"""Measurements against the block, ease of movement, and the figures that operations report."""

import math
from dataclasses import dataclass

from sleevewright.pattern import measurements
from sleevewright.pattern.result import Result
from sleevewright.writing.report.words import human, number, signed

#: mm. Smaller differences are rounding.
_SAME = 0.05

_GROUPS = ("Changed", "New in the result", "In the block only", "As in the block")
_UNITS = (("_mm2", "mm²"), ("_mm", "mm"), ("_deg", "°"), ("_ratio", ": 1"))

#: name -> (what it is called, what it means, measurements it is the sum of).
_MOVEMENT: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "armhole_girth_mm": (
        "Armhole girth",
        "Armhole front and back; with a raglan, what is left of it below the raglan seam.",
        ("armhole",),
    ),
    "biceps_mm": (
        "Sleeve width at the biceps line",
        "Underarm point to underarm point; what it has over the girth of the arm is the ease.",
        ("biceps",),
    ),
    "cap_height_mm": (
        "Cap height",
        "Biceps line to crown. A lower cap gives more lift and more cloth under the arm.",
        ("cap_height",),
    ),
    "cap_to_armhole_ratio": (
        "Cap height to armhole",
        "Cap height as a part of the block's armhole: high hangs clean, low moves freely.",
        (),
    ),
    "flat_angle_deg": (
        "Angle at which the sleeve lies flat",
        "Below the horizontal, from cap height and width: a plausibility figure, good to some 15 %.",
        (),
    ),
    "underarm_length_front_mm": (
        "Underarm length, front",
        "Side seam and underarm seam together: the length that a lifted arm draws on.",
        ("side_seam_front", "underarm_seam_front"),
    ),
    "underarm_length_back_mm": (
        "Underarm length, back",
        "Side seam and underarm seam together: the length that a lifted arm draws on.",
        ("side_seam_back", "underarm_seam_back"),
    ),
    "overarm_length_mm": (
        "Overarm length",
        "Along the overarm seam to the wrist; with a raglan, from the neck.",
        ("overarm_seam_front",),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number in a table.

    Attributes:
        name: what it is.
        now, was, change: as text; `change` is "" where there is nothing to compare.
        unit: behind the number; "" for mm in tables that say so.
        meaning: one line; "" where the name says it all.
        note: where the number does not come from the result itself.
    """

    name: str
    now: str
    was: str = ""
    change: str = ""
    unit: str = ""
    meaning: str = ""
    note: str = ""


def measured(result: Result) -> tuple[tuple[str, tuple[Figure, ...]], ...]:
    """Return (heading, measurements), what changed first; one group with no heading without a block."""
    now = {n: v for n, v in result.measurements if n not in _others(result)}
    was = measurements(result.before) if result.before else {}
    for side in sorted({_side(name)[0] for name in now} or {""}):
        for name in was:
            now.setdefault(f"{side}{name}", math.nan)
    groups: dict[str, list[Figure]] = {title: [] for title in _GROUPS}
    for name in sorted(now):
        before, value = was.get(_side(name)[1]), now[name]
        both = before is not None and math.isfinite(value)
        groups[_group(value, before)].append(
            Figure(
                name=human(name),
                now=number(value),
                was=number(before),
                change=signed(value - before) if before is not None and both else "",
            )
        )
    if result.before is None:
        return (("", tuple(row for rows in groups.values() for row in rows)),) if now else ()
    return tuple((title, tuple(rows)) for title, rows in groups.items() if rows)


def _group(value: float, before: float | None) -> str:
    changed, new, gone, same = _GROUPS
    if before is None:
        return new
    if not math.isfinite(value):
        return gone
    return changed if abs(value - before) > _SAME else same


def reported(result: Result) -> tuple[Figure, ...]:
    """Return the figures that operations report of what they did."""
    return tuple(
        Figure(name=human(name.removesuffix(ending)), now=_number(value, unit), unit=unit)
        for name, value in result.pattern.facts
        for ending, unit in (_unit(name),)
    )


def movement(result: Result) -> tuple[Figure, ...]:
    """Return the figures of ease of movement, each with its meaning."""
    own = {n for n, _ in result.measurements}
    was = measurements(result.before) if result.before else {}
    rows = []
    for full, value in result.measurements:
        side, key = _side(full)
        if not key.startswith("movement."):
            continue
        key = key.removeprefix("movement.")
        title, meaning, parts = _MOVEMENT.get(key, (human(key), "", ()))
        taken = [was[part] for part in parts if part in was]
        before = sum(taken) if parts and len(taken) == len(parts) else None
        if key == "cap_to_armhole_ratio" and was.get("armhole") and was.get("cap_height"):
            before = was["cap_height"] / was["armhole"]
        unit = _unit(full)[1]
        foreign = parts and not all(f"{side}{part}" in own for part in parts)
        rows.append(
            Figure(
                name=f"{title}, {side.strip('.')}" if side else title,
                now=_number(value, unit),
                was=_number(before, unit) if before is not None else "",
                unit=unit,
                meaning=meaning,
                note="Worked out from the block: the result has no such edges." if foreign else "",
            )
        )
    return tuple(rows)


def _others(result: Result) -> set[str]:
    """Names of figures that have a table of their own."""
    facts = {name for name, _ in result.pattern.facts}
    return facts | {n for n, _ in result.measurements if _side(n)[1].startswith("movement.")}


def _side(name: str) -> tuple[str, str]:
    """Return the side of the body ("left.", "right." or "") and the rest of a name."""
    for side in ("left.", "right."):
        if name.startswith(side):
            return side, name.removeprefix(side)
    return "", name


def _unit(name: str) -> tuple[str, str]:
    return next(((end, unit) for end, unit in _UNITS if name.endswith(end)), ("", "mm"))


def _number(value: float, unit: str) -> str:
    return number(value, {"mm²": 0, ": 1": 2}.get(unit, 1))
