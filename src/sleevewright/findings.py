"""What a check says of a result, and what an operation promises about itself.

A `Promise` is a number that an operation says it reached; the tool compares and makes a `Finding` of it.
A check that cannot be computed is a finding too, never a pass.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Status(StrEnum):
    """The outcome of a check, from good to bad."""

    HELD = "held"
    NOTED = "noted"  # worth a person's eye; does not change the exit status
    FAILED = "failed"
    NOT_COMPUTED = "not computed"


_SEVERITY = (Status.HELD, Status.NOTED, Status.FAILED, Status.NOT_COMPUTED)


@dataclass(frozen=True, slots=True)
class Finding:
    """The outcome of one check at one place.

    Attributes:
        check: stable id of the check, such as "seam-length" or "promise.raglan".
        status: the outcome.
        where: piece, edge or seam.
        message: one sentence with the numbers, in mm or degrees.
        wanted, got, within: the numbers compared, where there are any (mm, mm2, degrees or ratios).
    """

    check: str
    status: Status
    where: str
    message: str
    wanted: float | None = None
    got: float | None = None
    within: float | None = None

    @property
    def fell_short(self) -> bool:
        """Whether the command line must end with exit status 1 for this."""
        return self.status in (Status.FAILED, Status.NOT_COMPUTED)


def worst(findings: Iterable[Finding]) -> Status:
    """Return the worst status among findings; HELD when there are none."""
    return max((f.status for f in findings), key=_SEVERITY.index, default=Status.HELD)


@dataclass(frozen=True, slots=True)
class Promise:
    """A number that an operation says its result has.

    Attributes:
        what: what is promised, such as "front raglan seam: sleeve equals bodice".
        wanted: the number it should be (mm, mm2, degrees or a ratio).
        got: the number it is.
        within: the largest difference allowed, in the same unit.
        where: piece, edge or seam.
        advice: for a rule of thumb: missing it is noted and does not fail the run; says why.
    """

    what: str
    wanted: float
    got: float
    within: float
    where: str = ""
    advice: str = ""

    def finding(self, operation: str) -> Finding:
        """Compare, and say how it came out.

        Args:
            operation: recipe name of the operation, for the check's id.
        """
        check = f"promise.{operation}"
        numbers = f"wanted {self.wanted:.3f}, got {self.got:.3f}, within {self.within:g}"
        if not (math.isfinite(self.wanted) and math.isfinite(self.got)):
            status, text = Status.NOT_COMPUTED, f"{self.what}: could not be computed"
        elif abs(self.got - self.wanted) <= self.within:
            status, text = Status.HELD, f"{self.what}: {numbers}"
        elif self.advice:
            status, text = Status.NOTED, f"{self.what}: {numbers}; {self.advice}"
        else:
            status, text = Status.FAILED, f"{self.what}: {numbers}"
        return Finding(check, status, self.where, text, self.wanted, self.got, self.within)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamRow:
    """One seam of the seam walk, as it is listed.

    Attributes:
        name: of the seam.
        edges: the names ("front.armhole") of the edges of the first and of the second side.
        lengths: of the two sides, mm.
        wanted_ease: how much longer the first side shall be, mm.
        difference: how much longer it is than wanted, mm; not a number where not computed.
        allowed: the largest difference allowed, mm.
        status: the outcome.
    """

    name: str
    edges: tuple[tuple[str, ...], tuple[str, ...]]
    lengths: tuple[float, float]
    wanted_ease: float
    difference: float
    allowed: float
    status: Status
