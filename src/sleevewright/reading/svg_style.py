"""What an SVG hides: `display: none` by attribute, style or style sheet, in the order in which they count.

Of style sheets, selectors of one compound are understood: path, .a, #a, path.a, *; that a rule by
another selector says `display` is said, as is a style sheet that stands elsewhere.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from sleevewright.reading.svg_tree import OUTSIDE_STYLES, Element

_SELECTOR = re.compile(r"(\*|[\w-]*)([.#][\w-]+)?")

#: How much a rule counts: by an id, by a class, by a tag; beside the element; with !important.
_BY_NAME = {"#": 100, ".": 10, "": 0}
_BESIDE = 500
_IMPORTANT = 1000


@dataclass(slots=True)
class Styles:
    """The rules of all style sheets of a drawing that say `display`.

    Attributes:
        rules: (tag or "", ".class", "#id" or "") -> ((weight, order), whether it hides).
        strange: selectors that are not understood, with the line of their style sheet.
        elsewhere: lines that name a style sheet outside the file.
    """

    rules: dict[tuple[str, str], tuple[tuple[int, int], bool]] = field(default_factory=dict)
    strange: list[tuple[str, int]] = field(default_factory=list)
    elsewhere: list[int] = field(default_factory=list)

    def hides(self, element: Element) -> bool:
        """Whether an element, and with it all that is in it, is not shown."""
        said = element.attributes
        found = [((-1, 0), said.get("display", "").strip().lower() == "none")]
        beside = _display(said.get("style", ""))
        if beside is not None:
            hidden, important = beside
            found.append(((_BESIDE + _IMPORTANT * important, 0), hidden))
        if self.rules:
            names = ["", *(f".{name}" for name in said.get("class", "").split())]
            names += [f"#{said['id']}"] if "id" in said else []
            keys = ((tag, name) for tag in ("", element.tag) for name in names)
            found += [self.rules[key] for key in keys if key in self.rules]
        return max(found)[1]

    def left_out(self) -> Iterator[str]:
        """Yield what was not taken into account, a sentence each."""
        if self.strange:
            selector, line = self.strange[0]
            yield (
                f"{len(self.strange)} selectors of style sheets say what is displayed and are not"
                f" understood; the first is {selector[:60]!r} in the one at line {line}"
            )
        if self.elsewhere:
            yield (
                f"{len(self.elsewhere)} style sheets are outside the file and not read; the first is"
                f" named at line {self.elsewhere[0]}"
            )

    def add(self, selectors: str, body: str, line: int) -> None:
        """Take in a rule of the style sheet at a line."""
        said = _display(body)
        if said is None:
            return
        hidden, important = said
        for selector in selectors.split(","):
            match = _SELECTOR.fullmatch(selector.strip())
            if match is None:
                self.strange.append((selector.strip(), line))
                continue
            tag, name = match[1].strip("*"), match[2] or ""
            weight = _BY_NAME[name[:1]] + bool(tag) + _IMPORTANT * important
            rule = ((weight, len(self.rules)), hidden)
            self.rules[tag, name] = max(rule, self.rules.get((tag, name), rule))


def styles_of(root: Element) -> Styles:
    """Gather what the style sheets of a drawing say of `display`."""
    styles = Styles()
    for element in root.walk():
        if element.tag == OUTSIDE_STYLES:
            styles.elsewhere.append(element.line)
        elif element.tag == "style":
            if "@import" in element.text:
                styles.elsewhere.append(element.line)
            for selectors, body in _rules(element.text):
                styles.add(selectors, body, element.line)
    return styles


def _display(declarations: str) -> tuple[bool, bool] | None:
    """Return (hidden, important) of the last declaration of `display`; None where there is none."""
    said = None
    for declaration in declarations.lower().split(";"):
        name, _, value = declaration.partition(":")
        if name.strip() == "display":
            word, _, mark = value.partition("!")
            said = (word.strip() == "none", mark.strip() == "important")
    return said


def _rules(text: str) -> Iterator[tuple[str, str]]:
    """Yield selectors and body of each rule, without comments.

    A rule within a block, such as @media, comes with the head of the block before its selectors, so
    that it is not understood.
    """
    first, *rest = text.split("/*")
    plain = first + "".join(part.partition("*/")[2] for part in rest)
    heads: list[str] = []
    said = ""
    for part in re.split(r"([{}])", plain):
        if part == "{":
            heads.append(said)
        elif part == "}" and heads:
            yield " ".join(heads[-2:]).strip(), said
            heads.pop()
        elif part != "}":
            said = part if heads else part.rpartition(";")[2]
