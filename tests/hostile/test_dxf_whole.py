"""Nothing of a DXF file is lost: counted by a parser of its own, and drawn by other people's library."""

import math
import re
from collections import Counter
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf import disassemble
from ezdxf import path as ezpath

from hostile import dxf_cases as made
from hostile.harness import attempt
from sleevewright.reading.drawing import Drawing
from sleevewright.reading.dxf import read_dxf

SAMPLES = sorted((Path(__file__).parents[2] / "sample_patterns").rglob("*.dxf"))
PARTS = {"VERTEX", "SEQEND", "ENDBLK"}  # of an entity, not entities


# --- counted -------------------------------------------------------------------------------------


def counted(text: str) -> Counter[str]:
    """Count the entities of a file: of model space with what it inserts, and of blocks that nothing inserts.

    Where pieces are blocks (layer 1 in a block), each block counts once, and so does what lies beside them.
    """
    lines = [line.strip() for line in re.split(r"\r\n|\r|\n", text.rstrip())]
    tags = [tag for tag in zip(lines[::2], lines[1::2], strict=True) if tag[0] != "999"]
    section = block = ""
    blocks: dict[str, list[dict[str, str]]] = {}
    model: list[dict[str, str]] = []
    for i, (code, value) in enumerate(tags):
        if code != "0":
            continue
        rest = next((j for j in range(i + 1, len(tags)) if tags[j][0] == "0"), len(tags))
        own = {"0": value, **dict(reversed(tags[i + 1 : rest]))}
        if value == "SECTION":
            section = own["2"]
        elif value == "BLOCK":
            block = own["2"].upper()
            blocks[block] = []
        elif section in ("BLOCKS", "ENTITIES") and value not in PARTS | {"ENDSEC", "EOF"}:
            (blocks[block] if section == "BLOCKS" else model).append(own)

    def expanded(entities: list[dict[str, str]], reached: set[str]) -> Counter[str]:
        found: Counter[str] = Counter()
        for own in entities:
            copies = 1
            if own["0"] == "INSERT" and own.get("67") != "1":
                copies = max(1, int(own.get("70", 1))) * max(1, int(own.get("71", 1)))
                reached.add(own["2"].upper())
                for kind, n in expanded(blocks[own["2"].upper()], reached).items():
                    found[kind] += copies * n
            found[own["0"]] += copies
        return found

    pieces = any(
        own.get("8") == "1" and own["0"] in ("POLYLINE", "LINE")
        for b in blocks.values()
        for own in b
    )
    if pieces:
        return Counter(own["0"] for entities in (model, *blocks.values()) for own in entities)
    reached: set[str] = set()
    total = expanded(model, reached)
    for name, entities in blocks.items():
        if name not in reached:
            total.update(own["0"] for own in entities)
    return total


def told(drawing: Drawing) -> Counter[str]:
    """What was read, and what the findings say was passed over."""
    total = Counter(dict(drawing.counts))
    for finding in drawing.findings:
        match = re.match(r"(\d+) (\S+) passed over: ", finding.message)
        if match:
            total[match[2]] += int(match[1])
    return total


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_read_whole(path: Path) -> None:
    drawing = read_dxf(path)
    assert told(drawing) == counted(path.read_text())
    assert not drawing.findings


def test_hostile_files_that_are_read_are_read_whole(tmp_path: Path) -> None:
    """Every drawing of the corpus that is not refused, of an alphabet that the counting parser knows."""
    seen = 0
    for group in (
        made._inserts,
        made._scales,
        made._shape,
        made._depth,
        made._lines,
        made._arcs,
        made._names,
    ):
        for case in group():
            data = case.data if isinstance(case.data, bytes) else case.data()
            path = tmp_path / "x.dxf"
            path.write_bytes(data)
            outcome, drawing = attempt(case.read, path)
            if (
                outcome.ended == "read"
                and len(data) < 60_000
                and b"2 blocks are named" not in outcome.text.encode()
            ):
                assert told(drawing) == counted(data.decode()), case.name
                seen += 1
    assert seen > 80


# --- drawn by another library --------------------------------------------------------------------


