"""The bytes of a DXF file as text: what the file is in truth, and which alphabet it is written in."""

import re
import stat
from dataclasses import dataclass
from pathlib import Path

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.limits import Limits

#: How a file begins -> what it looks like, and what to do.
_LOOKS = (
    (b"AC10", "a DWG file; export it as DXF"),
    (b"AutoCAD Binary DXF", "a binary DXF file; export it as text (ASCII)"),
    (b"%PDF", "a PDF file; export the drawing as DXF"),
    (b"<svg", "an SVG file; an SVG drawing must end in .svg"),
    (b"<!DOCTYPE svg", "an SVG file; an SVG drawing must end in .svg"),
    (b"<?xml", "an XML file; an SVG drawing must end in .svg"),
    (b"<", "a web page; download the file itself"),
    (b"{", "a JSON file"),
    (b"PK\x03\x04", "a zip archive; unpack it"),
    (b"\x1f\x8b", "a gzip archive; unpack it"),
    (b"\x89PNG", "a picture (PNG); a drawing of lines is wanted"),
    (b"\xff\xd8\xff", "a picture (JPEG); a drawing of lines is wanted"),
    (b"version https://git-lfs", "a pointer to a large file; fetch the file itself"),
    (b"\xff\xfe", "text in UTF-16; save it as UTF-8"),
    (b"\xfe\xff", "text in UTF-16; save it as UTF-8"),
)  # fmt: skip

_CODE_PAGE = re.compile(rb"\$DWGCODEPAGE\s+3\s+([\w.-]{1,20})", re.IGNORECASE)
_VERSION = re.compile(rb"\$ACADVER\s+1\s+AC(\d{4})")
_LARGE = ("cp932", "cp936", "cp949", "cp950", "big5", "gb2312", "johab")
_WINDOWS = {"874", "932", "936", "949", "950", *(str(n) for n in range(1250, 1259))}
_OTHERS = {
    "utf-8": "utf-8", "utf8": "utf-8", "ascii": "cp1252", "macintosh": "mac_roman", "mac-roman": "mac_roman",
    "big5": "big5", "gb2312": "gb2312", "johab": "johab", "ansi_1361": "johab", "ksc5601": "cp949",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Decoded:
    """A file as text.

    Attributes:
        text: with the line ends that the file has.
        notes: what had to be assumed or replaced, a sentence each.
    """

    text: str
    notes: tuple[str, ...] = ()


def read_text(path: Path, limits: Limits = Limits()) -> Decoded:
    """Read the text of a file.

    Raises:
        ReadError: it cannot be read, is larger than the limit, or is no text; says what it looks like.
    """
    place = Place(str(path))
    data = _bytes(path, limits, place)
    head = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    if not head:
        raise ReadError(Problem("the file is empty", place, "a DXF file is wanted"))
    for start, what in _LOOKS:
        if head[: len(start)].lower() == start.lower():
            raise ReadError(Problem(f"not a DXF file: it looks like {what}", place))
    if b"\x00" in data:
        raise ReadError(Problem("not a DXF file in ASCII: it holds zero bytes", place))
    return _decoded(data)


def _bytes(path: Path, limits: Limits, place: Place) -> bytes:
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise ReadError(Problem("cannot be read: it is no file but a folder or device", place))
        limits.refuse_more("file_mb", -(-about.st_size >> 20), place)
        with path.open("rb") as file:
            data = file.read((limits.file_mb << 20) + 1)
    except OSError as error:
        raise ReadError(Problem(f"cannot be read: {error.strerror}", place)) from None
    limits.refuse_more("file_mb", -(-len(data) >> 20), place)
    return data


def _decoded(data: bytes) -> Decoded:
    """UTF-8 if it is; else by the code page that the file names; else Windows' for western Europe.

    Short words of the large alphabets of Asia may be UTF-8 by chance: there the code page goes first.
    """
    named = _code_page(data)
    for encoding in (named, "utf-8-sig") if named in _LARGE and _is_old(data) else ("utf-8-sig",):
        try:
            return Decoded(data.decode(encoding))
        except UnicodeDecodeError:
            continue
    text = data.decode(named or "cp1252", errors="replace")
    assumed = "the file is not UTF-8 and names no code page that is known: taken as cp1252"
    return Decoded(text, () if named else (assumed,))


def _is_old(data: bytes) -> bool:
    """Whether the file is of the time before all were UTF-8."""
    match = _VERSION.search(data[: 1 << 16])
    return match is None or match[1] < b"1021"


def _code_page(data: bytes) -> str:
    """Return Python's name of the code page that the header names; "" for none that is known."""
    match = _CODE_PAGE.search(data[: 1 << 16])
    if match is None:
        return ""
    name = match[1].decode("ascii", "replace").lower()
    number = name.removeprefix("ansi_").removeprefix("dos")
    if name.startswith("ansi_") and number in _WINDOWS:
        return f"cp{number}"
    if name.startswith("dos") and re.fullmatch(r"437|85[0257]|86[013-69]", number):
        return f"cp{number}"
    latin = re.fullmatch(r"iso[-_]?8859-?([1-9]|1[013-6])", name)
    return f"iso8859_{latin[1]}" if latin else _OTHERS.get(name, "")
