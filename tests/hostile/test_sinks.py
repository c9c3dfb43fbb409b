"""Hostile names through every sink: they come out as text, whatever reads the file.

The judges are other people's parsers: html.parser, ElementTree, csv, openpyxl, ezdxf, pypdf, json. What
is the same with a plain name and with a hostile one (elements, attributes, entities, pages) shows that
no name became more than a name.
"""

import csv
import html.parser
import io
import json
import re
import signal
import sys
import unicodedata
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import openpyxl
import pypdf
import pytest
from ezdxf.document import Drawing
from ezdxf.tools.text import plain_text

from samples_of_ours import ROOT, by_size, from_svg, recipe
from sleevewright.cli import main
from sleevewright.cli.shared import visible
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.pattern import EdgeUse, InternalLine, Pattern
from sleevewright.pattern.result import Result
from sleevewright.pipeline.convert import convert
from sleevewright.pipeline.proofread import proofread, proofread_of_all_sizes
from sleevewright.scripting import write
from sleevewright.writing import FORMATS, of_all_sizes
from sleevewright.writing.gallery import Entry, Outline, write_gallery
from sleevewright.writing.overlay import overlay_svg

HOSTILE = {
    "markup": "<b>&amp;</b><!-- x",
    "a script": "</title></style></script><script>alert(1)</script>",
    "an attribute": "\"' onload=alert(1) x=\"'><img src=x onerror=alert(1)>",
    "a template": "{{ 7*7 }}{% raw %}${x}{0.__class__}%(x)s",
    "an entity": "&lol;<!ENTITY x SYSTEM 'file:///etc/passwd'>]]>",
    "a link": "javascript:alert(1)//http://example.org/",
    "a formula": '=HYPERLINK("http://example.org","pay")',
    "plus": "+1+1",
    "minus": "-2+3",
    "at": "@SUM(A1)",
    "full-width": "\uff1d1\uff0b\uff0d\uff20",
    "behind blanks": "  =1+1",
    "tab": "\t=1",
    "returns": "\r=1\r\n\n\x0b\x0c\x85x",
    "quotes": "a \"b\" 'c' `d` ,;|",
    "bidi": "abc\u202edcba\u202c\u2066x\u2069\u200f",
    "ANSI": "\x1b[31m\x1b]0;pwned\x07\x9b2J\x1bc",
    "NUL": "\x00a\x01\x02\x7f\x08",
    "surrogates": "a\ud800b\udfff",
    "no characters": "\ufffe\uffff\U0001ffff\ufdd0",
    "separators": "a\u2028b\u2029c\u200b\ufeff",
    "percents": "50%%d %%c%%% 100% %s %d",
    "paragraphs": "\\P\\H3x;{\\C1;x}\\U+0041\\M+1",
    "carets": "^J^I^M^ ^x",
    "braces": "{}{{}}}{",
    "escapes of a workbook": "_x0000_ _x000D_ _x005F_",
    "5,000 letters": "Xy " * 1667,
    "no blank": "w" * 5000,
    "emoji": "👗\U0001f469\u200d\U0001f9b1🏳️\u200d🌈",
    "lone marks": "\u0301\u0308\u20dd",
    "many marks": "a" + "\u0301" * 300,
    "right to left": "שָׁלוֹם مرحبا",
    "parentheses of a PDF": "a(b\\)) <</x>> endstream endobj %%EOF",
    "records of a DXF": "x\n  0\nEOF\n  0\nSECTION",
    "a sheet's name": "history'[]:*?/\\",
    "a prototype": "__proto__",
    "nothing": " ",
}
PLAIN = "7 plain name"

every_name = pytest.mark.parametrize("name", HOSTILE.values(), ids=HOSTILE.keys())


@cache
def sample() -> Result:
    return convert(by_size(from_svg("women_overblock"))["38"], recipe("classic-raglan"), {})


