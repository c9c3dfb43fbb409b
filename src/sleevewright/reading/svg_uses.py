"""What `use` elements stand for, and what they come to: counted before any of them is expanded."""

from collections.abc import Callable
from typing import NamedTuple

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import DEEPEST_ELEMENT, Limits
from sleevewright.reading.svg_tree import Element

GROUPS = frozenset(("g", "a", "svg", "switch"))

#: Larger counts are not told apart.
_MOST_TOLD = 10**9


class _Weight(NamedTuple):
    """What drawing an element comes to.

    Attributes:
        elements: all that are drawn, itself among them.
        inserts: those of them that are there by a `use`.
        levels: how deep it goes.
    """

    elements: int = 0
    inserts: int = 0
    levels: int = 0


class Uses:
    """The ids of a drawing and the `use` elements that name them.

    Args:
        root: of the drawing.
        file: for messages.
        passed_over: whether an element and all in it is not drawn.
    """

    def __init__(self, root: Element, file: str, passed_over: Callable[[Element], bool]) -> None:
        self._file = file
        self._passed_over = passed_over
        self._weights: dict[int, _Weight] = {}
        self._by_id: dict[str, list[Element]] = {}
        for element in root.walk():
            if "id" in element.attributes:
                self._by_id.setdefault(element.attributes["id"], []).append(element)

    def target(self, use: Element) -> Element:
        """Return the element that a `use` stands for.

        Raises:
            ReadError: there is none in this file (another is never opened), or there are several.
        """
        href = use.attributes.get("href", "")
        found = self._by_id.get(href[1:], []) if href.startswith("#") else []
        if len(found) != 1:
            what = (
                f"which {len(found)} elements are called" if found else "which is not in the file"
            )
            raise self._refuse(f"<use> of {href!r}, {what}", use)
        return found[0]

    def parts(self, element: Element) -> list[Element]:
        """Return what is drawn in place of a group or a `use`; nothing for other elements."""
        if element.tag == "use":
            target = self.target(element)
            return target.children if target.tag in ("symbol", "svg") else [target]
        return element.children if element.tag in GROUPS else []

    def check(self, root: Element, limits: Limits) -> None:
        """Refuse what would never end, and what makes too much.

        Raises:
            ReadError: a circle (names its ids), too many levels, or more than the limit `inserts`.
        """
        inserts = self._weigh(root, (), 0).inserts
        limits.refuse_more("inserts", min(inserts, _MOST_TOLD), Place(self._file))

    def _weigh(self, element: Element, trail: tuple[str, ...], level: int) -> _Weight:
        """Weigh an element that is drawn at a level, within the hrefs of a trail."""
        known = self._weights.get(id(element))
        if level + (known.levels if known else 0) > DEEPEST_ELEMENT:
            raise self._refuse(
                f"elements are nested too deep by <use>; {DEEPEST_ELEMENT} levels are allowed",
                element,
            )
        if known is None:
            href = element.attributes.get("href", "") if element.tag == "use" else ""
            if href in trail:
                raise self._refuse(f"<use> in a circle: {' -> '.join((*trail, href))}", element)
            inner = (*trail, href) if href else trail
            parts = [
                self._weigh(part, inner, level + 1)
                for part in self.parts(element)
                if not self._passed_over(part)
            ]
            elements = sum(part.elements for part in parts)
            inserts = elements if href else sum(part.inserts for part in parts)
            levels = 1 + max((part.levels for part in parts), default=0)
            known = self._weights[id(element)] = _Weight(1 + elements, inserts, levels)
        return known

    def _refuse(self, found: str, element: Element) -> ReadError:
        return ReadError(Problem(found, Place(self._file, element.line, 0, element.name)))
