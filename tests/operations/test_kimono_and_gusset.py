"""Kimono and gusset against trigonometry on the block's own coordinates.

The overarm is a ray from beside the shoulder tip, the underarm a circle that touches two lines;
both are constructed here from the block's corners. Blocks stand upright: their grain is +y.
"""

import math
from typing import Literal

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from densely import SIDES, SIZES, Array, along, block_of, dense, long, outline, walked
from sleevewright.errors import OperationError
from sleevewright.operations.gusset import Gusset
from sleevewright.operations.kimono import Kimono
from sleevewright.operations.kimono_half import with_side_out
from sleevewright.operations.raglan_angle import RaglanAngle
from sleevewright.pattern import Edge, HalfBodice, Pattern, Piece, Role, Side


def area_of(points: Array) -> float:
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def only(piece: Piece, role: Role) -> Edge:
    (edge,) = (e for e in piece.edges if e.role is role)
    return edge


def unit(v: Array) -> Array:
    return np.asarray(v / math.hypot(*v))


def rotated(v: Array, angle: float) -> Array:
    """Turned counter-clockwise by an angle in radians."""
    cos, sin = math.cos(angle), math.sin(angle)
    return np.array([cos * v[0] - sin * v[1], sin * v[0] + cos * v[1]])


def armhole_end(piece: Piece, role: Role) -> Array:
    """Where the edges of a role meet the armhole."""
    ends = [dense(e.curve)[i] for e in piece.edges if e.role is role for i in (0, -1)]
    arm = [dense(e.curve)[i] for e in piece.edges if e.role is Role.ARMHOLE for i in (0, -1)]
    return min(ends, key=lambda p: min(math.dist(p, q) for q in arm))


def outer_shoulder(piece: Piece) -> Array:
    """The part of the shoulder that ends at the tip, walked towards it."""
    tip = armhole_end(piece, Role.SHOULDER)
    parts = [dense(e.curve) for e in piece.edges if e.role is Role.SHOULDER]
    part = min(parts, key=lambda p: min(math.dist(p[0], tip), math.dist(p[-1], tip)))
    return part if math.dist(part[-1], tip) < 1e-6 else part[::-1]


def tip_and_direction(piece: Piece) -> tuple[Array, Array]:
    """The shoulder tip and the way the shoulder arrives there, a shoulder dart closed.

    The outer part turns about the dart's tip until both ends of the mouth are one.
    """
    line = outer_shoulder(piece)
    tip, way = line[-1], unit(line[-1] - line[-2])
    for dart in piece.darts():
        if dart.on is not Role.SHOULDER:
            continue
        apex = dense(dart.into.curve)[-1]
        outer, inner = sorted(
            (dense(dart.into.curve)[0], dense(dart.out.curve)[-1]), key=lambda p: math.dist(p, tip)
        )
        u, v = outer - apex, inner - apex
        angle = math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))
        tip, way = apex + rotated(tip - apex, angle), rotated(way, angle)
    return tip, way


def away(piece: Piece) -> float:
    """+1 where the side seam lies to the right of the centre, else -1."""
    centre, side = (dense(only(piece, r).curve)[:, 0].mean() for r in (Role.CENTRE, Role.SIDE_SEAM))
    return 1.0 if side > centre else -1.0


def off_line(point: Array, origin: Array, way: Array) -> float:
    """Distance of a point from a line."""
    d = point - origin
    return abs(float(d[0] * way[1] - d[1] * way[0]))


def sleeve_length(block: Pattern) -> float:
    """From the crown down to the wrist's corners."""
    points = outline(block["sleeve"])
    return float(points[:, 1].max() - dense(block["sleeve"]["wrist"].curve)[[0, -1], 1].min())


def from_top(piece: Piece, role: Role) -> Array:
    """An edge walked from where it meets the shoulder or the wrist, downwards."""
    points = dense(only(piece, role).curve)
    return points if points[0, 1] > points[-1, 1] else points[::-1]


