"""What an SVG holds, as ElementTree, svgelements and resvg see it."""

import math
import struct
import xml.etree.ElementTree as ET
import zlib
from dataclasses import replace

import numpy as np
import pytest
import svgelements

from sleevewright.pattern import InternalLine, Lettering, Pattern
from sleevewright.writing import FORMATS, lay_out

NS = "{http://www.w3.org/2000/svg}"
KINDS = {"metadata", "svg", "title", "style", "g", "path", "circle", "text"}


@pytest.fixture(scope="module")
def data(result):
    return FORMATS["svg"](result)


@pytest.fixture(scope="module")
def root(data):
    return ET.fromstring(data)


def groups(root):
    return root.findall(f"{NS}g")


def of_class(group, name):
    return [e for e in group.findall(f"{NS}path") if e.get("class").split()[0] == name]


def length_mm(path):
    """Arc length by svgelements, an independent parser; user units are millimetres."""
    parsed = svgelements.Path(path.get("d"))
    return sum(segment.length(error=1e-9) for segment in parsed if segment.start is not None)


def test_size_in_millimetres_and_view_box_agree(root, result):
    sheet = lay_out(result)
    assert root.get("width") == f"{sheet.width:.4f}mm"
    assert root.get("height") == f"{sheet.height:.4f}mm"
    assert root.get("viewBox") == f"0 0 {sheet.width:.4f} {sheet.height:.4f}"


def test_title_and_language(root):
    assert root.get("lang") == "en"
    assert root.find(f"{NS}title").text == "overblock, classic, size 38, neck_drop 30 mm"
    assert root.get("aria-labelledby") == root.find(f"{NS}title").get("id")


def test_a_group_a_piece(root, result):
    for group, piece in zip(groups(root), result.pattern.pieces, strict=True):
        assert group.get("class") == "piece"
        assert group.get("id") == group.get("data-piece") == piece.name
        assert group.get("data-size") == "38"


def test_a_path_an_edge_of_the_same_length(root, result):
    for group, piece in zip(groups(root), result.pattern.pieces, strict=True):
        sews = of_class(group, "sew")
        assert len(sews) == len(piece.edges)
        for path, edge in zip(sews, piece.edges, strict=True):
            assert path.get("data-edge") == edge.name
            assert path.get("class") == f"sew {edge.role}"
            assert path.get("data-side") == (edge.side.value if edge.side else None)
            assert length_mm(path) == pytest.approx(edge.length, abs=2e-4)


def test_curves_are_cubics_and_not_chords(root):
    armhole = next(p for p in of_class(groups(root)[0], "sew") if p.get("data-edge") == "armhole")
    kinds = [type(s).__name__ for s in svgelements.Path(armhole.get("d"))]
    assert kinds == ["Move", "CubicBezier", "CubicBezier"]


def test_the_cut_line_is_closed_and_y_points_down(root, result):
    sheet = lay_out(result)
    for group, placed in zip(groups(root), sheet.pieces, strict=True):
        (cut,) = of_class(group, "cut")
        assert cut.get("d").endswith("Z")
        assert length_mm(cut) == pytest.approx(placed.piece.finish.cut_perimeter, abs=1e-3)
        first = svgelements.Path(cut.get("d"))[0].end
        x, y = placed.lines[0].curve.start
        assert first.x == pytest.approx(x + placed.shift[0], abs=1e-4)
        assert first.y == pytest.approx(sheet.height - (y + placed.shift[1]), abs=1e-4)


def test_notches_say_what_they_are(root, result):
    for group, piece in zip(groups(root), result.pattern.pieces, strict=True):
        notches = of_class(group, "notch")
        assert len(notches) == len(piece.finish.notches)
        for path, cut in zip(notches, piece.finish.notches, strict=True):
            edge = piece[path.get("data-edge")]
            (notch,) = [n for n in edge.notches if n.name == path.get("data-name")]
            assert float(path.get("data-at")) == pytest.approx(notch.at)
            assert path.get("data-kind") == notch.kind.value
            assert len(svgelements.Path(path.get("d"))) == (3 if cut.width else 2)
            reach = length_mm(path)
            side = math.hypot(cut.depth, cut.width / 2)
            assert reach == pytest.approx(2 * side if cut.width else cut.depth, abs=1e-3)


def test_notches_of_one_name_keep_to_their_own_edge(whole_result):
    root = ET.fromstring(FORMATS["svg"](whole_result))
    (piece,) = whole_result.pattern.pieces
    edges = [p.get("data-edge") for p in of_class(groups(root)[0], "notch")]
    with_notch = [e.name for e in piece.edges if e.notches]
    assert len(with_notch) == 2
    assert edges == with_notch


