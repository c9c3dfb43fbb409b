"""Panels, tiers and join against closed forms and sums over dense polylines.

Expected numbers come from the control points of the block before the step: every cubic is walked
by its Bernstein form here, so that neither arc lengths nor areas are the package's own.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LinearRing, Point

from densely import SIZES, Array, block_of, dense, outline, walked
from oblong import rectangle
from samples_of_ours import from_named
from sleevewright.errors import OperationError
from sleevewright.geometry import Curve
from sleevewright.operations.join import Join
from sleevewright.operations.panels import Panels, StyleLine
from sleevewright.operations.tiers import Tiers
from sleevewright.pattern import Piece, Role

SOME = [("women_overblock", "36"), ("women_overblock", "44"), ("men_overblock", "50"),
        ("child_block", "98")]  # fmt: skip


def area_of(piece: Piece) -> float:
    x, y = outline(piece).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def length_of(piece: Piece, role: Role) -> float:
    return sum(walked(dense(edge.curve)) for edge in piece.edges if edge.role is role)


def perimeter_of(piece: Piece) -> float:
    return sum(walked(dense(edge.curve)) for edge in piece.edges)


def at_part(points: Array, part: float) -> Array:
    """The point at a part of the length of a polyline."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return np.array([np.interp(part * run[-1], run, column) for column in points.T])


# --- panels -------------------------------------------------------------------------------------


@pytest.mark.parametrize("n", [2, 3, 5, 8])
def test_equal_panels_of_an_oblong_are_equal_oblongs(n: int) -> None:
    """A width of w in n panels: n oblongs of w / n by h."""
    w, h = 360.0, 480.0
    after = Panels(count=n).apply(rectangle(w, h))
    places = []
    for k in range(1, n + 1):
        piece = after[f"sleeve_{k}"]
        places.append(outline(piece)[:, 0].mean())
        assert length_of(piece, Role.WRIST) == pytest.approx(w / n, abs=1e-9)
        assert area_of(piece) == pytest.approx(w * h / n, rel=1e-12)
        assert perimeter_of(piece) == pytest.approx(2 * (w / n + h), abs=1e-9)
    steps = np.diff(places)
    assert len(after.pieces) == n
    assert abs(steps) == pytest.approx(w / n, rel=1e-9), "numbered in their order"
    assert len(set(np.sign(steps))) == 1


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("n", [2, 3, 4])
def test_equal_panels_of_a_sleeve_share_wrist_and_area(block: str, size: str, n: int) -> None:
    """Wrist: 1/n of the arc each. Cap: 1/n of its arc, but for a line ending at the crown 3 mm off."""
    sleeve = block_of(block, size)["sleeve"]
    pieces = Panels(count=n).apply(block_of(block, size)).pieces
    panels = [p for p in pieces if p.name.startswith("sleeve_")]
    assert len(panels) == n
    wrist, cap = (length_of(sleeve, role) for role in (Role.WRIST, Role.CAP))
    for panel in panels:
        assert length_of(panel, Role.WRIST) == pytest.approx(wrist / n, abs=1e-3)
        assert length_of(panel, Role.CAP) == pytest.approx(cap / n, abs=3.0)
    assert sum(area_of(p) for p in panels) == pytest.approx(area_of(sleeve), abs=0.5)
    assert sum(length_of(p, Role.CAP) for p in panels) == pytest.approx(cap, abs=1e-3)


@pytest.mark.parametrize(("block", "size"), SOME)
def test_a_panel_seam_is_the_chord_between_its_ends(block: str, size: str) -> None:
    """From k/n of the wrist to 1 - k/n of the cap: their straight distance, on both panels."""
    before = block_of(block, size)
    after = Panels(count=3).apply(before)
    wrist = dense(before["sleeve"]["wrist"].curve)
    cap = np.concatenate([dense(before["sleeve"][f"cap.{s}"].curve) for s in ("front", "back")])
    for k in (1, 2):
        chord = math.dist(at_part(wrist, k / 3), at_part(cap, 1 - k / 3))
        seam = after.seam(f"sleeve style {k}")
        for side in (seam.first, seam.second):
            got = sum(walked(dense(c)) for c in after.curves(side))
            assert got == pytest.approx(chord, abs=0.01)


