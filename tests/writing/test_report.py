"""What a report says, as the standard library's HTML parser and arithmetic of our own see it."""

import base64
import hashlib
import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from shapely import Polygon

from samples_of_ours import by_size, from_d6673, recipe
from sleevewright import convert
from sleevewright.findings import Finding, SeamRow, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import InternalLine, Lettering, Pattern, Seam
from sleevewright.writing.report import write_report
from sleevewright.writing.report.laying import places

MINUS = "\N{MINUS SIGN}"
VOID = {"meta", "input", "br", "img", "link", "hr"}
RECIPES = (
    "classic-raglan", "kimono-diamond-gusset", "tiered-sleeve", "one-raglan", "pleated-sleeve-head",
    "petal-sleeve",
)  # fmt: skip


class Element:
    def __init__(self, tag, attrs):
        self.tag, self.attrs, self.children = tag, dict(attrs), []

    def all(self, tag=None, **wanted):
        """Every element below of this tag with these attributes (class_: one of its classes)."""
        for child in self.children:
            if isinstance(child, str):
                continue
            classes = (child.attrs.get("class") or "").split()
            name = wanted.get("class_")
            rest = {k: v for k, v in wanted.items() if k != "class_"}
            if (
                tag in (None, child.tag)
                and (name is None or name in classes)
                and all(child.attrs.get(k) == v for k, v in rest.items())
            ):
                yield child
            yield from child.all(tag, **wanted)

    def one(self, tag=None, **wanted):
        (found,) = self.all(tag, **wanted)
        return found

    @property
    def text(self):
        return "".join(c if isinstance(c, str) else c.text for c in self.children)

    @property
    def words(self):
        return " ".join(self.text.split())


class Tree(HTMLParser):
    """Elements of a page; complains of what is not closed or closed out of order."""

    def __init__(self, data):
        super().__init__()
        self.root = Element("", ())
        self.open = [self.root]
        self.feed(data.decode("utf-8"))
        self.close()
        assert self.open == [self.root], [e.tag for e in self.open]

    def handle_starttag(self, tag, attrs):
        assert len(dict(attrs)) == len(attrs), f"an attribute twice: {attrs}"
        element = Element(tag, attrs)
        self.open[-1].children.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag, attrs):
        self.open[-1].children.append(Element(tag, attrs))

    def handle_endtag(self, tag):
        assert self.open.pop().tag == tag

    def handle_data(self, data):
        self.open[-1].children.append(data)


def parsed(result):
    return Tree(write_report(result)).root


def table_row(section, head):
    for row in section.all("tr"):
        cells = [c.words for c in row.children if isinstance(c, Element)]
        if cells and cells[0] == head:
            return cells
    raise AssertionError(f"no row {head!r}")


