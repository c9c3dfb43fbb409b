"""SVG read again by the standard library's XML reader, path data by its letters and numbers."""

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from sleevewright.formats.line_styles import SEAMS_ID, LineKind
from sleevewright.geometry import Curve
from sleevewright.pattern import Seam
from sleevewright.pattern.piece import Lettering
from sleevewright.pattern.result import Result
from sleevewright.pipeline.proofread.agreeing import Array, near, near_each, same
from sleevewright.writing.sheet import SheetLine, SheetNotch, SheetPiece, lay_out

_NS = "{http://www.w3.org/2000/svg}"
#: All that is written: nothing that runs, links or loads.
_ELEMENTS = {"svg", "title", "style", "metadata", "g", "path", "circle", "text"}
_ATTRIBUTES = {
    "width", "height", "viewBox", "data-size", "lang", "role", "aria-labelledby", "id", "class",
    "data-piece", "data-quantity", "data-material", "data-fold", "data-name", "data-edge",
    "data-side", "data-kind", "data-at", "d", "cx", "cy", "r", "x", "y", "font-size", "transform",
    "{http://www.w3.org/XML/1998/namespace}lang",
}  # fmt: skip
_CAPITAL = 0.72  # height of a capital as a part of the font size
_ROUNDED_TWICE = 3e-4  # mm: of a font size that was divided by that

_LETTERS = str.maketrans(dict.fromkeys("MLCZ", " "))
_NUMBERS = str.maketrans(dict.fromkeys("0123456789.- "))
_TAKES = {"M": 2, "L": 2, "C": 6, "Z": 0}
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def read_svg(data: bytes) -> ET.Element:
    """Read an SVG file of ours.

    Raises:
        ValueError: it is no XML, no SVG, has entities, or holds what we do not write.
    """
    if b"<!" in data:
        raise ValueError("it declares a document type or entities")
    try:
        root = ET.fromstring(data)
    except ET.ParseError as error:
        raise ValueError(f"it is no XML: {error}") from None
    for element in root.iter():
        name = element.tag.removeprefix(_NS)
        if name not in _ELEMENTS or name == element.tag:
            raise ValueError(f"an element {element.tag!r} is in it")
        if strange := element.attrib.keys() - _ATTRIBUTES:
            raise ValueError(f"attributes {sorted(strange)} are in it")
    same("its root", root.tag, f"{_NS}svg")
    if not root.findall(f"{_NS}g[@data-piece]"):
        raise ValueError("no piece is in it")
    for path in root.iter(f"{_NS}path"):
        _points([path])
    return root


def compare_svg(data: bytes, result: Result) -> None:
    """Compare a file with the sheet of a result: every line of every piece, notches, texts, seams.

    Raises:
        ValueError: it cannot be read, or is something else.
    """
    root, sheet = read_svg(data), lay_out(result)
    box = [float(number) for number in root.get("viewBox", "").split()]
    near("the view box", box, [0.0, 0.0, sheet.width, sheet.height])
    sides = [float(root.get(side, "").removesuffix("mm")) for side in ("width", "height")]
    near("width and height", sides, box[2:])
    same("the size", root.get("data-size", ""), _written(sheet.size))
    same("the title", root.findtext(f"{_NS}title") or "", _written(sheet.title))
    note = root.find(f"{_NS}metadata[@id='{SEAMS_ID}']")
    seams = json.loads((note.text or "") if note is not None else "")
    same("number of seams", len(seams), len(result.pattern.seams))
    for found, seam in zip(seams, result.pattern.seams, strict=True):
        _compare_seam(found, seam)
    groups = root.findall(f"{_NS}g")
    same("number of pieces", len(groups), len(sheet.pieces))
    for group, placed in zip(groups, sheet.pieces, strict=True):
        _Group(group, placed, sheet.height).compare(sheet.size)


def _compare_seam(found: dict[str, Any], seam: Seam) -> None:
    same("a seam", found["name"], seam.name)
    for side, uses in (("first", seam.first), ("second", seam.second)):
        wanted = [[use.piece, use.edge, int(use.backwards)] for use in uses]
        same(f"{side} side of the seam {seam.name}", found[side], wanted)
    numbers = [float(found[name]) for name in ("ease", "gather", "pleated", "within")]
    wanted_numbers = [seam.ease, seam.gather, seam.pleated, seam.within]
    near(f"the seam {seam.name}", numbers, wanted_numbers, 1e-6)


