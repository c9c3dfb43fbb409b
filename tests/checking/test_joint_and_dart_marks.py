"""joint-notch and dart-marks: damage to a sound pattern is noticed, and what it meets is told."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import from_svg, recipe
from sleevewright.checking import check, dart_marks, joint_notches
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.pattern import (
    CutEdge,
    Edge,
    Finish,
    Notch,
    Pattern,
    Piece,
    Role,
)
from sleevewright.pattern.naming import CROWN
from sleevewright.pipeline.convert import convert
from straight_pieces import slit, straight_piece

BLOCK = from_svg("women_overblock")[1]
SOUND = convert(BLOCK, recipe("puff-head")).pattern
RAGLAN = convert(BLOCK, recipe("classic-raglan")).pattern
KIMONO = convert(BLOCK, recipe("kimono")).pattern


def with_notches(
    pattern: Pattern, piece: str, change: Callable[[Notch, Edge], Notch | None]
) -> Pattern:
    edges = [
        replace(e, notches=tuple(m for n in e.notches if (m := change(n, e)) is not None))
        for e in pattern[piece].edges
    ]
    return pattern.with_pieces([pattern[piece].with_edges(edges)])


def crown_moved(by: float) -> Pattern:
    return with_notches(
        SOUND, "sleeve", lambda n, _: replace(n, at=n.at - by) if n.name == CROWN else n
    )


def crown_of(pattern: Pattern) -> Finding:
    (found,) = joint_notches.check(pattern)
    return found


def test_the_crown_meets_the_shoulder_seam() -> None:
    found = crown_of(SOUND)
    assert (found.check, found.status, found.where) == (
        "joint-notch", Status.HELD, "sleeve: cap.front to cap.back",
    )  # fmt: skip
    assert found.message.endswith(
        "crown 0.000 mm from the joint, 0.5 allowed; meets the shoulder seam"
    )


@pytest.mark.parametrize(("by", "status"), [(0.49, Status.HELD), (0.51, Status.FAILED)])
def test_a_crown_lies_at_the_joint(by: float, status: Status) -> None:
    assert crown_of(crown_moved(by)).status is status


def test_a_crown_that_is_missing_or_not_cut_has_failed() -> None:
    missing = with_notches(SOUND, "sleeve", lambda n, _: None if n.name == CROWN else n)
    assert crown_of(missing).status is Status.FAILED
    assert "no notch at the joint" in crown_of(missing).message
    sleeve = SOUND["sleeve"]
    left = tuple(m for m in sleeve.finish.notches if m.name != CROWN)
    uncut = replace(sleeve, finish=replace(sleeve.finish, notches=left))
    assert crown_of(SOUND.with_pieces([uncut])).status is Status.FAILED


def test_a_crown_that_meets_no_seam_is_worth_a_look() -> None:
    alone = replace(SOUND, seams=tuple(s for s in SOUND.seams if s.name != "shoulder"))
    found = crown_of(alone)
    assert found.status is Status.NOTED
    assert found.message.endswith("no seam of the other side ends there")


def test_a_crown_swapped_to_other_armholes_is_told() -> None:
    """Sewn in the wrong way round, the cap's halves end where the armholes end at the underarm."""
    turned = tuple(
        replace(s, second=tuple(replace(u, backwards=not u.backwards) for u in reversed(s.second)))
        if s.name == "back armhole"
        else s
        for s in SOUND.seams
    )
    assert crown_of(replace(SOUND, seams=turned)).status is Status.NOTED


def test_fellows_meet_at_the_same_joint() -> None:
    told = [f for f in joint_notches.check(KIMONO) if "overarm" in f.where]
    assert len(told) == 2
    assert all(f.message.endswith("meets the same joint of the other side") for f in told)


def test_corners_folds_and_darts_are_no_joints() -> None:
    assert not any("neckline" in f.where or "dart" in f.where for f in joint_notches.check(RAGLAN))
    assert not any("centre" in f.where for f in joint_notches.check(RAGLAN))


def test_nothing_is_asked_of_what_is_not_finished() -> None:
    assert not [f for f in check(BLOCK) if f.check in ("joint-notch", "dart-marks")]


