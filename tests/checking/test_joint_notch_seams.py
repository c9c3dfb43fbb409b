"""joint-notch on strips of known lengths: one seam over the joint, two that end there, or one alone."""

from dataclasses import replace

import pytest

from sleevewright.checking.joint_notches import check
from sleevewright.findings import Finding, Status
from sleevewright.pattern import (
    EdgeUse,
    Finish,
    Notch,
    NotchCut,
    NotchMark,
    Pattern,
    Piece,
    Role,
    Seam,
)
from straight_pieces import BACK, straight_piece

STRIP = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, 50.0), (0.0, 50.0))
ROLES = (Role.HEM, Role.SIDE_SEAM, Role.STYLE_SEAM, Role.STYLE_SEAM, Role.CENTRE)
ONE, TWO = "style_seam", "style_seam.2"  # 50 mm each, as the outline runs
JOINT = Notch(at=50.0, name="joint")


def strip(*notches: tuple[str, Notch], cut: bool = True) -> Piece:
    """The strip as if finished, its notches cut or forgotten."""
    piece = straight_piece("strip", STRIP, ROLES)
    for edge, notch in notches:
        piece = piece.with_edges([piece[edge].with_notch(notch)])
    usual = {"depth": 4.0, "width": 0.0, "mark": NotchMark.SLIT, "direction": (0.0, 1.0)}
    here = {"point": (0.0, 0.0), "sew_point": (0.0, 0.0)}
    marks = tuple(NotchCut(name=n.name, kind=n.kind, **here, **usual) for _, n in notches)
    finish = Finish(allowances=(), cut_line=(), notches=marks if cut else (), lettering=())
    return replace(piece, finish=finish)


def other(name: str, width: float) -> Piece:
    corners = ((0.0, 0.0), (width, 0.0), (width, 80.0), (0.0, 80.0))
    return straight_piece(name, corners, BACK)


def uses(*names: str, backwards: bool = False) -> tuple[EdgeUse, ...]:
    """Edges of the strip, or the hems of other pieces."""
    return tuple(
        EdgeUse(piece="strip", edge=n, backwards=backwards)
        if n.startswith("style")
        else EdgeUse(piece=n, edge="hem")
        for n in names
    )


def found(piece: Piece, others: dict[str, float], *seams: Seam) -> list[Finding]:
    pieces = (piece, *(other(*item) for item in others.items()))
    return list(check(Pattern(name="p", size="1", pieces=pieces, seams=seams)))


def over(*hems: str, backwards: bool = False, turned: bool = False) -> Seam:
    """One seam over both parts of the strip."""
    mine = uses(*((TWO, ONE) if backwards else (ONE, TWO)), backwards=backwards)
    sides = (uses(*hems), mine) if turned else (mine, uses(*hems))
    return Seam(name="over", first=sides[0], second=sides[1])


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("turned", [False, True])
def test_a_seam_over_the_joint_meets_the_seam_of_two_others(backwards: bool, turned: bool) -> None:
    seam = over("right", "left", backwards=backwards, turned=turned)
    (finding,) = found(strip((ONE, JOINT)), {"right": 50.0, "left": 50.0}, seam)
    assert replace(finding, got=0.0) == Finding(
        "joint-notch", Status.HELD, f"strip: {ONE} to {TWO}",
        f"strip: {ONE} to {TWO}: joint 0.000 mm from the joint, 0.5 allowed;"
        " meets a seam of the other side", 0.0, 0.0, 0.5,
    )  # fmt: skip
    assert finding.got == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("cut", [True, False])