class _Group:
    """The group of a piece beside the piece that it should be."""

    def __init__(self, group: ET.Element, placed: SheetPiece, height: float) -> None:
        self.group = group
        self.placed = placed
        self.name = placed.piece.name
        #: takes coordinates of the piece, y up, to those of the file, y down
        self.move = np.array([placed.shift[0], height - placed.shift[1]])

    def compare(self, size: str) -> None:
        piece = self.placed.piece
        said = {
            "class": "piece", "data-piece": piece.name, "data-size": size, "data-fold": piece.fold,
            "data-quantity": str(piece.quantity), "data-material": piece.material,
        }  # fmt: skip
        self.says(self.group, said, self.name)
        paths = self.group.findall(f"{_NS}path")
        marks = [path for path in paths if path.get("class") == LineKind.NOTCH]
        drawn = [path for path in paths if path.get("class") != LineKind.NOTCH]
        self.lines(drawn)
        self.notches(marks)
        holes = [
            [float(circle.get(axis, "")) for axis in ("cx", "cy")]
            for circle in self.group.findall(f"{_NS}circle")
        ]
        wanted = self.moved(np.reshape(piece.drill_holes, (-1, 2)))
        near(f"{self.name}: drill holes", np.reshape(holes, (-1, 2)), wanted)
        self.texts()

    def lines(self, paths: list[ET.Element]) -> None:
        lines = self.placed.lines
        same(f"{self.name}: number of lines", len(paths), len(lines))
        for path, line in zip(paths, lines, strict=True):
            self.says(path, _said_of(line), f"{self.name}: {line.kind}")
            same(f"{self.name}: closed", path.get("d", "")[-1:] == "Z", line.kind is LineKind.CUT)
        names = [_name_of(self.name, line) for line in lines]
        wanted = [self.moved(line.curve.controls) for line in lines]
        near_each(names, _points(paths), wanted)

    def notches(self, paths: list[ET.Element]) -> None:
        notches = self.placed.notches
        same(f"{self.name}: number of notches", len(paths), len(notches))
        for path, notch in zip(paths, notches, strict=True):
            self.says(path, _said_of_notch(notch), f"{self.name}: notch")
        wanted = [Curve.polyline(self.moved(notch.points)).controls for notch in notches]
        near_each([f"{self.name}: notch {n.cut.name}" for n in notches], _points(paths), wanted)
        stations = [float(path.get("data-at", "")) for path in paths]
        near(f"{self.name}: stations of notches", stations, [notch.at for notch in notches])

    def texts(self) -> None:
        found, wanted = self.group.findall(f"{_NS}text"), self.placed.texts
        same(f"{self.name}: number of texts", len(found), len(wanted))
        for element, line in zip(found, wanted, strict=True):
            same(f"{self.name}: text", element.text or "", _written(line.text))
            self.says(element, {"class": "text", "data-edge": line.about}, f"{self.name}: text")
            place = [float(element.get(name, "")) for name in ("x", "y")]
            near(f"{self.name}: place of a text", place, self.moved(np.array(line.at)))
            size = float(element.get("font-size", ""))
            near(f"{self.name}: height of a text", size * _CAPITAL, line.height, _ROUNDED_TWICE)
            near(f"{self.name}: turn of a text", _turn(element), _wanted_turn(line, place))

    def says(self, element: ET.Element, wanted: dict[str, str], what: str) -> None:
        for name, value in wanted.items():
            same(f"{what}, {name}", element.get(name, ""), _written(value))

    def moved(self, points: Array) -> Array:
        moved: Array = points * (1.0, -1.0) + self.move
        return moved


def _name_of(piece: str, line: SheetLine) -> str:
    about = line.edge.name if line.edge else line.name
    return f"{piece}: {line.kind} line {about}".rstrip()


def _said_of(line: SheetLine) -> dict[str, str]:
    if line.edge is None:
        return {"class": line.kind.value, "data-name": line.name}
    role = f" {line.edge.role}" if line.kind is LineKind.SEW else ""
    side = line.edge.side.value if line.edge.side else ""
    return {"class": f"{line.kind}{role}", "data-edge": line.edge.name, "data-side": side}


def _said_of_notch(notch: SheetNotch) -> dict[str, str]:
    return {
        "class": LineKind.NOTCH.value, "data-name": notch.cut.name, "data-edge": notch.edge,
        "data-kind": notch.cut.kind.value,
    }  # fmt: skip


def _turn(element: ET.Element) -> list[float]:
    text = element.get("transform", "rotate(0 0 0)")
    if not (text.startswith("rotate(") and text.endswith(")")):
        raise ValueError(f"a text is turned by {text[:40]!r}")
    return [float(number) for number in text[7:-1].split()]


def _wanted_turn(line: Lettering, place: Sequence[float]) -> list[float]:
    return [-line.angle, *place] if line.angle else [0.0, 0.0, 0.0]


def _points(paths: list[ET.Element]) -> list[Array]:
    """Return the control points of paths of M, L, C and Z, each (n, 4, 2); a line as an even cubic.

    Raises:
        ValueError: path data of another form.
    """
    data = [path.get("d", "") for path in paths]
    commands = [text.translate(_NUMBERS) for text in data]
    if any(not re.fullmatch("M[LC]+Z?", letters) for letters in commands):
        raise ValueError("path data of another form than ours")
    numbers = [list(map(float, text.translate(_LETTERS).split())) for text in data]
    return [_controls(*pair) for pair in zip(commands, numbers, strict=True)]


def _controls(commands: str, numbers: list[float]) -> Array:
    if len(numbers) != sum(_TAKES[command] for command in commands):
        raise ValueError("path data with too few or too many numbers")
    if not np.isfinite(numbers).all():
        raise ValueError("path data with a number that is not finite")
    return np.array(list(_cubics(commands, numbers)))


def _cubics(commands: str, numbers: list[float]) -> Iterator[list[list[float]]]:
    x, y = numbers[:2]
    at = 2
    for command in commands[1:]:
        if command == "C":
            a, b, c, d, e, f = numbers[at : at + 6]
            yield [[x, y], [a, b], [c, d], [e, f]]
        elif command == "L":
            e, f = numbers[at : at + 2]
            p, q = (e - x) / 3, (f - y) / 3
            yield [[x, y], [x + p, y + q], [e - p, f - q], [e, f]]
        else:
            return
        x, y = e, f
        at += _TAKES[command]


def _written(text: str) -> str:
    """Return text as an XML file can hold it."""
    plain = _NOT_IN_XML.sub("\ufffd", text)
    return plain.translate({9: " ", 10: " ", 13: " "})
