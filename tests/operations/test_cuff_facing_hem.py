"""Cuffs, plackets, facings, hems and one-sided steps against oblongs, parallels and mirror images.

Bands are oblongs whose figures follow from what is asked; a facing's free edge is a parallel,
measured by distances to the neckline; a step on one side leaves the mirror image on the other.
"""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from densely import SIDES, SIZES, Array, along, block_of, dense, long, outline, walked
from oblong import rectangle
from samples_of_ours import from_named, registry
from sleevewright.errors import OperationError
from sleevewright.finishing import finish
from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import circular_arc
from sleevewright.operations.bands import Stretch, facing_piece
from sleevewright.operations.cuff_band import Cuff
from sleevewright.operations.facing import Facing
from sleevewright.operations.hem import Hem
from sleevewright.operations.placket import Placket
from sleevewright.operations.raglan import Raglan
from sleevewright.pattern import Pattern, Piece, Role
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pipeline.convert import convert
from sleevewright.recipe import Recipe


def area_of(piece: Piece) -> float:
    x, y = outline(piece).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def wrist_from_back(sleeve: Piece) -> Array:
    """The block's wrist from the back underarm seam on."""
    back = dense(sleeve["underarm_seam.back"].curve)
    wrist = dense(sleeve["wrist"].curve)
    ends = [min(math.dist(p, back[0]), math.dist(p, back[-1])) for p in wrist[[0, -1]]]
    return wrist if ends[0] < ends[1] else wrist[::-1]


# --- placket and cuff -----------------------------------------------------------------------------


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("length", "at"), [(80.0, 0.25), (110.0, 0.4)])
def test_a_placket_stands_square_where_it_is_asked(
    block: str, size: str, length: float, at: float
) -> None:
    """A part of the wrist's arc from its back edge, square to it there, so long; a hole at its end."""
    before = block_of(block, size)
    sleeve = Placket(length=length, at=at).apply(before)["sleeve"]
    wrist = wrist_from_back(before["sleeve"])
    total = walked(wrist)
    foot = along(wrist, at * total)
    way = along(wrist, at * total + 0.05) - along(wrist, at * total - 0.05)
    (mark,) = (line.curve for line in sleeve.internal if line.name == "placket")
    points = dense(mark, 4)
    assert points[0] == pytest.approx(foot, abs=1e-3)
    assert math.dist(points[0], points[-1]) == pytest.approx(length, abs=1e-9)
    assert abs(float((points[-1] - points[0]) @ way) / length / math.hypot(*way)) < 1e-3
    assert points[-1, 1] > points[0, 1], "it runs up the sleeve"
    assert sleeve.drill_holes[-1] == pytest.approx(tuple(points[-1]), abs=1e-9)
    parts = [walked(dense(e.curve)) for e in sleeve.edges if e.role is Role.WRIST]
    assert sorted(parts) == pytest.approx(sorted([at * total, (1 - at) * total]), abs=1e-3)
    assert Polygon(outline(sleeve)).contains(Point(*points[-1]))


