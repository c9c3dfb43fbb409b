"""An SVG file as a small tree with line numbers; bounded in size, depth and number of elements.

The standard library's expat, fed the whole file at once: before version 2.6 it reads an attribute again from
its start with every piece that it is given. Measured with 2.5 and a path of 32 MB: 4.6 s in pieces of 64 kB,
0.5 s at once (1.6 s for 64 MB). Entities and default attributes are refused, as nothing else can make much of
a little; a DOCTYPE without them is cut out, so that an entity it may have declared elsewhere is an error
instead of nothing. Nothing outside the file is ever opened.
"""

import math
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

from sleevewright.errors import Place, Problem, ReadError, on_one_line
from sleevewright.limits import DEEPEST_ELEMENT, Limits

SVG = "http://www.w3.org/2000/svg"

#: Tag of a style sheet that stands in another file.
OUTSIDE_STYLES = "?xml-stylesheet"

#: Words that are no part of the text they stand in.
_UNSEEN = frozenset(("title", "desc", "metadata", "style", "script"))

_XLINK_HREF = "http://www.w3.org/1999/xlink href"
_MB = 1 << 20
_LINE_END = re.compile(r"\r\n|\r|\n")

#: What files called .svg turn out to be: their first bytes, in small letters.
_LOOKS_LIKE = (
    (b"\x89png", "a PNG picture"), (b"\xff\xd8\xff", "a JPEG picture"), (b"gif8", "a GIF picture"),
    (b"%pdf", "a PDF"), (b"\x1f\x8b", "compressed (.svgz)"), (b"pk\x03\x04", "a zip archive"),
    (b"ac10", "a DWG"), (b"0\nsection", "a DXF"), (b"0\r\nsection", "a DXF"), (b"%!ps", "PostScript"),
    (b"<!doctype html", "a web page"), (b"version https://git-lfs", "a note"
    " where the file should be (Git LFS): fetch the file itself"),
)  # fmt: skip


