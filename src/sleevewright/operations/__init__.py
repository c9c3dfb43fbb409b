"""Operations on patterns, each a plug-in. An author of one imports from here.

from sleevewright.operations import Length, OperationError, Promise, about, operation
"""

from sleevewright.operations.contract import (
    Angle,
    Count,
    Length,
    Operation,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
    settings,
)
from sleevewright.operations.registry import Registry

__all__ = [
    "Angle",
    "Count",
    "Length",
    "Operation",
    "OperationError",
    "Promise",
    "Ratio",
    "Registry",
    "about",
    "operation",
    "settings",
]
