"""junction and centre-square on straight pieces: angles in closed form, both sides of the limits."""

from dataclasses import replace

import numpy as np
import pytest

from sleevewright.checking.junctions import check
from sleevewright.findings import Finding, Status
from sleevewright.pattern import EdgeUse, Pattern, Piece, Role, Seam
from straight_pieces import BACK, BOX, FRONT, side_seam, straight_piece, two_halves

LOWER, UPPER = "side, lower end", "side, upper end"


def rise(degrees: float) -> float:
    """How far a level edge of 100 mm goes down to make its corner so much wider than square."""
    return float(100 * np.tan(np.radians(degrees)))


def front_hem(degrees: float) -> Pattern:
    """The front's hem meets its side seam at 90 degrees and so much more."""
    return two_halves(((0.0, -rise(degrees)), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0)))


def front_neck(degrees: float) -> Pattern:
    return two_halves(((0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0 + rise(degrees))))


def back_hem(degrees: float) -> Pattern:
    return two_halves(back=((0.0, 0.0), (100.0, -rise(degrees)), (100.0, 200.0), (0.0, 200.0)))


def by_place(pattern: Pattern) -> dict[str, Finding]:
    return {f.where: f for f in check(pattern)}


def with_role(
    pattern: Pattern, old: Role, new: Role, pieces: tuple[str, ...] = ("front", "back")
) -> Pattern:
    """Edges of one role given another, their names kept."""

    def changed(piece: Piece) -> Piece:
        return replace(
            piece, edges=tuple(replace(e, role=new) if e.role is old else e for e in piece.edges)
        )

    return replace(
        pattern, pieces=tuple(changed(p) if p.name in pieces else p for p in pattern.pieces)
    )


def test_both_ends_of_a_seam_are_judged() -> None:
    found = by_place(two_halves())
    assert {UPPER, LOWER} <= set(found)
    assert all(f.status is Status.HELD for f in found.values())
    assert found[LOWER].check == "junction"
    assert (found[LOWER].wanted, found[LOWER].within) == (180.0, 1.0)
    assert found[LOWER].got == pytest.approx(180)
    assert found[LOWER].message == (
        "hem across side, lower end: 90.00 and 90.00 degrees make 180.00, 180 wanted, within 1"
    )
    assert found[UPPER].message == (
        "neckline across side, upper end: 90.00 and 90.00 degrees make 180.00, 180 wanted, within 3"
    )
    assert found[UPPER].within == 3.0


@pytest.mark.parametrize("sign", [1, -1])
def test_a_hem_runs_on_within_one_degree(sign: int) -> None:
    for make in (front_hem, back_hem):
        assert by_place(make(sign * 0.99))[LOWER].status is Status.HELD
        assert by_place(make(sign * 1.01))[LOWER].status is Status.FAILED
        assert by_place(make(sign * 5.0))[UPPER].status is Status.HELD
    found = by_place(front_hem(4.0))[LOWER]
    assert found.got == pytest.approx(184, abs=1e-9)
    assert "94.00 and 90.00 degrees make 184.00" in found.message
    assert "90.00 and 94.00 degrees make 184.00" in by_place(back_hem(4.0))[LOWER].message


@pytest.mark.parametrize("sign", [1, -1])
def test_a_neckline_runs_on_within_three(sign: int) -> None:
    assert by_place(front_neck(sign * 2.99))[UPPER].status is Status.HELD
    assert by_place(front_neck(sign * 3.01))[UPPER].status is Status.FAILED


def test_opposite_angles_make_up_for_one_another() -> None:
    slanting = two_halves(
        ((0.0, -rise(8)), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0)),
        ((0.0, 0.0), (100.0, rise(8)), (100.0, 200.0), (0.0, 200.0)),
    )
    assert by_place(slanting)[LOWER].status is Status.HELD


@pytest.mark.parametrize(("role", "status"), [
    (Role.WRIST, Status.FAILED), (Role.HEM, Status.FAILED), (Role.NECKLINE, Status.FAILED),
    (Role.ARMHOLE, Status.NOTED), (Role.CAP, Status.NOTED), (Role.RAGLAN_SEAM, Status.NOTED),
    (Role.UNDERARM_SEAM, Status.NOTED), (Role.SHOULDER, Status.NOTED),
    (Role.OVERARM_SEAM, Status.NOTED), (Role.CENTRE, Status.NOTED), (Role.SIDE_SEAM, Status.NOTED),
])  # fmt: skip
def test_what_is_seen_fails_and_what_is_felt_is_noted(role: Role, status: Status) -> None:
    found = by_place(with_role(front_hem(5.0), Role.HEM, role))[LOWER]
    assert found.status is status
    assert found.message.startswith(role.value.replace("_", " ") + " across side, lower end")