@pytest.mark.parametrize(("to", "depth", "wrap"), [(180.0, 60.0, None), (210.0, 35.0, 30.0)])
@pytest.mark.parametrize(("block", "size"), SIZES)
def test_a_buttoned_cuff_is_an_oblong(
    block: str, size: str, to: float, depth: float, wrap: float | None
) -> None:
    """(to + wrap) wide, cut double, folded half way; wrap 25 mm where none is asked.

    The wrist goes in at wrist / to. The underarm falls where 1 - 1/4 of the wrist has gone by.
    """
    before = block_of(block, size)
    total = walked(wrist_from_back(before["sleeve"]))
    to = min(to, 0.9 * total)
    after = Cuff(to=to, depth=depth, wrap=wrap).apply(Placket().apply(before))
    cuff = after["cuff"]
    wide = to + (25.0 if wrap is None else wrap)
    box = outline(cuff).max(axis=0) - outline(cuff).min(axis=0)
    assert box == pytest.approx([wide, 2 * depth], abs=1e-9)
    assert area_of(cuff) == pytest.approx(wide * 2 * depth, rel=1e-9)
    assert long(cuff, Role.CUFF_SEAM) == pytest.approx(to, abs=1e-9)
    assert cuff.quantity == 2
    (fold,) = (dense(line.curve, 4) for line in cuff.internal if line.name == "fold")
    assert fold[:, 1] - outline(cuff)[:, 1].min() == pytest.approx(depth, abs=1e-9)
    assert math.dist(fold[0], fold[-1]) == pytest.approx(wide, abs=1e-9)
    seam = after.seam("cuff")
    assert seam.gather == pytest.approx(total / to, rel=1e-6)
    (use,) = seam.second
    marks = {n.name: n.at for n in after.edge(use).notches}
    assert marks["cuff at underarm"] == pytest.approx(0.75 * to, abs=0.01)


@pytest.mark.parametrize("ratio", [1.0, 1.25, 2.0])
def test_a_ring_cuff_takes_the_wrist_in_by_its_ratio(ratio: float) -> None:
    """Without a placket: as wide as asked, no wrap, gathered by wrist / to; eased, by the difference."""
    before = rectangle(300.0, 500.0)
    for fullness in ("gather", "ease"):
        after = Cuff(to=300.0 / ratio, depth=40.0, fullness=fullness).apply(before)
        assert area_of(after["cuff"]) == pytest.approx(300.0 / ratio * 80.0, rel=1e-12)
        seam = after.seam("cuff")
        gathered = fullness == "gather" and ratio > 1
        assert seam.gather == pytest.approx(ratio if gathered else 0.0, abs=1e-9)
        assert seam.ease == pytest.approx(0.0 if gathered else 300.0 - 300.0 / ratio, abs=1e-9)
        assert dict(after.facts)["cuff.wrist_ratio"] == pytest.approx(ratio)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("blouse", [0.0, 25.0])
def test_sleeve_and_cuff_are_as_long_as_the_sleeve_and_its_blouse(
    block: str, size: str, blouse: float
) -> None:
    """The underarm seams are cut off by depth - blouse: cuff and seam are longer by the blouse."""
    depth = 55.0
    before = block_of(block, size)
    after = Cuff(depth=depth, blouse=blouse).apply(before)
    for side in SIDES:
        was, now = (
            walked(dense(p["sleeve"][f"underarm_seam.{side}"].curve)) for p in (before, after)
        )
        assert now + depth == pytest.approx(was + blouse, abs=1e-3)
    wrist = long(after["sleeve"], Role.WRIST)
    assert long(after["cuff"], Role.CUFF_SEAM) == pytest.approx(wrist, abs=1e-3)
    box = outline(after["cuff"]).max(axis=0) - outline(after["cuff"]).min(axis=0)
    assert box == pytest.approx([wrist, 2 * depth], abs=1e-3)


# --- facing ---------------------------------------------------------------------------------------


def free_edge(piece: Piece) -> Array:
    (edge,) = (e for e in piece.edges if e.role is Role.FREE_EDGE)
    return dense(edge.curve)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("depth", [30.0, 55.0])
