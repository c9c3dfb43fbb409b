"""An HTML page of ours read again: balanced, closed to the world, every seam in it."""

import base64
import math
import re
from hashlib import sha256
from html.parser import HTMLParser

from sleevewright.findings import SeamRow
from sleevewright.pattern.result import Result
from sleevewright.pipeline.proofread.agreeing import near, same
from sleevewright.writing.report.words import NONE, clean, human

_VOID = {"meta", "br", "hr", "input", "link", "img", "base", "col", "area", "source", "wbr"}
_REFUSED = {
    "img", "iframe", "object", "embed", "link", "base", "form", "audio", "video", "source", "frame",
    "applet", "image", "use", "foreignobject", "animate", "set", "template", "portal",
}  # fmt: skip
_CLOSED = ("default-src 'none'", "base-uri 'none'", "form-action 'none'")
_HUNDREDTH = 0.0051  # mm; lengths are shown to 0.01


class Page(HTMLParser):
    """A page while it is read.

    Attributes:
        policy: of its content security.
        inside: "script" or "style" -> the texts of such elements.
        rows: cells of table rows, each with the id of its section.
    """

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.policy = ""
        self.inside: dict[str, list[str]] = {"script": [], "style": []}
        self.rows: list[tuple[str, list[str]]] = []
        self._open: list[str] = []
        self._section = ""
        self._cell = False
        self.feed(text)
        self.close()
        if self._open or not text.rstrip().endswith("</html>"):
            raise ValueError(f"it is cut off: {self._open[-1:] or 'its end'} is missing")

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element, unless it could run or load something."""
        self._look_at(tag, attrs)
        if tag not in _VOID:
            self._open.append(tag)
        said = dict(attrs)
        if tag == "section":
            self._section = said.get("id") or ""
        elif tag == "tr":
            self.rows.append((self._section, []))
        elif tag in ("td", "th"):
            self.rows[-1][1].append("")
            self._cell = True
        elif tag in self.inside:
            self.inside[tag].append("")
        elif tag == "meta" and said.get("http-equiv") == "Content-Security-Policy":
            self.policy = said.get("content") or ""

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element without content, as in pictures."""
        self._look_at(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """Close the element that is open."""
        opened = self._open.pop() if self._open else "nothing"
        if opened != tag:
            line, _ = self.getpos()
            raise ValueError(f"line {line}: {opened} is closed by {tag}")
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        """Take text."""
        if self._open and self._open[-1] in self.inside:
            self.inside[self._open[-1]][-1] += data
        elif self._cell:
            self.rows[-1][1][-1] += data

    def _look_at(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _REFUSED:
            raise ValueError(f"an element {tag!r} is in it")
        for name, value in attrs:
            if name.startswith("on") or name in ("style", "src", "srcset", "action", "formaction"):
                raise ValueError(f"an attribute {name!r} is in it")
            if name.endswith("href") and not (value or "").startswith("#"):
                raise ValueError(f"a link to {(value or '')[:40]!r} is in it")


def read_page(data: bytes) -> Page:
    """Read a page of ours.

    Raises:
        ValueError: it is not balanced, cut off, or something in it could run or load.
    """
    page = Page(data.decode("utf-8"))
    wanted = [f"'{_hash(text)}'" for text in page.inside["script"]]
    allowed = re.findall(r"script-src ([^;]*)", page.policy)
    same("its script, by the policy,", wanted, allowed[0].split() if allowed else [])
    for rule in _CLOSED:
        same(f"the policy's {rule!r}", rule in page.policy.split("; "), True)
    same("what the policy leaves open", "unsafe" in page.policy, False)
    return page


def compare_page(data: bytes, result: Result) -> None:
    """Compare a report with a result: a row for every seam, with its lengths; every piece.

    Raises:
        ValueError: it cannot be read, or is something else.
    """
    page = read_page(data)
    rows = {name: [cells for section, cells in page.rows if section == name]
            for name in ("walk", "cutting")}  # fmt: skip
    seams = rows["walk"][1:]
    same("number of seams", len(seams), len(result.seam_rows))
    for cells, row in zip(seams, result.seam_rows, strict=True):
        _compare_seam(cells, row)
    pieces = [cells[0] for cells in rows["cutting"][1:]]
    same("pieces", pieces, [_shown(piece.name) for piece in result.pattern.pieces])


def _compare_seam(cells: list[str], row: SeamRow) -> None:
    same("a seam", cells[0].strip(), _shown(row.name).strip())
    texts = [cells[i] for i in (2, 4, 5, 6, 7)]
    wanted = [*row.lengths, row.wanted_ease, row.difference, row.allowed]
    for text, number in zip(texts, wanted, strict=True):
        if text.strip() == NONE:
            same(f"{row.name}: a number is not shown", math.isfinite(number), False)
        else:
            found = float(text.replace("\N{MINUS SIGN}", "-"))
            near(f"{row.name}: a number", found, number, _HUNDREDTH)


def _shown(name: str) -> str:
    return str(clean(human(name)))


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(sha256(text.encode()).digest()).decode('ascii')}"
