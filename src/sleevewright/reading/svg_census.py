"""What an SVG holds and the reader passed over: whatever can be seen in a drawing was read or is listed."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping

from sleevewright.errors import on_one_line
from sleevewright.reading.svg_shapes import SHAPES
from sleevewright.reading.svg_tree import Element
from sleevewright.reading.svg_uses import GROUPS

#: What can be seen of a drawing.
SEEN = SHAPES | {"text", "use", "image"}
#: What holds things that are not drawn where they stand.
HOLDERS = frozenset(("defs", "clipPath", "mask", "pattern", "marker", "symbol"))
#: What is known and draws nothing.
QUIET = frozenset((
    "style", "title", "desc", "metadata", "linearGradient", "radialGradient", "filter", "tspan",
))  # fmt: skip

FOREIGN = "of another namespace than SVG"
UNKNOWN = "no shape of SVG"

#: Kinds of element that one sentence tells.
_KINDS = 20


def passed_over(root: Element, read: Collection[int], reasons: Mapping[int, str]) -> Iterator[str]:
    """Yield a sentence for each reason for which elements were passed over: how many, which is the first.

    Args:
        root: of the drawing.
        read: `id` of the elements that something came of.
        reasons: why not, by `id` of an element; holds for all that is in it.
    """
    found: dict[str, list[Element]] = {}
    todo: list[tuple[Element, str]] = [(root, "")]
    while todo:
        element, around = todo.pop()
        why = reasons.get(id(element), around or (FOREIGN if element.is_foreign else ""))
        if id(element) not in read and _told(element, id(element) in reasons):
            found.setdefault(why or UNKNOWN, []).append(element)
        inside = why or _inside(element)
        todo += [(child, inside) for child in reversed(element.children)]
    for why, elements in found.items():
        kinds = Counter(_kind(element) for element in elements)
        order = sorted(kinds, key=lambda kind: (kind not in SEEN, kind))
        counts = ", ".join(f"{kinds[kind]} {kind}" for kind in order[:_KINDS])
        more = f" and {len(order) - _KINDS} kinds more" if len(order) > _KINDS else ""
        first = elements[0]
        yield f"{counts}{more} passed over: {why}; the first is {first.name} at line {first.line}"


def _kind(element: Element) -> str:
    return on_one_line(element.tag.rpartition("}")[2], 20)


def _told(element: Element, has_reason: bool) -> bool:
    """Whether an element that was not read is listed: what can be seen, and what is not known."""
    if _kind(element) in SEEN:
        return True
    return has_reason and not element.is_foreign and element.tag not in GROUPS | HOLDERS | QUIET


def _inside(element: Element) -> str:
    """Why nothing in an element was drawn, unless something else is known of it."""
    if element.tag in HOLDERS:
        return f"in <{element.tag}>, and nothing that is drawn uses it"
    if element.tag in SHAPES or element.tag in QUIET or element.tag == "text":
        return f"inside <{element.tag}>"
    return ""
