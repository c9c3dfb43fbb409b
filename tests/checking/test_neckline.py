"""neckline-whole: halves, whole pieces, sides, gathers and pleats, by plain sums."""

from dataclasses import replace

import pytest

from sleevewright.checking.neckline import check
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Piece, Role
from straight_pieces import BACK, FRONT, straight_piece


def wide(name: str, width: float, roles: tuple = FRONT, **rest: object) -> Piece:
    """A box whose neckline is so wide."""
    return straight_piece(name, ((0, 0), (width, 0), (width, 200), (0, 200)), roles, **rest)


def pattern(*pieces: Piece, facts: tuple = ()) -> Pattern:
    return Pattern(name="b", size="1", pieces=pieces, facts=facts)


BLOCK = pattern(wide("front", 100, fold="centre"), wide("back", 80, BACK, fold="centre"))


def only(after: Pattern, before: Pattern = BLOCK) -> Finding:
    (found,) = check(after, before)
    return found


@pytest.mark.parametrize(("more", "status"), [
    (0.0, Status.HELD), (0.49, Status.HELD), (0.51, Status.FAILED), (-0.49, Status.HELD), (-0.51, Status.FAILED),
])  # fmt: skip
def test_what_is_cut_up_is_given_back_within_half_a_millimetre(more: float, status: Status) -> None:
    """Part of the front's neckline went to a sleeve."""
    after = pattern(
        wide("front", 60, fold="centre"),
        wide("back", 80, BACK, fold="centre"),
        wide("sleeve", 40 + more),
    )
    found = only(after)
    assert found.status is status
    assert (found.check, found.where, found.within) == ("neckline-whole", "neckline", 0.5)
    assert (found.wanted, found.got) == (pytest.approx(180), pytest.approx(180 + more))


def test_the_finding_says_both_lengths() -> None:
    after = pattern(wide("front", 97.5, fold="centre"), wide("back", 80, BACK, fold="centre"))
    assert only(after).message == "neckline 177.50 mm, before 180.00, 0.5 allowed"


def test_an_unfolded_piece_counts_half() -> None:
    """Both halves are on it now; what was whole before stays what it was."""
    assert (
        only(pattern(wide("front", 200), wide("back", 80, BACK, fold="centre"))).status
        is Status.HELD
    )
    whole = pattern(wide("front", 100), wide("back", 80, BACK, fold="centre"))
    assert only(whole, whole).got == pytest.approx(180)
    assert only(pattern(wide("front", 100), wide("back", 80, BACK)), whole).got == pytest.approx(
        140
    )


def test_a_piece_that_is_gone_gives_nothing() -> None:
    gone = only(pattern(wide("front", 100, fold="centre")))
    assert gone.status is Status.FAILED
    assert gone.got == pytest.approx(100)


def test_pieces_of_both_sides_count_half_each() -> None:
    after = pattern(
        wide("front_left", 90), wide("front_right", 110), wide("back", 80, BACK, fold="centre")
    )
    assert only(after).status is Status.HELD
    named = pattern(wide("front_lefty", 100), wide("back", 80, BACK, fold="centre"))
    assert only(named).status is Status.HELD  # no side of the body


def test_fullness_counts_as_sewn() -> None:
    """A neckline cut 1.5 times as long and gathered; one pleated as well."""

    def full(*facts: tuple[str, float]) -> Pattern:
        pieces = wide("front", 150, fold="centre"), wide("back", 80, BACK, fold="centre")
        return pattern(*pieces, facts=facts)

    assert only(full(("gather.front.neckline_ratio", 1.5))).status is Status.HELD
    assert only(full(("pleat.front.neckline_ratio", 1.5))).status is Status.HELD
    assert only(
        full(("gather.front.neckline_ratio", 1.2), ("pleat.front.neckline_ratio", 1.25))
    ).status is (Status.HELD)
    assert only(full()).got == pytest.approx(230)
    assert only(full(("gather.back.neckline_ratio", 1.5))).got == pytest.approx(150 + 80 / 1.5)
    for other in ("gather.front.hem_ratio", "spread.front.neckline_ratio", "gather.neckline_ratio"):
        assert only(full((other, 1.5))).got == pytest.approx(230)


def test_names_of_pieces_may_have_points() -> None:
    facts = (("gather.front.upper.neckline_ratio", 1.5),)
    before = pattern(wide("front.upper", 100, fold="centre"))
    assert (
        only(pattern(wide("front.upper", 150, fold="centre"), facts=facts), before).status
        is Status.HELD
    )


def test_fullness_of_the_block_counts_too() -> None:
    before = pattern(
        wide("front", 150, fold="centre"), facts=(("gather.front.neckline_ratio", 1.5),)
    )
    assert only(pattern(wide("front", 100, fold="centre")), before).status is Status.HELD


def test_without_a_neckline_there_is_nothing_to_say() -> None:
    none = pattern(*(
        replace(p, edges=tuple(replace(e, role=Role.HEM) if e.role is Role.NECKLINE else e for e in p.edges))
        for p in BLOCK.pieces
    ))  # fmt: skip
    assert list(check(none, BLOCK)) == []
    assert list(check(BLOCK, none)) == []


@pytest.mark.parametrize("name", ["raglan.neck_gather_ratio", "front_raglan.neck_gather_ratio"])
def test_a_raglan_gathered_at_the_neck_is_not_judged(name: str) -> None:
    assert list(check(pattern(*BLOCK.pieces, facts=(("x", 1.0), (name, 1.3))), BLOCK)) == []
    assert list(check(pattern(*BLOCK.pieces, facts=((f"{name}_2", 1.3),)), BLOCK)) != []
