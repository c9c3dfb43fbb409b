"""seam-length on straight seams: both sides of the limit, eases, gathers, pleats, and the words."""

import copy
import math

import pytest

from sleevewright.checking import check, seam_rows
from sleevewright.checking.seam_lengths import check as walk
from sleevewright.findings import Status
from sleevewright.pattern import EdgeUse, Pattern, Role, Seam
from straight_pieces import BOX, side_seam, straight_piece, two_halves


def longer(by: float) -> tuple:
    """A box whose left and right sides are longer by so much."""
    return ((0.0, -by), (100.0, -by), (100.0, 200.0), (0.0, 200.0))


@pytest.mark.parametrize(("by", "status"), [
    (0.0, Status.HELD), (0.499, Status.HELD), (0.501, Status.FAILED), (-0.499, Status.HELD),
    (-0.501, Status.FAILED),
])  # fmt: skip
def test_sides_differ_by_at_most_half_a_millimetre(by: float, status: Status) -> None:
    (row,) = seam_rows(two_halves(longer(by)))
    assert row.status is status
    assert row.lengths == pytest.approx((200 + by, 200))
    assert row.difference == pytest.approx(by)
    assert (row.name, row.wanted_ease, row.allowed) == ("side", 0.0, 0.5)
    assert row.edges == (("front.side_seam",), ("back.side_seam",))


def test_a_seam_may_have_its_own_limit() -> None:
    assert seam_rows(two_halves(longer(1.9), seam=side_seam(within=2.0)))[0].status is Status.HELD
    assert seam_rows(two_halves(longer(2.1), seam=side_seam(within=2.0)))[0].status is Status.FAILED


@pytest.mark.parametrize(("ease", "pleated"), [(6.0, 0.0), (0.0, 6.0), (10.0, -4.0)])
def test_ease_and_pleats_make_the_first_side_longer(ease: float, pleated: float) -> None:
    seam = side_seam(ease=ease, pleated=pleated)
    (row,) = seam_rows(two_halves(longer(6.2), seam=seam))
    assert row.wanted_ease == 6.0
    assert row.difference == pytest.approx(0.2)
    assert row.status is Status.HELD
    assert seam_rows(two_halves(longer(5.0), seam=seam))[0].status is Status.FAILED


@pytest.mark.parametrize(("by", "status"), [
    (100.0, Status.HELD), (102.9, Status.HELD), (103.1, Status.FAILED), (97.1, Status.HELD),
    (96.9, Status.FAILED),
])  # fmt: skip
def test_a_gather_is_met_within_one_part_in_a_hundred(by: float, status: Status) -> None:
    """Ratio 1.5: 300 to 200, within 1 % of what is gathered."""
    (row,) = seam_rows(two_halves(longer(by), seam=side_seam(gather=1.5)))
    assert row.wanted_ease == pytest.approx(100)
    assert row.allowed == pytest.approx(0.01 * (200 + by))
    assert row.status is status


def test_a_gather_stands_for_ease_and_pleats() -> None:
    (row,) = seam_rows(two_halves(longer(100), seam=side_seam(gather=1.5, ease=7.0, pleated=5.0)))
    assert row.wanted_ease == pytest.approx(100)


def test_a_side_of_several_edges_is_their_sum() -> None:
    top = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (100.0, 200.0), (0.0, 200.0))
    roles = (Role.HEM, Role.SIDE_SEAM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
    front = straight_piece("front", top, roles)
    back = two_halves()["back"]
    seam = Seam(
        name="side",
        first=tuple(
            EdgeUse(piece="front", edge=e, backwards=True) for e in ("side_seam.2", "side_seam")
        ),
        second=(EdgeUse(piece="back", edge="side_seam"),),
    )
    (row,) = seam_rows(Pattern(name="box", size="1", pieces=(front, back), seams=(seam,)))
    assert row.lengths == pytest.approx((200, 200))
    assert row.edges == (("front.side_seam.2", "front.side_seam"), ("back.side_seam",))
    assert row.status is Status.HELD


def test_what_cannot_be_computed_is_said_and_fails() -> None:
    (row,) = seam_rows(two_halves(seam=side_seam(ease=math.nan)))
    assert row.status is Status.NOT_COMPUTED
    gone = copy.copy(two_halves())
    object.__setattr__(gone, "pieces", gone.pieces[:1])  # no pattern can be made like this
    (row,) = seam_rows(gone)
    assert row.status is Status.NOT_COMPUTED
    assert row.lengths[0] == pytest.approx(200)
    assert math.isnan(row.lengths[1])
    assert math.isnan(row.difference)


def test_one_row_and_one_finding_a_seam_in_their_order() -> None:
    pattern = two_halves()
    other = Seam(
        name="neck", first=(EdgeUse(piece="front", edge="neckline"),),
        second=(EdgeUse(piece="back", edge="hem"),),
    )  # fmt: skip
    both = Pattern(name="box", size="1", pieces=pattern.pieces, seams=(*pattern.seams, other))
    assert [row.name for row in seam_rows(both)] == ["side", "neck"]
    assert [f.where for f in walk(both)] == ["side", "neck"]


def test_the_finding_says_the_numbers() -> None:
    (found,) = walk(two_halves(longer(0.75), seam=side_seam(ease=0.125)))
    assert found.message == (
        "side: 200.75 against 200.00 mm, ease wanted +0.12, off by +0.625, allowed 0.50"
    )
    assert (found.check, found.status, found.where) == ("seam-length", Status.FAILED, "side")
    assert (found.wanted, found.within) == (0.125, 0.5)
    assert found.got == pytest.approx(0.625)
    assert found in check(two_halves(longer(0.75), seam=side_seam(ease=0.125)))


def test_the_box_is_sound() -> None:
    assert {f.status for f in walk(two_halves(BOX, BOX))} == {Status.HELD}
