"""Studio tables: numbers from closed forms, files read back by other people's readers.

Closed forms belong to the small pattern of `conftest.py`: its straight lines are hypotenuses of the corners
written there, its areas those of shapely's buffer.
"""

import csv
import io
import math
import re
import time
import zipfile
from dataclasses import FrozenInstanceError, replace

import numpy as np
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from shapely import Polygon

from samples_of_ours import ROOT
from sleevewright import Recipe, convert, read
from sleevewright.finishing.unfolding import unfolded
from sleevewright.pattern import Role
from sleevewright.writing.tables import (
    Table,
    cutting_list,
    measurement_chart,
    spec_sheet,
    to_csv,
    to_markdown,
    to_xlsx,
)
from sleevewright.writing.tables.hands import by_hand
from sleevewright.writing.tables.xlsx import sheet_names

HOSTILE = (
    '=HYPERLINK("http://example.org","pay")',
    "+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\tplain",
    "\rplain",
    " =1+1",
    "\uff1d1",
    "two\nlines",
    "two\r\nlines",
    'a "quoted", name',
    "a|b",
    "<b>bold</b>",
    "*x* _y_ `z` [l](u) \\",
    "&amp;",
    "007",
    "1e5",
    "http://example.org",
    "{=1}",
)


@pytest.fixture(scope="module")
def raglans():
    recipe = Recipe.load(ROOT / "recipes" / "classic-raglan.yaml")
    blocks = read(ROOT / "sample_patterns" / "women_overblock.dxf")[:2]
    return [convert(block, recipe) for block in blocks]


def rows_of(table, *keys):
    """Rows by what stands in their first column."""
    found = {row[0]: row[1:] for row in table.rows}
    return [found[key] for key in keys] if keys else found


# --- measurement chart ------------------------------------------------------------------------


def test_a_chart_has_the_sizes_and_the_steps_between_neighbours(result):
    sizes = [
        replace(result, size=size, measurements=(("wrist", wrist), ("cap_ease", ease)))
        for size, wrist, ease in (("38", 240.16, 7.0), ("40", 244.31, 7.0), ("42", 248.2, 6.96))
    ]
    chart = measurement_chart(sizes)
    assert chart.columns == ("Measurement, mm", "38", "40", "42", "38 to 40", "40 to 42")
    # By hand: 240.16, 244.31 and 248.2 to a tenth, and the differences of these.
    assert rows_of(chart, "Wrist, round") == [(240.2, 244.3, 248.2, 4.1, 3.9)]
    assert rows_of(chart, "Cap ease") == [(7.0, 7.0, 7.0, 0.0, 0.0)]


def test_a_chart_adds_up_and_has_every_length_of_the_pattern(raglans):
    chart = measurement_chart(raglans)
    lengths = [name for name, _ in raglans[0].measurements if "." not in name]
    assert len(lengths) == len(chart.rows) == len(rows_of(chart)) > 20
    for row in chart.rows:
        assert row[1] + row[3] == pytest.approx(row[2], abs=1e-9)
    wrist = dict(raglans[1].measurements)["wrist"]
    assert rows_of(chart, "Wrist, round")[0][1] == pytest.approx(wrist, abs=0.0501)


def test_a_raglan_says_that_what_is_left_of_the_armhole_is_its_lower_part(raglans, result):
    assert {"Lower armhole, front", "Lower sleeve cap, back"} <= rows_of(
        measurement_chart(raglans)
    ).keys()
    assert "Armhole, front" in rows_of(measurement_chart([result]))


def test_a_size_without_a_line_has_an_empty_cell_and_no_step(result):
    other = replace(result, size="40", measurements=())
    chart = measurement_chart([result, other])
    assert rows_of(chart, "Wrist, round") == [(220.0, None, None)]


def test_left_and_right_have_rows_of_their_own(result):
    odd = (("left.wrist", 250.0), ("right.wrist", 240.0), ("left.raglan.wedge_deg", 40.0))
    chart = measurement_chart([replace(result, measurements=odd)])
    assert [row[:2] for row in chart.rows] == [
        ("Wrist, round, right", 240.0),
        ("Wrist, round, left", 250.0),
    ]


@pytest.mark.parametrize("make", [measurement_chart, spec_sheet])
def test_what_is_not_one_variant_in_several_sizes_is_refused(make, result):
    for wrong in ([], [result, result], [result, replace(result, size="40", recipe="other")]):
        with pytest.raises(ValueError, match=r"no results|twice|several variants"):
            make(wrong)