def test_grain_fold_internal_drill_and_texts(root, result):
    front, back, _ = groups(root)
    assert len(of_class(front, "fold")) == 1
    assert of_class(front, "fold")[0].get("data-edge") == "centre"
    assert not of_class(back, "fold")
    assert length_mm(of_class(front, "grain")[0]) == pytest.approx(270)
    assert of_class(front, "internal")[0].get("data-name") == "bust line"
    (drill,) = front.findall(f"{NS}circle")
    assert drill.get("class") == "drill"
    grain = svgelements.Path(of_class(front, "grain")[0].get("d")).bbox()
    # 40 mm left of the grainline, 145 mm above its lower end
    assert float(drill.get("cx")) == pytest.approx(grain[0] - 40)
    assert float(drill.get("cy")) == pytest.approx(grain[3] - 145)
    # arrow heads of the grain; bracket and arrow heads of the fold; cross of the drill hole
    assert (len(of_class(front, "ignore")), len(of_class(back, "ignore"))) == (7, 2)
    texts = front.findall(f"{NS}text")
    assert [t.text for t in texts] == [t.text for t in result.pattern["front"].finish.lettering]
    assert "transform" not in texts[0].attrib
    assert texts[2].get("transform").startswith("rotate(-90.0000 ")


def test_nothing_that_runs_links_or_loads(root):
    for element in root.iter():
        assert element.tag.removeprefix(NS) in KINDS
        for name in element.attrib:
            assert not name.startswith("on")
            assert "href" not in name
    style = root.find(f"{NS}style").text
    assert "url(" not in style
    assert "@" not in style


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "&\"'>",
        "%s %d 100%",
        "\x00\x1b\ud800\u202e",
        "a\nb",
        "title",
        "7",
    ],
)
def test_names_stay_texts(result, text):
    front, *others = result.pattern.pieces
    finish = replace(front.finish, lettering=(Lettering(text=text, at=(0, 0), height=5.0),))
    line = InternalLine(curve=front.internal[0].curve, name=text)
    odd = replace(front, name=text, finish=finish, internal=(line,), material=text)
    pattern = Pattern(name=text, size=text, pieces=(odd, *others))
    root = ET.fromstring(FORMATS["svg"](replace(result, block=text, size=text, pattern=pattern)))
    kinds = {e.tag.removeprefix(NS) for e in root.iter()}
    assert kinds == KINDS
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(set(ids)) == len(ids) == 5
    if text.isprintable():
        assert groups(root)[0].get("data-piece") == text


def test_resvg_draws_black_lines_at_the_right_scale(data, result):
    resvg = pytest.importorskip("resvg_py")
    png = bytes(resvg.svg_to_bytes(svg_string=data.decode(), dpi=25.4 * 2, background="white"))
    picture = grey(png)
    sheet = lay_out(result)
    # 2 pixels a millimetre, a margin of 10 mm round the cut lines
    assert picture.shape == pytest.approx((sheet.height * 2, sheet.width * 2), abs=1.5)
    rows, columns = np.nonzero(picture < 160)
    assert (columns.min(), rows.min()) == pytest.approx((20, 20), abs=2)
    reach = (sheet.width * 2 - 20, sheet.height * 2 - 20)
    assert (columns.max(), rows.max()) == pytest.approx(reach, abs=2)


def grey(png):
    """The red channel of a PNG of 8-bit RGBA, by hand: chunks, inflate, the five filters."""
    place, packed = 8, b""
    while place < len(png):
        size, kind = struct.unpack(">I4s", png[place : place + 8])
        body = png[place + 8 : place + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert (depth, colour) == (8, 6)
        packed += body if kind == b"IDAT" else b""
        place += size + 12
    lines = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + 4 * width)
    above, picture = np.zeros(width, int), []
    for line in lines:
        above = unfiltered(int(line[0]), line[1::4].astype(int), above)
        picture.append(above)
    return np.array(picture)


def unfiltered(kind, line, above):
    if kind in (0, 2):
        return (line + above * (kind == 2)) % 256
    if kind == 1:
        return np.cumsum(line) % 256
    done, left, corner = [], 0, 0
    for value, up in zip(line.tolist(), above.tolist(), strict=True):
        if kind == 3:
            guess = (left + up) // 2
        else:
            guess = min((left, up, corner), key=lambda v: abs(left + up - corner - v))
        left, corner = (value + guess) % 256, up
        done.append(left)
    return np.array(done)
