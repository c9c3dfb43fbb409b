"""Proofreading: what matters in a file is damaged, and the file is refused; what is right passes.

`DAMAGED=5000 pytest tests/pipeline/test_proofread.py` moves so many coordinates in each format;
`PROOFS=all` proofreads every recipe on every sample in every format.
"""

import io
import json
import os
import random
import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pikepdf
import pytest

import sleevewright.writing
from conftest_pipeline import Studio, build, made
from samples_of_ours import BLOCKS, RECIPES, ROOT, WANT_A_DART, by_size, from_svg, recipe
from sleevewright.errors import SleevewrightError, WriteError
from sleevewright.formats import NAMES
from sleevewright.geometry import Curve
from sleevewright.pattern import InternalLine
from sleevewright.pattern.result import Result
from sleevewright.pipeline.convert import convert
from sleevewright.pipeline.proofread import proofread, proofread_of_all_sizes, read_as
from sleevewright.scripting import write
from sleevewright.writing import FORMATS, of_all_sizes

DAMAGED = int(os.environ.get("DAMAGED", "40"))
ALL = os.environ.get("PROOFS") == "all"
CHEAP = ("dxf", "svg", "json")

Damage = Callable[[bytes], bytes]


def with_marks(result: Result) -> Result:
    """The result with an internal line and two drill holes on its first piece."""
    first, *others = result.pattern.pieces
    left, bottom, right, top = first.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    line = InternalLine(
        curve=Curve.cubic((x, y), (x + 9, y), (x + 9, y + 20), (x, y + 30)), name="a"
    )
    marked = replace(first, internal=(line,), drill_holes=((x, y), (x - 20.0, y + 40.0)))
    return replace(result, pattern=replace(result.pattern, pieces=(marked, *others)))


@pytest.fixture(scope="module")
def result() -> Result:
    done = convert(by_size(from_svg("women_overblock"))["38"], recipe("classic-raglan"), {})
    return with_marks(replace(done, settings=(("drop", "30 mm"),)))


@pytest.fixture(scope="module")
def outputs(result: Result) -> dict[str, bytes]:
    return {name: FORMATS[name](result) for name in NAMES}


def refused(name: str, data: bytes, result: Result) -> str:
    """The message with which it is; fails where it is not."""
    with pytest.raises(WriteError) as caught:
        proofread(name, data, result)
    return str(caught.value)


# --- what is right passes ---------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_what_was_written_passes(name: str, outputs: dict[str, bytes], result: Result) -> None:
    proofread(name, outputs[name], result)
    ending = name if name not in ("plot", "report") else {"plot": "pdf", "report": "html"}[name]
    read_as(ending, outputs[name])


def cases() -> Iterator[tuple[str, str]]:
    for i, name in enumerate(RECIPES):
        blocks = (
            BLOCKS if ALL else (BLOCKS[i % len(BLOCKS)] if name not in WANT_A_DART else BLOCKS[0],)
        )
        for block in blocks:
            yield name, block


@pytest.mark.parametrize(("name", "block"), list(cases()))
def test_every_recipe_passes(name: str, block: str) -> None:
    results = []
    for pattern in from_svg(block)[: None if ALL else 1]:
        try:
            results.append(convert(pattern, recipe(name), {}))
        except SleevewrightError:
            assert name in WANT_A_DART
    for done in results:
        for kind in NAMES if ALL else CHEAP:
            try:
                data = FORMATS[kind](done)
            except WriteError as error:
                assert "on the roll" in str(error) or "room for" in str(error)
                continue
            proofread(kind, data, done)
    if ALL:
        for file, data in of_all_sizes(results, NAMES).items():
            proofread_of_all_sizes(file, data, results)


# --- a number moved by a tenth ----------------------------------------------------------------


def moved(data: bytes, place: re.Match[bytes]) -> bytes:
    """The data with 0.1 more where a number stands."""
    number = f"{float(place[1]) + 0.1:.4f}".encode()
    return data[: place.start(1)] + number + data[place.end(1) :]