# --- spec sheet -------------------------------------------------------------------------------


def bezier_length(*controls):
    """Chord sum of 20000 points of the Bernstein form: right to a micrometre."""
    t = np.linspace(0, 1, 20001)[:, None]
    a, b, c, d = (np.array(p, float) for p in controls)
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def test_points_of_measure_against_closed_forms(result):
    sheet = rows_of(spec_sheet([result]))
    neck = bezier_length((0, 380), (-40, 380), (-65, 410), (-70, 460)) + bezier_length(
        (372, 455), (355, 442), (330, 440), (300, 440)
    )
    expected = {
        "Chest, round": 2 * (245.0 + 245.0),  # underarm points 245 from either centre
        "Hem, round": 2 * (240.0 + 240.0),
        "Neckline, round": 2 * neck,
        "Centre front length": 380.0,
        "Centre back length": 440.0,
        "Shoulder seam": math.hypot(120.0, 40.0),
        "Side seam": math.hypot(5.0, 230.0),
        "Underarm seam": math.hypot(50.0, 430.0),
        "Biceps, round": 320.0,
        "Wrist, round": 220.0,
    }
    got = {name: cells[1] for name, cells in sheet.items() if name in expected}
    assert got == pytest.approx(expected, abs=0.051)


def test_half_pieces_and_unfolded_ones_measure_the_same(result, whole_result):
    """The whole pattern has a front alone; what the front gives to a round is its own double."""
    half = replace(
        result, pattern=replace(result.pattern, pieces=result.pattern.pieces[:1], seams=())
    )
    for name in ("Hem, round", "Neckline, round", "Armhole, round"):
        (a,), (b,) = (
            [row[2] for row in spec_sheet([r]).rows if row[0] == name] for r in (half, whole_result)
        )
        assert a == b, name


def test_each_half_of_an_unfolded_piece_is_on_its_own_side(result):
    """The front's armhole lies once on the right and once on the left; so does half of its hem."""
    front = result.pattern["front"]
    pieces = (replace(unfolded(front), quantity=1),)
    whole = replace(result, pattern=replace(result.pattern, pieces=pieces, seams=()))
    for role in (Role.ARMHOLE, Role.HEM, Role.NECKLINE):
        once = pytest.approx(front.length(role), abs=1e-6)
        assert by_hand(whole, role) == {"right": once, "left": once}


#: Names of points -> tolerance each way, mm: common practice for woven garments, written by hand.
TOLERANCES = {
    "Neckline, round": 3.0,
    "Wrist, round": 3.0,
    "Side seam": 5.0,
    "Hem, round": 10.0,
    "Chest, round": 10.0,
    "Underarm seam": 5.0,
}


def test_tolerances_are_there_and_say_what_they_rest_on(result):
    sheet = spec_sheet([result])
    assert sheet.columns[-2:] == ("Tolerance, mm each way", "Tolerance from")
    assert {row[-1] for row in sheet.rows} == {"common practice"}
    found = {row[0]: row[-2] for row in sheet.rows}
    assert {name: found[name] for name in TOLERANCES} == TOLERANCES


def test_one_tolerance_serves_all_sizes_the_stricter(result):
    """499 mm and 501 mm lie on either side of the step at 500 mm."""
    long, short = (
        replace(result, size=s, measurements=(("side_seam_front", v),))
        for s, v in (("44", 501.0), ("42", 499.0))
    )
    (row,) = rows_of(spec_sheet([short, long]), "Side seam")
    assert row[-2] == 5.0


def test_a_raglan_keeps_hem_neckline_and_chest_of_its_block(raglans):
    """What a raglan does not touch: the block's numbers, from its own edges and corners.

    The bust dart goes from the armhole into the side seam; sewn, it leaves the chest as it was.
    """
    sheet = rows_of(spec_sheet(raglans))
    for i, result in enumerate(raglans):
        front, back = result.before["front"], result.before["back"]
        hem = 2 * (front.length("hem") + back.length("hem"))
        neck = 2 * (front.length("neckline") + back.length("neckline"))
        centre = [p["centre"].curve.start[0] for p in (front, back)]
        # The upper end of the side seam is the underarm point.
        seams = [p["side_seam"].curve for p in (front, back)]
        tops = [max((c.start, c.end), key=lambda p: p[1]) for c in seams]
        chest = 2 * sum(abs(t[0] - c) for t, c in zip(tops, centre, strict=True))
        assert sheet["Hem, round"][1 + i] == pytest.approx(hem, abs=0.06)
        assert sheet["Neckline, round"][1 + i] == pytest.approx(neck, abs=0.5)
        assert sheet["Chest, round"][1 + i] == pytest.approx(chest, abs=0.06)