def overarm_of(piece: Piece) -> Array:
    """The overarm walked towards the wrist: away from the centre."""
    points = dense(only(piece, Role.OVERARM_SEAM).curve)
    return points if (points[-1, 0] - points[0, 0]) * away(piece) > 0 else points[::-1]


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("angle", "beyond"), [(None, 10.0), (25.0, 0.0), (45.0, 18.0)])
def test_the_overarm_is_a_ray_at_its_angle(
    block: str, size: str, angle: float | None, beyond: float
) -> None:
    """From `beyond` outside the tip, at the angle (35 deg where none is asked): the last 60 % is it.

    Its length from the tip is the block's sleeve; the wrist is as wide as the block's in sum.
    """
    before = block_of(block, size)
    after = Kimono(overarm_angle=angle, beyond=beyond).apply(before)
    rad = math.radians(35.0 if angle is None else angle)
    for side in SIDES:
        tip, arriving = tip_and_direction(before[side])
        origin = tip + beyond * arriving
        way = np.array([away(before[side]) * math.cos(rad), -math.sin(rad)])
        overarm = overarm_of(after[side])
        for point in overarm[int(0.6 * len(overarm)) :: 50]:
            assert off_line(point, origin, way) < 0.01
        last = unit(overarm[-1] - overarm[-2])
        assert math.degrees(math.asin(-last[1])) == pytest.approx(math.degrees(rad), abs=1e-3)
        assert walked(overarm) == pytest.approx(sleeve_length(before), abs=0.01)
        # The curve over the tip leaves it by 6 mm at the most.
        assert math.dist(overarm[0], tip) < 6.0
    wrists = sum(long(after[side], Role.WRIST) for side in SIDES)
    assert wrists == pytest.approx(long(before["sleeve"], Role.WRIST), abs=0.02)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("angle", [20.0, 35.0, 50.0])
def test_front_and_back_agree_below_the_arm(block: str, size: str, angle: float) -> None:
    """Underarm and side, each front = back; neckline, centre and hem are the block's."""
    before = block_of(block, size)
    after = Kimono(overarm_angle=angle).apply(before)
    for role in (Role.UNDERARM_SEAM, Role.SIDE_SEAM, Role.OVERARM_SEAM):
        one, other = (long(after[side], role) for side in SIDES)
        assert one == pytest.approx(other, abs=0.02)
    for role in (Role.NECKLINE, Role.CENTRE, Role.HEM):
        for side in SIDES:
            assert long(after[side], role) == pytest.approx(long(before[side], role), abs=1e-6)


def below_arm(piece: Piece) -> tuple[Array, Array]:
    """Underarm seam from the wrist, and side seam from there to the hem."""
    under, side = (from_top(piece, r) for r in (Role.UNDERARM_SEAM, Role.SIDE_SEAM))
    return (under if math.dist(under[-1], side[0]) < 1e-6 else under[::-1]), side


def underarm_corner(piece: Piece) -> tuple[Array, Array, Array]:
    """Where underarm seam and side seam run straight would meet, and the ways to wrist and hem."""
    under, side = below_arm(piece)
    u, v = unit(under[0] - under[30]), unit(side[-1] - side[-31])
    # wrist - a u = hem - b v: both lines run to the corner.
    a, _ = np.linalg.solve(np.stack([-u, v], axis=1), side[-1] - under[0])
    return under[0] - a * u, u, v


def through(a: Array, b: Array, c: Array) -> float:
    """Radius of the circle through three points: a b c / (4 area)."""
    sides = math.dist(a, b) * math.dist(b, c) * math.dist(c, a)
    return sides / (2 * abs(float((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])))


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("radius", "depth"), [(45.0, 60.0), (80.0, 70.0)])
def test_the_underarm_is_a_circle_of_its_radius(
    block: str, size: str, radius: float, depth: float
) -> None:
    """The circle that touches both lines: its centre r / sin(half the angle) from the corner.

    The corner is the point of the block's side seam `depth` below the underarm point, for the
    lines touch the circle r / tan(half the angle) from it. A circle through three points of the
    curve has the radius within half a hundredth.
    """
    before = block_of(block, size)
    after = Kimono(underarm_radius=radius, depth=depth, overarm_angle=30.0).apply(before)
    for side in SIDES:
        lowered = along(from_top(before[side], Role.SIDE_SEAM), depth)
        corner, to_wrist, to_hem = underarm_corner(after[side])
        assert corner == pytest.approx(lowered, abs=1e-6)
        half = math.acos(float(to_wrist @ to_hem)) / 2
        centre = corner + radius / math.sin(half) * unit(to_wrist + to_hem)
        touch = [corner + radius / math.tan(half) * way for way in (to_wrist, to_hem)]
        seam = LineString(np.concatenate(below_arm(after[side])))
        for point in touch:
            assert seam.distance(Point(*point)) < 1e-3
        starts, ends = (seam.project(Point(*point)) for point in touch)
        spots = [
            np.array(seam.interpolate(starts + part * (ends - starts)).coords[0])
            for part in np.linspace(0.0, 1.0, 9)
        ]
        for spot in spots:
            assert math.dist(spot, centre) == pytest.approx(radius, rel=0.005)
        assert through(spots[0], spots[4], spots[8]) == pytest.approx(radius, rel=0.005)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("angle", [25.0, 40.0])