def test_a_facing_is_a_parallel_of_the_neckline(block: str, size: str, depth: float) -> None:
    """The free edge is `depth` from the neckline: within 0.1 mm.

    Facings are drawn on their piece: laid where they were drawn they lie within it (but for a
    back with a shoulder dart, whose shoulder is in two parts).
    """
    before = block_of(block, size)
    after = Facing(depth=depth).apply(before)
    for side in SIDES:
        facing, neck = after[f"{side}_facing"], dense(before[side]["neckline"].curve)
        assert long(facing, Role.FACING_SEAM) == pytest.approx(walked(neck), abs=1e-3)
        line = LineString(neck)
        clear = 0
        for point in free_edge(facing)[::10]:
            at = line.project(Point(*point))
            inner = 25.0 < at < line.length - 25.0
            clear += inner
            gap = line.distance(Point(*point))
            if 0.0 < at < line.length:
                assert gap == pytest.approx(depth, abs=0.1)
            else:  # straight on, where the shoulder or the centre leans out
                assert depth - 0.1 < gap < 1.1 * depth
        assert clear > 5
        (centre,) = (dense(e.curve, 4) for e in facing.edges if e.role is Role.CENTRE)
        assert walked(centre) == pytest.approx(depth, abs=0.01), "square to the fold"
        assert facing.fold == "centre"
        if not any(True for _ in before[side].darts()):
            shape = Polygon(outline(before[side])).buffer(0.02)
            assert shape.contains(Polygon(outline(facing)))


@pytest.mark.parametrize(("block", "size"), SIZES)
def test_facings_meet_at_the_shoulder(block: str, size: str) -> None:
    """The neckline is square to the shoulder within a degree: both ends are as long as the depth."""
    after = Facing(depth=40.0).apply(block_of(block, size))
    ends = [long(after[f"{side}_facing"], Role.BAND_END) for side in SIDES]
    assert ends[0] == pytest.approx(ends[1], abs=0.5)
    assert ends == pytest.approx([40.0, 40.0], abs=1.0)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("side", SIDES)
def test_a_facing_over_a_raglan_seam_is_the_sum_of_its_parts(
    side: str, block: str, size: str
) -> None:
    """Bodice neckline and sleeve neckline laid end to end; the free edge is parallel to both."""
    before = Raglan().apply(block_of(block, size))
    facing = Facing(depth=45.0).apply(before)[f"{side}_facing"]
    parts = [e for p in (before[side], before[f"sleeve_{side}"]) for e in p.edges
             if e.role is Role.NECKLINE]  # fmt: skip
    seams = [dense(e.curve) for e in facing.edges if e.role is Role.FACING_SEAM]
    assert sorted(map(walked, seams)) == pytest.approx(
        sorted(walked(dense(e.curve)) for e in parts), abs=1e-3
    )
    line = LineString(np.concatenate(seams))
    assert line.length == pytest.approx(sum(map(walked, seams)), abs=1e-6), "end to end"
    for point in free_edge(facing)[::10]:
        at = line.project(Point(*point))
        if 25.0 < at < line.length - 25.0:
            assert line.distance(Point(*point)) == pytest.approx(45.0, abs=0.3)


# --- hem ------------------------------------------------------------------------------------------


def tapered(lower: float, upper: float, height: float) -> Pattern:
    """A sleeve with straight slanting seams, symmetric, its wrist from (0, 0)."""
    block = rectangle(lower, height)
    out = (upper - lower) / 2
    corners = np.array([[0, 0], [lower, 0], [lower + out, height], [-out, height], [0, 0]], float)
    edges = tuple(
        replace(edge, curve=Curve.line(a, b))
        for edge, a, b in zip(block["sleeve"].edges, corners, corners[1:], strict=False)
    )
    return block.with_pieces([replace(block["sleeve"], edges=edges)])


def cut_shape(piece: Piece) -> Polygon:
    assert piece.finish is not None
    return Polygon(np.concatenate([dense(part.curve, 50)[:-1] for part in piece.finish.cut_line]))


def width_at(shape: Polygon, y: float) -> float:
    return float(shape.intersection(LineString([(-5000.0, y), (5000.0, y)])).length)


