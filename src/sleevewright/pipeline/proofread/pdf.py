"""PDF read again by qpdf, strictly; what it draws, operator by operator, against what was laid out."""

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pikepdf

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern.result import Result
from sleevewright.pipeline.proofread.agreeing import ROUNDED, Array, MismatchError, near, same
from sleevewright.writing.pdf.nests import Copy, Nest, in_a_row, nests_of
from sleevewright.writing.pdf.plot import LONGEST
from sleevewright.writing.pdf.strokes import MM
from sleevewright.writing.pdf.tiling import MARGIN, OVERLAP, best_tiling
from sleevewright.writing.pdf.typeface import cleaned

#: What would make a reader run, open, send or ask for something.
_REFUSED = frozenset(
    {
        "/JavaScript", "/JS", "/URI", "/AA", "/OpenAction", "/Launch", "/A", "/Annots", "/AcroForm",
        "/EmbeddedFiles", "/EF", "/GoToR", "/SubmitForm", "/RichMedia", "/XFA",
    }
)  # fmt: skip
_POINT = 0.01  # of a page's size, in points

Matrix = tuple[float, ...]


@dataclass(slots=True)
class Content:
    """What a content stream draws, in its own coordinates.

    Attributes:
        paths: control points of each path that is stroked, (n, 4, 2).
        texts: (codes as hex, x, y).
        forms: (name, matrix).
    """

    paths: list[Array] = field(default_factory=list)
    texts: list[tuple[str, float, float]] = field(default_factory=list)
    forms: list[tuple[str, Matrix]] = field(default_factory=list)


@dataclass(slots=True)
class Pages:
    """A document as read.

    Attributes:
        sizes: of its pages, points.
        contents: of its pages.
        forms: name -> content.
        letters: code as hex -> letter.
    """

    sizes: list[tuple[float, float]]
    contents: list[Content]
    forms: dict[str, Content]
    letters: dict[str, str]


def read_pdf(data: bytes) -> Pages:
    """Read a PDF of ours.

    Raises:
        ValueError: it is none, is damaged, or something in it could run, open or load.
    """
    if not data.endswith(b"%%EOF\n"):
        raise ValueError("it is cut off: its end is missing")
    try:
        with pikepdf.open(io.BytesIO(data), attempt_recovery=False) as pdf:
            return _read(pdf)
    except pikepdf.PdfError as error:
        raise ValueError(f"it is no PDF: {error}") from None


def compare_pdf(data: bytes, results: Sequence[Result]) -> None:
    """Compare a tiled PDF with results, one a size: sheets, what lies where, every line and text.

    Raises:
        ValueError, KeyError, IndexError: it cannot be read, or is something else.
    """
    pages, nests = read_pdf(data), nests_of(results)
    tiling = best_tiling(in_a_row(nests), results[0].printing)
    same("number of pages", len(pages.sizes), 1 + len(tiling.tiles))
    near(
        "size of the pages",
        pages.sizes,
        [[s * MM for s in tiling.paper]] * len(pages.sizes),
        _POINT,
    )
    for content, tile in zip(pages.contents[1:], tiling.tiles, strict=True):
        corner = tiling.corner(tile)
        left, below = MARGIN - corner[0], MARGIN + OVERLAP - corner[1]
        wanted = []
        for i in tile.shown:
            x, y = tiling.place(tiling.placements[i])
            wanted.append([tiling.scale, 0.0, 0.0, tiling.scale, x + left, y + below])
        same(
            f"sheet {tile.label}: pieces",
            [n for n, _ in content.forms],
            [f"/P{i}" for i in tile.shown],
        )
        near(f"sheet {tile.label}: places", [m for _, m in content.forms], wanted)
    _compare_nests(pages, nests, alone=len(results) == 1)


def compare_plot(data: bytes, results: Sequence[Result]) -> None:
    """Compare a PDF for a plotter with results: every nest once, whole, apart from the others.

    Raises:
        ValueError, KeyError, IndexError: it cannot be read, or is something else.
    """
    pages, nests = read_pdf(data), nests_of(results)
    roll, scale = results[0].printing.roll, results[0].printing.scale
    for wide, high in pages.sizes:
        near("width of the roll", wide, roll * MM, _POINT)
        same("a page is longer than readers take", high > LONGEST * MM + _POINT, False)
    placed = sorted(name for content in pages.contents for name, _ in content.forms)
    same("pieces", placed, sorted(f"/P{i}" for i in range(len(nests))))
    for content, (_, high) in zip(pages.contents, pages.sizes, strict=True):
        boxes = [_box(nests[int(n[2:])], matrix, scale) for n, matrix in content.forms]
        edge = np.array([roll, high / MM])
        for i, (low, top) in enumerate(boxes):
            same("a piece leaves the roll", bool((low < 0).any() or (top > edge).any()), False)
            meet = [bool((low < b).all() and (a < top).all()) for a, b in boxes[i + 1 :]]
            same("two pieces lie on one another", any(meet), False)
    _compare_nests(pages, nests, alone=len(results) == 1)


# --- reading ----------------------------------------------------------------------------------


def _read(pdf: pikepdf.Pdf) -> Pages:
    for item in pdf.objects:
        _look_at(item)
    _look_at(pdf.Root)
    resources = pdf.pages[0].obj.Resources
    fonts = [font.ToUnicode.read_bytes().decode("ascii") for font in resources.Font.values()]
    rows = re.findall(r"^<([0-9A-F]{4})> <([0-9A-F]+)>$", "\n".join(fonts), re.MULTILINE)
    sizes = [[float(v) for v in page.obj.MediaBox] for page in pdf.pages]
    return Pages(
        sizes=[(box[2] - box[0], box[3] - box[1]) for box in sizes],
        contents=[_content(page.obj.Contents) for page in pdf.pages],
        forms={name: _content(form) for name, form in resources.XObject.items()},
        letters={code: bytes.fromhex(hexed).decode("utf-16-be") for code, hexed in rows},
    )