def test_left_to_itself_the_underarm_gives_the_biceps(block: str, size: str, angle: float) -> None:
    """Lowered just until each half reaches half the block's biceps, square to the overarm.

    The side seam is searched in hundredths, so that the half that asks for more may have one more.
    """
    before = block_of(block, size)
    after = Kimono(overarm_angle=angle).apply(before)
    caps = [dense(before["sleeve"][f"cap.{s}"].curve)[[0, -1]] for s in SIDES]
    low = [min(ends, key=lambda p: p[1]) for ends in caps]
    biceps = abs(low[0][0] - low[1][0])
    reaches, steps = [], []
    for side in SIDES:
        tip, arriving = tip_and_direction(before[side])
        rad = math.radians(angle)
        way = np.array([away(before[side]) * math.cos(rad), -math.sin(rad)])
        reaches.append(off_line(underarm_corner(after[side])[0], tip + 10.0 * arriving, way))
        steps.append(long(before[side], Role.SIDE_SEAM) / 100)
    assert min(reaches) >= biceps / 2 - 1e-6
    corner = underarm_corner(after["front"])[0]
    if math.dist(corner, from_top(before["front"], Role.SIDE_SEAM)[0]) > 1e-6:
        assert min(reaches) <= biceps / 2 + max(steps)


@pytest.mark.parametrize(("block", "size"), [s for s in SIZES if s[0] != "women_overblock"])
def test_in_one_piece_the_overarm_is_one_straight_line(block: str, size: str) -> None:
    """From the back's neck point at the mean slope of the shoulders: shoulder + sleeve long.

    These blocks have no shoulder dart; the back is the piece that is not moved.
    """
    before = block_of(block, size)
    body = Kimono(sleeve="one-piece").apply(before)["body"]
    slopes = []
    for side in SIDES:
        line = outer_shoulder(before[side])
        run = line[-1] - line[0]
        slopes.append(math.atan2(-run[1], abs(run[0])))
    slope = sum(slopes) / 2
    neck = outer_shoulder(before["back"])[0]
    total = walked(outer_shoulder(before["front"])) + sleeve_length(before)
    end = neck + total * np.array([away(before["back"]) * math.cos(slope), -math.sin(slope)])
    ring = outline(body)
    assert LineString(ring).distance(Point(*end)) < 0.01
    wrists = [p for e in body.edges if e.role is Role.WRIST for p in dense(e.curve)[[0, -1]]]
    assert min(math.dist(end, p) for p in wrists) < 0.01
    inside = neck + 0.5 * (end - neck)
    assert Polygon(ring).contains(Point(*inside))
    assert not any(body.has(role) for role in (Role.SHOULDER, Role.OVERARM_SEAM))
    assert long(body, Role.WRIST) == pytest.approx(long(before["sleeve"], Role.WRIST), abs=0.02)
    for role in (Role.NECKLINE, Role.HEM, Role.CENTRE):
        was = sum(long(before[side], role) for side in SIDES)
        assert long(body, role) == pytest.approx(was, abs=1e-3)


# --- raglan-angle: the same ray, with a cap --------------------------------------------------------


