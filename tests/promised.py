"""An operation applied, and held to its promises."""

from sleevewright.checking import promise_findings
from sleevewright.operations.contract import Operation
from sleevewright.pattern import Pattern


def applied(operation: Operation, pattern: Pattern) -> Pattern:
    after = operation.apply(pattern)
    bad = [f for f in promise_findings("x", operation.promises(pattern, after)) if f.fell_short]
    assert not bad, [f.message for f in bad]
    return after