def _look_at(item: Any) -> None:
    """Refuse a dictionary, or one within it, that could make a reader do something."""
    if isinstance(item, pikepdf.Dictionary | pikepdf.Stream):
        if found := _REFUSED & set(item.keys()):
            raise ValueError(f"{sorted(found)} is in it")
        for name in item.keys():  # noqa: SIM118 (a dictionary of qpdf's, not of Python's)
            if not item[name].is_indirect if isinstance(item[name], pikepdf.Object) else False:
                _look_at(item[name])
    elif isinstance(item, pikepdf.Array):
        for part in item:
            if isinstance(part, pikepdf.Object) and not part.is_indirect:
                _look_at(part)


def _content(stream: Any) -> Content:
    """Read the operators of a content stream; only those that draw, write and place matter."""
    found = Content()
    operands: list[str] = []
    path: list[list[list[float]]] = []
    at, place = [0.0, 0.0], [0.0, 0.0]
    matrix: Matrix = ()
    for token in stream.read_bytes().decode("ascii").split():
        if token not in _OPERATORS:
            operands.append(token)
            continue
        if token == "m":
            at, path = [float(v) for v in operands[-2:]], []
        elif token in ("l", "c"):
            path.append(_cubic(at, [float(v) for v in operands]))
            at = path[-1][3]
        elif token in ("S", "s") and path:
            found.paths.append(np.array(path))
            path = []
        elif token == "cm":
            matrix = tuple(float(v) for v in operands[-6:])
        elif token == "Tm":
            place = [float(v) for v in operands[-2:]]
        elif token == "Tj":
            found.texts.append((operands[-1].strip("<>"), place[0], place[1]))
        elif token == "Do":
            found.forms.append((operands[-1], matrix))
        operands = []
    return found


_OPERATORS = frozenset(
    {
        "m", "l", "c", "S", "s", "f", "re", "w", "d", "j", "J", "RG", "rg", "q", "Q", "cm", "W",
        "n", "Do", "BT", "ET", "Tf", "Tm", "Tj", "BDC", "BMC", "EMC",
    }
)  # fmt: skip


def _cubic(at: list[float], numbers: list[float]) -> list[list[float]]:
    """Return a segment from a point as four control points, a line with its handles at the thirds."""
    if len(numbers) == 6:
        return [at, numbers[:2], numbers[2:4], numbers[4:]]
    x, y = numbers
    p, q = (x - at[0]) / 3, (y - at[1]) / 3
    return [at, [at[0] + p, at[1] + q], [x - p, y - q], [x, y]]


# --- comparing --------------------------------------------------------------------------------


def _compare_nests(pages: Pages, nests: Sequence[Nest], *, alone: bool) -> None:
    for i, nest in enumerate(nests):
        found = pages.forms[f"/P{i}"]
        wanted, left = list(_wanted(nest, alone=alone)), list(found.paths)
        for what, laid in wanted:
            at = next((k for k, path in enumerate(left) if _is_near(path, laid)), None)
            if at is None:
                raise MismatchError(f"{nest.name}: {what} is not there as it was laid out")
            del left[at]  # of two lines on one another, both are wanted
        if alone:
            holes = nest.copies[0].placed.piece.drill_holes
            same(f"{nest.name}: number of lines", len(found.paths), len(wanted) + len(holes))
            _compare_texts(pages.letters, found, nest.copies[0])


def _wanted(nest: Nest, *, alone: bool) -> Iterator[tuple[str, Array]]:
    """Yield every line of a nest: its name and its control points."""
    for copy in nest.copies:
        shift = np.array(copy.shift)
        for line in copy.placed.lines:
            once = line.kind in (LineKind.GRAIN, LineKind.FOLD, LineKind.MARK)
            if alone or not once:
                name = line.edge.name if line.edge else line.name
                yield f"{line.kind} line {name}".rstrip(), line.curve.controls + shift
        for notch in copy.placed.notches:
            shape = Curve.polyline(notch.points + shift)
            yield f"notch {notch.cut.name}", shape.controls


def _is_near(path: Array, laid: Array) -> bool:
    return len(path) == len(laid) and bool(np.abs(path - laid).max() <= ROUNDED)


def _compare_texts(letters: dict[str, str], found: Content, copy: Copy) -> None:
    name, laid = copy.placed.piece.name, copy.placed.texts
    texts = [
        "".join(letters[code] for code in re.findall("....", codes)) for codes, _, _ in found.texts
    ]
    same(f"{name}: texts", texts, [cleaned(line.text) for line in laid])
    places = [[x, y] for _, x, y in found.texts]
    near(f"{name}: places of texts", places, [np.add(line.at, copy.shift) for line in laid])


def _box(nest: Nest, matrix: Matrix, scale: float) -> tuple[Array, Array]:
    """Return the lower left and the upper right corner of the cut lines of a nest on its page, mm."""
    a, b, c, d, e, f = matrix
    near("scale of a piece", [a * d - b * c, a * c + b * d], [scale**2, 0.0], 1e-6)
    curves = [copy.placed.lines[0].curve.transformed(Affine.translation(copy.shift))
              for copy in nest.copies]  # fmt: skip
    points = np.concatenate([curve.flattened(0.1) for curve in curves])
    moved = points @ np.array([[a, b], [c, d]]) + (e, f)
    return moved.min(axis=0), moved.max(axis=0)
