"""The shapes of SVG as cubics, in the units of their element; what is no shape is a ValueError."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import elliptical_arc
from sleevewright.reading.svg_numbers import numbers, user_units
from sleevewright.reading.svg_paths import path_controls
from sleevewright.reading.svg_tree import Element

Array = NDArray[np.float64]
Count = Callable[[int], None]

#: Segments of a whole ellipse.
_ROUND = 16


def coordinate(element: Element, name: str) -> float:
    """Return an attribute in user units; 0 where it is not there."""
    return user_units(element.attributes.get(name, "0"), name)


def size(element: Element, name: str, default: float = 0.0) -> float:
    """Return a width, height or radius in user units; what may be left out or `auto` is the default.

    Raises:
        ValueError: it is negative.
    """
    text = element.attributes.get(name, "auto")
    found = default if text.strip() == "auto" else user_units(text, name)
    if found < 0:
        raise ValueError(f"{name} {text!r} is negative")
    return found


def shape_controls(element: Element, count: Count) -> list[Array]:
    """Return the control points of each curve of a shape, shape (n, 4, 2); none without extent.

    Args:
        element: a path, line, polyline, polygon, rect, circle or ellipse.
        count: is told of segments before they are made.

    Raises:
        ValueError: a number is none, or there are too few or too many.
    """
    return _SHAPES[element.tag](element, count)


def _path(element: Element, count: Count) -> list[Array]:
    return path_controls(element.attributes.get("d", ""), count)


def _line(element: Element, count: Count) -> list[Array]:
    count(1)
    ends = [tuple(coordinate(element, f"{axis}{i}") for axis in "xy") for i in (1, 2)]
    return _through(np.array(ends))


def _polyline(element: Element, count: Count) -> list[Array]:
    found = numbers(element.attributes.get("points", ""), "points", count)
    if len(found) % 2:
        raise ValueError(f"points has {len(found)} numbers; they come in pairs")
    points = np.array(found).reshape(-1, 2)
    if element.tag == "polygon" and len(points) > 1:
        points = np.concatenate([points, points[:1]])
    return _through(points)


def _through(points: Array) -> list[Array]:
    """Return straight segments through points, but for those without length."""
    steps = np.abs(np.diff(points, axis=0)).max(axis=1, initial=0.0)
    kept = points[np.concatenate([[True], steps > 0])[: len(points)]]
    return [Curve.polyline(kept).controls] if len(kept) > 1 else []


def _rect(element: Element, count: Count) -> list[Array]:
    count(4)
    x, y = coordinate(element, "x"), coordinate(element, "y")
    w, h = size(element, "width"), size(element, "height")
    if not (w and h):
        return []
    rx = size(element, "rx", size(element, "ry"))
    rx, ry = min(rx, w / 2), min(size(element, "ry", rx), h / 2)
    if not (rx and ry):
        return _through(np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]))
    left, top = x + rx, y + ry
    right = x + w - rx if rx < w / 2 else left
    bottom = y + h - ry if ry < h / 2 else top
    arc = f"A{rx!r} {ry!r} 0 0 1"
    return path_controls(
        f"M{left!r} {y!r}H{right!r}{arc} {x + w!r} {top!r}V{bottom!r}{arc} {right!r} {y + h!r}"
        f"H{left!r}{arc} {x!r} {bottom!r}V{top!r}{arc} {left!r} {y!r}Z",
        count,
    )


def _ellipse(element: Element, count: Count) -> list[Array]:
    count(_ROUND)
    centre = (coordinate(element, "cx"), coordinate(element, "cy"))
    if element.tag == "circle":
        rx = ry = size(element, "r")
    else:
        rx = size(element, "rx", size(element, "ry"))
        ry = size(element, "ry", rx)
    return [elliptical_arc(centre, (rx, 0), (0, ry), 0, 360).controls] if rx and ry else []


_SHAPES: dict[str, Callable[[Element, Count], list[Array]]] = {
    "path": _path, "line": _line, "polyline": _polyline, "polygon": _polyline, "rect": _rect,
    "circle": _ellipse, "ellipse": _ellipse,
}  # fmt: skip
SHAPES = frozenset(_SHAPES)