@pytest.mark.parametrize(("lower", "upper"), [(260.0, 260.0), (240.0, 340.0), (300.0, 250.0)])
@pytest.mark.parametrize("depth", [15.0, 40.0, 90.0])
def test_a_turned_hem_mirrors_the_seams(lower: float, upper: float, depth: float) -> None:
    """Turned up it lies flat: y below the fold line the cut is as wide as y above it.

    Seams lean by s = (upper - lower) / 2 h and have 10 mm: width lower + 2 (s y + 10 sqrt(1 + s^2)).
    """
    height, allowance = 500.0, 10.0
    after = Hem(edge="wrist", depth=depth).apply(tapered(lower, upper, height))
    piece = finish(after, FinishSettings(allowance=allowance))["sleeve"]
    shape = cut_shape(piece)
    assert shape.bounds[1] == pytest.approx(-depth, abs=1e-3)
    lean = (upper - lower) / 2 / height
    for y in np.linspace(0.02 * depth, 0.98 * depth, 7):
        wide = lower + 2 * (lean * y + allowance * math.sqrt(1 + lean**2))
        assert width_at(shape, float(y)) == pytest.approx(wide, abs=0.01)
        assert width_at(shape, -float(y)) == pytest.approx(wide, abs=0.05)


@pytest.mark.parametrize(
    ("kind", "depth", "wanted"),
    [("turned", 33.0, 33.0), ("rolled", None, 6.0), ("rolled", 9.0, 9.0), ("bound", None, 0.0)],
)
@pytest.mark.parametrize("edge", ["hem", "wrist"])
def test_hems_have_their_allowance(
    edge: str, kind: str, depth: float | None, wanted: float
) -> None:
    """As asked; a rolled one has 6 mm, a bound one none: cut on the fold line."""
    before = from_named("child_block")[0]
    after = Hem(edge=edge, kind=kind, depth=depth).apply(before)  # type: ignore[arg-type]
    done = finish(after, FinishSettings())
    for name in ("front", "back") if edge == "hem" else ("sleeve",):
        line = np.concatenate([dense(e.curve) for e in before[name].edges if e.role == edge])
        shape = cut_shape(done[name])
        middle = line[int(0.2 * len(line)) : -int(0.2 * len(line)) : 25]
        gaps = np.array([shape.exterior.distance(Point(*p)) for p in middle])
        assert gaps == pytest.approx(wanted, abs=0.05)
        for role in {e.role for e in before[name].edges}:
            assert long(after[name], role) == pytest.approx(long(before[name], role), abs=1e-9)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("edge", ["hem", "wrist"])
def test_a_faced_hem_has_a_parallel_facing(edge: str, block: str, size: str) -> None:
    """As long as what it faces and `depth` deep everywhere clear of its ends (0.1 mm)."""
    depth = 45.0
    before = block_of(block, size)
    after = Hem(edge=edge, kind="faced").apply(before)  # type: ignore[arg-type]
    for name in ("front", "back") if edge == "hem" else ("sleeve",):
        facing = after[f"{name}_{edge}_facing"]
        parts = [dense(e.curve) for e in before[name].edges if e.role == edge]
        line = LineString(np.concatenate(parts))
        assert long(facing, Role.FACING_SEAM) == pytest.approx(sum(map(walked, parts)), abs=1e-3)
        clear = 0
        for point in free_edge(facing)[::10]:
            at = line.project(Point(*point))
            if 25.0 < at < line.length - 25.0:
                clear += 1
                assert line.distance(Point(*point)) == pytest.approx(depth, abs=0.1)
        assert clear > 5
        shape = Polygon(outline(before[name])).buffer(0.05)
        assert shape.contains(Polygon(outline(facing)))
    if edge == "wrist":  # the facing's own ends are sewn into a ring
        seam = next(s for s in after.seams if s.name.endswith("of the facing"))
        one, other = (
            sum(walked(dense(c)) for c in after.curves(s)) for s in (seam.first, seam.second)
        )
        assert one == pytest.approx(other, abs=0.5)


# --- side: left, side: right ------------------------------------------------------------------------

STEPS = {
    "raglan": "  - raglan:\n      back_shoulder: closed\n",
    "lower-cap": "  - lower-cap:\n      by: 12 mm\n",
    "taper-cuff": "  - taper-cuff:\n      by: 14 mm\n",
    "placket": "  - placket:\n      length: 90 mm\n",
    "lengthen-sleeve": "  - lengthen-sleeve:\n      by: 30 mm\n",
}