@cache
def named(name: str) -> Result:
    """A result with a name wherever a drawing, a recipe or a user can put one."""
    done = sample()
    first, *others = done.pattern.pieces
    old = first.edges[1].name
    edges = tuple(
        replace(
            edge, name=f"{name}1" if edge.name == old else edge.name,
            notches=tuple(replace(notch, name=name) for notch in edge.notches),
        )
        for edge in first.edges
    )  # fmt: skip
    finish = first.finish
    assert finish is not None
    finish = replace(
        finish,
        allowances=tuple((f"{name}1" if n == old else n, w) for n, w in finish.allowances),
        # longer lines than this go on no piece: finishing leaves them out
        lettering=tuple(replace(line, text=name[:80]) for line in finish.lettering),
        notches=tuple(replace(cut, name=name) for cut in finish.notches),
    )
    left, bottom, right, top = first.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    line = InternalLine(curve=Curve.line((x, y), (x + 30, y + 30)), name=name)
    fold = f"{name}1" if first.fold == old else first.fold
    piece = replace(
        first, name=name, edges=edges, finish=finish, internal=(line,), material=name, fold=fold
    )

    def used(use: EdgeUse) -> EdgeUse:
        if use.piece != first.name:
            return use
        return replace(use, piece=name, edge=f"{name}1" if use.edge == old else use.edge)

    seam = next(s for s in done.pattern.seams if first.name in {use.piece for use in s.first})
    sides = {side: tuple(map(used, getattr(seam, side))) for side in ("first", "second")}
    pattern = Pattern(
        name=name, size=name, pieces=(piece, *others), seams=(replace(seam, name=name, **sides),),
        facts=((f"{name}_mm", 1.0),),
    )  # fmt: skip
    row = replace(done.seam_rows[0], name=name, edges=((name,), (name,)))
    found = (
        Finding(name, Status.FAILED, name, name),
        Finding(f"promise.{name}", Status.HELD, name, name),
    )
    return replace(
        done, block=name, recipe=name, size=name, settings=((name, name),), pattern=pattern,
        findings=found, seam_rows=(row,), measurements=((name, 1.0), (f"movement.{name}_mm", 2.0)),
    )  # fmt: skip


@cache
def output(kind: str, name: str) -> bytes:
    return FORMATS[kind](named(name))


# --- every format, by our own proofreader -----------------------------------------------------


@every_name
@pytest.mark.parametrize("kind", FORMATS)
def test_it_reads_as_it_was_made(kind: str, name: str) -> None:
    proofread(kind, output(kind, name), named(name))


@pytest.mark.parametrize("name", list(HOSTILE.values())[::4], ids=list(HOSTILE)[::4])
def test_files_of_all_sizes_hold_it(name: str) -> None:
    results = [named(name), replace(named(name), size=f"{name}2")]
    for file, data in of_all_sizes(results, tuple(FORMATS)).items():
        proofread_of_all_sizes(file, data, results)


@every_name
def test_files_lie_in_the_output_folder_under_harmless_names(name: str, tmp_path: Path) -> None:
    write(named(name), tmp_path / "out", ["csv"])
    (made,) = [path for path in tmp_path.rglob("*") if path.is_file()]
    parts = made.relative_to(tmp_path / "out").parts
    assert len(parts) == 4
    assert all(part.isprintable() and not part.startswith((".", "-")) for part in parts)


# --- HTML -------------------------------------------------------------------------------------


class Elements(html.parser.HTMLParser):
    """Every element of a page with its attributes' names, and its texts."""

    def __init__(self, data: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, tuple[str, ...]]] = []
        self.values: list[tuple[str, str]] = []
        self.scripts: list[str] = []
        self.policy = ""
        self.text = ""
        self.feed(data.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, tuple(name for name, _ in attrs)))
        self.values += [(name, value or "") for name, value in attrs]
        if dict(attrs).get("http-equiv") == "Content-Security-Policy":
            self.policy = dict(attrs)["content"] or ""

    def handle_data(self, data: str) -> None:
        if self.found[-1:] and self.found[-1][0] in ("script", "style") and data.strip():
            self.scripts.append(data)
        self.text += data


def strict(policy: str) -> None:
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert not re.search(r"unsafe|\*|https?:|data:", policy)
    for kind in ("script-src", "style-src"):
        assert re.fullmatch(r"('self' )?'sha256-[\w+/]+='", rules[kind])


@every_name
def test_a_report_has_no_element_and_no_script_more(name: str) -> None:
    page, plain = Elements(output("report", name)), Elements(output("report", PLAIN))
    assert page.found == plain.found
    assert page.scripts == plain.scripts
    assert page.policy == plain.policy
    strict(page.policy)
    for attribute, value in page.values:
        assert not attribute.startswith("on")
        assert attribute not in ("src", "style", "action", "formaction", "srcdoc")
        assert attribute != "href" or value.startswith("#")
    assert not set(page.text) & set("\x00\x1b\x9b\u202e\u2066\ud800")