def test_a_notch_at_the_end_of_a_seam_has_no_fellow_to_miss() -> None:
    assert not [f for f in check(SOUND) if CROWN in f.where and f.check == "notches-meet"]


# --- darts -------------------------------------------------------------------------------------


def dart_of(pattern: Pattern) -> Finding:
    (found,) = (f for f in dart_marks.check(pattern) if f.where == "front dart")
    return found


def with_front(change: Callable[[Piece], Piece]) -> Pattern:
    return RAGLAN.with_pieces([change(RAGLAN["front"])])


def with_hole(short: float, *more: float) -> Pattern:
    """Holes so far short of the tip on the middle line of the front's dart."""
    (dart,) = RAGLAN["front"].darts()
    middle = (dart.mouth[0] + dart.mouth[1]) / 2 - dart.tip
    axis = middle / np.hypot(*middle)
    holes = tuple(tuple((dart.tip + s * axis).tolist()) for s in (short, *more))
    return with_front(lambda piece: replace(piece, drill_holes=holes))


def test_a_marked_dart_holds() -> None:
    found = dart_of(RAGLAN)
    assert replace(found, got=0.0) == Finding(
        "dart-marks", Status.HELD, "front dart",
        "front dart: 0 of 2 notches missing, 0.000 mm apart folded, 0.5 allowed;"
        " drill hole 12.0 mm short of the tip, 10 to 15 wanted", 0.0, 0.0, 0.5,
    )  # fmt: skip
    assert found.got == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("short", "status"),
    [(9.9, Status.FAILED), (10.1, Status.HELD), (14.9, Status.HELD), (15.1, Status.FAILED),
     (-12.0, Status.FAILED)],
)  # fmt: skip
def test_the_hole_is_hidden_in_the_dart(short: float, status: Status) -> None:
    assert dart_of(with_hole(short)).status is status


def test_one_hole_a_dart() -> None:
    assert dart_of(with_hole(12.0, 40.0)).status is Status.FAILED
    assert dart_of(with_front(lambda p: replace(p, drill_holes=()))).status is Status.FAILED
    assert dart_of(with_hole(12.0, -60.0)).status is Status.HELD  # a hole elsewhere


@pytest.mark.parametrize("edge", ["side_seam.1", "side_seam.2"])
def test_each_leg_has_its_notch(edge: str) -> None:
    bare = with_notches(
        RAGLAN, "front", lambda n, e: None if e.name == edge and "dart" in n.name else n
    )
    assert dart_of(bare).status is Status.FAILED
    assert "1 of 2 notches missing, 0.000 mm apart" in dart_of(bare).message
    assert dart_of(bare).got == 0.0


@pytest.mark.parametrize(("by", "status"), [(0.45, Status.HELD), (0.55, Status.FAILED)])
def test_folded_the_notches_meet(by: float, status: Status) -> None:
    piece = RAGLAN["front"]
    first = next(m for m in piece.finish.notches if m.name == "dart front")
    across = by * np.array([-first.direction[1], first.direction[0]])
    moved = replace(first, point=tuple((np.array(first.point) + across).tolist()))
    marks = tuple(moved if m is first else m for m in piece.finish.notches)
    found = dart_of(with_front(lambda p: replace(p, finish=replace(p.finish, notches=marks))))
    assert found.status is status
    assert found.got == pytest.approx(by, abs=1e-6)


def test_a_dart_that_is_cut_out_needs_no_notches() -> None:
    pattern = convert(BLOCK, recipe("one-piece-raglan")).pattern
    assert all(f.status is Status.HELD for f in dart_marks.check(pattern))
    (sleeve,) = (f for f in dart_marks.check(pattern) if f.where == "sleeve dart")
    assert sleeve.message.startswith(
        "sleeve dart: cut open, so without notches; drill hole 12.0 mm"
    )


