"""An SVG file as a small tree with line numbers; bounded in size, depth and expansion.

The standard library's expat, fed the whole file at once; entities are refused, nothing is fetched.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import Limits

SVG = "http://www.w3.org/2000/svg"
#: Tag of an element of another namespace: notes that programs leave.
FOREIGN = "(foreign)"

MOST_BYTES = 64 << 20
DEEPEST = 200
MOST_ELEMENTS = 200_000

_SELECTOR = re.compile(r"(\*|[\w-]*)([.#][\w-]+)?")
_HIDDEN_RULE = re.compile(r"([^{}]+)\{[^{}]*display\s*:\s*none[^{}]*\}")


@dataclass(slots=True)
class Element:
    """One element while the file is read.

    Attributes:
        tag: without its namespace.
        attributes: as written, namespaces stripped.
        line: where it begins.
        children: in order.
        text: character data.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    children: "list[Element]" = field(default_factory=list)
    text: str = ""

    @property
    def name(self) -> str:
        """How messages name it."""
        return f"{self.tag} {self.attributes['id']!r}" if "id" in self.attributes else self.tag


def read_tree(path: Path, limits: Limits = Limits()) -> Element:
    """Read a file into a tree.

    Raises:
        ReadError: it cannot be opened, is no SVG, or goes beyond a limit.
    """
    file = str(path)
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise ReadError(
                Problem(f"the file has {size} bytes", Place(file), f"{MOST_BYTES} are allowed")
            )
        data = path.read_bytes()
    except OSError as error:
        raise ReadError(Problem(f"cannot be read: {error.strerror}", Place(file))) from None
    return _Builder(file).build(data)


class _Builder:
    """Feeds expat and keeps the stack of open elements."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.root: Element | None = None
        self.stack: list[Element] = []
        self.count = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = lambda _name: self.stack.pop()
        self.parser.CharacterDataHandler = self.characters
        self.parser.EntityDeclHandler = self.entity

    def build(self, data: bytes) -> Element:
        try:
            self.parser.Parse(data, True)
        except expat.ExpatError as error:
            what = expat.ErrorString(error.code) or "not XML"
            raise ReadError(
                Problem(
                    f"not an SVG file: {what}", Place(self.file, error.lineno, error.offset + 1)
                )
            ) from None
        except (ValueError, LookupError) as error:
            raise ReadError(Problem(f"not an SVG file: {error}", Place(self.file))) from None
        if self.root is None or self.root.tag != "svg":
            found = self.root.tag if self.root else "nothing"
            raise ReadError(Problem(f"not an SVG file: its root is {found}", Place(self.file, 1)))
        return self.root

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        line = self.parser.CurrentLineNumber
        if self.count > MOST_ELEMENTS or len(self.stack) >= DEEPEST:
            limit = f"{MOST_ELEMENTS} elements and {DEEPEST} levels are allowed"
            raise ReadError(Problem("the drawing is too large", Place(self.file, line), limit))
        plain = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        space, _, tag = name.rpartition(" ")
        if space not in ("", SVG):
            if not self.stack:
                raise ReadError(
                    Problem(
                        f"not an SVG file: its root is {tag!r} of {space!r}", Place(self.file, line)
                    )
                )
            tag = FOREIGN
        element = Element(tag, plain, line)
        if self.stack:
            self.stack[-1].children.append(element)
        else:
            self.root = element
        self.stack.append(element)

    def characters(self, text: str) -> None:
        if self.stack:
            self.stack[-1].text += text

    def entity(self, name: str, *_rest: object) -> None:
        raise ReadError(
            Problem(
                f"the entity {name!r} is declared", Place(self.file, self.parser.CurrentLineNumber),
                "entities are not allowed", "save the drawing as plain SVG",
            )
        )  # fmt: skip


def hidden_rules(root: Element) -> tuple[tuple[str, str], ...]:
    """Return (tag or "", class ".x", id "#x" or "") of what style sheets hide (display: none).

    Selectors of one compound are understood: path, .a, #a, path.a, *; others are left out.
    """
    hidden: list[tuple[str, str]] = []
    todo = [root]
    while todo:
        element = todo.pop()
        todo += element.children
        if element.tag == "style":
            rules = re.sub(r"/\*.*?\*/", "", element.text, flags=re.DOTALL)
            for selectors in _HIDDEN_RULE.findall(rules):
                for selector in selectors.split(","):
                    match = _SELECTOR.fullmatch(selector.strip())
                    if match:
                        hidden.append((match[1].strip("*"), match[2] or ""))
    return tuple(hidden)
