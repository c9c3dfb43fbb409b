"""What one unit of an SVG is: width, height and viewBox of the page and of drawings within it.

What cannot be had is a ValueError that says what is allowed.
"""

from sleevewright.geometry import Affine
from sleevewright.reading.svg_numbers import MM, length, numbers, user_units
from sleevewright.reading.svg_tree import Element

#: Two scales are one if they differ by less than this part.
SAME_SCALE = 1e-4
#: mm of one user unit; a page outside of this is no drawing of a garment.
SMALLEST_UNIT, LARGEST_UNIT = 1e-6, 1e6


def page_to_mm(root: Element, units: str | None) -> Affine:
    """Return the map from user units to mm with y up, from width, height and viewBox of the page.

    Args:
        root: of the drawing.
        units: "mm", "cm" or "in" for one user unit where the page has no physical size.

    Raises:
        ValueError: there is no size, or it is none.
    """
    box = _view_box(root)
    sizes = [_physical(root, name) for name in ("width", "height")]
    left, top, scale = 0.0, 0.0, MM["in"] / 96
    if sizes == [None, None]:
        if units is None:
            raise ValueError(
                "the drawing has no physical size (width and height in mm, cm or in);"
                " say in a label map what one unit is, such as units: mm"
            )
        scale = MM[units]
        left, top = box[:2] if box else (0.0, 0.0)
    elif box is not None:
        left, top = box[:2]
        scale = _one_scale(
            [size / extent for size, extent in zip(sizes, box[2:], strict=True) if size is not None]
        )
        if not SMALLEST_UNIT < scale < LARGEST_UNIT:
            raise ValueError(f"width, height and viewBox make one unit {scale:g} mm")
    return Affine(scale, 0, 0, -scale, -left * scale, top * scale)


def viewport(sized: Element, element: Element, at_origin: bool = False) -> Affine:
    """Return the map of a symbol's or an inner drawing's own units to those around it.

    Args:
        sized: carries width and height (the <use>, or the element itself).
        element: carries viewBox.
        at_origin: x and y are already in the transform of the <use>.

    Raises:
        ValueError: its scale cannot be told or is two.
    """
    said = element.attributes
    x, y = (0.0 if at_origin else user_units(said.get(name, "0"), name) for name in "xy")
    shift = Affine.translation((x, y))
    box = _view_box(element)
    if box is None:
        return shift
    given = {**said, **sized.attributes}
    sizes = [given.get(name, "100%") for name in ("width", "height")]
    if "%" in "".join(sizes):
        raise ValueError(
            "an inner drawing with a viewBox and no width and height; wanted are both in user units,"
            " or neither viewBox nor size"
        )
    width, height = (user_units(text, "width or height") for text in sizes)
    scale = _one_scale([width / box[2], height / box[3]])
    return shift @ Affine(scale, 0, 0, scale, -box[0] * scale, -box[1] * scale)


def _one_scale(scales: list[float]) -> float:
    if min(scales) <= 0 or max(scales) - min(scales) > SAME_SCALE * max(scales):
        across, down = scales[0], scales[-1]
        raise ValueError(
            f"one unit is {across:.4g} across and {down:.4g} down; wanted is one scale for both: make"
            " the sides of width, height and viewBox agree"
        )
    return scales[0]


def _view_box(element: Element) -> tuple[float, ...] | None:
    text = element.attributes.get("viewBox")
    if text is None:
        return None
    if len(text) > 1000:
        raise ValueError(f"viewBox of {len(text)} characters; wanted are four numbers")
    found = numbers(text, "viewBox")
    if len(found) != 4 or min(found[2:]) <= 0:
        raise ValueError(f"viewBox {text!r}; wanted are four numbers, the last two positive")
    return tuple(found)


def _physical(element: Element, name: str) -> float | None:
    """Return width or height in mm; None where it has no physical unit."""
    text = element.attributes.get(name)
    if text is None:
        return None
    value, unit = length(text, name)
    if unit in ("", "px", "%"):
        return None
    if unit not in MM or not 0 < value * MM[unit] < 1e6:
        raise ValueError(f"{name} {text!r}; wanted is a positive length in mm, cm or in")
    return value * MM[unit]
