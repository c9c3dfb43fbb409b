"""Hostile DXF files, made by script; each says what must come of it, decided before it ran.

The drawings are small: most hold one line or one outline beside what is hostile, so that "read" can be checked
by counting and measuring what came.
"""
# fmt: off

import math
import random
import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

from hostile.harness import Case, read_block
from hostile.mutants import alike
from sleevewright.errors import LabelError
from sleevewright.limits import Limits
from sleevewright.reading.drawing import Drawing
from sleevewright.reading.dxf import read_dxf

SAMPLES = Path(__file__).parents[2] / "sample_patterns"

Tags = list[tuple[int | str, object]]
Check = Callable[[Any], None]


# --- making files --------------------------------------------------------------------------------


def entity(kind: str, *pairs: object, layer: str = "A") -> Tags:
    """entity("POINT", 10, 1, 20, 2): the tags of one entity."""
    values = iter(pairs)
    return [(0, kind), (8, layer), *zip(values, values, strict=True)]


def line(x1: object, y1: object, x2: object, y2: object, *more: object, layer: str = "A") -> Tags:
    return entity("LINE", 10, x1, 20, y1, 11, x2, 21, y2, *more, layer=layer)


def lw(points: Iterable[tuple], *more: object, closed: bool = False, layer: str = "A") -> Tags:
    """An LWPOLYLINE through (x, y) or (x, y, bulge)."""
    points = list(points)
    tags = entity("LWPOLYLINE", 90, len(points), 70, int(closed), *more, layer=layer)
    for x, y, *bulge in points:
        tags += [(10, x), (20, y), *((42, b) for b in bulge)]
    return tags


def poly(
    points: Iterable[tuple], flags: int = 0, *more: object, layer: str = "A", end: bool = True
) -> Tags:
    """A POLYLINE with a VERTEX for each (x, y[, z[, flags]])."""
    tags = entity("POLYLINE", 66, 1, 70, flags, *more, layer=layer)
    for x, y, *rest in points:
        tags += entity("VERTEX", 10, x, 20, y, layer=layer)
        tags += list(zip((30, 70), rest, strict=False))
    return tags + ([(0, "SEQEND")] if end else [])


def insert(name: str, *more: object, at: tuple = (0, 0), layer: str = "A") -> Tags:
    return entity("INSERT", 2, name, 10, at[0], 20, at[1], *more, layer=layer)


def block(name: str, *contents: Tags, base: tuple = (0, 0), flags: int = 0) -> Tags:
    tags = entity("BLOCK", 2, name, 70, flags, 10, base[0], 20, base[1], layer="0")
    return [*tags, *(tag for part in contents for tag in part), (0, "ENDBLK")]


def spline(
    points: Iterable[tuple], *more: object, degree: int = 3, knots: Iterable | None = None
) -> Tags:
    """A clamped SPLINE of control points."""
    points = list(points)
    inner = range(1, len(points) - degree)
    if knots is None:
        knots = [0] * (degree + 1) + list(inner) + [len(points) - degree] * (degree + 1)
    tags = entity("SPLINE", 71, degree, *more)
    tags += [(40, knot) for knot in knots]
    for x, y in points:
        tags += [(10, x), (20, y)]
    return tags


def section(name: str, *contents: Tags) -> Tags:
    return [(0, "SECTION"), (2, name), *(tag for part in contents for tag in part), (0, "ENDSEC")]


MM: Tags = [(9, "$INSUNITS"), (70, 4)]
EOF: Tags = [(0, "EOF")]


def text(*parts: Tags, end: str = "\n", encoding: str = "utf-8") -> bytes:
    return "".join(f"{c}{end}{v}{end}" for part in parts for c, v in part).encode(
        encoding, "surrogatepass"
    )


def doc(*entities: Tags, blocks: Iterable[Tags] = (), header: Tags = MM) -> bytes:
    """A file: header with the unit mm, blocks, entities."""
    return text(
        section("HEADER", header), section("BLOCKS", *blocks), section("ENTITIES", *entities), EOF
    )


#: A line of 100 mm, for the company of what is hostile.
GOOD = line(0, 0, 100, 0)
SQUARE = [(0, 0), (100, 0), (100, 100), (0, 100)]


# --- reading and measuring -----------------------------------------------------------------------


def drawing(path: Path, limits: Limits = Limits()) -> Drawing:
    return read_dxf(path, None, limits)


def small(**limits: int) -> Callable[[Path], Drawing]:
    """Read with limits so small that the file may be small too."""
    return partial(drawing, limits=Limits(**limits))


def lengths(*wanted: float, within: float = 1e-6) -> Check:
    """The strokes have these lengths, mm, in order."""

    def check(found: Drawing) -> None:
        got = [stroke.curve.length for group in found.groups for stroke in group.strokes]
        assert len(got) == len(wanted), got
        assert all(abs(g - w) <= within for g, w in zip(got, wanted, strict=True)), got

    return check


def passes(*points: tuple[float, float], within: float = 1e-6) -> Check:
    """The first stroke begins, ends or goes through these points, mm."""

    def check(found: Drawing) -> None:
        curve = found.groups[0].strokes[0].curve
        for point in points:
            assert curve.nearest(point)[1] <= within, (point, curve)

    return check


def labels(*wanted: str) -> Check:
    """The strokes have these labels, whatever stands before a slash."""

    def check(found: Drawing) -> None:
        got = [
            stroke.label.removeprefix(" / ") for group in found.groups for stroke in group.strokes
        ]
        assert got == list(wanted), got

    return check


def words(*wanted: str) -> Check:
    def check(found: Drawing) -> None:
        got = [words.text for group in found.groups for words in group.words]
        assert got == list(wanted), got

    return check


def both(*checks: Check) -> Check:
    def check(found: Drawing) -> None:
        for each in checks:
            each(found)

    return check


Data = bytes | Callable[[], bytes]


def no(name: str, data: Data, words: str | tuple[str, ...], why: str = "", **more: Any) -> Case:
    """Refused, with these words."""
    return Case(name, ".dxf", data, "refused", words, why, **{"read": drawing, **more})


def yes(name: str, data: Data, check: Check, why: str = "", **more: Any) -> Case:
    """Read, and right."""
    return Case(name, ".dxf", data, "read", "", why, check, **{"read": drawing, **more})


def told(
    name: str, data: Data, words: str | tuple[str, ...], check: Check, why: str = "", **more: Any
) -> Case:
    """Read, right, and said in the findings."""
    return Case(name, ".dxf", data, "listed", words, why, check, **{"read": drawing, **more})


# --- inserts -------------------------------------------------------------------------------------


def _bomb(levels: int, width: int) -> bytes:
    """Blocks that each insert the next so often."""
    blocks = [block(f"B{levels}", GOOD)]
    for level in range(levels):
        blocks.append(block(f"B{level}", *[insert(f"B{level + 1}")] * width))
    return doc(insert("B0"), blocks=blocks)


def _chain(levels: int) -> bytes:
    """So many blocks within one another."""
    blocks = [block(f"B{i}", insert(f"B{i + 1}")) for i in range(1, levels)]
    return doc(insert("B1"), blocks=[*blocks, block(f"B{levels}", GOOD)])


