"""The text of a DXF file looked over before a library reads it.

Libraries take NaN for a number, merge blocks of one name without a word and hang on a block that
inserts itself. What is checked here, with line numbers, cannot reach them: the shape of the file,
the grammar and size of every number, names of blocks, and how much inserting would expand.
"""

import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import Limits

MOST_BYTES = 128 << 20
MOST_TAGS = 5_000_000
MOST_EXPANDED = 200_000
DEEPEST_INSERT = 16

#: mm or any unit. No drawing of a garment has larger numbers.
LARGEST = 1e8

_NUMBER = re.compile(r"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s*", re.ASCII)
_LOOKS = (
    (b"AC10", "a DWG file; export it as DXF"),
    (b"%PDF", "a PDF file; export the drawing as DXF"),
    (b"<?xml", "an XML file; an SVG drawing must end in .svg"),
    (b"<svg", "an SVG file; rename it to .svg"),
    (b"PK\x03\x04", "a zip archive; unpack it"),
    (b"AutoCAD Binary DXF", "a binary DXF file; export it as text"),
    (b"version https://git-lfs", "a pointer to a large file; fetch the file itself"),
)  # fmt: skip


@dataclass(slots=True)
class Tags:
    """What the look-over found.

    Attributes:
        text: the file, blocks of one name told apart.
        units: $INSUNITS as written in the file; 0 where it has none.
        renamed: names of blocks that stood more than once.
        counts: kind of entity -> how many the file holds.
    """

    text: str
    units: int = 0
    renamed: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)


def look_over(path: Path, limits: Limits = Limits()) -> Tags:
    """Read the file's text and check it.

    Raises:
        ReadError: with line number, for anything that must not go on.
    """
    file = str(path)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ReadError(Problem("the file is too large", Place(file), f"{MOST_BYTES} bytes"))
        data = path.read_bytes()
    except OSError as error:
        raise ReadError(Problem(f"cannot be read: {error.strerror}", Place(file))) from None
    for start, what in _LOOKS:
        if data.lstrip(b"\xef\xbb\xbf \r\n")[: len(start)] == start:
            raise ReadError(Problem(f"not a DXF file: it looks like {what}", Place(file)))
    if b"\x00" in data:
        raise ReadError(Problem("not a DXF file: it holds zero bytes", Place(file)))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    return _Scan(file, text).run()