@dataclass(slots=True)
class Element:
    """One element while the file is read.

    Attributes:
        tag: without its namespace; "{namespace}tag" where that is not SVG's.
        attributes: as written, without those of other namespaces (but xlink:href, as "href").
        line: where it begins.
        children: in order.
        text: character data before the first of them.
        tail: character data behind it.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    children: "list[Element]" = field(default_factory=list)
    text: str = ""
    tail: str = ""

    @property
    def is_foreign(self) -> bool:
        """Whether it is of another namespace: notes that programs leave."""
        return self.tag.startswith("{")

    @property
    def name(self) -> str:
        """How messages name it, in few words."""
        tag = on_one_line(self.tag.rpartition("}")[2], 40)
        name = self.attributes.get("id")
        return tag if name is None else f"{tag} {on_one_line(repr(name), 60)}"

    def walk(self) -> "Iterator[Element]":
        """Yield it and everything in it, in the order of the file."""
        todo = [self]
        while todo:
            element = todo.pop()
            yield element
            todo += reversed(element.children)

    def words(self) -> str:
        """Return all character data in it that is seen, with single blanks."""
        found: list[str] = []
        todo: list[Element | str] = [self]
        while todo:
            part = todo.pop()
            if isinstance(part, str):
                found.append(part)
            elif part.tag not in _UNSEEN:
                found.append(part.text)
                for child in reversed(part.children):
                    todo += (child.tail, child)
        return " ".join("".join(found).split())


def read_tree(path: Path, limits: Limits = Limits()) -> Element:
    """Read a file into a tree.

    Raises:
        ReadError: it cannot be opened, is no SVG, or goes beyond a limit.
    """
    data = _contents(path, limits)
    plain = data.removeprefix(b"\xef\xbb\xbf").lstrip()[:40].lower()
    for beginning, what in _LOOKS_LIKE:
        if plain.startswith(beginning):
            raise ReadError(
                Problem(f"not an SVG file: it is {what}", Place(str(path), 1), "",
                        "export the drawing as plain SVG")
            )  # fmt: skip
    try:
        return _Builder(str(path), limits).build(data)
    except _Doctype as found:
        without = data[: found.start] + data[found.stop :]
        return _Builder(str(path), limits, found).build(without)


def _contents(path: Path, limits: Limits) -> bytes:
    """Return what is in the file; a pipe or a device, which may never end, is none."""
    place = Place(str(path))
    try:
        facts = path.stat()
        if not stat.S_ISREG(facts.st_mode):
            raise ReadError(Problem("cannot be read: it is no file", place))
        limits.refuse_more("file_mb", math.ceil(facts.st_size / _MB), place)
        with path.open("rb") as file:
            data = file.read(limits.file_mb * _MB + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise ReadError(Problem(f"cannot be read: {why}", place)) from None
    limits.refuse_more("file_mb", math.ceil(len(data) / _MB), place)
    if not data.strip():
        raise ReadError(Problem("not an SVG file: it is empty", place))
    return data


class _Doctype(Exception):  # noqa: N818 (no error: it ends the first reading)
    """A DOCTYPE was found, from byte `start` to before byte `stop`; `lines` lines end in it."""

    def __init__(self, start: int, stop: int, lines: int) -> None:
        super().__init__(start, stop, lines)
        self.start, self.stop, self.lines = start, stop, lines


class _Builder:
    """Feeds expat and keeps the stack of open elements."""

    def __init__(self, file: str, limits: Limits, cut: _Doctype | None = None) -> None:
        self.file = file
        self.limits = limits
        self.cut = cut
        self.lines_cut = cut.lines if cut else 0
        self.root: Element | None = None
        self.prolog: list[Element] = []
        self.stack: list[Element] = []
        self.run: list[str] = []
        self.count = 0
        self.data = b""
        self.doctype_at = 0
        parser = self.parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.characters
        parser.ProcessingInstructionHandler = self.instruction
        parser.StartDoctypeDeclHandler = self.doctype
        parser.EndDoctypeDeclHandler = self.end_of_doctype
        parser.EntityDeclHandler = self.entity
        parser.AttlistDeclHandler = self.attribute_list

    def build(self, data: bytes) -> Element:
        self.data = data
        try:
            self.parser.Parse(data, True)
        except expat.ExpatError as error:
            what = expat.ErrorString(error.code) or "not XML"
            place = Place(self.file, error.lineno + self.lines_cut, error.offset + 1)
            raise ReadError(Problem(f"not an SVG file: {what}", place)) from None
        except (ValueError, LookupError) as error:
            raise ReadError(
                Problem(f"not an SVG file: {error}", self.place, "", "save it as UTF-8")
            ) from None
        if self.root is None or self.root.tag != "svg":
            found = f"its root is {self.root.name}" if self.root else "it has no root"
            raise ReadError(Problem(f"not an SVG file: {found}", Place(self.file, 1)))
        self.root.children = [*self.prolog, *self.root.children]
        return self.root

    @property
    def line(self) -> int:
        return self.parser.CurrentLineNumber + self.lines_cut

    @property
    def place(self) -> Place:
        return Place(self.file, self.line)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if self.count > self.limits.elements:
            self.limits.refuse_more("elements", self.count, self.place)
        if len(self.stack) >= DEEPEST_ELEMENT:
            raise ReadError(
                Problem("elements are nested too deep", self.place,
                        f"{DEEPEST_ELEMENT} levels are allowed")
            )  # fmt: skip
        space, _, tag = name.rpartition(" ")
        if space not in ("", SVG):
            if not self.stack:
                found = f"its root is {tag!r} of {space!r}"
                raise ReadError(Problem(f"not an SVG file: {found}", self.place))
            tag = f"{{{space}}}{tag}"
        plain = {key: value for key, value in attributes.items() if " " not in key}
        if _XLINK_HREF in attributes:
            plain.setdefault("href", attributes[_XLINK_HREF])
        element = Element(tag, plain, self.line)
        self.end_run()
        if self.stack:
            self.stack[-1].children.append(element)
        else:
            self.root = element
        self.stack.append(element)

    def end(self, _name: str) -> None:
        self.end_run()
        self.stack.pop()

    def characters(self, text: str) -> None:
        self.run.append(text)

    def end_run(self) -> None:
        """Give the character data since the last tag to what it stands in or behind."""
        if self.run and self.stack:
            around = self.stack[-1]
            if around.children:
                around.children[-1].tail = "".join(self.run)
            else:
                around.text = "".join(self.run)
        self.run.clear()

    def instruction(self, target: str, _data: str) -> None:
        if target == OUTSIDE_STYLES[1:] and self.root is None:
            self.prolog.append(Element(OUTSIDE_STYLES, {}, self.line))

    def doctype(self, *_declared: object) -> None:
        if self.cut:
            raise ReadError(Problem("not an SVG file: there are two DOCTYPEs", self.place))
        known = self.parser.CurrentByteIndex  # expat says it at its end or at its [
        self.doctype_at = self.data.rindex("<!DOCTYPE".encode(self.codec(known)), 0, known)

    def end_of_doctype(self) -> None:
        stop = self.parser.CurrentByteIndex
        codec = self.codec(stop)
        stop += len(">".encode(codec))
        cut = self.data[self.doctype_at : stop].decode(codec, "replace")
        raise _Doctype(self.doctype_at, stop, len(_LINE_END.findall(cut)))

    def codec(self, at: int) -> str:
        """Return in what the bytes of a sign at an index are written; one of those that expat knows."""
        if b"\0" not in self.data[at : at + 2]:
            return "ascii"
        return "utf-16-be" if self.data[at] == 0 else "utf-16-le"

    def entity(self, name: str, *_rest: object) -> None:
        raise ReadError(
            Problem(f"the entity {name!r} is declared", self.place, "entities are not allowed",
                    "save the drawing as plain SVG")
        )  # fmt: skip

    def attribute_list(self, _tag: str, name: str, _type: str, default: object, _r: object) -> None:
        if default is not None:
            raise ReadError(
                Problem(f"a value of {name!r} is declared for all elements", self.place,
                        "default attributes are not allowed", "save the drawing as plain SVG")
            )  # fmt: skip