def _inserts() -> Iterator[Case]:
    box = block("BOX", line(0, 0, 10, 0))
    yield no("block inserts itself", doc(insert("A"), blocks=[block("A", insert("A"))]), "insert themselves: A -> A")
    yield no("two blocks insert each other", doc(insert("A"), blocks=[block("A", insert("B")), block("B",
             insert("A"))]), "insert themselves: A -> B -> A")
    yield no("circle of three, names in another case", doc(blocks=[block("A", insert("b")), block("B", insert("c")),
             block("C", insert("a"))]), "insert themselves", "block names are compared without regard to case")
    yield no("circle that nothing inserts", doc(GOOD, blocks=[block("A", insert("A"), GOOD)]), "insert themselves",
             "such a file is damaged, whatever is drawn of it")
    yield no("bomb of 10^9", _bomb(9, 10), "too many inserts: 1111111111")
    yield no("bomb of 2^15", partial(_bomb, 14, 2), ("too many inserts", "limits: inserts allows 1000"),
             read=small(inserts=1000))
    yield no("array of 32767 by 32767", doc(insert("BOX", 70, 32767, 71, 32767), blocks=[box]),
             "too many inserts: 1073676289")
    yield no("array of 10^17 columns", doc(insert("BOX", 70, 10**17), blocks=[box]), "too many inserts")
    yield no("array with a count of 19 digits", doc(insert("BOX", 70, 10**18), blocks=[box]), "is no whole number")
    yield no("array of -3 columns", doc(insert("BOX", 70, -3), blocks=[box]), "-3 columns")
    yield yes("array of 0 columns", doc(insert("BOX", 70, 0, 71, 0), blocks=[box]), lengths(10),
             "0 is written for an insert that is no array")
    yield yes("array of 3 by 2", doc(insert("BOX", 70, 3, 71, 2, 44, 20, 45, 5), blocks=[box]),
             both(lengths(*[10] * 6), lambda d: _starts(d, (0, 0), (20, 0), (40, 0), (0, 5), (20, 5), (40, 5))))
    yield yes("array turned by 90 degrees and scaled", doc(insert("BOX", 41, 2, 42, 2, 50, 90, 70, 2, 44, 30),
             blocks=[box]), both(lengths(20, 20), lambda d: _starts(d, (0, 0), (0, 30))),
             "columns run along the turned x axis and are not scaled")
    yield yes("16 blocks within one another", partial(_chain, 16), lengths(100))
    yield no("17 blocks within one another", partial(_chain, 17), ("nested too deep", "16 levels"))
    yield no("1500 blocks within one another", partial(_chain, 1500), "nested too deep")
    shared = [block(f"B{i}", insert(f"B{i + 1}")) for i in range(1, 17)]
    yield no("17 levels, the lower ones met before", doc(insert("B9"), insert("B1"), blocks=[*reversed(shared),
             block("B17", GOOD)]), "nested too deep", "what is remembered of a block must not hide its depth")
    yield yes("inserts at the limit", doc(*[insert("BOX")] * 7, blocks=[box]), lengths(*[10] * 7),
             read=small(inserts=7))
    yield no("inserts beyond the limit", doc(*[insert("BOX")] * 8, blocks=[box]), ("too many inserts: 8", "allows 7"),
             read=small(inserts=7))
    ten = block("TEN", lw([(i, 0) for i in range(10)]))
    yield yes("points at the limit, after expansion", doc(*[insert("TEN")] * 3, blocks=[ten]), lengths(9, 9, 9),
             read=small(points=30))
    yield no("points beyond the limit, after expansion", doc(*[insert("TEN")] * 3, line(0, 0, 1, 1), blocks=[ten]),
             ("too many points: 31", "allows 30"), read=small(points=30))
    yield no("missing block", doc(insert("GONE", 5, "1F"), blocks=[box]), ("'GONE' is inserted but not in the file",
             "INSERT 1F"))
    yield no("missing block within a block", doc(insert("A"), blocks=[block("A", insert("GONE", 5, "2A"))]),
             ("'GONE' is inserted but not in the file", "2A"))
    yield no("two blocks of one name", doc(insert("BOX"), blocks=[box, box]), "several blocks are named 'BOX'",
             "which one is meant cannot be told")
    yield no("two blocks whose names differ by case", doc(insert("BOX"), blocks=[box, block("Box", GOOD)]),
             "several blocks are named")
    yield told("two blocks of one name, not inserted", doc(GOOD, blocks=[box, box]), ("2 blocks are named 'BOX'",
             "2 LINE passed over"), lengths(100))
    yield yes("insert in another case than its block", doc(insert("box"), blocks=[box]), lengths(10))
    yield told("block in another file", doc(insert("X"), GOOD, blocks=[block("X", flags=4)]),
             "'X' stands in another file, which is not read", lengths(100), "no file but the one named is opened")
    yield told("block that nothing inserts", doc(GOOD, blocks=[block("X", line(0, 0, 9, 9), entity("HATCH"))]),
             ("1 LINE passed over: in blocks that are not inserted", "1 HATCH"), lengths(100))
    yield yes("base point", doc(insert("P", at=(5, 5)), blocks=[block("P", line(7, 7, 17, 7), base=(7, 7))]),
             passes((5, 5), (15, 5)))
    yield yes("layer 0 takes the layer of its insert", doc(insert("P", layer="CUT"), blocks=[block("P", line(0, 0, 1,
             0, layer="0"), line(0, 0, 1, 0, layer="B"))]), labels("CUT", "B"))
    yield yes("attributes of an insert", doc([*insert("BOX", 66, 1), *entity("ATTRIB", 10, 0, 20, 0, 1, "Size: 38"),
             (0, "SEQEND")], blocks=[box]), both(words("Size: 38"), lengths(10)))
    yield no("attributes without an end", doc([*insert("BOX", 66, 1), *entity("ATTRIB", 10, 0, 20, 0, 1, "x")], GOOD,
             blocks=[box]), "INSERT has no SEQEND")
    yield yes("attributes promised, none there", doc(insert("BOX", 66, 1), blocks=[box]), lengths(10))
    yield told("insert on a sheet of paper", doc(insert("BOX", 67, 1), GOOD, blocks=[box]),
             "1 INSERT passed over: on sheets of paper", lengths(100))
    yield told("lines on a sheet of paper", doc(line(0, 0, 5, 5, 67, 1), GOOD), "1 LINE passed over: on sheets",
             lengths(100))
    yield told("block of a sheet of paper", doc(GOOD, blocks=[block("*Paper_Space", line(0, 0, 5, 5))]),
             "1 LINE passed over: on sheets", lengths(100))
    yield yes("anonymous block that is inserted", doc(insert("*U7"), blocks=[block("*U7", GOOD)]), lengths(100))


def _starts(found: Drawing, *wanted: tuple[float, float]) -> None:
    got = [stroke.curve.start for stroke in found.groups[0].strokes]
    assert all(math.dist(g, w) < 1e-9 for g, w in zip(got, wanted, strict=True)), got


def _scales() -> Iterator[Case]:
    half = block("H", lw([(0, 0, -1), (10, 0)]))  # a half circle above the x axis, clockwise
    box = block("BOX", line(0, 0, 10, 0))
    for name, x, y in (("x", 0, 1), ("y", 1, 0), ("both", 0, 0), ("nearly", 1e-9, 1e-9)):
        yield no(f"insert at scale zero, {name}", doc(insert("BOX", 41, x, 42, y), blocks=[box]),
                 "it flattens its block")
    yield no("insert at scale 1e300", doc(insert("BOX", 41, "1e300", 42, 1), blocks=[box]), "beyond all measure")
    yield no("insert at scale 1e7", doc(insert("BOX", 41, 1e7, 42, 1e7), blocks=[box]), "beyond 100 m")
    yield yes("insert mirrored in x: bulges flip", doc(insert("H", 41, -1), blocks=[half]), passes((0, 0), (-5, 5),
             (-10, 0)))
    yield yes("insert mirrored in y: bulges flip", doc(insert("H", 42, -1), blocks=[half]), passes((0, 0), (5, -5),
             (10, 0)))
    yield yes("insert mirrored twice is turned", doc(insert("H", 41, -1, 42, -1), blocks=[half]), passes((-5, -5)))
    ellipse = 48.442241102738385 / 2  # half the circumference of semi-axes 10 and 5 (Ramanujan)
    yield told("insert scaled unequally: arcs become ellipses", doc(insert("H", 41, 2, 42, 1), blocks=[half]),
             "at a scale of 2 by 1", both(passes((10, 5)), lengths(ellipse, within=1e-3)))
    yield yes("insert seen from below", doc(insert("H", 230, -1, at=(3, 0)), blocks=[half]), passes((-3, 0), (-8, 5),
             (-13, 0)), "an extrusion of -z mirrors in x, the place as well")
    yield no("insert tilted", doc(insert("H", 210, 1, 230, 0), blocks=[half]), "tilted out of the drawing's plane")
    yield no("piece inserted at another size", (SAMPLES / "child_block.dxf") .read_bytes() .replace(b"\nINSERT\n",
             b"\nINSERT\n41\n1.05\n42\n1.05\n", 1), "inserted at a scale of 1.05",
             "pieces are taken from their blocks: the size would be wrong")