@pytest.mark.parametrize(("block", "size"), [s for s in SIZES if s[0] == "child_block"])
@pytest.mark.parametrize(("angle", "cap"), [(40.0, 60.0), (50.0, 75.0)])
def test_a_raglan_at_an_angle_is_as_wide_as_a_circle_gives(
    block: str, size: str, angle: float, cap: float
) -> None:
    """The biceps line, square to the ray `cap` from its origin, ends on a circle about P.

    P is the pitch notch; the circle goes through the underarm point, for the lower cap is the
    lower armhole mirrored. The origin is 8 mm on along the shoulder, 5 mm above.
    """
    before = block_of(block, size)
    after = RaglanAngle(overarm_angle=angle, cap_height=cap).apply(before)
    rad = math.radians(angle)
    widths = 0.0
    for side in SIDES:
        piece, half = before[side], after[f"sleeve_{side}"]
        tip, arriving = tip_and_direction(piece)
        square = np.array([-arriving[1], arriving[0]])
        square = square if square[1] > 0 else -square
        origin = tip + 8.0 * arriving + 5.0 * square
        way = np.array([away(piece) * math.cos(rad), -math.sin(rad)])
        inward = np.array([way[1], -way[0]])
        inward = inward if inward[1] < 0 else -inward
        armhole = from_top(piece, Role.ARMHOLE)
        notch = next(n for n in only(piece, Role.ARMHOLE).notches if n.name == f"{side} pitch")
        p = along(dense(only(piece, Role.ARMHOLE).curve), notch.at)
        radius = math.dist(p, armhole[-1])
        # |origin + cap way + w inward - p| = radius, the farther of both points.
        d = origin + cap * way - p
        b = float(d @ inward)
        wanted = -b + math.sqrt(b * b - float(d @ d) + radius**2)
        widths += wanted

        # On the piece the overarm hangs upright: the width is read square to it.
        overarm = dense(only(half, Role.OVERARM_SEAM).curve)
        overarm = overarm if overarm[-1, 1] < overarm[0, 1] else overarm[::-1]
        assert overarm[-1, 0] == pytest.approx(overarm[-300, 0], abs=1e-3)
        under = dense(only(half, Role.UNDERARM_SEAM).curve)
        top = max(under[[0, -1]], key=lambda q: q[1])
        assert abs(top[0] - overarm[-1, 0]) == pytest.approx(wanted, abs=0.01)
        assert long(half, Role.CAP) == pytest.approx(long(after[side], Role.ARMHOLE), abs=0.1)
        total = walked(outer_shoulder(piece)) + sleeve_length(before)
        assert walked(overarm) == pytest.approx(total, abs=0.5)
    assert dict(after.facts)["raglan_angle.biceps_mm"] == pytest.approx(widths, abs=0.01)
    seams = [long(after[f"sleeve_{side}"], Role.UNDERARM_SEAM) for side in SIDES]
    assert seams[0] == pytest.approx(seams[1], abs=0.02)


# --- gusset -------------------------------------------------------------------------------------

SLITS = [(90.0, 90.0), (70.0, 50.0), (100.0, 120.0)]


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("angle", [35.0, 45.0])
def test_a_raglan_at_an_angle_has_no_horn_under_the_arm(
    block: str, size: str, angle: float
) -> None:
    """Left to itself the cap is so high that cap and underarm seam meet at 40 degrees or more."""
    before = block_of(block, size)
    after = RaglanAngle(overarm_angle=angle).apply(before)
    for side in SIDES:
        cap, under = (only(after[f"sleeve_{side}"], r) for r in (Role.CAP, Role.UNDERARM_SEAM))
        corner = shared_end(cap, under)
        ways = [point_away(dense(edge.curve), corner) for edge in (cap, under)]
        assert math.degrees(math.acos(float(ways[0] @ ways[1]))) > 40.0
    assert all(
        abs(p.wanted - p.got) <= p.within
        for p in RaglanAngle(overarm_angle=angle).promises(before, after)
        if "climbs" in p.what
    )


def test_a_cap_asked_so_low_that_it_ends_in_a_horn_falls_short() -> None:
    before, low = block_of("child_block", "110"), RaglanAngle(overarm_angle=45.0, cap_height=70.0)
    climbs = [p for p in low.promises(before, low.apply(before)) if "climbs" in p.what]
    assert any(p.got > p.wanted + p.within for p in climbs)


def shared_end(one: Edge, other: Edge) -> Array:
    """The corner at which two edges meet."""
    others = (other.curve.start, other.curve.end)
    ends = (one.curve.start, one.curve.end)
    return min(ends, key=lambda p: min(math.dist(p, q) for q in others))


def point_away(points: Array, corner: Array) -> Array:
    """The direction in which a polyline leaves one of its ends."""
    points = points if math.dist(points[0], corner) < 0.01 else points[::-1]
    return unit(points[1] - points[0])


def kimono_of(block: str, size: str) -> Pattern:
    return Kimono().apply(block_of(block, size))


def slit_legs(piece: Piece) -> tuple[Array, Array]:
    """Both legs of the slit, walked from its point."""
    one, other = (dense(e.curve) for e in piece.edges if e.role is Role.GUSSET_SEAM)
    tip = min((one[0], one[-1]), key=lambda p: min(math.dist(p, other[0]), math.dist(p, other[-1])))
    legs = [leg if math.dist(leg[0], tip) < 1e-9 else leg[::-1] for leg in (one, other)]
    return legs[0], legs[1]


