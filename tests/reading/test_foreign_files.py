"""Blocks as other people's tools would save them: other units, order, direction, layers, frames."""

import math
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.math import rational_bspline_from_arc

from samples_of_ours import ROOT, from_svg
from sleevewright.errors import LabelError, ReadError
from sleevewright.pattern import Pattern
from sleevewright.reading import read_pattern
from sleevewright.reading.dxf import read_dxf

OURS = from_svg("men_overblock")[1]
SVG = (ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg").read_text()


def assert_same(pattern: Pattern, within: float = 0.02) -> None:
    for piece in OURS.pieces:
        other = pattern[piece.name]
        mine = {e.name: e for e in piece.edges}
        theirs = {e.name: e for e in other.edges}
        assert mine.keys() == theirs.keys()
        for name, edge in mine.items():
            assert theirs[name].length == pytest.approx(edge.length, abs=within), (piece.name, name)
            for a, b in zip(edge.notches, theirs[name].notches, strict=True):
                assert b.at == pytest.approx(a.at, abs=max(within, 0.05))
                assert a.name == b.name


def drawn(
    path: Path, *, unit: int = 4, scale: float = 1.0, labelled: bool = True, angle: float = 0.0,
    mirror: bool = False, shuffle: bool = False, block: bool = False, frame: bool = False,
) -> Path:  # fmt: skip
    """Write our block with ezdxf as flattened polylines or splines in many ways."""
    doc = ezdxf.new("R2010", units=unit)
    doc.header["$INSUNITS"] = unit
    space = doc.modelspace()
    target = doc.blocks.new("PATTERN") if block else space
    rng = np.random.default_rng(3)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    turn = np.array([[c, s], [-s, c]]) * scale
    if mirror and not block:
        turn = turn @ np.array([[-1.0, 0.0], [0.0, 1.0]])
    jobs = []
    for piece in OURS.pieces:
        if not labelled:
            ring = np.concatenate([e.curve.flattened(0.01)[:-1] for e in piece.edges]) @ turn
            jobs.append((piece.name, None, ring))
            continue
        for edge in piece.edges:
            role = f"{edge.role}_{edge.side}" if edge.side else str(edge.role)
            jobs.append((piece.name, role, edge.curve.controls @ turn))
    if shuffle:
        rng.shuffle(jobs)
    for name, role, points in jobs:
        if role is None:
            target.add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTLINE"})
            continue
        layer = {"layer": f"{name.upper()}-{role.upper()}"}
        if shuffle and rng.random() < 0.5:
            points = points[::-1, ::-1]
        n = len(points)
        spline = target.add_spline(dxfattribs=layer)
        spline.dxf.degree = 3
        flat = np.concatenate([points[:1, 0], points[:, 1:].reshape(-1, 2)])
        spline.control_points = [(x, y, 0) for x, y in flat]
        spline.knots = (
            [0.0] * 4 + [float(k) for k in range(1, n) for _ in range(3)] + [float(n)] * 4
        )
    for piece in OURS.pieces:
        label = piece.name.upper() if labelled else "MARKS"
        if labelled:
            for edge in piece.edges:
                for notch in edge.notches:
                    for off in (0.0,) if notch.kind == "single" else (-5.0, 5.0):
                        p = edge.curve.point_at(notch.at + off) @ turn
                        target.add_point(p, {"layer": f"{label}-NOTCH"})
            target.add_line(
                piece.grain.start @ turn, piece.grain.end @ turn, {"layer": f"{label}-GRAIN"}
            )
    if block:
        space.add_blockref(
            "PATTERN", (10, 20), {"xscale": -1.0 if mirror else 1.0, "rotation": 33.0}
        )
    if frame:
        w = 3000 * scale
        space.add_lwpolyline(
            [(-w, -w), (w, -w), (w, w), (-w, w)], close=True, dxfattribs={"layer": "FRAME"}
        )
        space.add_text("TITLE 50", dxfattribs={"layer": "FRAME", "height": 20})
    doc.saveas(path)
    return path


@pytest.mark.parametrize(
    "how",
    [
        {},
        {"unit": 1, "scale": 1 / 25.4},
        {"unit": 5, "scale": 0.1},
        {"angle": 73.0},
        {"mirror": True},
        {"shuffle": True},
        {"block": True},
        {"block": True, "mirror": True},
        {"frame": True, "shuffle": True, "angle": -120.0},
    ],
)
def test_labelled_dxf_in_many_spellings(how: dict, tmp_path: Path) -> None:
    reading = read_pattern([drawn(tmp_path / "men_50.dxf", **how)])
    assert_same(reading.patterns[0])
    if how.get("mirror"):
        assert any("wearer's left" in f.message for f in reading.findings)


def test_plain_outlines_with_a_frame(tmp_path: Path) -> None:
    """No label at all: recognised from the geometry; the sleeve's front comes from a label map."""
    file = drawn(tmp_path / "plain.dxf", labelled=False, frame=True)
    labels = tmp_path / "labels.yaml"
    labels.write_text("sleeve_front: right\n")
    pattern = read_pattern([file], labels).patterns[0]
    for piece in OURS.pieces:
        for edge in piece.edges:
            if edge.side is None:
                assert pattern[piece.name][edge.name].length == pytest.approx(edge.length, abs=0.1)
    with pytest.raises(LabelError, match="sleeve_front"):
        read_pattern([file])


def test_no_unit_is_refused_with_the_candidates(tmp_path: Path) -> None:
    file = drawn(tmp_path / "x.dxf", unit=0)
    with pytest.raises(ReadError, match="in mm it is .* in cm it is .* in in it is"):
        read_pattern([file])
    labels = tmp_path / "labels.yaml"
    labels.write_text("units: mm\n")
    assert_same(read_pattern([file], labels).patterns[0])


def test_svg_in_inches_y_down_shuffled_and_transformed(tmp_path: Path) -> None:
    """The same drawing in inches, inside a mirrored and turned group, elements in another order."""
    size = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', SVG)
    assert size is not None
    w, h = (float(v) / 25.4 for v in size.groups())
    text = SVG.replace(size.group(0), f'width="{w!r}in" height="{h!r}in"')
    groups = re.findall(r"<g id=.*?</g>", text, re.DOTALL)
    head = text[: text.index('<g id="front">')]
    for how in ("rotate(20) translate(5 7)", "scale(-1 1)", "matrix(0 1 -1 0 30 40)"):
        turned = []
        for group in groups[::-1]:
            opening, *lines = group.splitlines()
            turned.append("\n".join([opening, *lines[:-1][::-1], "</g>"]))
        body = f'<g transform="{how}">' + "\n".join(turned) + "</g></svg>"
        file = tmp_path / "men_50.svg"
        file.write_text(head + body)
        assert_same(read_pattern([file]).patterns[0])


def test_svg_use_and_symbol_are_expanded(tmp_path: Path) -> None:
    body = SVG[SVG.index('<g id="front">') : SVG.rindex("</svg>")]
    head = SVG[: SVG.index('<g id="front">')]
    file = tmp_path / "men_50.svg"
    file.write_text(
        f'{head}<defs><g id="all">{body}</g></defs><use href="#all" x="12" y="-3"/></svg>'
    )
    assert_same(read_pattern([file]).patterns[0])


def test_edges_drawn_in_parts_are_one_edge(tmp_path: Path) -> None:
    front = OURS["front"]["armhole"].curve
    a, b = front.split_at(100.0)

    def d(curve: object) -> str:
        return f"M{curve.start[0]!r},{-curve.start[1]!r} " + " ".join(
            "C" + " ".join(f"{x!r},{-y!r}" for x, y in c[1:]) for c in curve.controls
        )

    shift = SVG.index('<g id="front">')
    start = SVG.index('<path class="armhole"', shift)
    end = SVG.index("/>", start) + 2
    parts = f'<path class="armhole" d="{d(b)}"/><path class="armhole" d="{d(a.reversed)}"/>'
    file = tmp_path / "men_50.svg"
    file.write_text(SVG[:start] + parts.replace("np.float64(", "").replace(")", "") + SVG[end:])
    assert_same(read_pattern([file]).patterns[0])


def test_a_circle_as_one_rational_spline_is_read_whole(tmp_path: Path) -> None:
    """No cubic gives it exactly; it is followed, and ends where it starts."""
    doc = ezdxf.new("R2010", units=4)
    doc.modelspace().add_spline().apply_construction_tool(
        rational_bspline_from_arc((50, 50), 20, 0, 360)
    )
    doc.saveas(tmp_path / "ring.dxf")
    (group,) = read_dxf(tmp_path / "ring.dxf").groups
    (ring,) = group.strokes
    assert ring.curve.length == pytest.approx(2 * math.pi * 20, abs=0.01)
    assert np.hypot(*(ring.curve.flattened(0.001) - 50).T) == pytest.approx(20, abs=0.01)


@pytest.mark.parametrize("seed", range(60))
def test_damaged_dxf_never_gives_anything_but_our_error(seed: int, tmp_path: Path) -> None:
    data = bytearray(
        (ROOT / "sample_patterns" / "child_block.dxf").read_bytes()[:60000] + b"0\nEOF\n"
    )
    rng = np.random.default_rng(seed)
    kind = seed % 3
    at = int(rng.integers(0, len(data) - 10))
    if kind == 0:
        data[at] ^= 1 << int(rng.integers(0, 8))
    elif kind == 1:
        data = data[:at]
    else:
        del data[at : at + int(rng.integers(1, 9))]
    file = tmp_path / "x.dxf"
    file.write_bytes(bytes(data))
    try:
        read_pattern([file])
    except (ReadError, LabelError) as error:
        assert str(error)


@pytest.mark.parametrize(
    ("stem", "block"),
    [
        ("Блуза_40", "Блуза"), ("Ä 40", "Ä 40"), ("women_overblock", "women_overblock"),
        ("Größe.v2_XL", "Größe.v2"), ("a\x07b\u200b", "a_b"), ("..", "block"),
    ],
)  # fmt: skip
def test_a_block_is_called_as_its_file_is(tmp_path: Path, stem: str, block: str) -> None:
    path = tmp_path / f"{stem}.svg"
    path.write_text(SVG)
    assert {pattern.name for pattern in read_pattern([path]).patterns} == {block}


def test_odd_notches_are_told(tmp_path: Path) -> None:
    path = tmp_path / "b.svg"
    path.write_text(re.sub(r"<circle[^>]*/>\n?", "", SVG))
    labels = tmp_path / "l.yaml"
    for side, says in (("left", "no notch is drawn"), ("right", "no notch is drawn")):
        labels.write_text(f"sleeve_front: {side}\n")
        found = read_pattern([path], labels).findings
        assert any(says in finding.message for finding in found)
    path.write_text(SVG)
    told = {
        side: any(
            "trade marks the back" in f.message for f in read_pattern([path], labels).findings
        )
        for side in ("left", "right")
        if labels.write_text(f"sleeve_front: {side}\n")
    }
    assert sorted(told.values()) == [False, True]