def test_left_and_right_sleeves_that_differ_are_told_apart():
    (block,) = read(ROOT / "sample_patterns" / "svg" / "women_overblock_40.svg")
    odd = convert(block, Recipe.load(ROOT / "recipes" / "one-raglan.yaml"))
    whole = convert(block, Recipe.load(ROOT / "recipes" / "classic-raglan.yaml"))
    sheet, plain = rows_of(spec_sheet([odd])), rows_of(spec_sheet([whole]))
    assert "Shoulder seam, right" in sheet
    assert "Overarm seam, left" in sheet
    assert "Shoulder seam" not in sheet
    for name in ("Hem, round", "Chest, round", "Wrist, round"):
        assert sheet[name][1] == pytest.approx(plain[name][1], abs=0.1), name


def test_a_cuff_is_measured_in_place_of_the_wrist_that_is_gathered_into_it():
    (block,) = read(ROOT / "sample_patterns" / "svg" / "women_overblock_40.svg")
    result = convert(block, Recipe.load(ROOT / "recipes" / "bishop-cuffed.yaml"))
    sheet = rows_of(spec_sheet([result]))
    # The cuff is a rectangle: its box says what its seam and its folded depth are.
    left, bottom, right, top = result.pattern["cuff"].bounds
    wrap = result.pattern["cuff"].length("free_edge") - (right - left)
    assert "Wrist, round" not in sheet
    assert sheet["Cuff, round"][1] == pytest.approx(right - left - wrap, abs=0.051)
    assert sheet["Cuff depth"][1] == pytest.approx((top - bottom) / 2, abs=0.051)


# --- cutting list -----------------------------------------------------------------------------


def ring(piece):
    return np.concatenate([part.curve.flattened(0.01)[:-1] for part in piece.finish.cut_line])


def test_a_cutting_list_says_how_often_out_of_what_and_how_much(result):
    table = cutting_list(result)
    front, back, sleeve = rows_of(table, "FRONT", "BACK", "SLEEVE")
    assert front[:3] == ("CUT 1 ON FOLD", 1, "shell")
    assert back[:3] == ("CUT 1 PAIR", 2, "shell")
    assert sleeve[:3] == ("CUT 1 PAIR", 2, "")
    for row, piece in zip((front, back, sleeve), result.pattern.pieces, strict=True):
        area = Polygon(ring(piece)).area * (2 if piece.fold else 1) / 100
        assert row[3] == pytest.approx(area, abs=0.051)
        assert row[4] == pytest.approx(area * piece.quantity, abs=0.051)
    assert front[-1] == "parallel to the fold"
    assert sleeve[-1] == "square to the wrist"


def test_the_words_are_those_that_stand_on_the_pieces(raglans):
    seen = 0
    for name in ("classic-raglan", "one-raglan", "kimono-diamond-gusset", "bishop-cuffed"):
        recipe = Recipe.load(ROOT / "recipes" / f"{name}.yaml")
        (block,) = read(ROOT / "sample_patterns" / "svg" / "women_overblock_40.svg")
        result = convert(block, recipe)
        for row, piece in zip(cutting_list(result).rows, result.pattern.pieces, strict=True):
            texts = {line.text for line in piece.finish.lettering}
            cut = [text for text in texts if text.startswith("CUT ") and text[4].isdigit()]
            if cut:
                material = f" {piece.material.upper()}" if piece.material else ""
                assert [row[1] + material] == cut
                assert row[0] in texts
                seen += 1
    assert seen > 10


def test_allowances_by_role(raglans):
    """The recipe states them: 30 at hems, 25 at wrists, 6 at necklines, 10 elsewhere, none on folds."""
    front, sleeve = rows_of(cutting_list(raglans[0]), "FRONT", "SLEEVE FRONT")
    assert front[5] == "hem 30; armhole, raglan seam, side seam 10; neckline 6; fold 0"
    assert sleeve[5].startswith("wrist 25; cap, ")
    assert sleeve[5].endswith("; neckline 6")
    widths = dict(raglans[0].pattern["front"].finish.allowances)
    assert (widths["hem"], widths["neckline"], widths["centre"]) == (30.0, 6.0, 0.0)