@pytest.mark.parametrize("bow", [-40.0, 12.0, 60.0])
def test_a_bowed_line_is_a_parabola(bow: float) -> None:
    """Handles at the thirds moved by 4/3 b make y = 4 b t (1 - t): its area is 2/3 b h.

    Its length is the parabola's: with q = 4 b / h, h / 2 (sqrt(1 + q^2) + asinh(q) / q).
    """
    w, h = 400.0, 500.0
    after = Panels(lines=(StyleLine(start="wrist", end="cap", bow=bow),)).apply(rectangle(w, h))
    q = abs(4 * bow / h)
    long = h / 2 * (math.sqrt(1 + q * q) + math.asinh(q) / q)
    areas = []
    for piece in after.pieces:
        assert length_of(piece, Role.STYLE_SEAM) == pytest.approx(long, abs=1e-3)
        areas.append(area_of(piece))
    # It runs from the wrist up, so that its left is towards the back seam, at x = 0.
    left = w * h / 2 - 2 / 3 * bow * h
    assert sorted(areas) == pytest.approx(sorted([left, w * h - left]), abs=0.1)
    back = next(p for p in after.pieces if p.has(Role.UNDERARM_SEAM) and outline(p)[:, 0].min() < 1)
    assert area_of(back) == pytest.approx(left, abs=0.1)


@pytest.mark.parametrize(("block", "size"), SOME)
def test_balance_notches_stand_alike_on_both_panels(block: str, size: str) -> None:
    """A notch's point is on both edges of the one cut, so each pair is one point of the block."""
    after = Panels(count=2).apply(block_of(block, size))
    seam = after.seam("sleeve style 1")
    spots = []
    for use in seam.uses:
        edge = after[use.piece][use.edge]
        points = dense(edge.curve)
        spots.append({n.name: at_part(points, n.at / walked(points)) for n in edge.notches})
    assert spots[0].keys() == spots[1].keys()
    assert len(spots[0]) >= 1
    for name, spot in spots[0].items():
        assert math.dist(spot, spots[1][name]) < 0.01
    # Turned end for end a panel's notches miss those of its mate: it cannot be set in reversed.
    edge = after[seam.first[0].piece][seam.first[0].edge]
    ats = [n.at for n in edge.notches]
    turned = sorted(edge.length - at for at in ats)
    assert max(abs(a - b) for a, b in zip(sorted(ats), turned, strict=True)) > 10.0


# --- tiers --------------------------------------------------------------------------------------


def corners_of(edge_curve: Curve) -> Array:
    return np.array([edge_curve.controls[0, 0], edge_curve.controls[-1, 3]])


def flat_edges(tier: Piece) -> tuple[Curve, Curve]:
    """The upper and the lower edge of a tier, by height."""
    beside = (Role.UNDERARM_SEAM, Role.SIDE_SEAM, Role.CENTRE)
    found = [e.curve for e in tier.edges if e.role not in beside]
    found.sort(key=lambda c: float(corners_of(c)[:, 1].mean()))
    return found[-1], found[0]


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.2])
@pytest.mark.parametrize("count", [2, 3, 5])
def test_tiers_of_an_oblong_grow_by_powers_of_the_ratio(count: int, ratio: float) -> None:
    """Widths w r^(k-1), heights h / n each: areas w r^(k-1) h / n, a geometric series in all."""
    w, h = 300.0, 500.0
    after = Tiers(count=count, ratio=ratio).apply(rectangle(w, h))
    for k in range(1, count + 1):
        wide, tier = w * ratio ** (k - 1), after[f"sleeve_tier_{k}"]
        for curve in flat_edges(tier):
            assert walked(dense(curve)) == pytest.approx(wide, rel=1e-9)
        assert area_of(tier) == pytest.approx(wide * h / count, rel=1e-9)
        low, high = outline(tier)[:, 1].min(), outline(tier)[:, 1].max()
        assert high - low == pytest.approx(h / count, abs=1e-6)
    series = count if ratio == 1.0 else (ratio**count - 1) / (ratio - 1)
    total = sum(area_of(piece) for piece in after.pieces)
    assert total == pytest.approx(w * h / count * series, rel=1e-9)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(("count", "ratio"), [(2, 1.4), (3, 1.6)])
