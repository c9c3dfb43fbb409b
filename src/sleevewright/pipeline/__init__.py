"""Jobs from start to end."""

from sleevewright.pipeline.convert import convert

__all__ = ["convert"]