# --- numbers -------------------------------------------------------------------------------------

NO_NUMBERS = (
    "nan", "NaN", "-nan", "inf", "-inf", "Infinity", "1_000", "١٢", "\uff11\uff12", "12,5", "1.000,5", "0x1F",
    "1D3", "", "  ", "--5", "+-5", "1.2.3", "5mm", "1e", ".", "1e+", "5 5", "1/2", "½",
    "1.#INF", "-1.#IND", "\u221212", "9" * 400,
)  # fmt: skip
NUMBERS = (
    ("+5", 5),
    (".5", 0.5),
    ("5.", 5),
    ("5E0", 5),
    ("  5\t", 5),
    ("0.5e1", 5),
    ("5." + "0" * 40, 5),
    ("0005", 5),
    ("5e-0", 5),
)


def _numbers() -> Iterator[Case]:
    for value in NO_NUMBERS:
        yield no(f"coordinate {value[:12]!r}", doc(line(0, 0, value, 0)), "is no number", "only plain decimals are")
    for value, mm in NUMBERS:
        yield yes(f"coordinate {value[:12]!r}", doc(line(0, 0, value, 0)), lengths(mm))
    yield yes("coordinate -0.0", doc(line("-0.0", 0, 5, 0)), lengths(5))
    yield yes("coordinate 1e-999", doc(line("1e-999", 0, 5, 0)), lengths(5), "less than any float is 0")
    for value in ("1e999", "-1e999", "1e300", "2e8"):
        yield no(f"coordinate {value}", doc(line(0, 0, value, 0)), "beyond all measure")
    yield no("coordinate of 101 m", doc(line(0, 0, 101_000, 0)), "beyond 100 m")
    yield yes("coordinate of 99 m", doc(line(0, 0, 99_000, 0)), lengths(99_000))
    yield no("the line of a bad number is named", doc(GOOD, line(0, 0, "nan", 0)), ".dxf:42: ")
    at = {
        "bulge": lw([(0, 0, "nan"), (1, 0)]), "extrusion": line(0, 0, 1, 0, 210, "nan"),
        "thickness": line(0, 0, 1, 0, 39, "inf"),
        "knot": spline(SQUARE, knots=[0, 0, 0, 0, 1, 1, 1, "nan"]), "weight": [*spline(SQUARE), (41, "inf")],
        "radius": entity("CIRCLE", 10, 0, 20, 0, 40, "nan"),
        "angle": entity("ARC", 10, 0, 20, 0, 40, 1, 50, "nan", 51, 1),
        "ratio": entity("ELLIPSE", 10, 0, 20, 0, 11, 1, 21, 0, 40, "nan"), "scale": insert("A", 41, "nan"),
        "text height": entity("TEXT", 10, 0, 20, 0, 40, "nan", 1, "x"),
        "hatch, which is not read": entity("HATCH", 10, "nan"),
    }  # fmt: skip
    for where, tags in at.items():
        yield no(f"NaN or infinity as {where}", doc(GOOD, tags, blocks=[block("A", GOOD)]), "is no number")
    for value in ("x", "1.5", "0x1", "", "1e3", "٣"):
        yield no(f"flag {value!r}", doc([(c, value if c == 70 else v) for c, v in lw(SQUARE)]), "is no whole number")
    yield yes("flag '1.0'", doc(entity("LWPOLYLINE", 70, "1.0", 10, 0, 20, 0, 10, 3, 20, 0, 10, 3, 20, 4)),
             lengths(12), "some programs write whole numbers so")
    yield yes("NaN in the header", doc(GOOD, header=[(9, "$EXTMAX"), (10, "nan"), *MM]), lengths(100),
             "nothing uses it")


# --- what is no DXF ------------------------------------------------------------------------------


def _disguised() -> Iterator[Case]:
    binary = b"AutoCAD Binary DXF\r\n\x1a\x00\x00\x00SECTION\x00\x02\x00HEADER\x00"
    looks = (
        ("binary DXF", binary, "binary DXF"), ("binary DXF, cut off", binary[:22], "binary DXF"),
        ("DWG", b"AC1032\x00\x00\x00\x00" + bytes(range(256)), "DWG"), ("PDF", b"%PDF-1.7\n1 0 obj", "PDF"),
        ("SVG", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "SVG"), ("XML", b"<?xml version='1.0'?><svg/>", "XML"),
        ("SVG with a document type", b"<!DOCTYPE svg><svg/>", "SVG"),
        ("PNG", b"\x89PNG\r\n\x1a\n\x00\x00", "PNG"), ("JPEG", b"\xff\xd8\xff\xe0\x00\x10JFIF", "JPEG"),
        ("zip", b"PK\x03\x04\x14\x00", "zip"), ("gzip", b"\x1f\x8b\x08\x00", "gzip"),
        ("web page", b"<!DOCTYPE html><html><body>404</body></html>", "web page"),
        ("web page without a type", b"\n<HTML><head>", "web page"),
        ("JSON", b'{"error": "not found"}', "JSON"),
        ("pointer of git lfs", b"version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 1\n",
         "pointer to a large"),
        ("UTF-16 with a mark", doc(GOOD).decode().encode("utf-16"), "UTF-16"),
        ("UTF-16, big end first, with a mark", b"\xfe\xff" + doc(GOOD).decode().encode("utf-16-be"), "UTF-16"),
    )  # fmt: skip
    for name, data, words in looks:
        yield no(f"not DXF: {name}", data, ("not a DXF file", words), read=read_block)
    yield no("not DXF: empty", b"", "the file is empty", read=read_block)
    yield no("not DXF: blank lines", b"\n \r\n\t\n", "the file is empty", read=read_block)
    yield no("not DXF: UTF-16 without a mark", doc(GOOD).decode().encode("utf-16-le"), "zero bytes")
    yield no("not DXF: a zero byte in it", doc(GOOD).replace(b"100", b"1\x000", 1), "zero bytes")
    yield no("not DXF: prose", b"Dear cutter,\nplease find attached\nthe block.\n", "is no group code")
    yield no("not DXF: a table", b"1,2,3\n4,5,6\n", "is no group code")
    yield no("not DXF: random bytes", bytes((i * 7919 + 13) % 255 + 1 for i in range(5000)), "no group code")
    yield no("not DXF: one line of 5 MB", b"9" * 5_000_000, "no group code")
    yield no("not DXF: begins with EOF", b"0\nEOF\n", "does not begin with a section", read=read_block)
    yield no("not DXF: a number", b"0\n", "cut off", read=read_block)
    yield no("not DXF: begins in the middle", text(line(0, 0, 1, 1), EOF), "does not begin with a section")


# --- cut off, and out of shape -------------------------------------------------------------------