@pytest.mark.parametrize(("length", "width"), SLITS)
@pytest.mark.parametrize("kind", ["diamond", "triangles"])
def test_a_gusset_has_the_closed_form(kind: str, length: float, width: float) -> None:
    """A rhombus of side s and diagonal w: w = 2 s sin(beta), its area w sqrt(s^2 - w^2 / 4).

    beta is half the angle at the slit point. Cut in two along w, each triangle has half the area
    and a base of w.
    """
    after = Gusset(kind=kind, length=length, width=width).apply(kimono_of("men_overblock", "50"))  # type: ignore[arg-type]
    names = ("gusset",) if kind == "diamond" else ("gusset_front", "gusset_back")
    whole = width * math.sqrt(length**2 - width**2 / 4)
    for name in names:
        piece = after[name]
        sides = [dense(e.curve) for e in piece.edges if e.role is Role.GUSSET_SEAM]
        for side in sides:
            assert walked(side) == pytest.approx(length, abs=1e-9)
        assert area_of(outline(piece)) == pytest.approx(whole / len(names), rel=1e-9)
        corners = np.array([dense(e.curve)[0] for e in piece.edges])
        gaps = np.hypot(*np.moveaxis(corners[:, None] - corners[None], 2, 0))
        assert abs(gaps - width).min() < 1e-9, "two corners stand as far apart as the width"
        points = corners[abs(corners[:, 1]) < 1e-9]  # slit points lie on the long diagonal
        for point in points:
            arms = [c - point for c in corners if abs(abs(c[1]) - width / 2) < 1e-9]
            beta = math.acos(float(unit(arms[0]) @ unit(arms[1]))) / 2
            assert 2 * length * math.sin(beta) == pytest.approx(width, abs=1e-9)
        assert len(points) == (2 if kind == "diamond" else 1)
    if kind == "triangles":
        bases = [long(after[name], Role.STYLE_SEAM) for name in names]
        assert bases == pytest.approx([width, width], abs=1e-9)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("kind", ["diamond", "triangles"])
def test_the_slit_is_as_long_as_asked_on_both_legs(block: str, size: str, kind: str) -> None:
    """It begins 6 mm of seam to either side of the underarm.

    What the half loses is the area between both legs and the 12 mm of seam that were there.
    """
    before, length = kimono_of(block, size), 75.0
    after = Gusset(kind=kind, length=length, width=70.0).apply(before)  # type: ignore[arg-type]
    for side in SIDES:
        was, now = before[side], after[side]
        legs = slit_legs(now)
        for leg in legs:
            assert walked(leg) == pytest.approx(length, abs=1e-6)
            assert math.dist(leg[0], leg[-1]) == pytest.approx(length, abs=1e-6)
        for role in (Role.UNDERARM_SEAM, Role.SIDE_SEAM):
            assert long(now, role) == pytest.approx(long(was, role) - 6.0, abs=1e-3)
        under, down = below_arm(was)
        tip = legs[0][0]
        bit = [tip, *(along(under[::-1], at) for at in np.linspace(6.0, 0.0, 50)),
               *(along(down, at) for at in np.linspace(0.0, 6.0, 50))]  # fmt: skip
        ring = Polygon(outline(was))
        assert ring.contains(Point(*tip))
        gone = Polygon(np.array(bit)).area
        assert area_of(outline(was)) - area_of(outline(now)) == pytest.approx(gone, abs=0.5)
        # Stitching turns 3 mm before the point, in the middle between the legs.
        hole = tip + 3.0 * unit(legs[0][-1] + legs[1][-1] - 2 * tip)
        assert min(math.dist(hole, h) for h in now.drill_holes) < 1e-6
        for upper in ("sleeve", "side"):
            seam = after.seam(f"gusset {side} {upper}")
            one, other = (
                sum(walked(dense(c)) for c in after.curves(s)) for s in (seam.first, seam.second)
            )
            assert one == pytest.approx(other, abs=1e-6)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("width", [60.0, 110.0])
