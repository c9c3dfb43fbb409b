"""SVG to `Drawing`: physical units, transforms, groups, classes, ids, every shape and command."""

from collections import Counter
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.tolerance import SAME_POINT
from sleevewright.limits import LARGEST_COORDINATE, Limits
from sleevewright.reading import svg_census as census
from sleevewright.reading.drawing import Drawing, Group, Mark, Stroke, Words
from sleevewright.reading.svg_numbers import transform, user_units
from sleevewright.reading.svg_shapes import SHAPES, coordinate, shape_controls, size
from sleevewright.reading.svg_style import styles_of
from sleevewright.reading.svg_tree import Element, read_tree
from sleevewright.reading.svg_uses import GROUPS, Uses
from sleevewright.reading.svg_viewport import page_to_mm, viewport

#: Of the numbers of a map made of all transforms around an element.
LARGEST_FACTOR = 1e12
#: Characters of the ids and classes that lead to a line; each line carries them.
LONGEST_LABEL = 2000
#: Characters of what this program writes about an element.
LONGEST_DATA = 100

#: Why elements that are known are not read.
_NO_LINES = {"image": "it holds no lines", "script": "nothing in a drawing is run"}


@dataclass(frozen=True, slots=True)
class _Context:
    """What an element inherits.

    Attributes:
        transform: to mm, y up.
        labels: ids and classes of the groups around, outermost first.
    """

    transform: Affine
    labels: tuple[str, ...] = ()


def read_svg(path: Path, units: str | None = None, limits: Limits = Limits()) -> Drawing:
    """Read an SVG file.

    Args:
        path: the file.
        units: "mm", "cm" or "in" for one user unit, where the file has no physical size.
        limits: of what it holds and expands to.

    Raises:
        ReadError: with line and element, for anything that cannot be read exactly.
    """
    root = read_tree(path, limits)
    return _Reader(str(path), root, limits).read(units)