@every_name
def test_a_gallery_has_no_element_and_no_script_more(name: str) -> None:
    def files(text: str) -> dict[str, bytes]:
        entry = Entry(
            key=text, block=text, recipe=text, size=text, family=text, settings=((text, text),),
            state="noted", problem=text, measurements=((text, 1.0),), links=(("svg", f"x{text}"),)
            if not {"", ".."} & set(f"x{text}".split("/")) else (),
            outlines=(Outline(text, ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0))),),
        )  # fmt: skip
        return dict(write_gallery([entry], text))

    made, plain = files(name), files(PLAIN)
    assert made.keys() == plain.keys()
    page, other = Elements(made["index.html"]), Elements(plain["index.html"])
    assert page.found == other.found
    assert page.scripts == other.scripts
    strict(page.policy)
    data = made["gallery-data/000.js"]
    assert data.isascii()
    assert not re.search(rb"</|<!|&", data)
    (inner,) = re.findall(rb"push\((.*)\);\n$", data, re.DOTALL)
    assert json.loads(inner, parse_constant=pytest.fail)["rows"][0][1] == name


# --- SVG --------------------------------------------------------------------------------------


def shape(data: bytes) -> list[tuple[str, list[str]]]:
    return [(element.tag, sorted(element.attrib)) for element in ET.fromstring(data).iter()]


@every_name
def test_an_svg_has_no_element_and_no_link_more(name: str) -> None:
    data = output("svg", name)
    assert shape(data) == shape(output("svg", PLAIN))
    for element in ET.fromstring(data).iter():
        tag = element.tag.rpartition("}")[2]
        assert tag in {"svg", "title", "style", "metadata", "g", "path", "circle", "text"}
        for attribute in element.attrib:
            assert not attribute.startswith("on")
            assert "href" not in attribute
    style = ET.fromstring(data).find("{http://www.w3.org/2000/svg}style")
    assert style is not None
    assert not re.search(r"url|@|import", style.text or "")
    group = ET.fromstring(data).find("{http://www.w3.org/2000/svg}g")
    assert group is not None
    assert group.get("data-piece", "") == in_xml(name)


def in_xml(text: str) -> str:
    """Text as XML 1.0 can hold it in an attribute: production [2], white space as spaces."""

    def legal(char: str) -> bool:
        code = ord(char)
        return (
            code in (9, 10, 13)
            or 0x20 <= code <= 0xD7FF
            or 0xE000 <= code <= 0xFFFD
            or code > 0xFFFF
        )

    kept = "".join(char if legal(char) else "\ufffd" for char in text)
    return re.sub("[\t\n\r]", " ", kept)


@every_name
def test_pictures_of_what_moved_hold_it(name: str) -> None:
    def picture(text: str) -> bytes:
        edge = [0, 0, 1000, 0, 2000, 0, 3000, 0]
        moved = [0, 0, 1000, 0, 2000, 0, 3000, 900]
        old, new = ({"pieces": {text: {text: numbers}}} for numbers in (edge, moved))
        return overlay_svg([(text, old, new, [text], {(text, text): 0.9})])

    assert shape(picture(name)) == shape(picture(PLAIN))


# --- tables -----------------------------------------------------------------------------------


@every_name
def test_no_cell_of_a_csv_is_a_formula_and_all_come_back(name: str) -> None:
    rows = list(
        csv.reader(io.StringIO(output("csv", name).decode("utf-8-sig"), newline=""), strict=True)
    )
    for row in rows:
        assert len(row) == len(rows[0])
        for cell in row:
            number = re.fullmatch(r"-?\d+(\.\d+)?", cell)
            assert number or not re.match(r"[\s]*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]", cell)
    material = rows[1][rows[0].index("Material")]
    plain = name.encode("utf-8", "replace").decode()
    assert material in (plain, f"'{plain}")


@every_name
def test_no_cell_of_a_workbook_is_a_formula_and_all_come_back(name: str) -> None:
    data = output("xlsx", name)
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert len(book.sheetnames) == 3
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in ("s", "n", "inlineStr")
                assert cell.hyperlink is None
    head = [cell.value for cell in book["Cutting list"][1]]
    material = book["Cutting list"].cell(2, head.index("Material") + 1).value or ""
    wanted = name.encode("utf-8", "replace").decode()

    def plain(text: str) -> str:
        """Line ends as one, escapes undone or not: a reader may do either; what XML has not, marked."""
        undone = re.sub("_x([0-9A-F]{4})_", lambda m: chr(int(m[1], 16)), text)
        undone = re.sub("_x([0-9A-F]{4})_", lambda m: chr(int(m[1], 16)), undone)
        return re.sub("[\ufffe\uffff]", "\ufffd", re.sub("\r\n|\r", "\n", undone)).strip()

    assert plain(material) == plain(wanted)
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for part in parts.namelist():
            assert "external" not in part.lower()
            for element in ET.fromstring(parts.read(part)).iter():
                assert element.tag.rpartition("}")[2] not in ("f", "hyperlink")