@cache
def made(step: str, side: str, block: str, size: str, folder: Path) -> Pattern:
    """The block by a recipe of one step, on one side or (side "") on both; finished."""
    where = f"    side: {side}\n" if side else ""
    file = folder / f"{step}-{side or 'both'}.yaml"
    file.write_text(f"name: {step}-{side or 'both'}\nsteps:\n{STEPS[step]}{where}")
    loaded = Recipe.load(file, registry())
    return convert(block_of(block, size), loaded, {}).pattern


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("recipes")


def apart(one: Array, other: Array) -> float:
    """The farthest that a point of either outline lies from the other, mm."""
    lines = [LineString(np.concatenate([ring, ring[:1]])) for ring in (one, other)]
    return max(
        max(line.distance(Point(*p)) for p in ring[::50])
        for line, ring in zip(lines, (other, one), strict=True)
    )


def mirrored_at(ring: Array, x: float) -> Array:
    return np.asarray(ring * [-1.0, 1.0] + [2 * x, 0.0])


def halves_of(whole: Piece, x: float) -> tuple[BaseGeometry, BaseGeometry]:
    """The parts of a whole piece left and right of the upright line at x."""
    shape = Polygon(outline(whole))
    left = Polygon([(x, -9e3), (x, 9e3), (-9e3, 9e3), (-9e3, -9e3)])
    right = Polygon([(x, -9e3), (x, 9e3), (9e3, 9e3), (9e3, -9e3)])
    return shape.intersection(left), shape.intersection(right)


@pytest.mark.parametrize("step", sorted(STEPS))
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("block", "size"), [("child_block", "110"), ("men_overblock", "52"), ("women_overblock", "40")]
)
def test_a_step_on_one_side_leaves_the_other(
    step: str, side: str, block: str, size: str, folder: Path
) -> None:
    """One half is the block's, the other the plain run's; the wearer's left is a mirror image.

    Halves drawn are the wearer's right. On the fold they are halves of one whole piece.
    """
    one_sided, plain = (made(step, s, block, size, folder) for s in (side, ""))
    before = block_of(block, size)
    pieces = {"left": before, "right": before} | {side: plain}
    names = set()
    for which, source in pieces.items():
        for piece in source.pieces:
            if piece.fold:
                x = float(dense(piece[piece.fold].curve, 1)[0, 0])
                shapes = halves_of(one_sided[piece.name], x)
                drawn = Polygon(outline(piece))
                keeps_left = drawn.centroid.x < x
                at = 0 if keeps_left is (which == "right") else 1
                ring = outline(piece) if which == "right" else mirrored_at(outline(piece), x)
                gone = shapes[at].symmetric_difference(Polygon(ring)).area
                assert gone < 0.5, (piece.name, which)
                names.add(piece.name)
                continue
            name = f"{piece.name}_{which}"
            names.add(name)
            ring = outline(piece)
            wanted = ring if which == "right" else mirrored_at(ring, 0.0)
            assert apart(outline(one_sided[name]), wanted) < 1e-3, name
            assert one_sided[name].quantity == 1
    assert names == {piece.name for piece in one_sided.pieces}


