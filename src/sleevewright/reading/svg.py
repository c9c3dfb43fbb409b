"""SVG to `Drawing`: physical units, transforms, groups, classes, ids, every shape and command."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import elliptical_arc
from sleevewright.limits import Limits
from sleevewright.reading.drawing import Drawing, Group, Mark, Stroke, Words
from sleevewright.reading.svg_paths import path_curves
from sleevewright.reading.svg_tree import FOREIGN, Element, hidden_rules, read_tree

MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25, "m": 1000.0}

#: mm. Coordinates beyond this are no garment's.
LARGEST = 1e5

#: How many elements <use> may make.
MOST_USED = 100_000

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([A-Za-z%]*)\s*")
_TRANSFORM = re.compile(r"\s*,?\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
_SKIPPED = {
    "defs", "clipPath", "mask", "pattern", "marker", "symbol", "style", "title", "desc", "metadata",
    "script", "linearGradient", "radialGradient", "filter", "image", "foreignObject", FOREIGN,
}  # fmt: skip
_QUIET = {"defs", "style", "title", "desc", "metadata", "marker", "symbol", FOREIGN}
_SHAPES = {"path", "line", "polyline", "polygon", "rect", "circle", "ellipse"}


@dataclass(frozen=True, slots=True)
class _Context:
    """What an element inherits.

    Attributes:
        transform: to mm, y up.
        labels: ids and classes of the groups around, outermost first.
        used: hrefs being expanded, against cycles.
    """

    transform: Affine
    labels: tuple[str, ...]
    used: tuple[str, ...] = ()


def read_svg(path: Path, units: str | None = None, limits: Limits = Limits()) -> Drawing:
    """Read an SVG file.

    Args:
        path: the file.
        units: "mm", "cm" or "in" for one user unit, where the file has no physical size.

    Raises:
        ReadError: with line and element, for anything that cannot be read exactly.
    """
    root = read_tree(path, limits)
    return _Reader(str(path), root).read(units)


class _Reader:
    """Walks the tree; keeps strokes, marks and texts per group."""

    def __init__(self, file: str, root: Element) -> None:
        self.file = file
        self.root = root
        self.hidden = hidden_rules(root)
        self.by_id = {e.attributes["id"]: e for e in _walk(root) if "id" in e.attributes}
        self.strokes: list[Stroke] = []
        self.marks: list[Mark] = []
        self.words: list[Words] = []
        self.findings: list[Finding] = []
        self.made = 0

    def read(self, units: str | None) -> Drawing:
        context = _Context(self.to_mm(units), ())
        for child in self.root.children:
            self.element(child, context)
        group = Group(
            name="", strokes=tuple(self.strokes), marks=tuple(self.marks), words=tuple(self.words)
        )
        return Drawing(
            file=self.file, numbered=False, groups=(group,), findings=tuple(self.findings),
            size=next((e.attributes["data-size"] for e in _walk(self.root)
                       if e.attributes.get("data-size")), ""),
        )  # fmt: skip

    def refuse(
        self, found: str, element: Element, allowed: str = "", remedy: str = ""
    ) -> ReadError:
        place = Place(self.file, element.line, 0, element.name)
        return ReadError(Problem(found, place, allowed, remedy))

    # --- units ----------------------------------------------------------------------------

    def to_mm(self, units: str | None) -> Affine:
        """Return the map from user units to mm with y up, from width, height and viewBox."""
        root = self.root
        box = self.view_box(root)
        sizes = [self.physical(root, name) for name in ("width", "height")]
        if sizes[0] is None and sizes[1] is None:
            if units is None:
                raise self.refuse(
                    "the drawing has no physical size (width and height in mm, cm or in)",
                    root, "", "say in a label map what one unit is, such as units: mm",
                )  # fmt: skip
            scale = MM[units]
            left, top = (box[0], box[1]) if box else (0.0, 0.0)
            return Affine(scale, 0, 0, -scale, -left * scale, top * scale)
        if box is None:
            scale = MM["in"] / 96
            return Affine(scale, 0, 0, -scale, 0, 0)
        left, top, width, height = box
        scales = [
            size / extent
            for size, extent in zip(sizes, (width, height), strict=True)
            if size is not None
        ]
        if len(scales) == 2 and abs(scales[0] - scales[1]) > 1e-4 * max(scales):
            raise self.refuse(
                f"one unit is {scales[0]:.4f} mm across and {scales[1]:.4f} mm down", root,
                "one scale for both", "make the sides of width, height and viewBox agree",
            )  # fmt: skip
        scale = scales[0]
        return Affine(scale, 0, 0, -scale, -left * scale, top * scale)

    def view_box(self, element: Element) -> tuple[float, float, float, float] | None:
        text = element.attributes.get("viewBox")
        if text is None:
            return None
        numbers = self.numbers(text, element, "viewBox")
        if len(numbers) != 4 or numbers[2] <= 0 or numbers[3] <= 0:
            raise self.refuse(f"viewBox {text!r}", element, "four numbers, the last two positive")
        return numbers[0], numbers[1], numbers[2], numbers[3]

    def physical(self, element: Element, name: str) -> float | None:
        """Return width or height in mm; None where it has no physical unit."""
        text = element.attributes.get(name)
        if text is None:
            return None
        match = _LENGTH.fullmatch(text)
        if match is None:
            raise self.refuse(f"{name} {text!r} is no length", element)
        unit = match[2].lower()
        if unit in ("", "px", "%"):
            return None
        if unit not in MM or not 0 < float(match[1]) < LARGEST:
            raise self.refuse(f"{name} {text!r}", element, "a positive length in mm, cm or in")
        return float(match[1]) * MM[unit]

    # --- elements -------------------------------------------------------------------------

    def element(self, element: Element, context: _Context) -> None:
        if self.is_hidden(element) or element.tag in _SKIPPED:
            if element.tag not in _QUIET:
                why = "hidden" if self.is_hidden(element) else "no drawn line"
                self.note(f"{element.name} at line {element.line} is passed over: {why}")
            return
        self.made += 1
        if self.made > MOST_USED:
            raise self.refuse(f"more than {MOST_USED} elements after expanding <use>", element)
        own = self.transform(element)
        inner = replace(context, transform=context.transform @ own)
        if element.tag in ("g", "a", "svg", "switch"):
            labels = (*context.labels, *_labels(element))
            inner = replace(inner, labels=labels)
            if element.tag == "svg":
                view = self.viewport(element, element)
                inner = replace(inner, transform=inner.transform @ view)
            for child in element.children:
                self.element(child, inner)
        elif element.tag == "use":
            self.use(element, inner)
        elif element.tag in _SHAPES:
            self.shape(element, inner)
        elif element.tag == "text":
            text = " ".join("".join(e.text for e in _walk(element)).split())
            at = inner.transform.apply((self.number(element, "x"), self.number(element, "y")))
            self.words.append(
                Words(text=text, at=(float(at[0]), float(at[1])), label=_label(inner, element),
                      place=self.place(element))
            )  # fmt: skip
        elif element.tag != "tspan":
            self.note(f"<{element.tag}> at line {element.line} is passed over: not a shape of SVG")

    def use(self, element: Element, context: _Context) -> None:
        target = element.attributes.get("href", "")
        if not target.startswith("#") or target[1:] not in self.by_id:
            raise self.refuse(f"<use> of {target!r}, which is not in the file", element)
        if target in context.used:
            raise self.refuse(f"<use> in a circle: {' -> '.join((*context.used, target))}", element)
        shift = Affine.translation((self.number(element, "x"), self.number(element, "y")))
        inner = _Context(
            context.transform @ shift,
            (*context.labels, *_labels(element)),
            (*context.used, target),
        )
        copy = self.by_id[target[1:]]
        if copy.tag in ("symbol", "svg"):
            view = self.viewport(element, copy, at_origin=copy.tag == "symbol")
            inner = replace(inner, transform=inner.transform @ view)
            for child in copy.children:
                self.element(child, inner)
        else:
            self.element(copy, inner)

    def viewport(self, sized: Element, element: Element, at_origin: bool = False) -> Affine:
        """Return the map of a symbol's or an inner drawing's own units to those around it.

        Args:
            sized: carries width and height (the <use>, or the element itself).
            element: carries viewBox and preserveAspectRatio.
            at_origin: x and y are already in the transform of the <use>.
        """
        x, y = (0.0, 0.0) if at_origin else (self.number(element, "x"), self.number(element, "y"))
        shift = Affine.translation((x, y))
        box = self.view_box(element)
        given = {**element.attributes, **sized.attributes}
        width, height = (given.get(name, "100%") for name in ("width", "height"))
        if box is None or "%" in width + height:
            if box is not None:
                raise self.refuse(
                    "an inner drawing with a viewBox and no width and height", element,
                    "both in user units, or neither viewBox nor size",
                )  # fmt: skip
            return shift
        sx, sy = self.number(sized if "width" in sized.attributes else element, "width"), 0.0
        sy = self.number(sized if "height" in sized.attributes else element, "height") / box[3]
        sx /= box[2]
        if min(sx, sy) <= 0 or abs(sx - sy) > 1e-4 * max(sx, sy):
            raise self.refuse(
                f"an inner drawing scaled by {sx:g} across and {sy:g} down", element,
                "one scale for both",
            )  # fmt: skip
        return shift @ Affine(sx, 0, 0, sy, -box[0] * sx, -box[1] * sy)

    def shape(self, element: Element, context: _Context) -> None:
        data = tuple(
            (key[5:], value) for key, value in element.attributes.items() if key.startswith("data-")
        )
        label, place = _label(context, element), self.place(element)
        if element.tag == "circle" and not any(
            word in label.lower() for word in ("outline", "internal", "ignore")
        ):
            at = context.transform.apply((self.number(element, "cx"), self.number(element, "cy")))
            self.finite(at, element)
            self.marks.append(
                Mark(at=(float(at[0]), float(at[1])), label=label, place=place, data=data)
            )
            return
        for curve in self.curves(element):
            moved = curve.transformed(context.transform)
            self.finite(moved.controls, element)
            straight = element.tag in ("polyline", "polygon") and len(moved.controls) > 8
            self.strokes.append(
                Stroke(curve=moved, label=label, place=place, polyline=straight, data=data)
            )

    def curves(self, element: Element) -> list[Curve]:
        """Return the curves of a shape in its own units."""
        n = self.number
        if element.tag == "path":
            try:
                return path_curves(element.attributes.get("d", ""))
            except ValueError as error:
                raise self.refuse(str(error), element) from None
        if element.tag == "line":
            a = (n(element, "x1"), n(element, "y1"))
            b = (n(element, "x2"), n(element, "y2"))
            return [Curve.line(a, b)] if a != b else []
        if element.tag in ("polyline", "polygon"):
            numbers = self.numbers(element.attributes.get("points", ""), element, "points")
            if len(numbers) % 2 or len(numbers) < 4:
                raise self.refuse(
                    f"points has {len(numbers)} numbers", element, "pairs, two or more"
                )
            points = np.array(numbers).reshape(-1, 2)
            if element.tag == "polygon" and not np.array_equal(points[0], points[-1]):
                points = np.concatenate([points, points[:1]])
            return [Curve.polyline(points)]
        if element.tag == "rect":
            x, y, w, h = (n(element, key) for key in ("x", "y", "width", "height"))
            ring = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
            return [Curve.polyline(ring)] if w > 0 and h > 0 else []
        rx, ry = n(element, "rx") or n(element, "r"), n(element, "ry") or n(element, "r")
        centre = (n(element, "cx"), n(element, "cy"))
        return [elliptical_arc(centre, (rx, 0), (0, ry), 0, 360)] if rx > 0 and ry > 0 else []

    # --- attributes -----------------------------------------------------------------------

    def is_hidden(self, element: Element) -> bool:
        style = element.attributes.get("style", "").replace(" ", "")
        names = {f".{name}" for name in element.attributes.get("class", "").split()}
        names |= {"", f"#{element.attributes.get('id', '')}"}
        return (
            "display:none" in style
            or element.attributes.get("display") == "none"
            or any(tag in ("", element.tag) and name in names for tag, name in self.hidden)
        )

    def transform(self, element: Element) -> Affine:
        text = element.attributes.get("transform", "")
        total, at = Affine.identity(), 0
        for match in _TRANSFORM.finditer(text):
            if text[at : match.start()].strip(" ,\t\r\n"):
                break
            at = match.end()
            total = total @ self.one_transform(match[1], match[2], element)
        if text[at:].strip(" ,\t\r\n"):
            raise self.refuse(f"transform {text!r} cannot be read", element)
        if text and not 1e-12 < abs(total.determinant) < 1e12:
            raise self.refuse(f"transform {text!r} flattens the drawing", element)
        return total

    def one_transform(self, name: str, text: str, element: Element) -> Affine:
        v = self.numbers(text, element, f"transform {name}")
        allowed = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3)}
        if len(v) not in allowed.get(name, (1,)):
            raise self.refuse(f"transform {name}({text}) has {len(v)} numbers", element)
        if name == "matrix":
            return Affine(*v)
        if name == "translate":
            return Affine.translation((v[0], v[1] if len(v) > 1 else 0.0))
        if name == "scale":
            return Affine.scaling(v[0], v[-1])
        if name == "rotate":
            return Affine.rotation(v[0], v[1:] if len(v) == 3 else (0.0, 0.0))
        slope = math.tan(math.radians(v[0]))
        return Affine(1, 0, slope, 1, 0, 0) if name == "skewX" else Affine(1, slope, 0, 1, 0, 0)

    def number(self, element: Element, name: str) -> float:
        """Return a coordinate in user units; physical units are converted at 96 to the inch."""
        text = element.attributes.get(name, "0")
        match = _LENGTH.fullmatch(text)
        if match is None or (match[2].lower() not in ("", "px") and match[2].lower() not in MM):
            raise self.refuse(f"{name} {text!r} is no length", element)
        factor = MM.get(match[2].lower())
        return float(match[1]) * (factor * 96 / 25.4 if factor else 1.0)

    def numbers(self, text: str, element: Element, what: str) -> list[float]:
        words = [word for word in re.split(r"[\s,]+", text.strip()) if word]
        for word in words:
            if re.fullmatch(_NUMBER, word) is None:
                raise self.refuse(f"{what}: {word!r} is no number", element)
        return [float(word) for word in words]

    def finite(self, points: np.ndarray, element: Element) -> None:
        if not np.isfinite(points).all() or np.abs(points).max() > LARGEST:
            raise self.refuse("a coordinate is not finite or beyond 100 m", element)

    def place(self, element: Element) -> Place:
        return Place(self.file, element.line, 0, element.name)

    def note(self, text: str) -> None:
        self.findings.append(Finding("reading", Status.NOTED, self.file, text))


def _walk(element: Element) -> Iterator[Element]:
    yield element
    for child in element.children:
        yield from _walk(child)


def _labels(element: Element) -> tuple[str, ...]:
    words = element.attributes.get("class", "").split()
    return tuple(w for w in (element.attributes.get("id", ""), *words) if w)


def _label(context: _Context, element: Element) -> str:
    """Return everything that may name an element: its groups' labels, then its own."""
    return " / ".join((" ".join(context.labels), " ".join(_labels(element))))
