"""Every dart that is left has a notch at each leg and a drill hole short of its tip."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from samples_of_ours import from_svg, recipe
from sleevewright.checking import dart_marks, notches
from sleevewright.findings import Status
from sleevewright.finishing import finish
from sleevewright.finishing.dart_marks import SHORT_OF_TIP, drill_hole, with_dart_marks
from sleevewright.operations.raglan import Raglan
from sleevewright.pattern import Dart, Piece, Role
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pipeline.convert import convert
from straight_pieces import straight_piece

WOMEN = from_svg("women_overblock")
ROLES = (Role.HEM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)


def darted(depth: float = 60.0, fold: str = "") -> Piece:
    """A box with a dart 20 mm wide in the middle of its right side."""
    corners = (
        (0.0, 0.0), (100.0, 0.0), (100.0, 90.0), (100.0 - depth, 100.0), (100.0, 110.0),
        (100.0, 200.0), (0.0, 200.0),
    )  # fmt: skip
    roles = (
        Role.HEM, Role.SIDE_SEAM, Role.DART_LEG, Role.DART_LEG, Role.SIDE_SEAM, Role.NECKLINE,
        Role.CENTRE,
    )  # fmt: skip
    return straight_piece("front", corners, roles, fold=fold)


def only_dart(piece: Piece) -> Dart:
    (dart,) = piece.darts()
    return dart


def leg_notches(piece: Piece) -> list[tuple[str, float, str]]:
    return [(e.name, n.at, n.name) for e in piece.edges for n in e.notches if "dart" in n.name]


def test_a_notch_at_each_leg_and_a_hole_before_the_tip() -> None:
    marked = with_dart_marks(darted(), FinishSettings())
    assert leg_notches(marked) == [
        ("side_seam", 90.0, "dart front"), ("side_seam.2", 0.0, "dart front"),
    ]  # fmt: skip
    assert marked.drill_holes == (pytest.approx((40.0 + SHORT_OF_TIP, 100.0)),)


@pytest.mark.parametrize("depth", [6.0, 15.0])
def test_the_hole_of_a_very_short_dart_is_half_way_along_its_legs(depth: float) -> None:
    leg = float(np.hypot(depth, 10.0))
    (x, y) = drill_hole(only_dart(darted(depth)))
    assert y == pytest.approx(100.0)
    assert x - (100.0 - depth) == pytest.approx(leg / 2)


def test_what_lies_on_the_fold_is_not_notched() -> None:
    marked = with_dart_marks(darted(fold="side_seam"), FinishSettings())
    assert leg_notches(marked) == [("side_seam.2", 0.0, "dart front")]
    assert len(marked.drill_holes) == 1


def test_holes_that_are_there_stay() -> None:
    marked = with_dart_marks(replace(darted(), drill_holes=((10.0, 10.0),)), FinishSettings())
    assert marked.drill_holes[0] == (10.0, 10.0)
    assert len(marked.drill_holes) == 2


# --- on the samples ----------------------------------------------------------------------------


def inside(piece: Piece, dart: Dart) -> list[tuple[float, float]]:
    legs = [leg.curve.flattened(0.01) for leg in (dart.into, dart.out)]
    area = Polygon(np.concatenate(legs))
    return [hole for hole in piece.drill_holes if area.contains(Point(hole))]


@pytest.mark.parametrize("block", WOMEN, ids=lambda b: b.size)
@pytest.mark.parametrize(
    ("name", "piece", "on"),
    [
        ("classic-raglan", "front", Role.SIDE_SEAM),
        ("bust-dart-to-shoulder", "front", Role.SHOULDER),
        ("bust-dart-shared", "front", Role.HEM),
        ("puff-head", "back", Role.SHOULDER),
        ("elbow-dart-sleeve", "sleeve", Role.UNDERARM_SEAM),
        ("tiered-body", "front_tier_1", Role.ARMHOLE),
    ],
)
def test_the_dart_that_is_left_is_marked(block: object, name: str, piece: str, on: Role) -> None:
    found = convert(block, recipe(name)).pattern[piece]
    dart = next(d for d in found.darts() if d.on is on)
    (hole,) = inside(found, dart)
    assert np.hypot(*(dart.tip - hole)) == pytest.approx(12.0)
    cut = LineString(np.concatenate([c.curve.flattened(0.005) for c in found.finish.cut_line]))
    for mouth, away in zip(
        dart.mouth, (dart.into.curve.start_direction, -dart.out.curve.end_direction), strict=True
    ):
        (mark,) = [m for m in found.finish.notches if np.hypot(*(mouth - m.sew_point)) < 0.01]
        assert mark.direction == pytest.approx(tuple(away))
        assert cut.distance(Point(mark.point)) < 0.02
        # on the leg, run straight on: there its stitching begins
        way = mouth - np.array(mark.point)
        assert way / np.hypot(*way) == pytest.approx(away, abs=1e-6)


@pytest.mark.parametrize("block", WOMEN[::2], ids=lambda b: b.size)
def test_notches_fall_on_one_another_when_the_dart_is_folded(block: object) -> None:
    """Trued, its cut edges are flush as well, as far as the edge is fair."""
    piece = convert(block, recipe("bust-dart-to-shoulder")).pattern["front"]
    dart = only_dart(piece)
    marks = [m for m in piece.finish.notches if m.name == "dart front"]
    reach = [float(np.hypot(*(dart.tip - m.point))) for m in marks]
    assert reach[0] == pytest.approx(reach[1], abs=0.5)


def test_a_whole_piece_has_the_marks_of_both_its_darts() -> None:
    whole = finish(WOMEN[2], FinishSettings(whole=True))["front"]
    darts = tuple(whole.darts())
    assert len(darts) == 2
    assert all(len(inside(whole, dart)) == 1 for dart in darts)
    assert len([m for m in whole.finish.notches if m.name == "dart front"]) == 4


def test_two_darts_of_a_piece_are_told_apart() -> None:
    piece = convert(WOMEN[2], recipe("bust-dart-shared")).pattern["front"]
    assert {name for _, _, name in leg_notches(piece)} == {"dart front 1", "dart front 2"}


@pytest.mark.parametrize("name", ["bust-dart-to-gathers", "princess-armhole"])
def test_a_dart_that_is_closed_or_gathered_leaves_no_mark(name: str) -> None:
    for piece in convert(WOMEN[2], recipe(name)).pattern.pieces:
        if piece.name.startswith("front"):
            assert not leg_notches(piece)
            assert not piece.drill_holes


def test_a_dart_that_is_cut_out_has_its_hole_and_no_notches() -> None:
    """Its legs are cut edges with corners; the shoulder tip is notched on both."""
    sleeve = convert(WOMEN[2], recipe("one-piece-raglan")).pattern["sleeve"]
    assert len(inside(sleeve, only_dart(sleeve))) == 1
    assert not leg_notches(sleeve)


def test_a_narrow_shoulder_dart_is_folded() -> None:
    """Its allowances leave no 10 mm between them: it has notches at its mouth, none on its legs."""
    block, asked = WOMEN[2], recipe("one-piece-raglan")
    mouth = math.dist(*only_dart(convert(block, asked).pattern["sleeve"]).mouth)
    for width, folded in ((mouth / 2 - 6.0, False), (mouth / 2 - 4.0, True)):
        settings = FinishSettings(allowances={Role.DART_LEG: width})
        after = finish(Raglan(sleeve="one-piece").apply(block), settings)
        sleeve = after["sleeve"]
        names = [name for _, _, name in leg_notches(sleeve)]
        assert names == ["dart sleeve", "dart sleeve"] * folded
        tips = [m for m in sleeve.finish.notches if m.name == "shoulder tip"]
        assert len(tips) == (0 if folded else 2)
        assert all(f.status is Status.HELD for f in dart_marks.check(after))
        assert all(f.status is Status.HELD for f in notches.check(after))


def test_without_an_allowance_the_notches_are_at_the_mouth() -> None:
    piece = finish(WOMEN[2], FinishSettings(allowance=0.0, allowances={}))["front"]
    marks = [m for m in piece.finish.notches if m.name == "dart front"]
    assert [m.point for m in marks] == [m.sew_point for m in marks]