def cubic_length(*points):
    """Length of a cubic as the sum of 40 000 chords: right to far less than a hundredth of a mm."""
    p = np.array(points, float)
    t = np.linspace(0, 1, 40_001)[:, None]
    at = (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    return float(np.hypot(*np.diff(at, axis=0).T).sum())


@pytest.fixture(scope="module")
def root(result):
    return parsed(result)


@pytest.fixture(scope="module")
def block(result):
    """The same pieces as they are before finishing, but for the hem of the front: 20 mm lower."""
    front, *rest = (replace(piece, finish=None) for piece in result.pattern.pieces)
    longer = front.with_edges(
        [
            replace(front["hem"], curve=Curve.line((-240, -20), (0, -20))),
            replace(front["centre"], curve=Curve.line((0, -20), (0, 380))),
            replace(front["side_seam"], curve=Curve.line((-245, 230), (-240, -20))),
        ]
    )
    return Pattern(name="overblock", size="38", pieces=(longer, *rest))


# --- the page ---------------------------------------------------------------------------------


def test_what_a_cutter_asks_comes_in_order(root):
    asked = [s.attrs["id"] for s in root.one("main").children if isinstance(s, Element)]
    assert asked == [
        "overlay", "walk", "findings", "measurements", "movement", "settings", "cutting",
    ]  # fmt: skip


def test_it_says_what_to_do_before_cutting(root):
    (foot,) = root.all("footer")
    assert "Check the test square of a print before you cut cloth" in foot.text
    assert "drawcords and loose parts: local safety rules come first" in foot.text


def test_title_names_block_recipe_size_and_settings(root):
    assert root.one("head").one("title").text == "Classic, overblock, size 38: 0 of 1 checks held"
    head = root.one("dl", class_="block").words
    for said in ("overblock", "classic", "38", "3 pieces", "neck drop 30 mm"):
        assert said in head
    assert root.one("h1").text == "Classic"


def test_the_verdict_counts_and_tells_what_fell_short_first(result):
    found = [
        Finding("outline", Status.HELD, "front", "front: closed"),
        Finding("junction", Status.NOTED, "dart", "a noted one"),
        Finding("seam-length", Status.FAILED, "side", "a failed one"),
        Finding("allowance", Status.NOT_COMPUTED, "back", "an unknown one"),
        Finding("outline", Status.HELD, "back", "back: closed"),
    ]
    root = parsed(replace(result, findings=tuple(found)))
    verdict = root.one("section", class_="verdict")
    assert root.one("h2", id="verdict").text == "2 of 5 checks held"
    assert "1 fell short, 1 could not be computed, 1 is worth a look" in verdict.words
    told = [li.words for li in verdict.all("li")]
    assert told == [
        "not computed an unknown one", "fell short a failed one", "worth a look a noted one",
    ]  # fmt: skip
    assert "fell-short" in verdict.attrs["class"]
    # the parts of the bar are in the ratio of the counts: 2 bad, 1 noted, 2 held of 5
    parts = [(float(r.attrs["x"]), float(r.attrs["width"])) for r in verdict.all("rect")]
    assert parts == [(0, 40), (40, 20), (60, 40)]
    details = root.one("section", id="findings").one("details")
    assert [li.text for li in details.all("li")] == ["front: closed", "back: closed"]


def test_nothing_checked_is_not_a_pass(result):
    verdict = parsed(replace(result, findings=())).one("section", class_="verdict")
    assert "Nothing was checked" in verdict.text
    assert "held" not in verdict.attrs["class"]
    assert "held" not in verdict.text


def test_more_findings_than_the_head_holds_are_counted(result):
    found = tuple(Finding("outline", Status.FAILED, "x", f"bad {i}") for i in range(9))
    root = parsed(replace(result, findings=found))
    assert len(list(root.one("section", class_="verdict").all("li"))) == 4
    assert "and 5 more" in root.one("section", class_="verdict").text
    assert len(list(root.one("ul", class_="findings").all("li"))) == 9


def test_not_finished_is_refused(result, block):
    with pytest.raises(ValueError, match="not finished"):
        write_report(replace(result, pattern=block))


# --- seam walk --------------------------------------------------------------------------------


def test_bars_are_as_long_as_the_edges(root):
    # front side seam from (-245, 230) to (-240, 0), back from (540, 0) to (545, 225)
    front, back = math.hypot(5, 230), math.hypot(5, 225)
    svg = root.one("svg", class_="bars")
    widths = [float(r.attrs["width"]) for r in svg.all("rect", class_="part")]
    assert widths == pytest.approx([1000.0, 1000.0 * back / front], abs=0.01)
    beyond = svg.one("rect", class_="beyond")
    assert float(beyond.attrs["x"]) == pytest.approx(1000.0 * back / front, abs=0.01)
    told = [p.one("b").text for p in root.one("section", id="walk").all("p", class_="side")]
    assert told == [f"{front:.2f}", f"{back:.2f}"]


def test_a_seam_that_does_not_meet_says_by_how_much(root):
    seam = root.one("li", class_="seam")
    assert "failed" in seam.attrs["class"]
    assert "5.00 mm too long" in seam.words  # the row's difference, 4.99878
    assert table_row(root.one("section", id="walk"), "side")[-4:] == [
        "0", "+5.00", "0.50", "fell short",
    ]  # fmt: skip


def test_notches_stand_at_their_stations(result):
    """Front armhole against cap, both walked from the shoulder."""
    armhole = cubic_length((-190, 420), (-182, 380), (-180, 340), (-185, 310)) + cubic_length(
        (-185, 310), (-190, 280), (-210, 240), (-245, 230)
    )
    cap = cubic_length((160, 430), (90, 440), (80, 560), (0, 560))
    row = SeamRow(
        name="front armhole",
        edges=(("sleeve.cap.front",), ("front.armhole",)),
        lengths=(cap, armhole),
        wanted_ease=cap - armhole,
        difference=0.0,
        allowed=0.5,
        status=Status.HELD,
    )
    root = parsed(replace(result, seam_rows=(row,)))
    longest = max(cap, armhole)
    # the armhole's notch is 130 mm from the shoulder tip, the cap's 100 mm from the underarm
    wanted = [1000 * (cap - 100) / longest, 1000 * 130 / longest]
    data = root.one("path", class_="tie").attrs["d"]
    assert [float(x) for x in re.findall(r"[ML]([\d.]+) ", data)] == pytest.approx(wanted, abs=0.01)
    seam = root.one("li", class_="seam")
    assert f"front pitch (single) at {cap - 100:.1f} and 130.0 mm" in seam.words
    side = "first" if cap > armhole else "second"
    assert f"{abs(cap - armhole):.1f} mm eased in on the {side} side" in seam.words
    assert "walked from shoulder to side seam" in seam.words


@pytest.mark.parametrize(
    ("fullness", "ease", "said"),
    [
        ({"gather": 1.5}, 50.0, "gathered 1.50 : 1, 50.0 mm drawn in"),
        ({"pleated": 40.0, "ease": 11.0}, 51.0, "40.0 mm folded away in pleats, 11.0 mm eased in"),
        ({"ease": -2.5}, -2.5, "2.5 mm eased in on the second side"),
        ({}, 0.0, "edge to edge, no ease"),
    ],
)
def test_fullness_is_told(result, fullness, ease, said):
    side = result.pattern.seam("side")
    seam = Seam(name="side", first=side.first, second=side.second, **fullness)
    row = replace(result.seam_rows[0], wanted_ease=ease, difference=0.0, status=Status.HELD)
    pattern = replace(result.pattern, seams=(seam,))
    root = parsed(replace(result, pattern=pattern, seam_rows=(row,)))
    assert said in root.one("li", class_="seam").words


def test_the_seam_farthest_off_is_named(result):
    row = replace(result.seam_rows[0], status=Status.HELD)
    rows = [replace(row, name=n, difference=d) for n, d in (("a", 0.1), ("b", -0.3), ("c", 0.2))]
    verdict = parsed(replace(result, seam_rows=tuple(rows))).one("section", class_="verdict")
    assert "The seam farthest off is b: 0.30 mm, 0.50 allowed." in verdict.text


def test_a_seam_that_could_not_be_measured(result):
    nan = math.nan
    row = replace(
        result.seam_rows[0], lengths=(nan, 1.0), difference=nan, status=Status.NOT_COMPUTED
    )
    root = parsed(replace(result, seam_rows=(row,)))
    assert not list(root.all("svg", class_="bars"))
    assert table_row(root.one("section", id="walk"), "side")[-1] == "not computed"
    assert "1 seam could not be measured" in root.one("section", class_="verdict").text
    assert "nan" not in root.one("main").words.lower()


# --- pictures ---------------------------------------------------------------------------------


def numbers(path):
    return np.array([float(n) for n in re.findall(r"-?\d+\.?\d*", path.attrs["d"])]).reshape(-1, 2)


@pytest.mark.parametrize(
    "moved",
    [
        Affine.identity(),
        Affine.translation((1000.0, -35.0)),
        Affine.reflection((0.0, 0.0), (0.0, 1.0)),
        Affine.translation((70.0, 9.0)) @ Affine.reflection((0.0, 0.0), (0.0, 1.0)),
    ],
)
def test_the_block_is_laid_on_the_result_wherever_it_lay(result, block, moved):
    """A block that is only moved or mirrored lies under the result again, line on line."""
    pieces = tuple(p.transformed(moved) for p in block.pieces)
    root = parsed(replace(result, before=replace(block, pieces=pieces)))
    figures = list(root.one("div", id="places").all("figure"))
    assert [f.one("figcaption").words for f in figures] == [
        "front on the block", "back on the block", "sleeve on the block",
    ]  # fmt: skip
    for figure in figures[1:]:
        under = numbers(figure.one("path", class_="block"))
        over = numbers(figure.one("path", class_="cloth"))
        assert under.min(axis=0) == pytest.approx(over.min(axis=0), abs=0.02)
        assert under.max(axis=0) == pytest.approx(over.max(axis=0), abs=0.02)
    # the block's front is 20 mm longer below and the same above
    under, over = (numbers(figures[0].one("path", class_=c)) for c in ("block", "cloth"))
    assert under[:, 1].min() == pytest.approx(over[:, 1].min(), abs=0.02)
    assert under[:, 1].max() == pytest.approx(over[:, 1].max() + 20, abs=0.02)


def test_a_whole_piece_has_both_halves_of_the_block_under_it(whole_result, block):
    before = replace(block, pieces=block.pieces[:1])
    figure = parsed(replace(whole_result, before=before)).one("figure")
    outlines = [numbers(p) for p in figure.all("path", class_="block")]
    cloth = numbers(figure.one("path", class_="cloth"))
    assert len(outlines) == 2
    both = np.concatenate(outlines)
    assert (both[:, 0].min(), both[:, 0].max()) == pytest.approx(
        (cloth[:, 0].min(), cloth[:, 0].max()), abs=0.02
    )


def test_pieces_without_a_fellow_lie_beside_the_others(result, block):
    pieces = (*result.pattern.pieces[:2], replace(result.pattern.pieces[2], name="gusset"))
    pattern = Pattern(name="overblock", size="38", pieces=pieces)
    before = replace(
        block,
        pieces=(
            *block.pieces[:2],
            block.pieces[2].transformed(Affine.translation((0.0, 5000.0))),
        ),
    )
    root = parsed(replace(result, pattern=pattern, before=before, seam_rows=()))
    captions = [c.words for c in root.all("figcaption")]
    assert captions[2:] == ["gusset new: the block has no such piece", "sleeve in the block only"]


def test_parts_share_a_place_unless_they_overlap():
    """A two-piece raglan sleeve parts at the overarm; the petals of a sleeve overlap at the crown."""
    found = {}
    for name in ("classic-raglan", "petal-sleeve"):
        result = convert(from_d6673("women_overblock")[0], recipe(name))
        found[name] = [([p.name for p in place.pieces], place.block) for place in places(result)]
    assert found["classic-raglan"][2:] == [(["sleeve_front", "sleeve_back"], "sleeve")]
    assert found["petal-sleeve"][2:] == [(["sleeve_front"], "sleeve"), (["sleeve_back"], "sleeve")]


def test_only_layers_with_something_in_them_have_a_switch(result, block):
    bare = replace(result.pattern.pieces[2], internal=())
    pattern = Pattern(name="overblock", size="38", pieces=(bare,))
    without = parsed(replace(result, pattern=pattern, seam_rows=()))
    assert [i.attrs["value"] for i in without.all("input")] == [
        "cut", "sew", "notch", "grain", "text",
    ]  # fmt: skip
    with_all = parsed(replace(result, before=block))
    layers = [i.attrs["value"] for i in with_all.all("input")]
    assert layers == ["block", "cut", "sew", "notch", "grain", "inner", "text"]
    for layer in layers:
        assert list(with_all.all("g", class_=f"layer-{layer}"))


# --- figures and cutting list -----------------------------------------------------------------


def test_measurements_against_the_block(result, block):
    section = parsed(replace(result, before=block)).one("section", id="measurements")
    # the front's centre runs from (0, 0) to (0, 380), the block's from (0, -20)
    assert table_row(section, "centre front") == ["centre front", "380.0", "400.0", f"{MINUS}20.0"]
    now, was = math.hypot(5, 230), math.hypot(5, 250)
    assert table_row(section, "side seam front") == [
        "side seam front", f"{now:.1f}", f"{was:.1f}", f"{MINUS}{was - now:.1f}",
    ]  # fmt: skip
    assert table_row(section, "hem back") == ["hem back", "240.0", "240.0", "0"]
    heads = [r.words for r in section.all("tr", class_="group")]
    assert heads == ["Changed", "As in the block"]


def test_what_only_one_of_them_has(result, block):
    named = (("wrist", 220.0), ("overarm_seam_front", 600.0))
    before = replace(block, pieces=block.pieces[1:])
    section = parsed(replace(result, before=before, measurements=named)).one(
        "section", id="measurements"
    )
    assert table_row(section, "overarm seam front")[1:] == ["600.0", "—", ""]
    assert table_row(section, "hem back")[1:] == ["—", "240.0", ""]
    assert table_row(section, "wrist")[1:] == ["220.0", "220.0", "0"]


def test_ease_of_movement_says_what_it_means_and_where_it_is_from(result, block):
    figures = (
        ("movement.biceps_mm", 320.0),
        ("movement.flat_angle_deg", 39.08),
        ("movement.cap_to_armhole_ratio", 0.333),
        ("biceps", 320.0),
        ("movement.armhole_girth_mm", 432.0),
    )
    root = parsed(replace(result, before=block, measurements=figures))
    told = [e.words for e in root.one("dl", class_="movement").children if isinstance(e, Element)]
    assert "320.0 mm" in told[0]
    assert "39.1°" in told[1]
    assert "0.33 : 1" in told[2]
    assert ["Worked out from the block" in words for words in told] == [False, False, False, True]
    assert "movement" not in root.one("section", id="measurements").one("table").words


def test_facts_of_operations_have_their_unit(result):
    pattern = result.pattern.with_facts([("raglan.wedge_deg", 47.84), ("raglan.lost_mm2", 12.4)])
    section = parsed(replace(result, pattern=pattern)).one("section", id="measurements")
    assert table_row(section, "raglan wedge")[1] == "47.8°"
    assert table_row(section, "raglan lost")[1] == "12 mm²"


def test_cutting_list(root, result):
    """Areas by shapely: outlines flattened finely, cut lines as the fixture made them."""
    section, cloth = root.one("section", id="cutting"), 0.0
    copies = {"front": 2, "back": 2, "sleeve": 2}  # the front is on the fold: opened out, twice
    for piece in result.pattern.pieces:
        net = Polygon(np.concatenate([e.curve.flattened(0.001) for e in piece.edges])).area
        ring = np.concatenate([c.curve.flattened(0.001) for c in piece.finish.cut_line])
        whole = Polygon(ring).area
        row = table_row(section, piece.name)
        assert row[-2:] == [f"{net / 100:.0f}", f"{whole / 100:.0f}"]
        cloth += copies[piece.name] * whole
    assert table_row(section, "front")[1:3] == ["cut 1 on fold", "shell"]
    assert table_row(section, "back")[1] == "cut 1 pair"
    assert table_row(section, "sleeve")[2] == "not named"
    assert "centre, on the fold" in table_row(section, "front")[3]
    said = re.findall(r"([\d.]+) m²", section.words)
    assert sum(map(float, said)) == pytest.approx(cloth / 1e6, abs=0.01 * len(said))


@pytest.mark.parametrize("name", RECIPES)
def test_every_piece_seam_and_finding_is_there(name):
    result = convert(by_size(from_d6673("women_overblock"))["38"], recipe(name))
    root = parsed(result)
    pieces = [p.name.replace("_", " ") for p in result.pattern.pieces]
    section = root.one("section", id="cutting")
    assert [r.one("th").words for r in section.one("tbody").all("tr")] == pieces
    assert [h.words for h in root.one("ol", class_="seams").all("h3")] == [
        f"{row.name} held" for row in result.seam_rows
    ]
    items = [li.words for li in root.one("section", id="findings").all("li")]
    for finding in result.findings:
        assert any(" ".join(finding.message.split()) in item for item in items)
    captions = " ".join(c.words for c in root.all("figcaption"))
    assert all(piece in captions for piece in pieces)


# --- for those who do not see it, and for those who mean harm ---------------------------------


def test_structure_for_assistive_technology(result, block):
    root = parsed(replace(result, before=block))
    ids = [e.attrs["id"] for e in root.all() if "id" in e.attrs]
    assert len(ids) == len(set(ids))
    for element in root.all():
        for name in (element.attrs.get("aria-labelledby") or "").split():
            assert name in ids
    assert {a.attrs["href"].removeprefix("#") for a in root.all("a")} <= set(ids)
    assert all(a.attrs["href"].startswith("#") for a in root.all("a"))
    levels = [int(e.tag[1]) for e in root.all() if re.fullmatch("h[1-6]", e.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))
    assert all("scope" in th.attrs for th in root.all("th"))
    assert all(t.one("caption").words for t in root.all("table"))
    for svg in root.all("svg"):
        if svg.attrs.get("aria-hidden") != "true":
            assert svg.attrs["role"] == "img"
            assert svg.one("title").text
            assert svg.one("desc").text
    assert root.one("html").attrs["lang"] == "en"


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onload='x' {{ 7*7 }} &",
)


