"""What a DXF holds, as three readers see it: our raw one, ezdxf and OGR."""

import importlib.util
import io
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.tools.text import plain_text
from shapely import LineString, Polygon

from sleevewright.pattern import InternalLine, Lettering, Pattern
from sleevewright.writing import FORMATS, lay_out
from sleevewright.writing.ascii_text import block_name, dxf_text, transliterated

_spec = importlib.util.spec_from_file_location("raw_dxf", Path(__file__).with_name("raw_dxf.py"))
raw = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(raw)


@pytest.fixture(scope="module")
def data(result):
    return FORMATS["dxf"](result)


@pytest.fixture(scope="module")
def blocks(data):
    return raw.blocks(data)


def pairs(result, blocks):
    return list(zip(result.pattern.pieces, blocks.values(), strict=True))


def test_one_block_a_piece_named_piece_and_size(blocks):
    assert list(blocks) == ["FRONT_38", "BACK_38", "SLEEVE_38"]


def test_the_cut_line_is_one_polyline_whose_first_vertex_is_repeated(result, blocks):
    for piece, block in pairs(result, blocks):
        (ring,) = raw.polylines(block, "1")
        assert ring[0] == ring[-1]
        polygon = Polygon(ring)
        assert polygon.is_valid
        assert polygon.exterior.is_ccw
        assert polygon.length == pytest.approx(piece.finish.cut_perimeter, abs=0.01)


def test_every_edge_is_a_sew_line_of_its_own_with_its_name_at_its_middle(result, blocks):
    for piece, block in pairs(result, blocks):
        sews = raw.polylines(block, "14")
        labels = {
            codes[1].removeprefix("EDGE "): (float(codes[10]), float(codes[20]))
            for kind, codes, _ in block
            if kind == "TEXT" and codes[8] == "15" and codes[1].startswith("EDGE ")
        }
        assert len(sews) == len(piece.edges) == len(labels)
        for edge, line in zip(piece.edges, sews, strict=True):
            assert math.dist(line[0], edge.curve.start) < 1e-4
            assert math.dist(line[-1], edge.curve.end) < 1e-4
            assert LineString(line).length == pytest.approx(edge.length, abs=0.02)
            dense = LineString(edge.curve.point_at(np.linspace(0, edge.length, 300)))
            assert dense.hausdorff_distance(LineString(line)) < 0.025
            assert math.dist(labels[edge.name], edge.curve.point_at(edge.length / 2)) < 0.05


def test_sew_lines_close_exactly(blocks):
    for block in blocks.values():
        sews = raw.polylines(block, "14")
        for line, after in zip(sews, [*sews[1:], sews[0]], strict=True):
            assert line[-1] == after[0]


def test_turn_points_are_the_ends_of_edges_and_the_corners_of_the_cut_line(result, blocks):
    for piece, block in pairs(result, blocks):
        turns = raw.points(block, "2")
        assert len(set(turns)) == len(turns)
        for edge in piece.edges:
            assert min(math.dist(edge.curve.start, p) for p in turns) < 1e-4
        (ring,) = raw.polylines(block, "1")
        corners = [
            b
            for a, b, c in zip([ring[-2], *ring[:-2]], ring[:-1], ring[1:], strict=True)
            if abs(turn(a, b, c)) > 10
        ]
        assert set(corners) <= set(turns)


def turn(a, b, c):
    first, second = np.subtract(b, a), np.subtract(c, b)
    cross = first[0] * second[1] - first[1] * second[0]
    return math.degrees(math.atan2(cross, first @ second))


def test_a_curve_point_is_the_smooth_joint_of_the_armhole_and_no_point_of_a_flattened_line(blocks):
    assert raw.points(blocks["FRONT_38"], "3") == [(-185.0, 310.0)]
    assert raw.points(blocks["BACK_38"], "3") == []


def test_notches_have_depth_width_and_direction(result, blocks):
    for piece, block in pairs(result, blocks):
        found = [c for kind, c, _ in block if kind == "POINT" and c[8] == "4"]
        assert len(found) == len(piece.finish.notches)
        for codes, notch in zip(found, piece.finish.notches, strict=True):
            assert math.dist((float(codes[10]), float(codes[20])), notch.point) < 1e-4
            assert (float(codes[30]), float(codes[39])) == (notch.depth, notch.width)
            angle = math.radians(float(codes[50]))
            assert math.dist((math.cos(angle), math.sin(angle)), notch.direction) < 1e-5


def test_fold_grain_internal_lines_and_drill_holes(blocks):
    front, back = blocks["FRONT_38"], blocks["BACK_38"]

    def lines(block, layer):
        keys = (10, 20, 11, 21)
        return [
            tuple(float(c[k]) for k in keys)
            for kind, c, _ in block
            if kind == "LINE" and c[8] == layer
        ]

    assert lines(front, "6") == [(0.0, 0.0, 0.0, 380.0)]
    assert lines(back, "6") == []
    assert lines(front, "7") == [(-90.0, 60.0, -90.0, 330.0)]
    assert raw.polylines(front, "8") == [[(-240.0, 200.0), (0.0, 200.0)]]
    assert raw.points(front, "13") == [(-130.0, 205.0)]


def test_system_texts(blocks, data):
    assert raw.texts(blocks["FRONT_38"], "1") == [
        "Piece Name: FRONT",
        "Size: 38",
        "Quantity: 1",
        "Material: SHELL",
        "Category: FRONT",
        "Annotation: CUT 1 ON FOLD",
    ]
    assert "Annotation: CUT 1 PAIR" in raw.texts(blocks["SLEEVE_38"], "1")
    style = [c[1] for kind, c in raw.records(data) if kind == "TEXT"]
    assert {"Units: METRIC", "Sample Size: 38", "Style Name: OVERBLOCK CLASSIC"} <= set(style)
    assert not any("Creation" in text for text in style)


