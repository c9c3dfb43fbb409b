"""`check` runs every check, and none of them stops another; promises are compared."""

from dataclasses import replace

import pytest

from sleevewright import checking
from sleevewright.checking import (
    allowances,
    check,
    dart_marks,
    folds,
    joint_notches,
    junctions,
    neckline,
    notches,
    outlines,
    promise_findings,
    seam_lengths,
)
from sleevewright.findings import Finding, Promise, Status
from straight_pieces import BOX, FRONT, cut, straight_piece, two_halves

CHECKS = {
    "seam-length": seam_lengths, "junction": junctions, "outline": outlines,
    "grain-to-fold": folds, "notches-meet": notches, "joint-notch": joint_notches,
    "dart-marks": dart_marks, "allowance": allowances, "neckline-whole": neckline,
}  # fmt: skip


def test_every_check_is_run() -> None:
    ring = [(e.name, e.curve) for e in straight_piece("front", BOX, FRONT).edges]
    front = cut(straight_piece("front", BOX, FRONT), {"hem": 0.0}, ring)
    pattern = two_halves().with_pieces([front])
    ids = {f.check for f in check(pattern)}
    assert {"seam-length", "junction", "centre-square", "outline", "grain", "allowance"} == ids
    assert {f.check for f in check(pattern, pattern)} == {*ids, "neckline-whole"}


@pytest.mark.parametrize("name", CHECKS)
def test_what_stops_a_check_is_a_finding_and_the_others_go_on(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> object:
        yield Finding(name, Status.HELD, "", "the first goes well")
        raise ZeroDivisionError("a plain fault")

    monkeypatch.setattr(CHECKS[name], "check", broken)
    found = check(two_halves(), two_halves())
    assert Finding(name, Status.HELD, "", "the first goes well") in found
    assert [f for f in found if f.status is Status.NOT_COMPUTED and f.check == name] == [
        Finding(
            name, Status.NOT_COMPUTED, "", "could not be computed: ZeroDivisionError: a plain fault"
        )
    ]
    others = {f.check for f in check(two_halves(), two_halves())} - {name}
    assert others >= {"seam-length", "junction", "outline", "neckline-whole"} - {name}


@pytest.mark.parametrize("name", CHECKS)
def test_a_check_sees_the_pattern_and_the_block(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple] = []
    monkeypatch.setattr(CHECKS[name], "check", lambda *given: seen.append(given) or ())
    pattern, before = two_halves(), replace(two_halves(), name="before")
    check(pattern, before)
    (given,) = seen
    assert given == ((pattern, before) if name in ("outline", "neckline-whole") else (pattern,))


def test_without_a_block_its_neckline_is_not_asked_for() -> None:
    assert "neckline-whole" not in {f.check for f in check(two_halves())}


def test_promises_are_compared_under_the_name_of_their_operation() -> None:
    made = [Promise("a", 1.0, 1.0, 0.1, where="x"), Promise("b", 1.0, 1.2, 0.1)]
    found = promise_findings("flare", made)
    assert [(f.check, f.status, f.where) for f in found] == [
        ("promise.flare", Status.HELD, "x"), ("promise.flare", Status.FAILED, ""),
    ]  # fmt: skip
    assert found == tuple(p.finding("flare") for p in made)
    assert promise_findings("flare", []) == ()


def test_a_promise_that_stops_is_told_under_its_operation() -> None:
    def broken() -> object:
        raise KeyError("front")
        yield

    assert promise_findings("flare", broken()) == (
        Finding(
            "promise.flare", Status.NOT_COMPUTED, "", "could not be computed: KeyError: 'front'"
        ),
    )


def test_the_front_door_has_four_names() -> None:
    assert sorted(checking.__all__) == ["check", "movement", "promise_findings", "seam_rows"]