def test_tiers_of_a_sleeve_follow_their_recursion(
    block: str, size: str, count: int, ratio: float
) -> None:
    """With block widths b_k at the cuts, top_k = r bottom_(k-1) and bottom_k = b_k + top_k - b_(k-1).

    The sides only move apart; cuts lie at equal heights between biceps line and wrist.
    """
    sleeve = block_of(block, size)["sleeve"]
    after = Tiers(count=count, ratio=ratio).apply(block_of(block, size))
    seams = [dense(sleeve[f"underarm_seam.{s}"].curve) for s in ("front", "back")]
    top = np.mean([seam[:, 1].max() for seam in seams])
    low = min(corners_of(sleeve["wrist"].curve)[:, 1])
    cuts = [top - (top - low) * k / count for k in range(1, count)]

    def width(y: float) -> float:
        x = [np.interp(y, *seam[np.argsort(seam[:, 1])].T[::-1]) for seam in seams]
        return float(abs(x[0] - x[1]))

    widths = [width(y) for y in cuts]
    widths.append(math.dist(*corners_of(sleeve["wrist"].curve)))
    bottom = widths[0]
    assert math.dist(*corners_of(flat_edges(after["sleeve_tier_1"])[1])) == pytest.approx(
        bottom, abs=1e-3
    )
    for k in range(2, count + 1):
        upper, lower = flat_edges(after[f"sleeve_tier_{k}"])
        wanted = ratio * bottom
        assert walked(dense(upper)) == pytest.approx(wanted, abs=0.01)
        assert corners_of(upper)[:, 1] == pytest.approx(cuts[k - 2], abs=1e-6)
        bottom = widths[k - 1] + wanted - widths[k - 2]
        assert math.dist(*corners_of(lower)) == pytest.approx(bottom, abs=0.01)
        seam = after.seam(f"sleeve tier {k}")
        assert seam.gather == pytest.approx(ratio, rel=1e-6)
        assert [u.piece for u in seam.first] == [f"sleeve_tier_{k}"]
    for side in ("front", "back"):
        long = sum(
            walked(dense(e.curve))
            for p in after.pieces
            for e in p.edges
            if e.role is Role.UNDERARM_SEAM and e.side == side
        )
        assert long == pytest.approx(walked(dense(sleeve[f"underarm_seam.{side}"].curve)), abs=1e-3)


@pytest.mark.parametrize(("block", "size"), SOME)
@pytest.mark.parametrize("piece", ["front", "back"])
def test_bodice_tiers_grow_from_the_fold(block: str, size: str, piece: str) -> None:
    """The fold stays in its line; only the side moves, and the centre's heights add up."""
    before = block_of(block, size)
    after = Tiers(piece=piece, count=2, ratio=1.5).apply(before)
    centre = corners_of(before[piece]["centre"].curve)
    tiers = [after[f"{piece}_tier_{k}"] for k in (1, 2)]
    heights = 0.0
    for tier in tiers:
        ends = corners_of(tier[tier.fold].curve)
        assert ends[:, 0] == pytest.approx(centre[0, 0], abs=1e-6)
        heights += abs(ends[0, 1] - ends[1, 1])
    assert heights == pytest.approx(abs(centre[0, 1] - centre[1, 1]), abs=1e-6)
    above, below = flat_edges(tiers[0])[1], flat_edges(tiers[1])[0]
    assert walked(dense(below)) == pytest.approx(1.5 * walked(dense(above)), abs=0.01)


@pytest.mark.parametrize(("block", "size"), SOME)
def test_quarter_notches_of_a_tier(block: str, size: str) -> None:
    """On both edges of a tier's seam: 1/4, 1/2 and 3/4 of each, named alike from the same end."""
    after = Tiers(count=3, ratio=1.7).apply(block_of(block, size))
    for k in (2, 3):
        seam = after.seam(f"sleeve tier {k}")
        for use in seam.uses:
            edge = after.edge(use)
            long = walked(dense(edge.curve))
            marks = {n.name: n.at / long for n in edge.notches}
            assert [marks[f"{seam.name} {i}"] for i in (1, 2, 3)] == pytest.approx(
                [0.25, 0.5, 0.75], abs=1e-4
            )


# --- join ---------------------------------------------------------------------------------------


