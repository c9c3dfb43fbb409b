"""notches-meet and notch-place on straight seams, where every distance is plain."""

from dataclasses import replace

import numpy as np
import pytest

from sleevewright.checking.notches import check
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.pattern import EdgeUse, Notch, NotchCut, NotchKind, NotchMark, Pattern, Role, Seam
from sleevewright.pattern.naming import FOLD_MARK, TIP_MARK
from straight_pieces import BOX, FRONT, cut, side_seam, straight_piece, two_halves


def notched(
    front: dict[str, float], back: dict[str, float], more: float = 0.0, **seam: object
) -> Pattern:
    """Notches by name and their distance from the neckline's end of the seam, mm.

    The front's side is 200 + `more` mm long, the back's 200.
    """
    pattern = two_halves(
        ((0.0, -more), (100.0, -more), (100.0, 200.0), (0.0, 200.0)), seam=side_seam(**seam)
    )

    def with_notches(piece: str, at: dict[str, float]) -> object:
        edge = pattern[piece]["side_seam"]
        notches = tuple(Notch(at=a, name=n) for n, a in sorted(at.items(), key=lambda kv: kv[1]))
        return pattern[piece].with_edges([replace(edge, notches=notches)])

    up = {n: 200 + more - a for n, a in front.items()}  # the front's edge runs upwards
    return pattern.with_pieces([with_notches("front", up), with_notches("back", back)])


def only(pattern: Pattern) -> Finding:
    (found,) = check(pattern)
    return found


# --- fellows -----------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("off", "status"), [(0.0, Status.HELD), (0.49, Status.HELD), (0.51, Status.FAILED)]
)
def test_fellows_meet_within_half_a_millimetre(off: float, status: Status, sign: int) -> None:
    found = only(notched({"waist": 80.0 - sign * off}, {"waist": 80.0}))
    assert found.status is status
    assert abs(found.got) == pytest.approx(off, abs=1e-9)
    assert (found.check, found.where, found.wanted, found.within) == (
        "notches-meet", "waist on side", 0.0, 0.5,
    )  # fmt: skip


def test_the_finding_says_how_far_they_are_apart() -> None:
    eased = notched({"waist": 82.0}, {"waist": 80.0}, 6.0, ease=6.0)
    assert only(eased).message == "waist on side: +2.000 mm apart, 0.5 allowed"


@pytest.mark.parametrize(
    ("at", "status"), [(80.0, Status.HELD), (86.0, Status.HELD), (83.0, Status.FAILED)]
)
def test_with_ease_they_meet_from_the_one_end_or_the_other(at: float, status: Status) -> None:
    """The front is 6 mm longer: its notch lies above the ease or below it, not in the middle of it."""
    found = only(notched({"waist": at}, {"waist": 80.0}, 6.0, ease=6.0))
    assert found.status is status
    if status is Status.FAILED:
        assert abs(found.got) == pytest.approx(3)


def test_the_nearer_end_is_told() -> None:
    """From the lower end 5 mm apart, from the upper 1: the upper counts."""
    assert only(notched({"waist": 81.0}, {"waist": 80.0}, 6.0, ease=6.0)).got == pytest.approx(1)
    assert only(notched({"waist": 85.0}, {"waist": 80.0}, 6.0, ease=6.0)).got == pytest.approx(1)
    assert only(notched({"waist": 79.0}, {"waist": 80.0}, 6.0, ease=6.0)).got == pytest.approx(-1)


def test_notches_of_two_kinds_do_not_meet() -> None:
    pattern = notched({"waist": 80.0}, {"waist": 80.0})
    edge = pattern["back"]["side_seam"]
    double = replace(edge, notches=(replace(edge.notches[0], kind=NotchKind.DOUBLE),))
    found = only(pattern.with_pieces([pattern["back"].with_edges([double])]))
    assert found.status is Status.FAILED
    assert found.message == (
        "waist on side: +0.000 mm apart, 0.5 allowed; single on one side and double on the other"
    )


def test_a_notch_without_its_fellow_is_noted() -> None:
    found = only(notched({"waist": 80.0}, {}))
    assert found == Finding(
        "notches-meet", Status.NOTED, "waist on side", "waist on side: only on the first side"
    )
    assert only(notched({}, {"waist": 80.0})).message == "waist on side: only on the second side"