def test_without_its_notch_it_has_failed(cut: bool) -> None:
    notches = () if cut else ((ONE, JOINT),)
    (finding,) = found(
        strip(*notches, cut=cut), {"right": 50.0, "left": 50.0}, over("right", "left")
    )
    assert finding == Finding(
        "joint-notch", Status.FAILED, f"strip: {ONE} to {TWO}",
        f"strip: {ONE} to {TWO}: no notch at the joint, 0.5 allowed; meets a seam of the other side",
        0.0, 9e9, 0.5,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("widths", "asked"),
    [
        ({"right": 50.4, "left": 49.6}, True),
        ({"right": 50.49, "left": 60.0}, True),
        ({"right": 49.51, "left": 60.0}, True),
        ({"right": 60.0, "left": 50.49}, True),  # measured from the far end
        ({"right": 50.51, "left": 49.49}, False),
        ({"right": 60.0, "left": 40.0}, False),
        ({"right": 20.0, "middle": 30.0, "left": 50.0}, True),
        ({"right": 20.0, "middle": 25.0, "left": 55.0}, False),
        ({"right": 100.0}, False),
    ],
)
def test_only_where_the_other_side_goes_on_to_another_piece(
    widths: dict[str, float], asked: bool
) -> None:
    assert bool(found(strip(), widths, over(*widths))) is asked


def test_two_edges_of_one_piece_on_the_other_side_are_no_seam() -> None:
    wide = other("right", 50.0)
    second = tuple(EdgeUse(piece="right", edge=name) for name in ("hem", "neckline"))
    seam = Seam(name="over", first=uses(ONE, TWO), second=second)
    pattern = Pattern(name="p", size="1", pieces=(strip(), wide), seams=(seam,))
    assert not list(check(pattern))


def test_a_seam_over_the_joint_is_asked_even_where_another_runs_beside_it() -> None:
    beside = Seam(
        name="side", first=(EdgeUse(piece="strip", edge="side_seam"),), second=uses("far")
    )
    widths = {"right": 60.0, "left": 40.0, "far": 50.0}
    assert not found(strip(), widths, beside, over("right", "left"))
    widths = {"right": 50.0, "left": 50.0, "far": 50.0}
    assert found(strip(), widths, beside, over("right", "left"))


def test_a_seam_that_ends_alone_is_told_by_its_name() -> None:
    seam = Seam(name="one", first=uses(ONE), second=uses("right"))
    (finding,) = found(strip((ONE, JOINT)), {"right": 50.0}, seam)
    assert finding.status is Status.HELD
    assert finding.message.endswith("; meets the end of the one seam")


def test_both_ends_of_one_seam_meet_there() -> None:
    """A ring, such as a wrist: the seam begins at the joint, runs round another piece and ends there."""
    ring = Seam(name="ring", first=uses(TWO, "far", ONE), second=uses("right"))
    (finding,) = found(strip((ONE, JOINT)), {"right": 150.0, "far": 50.0}, ring)
    assert finding.message.endswith("; both ends of the ring seam are there")


def test_edges_sewn_to_one_another_meet_at_their_own_joint() -> None:
    seam = Seam(name="fold", first=uses(ONE, backwards=True), second=uses(TWO))
    (finding,) = found(strip((ONE, JOINT)), {}, seam)
    assert finding.message.endswith("; meets the same joint of the other side")


@pytest.mark.parametrize(
    ("edge", "at", "off"),
    [(ONE, 49.7, 0.3), (TWO, 0.2, 0.2), (ONE, 49.51, 0.49), (TWO, 0.49, 0.49)],
)
def test_on_either_edge_it_is_measured_from_the_joint(edge: str, at: float, off: float) -> None:
    notch = (edge, Notch(at=at, name="n"))
    (finding,) = found(strip(notch), {"right": 50.0, "left": 50.0}, over("right", "left"))
    assert finding.got == pytest.approx(off)
    assert finding.status is Status.HELD
    assert f"n {off:.3f} mm from the joint" in finding.message


def test_the_nearest_of_several_notches_counts() -> None:
    far, near = Notch(at=10.0, name="far"), Notch(at=0.1, name="near")
    (finding,) = found(
        strip((ONE, far), (TWO, near)), {"right": 50.0, "left": 50.0}, over("right", "left")
    )
    assert "near 0.100 mm" in finding.message
