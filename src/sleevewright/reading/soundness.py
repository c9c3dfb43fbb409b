"""An outline must be one: it may not cross itself."""

from sleevewright.errors import LabelError, Problem
from sleevewright.geometry.region import flattened_ring
from sleevewright.reading.outline import Bare


def long_side(bare: Bare) -> float:
    """Return the longer side of the bounding box of an outline, mm."""
    ring = flattened_ring([edge.curve for edge in bare.edges], 0.5)
    return float((ring.max(axis=0) - ring.min(axis=0)).max())


def check_outline(bare: Bare) -> None:
    """Refuse an outline that crosses itself.

    Raises:
        LabelError: with the place of the crossing.
    """
    from shapely import Polygon, is_valid_reason  # noqa: PLC0415

    ring = flattened_ring([edge.curve for edge in bare.edges], 0.02)
    shape = Polygon(ring)
    if not shape.is_valid:
        reason = is_valid_reason(shape)
        at = reason[reason.find("[") + 1 : reason.find("]")].split()
        where = f" at ({float(at[0]):.2f}, {float(at[1]):.2f})" if len(at) == 2 else ""
        raise LabelError(
            Problem(
                f"the outline of {bare.name} crosses itself{where}", bare.place, "",
                "mend the drawing there",
            )
        )  # fmt: skip