def numbers_of(name: str, data: bytes) -> list[re.Match[bytes]]:
    """Where numbers stand that a cutter would lose cloth by.

    (Not how large and where notes are that a cutter does not cut by: texts of the system, the height of
    the names of edges, the circle that shows a drill hole.)
    """
    if name == "dxf":
        return list(numbers_of_dxf(data))
    if name == "svg":
        start = data.index(b"<g ")
        found = re.finditer(rb'(?<! r=")(?<![\w.-])(-?\d+\.\d{4})(?=[ "LCZ)])', data)
        return [m for m in found if m.start() > start]
    return list(re.finditer(rb'(?:": |\n {2,})(-?\d+\.\d+)(?=[,\n])', data))


def numbers_of_dxf(data: bytes) -> Iterator[re.Match[bytes]]:
    start, end = data.index(b"\nBLOCKS\n"), data.index(b"\nENTITIES\n")
    for record in re.finditer(rb"  0\n[^\n]*\n(?:(?!  0\n)[^\n]*\n[^\n]*\n)*", data):
        text = record[0]
        of_system = text.startswith(b"  0\nTEXT\n  8\n1\n")
        if text.startswith(b"  0\nINSERT") or (start < record.start() < end and not of_system):
            codes = b"10|20" if b"\n  1\nEDGE " in text else b"10|20|11|21|30|39|40|50"
            pattern = re.compile(rb"\n (?:" + codes + rb")\n(-?\d+\.\d+)(?=\n)")
            yield from pattern.finditer(data, record.start(), record.end())


@pytest.mark.parametrize("name", CHEAP)
def test_a_number_moved_by_a_tenth_is_refused(
    name: str, outputs: dict[str, bytes], result: Result
) -> None:
    data = outputs[name]
    places = numbers_of(name, data)
    assert len(places) > 100
    draw = random.Random(name)
    for place in draw.sample(places, min(DAMAGED, len(places))):
        bad = moved(data, place)
        said = refused(name, bad, result)
        assert "off by 0." in said or "another form" in said or "no turn point" in said or (
            "on no line" in said or "not closed" in said
        ), (said, data[place.start() - 200 : place.end()])  # fmt: skip