@pytest.mark.parametrize("mark", [f"{FOLD_MARK} 1", f"{TIP_MARK} tip"])
def test_marks_of_folds_and_tips_have_no_fellow(mark: str) -> None:
    pattern = notched({mark: 80.0, "waist": 90.0}, {"a waist": 70.0, "waist": 90.0})
    assert [f.where for f in check(pattern)] == ["a waist on side", "waist on side"]
    assert [f.where for f in check(notched({}, {mark: 80.0, "x": 1.0}))] == ["x on side"]


def test_pairs_come_by_name() -> None:
    at = {"hip": 120.0, "bust": 40.0, "waist": 80.0}
    found = list(check(notched(at, at)))
    assert [f.where for f in found] == ["bust on side", "hip on side", "waist on side"]
    assert {f.status for f in found} == {Status.HELD}


def test_stations_run_on_over_the_edges_of_a_side() -> None:
    """80 mm of the front's side lie below its joint; walked from above, the upper edge comes first."""
    corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (100.0, 200.0), (0.0, 200.0))
    roles = (Role.HEM, Role.SIDE_SEAM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
    front = straight_piece("front", corners, roles)
    lower, upper = front["side_seam"], front["side_seam.2"]
    front = front.with_edges([
        replace(lower, notches=(Notch(at=50.0, name="hip"),)),
        replace(upper, notches=(Notch(at=100.0, name="bust"),)),
    ])  # fmt: skip
    back = two_halves()["back"]
    side = replace(
        back["side_seam"], notches=(Notch(at=20.0, name="bust"), Notch(at=150.0, name="hip"))
    )
    seam = Seam(
        name="side",
        first=tuple(
            EdgeUse(piece="front", edge=e, backwards=True) for e in ("side_seam.2", "side_seam")
        ),
        second=(EdgeUse(piece="back", edge="side_seam"),),
    )
    pattern = Pattern(name="b", size="1", pieces=(front, back.with_edges([side])), seams=(seam,))
    found = list(check(pattern))
    assert [f.where for f in found] == ["bust on side", "hip on side"]
    assert [f.got for f in found] == pytest.approx([0, 0], abs=1e-9)


def test_a_side_of_three_edges() -> None:
    corners = (
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 50.0),
        (100.0, 120.0),
        (100.0, 200.0),
        (0.0, 200.0),
    )
    roles = (Role.HEM, *(Role.SIDE_SEAM,) * 3, Role.NECKLINE, Role.CENTRE)
    front = straight_piece("front", corners, roles)
    front = front.with_edges([replace(front["side_seam"], notches=(Notch(at=20.0, name="hip"),))])
    back = two_halves()["back"]
    side = replace(back["side_seam"], notches=(Notch(at=180.0, name="hip"),))
    walked = ("side_seam.3", "side_seam.2", "side_seam")
    seam = Seam(
        name="side",
        first=tuple(EdgeUse(piece="front", edge=e, backwards=True) for e in walked),
        second=(EdgeUse(piece="back", edge="side_seam"),),
    )
    pieces = (front, back.with_edges([side]))
    found = only(Pattern(name="b", size="1", pieces=pieces, seams=(seam,)))
    assert (found.status, found.got) == (Status.HELD, pytest.approx(0, abs=1e-9))


# --- fullness ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("at", "off"), [
    (80.0, 0.0), (120.0, 0.0), (179.6, 0.0), (180.0, 0.0), (79.0, -1.0), (181.0, -1.0), (79.6, -0.4),
])  # fmt: skip
def test_a_notch_in_a_gather_may_lie_where_gathering_brings_it(at: float, off: float) -> None:
    """300 mm gathered to 200: 80 above the notch may be 80 to 180, 120 below it 120 to 220."""
    found = only(notched({"waist": at}, {"waist": 80.0}, 100.0, gather=1.5))
    assert found.status is (Status.HELD if abs(off) < 0.5 else Status.FAILED)
    assert found.got == pytest.approx(off, abs=1e-9)


def test_without_fullness_the_gather_does_not_excuse() -> None:
    found = only(notched({"waist": 120.0}, {"waist": 80.0}, 100.0, gather=1.0))
    assert found.status is Status.FAILED


@pytest.mark.parametrize(("at", "off"), [
    (80.0, 0.0), (90.0, 0.0), (100.0, 0.0), (79.0, -1.0), (101.0, -1.0), (75.0, -5.0),
])  # fmt: skip
def test_a_notch_among_pleats_may_lie_where_folding_brings_it(at: float, off: float) -> None:
    """20 mm folded away in the front: before the notch and after it, 0 to 20 mm."""
    found = only(notched({"waist": at}, {"waist": 80.0}, 20.0, pleated=20.0))
    assert abs(found.got) == pytest.approx(abs(off), abs=1e-9)
    assert found.status is (Status.HELD if off == 0 else Status.FAILED)


