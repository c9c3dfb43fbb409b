"""The files of a gallery, read by other eyes: html.parser, and JSON cut out of the scripts.

Wanted values are the entries' own, or closed forms of the shapes drawn here.
"""

import json
import random
import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from urllib.parse import unquote

import numpy as np
import pytest
from shapely import LinearRing, Polygon

from samples_of_ours import from_svg, recipe
from sleevewright.geometry import Curve
from sleevewright.pipeline.compare import profile_of
from sleevewright.pipeline.convert import convert
from sleevewright.writing.gallery import STATES, Entry, Outline, outlines_from, write_gallery


def entry(size, **rest):
    key = f"block/recipe/{size}"
    return Entry(key=key, block="block", recipe="recipe", size=size, state="held", **rest)


def chunks(files):
    """Return the data of each script."""
    found = []
    for name in sorted(files):
        if name.startswith("gallery-data/"):
            text = files[name].decode("ascii")
            inside = re.fullmatch(r"\(self\.galleryData=self\.galleryData\|\|\[\]\)\.push\((.*)\);\n",
                                  text)  # fmt: skip
            found.append(json.loads(inside[1]))
    return found


def rows(files):
    return [row for chunk in chunks(files) for row in chunk["rows"]]


class Page(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.scripts, self.inside, self.texts = [], "", {}
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.inside = tag
        if tag == "script":
            self.scripts.append(dict(attrs).get("src"))
        if tag == "meta" and dict(attrs).get("http-equiv"):
            self.policy = dict(attrs)["content"]

    def handle_data(self, data):
        self.texts[self.inside] = self.texts.get(self.inside, "") + data

    def handle_endtag(self, tag):
        self.inside = ""


def test_same_entries_same_bytes_in_whatever_order():
    entries = [entry(str(n), measurements=(("biceps", n / 7),)) for n in range(700)]
    files = write_gallery(entries, "T")
    mixed = random.Random(3).sample(entries, len(entries))
    assert write_gallery(mixed, "T") == files
    assert list(files) == ["index.html", *(f"gallery-data/{n:03}.js" for n in range(3))]
    assert [row[4] for row in rows(files)] == [str(n) for n in range(700)]  # 8 before 10


def test_the_page_names_every_data_file_in_order():
    files = write_gallery((entry(str(n)) for n in range(251)), "T")
    page = Page(files["index.html"].decode())
    assert page.scripts == [None, "gallery-data/000.js", "gallery-data/001.js"]


def test_a_variant_that_changed_changes_one_data_file():
    entries = [entry(str(n)) for n in range(600)]
    changed = [*entries[:300], entry("300", problem="x"), *entries[301:]]
    old, new = write_gallery(entries, "T"), write_gallery(changed, "T")
    assert [name for name in old if old[name] != new[name]] == ["gallery-data/001.js"]


def test_the_policy_names_the_hashes_of_what_is_inside():
    page = Page(write_gallery([], "T")["index.html"].decode())
    for tag, kind in (("style", "style-src"), ("script", "script-src")):
        digest = b64encode(sha256(page.texts[tag].encode()).digest()).decode()
        assert re.search(rf"{kind}[^;]*'sha256-{re.escape(digest)}'", page.policy)
    assert "unsafe" not in page.policy
    assert "http" not in page.policy


def test_nothing_of_the_network_is_named():
    text = write_gallery([entry("1")], "T")["index.html"].decode()
    text = text.replace("http://www.w3.org/2000/svg", "")  # a name, never fetched
    assert not re.search(r"https?:|//[a-z]|@import|url\(", text)


def test_hostile_text_stays_text():
    hostile = "</script><!--\u2028\u2029\ud800&amp;'\"\\"
    files = write_gallery(
        [
            Entry(key=hostile, block=hostile, recipe=hostile, size=hostile, state="noted",
                  family=hostile, problem=hostile, settings=((hostile, hostile),),
                  measurements=((hostile, 1.5),), links=((hostile, hostile),),
                  outlines=(Outline(hostile, ((0.0, 0.0), (5.0, 0.0), (0.0, 5.0))),)),
        ],
        hostile,
    )  # fmt: skip
    data = files["gallery-data/000.js"]
    assert not set(b"<>&") & set(data)
    assert data.isascii()
    (row,) = rows(files)
    assert row[:4] == [hostile] * 4
    assert row[5] == [[hostile, hostile]]
    page = Page(files["index.html"].decode())
    assert page.texts["title"] == hostile.replace("\ud800", "?")
    assert len(page.scripts) == 2


@pytest.mark.parametrize("path", ["a/b c/#1?.dxf", "javascript:x", "ü/100%.svg"])
def test_links_lead_to_their_file(path):
    files = write_gallery([entry("1", links=(("dxf", path), ("svg", path + "x")))], "T")
    (row,) = rows(files)
    start, *rest = row[10]
    assert rest[0::2] == ["dxf", "svg"]
    for address, wanted in zip(rest[1::2], (path, path + "x"), strict=True):
        assert (start + address).startswith("./")
        assert not set("#?: ") & set(start + address)
        assert unquote(start + address)[2:] == wanted


@pytest.mark.parametrize("path", ["/etc/x", "../x", "a/../../x", "..", ""])
def test_a_link_out_of_the_folder_is_refused(path):
    with pytest.raises(ValueError, match="leads out of the folder"):
        entry("1", links=(("dxf", path),))


def test_unknown_states_and_double_keys_are_refused():
    with pytest.raises(ValueError, match="is no state"):
        Entry(key="k", block="b", recipe="r", size="1", state="done")
    with pytest.raises(ValueError, match="two entries have the key"):
        write_gallery([entry("1"), entry("1")], "T")


def test_measurements_go_with_their_names_and_what_is_no_number_is_left_out():
    files = write_gallery(
        [
            entry("1", measurements=(("cap", 400.25), ("wrist", float("nan")), ("hem", 2.0))),
            entry("2", measurements=(("hem", 1.23456), ("cap", -0.00001))),
        ],
        "T",
    )
    (chunk,) = chunks(files)
    found = []
    for row in chunk["rows"]:
        names = [chunk["names"][n] for n in chunk["columns"][row[8]]]
        found.append(dict(zip(names, row[9], strict=True)))
    # Three decimals: a tenth of what the page shows.
    assert found == [{"cap": 400.25, "hem": 2}, {"hem": 1.235, "cap": 0}]
    assert "-0" not in json.dumps(chunk["rows"][1][9])


def drawn(chunk, row):
    """Return name -> points of the outlines of a row, mm, y up, by walking their paths."""
    found = {}
    for name, shape, left, top in row[11]:
        path, x, y, *_ = chunk["shapes"][shape]
        points = [(left + x, top + y)]
        steps = [int(n) for n in re.findall(r"-?\d+", path)]
        assert re.fullmatch(r"l[-\d ]+z", path)
        for dx, dy in zip(steps[0::2], steps[1::2], strict=True):
            points.append((points[-1][0] + dx, points[-1][1] + dy))
        found[chunk["names"][name]] = [(x, -y) for x, y in points]
    return found


def test_shapes_are_drawn_where_they_are_and_kept_once():
    square = ((10.0, 20.0), (60.0, 20.0), (60.0, 90.0), (10.0, 90.0))
    moved = tuple((x + 300.0, y - 55.0) for x, y in square)
    files = write_gallery(
        [entry("1", outlines=(Outline("front", square),)),
         entry("2", outlines=(Outline("back", moved),))],
        "T",
    )  # fmt: skip
    (chunk,) = chunks(files)
    assert len(chunk["shapes"]) == 1
    assert drawn(chunk, chunk["rows"][0]) == {"front": list(square)}
    assert drawn(chunk, chunk["rows"][1]) == {"back": list(moved)}
    assert chunk["shapes"][0][3:] == [50, 70]


def flat(curve):
    return np.round(curve.controls * 1000).astype(int).ravel().tolist()


def test_edges_are_chained_whatever_their_order():
    """A half disc of radius 100: two quarter arcs (cubics within 0.03 mm) and the diameter."""
    k = 100 * 0.5522847498
    right = Curve.cubic((100, 0), (100, k), (k, 100), (0, 100))
    left = Curve.cubic((0, 100), (-k, 100), (-100, k), (-100, 0))
    edges = {"a": flat(left), "b": flat(right), "c": flat(Curve.line((-100, 0), (100, 0)))}
    (outline,) = outlines_from({"sleeve": edges})
    assert outline.piece == "sleeve"
    shape = Polygon(outline.points)
    assert shape.is_valid
    # A polyline inside a circle, within half a millimetre of it: short by less than 0.5 x arc.
    assert 0 < np.pi * 100**2 / 2 - shape.area < 0.5 * np.pi * 100
    assert all(abs(np.hypot(x, y) - 100) < 0.05 for x, y in outline.points)
    assert len(outline.points) < 30


def test_a_slit_is_drawn_into_the_piece():
    """A slit whose two ends are one point, edges named so that the slit comes last."""
    lines = [((0, 0), (200, 0)), ((200, 0), (200, 300)), ((200, 300), (100, 300)),
             ((100, 300), (0, 300)), ((0, 300), (0, 0)), ((100, 300), (100, 200)),
             ((100, 200), (100, 300))]  # fmt: skip
    edges = {f"e{n}": flat(Curve.line(a, b)) for n, (a, b) in enumerate(lines)}
    found = outlines_from({"back": edges})
    length = sum(LinearRing(o.points).length for o in found)
    assert length == pytest.approx(2 * (200 + 300) + 2 * 100)


@pytest.mark.parametrize("name", ["classic-raglan", "kimono-diamond-gusset", "three-panel-sleeve"])
def test_outlines_from_a_stored_profile_lie_on_the_sewing_lines(name):
    """Sorted by name, as a record comes back; half a millimetre coarse, whole millimetres drawn."""
    result = convert(from_svg("women_overblock")[0], recipe(name))
    profile = json.loads(json.dumps(profile_of(result.pattern, ()), sort_keys=True))
    entries = [entry("1", outlines=outlines_from(profile["pieces"]))]
    (chunk,) = chunks(write_gallery(entries, "T"))
    found = drawn(chunk, chunk["rows"][0])
    assert set(found) == {piece.name for piece in result.pattern.pieces}
    for piece in result.pattern.pieces:
        sewn = LinearRing(np.concatenate([e.curve.flattened(0.02)[:-1] for e in piece.edges]))
        shown = LinearRing(found[piece.name])
        # 0.5 coarse and at most half a diagonal of 1 mm by rounding.
        assert shown.hausdorff_distance(sewn) < 0.5 + 0.5 * np.sqrt(2) + 0.02


def test_states_are_those_of_the_page():
    script = write_gallery([], "T")["index.html"].decode()
    listed = re.search(r"const STATES = (\[.*?\]);", script)[1]
    assert tuple(json.loads(listed)) == STATES