# --- DXF --------------------------------------------------------------------------------------


def census(document: Drawing) -> Counter[tuple[str, str]]:
    layouts = [document.modelspace(), *(b for b in document.blocks if not b.name.startswith("*"))]
    return Counter((e.dxftype(), e.dxf.layer) for layout in layouts for e in layout)


@cache
def plain_census() -> Counter[tuple[str, str]]:
    return census(ezdxf.read(io.StringIO(output("dxf", PLAIN).decode("ascii"))))


@every_name
def test_a_dxf_has_no_entity_more_and_reads_back_equal(name: str) -> None:
    document = ezdxf.read(io.StringIO(output("dxf", name).decode("ascii")))
    assert not document.audit().errors
    found = census(document)
    assert found - plain_census() == Counter()
    # of the system texts, those with nothing to say (material, category) are left out
    empty = not in_ascii(name).strip() or name.startswith("_")
    assert sum((plain_census() - found).values()) <= (2 if empty else 0)
    block = next(b for b in document.blocks if not b.name.startswith("*"))
    said = [plain_text(e.dxf.text) for e in block.query("TEXT[layer=='15']")]
    lettering = said[len(named(name).pattern.pieces[0].edges) :]
    assert set(lettering) == {in_ascii(name[:80])}


def in_ascii(text: str) -> str:
    """Text in seven bits: accents dropped, what has no likeness as DXF codes it, no control characters."""
    from sleevewright.writing.ascii_text import transliterated

    plain = transliterated(text)
    assert re.fullmatch("[ -~]*", plain)
    if text.isascii() and text.isprintable():
        assert plain == text
    return plain


# --- PDF --------------------------------------------------------------------------------------


def keys_of(reader: pypdf.PdfReader) -> Iterator[str]:
    for number in range(1, len(reader.xref_objStm) + sum(map(len, reader.xref.values())) + 1):
        yield from keys_in(reader.get_object(number))


def keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        yield from value
        for inner in value.values():
            yield from keys_in(inner) if not isinstance(inner, pypdf.generic.IndirectObject) else ()
    elif isinstance(value, list):
        for inner in value:
            yield from keys_in(inner) if not isinstance(inner, pypdf.generic.IndirectObject) else ()


@every_name
@pytest.mark.parametrize("kind", ["pdf", "plot"])
def test_a_pdf_can_do_nothing_and_has_no_page_more(kind: str, name: str) -> None:
    reader, plain = (pypdf.PdfReader(io.BytesIO(output(kind, n))) for n in (name, PLAIN))
    found = set(keys_of(reader))
    assert "/MediaBox" in found
    assert not found & {
        "/JavaScript", "/JS", "/URI", "/AA", "/OpenAction", "/Launch", "/A", "/Annots", "/AcroForm",
        "/EmbeddedFiles", "/GoToR", "/SubmitForm",
    }  # fmt: skip
    assert (
        len(reader.pages) == len(plain.pages) or kind == "pdf"
    )  # a long line may need a sheet more
    assert reader.root_object.keys() == plain.root_object.keys()
    title = reader.metadata.title if reader.metadata else ""
    assert title is not None
    normal = unicodedata.normalize("NFC", name)
    assert not set(title) & set("\x00\x1b\x9b\u202e\ud800")
    if normal.isprintable() and len(normal) < 100:
        assert normal in title


# --- JSON -------------------------------------------------------------------------------------


@every_name
def test_a_record_is_strict_json_of_the_very_names(name: str) -> None:
    data = output("json", name)
    assert data.isascii()
    record = json.loads(data, parse_constant=pytest.fail)
    assert record["block"] == record["recipe"] == record["size"] == name
    assert record["settings"] == {name: name}
    assert record["pieces"][0]["name"] == name
    assert record["pieces"][0]["edges"][1]["name"] == f"{name}1"
    assert record["seams"][0]["name"] == name
    assert record["findings"][0]["message"] == name


