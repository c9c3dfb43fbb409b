"""sleevewright: raglan conversions and sleeve variants of garment blocks, in batches.

The library's front door; heavy libraries load when they are used.

    from sleevewright import Recipe, build, convert, read, write
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_DOORS = {
    "read": "sleevewright.scripting",
    "read_pattern": "sleevewright.reading",
    "Recipe": "sleevewright.recipe",
    "Registry": "sleevewright.operations",
    "convert": "sleevewright.pipeline.convert",
    "write": "sleevewright.scripting",
    "build": "sleevewright.scripting",
    "FORMATS": "sleevewright.writing",
}

__all__ = [
    "FORMATS", "Recipe", "Registry", "build", "convert", "read", "read_pattern", "write"
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name in _DOORS:
        return getattr(import_module(_DOORS[name]), name)
    raise AttributeError(f"module 'sleevewright' has no attribute {name!r}")