class _Scan:
    """One pass over the pairs of code and value."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        self.tags = Tags("")
        self.blocks: dict[str, int] = {}
        self.inserts: dict[str, Counter[str]] = {}
        self.section = ""
        self.sections: set[str] = set()
        self.block = ""

    def refuse(self, found: str, line: int, allowed: str = "") -> ReadError:
        return ReadError(Problem(found, Place(self.file, line), allowed))

    def run(self) -> Tags:
        lines = self.lines
        while lines and not lines[-1].strip():
            lines.pop()
        if len(lines) < 4 or lines[0].strip() not in ("0", "999"):
            raise self.refuse("not a DXF file: it does not begin with a section", 1)
        if len(lines) > 2 * MOST_TAGS:
            raise self.refuse("the drawing is too large", 1, f"{MOST_TAGS} groups are allowed")
        if len(lines) % 2 or lines[-2].strip() != "0" or lines[-1].strip() != "EOF":
            raise self.refuse("the file is cut off: it does not end with EOF", len(lines))
        entity, name_at = "", -1
        for i in range(0, len(lines), 2):
            code = self.code(i)
            value = lines[i + 1].strip()
            if code == 0:
                entity = value
                self.entity(value)
                name_at = -1
            elif code == 2 and entity in ("SECTION", "BLOCK", "INSERT") and name_at < 0:
                name_at = i
                self.named(entity, value, i)
            elif self.is_number(code):
                self.number(value, i)
            if self.section == "HEADER" and code == 9:
                self.header(value, i)
        self.check_inserts()
        self.tags.text = "\n".join(lines) + "\n"
        return self.tags

    def code(self, i: int) -> int:
        text = self.lines[i].strip()
        if not re.fullmatch(r"-?\d{1,4}", text, re.ASCII):
            raise self.refuse(f"{text[:20]!r} is no group code", i + 1, "a whole number")
        return int(text)

    @staticmethod
    def is_number(code: int) -> bool:
        return 10 <= code <= 59 or 140 <= code <= 149 or 210 <= code <= 239

    def number(self, value: str, i: int) -> None:
        if _NUMBER.fullmatch(value) is None:
            comma = " (a decimal point is wanted)" if "," in value else ""
            raise self.refuse(f"{value[:24]!r} is no number{comma}", i + 2, "a plain decimal")
        if self.section in ("BLOCKS", "ENTITIES") and abs(float(value)) > LARGEST:
            raise self.refuse(f"{value[:24]} is beyond all measure", i + 2, f"up to {LARGEST:g}")

    def entity(self, kind: str) -> None:
        if kind == "SECTION":
            self.section = ""
        elif kind == "ENDBLK":
            self.block = ""
        elif self.section in ("BLOCKS", "ENTITIES"):
            self.tags.counts[kind] += 1

    def named(self, entity: str, name: str, i: int) -> None:
        if entity == "SECTION":
            if name in self.sections:
                raise self.refuse(f"a second section {name}", i + 2, "one of each")
            self.section = name
            self.sections.add(name)
        elif entity == "BLOCK" and self.section == "BLOCKS":
            self.block = self.unique(name, i)
        elif entity == "INSERT":
            self.inserts.setdefault(self.block, Counter())[name.casefold()] += self.copies(i)

    def copies(self, i: int) -> int:
        """Rows times columns of an arrayed insert."""
        rows = columns = 1
        for j in range(i + 2, min(i + 80, len(self.lines) - 1), 2):
            code = self.lines[j].strip()
            if code == "0":
                break
            if code in ("70", "71") and self.lines[j + 1].strip().isdigit():
                value = max(1, int(self.lines[j + 1].strip()))
                columns, rows = (value, rows) if code == "70" else (columns, value)
        return rows * columns

    def unique(self, name: str, i: int) -> str:
        """Tell blocks of one name apart: ezdxf would make one of them."""
        key = name.casefold()
        self.blocks[key] = self.blocks.get(key, 0) + 1
        if self.blocks[key] > 1:
            self.tags.renamed.append(name)
            name = f"{name}__{self.blocks[key]}"
            self.lines[i + 1] = name
            # The name stands again under code 3 in newer files; ezdxf reads code 2.
        return name.casefold()

    def header(self, variable: str, i: int) -> None:
        if variable == "$INSUNITS" and i + 3 < len(self.lines):
            value = self.lines[i + 3].strip()
            self.tags.units = int(value) if value.isdigit() else 0

    def check_inserts(self) -> None:
        """Refuse blocks that insert themselves, and inserts that multiply beyond reason."""
        sizes: dict[str, int] = {}

        def size(block: str, trail: tuple[str, ...]) -> int:
            if block in trail:
                circle = " -> ".join((*trail[trail.index(block) :], block))
                raise ReadError(Problem(f"blocks insert themselves: {circle}", Place(self.file)))
            if len(trail) > DEEPEST_INSERT:
                raise ReadError(
                    Problem(
                        "blocks are nested too deep", Place(self.file), f"{DEEPEST_INSERT} levels"
                    )
                )
            if block not in sizes:
                total = 1
                for name, count in self.inserts.get(block, Counter()).items():
                    total += count * size(name, (*trail, block))
                    if total > MOST_EXPANDED:
                        raise ReadError(
                            Problem(
                                f"block {block or 'model space'!r} would expand to more than"
                                f" {MOST_EXPANDED} inserts", Place(self.file),
                            )
                        )  # fmt: skip
                sizes[block] = total
            return sizes[block]

        for block in list(self.inserts):
            size(block, ())