def foreign(version: str) -> "ezdxf.document.Drawing":
    """A drawing with every kind of line, in blocks within blocks, and much that is no line."""
    doc = ezdxf.new(version, setup=True, units=4)
    doc.header["$INSUNITS"] = 4
    part = doc.blocks.new("PART", base_point=(3, 4))
    part.add_line((0, 0), (30, 10), dxfattribs={"layer": "CUT"})
    part.add_arc((5, 5), 12, 30, 200)
    part.add_circle((0, 0), 7)
    part.add_polyline2d([(0, 0, 0.5), (10, 0, -0.3), (10, 10, 0)], format="xyb", close=True)
    if version != "R12":
        part.add_lwpolyline([(0, 0, 0, 0, 1), (20, 0, 0, 0, 0), (20, 9, 0, 0, 0.2)], close=True)
        part.add_ellipse((1, 2), (20, 5), 0.4, 0.3, 4)
        part.add_open_spline([(0, 0), (10, 20), (30, -5), (40, 10), (55, 0)])
        part.add_rational_spline([(0, 0), (10, 20), (30, -5), (40, 10)], [1, 2, 0.5, 1])
        part.add_mtext("{\\fArial;NOTE}", dxfattribs={"insert": (4, 4)})
        part.add_hatch()
    part.add_text("Size: 38", dxfattribs={"insert": (1, 1)})
    part.add_point((2, 2))
    part.add_solid([(0, 0), (1, 0), (0, 1)])
    whole = doc.blocks.new("WHOLE")
    for turn, x, y in ((0, 1, 1), (33, -1, 1), (90, 2, 2), (200, 1.5, -1.5)):
        whole.add_blockref(
            "PART", (turn, 2 * turn), dxfattribs={"rotation": turn, "xscale": x, "yscale": y}
        )
    # The other library takes polylines with arcs apart where x and y are scaled unequally.
    arcs = doc.blocks.new("ARCS")
    arcs.add_arc((5, 5), 12, 30, 200)
    arcs.add_circle((20, 0), 7)
    whole.add_blockref("ARCS", (9, 9), dxfattribs={"rotation": 200, "xscale": 1.5, "yscale": -0.5})
    msp = doc.modelspace()
    msp.add_blockref("WHOLE", (100, 50), dxfattribs={"rotation": 12, "xscale": -1.3, "yscale": 1.3})
    msp.add_blockref(
        "PART",
        (0, 0),
        dxfattribs={
            "row_count": 2,
            "column_count": 3,
            "row_spacing": 40,
            "column_spacing": 70,
            "rotation": 20,
        },
    )
    msp.add_blockref("PART", (7, 7), dxfattribs={"extrusion": (0, 0, -1), "rotation": 15})
    msp.add_arc((5, 9), 12, 350, 20, dxfattribs={"extrusion": (0, 0, -1)})
    reference = msp.add_blockref("PART", (500, 0))
    reference.add_attrib("TAG", "front", (1, 1))
    msp.add_linear_dim((0, 10), (0, 0), (30, 0)).render()
    doc.layout("Layout1").add_line((0, 0), (9, 9))
    doc.blocks.new("UNUSED").add_line((0, 0), (1, 1))
    return doc


VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")


@pytest.fixture(params=VERSIONS)
def file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / f"{request.param}.dxf"
    foreign(request.param).saveas(path)
    return path


def test_foreign_files_are_read_whole(file: Path) -> None:
    drawing = read_dxf(file, "mm")
    assert told(drawing) == counted(file.read_text(encoding="utf-8"))
    said = " ".join(finding.message for finding in drawing.findings)
    assert "SOLID passed over" in said
    assert "DIMENSION passed over" in said
    assert "in blocks that are not inserted" in said
    assert "on sheets of paper" in said


def test_foreign_files_are_drawn_alike(file: Path) -> None:
    """Every stroke lies where the other library's lies and is as long.

    Its arcs are cubics a quarter turn each, 0.03 % off the circle at most.
    """
    kinds = {"LINE", "ARC", "CIRCLE", "POLYLINE", "LWPOLYLINE", "ELLIPSE", "SPLINE"}
    space = ezdxf.readfile(file).modelspace()
    entities = disassemble.recursive_decompose(e for e in space if e.dxftype() != "DIMENSION")
    (group,) = read_dxf(file, "mm").groups
    drawn = [e for e in entities if e.dxftype() in kinds]
    assert len(group.strokes) == len(drawn) > 40
    for stroke, other in zip(group.strokes, drawn, strict=True):
        points = np.array([(p.x, p.y) for p in ezpath.make_path(other).flattening(0.001)])
        length = float(np.hypot(*np.diff(points, axis=0).T).sum())
        assert stroke.curve.length == pytest.approx(length, rel=2e-3), stroke.place
        for point in points[:: max(1, len(points) // 20)]:
            assert stroke.curve.nearest(point)[1] < 0.02, stroke.place
        if not stroke.curve.chord < 1e-6:
            ends = [math.dist(stroke.curve.start, end) for end in (points[0], points[-1])]
            assert min(ends) < 0.01


def test_texts_of_foreign_files(file: Path) -> None:
    (group,) = read_dxf(file, "mm").groups
    texts = Counter(words.text for words in group.words)
    assert texts["Size: 38"] == 4 + 6 + 1 + 1
    assert texts["front"] == 1
    if file.stem != "R12":
        assert texts["NOTE"] == texts["Size: 38"]