def _cut_off() -> Iterator[Case]:
    for name in ("child_block.dxf", "named/child_block_110.dxf"):
        data = (SAMPLES / name).read_bytes().rstrip()
        for tenth in range(1, 10):
            yield no(f"{name} cut off at {tenth}/10", data[: len(data) * tenth // 10], "",
                     "never a part of a drawing", read=read_block)
        for less in (1, 2, 3, 4, 5, 8):
            yield no(f"{name} without its last {less} bytes", data[:-less], "", read=read_block)
    good = doc(GOOD)
    yield no("no EOF", good.removesuffix(b"0\nEOF\n"), "does not end with EOF")
    yield no("no ENDSEC at the end", text(section("HEADER", MM), [(0, "SECTION"), (2, "ENTITIES"), *GOOD], EOF),
             "section ENTITIES has no ENDSEC")
    yield no("no ENDSEC between sections", text([(0, "SECTION"), (2, "HEADER"), *MM], section("ENTITIES", GOOD), EOF),
             "section HEADER has no ENDSEC")
    yield no("no ENDBLK at the end of blocks", doc(insert("A"), blocks=[block("A", GOOD)[:-1]]),
             "block 'A' has no ENDBLK")
    yield no("no ENDBLK between blocks", doc(blocks=[block("A", GOOD)[:-1], block("B", GOOD)]),
             "block 'A' has no ENDBLK")
    yield no("no SEQEND before another line", doc(poly(SQUARE, end=False), GOOD), "POLYLINE has no SEQEND")
    yield no("no SEQEND before ENDSEC", doc(poly(SQUARE, end=False)), "POLYLINE has no SEQEND")
    yield no("no SEQEND before ENDBLK", doc(blocks=[block("A", poly(SQUARE, end=False))]), "POLYLINE has no SEQEND")
    yield no("no SEQEND before another polyline", doc(poly(SQUARE, end=False), poly(SQUARE)),
             "POLYLINE has no SEQEND")
    yield no("two files in one", good + good, "something follows EOF")
    yield no("a group code without its value", good + b"0", "cut off")
    yield no("an odd number of lines", good.removesuffix(b"EOF\n"), "cut off")
    yield yes("blank lines at the end", good + b"\r\n\n  \n", lengths(100))
    yield yes("the end sign of old systems", good + b"\x1a", lengths(100))
    yield yes("no line end after EOF", good.rstrip(), lengths(100))


def _shape() -> Iterator[Case]:
    head = section("HEADER", MM)
    yield no("two ENTITIES sections", text(head, section("ENTITIES", GOOD), section("ENTITIES", line(0, 0, 5, 5)),
             EOF), "a second section 'ENTITIES'", "a library keeps the second alone, without a word")
    yield no("two BLOCKS sections", text(head, section("BLOCKS"), section("BLOCKS"), section("ENTITIES", GOOD), EOF),
             "a second section")
    yield no("two HEADER sections", text(head, head, section("ENTITIES", GOOD), EOF), "a second section",
             "which unit holds?")
    yield no("a line outside any section", text(head, GOOD, section("ENTITIES", GOOD), EOF), "outside any section")
    yield no("a section without a name", text(head, [(0, "SECTION"), *GOOD, (0, "ENDSEC")], EOF), "no name")
    yield no("ENDSEC twice", text(head, section("ENTITIES", GOOD), [(0, "ENDSEC")], EOF), "outside any section")
    yield yes("entities before blocks", text(head, section("ENTITIES", insert("A")), section("BLOCKS", block("A",
             GOOD)), EOF), lengths(100))
    yield yes("an unknown section", text(head, section("WHATEVER", [(0, "X"), (10, "nan"), (999, "x")]),
             section("ENTITIES", GOOD), EOF), lengths(100))
    yield no("a block within a block", doc(blocks=[[*block("A", GOOD)[:-1], *block("B")]]), "has no ENDBLK")
    yield no("a line between blocks", doc(blocks=[GOOD]), "outside any block")
    yield no("an ENDBLK alone", doc(blocks=[[(0, "ENDBLK")]]), "outside any block")
    yield no("an ENDBLK among entities", doc([(0, "ENDBLK")]), "ends no block")
    for kind in ("VERTEX", "SEQEND", "ATTRIB"):
        yield no(f"a stray {kind}", doc(GOOD, entity(kind, 10, 0, 20, 0)), f"a {kind} belongs to nothing",
                 "a vertex lost is an outline changed")
    yield no("a VERTEX after a line", doc([*poly(SQUARE, end=False), *GOOD, *entity("VERTEX", 10, 0, 20, 0), (0,
             "SEQEND")]), "no SEQEND")
    yield yes("comments everywhere", text(*[[(999, "a remark"), tag] for tag in [*head, *section("ENTITIES",
             poly(SQUARE)), *EOF]]), lengths(300))
    yield told("unknown entities", doc(GOOD, entity("FLYING_CARPET"), entity("FLYING_CARPET")),
             "2 FLYING_CARPET passed over", lengths(100))
    for kind in (
        "HATCH",
        "DIMENSION",
        "SOLID",
        "3DFACE",
        "3DSOLID",
        "MESH",
        "IMAGE",
        "LEADER",
        "ACAD_PROXY_ENTITY",
        "ATTDEF",
        "XLINE",
        "line",
    ):
        yield told(f"a {kind}", doc(GOOD, entity(kind, 10, 0, 20, 0, 1, "x")),
                 f"1 {kind} passed over: no line, point or text", lengths(100))
    yield no("an entity of an empty kind and no more", doc([(0, "")], EOF), "")
    yield yes("an entity without a layer", doc([(0, "LINE"), (10, 0), (20, 0), (11, 7), (21, 0)]), labels("0"))
    yield yes("an empty layer", doc(line(0, 0, 7, 0, layer="")), labels("0"))
    for code in (10, 20, 11, 21):
        tags = [tag for tag in GOOD if tag[0] != code]
        yield no(f"a LINE without group {code}", doc(tags), f"group {code} is missing",
                 "0 is no guess for a coordinate")
        yield no(f"a LINE with group {code} twice", doc([*GOOD, (code, 5)]), f"group {code} stands twice",
                 "the start of an entity was lost")
    yield no("a VERTEX without y", doc([*poly(SQUARE)[:-2], (0, "SEQEND")]), "group 20 is missing")
    yield no("an LWPOLYLINE that lost an x", doc([t for i, t in enumerate(lw(SQUARE)) if i != 6]), "do not alternate")
    yield no("an LWPOLYLINE that lost a y", doc(lw(SQUARE)[:-1]), "do not alternate")
    yield no("an INSERT without a name", doc(entity("INSERT", 10, 0, 20, 0)), "group 2 is missing")
    yield no("a BLOCK without a name", doc(blocks=[[(0, "BLOCK"), (0, "ENDBLK")]]), "group 2 is missing")
    yield yes("groups of programs and extended data", doc(line(0, 0, 5, 0, 102, "{ACAD_REACTORS", 10, 99, 330, "2F",
             102, "}", 1001, "APP", 1010, "nan", 10, 7)), lengths(5))
    for code in ("x", "-5", "70000", "1072", "1.0", "0x0A", "", "\uff11\uff10", "1e1"):
        yield no(f"group code {code!r}", doc([*GOOD, (code, 1)]), "is no group code")
    lines = doc(GOOD, line(5, 5, 9, 9)).split(b"\n")
    for at in (9, 16, 20, 27):
        yield no(f"line {at} dropped", b"\n".join(lines[: at - 1] + lines[at:]), "", "all that follows is shifted")
        yield no(f"line {at} doubled", b"\n".join(lines[:at] + lines[at - 1 :]), "", "all that follows is shifted")


# --- alphabets -----------------------------------------------------------------------------------


def _page(name: str, data: str, encoding: str) -> bytes:
    """A file of a code page with one layer of this name."""
    return doc(line(0, 0, 5, 0, layer="LAYER"), header=[(9, "$DWGCODEPAGE"), (3, name), *MM]).replace(b"LAYER",
             data.encode(encoding))


def _alphabets() -> Iterator[Case]:
    for name, word, encoding in (
        ("ANSI_1250", "přední díl", "cp1250"), ("ANSI_1251", "перед", "cp1251"), ("ANSI_1252", "Ärmel", "cp1252"),
        ("ANSI_1253", "πίσω", "cp1253"),
        ("ANSI_932", "前身頃", "cp932"), ("ansi_936", "前片", "gbk"), ("ANSI_949", "앞판", "cp949"),
        ("ANSI_950", "後片", "cp950"),
        ("dos850", "Ärmel", "cp850"), ("ISO8859-2", "přední", "iso8859_2"), ("UTF-8", "Ärmel", "utf-8"),
        ("ANSI_1252", "Ärmel", "utf-8"),
    ):  # fmt: skip
        yield yes(f"code page {name}, in truth {encoding}", _page(name, word, encoding), labels(word))
    assumed = "taken as cp1252"
    yield told("no code page", doc(line(0, 0, 5, 0, layer="X")).replace(b"X", b"\xc4rmel"), assumed, labels("Ärmel"))
    yield told("an unknown code page", _page("ANSI_9999", "Ärmel", "cp1252"), assumed, labels("Ärmel"))
    yield told("a code page that is no alphabet", _page("rot13", "Ärmel", "cp1252"), assumed, labels("Ärmel"))
    yield told("a code page that is a path", _page("../../etc", "Ärmel", "cp1252"), assumed, labels("Ärmel"))
    yield told("a byte that no character has", _page("ANSI_1252", "\x81rmel", "latin-1"),
             "stands for a lost character", labels("\ufffdrmel"))
    yield told("half a surrogate in bytes", doc(line(0, 0, 5, 0, layer="X")).replace(b"X", b"\xed\xa0\x80"), assumed,
             labels("í\xa0€"), "no UTF-8, so cp1252")
    yield told("half a surrogate as an escape", doc(line(0, 0, 5, 0, layer=r"\U+D800")),
             "stands for a lost character", labels("\ufffd"))
    yield yes("an escaped character", doc(line(0, 0, 5, 0, layer=r"\U+00C4rmel")), labels("Ärmel"))
    yield yes("an escape that is none", doc(line(0, 0, 5, 0, layer=r"\U+00")), labels(r"\U+00"))
    yield yes("UTF-8 with a mark", b"\xef\xbb\xbf" + doc(GOOD), lengths(100))
    yield no("two marks", b"\xef\xbb\xbf\xef\xbb\xbf" + doc(GOOD), "no group code")
    parts = (section("HEADER", MM), section("ENTITIES", GOOD), EOF)
    yield yes("line ends CR", text(*parts, end="\r"), lengths(100))
    yield yes("line ends CR LF", text(*parts, end="\r\n"), lengths(100))
    yield yes("line ends mixed", text(parts[0], end="\r") + text(parts[1], end="\r\n") + text(EOF), lengths(100))
    yield no("line ends CR CR LF", text(*parts, end="\r\r\n"), "no group code", "every other line is empty")
    for name, char in (
        ("NEL", "\x85"),
        ("line separator", "\u2028"),
        ("form feed", "\x0c"),
        ("vertical tab", "\x0b"),
    ):
        tags = entity("TEXT", 10, 0, 20, 0, 1, f"a{char}b")
        yield yes(f"{name} within a text ends no line", doc(GOOD, tags), both(words("a b"), lengths(100)))


# --- depth ---------------------------------------------------------------------------------------


def _depth() -> Iterator[Case]:
    yield no("a line with depth", doc(line(0, 0, 3, 0, 30, 0, 31, 4)), "it is not flat",
             "its length seen from above is wrong")
    yield no("a line with depth at one end only", doc(line(0, 0, 3, 0, 31, 4)), "it is not flat")
    yield told("a line above the plane", doc(line(0, 0, 3, 0, 30, 4, 31, 4)), "taken as flat", lengths(3))
    yield told("outlines at several heights", doc(lw(SQUARE, 38, 5), lw(SQUARE, 38, 7)), "taken as flat", lengths(300,
             300))
    yield no("a 3D polyline with depth", doc(poly([(0, 0, 0), (1, 0, 1)], 8)), "it is not flat")
    yield yes("a 3D polyline that is flat", doc(poly([(0, 0, 0), (1, 0, 0)], 8)), lengths(1))
    yield no("a mesh of polygons", doc(poly([(0, 0), (1, 0)], 16)), "is a mesh")
    yield no("a mesh of faces", doc(poly([(0, 0), (1, 0)], 64)), "is a mesh")
    yield no("a spline with depth", doc([*spline(SQUARE), (30, 0), (30, 1), (30, 0), (30, 0)]), "it is not flat")
    yield no("an ellipse with depth", doc(entity("ELLIPSE", 10, 0, 20, 0, 11, 5, 21, 0, 31, 5, 40, 1)), "tilted")
    tilted = (210, 1, 220, 0, 230, 0)
    for name, tags in {
        "LWPOLYLINE": lw(SQUARE, *tilted), "POLYLINE": poly(SQUARE, 0, *tilted),
        "ARC": entity("ARC", 10, 0, 20, 0, 40, 1, 50, 0, 51, 9, *tilted),
        "CIRCLE": entity("CIRCLE", 10, 0, 20, 0, 40, 1, *tilted), "TEXT": entity("TEXT", 10, 0, 20, 0, 1, "x", *tilted),
        "ELLIPSE": entity("ELLIPSE", 10, 0, 20, 0, 11, 5, 21, 0, 40, 1, *tilted), "SPLINE": spline(SQUARE, *tilted),
    }.items():  # fmt: skip
        yield no(f"a {name} tilted out of the plane", doc(tags), "tilted out of the drawing's plane")
    yield no("an extrusion of no length", doc(lw(SQUARE, 210, 0, 220, 0, 230, 0)), "tilted")
    yield no("an extrusion a little off", doc(lw(SQUARE, 210, 0.01, 230, 1)), "tilted")
    yield yes("an extrusion longer than 1", doc(lw(SQUARE, 230, 5)), lengths(300))
    yield yes("an outline seen from below", doc(lw([(1, 0), (5, 0), (5, 2)], 230, -1)), passes((-1, 0), (-5, 0), (-5,
             2)))
    arc = entity("ARC", 10, 10, 20, 0, 40, 5, 50, 0, 51, 90, 230, -1)
    yield yes("an arc seen from below", doc(arc), passes((-15, 0), (-10, 5)))
    yield yes("a text seen from below", doc(GOOD, entity("TEXT", 10, 3, 20, 4, 1, "x", 230, -1)), lambda d: _at(d,
             (-3, 4)))


def _at(found: Drawing, point: tuple[float, float]) -> None:
    assert math.dist(found.groups[0].words[0].at, point) < 1e-9


# --- polylines, arcs, ellipses, splines ----------------------------------------------------------


def _lines() -> Iterator[Case]:
    for says in (3, 5, 10**9, -1, 0):
        tags = [(c, says if c == 90 else v) for c, v in lw(SQUARE)]
        yield no(f"an outline of 4 vertices that says {says}", doc(tags), f"says {says} vertices and has 4",
                 "one was lost")
    yield yes("an outline that does not say", doc([tag for tag in lw(SQUARE) if tag[0] != 90]), lengths(300))
    none = "1 LWPOLYLINE passed over: no length"
    yield told("an outline of one vertex", doc(GOOD, lw([(1, 1)])), none, lengths(100))
    yield told("an outline of no vertex", doc(GOOD, lw([])), none, lengths(100))
    yield told("an outline in one place", doc(GOOD, lw([(1, 1)] * 9, closed=True)), none, lengths(100))
    yield told("a POLYLINE of no vertex", doc(GOOD, poly([])), "1 POLYLINE passed over: no length", lengths(100))
    yield told("a line of no length", doc(GOOD, line(5, 5, 5, 5)), "1 LINE passed over: no length", lengths(100))
    yield yes("vertices doubled", doc(lw([p for p in SQUARE for _ in range(3)], closed=True)), lengths(400))
    yield yes("closed, and its first vertex again", doc(lw([*SQUARE, SQUARE[0]], closed=True)), lengths(400))
    yield yes("closed with two vertices", doc(lw([(0, 0), (5, 0)], closed=True)), lengths(5),
             "a line, not there and back")
    yield yes("frame of a curve-fitted polyline", doc(poly([(0, 0, 0, 16), (50, 90, 0, 16), (0, 0, 0, 8), (3, 4, 0,
             8)], 4)), lengths(5), "vertices that steer a curve do not lie on it")
    yield yes("a circle of two bulges", doc(lw([(0, 0, 1), (10, 0, 1)], closed=True)), lengths(10 * math.pi,
             within=1e-4))
    yield yes("a half circle", doc(lw([(0, 0, -1), (10, 0)])), both(lengths(5 * math.pi, within=1e-4), passes((5,
             5))))
    yield yes("a bulge on the last vertex of an open line", doc(lw([(0, 0), (10, 0, 1)])), lengths(10))
    yield yes("a bulge next to nothing", doc(lw([(0, 0, 1e-13), (10, 0)])), lengths(10))
    yield yes("a bulge where two vertices are one", doc(lw([(0, 0, 1), (0, 0), (10, 0)])), lengths(10))
    yield no("a bulge of 1e5", doc(lw([(0, 0, 1e5), (10, 0)])), "beyond a full turn")
    yield no("a bulge of 1e9", doc(lw([(0, 0, 1e9), (10, 0)])), "beyond all measure")
    yield no("a bulge that reaches beyond 100 m", doc(lw([(0, 0, 9e3), (99, 0)])), "beyond 100 m")
    yield no("a bulge before any vertex", doc(entity("LWPOLYLINE", 42, 1, 10, 0, 20, 0, 10, 1, 20, 0)),
             "do not alternate")


def _arcs() -> Iterator[Case]:
    def arc(radius: object, start: object, end: object) -> bytes:
        return doc(GOOD, entity("ARC", 10, 0, 20, 0, 40, radius, 50, start, 51, end))

    yield yes("an arc over 0 degrees", arc(10, 350, 10), lengths(100, 10 * math.radians(20), within=1e-5))
    yield yes("an arc of equal angles is a circle", arc(10, 30, 30), lengths(100, 20 * math.pi, within=1e-4))
    yield yes("an arc of many turns", arc(10, 0, 3690), lengths(100, 5 * math.pi, within=1e-4))
    yield no("an arc of a million degrees", arc(10, 0, 1e6), "an angle of 1e+06 degrees")
    yield no("an arc of radius -5", arc(-5, 0, 90), "a radius of -5")
    yield told("an arc of radius 0", arc(0, 0, 90), "1 ARC passed over: no length", lengths(100))
    yield no("an arc of 10 km", arc(1e7, 0, 90), "beyond 100 m")
    yield told("a circle of radius 0", doc(GOOD, entity("CIRCLE", 10, 0, 20, 0, 40, 0)), "1 CIRCLE passed over",
             lengths(100))
    yield no("a circle of radius -1", doc(entity("CIRCLE", 10, 0, 20, 0, 40, -1)), "a radius of -1")
    yield yes("a circle of radius 0 for a notch", doc(GOOD, entity("CIRCLE", 10, 1, 20, 2, 40, 0, layer="NOTCH")),
             lambda d: _marks(d, 1))

    def ellipse(x: object, y: object, ratio: object, *more: object) -> bytes:
        return doc(GOOD, entity("ELLIPSE", 10, 0, 20, 0, 11, x, 21, y, 40, ratio, *more))

    for ratio in (0, 2, 1.01, 1e7, -3):
        yield no(f"an ellipse of ratio {ratio}", ellipse(10, 0, ratio), "has the ratio")
    yield no("an ellipse of ratio 1e9", ellipse(10, 0, 1e9), "beyond all measure")
    yield yes("an ellipse of ratio 1", ellipse(10, 0, 1), lengths(100, 20 * math.pi, within=1e-4))
    yield yes("an ellipse of equal parameters is whole", ellipse(10, 0, 1, 41, 1, 42, 1), lengths(100, 20 * math.pi,
             within=1e-4))
    yield yes("a quarter of an ellipse", ellipse(10, 0, 1, 41, 0, 42, math.pi / 2), lengths(100, 5 * math.pi,
             within=1e-4))
    yield no("an ellipse of a million turns", ellipse(10, 0, 1, 41, 0, 42, 1e7), "an angle of")
    yield told("an ellipse of no axis", ellipse(0, 0, 1), "1 ELLIPSE passed over: no length", lengths(100))


def _marks(found: Drawing, count: int) -> None:
    assert len(found.groups[0].marks) == count


def _splines() -> Iterator[Case]:
    weights = lambda *values: [(41, value) for value in values]  # noqa: E731
    quarter = [(10, 0), (10, 10), (0, 10)]
    root = math.sqrt(0.5)

    def fits(*points: tuple, **more: object) -> Tags:
        return [
            *entity("SPLINE", 71, 3),
            *((c, v) for p in points for c, v in zip((11, 21), p, strict=True)),
        ]

    yield yes("a spline", doc(spline([(0, 0), (10, 0), (20, 0), (30, 0)])), lengths(30))
    yield no("knots that fall", doc(spline(SQUARE, knots=[0, 0, 0, 0, 1, 1, 0, 1])), "knots fall")
    yield no("knots all equal", doc(spline(SQUARE, knots=[1] * 8)), "more than degree + 1 times")
    yield no("a knot too few", doc(spline(SQUARE, knots=[0, 0, 0, 0, 1, 1, 1])), "do not fit")
    yield no("no knots", doc(spline(SQUARE, knots=[])), "do not fit")
    yield no("a knot of multiplicity 8", doc(spline([*SQUARE, *SQUARE], knots=[0] * 8 + [1] * 4)),
             "more than degree + 1 times", "four of its points would go unused")
    for degree in (0, -1, 12, 50, 10**9):
        yield no(f"a spline of degree {degree}", doc([*entity("SPLINE", 71, degree), *spline(SQUARE)[3:]]),
                 f"degree {degree}")
    yield no("a spline without a degree", doc([t for t in spline(SQUARE) if t[0] != 71]), "group 71 is missing")
    for code, says in ((72, 9), (73, 5), (73, 0), (74, 2), (73, 10**9)):
        yield no(f"a spline whose group {code} says {says}", doc(spline(SQUARE, code, says)), f"says it has {says}",
                 "a point was lost")
    yield no("a spline of no points", doc(entity("SPLINE", 71, 3)), "has no points")
    yield no("a spline through one point", doc(fits((0, 0))), "has no points")
    yield no("a spline through one point twice", doc(fits((0, 0), (5, 5), (5, 5))), "lie on each other")
    yield yes("a spline through points", doc(fits((0, 0), (40, 30), (90, 10), (120, 60))), passes((0, 0), (40, 30),
             (90, 10), (120, 60), within=1e-3))
    yield yes("a spline through two points", doc(fits((0, 0), (30, 40))), lengths(50, within=1e-6))
    yield no("a spline with an x too many", doc([*spline(SQUARE), (10, 5)]), "5 x and 4 y")
    yield yes("a rational quarter circle", doc([*spline(quarter, degree=2), *weights(1, root, 1)]),
             both(lengths(5 * math.pi, within=5e-3), passes((10 * root, 10 * root), within=5e-3)))
    yield yes("a rational quarter circle in metres", doc([*spline([(x / 1000, y / 1000) for x, y in quarter],
             degree=2), *weights(1, root, 1)], header=[(9, "$INSUNITS"), (70, 6)]), both(lengths(5 * math.pi,
             within=5e-3), passes((10 * root, 10 * root), within=5e-3)), "the error is in mm, whatever the unit")
    for values in ((1, 0, 1), (1, -1, 1), (1, 1), (1, 1e-7, 1), (1e7, 1, 1)):
        yield no(f"weights {values}", doc([*spline(quarter, degree=2), *weights(*values)]),
                 "weights are not positive")
    yield yes("degree 5", doc(spline([(i * 10, 0) for i in range(6)], degree=5)), lengths(50, within=1e-3))
    yield yes("degree 1", doc(spline([(0, 0), (3, 4), (6, 0)], degree=1)), lengths(10))
    yield told("a spline of no length", doc(GOOD, spline([(1, 1)] * 4)), "1 SPLINE passed over: no length",
             lengths(100))
    yield yes("a spline of 2000 points", partial(_long_spline, 2000), lambda d: _strokes(d, 1), seconds=10)
    yield no("a spline of 2001 points", partial(_long_spline, 2001), "2000 are allowed")
    yield yes("a rational spline of 800 points", lambda: doc([*spline([(i, i % 7) for i in range(800)]),
             *weights(*[1, 2] * 400)]), lambda d: _strokes(d, 1), seconds=10)
    yield yes("a spline through 2000 points", lambda: doc(fits(*[(i, i % 7) for i in range(2000)])),
             lambda d: _strokes(d, 1), seconds=10)
    yield no("a rational spline of 100,000 miles", doc([*spline([(1e5, 0), (20, 10), (0, 1)], degree=2),
             *weights(1, root, 1)], header=[(9, "$INSUNITS"), (70, 3)]), "beyond 100 m")
    yield no("ten rational splines of 800 points", lambda: doc(*[[*spline([(i, i % 7 + k) for i in range(800)]),
             *weights(*[1, 2] * 400)] for k in range(10)]), ("too many points", "points allows 1000000"),
             "each point of theirs is approached by up to 200")
    yield no("a spline of 10 km", doc(spline([(0, 0), (1e7, 0), (1e7, 1e7), (0, 1e7)])), "beyond 100 m")


def _long_spline(points: int) -> bytes:
    return doc(spline([(i, i % 7) for i in range(points)]))


def _strokes(found: Drawing, count: int) -> None:
    assert sum(len(group.strokes) for group in found.groups) == count


# --- handles, units, names, sizes ----------------------------------------------------------------


def _handles() -> Iterator[Case]:
    for name, one, two in (
        ("double", "2F", "2F"),
        ("not hex", "XYZ", "-1"),
        ("0", "0", "0"),
        ("of 160 bits", "F" * 40, "1" * 40),
        ("empty", "", ""),
        ("a path", "../x", ".."),
    ):
        data = doc(line(0, 0, 5, 0, 5, one), line(0, 0, 7, 0, 5, two))
        yield yes(f"handles: {name}", data, lengths(5, 7),
                 "a library deletes one of two; here nothing hangs on a handle")


def _units() -> Iterator[Case]:
    def unit(value: object) -> bytes:
        return doc(GOOD, header=[(9, "$INSUNITS"), (70, value)])

    def says(*texts: str, header: Tags = MM) -> bytes:
        return doc(
            GOOD,
            *[entity("TEXT", 10, 0, 20, 0, 1, text, layer="1") for text in texts],
            lw(SQUARE, closed=True, layer="1"),
            header=header,
        )

    sizes = "in mm it is 10 by 0 cm, in cm it is 100 by 0 cm, in in it is 254 by 0 cm"
    yield no("no unit", doc(GOOD, header=[]), ("$INSUNITS is missing", sizes, "label map"))
    for value in (0, 999, -1, "abc", "٤", "²", "", "4 4", 10**30):
        yield no(f"unit {value!r}"[:30], unit(value), ("says no unit", sizes))
    yield yes("unit inch", unit(1), lengths(2540))
    yield no("unit light year", unit(19), "says no unit")
    yield no("unit without a value", doc(GOOD, header=[(9, "$INSUNITS")]), "$INSUNITS is missing")
    yield told("unit text against the header", says("Units: METRIC", header=[(9, "$INSUNITS"), (70, 1)]),
             "stands above $INSUNITS 1", lengths(100, 400))
    yield yes("unit text with the header", says("Units: METRIC"), lengths(100, 400))
    yield yes("unit text alone", says("units : english", header=[]), lengths(2540, 10160))
    yield no("two unit texts", says("Units: METRIC", "Units: ENGLISH"), ("several units", "ENGLISH", "METRIC"))
    yield told("unit text unknown", says("Units: FURLONG"), "FURLONG is no unit that is known", lengths(100, 400))
    yield no("unit text unknown, and no more", says("Units: FURLONG", header=[]), "says no unit")


NAMES = {
    "reserved characters": "<>:|?*", "folders": "../../etc/passwd", "backslashes": r"..\..\x",
    "shell": "$(rm -rf ~);`id`&&true",
    "formula": "=cmd|'/C calc'!A0",
    "bidi": "abc\u202etxt.exe", "isolates": "\u2066x\u2069", "zero width": "fr\u200bont", "device": "CON",
    "quotes": "\"'`", "format": "%s%n{0}{x!r}", "percent": "%%d%%p",
    "emoji": "👗🧵", "combining": "e\u0301" * 40, "html": "<script>alert(1)</script>", "template": "{{7*7}}{% x %}",
    "dot": ".", "dots": "..", "blank in it": "a b", "long": "N" * 255,
    "case folding": "ß\u0130", "right to left": "חזית",
}  # fmt: skip


def _names() -> Iterator[Case]:
    for kind, name in NAMES.items():
        data = doc(insert(name), line(0, 0, 3, 0, layer=name), entity("POINT", 10, 0, 20, 0, layer=name),
                 blocks=[block(name, GOOD)])
        yield yes(f"name: {kind}", data, labels("A", name.strip()), "a name is data")
        bad = doc(insert(name), line(0, 0, 0, 0, layer=name), lw(SQUARE, 210, 1, 230, 0, layer=name),
                 blocks=[block(name, GOOD)])
        yield no(f"name in a message: {kind}", bad, "tilted", "the message stays one printable line")
        yield no(f"name of a missing block: {kind}", doc(insert(name)), "is inserted but not in the file")
    for kind, name in (("256 characters", "N" * 256), ("60 kB", "N" * 60_000)):
        yield no(f"layer of {kind}", doc(line(0, 0, 3, 0, layer=name)), "255 are allowed")
        yield no(f"block of {kind}", doc(blocks=[block(name, GOOD)]), "255 are allowed")
        yield no(f"insert of {kind}", doc(insert(name)), "255 are allowed")
    for kind, char in (
        ("escape", "\x1b[31m"),
        ("bell", "\x07"),
        ("backspace", "\x08"),
        ("delete", "\x7f"),
        ("NEL", "\x85"),
    ):
        yield no(f"layer with a control character: {kind}", doc(line(0, 0, 3, 0, layer=f"a{char}b")),
                 "control character")
        yield yes(f"text with a control character: {kind}", doc(GOOD, entity("TEXT", 10, 0, 20, 0, 1, f"a{char}b")),
                 words("a " + char[1:] + "b" if len(char) > 1 else "a b"))
    shown = {"45%%d": "45°", "%%c10%%p1": "Ø10±1", "%%uunder%%o": "under", "100%%%": "100%", "a^Jb^Ic": "a b c",
             "%%065": "A", "%%007": "", "%%": "%%", "x^ y": "x^y"}
    for raw, plain in shown.items():
        yield yes(f"text {raw}", doc(GOOD, entity("TEXT", 10, 0, 20, 0, 1, raw)), words(plain))
    mtext = {r"{\fArial|b1;Bold} \H3x;big": "Bold big", r"a\Pb\~c": "a b c", r"\S1/2;": "1/2",
             r"\{x\}\\": r"{x}\\"[:-1], r"\A" * 20_000: None, "{" * 60_000: "", r"\U+00C4": "Ä"}
    for raw, plain in mtext.items():
        check = words(plain) if plain is not None else lengths(100)
        yield yes(f"mtext {raw[:16]}", doc(GOOD, entity("MTEXT", 10, 0, 20, 0, 1, raw)), check)
    yield yes("mtext in chunks", doc(GOOD, entity("MTEXT", 10, 0, 20, 0, 3, "Piece ", 3, "Name: ", 1, "FRONT")),
             words("Piece Name: FRONT"))
    yield yes("mtext with an object in it", doc(GOOD, entity("MTEXT", 10, 0, 20, 0, 1, "x", 101, "Embedded Object",
             10, 5, 1, "y")), words("x"))
    yield yes("text of 65 000 characters", doc(GOOD, entity("TEXT", 10, 0, 20, 0, 1, "x" * 65_000)),
             words("x" * 65_000))
    yield no("text of 70 000 characters", doc(GOOD, entity("TEXT", 10, 0, 20, 0, 1, "x" * 70_000)),
             "65536 are allowed")
    yield yes("a text without its words", doc(GOOD, entity("TEXT", 10, 0, 20, 0)), words(""))


def _sizes() -> Iterator[Case]:
    five = [line(0, 0, i, 0) for i in range(1, 6)]
    yield yes("elements at the limit", doc(*five), lengths(1, 2, 3, 4, 5), read=small(elements=5))
    yield no("elements beyond the limit", doc(*five, GOOD), ("too many elements: 6", "limits: elements allows 5",
             "raise it under limits"), read=small(elements=5))
    yield no("elements beyond the limit, in blocks", doc(blocks=[block("A", *five)]), "too many elements",
             read=small(elements=5))
    yield no("elements beyond the limit, none of them read", doc(*[entity("HATCH")] * 6), "too many elements",
             read=small(elements=5))
    yield no("blocks beyond the limit", doc(blocks=[block(f"B{i}") for i in range(6)]), "too many elements",
             read=small(elements=5))
    ten = [(i, 0) for i in range(10)]
    yield yes("vertices at the limit", doc(lw(ten)), lengths(9), read=small(points=10))
    yield no("vertices beyond the limit", doc(lw([*ten, (9, 9)])), ("too many points: 11", "allows 10"),
             read=small(points=10))
    yield yes("VERTEX at the limit", doc(poly(ten)), lengths(9), read=small(points=11))
    yield no("VERTEX beyond the limit", doc(poly([*ten, (9, 9)])), "too many points", read=small(points=11))
    yield no("spline points beyond the limit", doc(spline([(i, 0) for i in range(30)])), "too many points",
             read=small(points=20))
    yield no("groups of one entity beyond measure", doc([*GOOD, *[(62, 1)] * 100]), "has more than 80 groups",
             read=small(points=10))
    full = doc(GOOD)
    comment = b"999\n" + b"x" * ((1 << 20) - len(full) - 5) + b"\n"
    padded = b"".join([*[b"999\n" + b"y" * 60_000 + b"\n"] * 17])
    fill = (1 << 20) - len(full) - len(padded)
    exact = padded + b"999\n" + b"z" * (fill - 5) + b"\n" + full
    yield yes("a file of just 1 MB", exact, lengths(100), read=small(file_mb=1))
    yield no("a file of a byte more", exact + b"\n", ("the file has 2 MB", "limits: file_mb allows 1"),
             read=small(file_mb=1))
    yield no("a value of a megabyte", comment + full, "65536 are allowed")
    yield yes("30 000 vertices", lambda: doc(lw([(i * 0.1, i % 3) for i in range(30_000)])), lambda d: _strokes(d, 1))
    yield yes("30 000 VERTEX", lambda: doc(poly([(i * 0.1, i % 3) for i in range(30_000)])), lambda d: _strokes(d, 1),
             seconds=10)
    yield yes("8 000 bulges", lambda: doc(lw([(i * 0.1, i % 3, 0.1) for i in range(8_000)])), lambda d: _strokes(d,
             1), seconds=10)
    yield yes("8 000 lines", lambda: doc(*[line(i, 0, i, 5) for i in range(8_000)]), lambda d: _strokes(d, 8_000),
             seconds=10)


def _no_piece() -> Iterator[Case]:
    none = "there is no line in it, so no piece"
    yield no("nothing drawn", doc(), none, "zero pieces is never a success", read=read_block)
    yield no("no section of entities", text(section("HEADER", MM), EOF), none, read=read_block)
    yield no("only a header without a unit", text(section("HEADER"), EOF), "says no unit", read=read_block)
    yield no("only points", doc(entity("POINT", 10, 0, 20, 0)), none, read=read_block)
    yield no("only texts", doc(entity("TEXT", 10, 0, 20, 0, 1, "FRONT")), none, read=read_block)
    yield no("only what is not read", doc(entity("HATCH"), entity("IMAGE")), none, read=read_block)
    yield no("only lines of no length", doc(line(5, 5, 5, 5)), none, read=read_block)
    yield no("only a block that is not inserted", doc(blocks=[block("A", GOOD)]), none, read=read_block)
    yield no("only an open line", doc(GOOD), "no closed outline", read=read_block, error=LabelError)


# --- the whole reader ----------------------------------------------------------------------------


@cache
def _pieces(path: str) -> tuple[Any, ...]:
    return tuple(pattern.pieces for pattern in read_block(SAMPLES / path).patterns)


def _as_before(path: str) -> Check:
    """The pieces are those of the sample."""
    wanted = _pieces(path)

    def check(found: Any) -> None:
        assert alike(tuple(pattern.pieces for pattern in found.patterns), wanted)

    return check


def _ring(corners: int, layer: str = "A") -> Tags:
    turns = [2 * math.pi * i / corners for i in range(corners)]
    return lw([(200 * math.cos(turn), 200 * math.sin(turn)) for turn in turns], closed=True, layer=layer)


def _wholes() -> Iterator[Case]:
    numbered, named = "child_block.dxf", "named/child_block_110.dxf"
    for path in (numbered, named):
        data = (SAMPLES / path).read_bytes()
        same = _as_before(path)
        for name, spelt in {
            "CR": data.replace(b"\r\n", b"\n").replace(b"\n", b"\r"), "CR LF": data.replace(b"\n", b"\r\n"),
            "a mark": b"\xef\xbb\xbf" + data, "blanks around codes": re.sub(rb"(?m)^( *)(\d{1,4})$", rb"  \2  ", data),
            "remarks": data.replace(b"\nLINE\n", b"\nLINE\n999\na remark\n"),
            "what is not read": data.replace(b"\n0\nLINE\n", b"\n0\nHATCH\n10\n5\n0\nLINE\n").replace(
                b"\n  0\nLINE\n", b"\n  0\nHATCH\n10\n5\n  0\nLINE\n"),
        }.items():
            yield yes(f"{path} with {name}", spelt, same, read=read_block)
    data = (SAMPLES / numbered).read_bytes()
    for kind in ("folders", "bidi", "long"):
        name = NAMES[kind].encode()
        yield yes(f"piece named {kind}", data.replace(b"Piece Name: FRONT", b"Piece Name: " + name),
                  lambda r: _sizes_of(r, 3), "the piece is known by its shape, and the name is data", read=read_block)
        yield yes(f"size named {kind}", data.replace(b"Size: 110", b"Size: " + name), lambda r: _sizes_of(r, 3),
                  read=read_block)
        yield yes(f"block named {kind}", data.replace(b"FRONT_110", name), lambda r: _sizes_of(r, 3), read=read_block)
    for n in (40, 400, 4000):
        yield no(f"a round outline of {n}", doc(_ring(n)), "0 corners", read=read_block, error=LabelError)
        yield no(f"a round piece of {n}", doc(blocks=[block("FRONT", _ring(n, "1"))]), "0 corners", read=read_block,
                 error=LabelError)
    turns = [2 * math.pi * i / 1000 for i in range(1000)]
    spokes = [line(0, 0, 100 * math.cos(turn), 100 * math.sin(turn)) for turn in turns]
    named_spokes = [[(c, "FRONT.HEM" if c == 8 else v) for c, v in spoke] for spoke in spokes]
    yield no("a thousand lines that meet", doc(*spokes), "1000 ends meet", read=read_block, error=LabelError)
    yield no("a thousand lines that meet, named", doc(*named_spokes), "ends meet", read=read_block, error=LabelError)
    yield no("two thousand loose ends", doc(*[line(i, 0, i, 50, layer="FRONT.HEM") for i in range(0, 3000, 3)]),
             ("2000 ends of front are loose; the first 20 are told", "is open"), read=read_block, error=LabelError)
    draw = random.Random(5)
    loose = [line(*(round(draw.uniform(0, 500), 3) for _ in range(4))) for _ in range(5000)]
    yield no("five thousand loose lines", doc(*loose), "is open", read=read_block, error=LabelError)
    yield no("one line five hundred times", doc(*[GOOD] * 500), "drawn twice", read=read_block, error=LabelError)


def _sizes_of(found: Any, count: int) -> None:
    assert len(found.patterns) == count
    assert all({p.name for p in pattern.pieces} == {"front", "back", "sleeve"} for pattern in found.patterns)


GROUPS: tuple[Callable[[], Iterator[Case]], ...] = (
    _inserts, _scales, _numbers, _disguised, _cut_off, _shape, _alphabets, _depth, _lines, _arcs, _splines,
    _handles, _units, _names, _sizes, _no_piece, _wholes,
)  # fmt: skip