def test_a_strip_is_as_long_as_underarm_and_side(block: str, size: str, width: float) -> None:
    """Front and back are equal there, so that the strip is an oblong: w times the length."""
    before = kimono_of(block, size)
    after = Gusset(kind="strip", width=width).apply(before)
    strip = after["gusset_strip"]
    below = {s: sum(map(walked, below_arm(before[s]))) for s in SIDES}
    lengths = [walked(dense(e.curve)) for e in strip.edges if e.role is Role.GUSSET_SEAM]
    assert sorted(lengths) == pytest.approx(sorted(below.values()), abs=1e-3)
    assert long(strip, Role.HEM) == pytest.approx(width, abs=1e-9)
    mean = sum(below.values()) / 2
    assert area_of(outline(strip)) == pytest.approx(width * mean, rel=1e-5)
    assert long(strip, Role.WRIST) == pytest.approx(
        math.hypot(width, below["front"] - below["back"])
    )
    marks = [{n.name: n.at for n in e.notches} for e in strip.edges if e.role is Role.GUSSET_SEAM]
    under = {s: walked(below_arm(before[s])[0]) for s in SIDES}
    # The notch where the underarm seam runs into the side seam, from the wrist (above) each.
    for edge, mark in zip(
        (e for e in strip.edges if e.role is Role.GUSSET_SEAM), marks, strict=True
    ):
        from_wrist = mark["underarm"]
        points = dense(edge.curve)
        if points[0, 1] < points[-1, 1]:
            from_wrist = walked(points) - from_wrist
        assert min(abs(from_wrist - u) for u in under.values()) < 0.02


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("part", [0.55, 0.6, 0.7])
def test_a_short_kimono_finds_a_radius_that_fits(block: str, size: str, part: float) -> None:
    before = block_of(block, size)
    wanted = part * sleeve_length(before)
    after = Kimono(length=wanted).apply(before)
    for side in SIDES:
        assert walked(overarm_of(after[side])) == pytest.approx(wanted, abs=0.01)


def leaning(block: Pattern, forward: float) -> Pattern:
    """A block whose side seam is drafted so far forward of its place, mm."""
    halves = [
        with_side_out(HalfBodice(block["front"], Side.FRONT), -forward),
        with_side_out(HalfBodice(block["back"], Side.BACK), forward),
    ]
    return block.with_pieces([*(half.piece for half in halves), block["sleeve"]])


@pytest.mark.parametrize("forward", [-32.0, 42.0])
@pytest.mark.parametrize("sleeve", ["one-piece", "two-piece"])
def test_a_side_seam_out_of_its_place_is_moved_as_far_as_needed(
    sleeve: Literal["one-piece", "two-piece"], forward: float
) -> None:
    """What the wrist cannot make up for is moved; the hem is as long in sum."""
    block = leaning(block_of("women_overblock", "40"), forward)
    after = Kimono(sleeve=sleeve).apply(block)
    moved = dict(after.facts)["kimono.side_forward_mm"]
    assert 1.0 < -moved * math.copysign(1.0, forward) < 25.0
    for role in (Role.SIDE_SEAM, Role.UNDERARM_SEAM):
        one, other = (long_each for p in after.pieces for long_each in lengths(p, role))
        assert one == pytest.approx(other, abs=0.02)
    for role in (Role.HEM, Role.CENTRE, Role.NECKLINE):
        was, now = (
            sum(n for p in pattern.pieces for n in lengths(p, role)) for pattern in (block, after)
        )
        assert now == pytest.approx(was, abs=1e-3)


def lengths(piece: Piece, role: Role) -> list[float]:
    return [walked(dense(edge.curve)) for edge in piece.with_role(role)]


def test_halves_too_unlike_for_a_kimono_are_refused() -> None:
    block = leaning(block_of("women_overblock", "40"), -60.0)
    with pytest.raises(
        OperationError, match="with the side seam moved by 25 mm the front is still"
    ):
        Kimono().apply(block)


@pytest.mark.parametrize(("length", "fits"), [(120.0, True), (200.0, False), (260.0, True)])
def test_a_sleeve_that_ends_beside_the_underarm_is_refused(length: float, fits: bool) -> None:
    """Too long for a cap and too short for an underarm seam, its edge would hook into the side seam."""
    block = block_of("women_overblock", "40")
    if not fits:
        with pytest.raises(OperationError, match="would hook into the side seam"):
            Kimono(length=length).apply(block)
        return
    after = Kimono(length=length).apply(block)
    for piece in after.pieces:
        for edge in piece.with_role(Role.WRIST):
            bends = np.abs(edge.curve.curvature_at(np.linspace(0.0, edge.length, 301)))
            assert bends.max() < 1 / 12.0