FELT = [
    Role.ARMHOLE, Role.CAP, Role.RAGLAN_SEAM, Role.UNDERARM_SEAM, Role.SHOULDER,
    Role.OVERARM_SEAM, Role.CENTRE, Role.SIDE_SEAM,
]  # fmt: skip


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("role", FELT)
def test_what_no_blend_mends_falls_short(role: Role, sign: int) -> None:
    """Beyond 26 degrees the geometry is wrong rather than rough."""
    for degrees, status in ((25.9, Status.NOTED), (26.1, Status.FAILED)):
        assert (
            by_place(with_role(front_hem(sign * degrees), Role.HEM, role))[LOWER].status is status
        )


def with_raglan(pattern: Pattern, *names: str) -> Pattern:
    """These pieces with a raglan seam for a centre: sleeves of a raglan."""
    return with_role(pattern, Role.CENTRE, Role.RAGLAN_SEAM, names)


def test_the_lower_edge_of_a_raglan_may_peak_but_not_dip() -> None:
    """Drawn as the armhole's mirror image it stands up under the arm as a built-in gusset."""
    peak = with_role(front_hem(-56.0), Role.HEM, Role.CAP)
    assert by_place(peak)[LOWER].status is Status.FAILED
    assert by_place(with_raglan(peak, "front"))[LOWER].status is Status.FAILED
    assert by_place(with_raglan(peak, "front", "back"))[LOWER].status is Status.NOTED
    armhole = with_raglan(with_role(front_hem(-56.0), Role.HEM, Role.ARMHOLE), "front", "back")
    assert by_place(armhole)[LOWER].status is Status.FAILED
    dip = with_raglan(with_role(front_hem(30.0), Role.HEM, Role.CAP), "front", "back")
    assert by_place(dip)[LOWER].status is Status.FAILED


@pytest.mark.parametrize("role", [Role.STYLE_SEAM, Role.BAND_END, Role.FREE_EDGE, Role.CUFF_SEAM])
def test_other_edges_need_not_run_on(role: Role) -> None:
    assert LOWER not in by_place(with_role(front_hem(5.0), Role.HEM, role))


def test_edges_of_two_roles_are_no_junction() -> None:
    assert LOWER not in by_place(with_role(front_hem(5.0), Role.HEM, Role.WRIST, ("front",)))
    assert LOWER not in by_place(with_role(front_hem(5.0), Role.HEM, Role.DART_LEG, ("back",)))
    assert LOWER not in by_place(with_role(front_hem(5.0), Role.HEM, Role.DART_LEG))


@pytest.mark.parametrize("name", ["shoulder", "overarm"])
def test_raglan_lines_may_meet_in_a_point_on_the_shoulder(name: str) -> None:
    raglan = with_role(front_hem(5.0), Role.HEM, Role.RAGLAN_SEAM)
    assert LOWER in by_place(raglan)
    seam = replace(raglan.seams[0], name=name)
    assert f"{name}, lower end" not in by_place(replace(raglan, seams=(seam,)))
    hem = replace(front_hem(5.0), seams=(seam,))
    assert f"{name}, lower end" in by_place(hem)


@pytest.mark.parametrize("side", ["front", "back"])
@pytest.mark.parametrize(
    ("angle", "judged"), [(169.5, True), (170.5, False), (189.5, False), (190.5, True)]
)
def test_where_the_outline_runs_straight_on_is_no_corner(
    side: str, angle: float, judged: bool
) -> None:
    """The seam's side only changes its name there."""
    down = float(200 * np.sin(np.radians(angle - 90)))
    across = float(200 * np.cos(np.radians(angle - 90)))
    if side == "front":
        corners = (
            (100 - across, -down),
            (100.0, 0.0),
            (100.0, 200.0),
            (-300.0, 200.0),
            (-300.0, -down),
        )
        roles = (*FRONT, Role.FREE_EDGE)
        pieces = (straight_piece("front", corners, roles), two_halves()["back"])
    else:
        corners = ((0.0, 0.0), (across, -down), (400.0, -down), (400.0, 200.0), (0.0, 200.0))
        roles = (Role.HEM, Role.FREE_EDGE, Role.CENTRE, Role.NECKLINE, Role.SIDE_SEAM)
        pieces = (two_halves()["front"], straight_piece("back", corners, roles))
    pattern = Pattern(name="box", size="1", pieces=pieces, seams=(side_seam(),))
    assert (LOWER in by_place(pattern)) is judged