def test_lettering_is_annotation(result, blocks):
    for piece, block in pairs(result, blocks):
        assert {t.text for t in piece.finish.lettering} <= set(raw.texts(block, "15"))


def test_numbers_have_four_decimals_and_no_negative_zero(data):
    for code, value in raw.groups(data):
        if 10 <= code <= 59:
            assert value != "-0.0000"
            assert "e" not in value


def test_ezdxf_reads_it_without_errors_and_draws_the_same_lines(data, result, blocks):
    document = ezdxf.read(io.StringIO(data.decode("ascii")))
    assert document.dxfversion == "AC1009"
    auditor = document.audit()
    assert not auditor.has_errors
    assert not auditor.has_fixes
    sheet = lay_out(result)
    inserts = list(document.modelspace().query("INSERT"))
    assert [i.dxf.name for i in inserts] == list(blocks)
    for insert, placed in zip(inserts, sheet.pieces, strict=True):
        assert math.dist(insert.dxf.insert.vec2, placed.shift) < 1e-4
        cut = [
            e for e in insert.virtual_entities() if e.dxftype() == "POLYLINE" and e.dxf.layer == "1"
        ]
        (ring,) = cut
        places = np.array([v.dxf.location.vec2 for v in ring.vertices])
        left, bottom = places.min(axis=0)
        assert bottom == pytest.approx(10, abs=1e-3)
        assert left >= 10 - 1e-3
    for name in document.layers:
        assert name.dxf.linetype in document.linetypes


def test_ogr_reads_every_layer_of_every_block(data, blocks, tmp_path):
    pyogrio = pytest.importorskip("pyogrio")
    path = tmp_path / "out.dxf"
    path.write_bytes(data)
    options = {"DXF_MERGE_BLOCK_GEOMETRIES": False}
    pyogrio.set_gdal_config_options(options)
    try:
        meta, _, geometry, fields = pyogrio.raw.read(path)
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(options))
    layers = fields[list(meta["fields"]).index("Layer")]
    shapes = shapely.from_wkb(geometry)
    sew = [s for s, layer in zip(shapes, layers, strict=True) if layer == "14"]
    ours = [LineString(v) for block in blocks.values() for v in raw.polylines(block, "14")]
    assert sorted(s.length for s in sew) == pytest.approx(sorted(s.length for s in ours), abs=1e-3)
    assert {"1", "2", "3", "4", "6", "7", "8", "13", "14", "15"} <= set(layers)


def test_the_pieces_lie_twenty_apart(result):
    sheet = lay_out(result)
    boxes = [np.add(p.lines[0].curve.bounds, (*p.shift, *p.shift)) for p in sheet.pieces]
    for left, right in pairwise(boxes):
        assert right[0] - left[2] == pytest.approx(20.0)
    assert sheet.width == pytest.approx(boxes[-1][2] + 10)
    assert sheet.height == pytest.approx(max(b[3] for b in boxes) + 10)


def test_same_input_same_bytes(result):
    for write in FORMATS.values():
        assert write(result) == write(replace(result))


def test_an_unfinished_piece_is_refused(result):
    bare = tuple(replace(p, finish=None) for p in result.pattern.pieces)
    unfinished = replace(result, pattern=Pattern(name="b", size="38", pieces=bare))
    for write in FORMATS.values():
        with pytest.raises(ValueError, match="front is not finished"):
            write(unfinished)


def with_names(result, text):
    front, *others = result.pattern.pieces
    finish = replace(front.finish, lettering=(Lettering(text=text, at=(0, 0), height=5.0),))
    line = InternalLine(curve=front.internal[0].curve, name=text)
    odd = replace(front, name=text, finish=finish, internal=(line,), material=text)
    return replace(
        result, block=text, size=text, pattern=Pattern(name=text, size=text, pieces=(odd, *others))
    )


HOSTILE = [
    "50%%d off",
    "100%",
    "a^Jb",
    "line\nbreak\r\n  0\nEOF",
    "\x00\x1b[31m\u202e",
    "Größe ½ 袖 🧵",
    "<script>alert(1)</script>&\"'",
    "%s %d {x}",
    "x" * 400,
    "10/12",
    "\ud800",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_breaks_out_of_its_value(result, text):
    data = FORMATS["dxf"](with_names(result, text))
    for code, value in raw.groups(data):
        assert len(value) <= 255
        assert code == 1 or value.isprintable()
    assert len(raw.blocks(data)) == 3
    document = ezdxf.read(io.StringIO(data.decode("ascii")))
    assert not document.audit().has_errors


@pytest.mark.parametrize("text", ["50%%d off", "a%%%b", "a^Jb", "100%", "%%%%u"])
def test_control_codes_are_read_back_as_plain_text(text):
    assert plain_text(dxf_text(text)) == text


def test_transliteration():
    assert transliterated("Ärmel \N{EN DASH} weiß, Łódź ½") == "Armel - weiss, Lodz 1/2"
    assert transliterated("袖") == "\\U+8896"


def test_block_names_stay_apart(result):
    front = result.pattern.pieces[0]
    names = [
        "sleeve_front_with_a_very_long_name_1",
        "sleeve_front_with_a_very_long_name_2",
        "Ä",
        "A",
    ]
    pieces = tuple(replace(front, name=name) for name in names)
    data = FORMATS["dxf"](replace(result, pattern=Pattern(name="b", size="38", pieces=pieces)))
    found = list(raw.blocks(data))
    assert len({name.casefold() for name in found}) == 4
    assert all(len(name) <= 31 for name in found)
    assert block_name("10/12 ä") == "10_12_A"