def test_no_json_is_written_where_nan_could_slip_in() -> None:
    """NaN is no JSON: whatever dumps says so, or dumps text and whole numbers alone."""
    of_text = {"fingerprint.py", "lock.py", "state.py"}
    one_letter = "json.dumps(m[0])"
    for path in (ROOT / "src").rglob("*.py"):
        for call in re.findall(r"json\.dumps?\((?:[^()]|\([^()]*\))*\)", path.read_text()):
            known = path.name in of_text or call == one_letter
            assert "allow_nan=False" in call or known, f"{path.name}: {call}"


# --- the terminal -----------------------------------------------------------------------------


@every_name
def test_what_a_terminal_is_sent_is_text(name: str) -> None:
    said = visible(name)
    assert said.isprintable()
    assert visible(said) == said
    if name.isprintable():
        assert said == name


#: What can stand in the name of a file.
IN_FILES = [
    "\x1b[31mred", "=1+1", "\x9b2J", "<b>", "a\u202eb", "\x7f", "bad\udcffbytes", "x" * 150,
    "👗a\u0301\u0301", "{}%%d^J",
]  # fmt: skip

SVG = ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg"
RECIPE = ROOT / "recipes" / "half-raglan.yaml"


@pytest.fixture
def run(capfd, monkeypatch, tmp_path: Path):
    """The command line within this process: (status, what was printed, what was said)."""
    monkeypatch.chdir(tmp_path)
    before = {name: signal.getsignal(name) for name in signal.valid_signals() - {9, 19, 32, 33}}

    def of(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["sleevewright", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        for number, handler in before.items():
            if signal.getsignal(number) is not handler:
                signal.signal(number, handler)
        return int(ended.value.code or 0), *capfd.readouterr()

    return of


def is_text(stream: str) -> bool:
    return all(char.isprintable() or char == "\n" for char in stream)


@pytest.mark.parametrize("name", IN_FILES[::2], ids=ascii)
def test_commands_say_hostile_names_as_text(name: str, run, tmp_path: Path) -> None:
    """The names of a file and of a setting, in results, tables, messages and JSON."""
    block = f"{name}.svg"
    Path(block).write_bytes(SVG.read_bytes())
    Path(f"{name}.yaml").write_text("name: r\nsteps:\n  - raglann\n")
    wanted = [
        (0, "inspect", block),
        (0, "inspect", block, "--json"),
        (0, "convert", block, "--recipe", RECIPE, "--formats", "svg"),
        (0, "convert", block, "--recipe", RECIPE, "--formats", "svg", "--json"),
        (0, "check", next(iter(tmp_path.glob("out/**/50.svg")), "made by the one before")),
        (0, "compare", block, block, "--json"),
        (2, "convert", block, "--recipe", f"{name}.yaml"),
        (2, "convert", block, "--recipe", RECIPE, "--set", f"{name}=1 mm"),
        (3, "inspect", f"none{name}.svg"),
        (3, "verify", f"none{name}"),
        (2, "operations", name),
        (2, name),
    ]
    for status, *words in wanted:
        if words[0] == "check":
            words[1] = next(tmp_path.glob("out/**/50.svg"))
        got, printed, said = run(*words)
        assert got == status, (words, said)
        assert is_text(printed), (words, printed)
        assert is_text(said), (words, said)
        assert said.count("\n") <= 1
        if "--json" in words:
            json.loads(printed, parse_constant=pytest.fail)


def test_a_batch_says_hostile_names_as_text(run, tmp_path: Path) -> None:
    Path("men\x1b[1m\udcff.svg").write_bytes(SVG.read_bytes())
    blocks = ["  men: {files: ['men*.svg']}"]
    for i, name in enumerate(IN_FILES):
        (tmp_path / str(i)).mkdir()
        (tmp_path / str(i) / f"{name}.svg").write_text("<svg>")
        blocks.append(f"  b{i}: {{files: ['{i}/*.svg']}}")
    library = tmp_path / "library.yaml"
    library.write_text(
        "blocks:\n" + "\n".join(blocks) + f"\nrecipes: [{RECIPE}]\n"
        "outputs: {folder: out, formats: [svg]}\n"
    )
    for words in (("batch", library), ("batch", library, "--json")):
        status, printed, said = run(*words)
        assert status == 5, said
        assert is_text(printed), printed
        assert is_text(said), said
        assert printed.count("not an SVG file") == len(IN_FILES)
    events = json.loads(printed, parse_constant=pytest.fail)
    assert sum(event["event"] == "failed" for event in events) == len(IN_FILES)
    status, printed, said = run("verify", "out", "--json")
    assert (status, json.loads(printed)["variants"]) == (0, 1), said
