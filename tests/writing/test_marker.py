"""Markers judged by shapely alone, against areas and widths known beforehand."""

import math
import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from shapely import Polygon
from shapely.affinity import rotate, scale

from samples_of_ours import from_svg, recipe
from sleevewright.errors import OperationError
from sleevewright.geometry import Curve
from sleevewright.geometry.region import polygon
from sleevewright.pattern import CutEdge, Edge, Finish, Pattern, Piece, Role
from sleevewright.pattern.result import Result
from sleevewright.pipeline.convert import convert
from sleevewright.writing.marker import GAP, lay_marker, marker_svg

pytest.importorskip("spyrrow")

# An odd quadrilateral that no turn or mirror brings onto itself: area by the shoelace formula.
CORNERS = ((0.0, 0.0), (300.0, 0.0), (260.0, 500.0), (0.0, 400.0))
AREA = 0.5 * abs(
    sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(CORNERS, CORNERS[1:] + CORNERS[:1], strict=True))
)


def piece(corners=CORNERS, name="panel", fold="", grain=None, quantity=1):
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    edges = tuple(
        Edge(name=f"e{n}", role=Role.FREE_EDGE, curve=Curve.line(a, b))
        for n, (a, b) in enumerate(sides)
    )
    cut = tuple(CutEdge(edge=e.name, curve=e.curve) for e in edges)
    finish = Finish(allowances=(), cut_line=cut, notches=(), lettering=())
    return Piece(name=name, edges=edges, fold=fold, quantity=quantity, finish=finish,
                 grain=Curve.line(*grain) if grain else None)  # fmt: skip


def result(*pieces):
    pattern = Pattern(name="b", size="1", pieces=pieces)
    return Result(block="b", recipe="<r>", size="1", pattern=pattern)


def lay(found, width=1400.0, nap=False, seconds=1, seed=3):
    return lay_marker(found, width, nap=nap, seconds=seconds, seed=seed)


def check(marker):
    """No piece on another or nearer than the gap, none off the cloth."""
    shapes = [p.shape for p in marker.placed]
    for one, other in combinations(shapes, 2):
        assert (
            one.distance(other) > GAP - 0.51
        )  # a piece as wide as the cloth may be moved back by half a millimetre
    for shape in shapes:
        left, low, right, high = shape.bounds
        assert left >= -1e-3
        assert low >= -1e-3
        assert right <= marker.length + 1e-3
        assert high <= marker.width + 1e-3
    assert max(s.bounds[2] for s in shapes) == pytest.approx(marker.length)
    assert marker.area == pytest.approx(sum(s.area for s in shapes))
    wanted = sum(s.area for s in shapes) / (marker.width * marker.length)
    assert marker.yield_ratio == pytest.approx(wanted)


def at_origin(shape):
    left, low, *_ = shape.bounds
    return Polygon([(round(x - left, 3), round(y - low, 3)) for x, y in shape.exterior.coords])


def same(one, other):
    return at_origin(one).symmetric_difference(at_origin(other)).area < 1.0  # mm2


def test_pairs_are_mirrored_and_pieces_on_the_fold_unfolded():
    found = lay(result(piece(quantity=2), piece(name="front", fold="e3")))
    check(found)
    assert [(p.piece, p.mirrored) for p in found.placed] == [
        ("panel", False), ("panel", True), ("front", False),
    ]  # fmt: skip
    # Up the page becomes along the cloth: a quarter turn clockwise; a mirror image changes sides.
    base = rotate(Polygon(CORNERS), -90)
    for placed, wanted in zip(found.placed, (base, scale(base, 1, -1)), strict=False):
        assert same(placed.shape, rotate(wanted, 180 if placed.turned else 0))
    assert found.area == pytest.approx(4 * AREA, rel=1e-4)
    across = found.placed[2].shape.bounds
    assert across[3] - across[1] == pytest.approx(600.0, abs=0.05)


@pytest.mark.parametrize("angle", [0.0, 30.0, 200.0])
def test_the_grain_lies_along_the_cloth(angle):
    """A grain at any angle on the page: an arrow-shaped piece whose tip is its grain's end."""
    arrow = Polygon([(0, 0), (80, 0), (40, 400)])
    up = (-math.sin(math.radians(angle)), math.cos(math.radians(angle)))
    turned = rotate(arrow, angle, origin=(0, 0))
    corners = tuple(turned.exterior.coords[:-1])
    if not turned.exterior.is_ccw:
        corners = corners[::-1]
    found = lay(result(piece(corners, grain=((0.0, 0.0), up), quantity=3)))
    check(found)
    for placed in found.placed:
        left, low, right, high = placed.shape.bounds
        assert (right - left, high - low) == pytest.approx((400.0, 80.0), abs=1e-3)
        tip = min if placed.turned else max
        _, y = tip(placed.points)
        assert y == pytest.approx((low + high) / 2, abs=1e-3)