@pytest.mark.parametrize("step", ["raglan", "lower-cap"])
def test_every_seam_is_there_on_both_sides(step: str, folder: Path) -> None:
    """The right has the block's seams, the left the plain run's, each of the lengths it has there."""
    both = made(step, "left", "child_block", "110", folder)
    sources = {
        "right": block_of("child_block", "110"),
        "left": made(step, "", "child_block", "110", folder),
    }
    wanted = {f"{which} {seam.name}" for which, p in sources.items() for seam in p.seams}
    assert {seam.name for seam in both.seams} == wanted
    for which, pattern in sources.items():
        for seam in pattern.seams:
            found = both.seam(f"{which} {seam.name}")
            for was, now in ((seam.first, found.first), (seam.second, found.second)):
                one = sum(walked(dense(c)) for c in pattern.curves(was))
                other = sum(walked(dense(c)) for c in both.curves(now))
                assert other == pytest.approx(one, abs=1e-3)
                for use, new in zip(was, now, strict=True):
                    if pattern[use.piece].fold:
                        continue
                    sign = [1.0, 1.0] if which == "right" else [-1.0, 1.0]
                    ends = dense(pattern.edge(use).curve, 4)[[0, -1]] * sign
                    # The mirror image is walked from the same end as the half that it is of.
                    assert dense(both.edge(new).curve, 4)[[0, -1]] == pytest.approx(ends, abs=1e-3)


@pytest.mark.parametrize("side", ["left", "right"])
def test_marks_of_one_side_are_mirrored_with_it(side: str, folder: Path) -> None:
    """A placket on one sleeve: its line, hole and notches on that one, mirrored on the left."""
    one_sided, plain = (made("placket", s, "men_overblock", "48", folder) for s in (side, ""))
    sign = np.array([1.0, 1.0] if side == "right" else [-1.0, 1.0])
    other = "right" if side == "left" else "left"
    sleeve, was = one_sided[f"sleeve_{side}"], plain["sleeve"]
    assert not one_sided[f"sleeve_{other}"].internal
    assert not one_sided[f"sleeve_{other}"].drill_holes
    (line,) = (m.curve for m in sleeve.internal if m.name == "placket")
    (old,) = (m.curve for m in was.internal if m.name == "placket")
    assert dense(line, 4) == pytest.approx(dense(old, 4) * sign, abs=1e-6)
    assert np.array(sleeve.drill_holes) == pytest.approx(np.array(was.drill_holes) * sign, abs=1e-6)

    def marks(piece: Piece) -> dict[str, list[Array]]:
        found: dict[str, list[Array]] = {}
        for edge in piece.edges:
            for notch in edge.notches:
                found.setdefault(notch.name, []).append(along(dense(edge.curve), notch.at))
        return found

    new, drawn = marks(sleeve), marks(was)
    assert new.keys() == drawn.keys()
    assert len(new) >= 2
    for name, spots in drawn.items():
        for spot in spots:
            assert min(math.dist(spot * sign, p) for p in new[name]) < 0.01, name


def test_a_seam_over_the_centre_cannot_differ(folder: Path) -> None:
    """A neckline facing joins both halves at the centre; with other steps left and right it is refused."""
    file = folder / "faced.yaml"
    file.write_text(
        "name: faced\nsteps:\n  - lower-cap:\n      by: 8 mm\n    side: left\n  - facing\n"
    )
    with pytest.raises(OperationError, match="runs over the centre"):
        convert(block_of("child_block", "98"), Recipe.load(file, registry()), {})


def test_a_facing_no_deeper_than_its_shoulder() -> None:
    with pytest.raises(OperationError, match="make it less deep"):
        Facing(depth=120.0).apply(block_of("child_block", "98"))


@pytest.mark.parametrize("lean", [-3e-8, 0.0, 3e-8])
def test_a_free_edge_has_no_sliver_where_an_end_is_square_but_for_rounding(lean: float) -> None:
    """It leaned by a millionth of a millimetre, and so long was the last piece of the free edge."""
    neck = circular_arc((0.0, 0.0), 90.0, 180.0, 90.0).reversed
    ways = np.array([0.0, -1.0]), np.array([-1.0, lean])
    stretch = Stretch((neck,), Role.CENTRE, Role.SHOULDER, ways, (200.0, 100.0))
    facing = facing_piece("front_facing", stretch, 50.0, block_of("women_overblock", "40")["front"])
    (free,) = facing.with_role(Role.FREE_EDGE)
    pieces = np.diff(free.curve.stations)
    assert pieces.min() > 1.0