def renamed(result, name):
    """The result with a name everywhere that a file or a recipe could put one."""
    front, *rest = result.pattern.pieces
    finish = replace(
        front.finish,
        lettering=(Lettering(text=name, at=(-100.0, 100.0), height=5.0), *front.finish.lettering),
    )
    line = InternalLine(curve=Curve.line((-200, 100), (-100, 100)), name=name)
    front = replace(front, name=name, material=name, finish=finish, internal=(line,))
    seam = result.pattern.seam("side")
    uses = tuple(replace(use, piece=name) for use in seam.first)
    seam = replace(seam, name=name, first=uses)
    pattern = Pattern(
        name=name, size=name, pieces=(front, *rest), seams=(seam,), facts=((f"{name}_mm", 1.0),)
    )
    row = replace(result.seam_rows[0], name=name, edges=((name,), (name,)))
    found = Finding(name, Status.FAILED, name + "!", name)
    held = Finding(f"promise.{name}", Status.HELD, name, name)
    return replace(
        result, block=name, recipe=name, size=name, settings=((name, name),), pattern=pattern,
        before=replace(pattern, pieces=tuple(replace(p, finish=None) for p in pattern.pieces)),
        seam_rows=(row,), findings=(found, held),
        measurements=((name, 1.0), (f"movement.{name}_mm", 1.0)),
    )  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_text(result, name):
    bad, good = parsed(renamed(result, name)), parsed(renamed(result, "7 plain name"))
    assert [e.tag for e in bad.all()] == [e.tag for e in good.all()]
    assert [list(e.attrs) for e in bad.all()] == [list(e.attrs) for e in good.all()]
    assert len(list(bad.all("script"))) == 1
    text = bad.text
    assert text.count(name) == good.text.count("7 plain name") > 15


