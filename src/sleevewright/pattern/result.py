"""The result of one job: all that writers need to know of it."""

from dataclasses import dataclass

from sleevewright.findings import Finding, SeamRow
from sleevewright.pattern.pattern import Pattern
from sleevewright.print_settings import PrintSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A finished pattern of one size, with what was found out about it.

    Attributes:
        block, recipe, size: names of what it was made from.
        settings: (name, value as text) of every setting that a matrix or the user set.
        pattern: finished: every piece has its `finish`.
        findings: of every check.
        seam_rows: the seam walk.
        measurements: (name, mm).
        before: the block, for comparison; None where there is none.
        printing: what it is printed on.
    """

    block: str
    recipe: str
    size: str
    pattern: Pattern
    settings: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    seam_rows: tuple[SeamRow, ...] = ()
    measurements: tuple[tuple[str, float], ...] = ()
    before: Pattern | None = None
    printing: PrintSettings = PrintSettings()