def notch_points(piece: Piece) -> dict[str, Array]:
    """Where every notch is, by its name."""
    return {
        n.name: at_part(dense(e.curve), n.at / walked(dense(e.curve)))
        for e in piece.edges
        for n in e.notches
    }


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("bow", [0.0, 25.0])
def test_joining_two_panels_gives_the_sum(block: str, size: str, bow: float) -> None:
    """Area: the sum. Outline: the sum less twice the seam. So the sleeve is what it was."""
    line = StyleLine(start="wrist", start_at=0.4, end="cap.back", end_at=0.3, bow=bow)
    before = block_of(block, size)
    cut = Panels(lines=(line,)).apply(before)
    parts = [cut["sleeve_1"], cut["sleeve_2"]]
    seam = walked(dense(parts[0].with_role(Role.STYLE_SEAM)[0].curve))
    after = Join(seam="sleeve style 1", name="sleeve").apply(cut)
    whole = after["sleeve"]
    area, around = (sum(f(p) for p in parts) for f in (area_of, perimeter_of))
    assert area_of(whole) == pytest.approx(area, abs=0.5)
    assert perimeter_of(whole) == pytest.approx(around - 2 * seam, abs=1e-3)
    assert area_of(whole) == pytest.approx(area_of(before["sleeve"]), abs=0.5)
    # Cap and wrist, parted by the cut, are one edge again; every notch is where it was.
    assert [e.role for e in whole.edges].count(Role.WRIST) == 1
    spots = notch_points(whole)
    for name, point in notch_points(before["sleeve"]).items():
        assert spots[name] == pytest.approx(point, abs=0.01)
    assert not whole.has(Role.STYLE_SEAM)
    assert "sleeve style 1" not in [s.name for s in after.seams]


@pytest.mark.parametrize("size", ["98", "110", "122"])
@pytest.mark.parametrize("seam", ["shoulder", "side"])
def test_joining_bodice_halves_moves_the_second_rigidly(seam: str, size: str) -> None:
    """The child's halves have straight seams of one length; the front here is cut whole.

    The first piece stays where it was; of the second every distance is kept, and nothing else of
    either outline is longer or shorter.
    """
    before = block_of("child_block", size)
    before = before.with_pieces([replace(before["front"], fold="")])
    first, second = (s[0].piece for s in (before.seam(seam).first, before.seam(seam).second))
    role = Role.SHOULDER if seam == "shoulder" else Role.SIDE_SEAM
    long = length_of(before[first], role)
    whole = Join(seam=seam, name="body").apply(before)["body"]
    area, around = (
        sum(f(before[name]) for name in (first, second)) for f in (area_of, perimeter_of)
    )
    assert area_of(whole) == pytest.approx(area, rel=1e-6)
    assert perimeter_of(whole) == pytest.approx(around - 2 * long, abs=0.01)

    # Where the hem runs on smoothly no corner is left, so that points are looked for on the line.
    line = LinearRing(outline(whole))
    assert (
        max(line.distance(Point(*p)) for e in before[first].edges for p in corners_of(e.curve))
        < 1e-3
    )
    # The ends of the second one's centre are corners of the body, as far from the seam's ends.
    corners = np.array([corners_of(edge.curve)[0] for edge in whole.edges])
    ends = corners_of(before[second].with_role(role)[0].curve)
    seam_ends = corners_of(before[first].with_role(role)[0].curve)[::-1]
    for end in corners_of(before[second]["centre"].curve):
        reach = np.hypot(*(ends - end).T)
        found = np.hypot(*np.moveaxis(corners[:, None] - seam_ends[None], 2, 0))
        assert abs(found - reach).max(axis=1).min() < 1e-3


@pytest.mark.parametrize(
    ("block", "seam", "words"),
    [
        ("men_overblock", "shoulder", "eased"),
        ("men_overblock", "back armhole", "eased"),
        ("child_block", "underarm", "within one piece"),
        ("child_block", "side", "both lie on a fold"),
        ("women_overblock", "shoulder", "several edges"),
    ],
)
def test_seams_that_cannot_be_one_line_are_refused(block: str, seam: str, words: str) -> None:
    with pytest.raises(OperationError, match=words):
        Join(seam=seam).apply(from_named(block)[0])