def test_a_role_of_two_widths_names_its_edges(result):
    sleeve = result.pattern["sleeve"]
    widths = tuple((n, 12.5 if n == "cap.back" else w) for n, w in sleeve.finish.allowances)
    piece = replace(sleeve, finish=replace(sleeve.finish, allowances=widths))
    table = cutting_list(replace(result, pattern=result.pattern.with_pieces([piece])))
    assert rows_of(table, "SLEEVE")[0][5] == "cap back 12.5; cap front, underarm seam, wrist 10"


def test_an_unfinished_piece_has_no_cutting_list(result):
    bare = replace(result.pattern["sleeve"], finish=None)
    with pytest.raises(ValueError, match="not finished"):
        cutting_list(replace(result, pattern=result.pattern.with_pieces([bare])))


# --- writers ----------------------------------------------------------------------------------


def hostile_table():
    rows = tuple((text, 2, -3.5, None) for text in HOSTILE)
    return Table("=1+1: a & b", ("name", *HOSTILE[:3]), rows)


def test_a_table_is_a_value_and_refuses_what_none_can_write():
    table = hostile_table()
    with pytest.raises(FrozenInstanceError):
        table.title = "x"
    with pytest.raises(ValueError, match="heads"):
        Table("t", ("a", "b"), ((1,),))
    with pytest.raises(ValueError, match="not finite"):
        Table("t", ("a",), ((math.inf,),))


def read_csv(data):
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def test_csv_reads_back_with_every_formula_made_text():
    head, *rows = read_csv(to_csv(hostile_table()))
    assert head == ["name", *("'" + text for text in HOSTILE[:3])]
    for row, text in zip(rows, HOSTILE, strict=True):
        dangerous = text.lstrip()[:1] in "=+-@\uff1d" or text[0] in "\t\r"
        assert row == [("'" if dangerous else "") + text, "2", "-3.5", ""]


def test_csv_is_of_rfc_4180():
    data = to_csv(Table("t", ("a", "b"), (("x,y", 'say "so"'), ("m\nn", 1.0))))
    assert data == b'a,b\r\n"x,y","say ""so"""\r\n"m\nn",1.0\r\n'


def test_the_mark_comes_only_before_letters_beyond_ascii():
    assert to_csv(Table("t", ("a",), (("x",),))).startswith(b"a")
    data = to_csv(Table("t", ("a",), (("\u00c4rmel",),)))
    assert data == b"\xef\xbb\xbfa\r\n\xc3\x84rmel\r\n"
    assert to_csv(Table("t", ("a",), (("\udcff",),)))  # a file name that is not UTF-8


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=1, max_size=4))
def test_any_text_survives_csv_and_none_is_a_formula(texts):
    (row,) = read_csv(to_csv(Table("t", tuple("abcd"[: len(texts)]), (tuple(texts),))))[1:]
    for cell, text in zip(row, texts, strict=True):
        assert cell in (text, "'" + text)
        assert not re.match(r"[\s]*[=+\-@]", cell)


def test_csv_numbers_are_numbers(raglans):
    _, *rows = read_csv(to_csv(measurement_chart(raglans)))
    for row in rows:
        assert all(re.fullmatch(r"-?\d+\.\d", cell) for cell in row[1:]), row


def cells_of(markdown):
    """Cells as text, by a Markdown parser that is not ours."""
    tokens = MarkdownIt("commonmark").enable("table").parse(markdown)
    rows, row, inside = [], [], False
    for token in tokens:
        if token.type in ("th_open", "td_open"):
            inside = True
        elif token.type == "inline" and inside:
            assert all(child.type in ("text", "text_special") for child in token.children), token
            row.append("".join(child.content for child in token.children))
            inside = False
        elif token.type == "tr_close":
            rows.append(row)
            row = []
    return rows


def test_markdown_is_a_table_with_no_markup_in_it():
    head, *rows = cells_of(to_markdown(hostile_table()))
    assert head == ["name", *HOSTILE[:3]]
    for row, text in zip(rows, HOSTILE, strict=True):
        assert row == [" ".join(text.split()), "2", "-3.5", ""]


def test_markdown_of_a_chart_has_its_numbers_to_the_right(raglans):
    text = to_markdown(measurement_chart(raglans))
    assert text.startswith("## Measurement chart: women")
    assert "| :--- | ---: | ---: | ---: |" in text
    assert len(cells_of(text)) == 1 + len(measurement_chart(raglans).rows)