@pytest.mark.parametrize(
    ("ways", "apart", "status"),
    [((0.4, 0.4), 0.0, Status.HELD), ((0.4, -0.4), 0.8, Status.FAILED)],
)
def test_folding_mirrors_one_leg_onto_the_other(
    ways: tuple[float, float], apart: float, status: Status
) -> None:
    """Both notches further from the dart meet again; both moved one way round, they part."""
    piece = RAGLAN["front"]
    (dart,) = piece.darts()
    middle = (dart.mouth[0] + dart.mouth[1]) / 2
    by_end = dict(zip((tuple(m) for m in dart.mouth), ways, strict=True))
    marks = []
    for mark in piece.finish.notches:
        if mark.name == "dart front":
            end = min(by_end, key=lambda m: np.hypot(*(np.array(m) - mark.sew_point)))
            leg = np.array(end) - dart.tip
            across = np.array([-leg[1], leg[0]]) / np.hypot(*leg)
            away = across if across @ (np.array(end) - middle) > 0 else -across
            mark = replace(mark, point=tuple((np.array(mark.point) + by_end[end] * away).tolist()))
        marks.append(mark)
    finish = replace(piece.finish, notches=tuple(marks))
    found = dart_of(with_front(lambda p: replace(p, finish=finish)))
    assert found.got == pytest.approx(apart, abs=1e-6)
    assert found.status is status


def small_dart(high: float, short: float, off: float = 0.0) -> Finding:
    """A dart 10 mm wide in the middle of a straight edge, uncut; one notch is cut so far off its leg."""
    corners = ((0, 0), (45, 0), (50, high), (55, 0), (100, 0), (100, 90), (0, 90))
    legs = (Role.DART_LEG, Role.DART_LEG)
    roles = (Role.HEM, *legs, Role.HEM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
    piece = straight_piece("front", corners, roles, drill_holes=((50.0, high - short),))
    name = "dart front"
    edges = [
        piece["hem"].with_notch(Notch(at=45.0, name=name)),
        piece["hem.2"].with_notch(Notch(at=0.0, name=name)),
    ]
    ring = Curve.polyline([(-9.0, -9.0), (109.0, -9.0), (109.0, 99.0), (-9.0, 99.0), (-9.0, -9.0)])
    cuts = tuple(
        slit(name, sewn=(sewn, 0.0), cut_at=(x, -9.0))
        for x, sewn in ((45.0, 45.0 - off), (55.0, 55.0))
    )
    finish = Finish(
        allowances=(), cut_line=(CutEdge(edge="hem", curve=ring),), notches=cuts, lettering=()
    )
    marked = replace(piece.with_edges(edges), finish=finish)
    (found,) = dart_marks.check(Pattern(name="p", size="1", pieces=(marked,), seams=()))
    return found


@pytest.mark.parametrize(
    ("leg", "short", "status"),
    [(29.5, 4.0, Status.HELD), (29.5, 0.2, Status.HELD), (29.5, 15.2, Status.FAILED),
     (30.5, 4.0, Status.FAILED), (30.5, 10.2, Status.HELD)],
)  # fmt: skip
def test_the_hole_of_a_small_dart_may_be_nearer_to_its_tip(
    leg: float, short: float, status: Status
) -> None:
    found = small_dart(float(np.sqrt(leg**2 - 25.0)), short)
    assert "0 of 2 notches missing" in found.message
    assert found.status is status


@pytest.mark.parametrize("short", [10.0, 15.0])
def test_just_at_its_limits_a_hole_holds(short: float) -> None:
    assert small_dart(40.0, short).status is Status.HELD


@pytest.mark.parametrize(("off", "missing"), [(0.5, 0), (0.75, 1)])
def test_a_notch_that_is_not_at_its_leg_is_missing(off: float, missing: int) -> None:
    assert f"{missing} of 2 notches missing" in small_dart(40.0, 12.0, off).message


def test_several_darts_are_told_by_number_and_every_finished_piece_is_asked() -> None:
    two = convert(BLOCK, recipe("bust-dart-shared")).pattern
    where = [f.where for f in dart_marks.check(two)]
    assert where == ["front dart 1", "front dart 2", "back dart"]
    unfinished = two.with_pieces([replace(two["front"], finish=None)])
    assert [f.where for f in dart_marks.check(unfinished)] == ["back dart"]