@pytest.mark.parametrize("mark", ["\x00", "\x1b", "\ud800", "\u202e", "\ufffe", "\x85"])
def test_what_html_cannot_hold_is_replaced(result, mark):
    data = write_report(replace(renamed(result, f"a{mark}b"), size=f"4{mark}2"))
    text = data.decode("utf-8")
    assert mark not in text
    assert "4\ufffd2" in text


def test_the_policy_lets_nothing_else_run(result):
    """CSP level 3: the hash is of the element's text, base64 of SHA-256."""
    data = write_report(result)
    root = Tree(data).root
    policy = root.one("meta", **{"http-equiv": "Content-Security-Policy"}).attrs["content"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    for tag in ("style", "script"):
        (inner,) = re.findall(f"<{tag}>(.*?)</{tag}>".encode(), data, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inner).digest()).decode()
        assert rules[f"{tag}-src"] == f"'sha256-{digest}'"
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    # the policy comes before anything that it must hold for
    assert data.index(b"Content-Security-Policy") < data.index(b"<style")
    for element in root.all():
        assert not [a for a in element.attrs if a.startswith("on") or a in ("style", "src")]
    assert not re.search(rb"https?:|url\(|@import|//[a-z]", data)


# --- bytes ------------------------------------------------------------------------------------

_ONCE = """
import hashlib, sys
from pathlib import Path
from sleevewright import Recipe, convert, read
from sleevewright.writing.report import write_report
root = Path(sys.argv[1])
block = read(root / "sample_patterns/women_overblock.dxf")[0]
result = convert(block, Recipe.load(root / "recipes/one-raglan.yaml"))
print(hashlib.sha256(write_report(result)).hexdigest())
"""


def test_same_bytes_whatever_the_hash_seed_and_the_locale(request):
    root = str(request.config.rootpath)
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", _ONCE, root],
            env={**os.environ, "PYTHONHASHSEED": seed, "LC_ALL": locale},
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed, locale in (("1", "C"), ("2", "C.UTF-8"))
    ]
    found = [run.communicate(timeout=120)[0] for run in runs]
    assert all(run.returncode == 0 for run in runs)
    assert found[0] == found[1]
    assert re.fullmatch("[0-9a-f]{64}\n", found[0])


def test_same_bytes_twice(result, block):
    both = replace(result, before=block)
    assert write_report(both) == write_report(both)
