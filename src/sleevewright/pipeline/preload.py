"""Everything a job needs, loaded once before workers are forked."""

from importlib import import_module

for name in (
    "shapely",
    "sleevewright.operations.raglan",
    "sleevewright.pipeline.compare",
    "sleevewright.pipeline.convert",
    "sleevewright.recipe",
    "sleevewright.writing",
):
    import_module(name)