class _Reader:
    """Walks the tree; keeps strokes, marks and texts, and what came of each element."""

    def __init__(self, file: str, root: Element, limits: Limits) -> None:
        self.file = file
        self.root = root
        self.limits = limits
        self.styles = styles_of(root)
        self.uses = Uses(root, file, lambda element: self.why_not(element) is not None)
        self.points = 0
        self.strokes: list[Stroke] = []
        self.marks: list[Mark] = []
        self.words: list[Words] = []
        self.read_from: set[int] = set()
        self.reasons: dict[int, str] = {}
        self.data: dict[int, tuple[tuple[str, str], ...]] = {}
        self.texts: dict[int, str] = {}

    def read(self, units: str | None) -> Drawing:
        try:
            context = _Context(page_to_mm(self.root, units))
        except ValueError as error:
            raise self.refuse(error, self.root) from None
        self.uses.check(self.root, self.limits)
        for child in self.root.children:
            self.element(child, context)
        passed_over = census.passed_over(self.root, self.read_from, self.reasons)
        counts = Counter(e.tag for e in self.root.walk() if id(e) in self.read_from)
        sizes = (element.attributes.get("data-size") for element in self.root.walk())
        return Drawing(
            file=self.file,
            numbered=False,
            groups=(
                Group(name="", strokes=tuple(self.strokes), marks=tuple(self.marks),
                      words=tuple(self.words)),
            ),
            findings=tuple(
                Finding("reading", Status.NOTED, self.file, text)
                for text in (*passed_over, *self.styles.left_out())
            ),
            size=next(filter(None, sizes), ""),
            counts=tuple(sorted(counts.items())),
        )  # fmt: skip

    def refuse(self, found: object, element: Element) -> ReadError:
        return ReadError(Problem(str(found), self.place(element)))

    def place(self, element: Element) -> Place:
        return Place(self.file, element.line, 0, element.name)

    # --- elements -------------------------------------------------------------------------

    def why_not(self, element: Element) -> str | None:
        """Return why an element is passed over; None where it is drawn, "" where its kind says it."""
        if self.styles.hides(element):
            return "hidden"
        tag = element.tag
        if element.is_foreign or tag in census.HOLDERS or tag in census.QUIET:
            return ""
        drawn = tag in SHAPES or tag in GROUPS or tag in ("use", "text")
        return None if drawn else _NO_LINES.get(tag, census.UNKNOWN)

    def element(self, element: Element, context: _Context) -> None:
        why = self.why_not(element)
        if why is not None:
            if why:
                self.reasons[id(element)] = why
            return
        try:
            inner = self.within(element, context)
            if element.tag == "text":
                self.text(element, inner)
            elif element.tag in SHAPES:
                self.shape(element, inner)
        except ValueError as error:
            raise self.refuse(error, element) from None
        for part in self.uses.parts(element):
            self.element(part, inner)
        if element.tag == "use":
            self.read_from.add(id(element))

    def within(self, element: Element, context: _Context) -> _Context:
        """Return what the parts of an element inherit.

        Raises:
            ValueError: its transforms or names cannot be read.
        """
        total = context.transform @ transform(element.attributes.get("transform", ""))
        if element.tag == "svg":
            total = total @ viewport(element, element)
        elif element.tag == "use":
            at = (coordinate(element, "x"), coordinate(element, "y"))
            total = total @ Affine.translation(at)
            target = self.uses.target(element)
            if target.tag in ("symbol", "svg"):
                total = total @ viewport(element, target, at_origin=target.tag == "symbol")
        if not max(map(abs, total)) < LARGEST_FACTOR:
            raise ValueError("the transforms around it blow the drawing up")
        labels = (*context.labels, _own_labels(element))
        if sum(map(len, labels)) > LONGEST_LABEL:
            raise ValueError(
                f"its ids and classes, with those around it, have {sum(map(len, labels))} characters;"
                f" {LONGEST_LABEL} are allowed"
            )
        return _Context(total, labels)

    def shape(self, element: Element, context: _Context) -> None:
        label, place = _label(context), self.place(element)
        if element.tag == "circle" and not any(
            word in label.lower() for word in ("outline", "internal", "ignore")
        ):
            size(element, "r")
            at = self.point(element, context)
            self.marks.append(Mark(at=at, label=label, place=place, data=self.data_of(element)))
            self.read_from.add(id(element))
            return
        long = element.tag in ("polyline", "polygon")
        for controls in shape_controls(element, partial(self.count, element)):
            moved = _in_reach(context.transform.apply(controls))
            if np.ptp(moved.reshape(-1, 2), axis=0).max() < SAME_POINT:
                continue
            self.strokes.append(
                Stroke(
                    curve=Curve(moved), label=label, place=place, data=self.data_of(element),
                    polyline=long and len(moved) > 8,
                )
            )  # fmt: skip
            self.read_from.add(id(element))
        if id(element) not in self.read_from:
            self.reasons[id(element)] = "without length"

    def count(self, element: Element, segments: int) -> None:
        self.points += segments
        if self.points > self.limits.points:
            self.limits.refuse_more("points", self.points, self.place(element))

    def text(self, element: Element, context: _Context) -> None:
        if id(element) not in self.texts:
            self.texts[id(element)] = element.words()
        text = self.texts[id(element)]
        if not text:
            self.reasons[id(element)] = "without words"
            return
        at = self.point(element, context)
        self.words.append(Words(text=text, at=at, label=_label(context), place=self.place(element)))
        self.read_from.add(id(element))

    def point(self, element: Element, context: _Context) -> tuple[float, float]:
        """Return where a mark or a text is, mm; the first letter of a text counts."""
        names = ("cx", "cy") if element.tag == "circle" else ("x", "y")
        firsts = (element.attributes.get(name, "0").replace(",", " ").split() for name in names)
        at = [
            user_units(first[0] if first else "0", name)
            for first, name in zip(firsts, names, strict=True)
        ]
        x, y = _in_reach(context.transform.apply(at))
        return float(x), float(y)

    def data_of(self, element: Element) -> tuple[tuple[str, str], ...]:
        """Return what this program wrote about an element."""
        if id(element) not in self.data:
            self.data[id(element)] = tuple(
                (name[5:], value)
                for name, value in element.attributes.items()
                if name.startswith("data-") and len(value) <= LONGEST_DATA and value.isprintable()
            )
        return self.data[id(element)]


def _in_reach(points: NDArray[np.float64]) -> NDArray[np.float64]:
    if not np.abs(points).max() <= LARGEST_COORDINATE:
        raise ValueError("a coordinate is not finite or beyond 100 m")
    return points


def _own_labels(element: Element) -> str:
    """Return the id and the classes of an element."""
    said = element.attributes
    return " ".join([said.get("id", ""), *said.get("class", "").split()]).strip()


def _label(context: _Context) -> str:
    """Return everything that may name an element: its groups' labels, then its own."""
    *around, own = context.labels
    return " / ".join((" ".join(filter(None, around)), own))