def test_pleats_on_the_second_side_and_ease_beside_pleats() -> None:
    """Front 20 mm shorter: folded away in the back."""
    assert (
        only(notched({"waist": 70.0}, {"waist": 80.0}, -20.0, pleated=-20.0)).status is Status.HELD
    )
    assert (
        only(notched({"waist": 85.0}, {"waist": 80.0}, -20.0, pleated=-20.0)).status
        is Status.FAILED
    )
    eased = notched({"waist": 106.0}, {"waist": 80.0}, 26.0, pleated=20.0, ease=6.0)
    assert only(eased).status is Status.HELD
    held_in = notched({"waist": 77.0}, {"waist": 80.0}, 16.0, pleated=20.0, ease=-4.0)
    assert only(held_in).status is Status.HELD
    upper = notched({"waist": 80.0}, {"waist": 80.0}, 26.0, pleated=20.0, ease=6.0)
    assert only(upper).status is Status.HELD
    amid = notched({"waist": 100.0}, {"waist": 80.0}, 26.0, pleated=20.0, ease=6.0)
    assert only(amid).status is Status.HELD
    past = notched({"waist": 107.0}, {"waist": 80.0}, 26.0, pleated=20.0, ease=6.0)
    assert abs(only(past).got) == pytest.approx(1)
    short = notched(
        {"waist": 75.0}, {"waist": 80.0}, 10.0, pleated=20.0
    )  # too short above, none below
    assert only(short).got == pytest.approx(-5)
    beyond = only(notched({"waist": 75.0}, {"waist": 80.0}, 16.0, pleated=20.0, ease=-4.0))
    assert abs(beyond.got) == pytest.approx(1)


# --- places ------------------------------------------------------------------------------------


def notch_cut(point: tuple[float, float]) -> NotchCut:
    return NotchCut(
        name="n", kind=NotchKind.SINGLE, sew_point=point, point=point, direction=(0.0, 1.0),
        depth=5.0, width=0.0, mark=NotchMark.SLIT,
    )  # fmt: skip


def placed(*points: tuple[float, float]) -> Pattern:
    piece = straight_piece("front", BOX, FRONT)
    ring = Curve.polyline([(-10, -10), (110, -10), (110, 210), (-10, 210), (-10, -10)])
    lines = [("", ring.between(0, 120)), ("hem", ring.between(120, ring.length))]
    return Pattern(
        name="b", size="1", pieces=(cut(piece, {}, lines, [notch_cut(p) for p in points]),)
    )


@pytest.mark.parametrize(
    ("off", "status"), [(0.0, Status.HELD), (0.049, Status.HELD), (0.051, Status.FAILED)]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_notches_are_cut_on_the_cut_line(off: float, status: Status, sign: int) -> None:
    found = only(placed((50.0, -10.0), (110.0 + sign * off, 90.0)))
    assert found.status is status
    assert found.got == pytest.approx(off, abs=1e-9)
    assert (found.check, found.where, found.wanted, found.within) == (
        "notch-place",
        "front",
        0.0,
        0.05,
    )


def test_the_worst_is_told_with_their_number() -> None:
    found = only(placed((50.0, -10.0), (50.0, -8.0), (108.0, 105.5), (50.0, 210.0)))
    assert found.message == "front: 4 notch cuts, at most 2.000 mm off the cut line, 0.05 allowed"


def test_pieces_without_notch_cuts_or_finish_have_no_finding() -> None:
    assert list(check(placed())) == []
    assert list(check(replace(two_halves(), seams=()))) == []


def test_every_piece_and_every_seam_is_walked() -> None:
    at = {"waist": 80.0}
    pattern = notched(at, at)
    again = replace(pattern.seams[0], name="again")
    assert [f.where for f in check(replace(pattern, seams=(*pattern.seams, again)))] == [
        "waist on side", "waist on again",
    ]  # fmt: skip
    one = placed((50.0, -10.0)).pieces[0]
    three = (straight_piece("plain", BOX, FRONT), one, replace(one, name="back"))
    assert [f.where for f in check(Pattern(name="b", size="1", pieces=three))] == ["front", "back"]
    assert np.isfinite([f.got for f in check(pattern)]).all()
