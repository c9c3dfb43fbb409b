"""The verdict on a variant, and the findings in the order a cutter wants them: bad news first."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sleevewright.findings import Finding, SeamRow, Status
from sleevewright.pattern.result import Result
from sleevewright.writing.report.words import counted, human, number

#: Worst first: what could not be computed is not known to be right.
_ORDER = (Status.NOT_COMPUTED, Status.FAILED, Status.NOTED, Status.HELD)

_NOTHING = 0.005  # mm: prints as nothing

#: Status -> what the report calls it.
CALLED = {
    Status.HELD: "held",
    Status.NOTED: "worth a look",
    Status.FAILED: "fell short",
    Status.NOT_COMPUTED: "not computed",
}

_TITLES = {
    "seam-length": "Seam lengths",
    "junction": "Edges that run on across a seam",
    "centre-square": "Square at the centre",
    "outline": "Outlines",
    "smooth-edge": "Edges without a kink",
    "grain": "Grainlines",
    "grain-to-fold": "Grain along the fold",
    "notches-meet": "Notches that meet",
    "notch-place": "Notches on the cut line",
    "joint-notch": "Notches where a seam ends without a corner",
    "dart-marks": "Notches and drill holes of darts",
    "marks": "Internal lines and drill holes lie on the piece",
    "allowance": "Seam allowances",
    "neckline-whole": "Neckline in total",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """How the checks came out.

    Attributes:
        held, noted, failed, unknown: counts.
        rows: the findings that did not hold, worst first.
    """

    held: int
    noted: int
    failed: int
    unknown: int
    rows: tuple[Finding, ...]

    @property
    def total(self) -> int:
        """How many checks were made."""
        return self.held + self.noted + self.failed + self.unknown

    @property
    def tone(self) -> str:
        """Which colour the verdict has: "fell-short", "look", "held" or "none"."""
        if self.failed or self.unknown:
            return "fell-short"
        if self.noted:
            return "look"
        return "held" if self.held else "none"

    @property
    def headline(self) -> str:
        """The verdict in a few words."""
        if not self.total:
            return "Nothing was checked"
        if self.held == self.total:
            return "It held" if self.total == 1 else f"All {self.total} checks held"
        return f"{self.held} of {self.total} checks held"

    @property
    def sentence(self) -> str:
        """What the rest is, and what it means."""
        if not self.total:
            return "No check was made, so nothing is known of this pattern. Do not cut from it."
        parts = []
        if self.failed:
            parts.append(f"{self.failed} fell short")
        if self.unknown:
            parts.append(f"{self.unknown} could not be computed")
        if self.noted:
            parts.append(f"{self.noted} {'is' if self.noted == 1 else 'are'} worth a look")
        advice = "Settle what fell short before you cut." if self.failed or self.unknown else (
            "The checks measure the pattern, not how the cloth hangs: try it in calico."
        )  # fmt: skip
        return f"{', '.join(parts)}. {advice}" if parts else advice

    @property
    def counts(self) -> str:
        """Every count in words, none left out."""
        said = [f"{self.held} held", f"{self.noted} worth a look", f"{self.failed} fell short"]
        said.append(f"{self.unknown} not computed")
        return ", ".join(said)

    @property
    def bar(self) -> list[tuple[str, float, float]]:
        """(tone, start, width) of each part of the bar, of 100."""
        found, at = [], 0.0
        counts = (
            ("fell-short", self.failed + self.unknown),
            ("look", self.noted),
            ("held", self.held),
        )
        for tone, count in counts:
            if count:
                wide = 100.0 * count / self.total
                found.append((tone, round(at, 3), round(wide, 3)))
                at += wide
        return found


def verdict_of(result: Result) -> Verdict:
    """Return the verdict on a result."""
    count = dict.fromkeys(Status, 0)
    for finding in result.findings:
        count[finding.status] += 1
    rows = [f for f in result.findings if f.status is not Status.HELD]
    rows.sort(key=lambda f: _ORDER.index(f.status))  # stable: else as they were found
    return Verdict(
        held=count[Status.HELD],
        noted=count[Status.NOTED],
        failed=count[Status.FAILED],
        unknown=count[Status.NOT_COMPUTED],
        rows=tuple(rows),
    )


def widest_seam(rows: Iterable[SeamRow]) -> str:
    """Say which seam is farthest off what is wanted, and how many were not measured; "" without seams."""
    rows = tuple(rows)
    measured = [row for row in rows if math.isfinite(row.difference)]
    missing = len(rows) - len(measured)
    said = [f"{counted(missing, 'seam')} could not be measured."] if missing else []
    if measured:
        row = max(measured, key=lambda row: abs(row.difference))
        off, allowed = number(abs(row.difference), 2), number(row.allowed, 2)
        if abs(row.difference) >= _NOTHING:
            said.append(f"The seam farthest off is {human(row.name)}: {off} mm, {allowed} allowed.")
        else:
            all_of = "Every other seam" if missing else "Every seam"
            said.append(
                f"{all_of} is as long as its partner wants, to a hundredth of a millimetre."
            )
    return " ".join(said)


def held_groups(findings: Iterable[Finding]) -> list[tuple[str, str, list[Finding]]]:
    """Return (title, count in words, findings) of what held, a group for each check."""
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.status is Status.HELD:
            groups.setdefault(finding.check, []).append(finding)
    return [(title_of(check), counted(len(f), "check"), f) for check, f in groups.items()]


def title_of(check: str) -> str:
    """Return the title of a check.

    >>> title_of("promise.lengthen-sleeve"), title_of("seam-length")
    ('What lengthen sleeve promises', 'Seam lengths')
    """
    head, _, operation = check.partition(".")
    if head == "promise" and operation:
        return f"What {human(operation).replace('-', ' ')} promises"
    if check in _TITLES:
        return _TITLES[check]
    words = human(check).replace("-", " ")
    return words[:1].upper() + words[1:]
