"""joint-notch on strips of known lengths: one seam over the joint, two that end there, or one alone."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sleevewright.checking.joint_notches import check
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Curve
from sleevewright.pattern import (
    EdgeUse,
    Finish,
    Notch,
    Pattern,
    Piece,
    Role,
    Seam,
)
from straight_pieces import BACK, slit, straight_piece

STRIP = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (40.0, 50.0), (0.0, 50.0))
ROLES = (Role.HEM, Role.SIDE_SEAM, Role.STYLE_SEAM, Role.STYLE_SEAM, Role.CENTRE)
ONE, TWO = "style_seam", "style_seam.2"  # 60 and 40 mm, as the outline runs
JOINT = Notch(at=60.0, name="joint")


def strip(*notches: tuple[str, Notch], cut: bool = True) -> Piece:
    """The strip as if finished, its notches cut or forgotten."""
    piece = straight_piece("strip", STRIP, ROLES)
    for edge, notch in notches:
        piece = piece.with_edges([piece[edge].with_notch(notch)])
    marks = tuple(slit(n.name) for _, n in notches)
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
    hems = ("left", "right") if backwards else ("right", "left")  # 60 mm lie over 60
    seam = over(*hems, backwards=backwards, turned=turned)
    (finding,) = found(strip((ONE, JOINT)), {"right": 60.0, "left": 40.0}, seam)
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
        strip(*notches, cut=cut), {"right": 60.0, "left": 40.0}, over("right", "left")
    )
    assert finding == Finding(
        "joint-notch", Status.FAILED, f"strip: {ONE} to {TWO}",
        f"strip: {ONE} to {TWO}: no notch at the joint, 0.5 allowed; meets a seam of the other side",
        0.0, 9e9, 0.5,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("widths", "asked"),
    [
        ({"right": 60.4, "left": 39.6}, True),
        ({"right": 60.49, "left": 70.0}, True),
        ({"right": 59.51, "left": 70.0}, True),
        ({"right": 80.0, "left": 40.49}, True),  # measured from the far end
        ({"right": 60.51, "left": 39.49}, False),
        ({"right": 40.0, "left": 60.0}, False),
        ({"right": 20.0, "middle": 40.0, "left": 40.0}, True),
        ({"right": 20.0, "middle": 35.0, "left": 45.0}, False),
        ({"right": 100.0}, False),
    ],
)
def test_only_where_the_other_side_goes_on_to_another_piece(
    widths: dict[str, float], asked: bool
) -> None:
    assert bool(found(strip(), widths, over(*widths))) is asked


def test_two_edges_of_one_piece_on_the_other_side_are_no_seam() -> None:
    wide = other("right", 60.0)
    second = tuple(EdgeUse(piece="right", edge=name) for name in ("hem", "neckline"))
    seam = Seam(name="over", first=uses(ONE, TWO), second=second)
    pattern = Pattern(name="p", size="1", pieces=(strip(), wide), seams=(seam,))
    assert not list(check(pattern))


def test_a_seam_over_the_joint_is_asked_even_where_another_runs_beside_it() -> None:
    beside = Seam(
        name="side", first=(EdgeUse(piece="strip", edge="side_seam"),), second=uses("far")
    )
    widths = {"right": 40.0, "left": 60.0, "far": 50.0}
    assert not found(strip(), widths, beside, over("right", "left"))
    widths = {"right": 60.0, "left": 40.0, "far": 50.0}
    assert found(strip(), widths, beside, over("right", "left"))


def test_a_seam_that_ends_alone_is_told_by_its_name() -> None:
    seam = Seam(name="one", first=uses(ONE), second=uses("right"))
    (finding,) = found(strip((ONE, JOINT)), {"right": 60.0}, seam)
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
    [(ONE, 59.7, 0.3), (TWO, 0.2, 0.2), (ONE, 59.51, 0.49), (TWO, 0.49, 0.49)],
)
def test_on_either_edge_it_is_measured_from_the_joint(edge: str, at: float, off: float) -> None:
    notch = (edge, Notch(at=at, name="n"))
    (finding,) = found(strip(notch), {"right": 60.0, "left": 40.0}, over("right", "left"))
    assert finding.got == pytest.approx(off)
    assert finding.status is Status.HELD
    assert f"n {off:.3f} mm from the joint" in finding.message


def test_the_nearest_of_several_notches_counts() -> None:
    far, near = Notch(at=10.0, name="far"), Notch(at=0.1, name="near")
    (finding,) = found(
        strip((ONE, far), (TWO, near)), {"right": 60.0, "left": 40.0}, over("right", "left")
    )
    assert "near 0.100 mm" in finding.message


def test_a_seam_that_goes_on_over_a_third_edge_is_walked_two_by_two() -> None:
    seam = Seam(name="over", first=uses(ONE, TWO, "far"), second=uses("right", "left"))
    (finding,) = found(strip(), {"far": 50.0, "right": 60.0, "left": 90.0}, seam)
    assert finding.message.endswith("meets a seam of the other side")


def test_an_end_of_a_fold_and_a_mouth_of_a_dart_are_no_joints() -> None:
    alone = Seam(name="one", first=uses(ONE), second=uses("right"))
    assert found(strip(), {"right": 60.0}, alone)
    assert not found(replace(strip(), fold=TWO), {"right": 60.0}, alone)
    leg = replace(strip()[TWO], role=Role.DART_LEG)
    assert not found(strip().with_edges([leg]), {"right": 60.0}, alone)


@pytest.mark.parametrize(
    ("turn", "asked"), [(19.9, True), (-19.9, True), (20.1, False), (-20.1, False)]
)
def test_what_turns_by_more_than_twenty_degrees_is_a_corner(turn: float, asked: bool) -> None:
    piece = strip()
    way = np.array([-math.cos(math.radians(turn)), -math.sin(math.radians(turn))])
    end = piece[TWO].curve.start + 40.0 * way
    closing = piece.edges[-1]
    edges = [
        replace(piece[TWO], curve=Curve.line(piece[TWO].curve.start, end)),
        replace(closing, curve=Curve.line(end, closing.curve.end)),
    ]
    alone = Seam(name="one", first=uses(ONE), second=uses("right"))
    assert bool(found(piece.with_edges(edges), {"right": 60.0}, alone)) is asked


def test_every_finished_piece_is_asked() -> None:
    seams = (
        Seam(name="one", first=uses(ONE), second=uses("right")),
        Seam(name="two", first=(EdgeUse(piece="second", edge=ONE),), second=uses("left")),
    )
    unfinished = replace(strip(), finish=None)
    pieces = (
        unfinished,
        replace(strip(), name="second"),
        other("right", 60.0),
        other("left", 60.0),
    )
    (finding,) = check(Pattern(name="p", size="1", pieces=pieces, seams=seams))
    assert finding.where.startswith("second")
