"""Checks of a result: front doors `check`, `promise_findings`, `seam_rows`, `movement`.

A check measures anew what the operations and finishing made; it repairs nothing. One that cannot be
computed is a finding, never a pass.
"""

from collections.abc import Callable, Iterable, Iterator

from sleevewright.checking import (
    allowances,
    dart_marks,
    folds,
    joint_notches,
    junctions,
    marks,
    neckline,
    notches,
    outlines,
    seam_lengths,
)
from sleevewright.checking.movement import movement
from sleevewright.checking.seam_lengths import seam_rows
from sleevewright.findings import Finding, Promise, Status
from sleevewright.pattern import Pattern

__all__ = ["check", "movement", "promise_findings", "seam_rows"]


def check(pattern: Pattern, before: Pattern | None = None) -> tuple[Finding, ...]:
    """Run every check on a pattern.

    Args:
        pattern: finished or not; what needs a finish is checked where there is one.
        before: the block it was made from, for what must be kept.
    """
    checks: list[tuple[str, Callable[[], Iterable[Finding]]]] = [
        (seam_lengths.CHECK, lambda: seam_lengths.check(pattern)),
        (junctions.CHECK, lambda: junctions.check(pattern)),
        (outlines.OUTLINE, lambda: outlines.check(pattern, before)),
        (folds.CHECK, lambda: folds.check(pattern)),
        (notches.MEET, lambda: notches.check(pattern)),
        (joint_notches.CHECK, lambda: joint_notches.check(pattern)),
        (dart_marks.CHECK, lambda: dart_marks.check(pattern)),
        (marks.CHECK, lambda: marks.check(pattern)),
        (allowances.CHECK, lambda: allowances.check(pattern)),
    ]
    if before is not None:
        checks.append((neckline.CHECK, lambda: neckline.check(pattern, before)))
    return tuple(finding for name, run in checks for finding in _computed(name, run))


def promise_findings(operation: str, promises: Iterable[Promise]) -> tuple[Finding, ...]:
    """Compare what an operation promises; a promise that cannot be computed is a finding."""
    return tuple(
        _computed(
            f"promise.{operation}", lambda: (promise.finding(operation) for promise in promises)
        )
    )


def _computed(name: str, run: Callable[[], Iterable[Finding]]) -> Iterator[Finding]:
    try:
        yield from run()
    except Exception as error:  # noqa: BLE001 (whatever stops a check, it has not passed)
        text = f"could not be computed: {type(error).__name__}: {error}"
        yield Finding(name, Status.NOT_COMPUTED, "", text)