def pdf_with(data: bytes, form: str, change: Callable[[str], str]) -> bytes:
    """A PDF with the content of a form changed and packed again."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        stream = pdf.pages[0].obj.Resources.XObject[form]
        stream.write(change(stream.read_bytes().decode()).encode())
        target = io.BytesIO()
        pdf.save(target)
    return target.getvalue()


@pytest.mark.parametrize("name", ["pdf", "plot"])
def test_a_line_of_a_pdf_moved_by_a_tenth_is_refused(
    name: str, outputs: dict[str, bytes], result: Result
) -> None:
    draw = random.Random(name)

    def move(content: str) -> str:
        places = list(re.finditer(r"(-?\d+\.\d{4})(?=[ \d.-]* [mlc]\n)", content))
        place = draw.choice(places)
        return f"{content[: place.start()]}{float(place[1]) + 0.1:.4f}{content[place.end() :]}"

    for _ in range(DAMAGED // 4):
        bad = pdf_with(outputs[name], "/P1", move)
        assert "is not there as it was laid out" in refused(name, bad, result)
    proofread(name, pdf_with(outputs[name], "/P1", lambda content: content), result)


# --- something missing, or other than it was --------------------------------------------------


def without(pattern: bytes, count: int = 1) -> Damage:
    def damage(data: bytes) -> bytes:
        bad, n = re.subn(pattern, b"", data, count=count, flags=re.DOTALL)
        assert n == count
        return bad

    return damage


def instead(old: bytes, new: bytes) -> Damage:
    def damage(data: bytes) -> bytes:
        assert old in data
        return data.replace(old, new, 1)

    return damage


def halved(data: bytes) -> bytes:
    return data[: len(data) // 2]


DXF_BLOCK = rb"  0\nBLOCK\n.*?  0\nENDBLK\n  8\n1\n"
DAMAGES: list[tuple[str, str, Damage, str]] = [
    ("dxf", "a piece gone", without(DXF_BLOCK), "number of pieces"),
    ("dxf", "a piece not placed", without(rb"  0\nINSERT\n.*? 20\n[\d.]+\n"), "placed"),
    ("dxf", "a notch gone", without(rb"  0\nPOINT\n  8\n4\n.*? 50\n[\d.]+\n"), "notches"),
    ("dxf", "a drill hole gone", without(rb"  0\nPOINT\n  8\n13\n.*? 20\n[-\d.]+\n"), "drill"),
    ("dxf", "the grain gone", without(rb"  0\nLINE\n  8\n7\n.*? 21\n[-\d.]+\n"), "grain"),
    ("dxf", "a vertex gone", without(rb"  0\nVERTEX\n  8\n14\n.*? 20\n[-\d.]+\n"), "sewing line"),
    ("dxf", "a sewing line gone",
     without(rb"  0\nPOLYLINE\n  8\n14\n.*?SEQEND\n  8\n14\n"), "number of lines"),
    ("dxf", "an internal line gone",
     without(rb"  0\nPOLYLINE\n  8\n8\n.*?SEQEND\n  8\n8\n"), "number of lines"),
    ("dxf", "a text changed", instead(b"Quantity: 1", b"Quantity: 2"), "Quantity: 2"),
    ("dxf", "a size changed", instead(b"Size: 38", b"Size: 40"), "Size: 40"),
    ("dxf", "an edge renamed", instead(b"EDGE raglan_seam", b"EDGE armhole"), "EDGE armhole"),
    ("dxf", "another unit", instead(b"Units: METRIC", b"Units: ENGLISH"), "ENGLISH"),
    ("dxf", "another layer", instead(b"POLYLINE\n  8\n14", b"POLYLINE\n  8\n8"), "vertex"),
    ("dxf", "a curve of arcs", instead(b" 70\n0\n  0\nVERTEX", b" 70\n4\n  0\nVERTEX"), "form"),
    ("dxf", "cut off", halved, "cut off"),
    ("dxf", "cut off at a record", without(rb"  0\nENDSEC\n  0\nEOF\n"), "cut off"),
    ("dxf", "nothing", lambda _: b"", ""),
    ("svg", "a piece gone", without(rb"<g .*?</g>\n"), "number of pieces"),
    ("svg", "a notch gone", without(rb'<path class="notch".*?/>\n'), "number of notches"),
    ("svg", "a drill hole gone", without(rb"<circle .*?/>\n"), "drill holes"),
    ("svg", "a line gone", without(rb'<path class="sew.*?/>\n'), "number of lines"),
    ("svg", "a text changed", instead(b">SIZE 38<", b">SIZE 40<"), "SIZE 40"),
    ("svg", "a text gone", without(rb"<text .*?</text>\n"), "number of texts"),
    ("svg", "an edge renamed", instead(b'data-edge="raglan_seam', b'data-edge="armhole'), "armhole"),
    ("svg", "a cut line open", instead(b'Z"', b'"'), "closed"),
    ("svg", "another unit", instead(b'mm" height', b'in" height'), ""),
    ("svg", "a seam gone", instead(b"<metadata id=\"seams\">[{", b"<metadata id=\"seams\">[[], {"), ""),
    ("svg", "a script", instead(b"<g ", b"<script>alert(1)</script><g "), "script"),
    ("svg", "a handler", instead(b"<path ", b'<path onclick="x" '), "onclick"),
    ("svg", "a link", instead(b"<path ", b'<path href="http://x" '), "href"),
    ("svg", "entities", instead(b"<svg", b"<!DOCTYPE svg><svg"), "document type"),
    ("svg", "cut off", halved, "no XML"),
    ("json", "a name changed", instead(b'"block": "women', b'"block": "wumen'), "block"),
    ("json", "no number", instead(b'"area_mm2": ', b'"area_mm2": NaN, "x": '), "NaN"),
    ("json", "a key twice", instead(b'"block": ', b'"block": 1, "block": '), "twice"),
    ("json", "a finding gone", without(rb'  \{\n   "check".*?\},\n'), "findings"),
    ("json", "a status bettered", instead(b'"status": "held"', b'"status": "noted"'), ""),
    ("json", "cut off", halved, ""),
    ("report", "a length changed", instead(b'data-head="Length" class="n">', b'data-head="" class="n">1'),
     "off by"),
    ("report", "a seam gone", without(rb'<tr role="row" class="held">.*?</tr>\n'), "number of seams"),
    ("report", "a script", instead(b"</main>", b"<script>alert(1)</script></main>"), "script"),
    ("report", "a handler", instead(b"<main ", b'<main onload="x" '), "onload"),
    ("report", "a picture from elsewhere", instead(b"</main>", b'<img src="http://x"></main>'), "img"),
    ("report", "a link", instead(b'href="#walk"', b'href="javascript:x"'), "javascript"),
    ("report", "an open policy", instead(b"default-src &#39;none", b"default-src &#39;self"), "policy"),
    ("report", "unbalanced", instead(b"</section>", b""), "closed by"),
    ("report", "a piece renamed", instead(b'scope="row">front', b'scope="row">frunt'), "frunt"),
    ("report", "cut off", halved, ""),
    ("csv", "a count changed", instead(b"CUT 1 PAIR,2", b"CUT 1 PAIR,3"), ""),
    ("csv", "a row gone", without(rb"\r\nBACK.*?(?=\r\n)"), "number of rows"),
    ("csv", "a formula", instead(b"CUT 1 PAIR,2", b"=1+1,2"), "formula"),
    ("csv", "cut off", halved, "cut off"),
    ("xlsx", "cut off", halved, "no workbook"),
    ("xlsx", "a byte of it", lambda d: d[:500] + bytes([d[500] ^ 4]) + d[501:], ""),
    ("pdf", "cut off", halved, "cut off"),
    ("pdf", "no PDF", lambda _: b"%PDF-1.7\n%%EOF\n", "no PDF"),
    ("plot", "cut off", halved, "cut off"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "damage", "says"),
    [pytest.param(n, d, s, id=f"{n}: {what}") for n, what, d, s in DAMAGES],
)
def test_damage_is_refused_and_named(
    name: str, damage: Damage, says: str, outputs: dict[str, bytes], result: Result
) -> None:
    said = refused(name, damage(outputs[name]), result)
    assert says in said
    assert "\n" not in said
    assert "/classic-raglan/drop=30mm/38." in said
    assert "report it" in said


def resaved(change: Callable[[pikepdf.Pdf], None]) -> Damage:
    def damage(data: bytes) -> bytes:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            change(pdf)
            target = io.BytesIO()
            pdf.save(target)
        return target.getvalue()

    return damage


def opens_a_page(pdf: pikepdf.Pdf) -> None:
    action = pikepdf.Dictionary(S=pikepdf.Name.URI, URI=pikepdf.String("http://x"))
    pdf.Root.OpenAction = pdf.make_indirect(action)


def runs_a_script(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.AA = pikepdf.Dictionary(
        O=pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("x"))
    )


def loses_a_page(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[-1]


def shrinks(pdf: pikepdf.Pdf) -> None:
    pdf.pages[-1].obj.MediaBox[2] -= 10


def in_last_page(pattern: str, new: str) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        stream = pdf.pages[-1].obj.Contents
        content, n = re.subn(pattern, new, stream.read_bytes().decode(), count=1)
        assert n
        stream.write(content.encode())

    return change


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("pdf", opens_a_page, "/OpenAction"),
        ("pdf", runs_a_script, "/AA"),
        ("pdf", loses_a_page, "number of pages"),
        ("pdf", shrinks, "size of the pages"),
        ("pdf", in_last_page(r"\S+ cm /P\d+ Do", "0.1 cm /P0 Do"), "sheet"),
        ("pdf", in_last_page(r"\S+ cm (/P\d+) Do", r"1.1234 cm \1 Do"), "places"),
        ("pdf", in_last_page(r"/P\d+ Do", ""), "pieces"),
        ("plot", in_last_page(r"/P1 Do", ""), "pieces"),
        ("plot", in_last_page(r"\S+ cm (/P1 Do)", r"9999.0 cm \1"), "leaves the roll"),
        ("plot", in_last_page(r"\S+ (\S+ cm /P1 Do)", r"-400.0 \1"), "roll"),
        ("plot", runs_a_script, "/AA"),
    ],
)
def test_damage_within_a_pdf_is_refused(
    name: str, change: Callable[[pikepdf.Pdf], None], says: str,
    outputs: dict[str, bytes], result: Result,
) -> None:  # fmt: skip
    assert says in refused(name, resaved(change)(outputs[name]), result)


@pytest.mark.parametrize("name", ["pdf", "plot"])
def test_a_notch_gone_or_a_text_changed_in_a_pdf(
    name: str, outputs: dict[str, bytes], result: Result
) -> None:
    def without_a_notch(content: str) -> str:
        start = content.index("/OC /Knotch BDC")
        line = re.compile(r"\S+ \S+ m\n(\S+ \S+ l\n)+S\n").search(content, start)
        assert line
        return content[: line.start()] + content[line.end() :]

    assert "notch" in refused(name, pdf_with(outputs[name], "/P1", without_a_notch), result)

    def other_letters(content: str) -> str:
        first, last = re.search(r"<([0-9A-F]{4})[0-9A-F]*([0-9A-F]{4})>", content).groups()
        assert first != last
        return content.replace(f"<{first}", f"<{last}", 1)

    assert "texts" in refused(name, pdf_with(outputs[name], "/P1", other_letters), result)


def book_with(data: bytes, part: str, damage: Damage) -> bytes:
    """A workbook with one of its parts changed and packed again."""
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as book, zipfile.ZipFile(target, "w") as new:
        for name in book.namelist():
            new.writestr(name, damage(book.read(name)) if name == part else book.read(name))
    return target.getvalue()


def more(data: bytes) -> bytes:
    """The first number of a sheet with a 9 before it."""
    return re.sub(rb'(<c r="[A-Z]+\d+" s="\d+"><v>)', rb"\g<1>9", data, count=1)


SHEET, TEXTS = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"


@pytest.mark.parametrize(
    ("part", "damage", "says"),
    [
        (SHEET, more, "row 1"),
        (SHEET, without(rb'<row r="3".*?</row>'), "number of rows"),
        (SHEET, instead(b"</c></row>", b"<f>1+1</f></c></row>"), "formula"),
        (SHEET, instead(b"</sheetData>", b'</sheetData><hyperlink ref="A1"/>'), "link"),
        (TEXTS, instead(b"FRONT", b"FRUNT"), "FRUNT"),
        ("xl/workbook.xml", without(rb"<sheet .*?/>"), "number of sheets"),
        ("xl/workbook.xml", instead(b"<workbook", b"<!DOCTYPE x><workbook"), "document type"),
    ],
)
def test_damage_within_a_workbook_is_refused(part, damage, says, outputs, result) -> None:
    proofread("xlsx", book_with(outputs["xlsx"], part, lambda data: data), result)
    assert says in refused("xlsx", book_with(outputs["xlsx"], part, damage), result)


def test_every_number_and_text_of_a_record_counts(
    outputs: dict[str, bytes], result: Result
) -> None:
    record = json.loads(outputs["json"])

    def places(value: object, way: tuple[object, ...] = ()) -> Iterator[tuple[object, ...]]:
        if isinstance(value, dict | list):
            items = value.items() if isinstance(value, dict) else enumerate(value)
            for key, part in items:
                yield from places(part, (*way, key))
        else:
            yield way

    ways = list(places(record))
    for way in random.Random(1).sample(ways, min(len(ways), 4 * DAMAGED)):
        bad = json.loads(outputs["json"])
        inner = bad
        for key in way[:-1]:
            inner = inner[key]
        old = inner[way[-1]]
        inner[way[-1]] = old + 0.1 if isinstance(old, float) else f"{old}x"
        refused("json", json.dumps(bad, sort_keys=True, indent=1).encode(), result)


def test_files_of_all_sizes() -> None:
    sizes = from_svg("men_overblock")
    *results, others = (convert(pattern, recipe("half-raglan"), {}) for pattern in sizes[:3])
    files = of_all_sizes(results, NAMES)
    assert set(files) == {
        "all-sizes.pdf", "all-sizes.xlsx", "measurement-chart.csv", "spec-sheet.csv",
    }  # fmt: skip
    for file, data in files.items():
        proofread_of_all_sizes(file, data, results)
        for bad in (halved(data), data[:-30]):
            with pytest.raises(WriteError, match=file):
                proofread_of_all_sizes(file, bad, results)
        with pytest.raises(WriteError, match=file):  # of other sizes
            proofread_of_all_sizes(file, data, [results[0], replace(others, size=results[1].size)])


# --- where it stands --------------------------------------------------------------------------


@pytest.fixture
def spoilt(monkeypatch: pytest.MonkeyPatch) -> None:
    """A writer of SVG that loses the first notch of size 50."""

    def write_svg(done: Result) -> bytes:
        data = FORMATS["svg"](done)
        return without(rb'<path class="notch".*?/>\n')(data) if done.size == "50" else data

    monkeypatch.setattr(sleevewright.writing, "FORMATS", {**FORMATS, "svg": write_svg})


@pytest.mark.usefixtures("spoilt")
def test_what_does_not_read_as_it_was_made_is_not_written(tmp_path: Path) -> None:
    done = convert(by_size(from_svg("men_overblock"))["50"], recipe("half-raglan"), {})
    with pytest.raises(WriteError, match=r"half-raglan/50\.svg: it was not written.*notches"):
        write(done, tmp_path / "out", ["svg", "json"])
    assert not (tmp_path / "out").exists()
    write(done, tmp_path / "out", ["svg"], proofread=False)
    assert [p.name for p in (tmp_path / "out").rglob("*.svg")] == ["50.svg"]


@pytest.mark.usefixtures("spoilt")
def test_in_a_batch_the_variant_fails_alone(studio: Studio) -> None:
    for size in (50, 52):
        studio.block(f"men_overblock_{size}")
    studio.recipe("half-raglan")
    studio.library()
    events = build(studio)
    assert made(events) == ["men/half-raglan/52"]
    (failed,) = [e for e in events if e["event"] == "failed"]
    assert "number of notches" in str(failed["problem"])
    assert not list(studio.out.rglob("50.*"))
    studio.library("outputs: {folder: out, formats: [svg, json], proofread: false}\n")
    assert made(build(studio)) == ["men/half-raglan/50"]


def test_the_command_line_can_leave_it_out(tmp_path: Path) -> None:
    studio = Studio(tmp_path)
    block = ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg"
    line = ("convert", block, "--recipe", ROOT / "recipes" / "half-raglan.yaml", "--out")
    for out, *more in (("one",), ("two", "--no-proofread")):
        done = studio.run(*line, out, *more)
        assert done.returncode == 0, done.stderr
    files = [
        {p.name: p.read_bytes() for p in (tmp_path / out).rglob("*.*")} for out in ("one", "two")
    ]
    assert files[0] == files[1]
    assert len(files[0]) == 3
