"""Darts moved, gathered, sewn into a seam, opened at the elbow and trued: plane geometry by hand.

Pivoting is a rigid turn about the tip, so that areas and lengths stay and a mouth is a chord,
2 r sin(angle / 2). All of it is computed here from the block's points before the step.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from densely import SIDES, SIZES, Array, along, block_of, dense, long, walked
from oblong import rectangle
from samples_of_ours import BLOCKS, by_size, from_named
from sleevewright.errors import OperationError
from sleevewright.geometry import Curve
from sleevewright.operations.dart_pivot import DartPivot
from sleevewright.operations.dart_to_gather import DartToGather
from sleevewright.operations.dart_to_seam import DartToSeam
from sleevewright.operations.elbow_dart import ElbowDart
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.true_dart import TrueDart
from sleevewright.pattern import Edge, Pattern, Piece, Role
from sleevewright.pattern.naming import with_standard_names

WOMEN = sorted(by_size(from_named("women_overblock")))


def area_of(piece: Piece) -> float:
    x, y = np.concatenate([dense(edge.curve)[:-1] for edge in piece.edges]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def angle_at(apex: Array, a: Array, b: Array) -> float:
    """The angle under which a point sees two others, radians."""
    u, v = a - apex, b - apex
    return abs(math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v)))


def dart_points(piece: Piece, on: Role | None = None) -> tuple[Array, Array, Array]:
    """Tip of the dart that opens on a role, and the ends of its mouth, in outline order."""
    n = len(piece.edges)
    for i, edge in enumerate(piece.edges):
        after, before = piece.edges[(i + 1) % n], piece.edges[i - 1]
        if edge.role is not Role.DART_LEG or after.role is not Role.DART_LEG:
            continue
        if on is None or before.role is on:
            into, out = dense(edge.curve, 10), dense(after.curve, 10)
            assert math.dist(into[-1], out[0]) < 1e-9
            return into[-1], into[0], out[-1]
    raise AssertionError("no dart")


def darts_of(piece: Piece) -> dict[Role, tuple[Array, Array, Array]]:
    roles = [
        b.role
        for b, e in zip((piece.edges[-1], *piece.edges), piece.edges, strict=False)
        if e.role is Role.DART_LEG and b.role is not Role.DART_LEG
    ]
    return {role: dart_points(piece, role) for role in roles}


# --- dart-pivot ---------------------------------------------------------------------------------

MOVES = [("front", "side_seam", 0.3), ("front", "hem", 0.4), ("front", "shoulder", 0.5),
         ("front", "neckline", 0.5), ("back", "armhole", 0.5), ("back", "hem", 0.6),
         ("back", "neckline", 0.4)]  # fmt: skip


@pytest.mark.parametrize("size", WOMEN)
@pytest.mark.parametrize(("piece", "to", "at"), MOVES)
def test_a_pivoted_dart_is_the_same_angle_at_another_edge(
    piece: str, to: str, at: float, size: str
) -> None:
    """Mouth 2 r sin(angle / 2) for r from the tip to the new place; area and edges as before."""
    was = block_of("women_overblock", size)[piece]
    now = DartPivot(piece=piece, to=to, at=at).apply(block_of("women_overblock", size))[piece]
    tip, start, end = dart_points(was)
    angle = angle_at(tip, start, end)
    edge = dense(was[to].curve)
    place = along(edge, at * walked(edge))
    r = math.dist(tip, place)
    new_tip, new_start, new_end = dart_points(now)
    assert new_tip == pytest.approx(tip, abs=1e-9), "the tip is what stays"
    assert math.dist(new_tip, new_start) == pytest.approx(r, abs=1e-3)
    assert math.dist(new_tip, new_end) == pytest.approx(r, abs=1e-3)
    assert angle_at(new_tip, new_start, new_end) == pytest.approx(angle, abs=1e-9)
    assert math.dist(new_start, new_end) == pytest.approx(2 * r * math.sin(angle / 2), abs=1e-3)
    assert list(darts_of(now)) == [Role(to)]
    assert area_of(now) == pytest.approx(area_of(was), abs=0.2)
    for role in {e.role for e in was.edges} - {Role.DART_LEG}:
        assert long(now, role) == pytest.approx(long(was, role), abs=1e-4)


@pytest.mark.parametrize("size", WOMEN)
@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
def test_a_shared_dart_splits_its_angle(share: float, size: str) -> None:
    """Seen from the old tip: share and rest of the angle. Tips stand back along the middle lines.

    A tip set back by s lays the triangle of mouth w and height s on: area + s w / 2 for each dart.
    """
    short = 22.0
    was = block_of("women_overblock", size)["front"]
    step = DartPivot(to="side_seam", at=0.25, share=share, short=short)
    now = step.apply(block_of("women_overblock", size))["front"]
    tip, start, end = dart_points(was)
    angle = angle_at(tip, start, end)
    side = dense(was["side_seam"].curve)
    radii = {Role.ARMHOLE: math.dist(tip, start),
             Role.SIDE_SEAM: math.dist(tip, along(side, 0.25 * walked(side)))}  # fmt: skip
    parts = {Role.ARMHOLE: 1.0 - share, Role.SIDE_SEAM: share}
    added = 0.0
    found = darts_of(now)
    assert found.keys() == parts.keys()
    for role, (new_tip, a, b) in found.items():
        assert angle_at(tip, a, b) == pytest.approx(parts[role] * angle, abs=1e-6)
        mouth = 2 * radii[role] * math.sin(parts[role] * angle / 2)
        assert math.dist(a, b) == pytest.approx(mouth, abs=1e-3)
        middle = (a + b) / 2
        assert math.dist(tip, new_tip) == pytest.approx(short, abs=1e-6)
        assert math.dist(new_tip, middle) == pytest.approx(math.dist(tip, middle) - short, abs=1e-6)
        added += short * mouth / 2
    assert area_of(now) == pytest.approx(area_of(was) + added, abs=0.3)


@pytest.mark.parametrize("size", WOMEN)
def test_there_and_back_again(size: str) -> None:
    """Pivoted to the side and back to its place, every corner is where it was."""
    before = block_of("women_overblock", size)
    at = walked(dense(before["front"]["armhole.1"].curve)) / long(before["front"], Role.ARMHOLE)
    there = DartPivot(to="side_seam", at=0.3).apply(before)
    back = DartPivot(to="armhole", at=at).apply(there)
    one, other = (
        np.array([dense(e.curve, 1)[0] for e in p["front"].edges]) for p in (before, back)
    )
    gaps = np.hypot(*np.moveaxis(one[:, None] - other[None], 2, 0))
    assert gaps.min(axis=1).max() < 1e-3
    assert gaps.min(axis=0).max() < 1e-3


# --- dart-to-gather and true-dart on a straight edge -----------------------------------------------


def with_dart(width: float, height: float, mouth: float, depth: float, at: float) -> Pattern:
    """An oblong with a dart in its lower edge, symmetric about x = at."""
    block = rectangle(width, height)
    sleeve = block["sleeve"]
    a, b, tip = np.array([at - mouth / 2, 0]), np.array([at + mouth / 2, 0]), np.array([at, depth])
    drawn = [
        Edge(name="", role=role, curve=Curve.line(p, q))
        for role, p, q in (
            (Role.WRIST, (0, 0), a), (Role.DART_LEG, a, tip), (Role.DART_LEG, tip, b),
            (Role.WRIST, b, (width, 0)),
        )
    ]  # fmt: skip
    edges = with_standard_names((*drawn, *sleeve.edges[1:]))
    return replace(block, pieces=(replace(sleeve, edges=edges),))


@pytest.mark.parametrize(("mouth", "at"), [(12.0, 150.0), (30.0, 200.0), (50.0, 120.0)])
def test_a_dart_in_a_straight_edge_gathers_by_its_mouth(mouth: float, at: float) -> None:
    """Both parts lie in one line: drawn through, the edge is the whole width, fullness the mouth."""
    w, h, depth = 400.0, 500.0, 120.0
    before = with_dart(w, h, mouth, depth, at)
    after = DartToGather(piece="sleeve").apply(before)
    sleeve = after["sleeve"]
    assert long(sleeve, Role.WRIST) == pytest.approx(w, abs=1e-6)
    assert long(sleeve, Role.WRIST) - long(before["sleeve"], Role.WRIST) == pytest.approx(mouth)
    assert area_of(sleeve) == pytest.approx(w * h, rel=1e-9)
    assert area_of(before["sleeve"]) == pytest.approx(w * h - mouth * depth / 2, rel=1e-9)
    assert dict(after.facts)["gather.sleeve.wrist_ratio"] == pytest.approx(w / (w - mouth))


@pytest.mark.parametrize("size", WOMEN)
@pytest.mark.parametrize("piece", SIDES)
def test_a_dart_left_open_lengthens_its_edge_by_its_mouth(piece: str, size: str) -> None:
    """The edge gains the mouth, but for what drawing it fair over the corners takes: 15 % at most.

    Beyond 60 mm of the mouth either way not a point moves; the seam has the ratio of both sides.
    """
    before = block_of("women_overblock", size)
    after = DartToGather(piece=piece).apply(before)
    was, now = before[piece], after[piece]
    role = Role.ARMHOLE if piece == "front" else Role.SHOULDER
    _, start, end = dart_points(was)
    mouth = math.dist(start, end)
    assert long(now, role) - long(was, role) == pytest.approx(mouth, abs=0.15 * mouth + 0.5)
    (edge,) = (e for e in now.edges if e.role is role)
    line = LineString(dense(edge.curve))
    for old in (e for e in was.edges if e.role is role):
        for point in dense(old.curve)[::40]:
            if min(math.dist(point, start), math.dist(point, end)) > 60.0:
                assert line.distance(Point(*point)) < 1e-3
    assert not darts_of(now)
    seam = after.seam("front armhole" if piece == "front" else "shoulder")
    full, flat = (
        sum(walked(dense(c)) for c in after.curves(side)) for side in (seam.first, seam.second)
    )
    assert seam.gather == pytest.approx(full / flat, rel=1e-6)
    assert seam.first[0].piece == piece, "the gathered side comes first"


# --- dart-to-seam -------------------------------------------------------------------------------


@pytest.mark.parametrize("size", WOMEN)
@pytest.mark.parametrize(("piece", "at"), [("front", 0.5), ("front", 0.35), ("back", 0.5)])
def test_a_style_seam_runs_down_both_legs_and_on(piece: str, at: float, size: str) -> None:
    """Beyond 50 mm of the tip both edges lie on the legs and on the straight line to the hem.

    Both are equally long, and no longer than the longer way round by the corner at the tip.
    """
    before = block_of("women_overblock", size)
    after = DartToSeam(piece=piece, to="hem", at=at).apply(before)
    was = before[piece]
    tip, start, end = dart_points(was)
    hem = dense(was["hem"].curve)
    foot = along(hem, at * walked(hem))
    lines = [LineString([p, tip, foot]) for p in (start, end)]
    parts = [after[f"{piece}_{name}"] for name in ("centre", "side")]
    lengths = [long(part, Role.STYLE_SEAM) for part in parts]
    assert lengths[0] == pytest.approx(lengths[1], abs=1e-3)
    cornered = max(line.length for line in lines)
    straight = max(math.dist(p, foot) for p in (start, end))
    assert straight < lengths[0] <= cornered + 1e-6
    for part in parts:
        points = dense(next(e for e in part.edges if e.role is Role.STYLE_SEAM).curve)
        line = min(lines, key=lambda way: max(way.distance(Point(*p)) for p in points[[0, -1]]))
        for point in points[::25]:
            if math.dist(point, tip) > 50.5:
                assert line.distance(Point(*point)) < 1e-6
    for role in {e.role for e in was.edges} - {Role.DART_LEG}:
        assert sum(long(part, role) for part in parts) == pytest.approx(long(was, role), abs=1e-3)


# --- elbow-dart ---------------------------------------------------------------------------------


def at_level(points: Array, y: float) -> Array:
    order = np.argsort(points[:, 1])
    return np.array([np.interp(y, points[order, 1], points[order, 0]), y])


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("width", [8.0, 12.0, 25.0])
def test_an_elbow_dart_lengthens_the_back_by_its_mouth(block: str, size: str, width: float) -> None:
    """On the elbow line half way from biceps to wrist, the mouth is a chord about the other seam.

    Turn: 2 asin(w / 2 a) for the width a of the sleeve there; wrist corners turn by as much. The
    legs are a / 3 (75 mm at most), so that the unfolded back seam is longer by the width.
    """
    before = block_of(block, size)
    was, now = before["sleeve"], ElbowDart(width=width).apply(before)["sleeve"]
    seams = {s: dense(was[f"underarm_seam.{s}"].curve) for s in SIDES}
    wrist = dense(was["wrist"].curve)
    biceps = np.mean([points[:, 1].max() for points in seams.values()])
    level = float(biceps + wrist[[0, -1], 1].mean()) / 2
    opened, hinge = (at_level(seams[s], level) for s in ("back", "front"))
    across = math.dist(opened, hinge)

    tip, start, end = dart_points(now)
    assert math.dist(start, end) == pytest.approx(width, abs=1e-4)
    upper = max((start, end), key=lambda p: p[1])
    assert upper == pytest.approx(opened, abs=1e-3)
    legs = [math.dist(tip, p) for p in (start, end)]
    assert legs == pytest.approx([min(75.0, across / 3)] * 2, abs=1e-3)
    outer = sum(
        walked(dense(e.curve))
        for e in now.edges
        if e.role is Role.UNDERARM_SEAM and e.side == "back"
    )
    assert outer == pytest.approx(walked(seams["back"]), abs=1e-3), "folded, as long as it was"
    assert outer + math.dist(start, end) == pytest.approx(walked(seams["back"]) + width, abs=1e-3)
    front = sum(
        walked(dense(e.curve))
        for e in now.edges
        if e.role is Role.UNDERARM_SEAM and e.side == "front"
    )
    assert front == pytest.approx(walked(seams["front"]), abs=0.01)

    turn = 2 * math.asin(width / (2 * across))
    turn = turn if opened[0] < hinge[0] else -turn  # the back opens downwards
    cos, sin = math.cos(turn), math.sin(turn)
    new_wrist = dense(now["wrist"].curve)
    turning = np.array([[cos, sin], [-sin, cos]])
    wanted = hinge + (wrist[[0, 500, -1]] - hinge) @ turning
    assert new_wrist[[0, 500, -1]] == pytest.approx(wanted, abs=1e-3)


@pytest.mark.parametrize("length", [50.0, 90.0])
def test_an_elbow_dart_has_the_length_asked(length: float) -> None:
    """Equal legs: the tip lies on the middle line of the mouth, sqrt(l^2 - w^2 / 4) from it."""
    for block in BLOCKS:
        now = ElbowDart(width=14.0, length=length).apply(from_named(block)[0])["sleeve"]
        tip, start, end = dart_points(now)
        depth = math.sqrt(length**2 - 7.0**2)
        assert math.dist(tip, (start + end) / 2) == pytest.approx(depth, abs=1e-3)
        assert abs(float((tip - (start + end) / 2) @ (end - start))) < 1e-3


# --- true-dart ----------------------------------------------------------------------------------


def folded_edge(piece: Piece, role: Role) -> tuple[Array, Array]:
    """Both parts of the edge as they lie when the dart is folded: the second turned about the tip."""
    tip, start, end = dart_points(piece, role)
    before, after = (
        next(dense(e.curve, 2000) for e in piece.edges if e.role is role
             and math.dist(dense(e.curve, 1)[i], p) < 1e-9)
        for i, p in ((-1, start), (0, end))
    )  # fmt: skip
    u, v = end - tip, start - tip
    turn = math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))
    cos, sin = math.cos(turn), math.sin(turn)
    return before, tip + (after - tip) @ np.array([[cos, sin], [-sin, cos]])


def kink(before: Array, after: Array) -> float:
    """The corner between two lines that meet, degrees."""
    u, v = before[-1] - before[-2], after[1] - after[0]
    return math.degrees(abs(math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))))


TRUED = [("front", None, Role.ARMHOLE), ("back", None, Role.SHOULDER), ("front", "side_seam", Role.SIDE_SEAM),
         ("front", "shoulder", Role.SHOULDER), ("front", "hem", Role.HEM)]  # fmt: skip


@pytest.mark.parametrize("size", WOMEN)
@pytest.mark.parametrize(("piece", "to", "role"), TRUED)
def test_a_trued_dart_folds_to_a_smooth_edge(
    piece: str, to: str | None, role: Role, size: str
) -> None:
    """Folded about its new tip the edge has no corner; it moved 3 mm at most and kept its length.

    Common practice: within a degree, blended by 3 mm at most; equal legs.
    """
    short = 25.0
    before = block_of("women_overblock", size)
    if to:
        before = DartPivot(piece=piece, to=to).apply(before)
    was, now = before[piece], TrueDart(piece=piece, short=short).apply(before)[piece]
    tip, start, end = dart_points(was, role)
    new_tip, new_start, new_end = dart_points(now, role)
    middle = (start + end) / 2 - tip
    assert new_tip == pytest.approx(tip + short * middle / math.hypot(*middle), abs=1e-6)
    legs = [math.dist(new_tip, p) for p in (new_start, new_end)]
    assert legs[0] == pytest.approx(legs[1], abs=0.1)
    one, other = folded_edge(now, role)
    assert math.dist(one[-1], other[0]) < 0.1
    assert kink(one, other) < 1.0
    assert long(now, role) == pytest.approx(long(was, role), abs=0.3)
    old = [LineString(dense(e.curve)) for e in was.edges if e.role is role]
    points = np.concatenate([dense(e.curve)[::50] for e in now.edges if e.role is role])
    assert max(min(line.distance(Point(*p)) for line in old) for p in points) < 3.0


@pytest.mark.parametrize("size", WOMEN)
def test_the_cap_of_a_trued_dart_continues_the_edge_when_mirrored(size: str) -> None:
    """Cloth folded in a dart lies mirrored about the leg: what is cut beyond it follows the edge.

    The second part of the edge, turned onto the first, is the line that the dart's cap is cut
    along; mirrored in the leg it must leave the mouth as the edge arrives there, mirrored.
    """
    now = TrueDart(piece="front").apply(block_of("women_overblock", size))["front"]
    one, other = folded_edge(now, Role.ARMHOLE)
    tip, start, _ = dart_points(now, Role.ARMHOLE)
    u = (start - tip) / math.dist(start, tip)

    def mirrored(points: Array) -> Array:
        d = points - tip
        return np.asarray(tip + 2 * np.outer(d @ u, u) - d)

    cap, edge = mirrored(other), mirrored(one)
    assert cap[0] == pytest.approx(edge[-1], abs=0.1)
    assert kink(edge, cap) < 1.0
    # Setting the tip back opens the angle: that much is the corner to blend, and no 4 mm turn by it.
    old_tip, a, b = dart_points(block_of("women_overblock", size)["front"])
    new_tip, c, d = dart_points(now, Role.ARMHOLE)
    corner = math.degrees(angle_at(new_tip, c, d) - angle_at(old_tip, a, b))
    assert corner > 3.0
    whole = np.concatenate([one[:-1], other])
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(whole, axis=0).T))])
    at = np.arange(run[len(one) - 1] - 20.0, run[len(one) - 1] + 20.0, 4.0)
    spots = np.stack([np.interp(at, run, column) for column in whole.T], axis=1)
    steps = np.diff(spots, axis=0)
    turns = np.degrees(np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))))
    assert abs(turns).max() < 0.8 * corner


@pytest.mark.parametrize("size", WOMEN)
def test_a_trued_shoulder_bends_one_way(size: str) -> None:
    """Both parts of the shoulder are straight: over the folded dart it turns one way, evenly."""
    now = TrueDart(piece="back").apply(block_of("women_overblock", size))["back"]
    one, other = folded_edge(now, Role.SHOULDER)
    whole = np.concatenate([one[:-1], other])
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(whole, axis=0).T))])
    at = np.arange(run[len(one) - 1] - 20.0, run[len(one) - 1] + 20.0, 4.0)
    steps = np.diff(np.stack([np.interp(at, run, c) for c in whole.T], axis=1), axis=0)
    turns = np.degrees(np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))))
    assert turns.max() < 0.05
    assert abs(turns).max() < 0.4 * abs(turns.sum())


@pytest.mark.parametrize("at", [0.15, 0.3, 0.45])
def test_a_dart_moves_along_the_edge_that_it_opens_on(at: float) -> None:
    """The edge counts whole, as it is when the dart is sewn; the parts are numbered from its start."""
    block = DartPivot(to="side_seam", at=0.3).apply(block_of("women_overblock", "40"))
    was, pivot = block["front"], DartPivot(to="side_seam", at=at)
    after = pivot.apply(block)
    now = after["front"]
    total = was.length(Role.SIDE_SEAM)
    upper, lower = now["side_seam.1"], now["side_seam.2"]
    assert (upper.length, lower.length) == pytest.approx((at * total, (1 - at) * total), abs=1e-6)
    assert now.neighbours(upper.name)[0].role is Role.ARMHOLE
    assert now.neighbours(lower.name)[1].role is Role.HEM
    assert area_of(now) == pytest.approx(area_of(was), abs=0.5)
    tip, start, end = dart_points(was)
    assert angle_at(*dart_points(now)) == pytest.approx(angle_at(tip, start, end), abs=1e-9)
    for promise in pivot.promises(block, after):
        assert abs(promise.got - promise.wanted) <= promise.within, promise.what
    side = after.seam("side")
    assert [use.edge for use in side.first] == ["side_seam.1", "side_seam.2"]


def test_a_share_of_a_dart_stays_clear_of_its_mouth() -> None:
    block = DartPivot(to="side_seam", at=0.3).apply(block_of("women_overblock", "40"))
    with pytest.raises(OperationError, match="opens 8 mm from there already"):
        DartPivot(to="side_seam", at=0.32, share=0.5).apply(block)
    shared = DartPivot(to="side_seam", at=0.7, share=0.5).apply(block)["front"]
    assert [edge.name for edge in shared.with_role(Role.SIDE_SEAM)] == [
        "side_seam.1", "side_seam.2", "side_seam.3",
    ]  # fmt: skip


def test_a_neck_dart_does_not_go_to_a_raglan_sleeve() -> None:
    """Its legs have nothing to close into there; at the shoulder the fullness goes into the seam."""
    block = DartPivot(piece="back", to="neckline").apply(block_of("women_overblock", "40"))
    with pytest.raises(OperationError, match="move it to the shoulder with dart-pivot"):
        Raglan(line="yoke").apply(block)
    moved = DartPivot(piece="back", to="shoulder").apply(block)
    assert not list(Raglan(line="yoke").apply(moved)["back"].darts())


def test_a_deep_raglan_says_that_a_dart_is_in_its_way() -> None:
    block = DartPivot(to="side_seam", at=0.06).apply(block_of("women_overblock", "40"))
    with pytest.raises(OperationError, match="runs 24 mm to its next corner"):
        Raglan(line="deep").apply(block)