def test_with_nap_all_point_one_way():
    """Triangles nest top to tail without nap: that takes less cloth."""
    wedge = ((0.0, 0.0), (200.0, 0.0), (100.0, 600.0))
    free = lay(result(piece(wedge, quantity=6)), width=420.0)
    napped = lay(result(piece(wedge, quantity=6)), width=420.0, nap=True)
    check(free)
    check(napped)
    assert not any(p.turned for p in napped.placed)
    assert any(p.turned for p in free.placed)
    assert free.length < napped.length


def test_rectangles_that_tile_the_cloth_leave_only_the_gaps():
    """Four of 300 x 500 on cloth 603 wide: two by two, 1003 long; nothing shorter is possible."""
    box = ((0.0, 0.0), (300.0, 0.0), (300.0, 500.0), (0.0, 500.0))
    found = lay(result(piece(box, quantity=4)), width=603.0 + 2.0, seconds=2)
    check(found)
    assert 1003.0 - 0.01 < found.length < 1003.0 * 1.01
    assert found.yield_ratio == pytest.approx(4 * 150_000 / (605.0 * found.length))


def test_same_seed_same_marker_however_busy_the_machine_is():
    """Once alone, once while as many others compute as there are processors, and one more."""
    found = result(piece(quantity=3))
    first = lay(found)
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"])
            for _ in range((os.cpu_count() or 1) + 1)]  # fmt: skip
    try:
        again = lay(found)
    finally:
        for process in busy:
            process.kill()
            process.wait()
    assert first.settled
    assert again == first
    assert marker_svg(again) == marker_svg(first)
    assert lay(found, seed=4).placed != first.placed


@pytest.mark.parametrize("name", ["classic-raglan", "kimono-two-gussets"])
def test_a_whole_pattern(name):
    block = from_svg("women_overblock")[0]
    made = convert(block, recipe(name))
    found = lay(made, width=1500.0, seconds=1)
    check(found)
    area = 0.0
    for part in made.pattern.pieces:
        count = sum(p.piece == part.name for p in found.placed)
        assert count == part.quantity
        cut = polygon(c.curve for c in part.finish.cut_line).area
        area += count * cut * (2 if part.fold else 1)
    assert found.area == pytest.approx(area, rel=1e-4)
    assert 0.4 < found.yield_ratio < 1.0


def test_a_piece_as_wide_as_the_cloth_goes_and_a_wider_one_is_refused():
    assert lay(result(piece()), width=300.0).length == pytest.approx(500.0, abs=0.01)
    with pytest.raises(
        OperationError, match="panel is 300 mm wide across the grain, the cloth 299"
    ):
        lay(result(piece()), width=299.0)
    with pytest.raises(OperationError, match="front is 600 mm wide"):
        lay(result(piece(name="front", fold="e3")), width=599.0)


def test_without_the_engine_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "spyrrow", None)
    with pytest.raises(OperationError, match="the extra: nest"):
        lay(result(piece()))


def test_an_unfinished_piece_is_refused():
    with pytest.raises(ValueError, match="not finished"):
        lay(result(replace(piece(), finish=None)))


def test_the_drawing_is_full_scale_and_shows_every_piece():
    found = lay(result(piece(quantity=2)))
    root = ElementTree.fromstring(marker_svg(found))
    name = "{http://www.w3.org/2000/svg}"
    box = [float(v) for v in root.get("viewBox").split()]
    assert root.get("width") == f"{box[2]:.10g}mm"
    assert box[2] == pytest.approx(found.length, abs=0.01)
    drawn = [
        Polygon([tuple(map(float, pair.split(","))) for pair in node.get("points").split()])
        for node in root.iter(f"{name}polygon")
    ]
    assert len(drawn) == 2
    for shape, placed in zip(drawn, found.placed, strict=True):
        flipped = scale(placed.shape, 1, -1, origin=(0, found.width / 2))
        assert shape.symmetric_difference(flipped).area < 0.02 * placed.shape.length
    assert "<r>" in root.find(f"{name}title").text
