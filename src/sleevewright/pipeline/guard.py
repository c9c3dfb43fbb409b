"""No step may leave an unsound pattern behind: a later one would build on it."""

from collections.abc import Iterable

from sleevewright.checking import outlines, seam_lengths
from sleevewright.errors import OperationError, Problem
from sleevewright.findings import Finding
from sleevewright.operations.registry import Registry
from sleevewright.pattern import Pattern
from sleevewright.recipe import BoundStep


def refuse_unsound(before: Pattern, after: Pattern, step: BoundStep, registry: Registry) -> None:
    """Refuse what a step made where an outline is unsound or a seam no longer meets.

    What fell short before the step already is not held against it.

    Raises:
        OperationError: says what is wrong, at the step's place in the recipe, and whose fault it is.
    """
    known = {(f.check, f.where) for f in _short(before)}
    new = [f for f in _short(after) if (f.check, f.where) not in known]
    if not new:
        return
    whose, remedy = blame(step, registry)
    raise OperationError(
        Problem(f"{whose}: what it leaves is unsound: {finding.message}", step.place, "", remedy)
        for finding in new
    )


def refuse_broken_promises(
    promised: Iterable[Finding], step: BoundStep, registry: Registry
) -> None:
    """Refuse the result of another package's operation that does not keep what it promises.

    Our own stay findings: the cutter sees by how much.

    Raises:
        OperationError: names the package.
    """
    broken = [finding for finding in promised if finding.fell_short]
    if not broken or registry.entry(step.name, step.place).is_ours:
        return
    whose, remedy = blame(step, registry)
    raise OperationError(
        Problem(f"{whose}: it breaks its promise: {finding.message}", step.place, "", remedy)
        for finding in broken
    )


def blame(step: BoundStep, registry: Registry) -> tuple[str, str]:
    """Return who is at fault, and what to do."""
    entry = registry.entry(step.name, step.place)
    if entry.is_ours:
        return step.name, "choose other settings, or another order of the steps"
    return (
        f"operation {step.name!r} of {entry.distribution} {entry.version}",
        "this is that package's fault; tell its author",
    )


def _short(pattern: Pattern) -> list[Finding]:
    found = (*outlines.soundness(pattern), *seam_lengths.check(pattern))
    return [finding for finding in found if finding.fell_short]