def test_a_side_of_several_edges_ends_with_its_last() -> None:
    corners = ((0.0, 0.0), (100.0, rise(4)), (100.0, 80.0), (100.0, 200.0), (0.0, 200.0))
    roles = (Role.HEM, Role.SIDE_SEAM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
    seam = Seam(
        name="side",
        first=tuple(
            EdgeUse(piece="front", edge=e, backwards=True) for e in ("side_seam.2", "side_seam")
        ),
        second=(EdgeUse(piece="back", edge="side_seam"),),
    )
    pieces = (straight_piece("front", corners, roles), two_halves()["back"])
    found = by_place(Pattern(name="box", size="1", pieces=pieces, seams=(seam,)))
    assert found[LOWER].got == pytest.approx(184)
    assert found[UPPER].got == pytest.approx(180)
    turned = Seam(name="side", first=seam.second, second=seam.first)
    found = by_place(Pattern(name="box", size="1", pieces=pieces, seams=(turned,)))
    assert found[LOWER].got == pytest.approx(184)
    assert "90.00 and 94.00" in found[LOWER].message


# --- centres -----------------------------------------------------------------------------------


def centre(degrees: float, fold: str, at: str = "hem") -> Finding:
    """A front whose hem (or neckline) meets the centre at 90 degrees and so much less or more."""
    tilt = rise(degrees)
    corners = list(BOX)
    if at == "hem":
        corners[1] = (100.0, -tilt)  # seen from the centre: an angle wider by so much
    else:
        corners[2] = (100.0, 200.0 + tilt)
    piece = straight_piece("front", corners, FRONT, fold=fold)
    pattern = Pattern(name="box", size="1", pieces=(piece,))
    return by_place(pattern)[f"front: {at} at the centre"]


@pytest.mark.parametrize("at", ["hem", "neckline"])
@pytest.mark.parametrize("sign", [1, -1])
def test_hem_and_neckline_are_square_to_the_centre_within_a_degree(sign: int, at: str) -> None:
    assert centre(sign * 0.99, "centre", at).status is Status.HELD
    assert centre(sign * 1.01, "centre", at).status is Status.FAILED
    assert centre(sign * 1.01, "", at).status is Status.NOTED  # nothing makes it a point there
    assert centre(sign * 0.99, "", at).status is Status.HELD
    assert centre(sign * 1.01, "side_seam", at).status is Status.NOTED
    assert centre(sign * 1.01, at, at).status is Status.FAILED


def test_a_centre_says_its_angle() -> None:
    found = centre(4.0, "centre")
    assert found.message == "front: hem at the centre: 94.00 degrees, 90 wanted, within 1"
    assert found.check == "centre-square"
    assert (found.wanted, found.within) == (90.0, 1.0)
    assert found.got == pytest.approx(94)


def test_a_back_has_its_centre_at_the_other_end_of_the_hem() -> None:
    piece = straight_piece("back", ((0.0, -rise(4)), *BOX[1:]), BACK, fold="centre")
    found = by_place(Pattern(name="box", size="1", pieces=(piece,)))
    assert found["back: hem at the centre"].got == pytest.approx(94)
    assert found["back: neckline at the centre"].status is Status.HELD
    assert len(found) == 2


def test_other_corners_are_not_judged() -> None:
    assert len(by_place(two_halves())) == 2 + 4  # two ends of the seam; two corners a centre
    none = with_role(two_halves(), Role.CENTRE, Role.STYLE_SEAM)
    assert {f.check for f in check(none)} == {"junction"}
    side = with_role(with_role(two_halves(), Role.HEM, Role.WRIST), Role.NECKLINE, Role.ARMHOLE)
    assert {f.check for f in check(side)} == {"junction"}
