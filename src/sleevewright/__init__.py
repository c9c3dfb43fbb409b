"""sleevewright: raglan conversions and sleeve variants of garment blocks, in batches.

The library's front door; heavy libraries load when they are used.

    from sleevewright import Recipe, Registry, convert, read_pattern
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_DOORS = {
    "read_pattern": "sleevewright.reading",
    "Recipe": "sleevewright.recipe",
    "Registry": "sleevewright.operations",
    "convert": "sleevewright.pipeline.convert",
    "FORMATS": "sleevewright.writing",
    "write_files": "sleevewright.writing",
}

__all__ = ["FORMATS", "Recipe", "Registry", "convert", "read_pattern", "write_files"]


def __getattr__(name: str) -> Any:
    if name in _DOORS:
        return getattr(import_module(_DOORS[name]), name)
    raise AttributeError(f"module 'sleevewright' has no attribute {name!r}")