def book_of(data):
    return openpyxl.load_workbook(io.BytesIO(data))


def test_a_workbook_opens_elsewhere_with_text_as_text_and_numbers_as_numbers():
    sheet = book_of(to_xlsx([hostile_table()])).active
    for j, text in enumerate(("name", *HOSTILE[:3]), start=1):
        assert (sheet.cell(1, j).value, sheet.cell(1, j).data_type) == (text, "s")
    for i, text in enumerate(HOSTILE, start=2):
        first, count, measure, empty = (sheet.cell(i, j) for j in (1, 2, 3, 4))
        assert first.data_type == "s"
        # XML readers take CR LF and CR for LF, unless it is escaped: either is faithful.
        assert first.value.replace("_x000D_", "\r").replace("\r\n", "\n").replace("\r", "\n") == (
            text.replace("\r\n", "\n").replace("\r", "\n")
        )
        assert first.hyperlink is None
        assert (count.value, count.number_format, count.data_type) == (2, "0", "n")
        assert (measure.value, measure.number_format) == (-3.5, "0.0")
        assert empty.value is None


def test_a_workbook_has_a_sheet_a_table_its_head_frozen(raglans):
    tables = [measurement_chart(raglans), spec_sheet(raglans), *map(cutting_list, raglans)]
    book = book_of(to_xlsx(tables))
    names = ["Measurement chart", "Spec sheet", "Cutting list", "Cutting list 2"]
    assert book.sheetnames == names
    for name, table in zip(names, tables, strict=True):
        sheet = book[name]
        assert sheet.freeze_panes == "B2"
        assert [tuple(c.value for c in row) for row in sheet.iter_rows()] == [
            table.columns,
            *(tuple(cell if cell != "" else None for cell in row) for row in table.rows),
        ]
        widest = max(len(str(row[0])) for row in table.rows)
        assert widest <= sheet.column_dimensions["A"].width <= 62


def test_no_part_of_a_workbook_has_a_formula_or_a_link():
    with zipfile.ZipFile(io.BytesIO(to_xlsx([hostile_table()]))) as parts:
        sheet = parts.read("xl/worksheets/sheet1.xml").decode()
        assert "<f>" not in sheet
        assert "hyperlink" not in sheet
        assert not [name for name in parts.namelist() if "external" in name.lower()]


def test_a_workbook_is_the_same_bytes_whenever_and_wherever_it_is_made(raglans, monkeypatch):
    tables = [measurement_chart(raglans)]
    first = to_xlsx(tables)
    monkeypatch.setenv("TZ", "Pacific/Kiritimati")
    time.tzset()
    try:
        now = time.time()
        monkeypatch.setattr(time, "time", lambda: now + 86_400_000)
        again = to_xlsx(tables)
    finally:
        monkeypatch.undo()
        time.tzset()
    assert again == first
    with zipfile.ZipFile(io.BytesIO(first)) as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        dates = set(re.findall(rb"\d{4}-\d\d-\d\dT[\d:]+Z", parts.read("docProps/core.xml")))
    assert dates == {b"2000-01-01T00:00:00Z"}


@pytest.mark.parametrize(
    "titles",
    [
        ("a" * 40, "A" * 40, "a" * 40),
        ("History", "", "'", "a/b\\c?d*e[f]", "=1+1"),
        ("\u00c4rmel " * 9, "x'" * 20),
        ("a" * 30 + "' b", "\udcff"),
    ],
)
def test_every_title_gives_a_name_that_a_sheet_may_have(titles):
    """The rules of the format: 1 to 31 letters, none of []:*?/\\, no apostrophe at an end, no two alike."""
    tables = [Table(title, ("a",), ((1,),)) for title in titles]
    names = sheet_names(tables)
    assert all(1 <= len(n) <= 31 and not re.search(r"[\[\]:*?/\\]", n) for n in names)
    assert not any(n[0] == "'" or n[-1] == "'" for n in names)
    assert len({n.lower() for n in names} - {"history"}) == len(titles)
    assert book_of(to_xlsx(tables)).sheetnames == names


def test_text_too_long_for_a_cell_is_cut_and_says_so():
    """The format's limit is 32,767 letters."""
    sheet = book_of(to_xlsx([Table("t", ("a",), (("x" * 40_000,),))])).active
    assert sheet["A2"].value == "x" * 32_764 + "..."


def test_no_workbook_of_nothing():
    with pytest.raises(ValueError, match="no tables"):
        to_xlsx([])
