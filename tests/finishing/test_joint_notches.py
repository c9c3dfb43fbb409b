"""A notch wherever the outline runs on smoothly and what it is sewn to changes."""

import math
from dataclasses import replace

import pytest

from samples_of_ours import BLOCKS, from_svg, recipe
from sleevewright.checking import check
from sleevewright.finishing import finish
from sleevewright.finishing.joint_notches import CORNER, with_joint_notches
from sleevewright.geometry import Curve
from sleevewright.pattern import EdgeUse, Notch, NotchKind, Pattern, Piece, Role, Seam, Side
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import CROWN
from sleevewright.pipeline.convert import convert
from straight_pieces import straight_piece

#: A strip whose upper side is drawn in two parts; the piece it is sewn to lies above it.
TOP = (Role.STYLE_SEAM, Role.STYLE_SEAM)


def strip(turn: float = 0.0, name: str = "strip", fold: str = "") -> Piece:
    """The two parts of the upper side meet under an angle (degrees), raised or sunk."""
    high = 50.0 + 50.0 * math.tan(math.radians(turn / 2))
    corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, high), (0.0, 50.0))
    roles = (Role.HEM, Role.SIDE_SEAM, *TOP, Role.CENTRE)
    return straight_piece(name, corners, roles, fold=fold)


def use(edge: str, piece: str = "strip", backwards: bool = False) -> EdgeUse:
    return EdgeUse(piece=piece, edge=edge, backwards=backwards)


def seam(name: str, first: tuple[EdgeUse, ...], second: tuple[EdgeUse, ...]) -> Seam:
    return Seam(name=name, first=first, second=second)


def others() -> tuple[Piece, Piece]:
    return strip(name="left"), strip(name="right")


def notches(piece: Piece) -> list[tuple[str, float, str]]:
    return [(e.name, n.at, n.name) for e in piece.edges for n in e.notches]


def made(piece: Piece, *seams: Seam) -> list[tuple[str, float, str]]:
    pattern = Pattern(name="p", size="1", pieces=(piece, *others()), seams=seams)
    return notches(with_joint_notches(pattern)["strip"])


RIGHT = seam("right", (use("style_seam"),), (use("hem", "right"),))
LEFT = seam("left", (use("style_seam.2"),), (use("hem", "left"),))


@pytest.mark.parametrize("turn", [0.0, CORNER - 1, -CORNER + 1])
def test_two_seams_that_meet_without_a_corner_get_a_notch(turn: float) -> None:
    piece = strip(turn)
    first = piece["style_seam"].length
    assert made(piece, RIGHT, LEFT) == [("style_seam", first, "style seam")]
    assert made(piece, LEFT, RIGHT) == [("style_seam.2", 0.0, "style seam")]


@pytest.mark.parametrize("turn", [CORNER + 1, -CORNER - 1])
def test_a_corner_shows_by_itself(turn: float) -> None:
    assert not made(strip(turn), RIGHT, LEFT)


def test_where_sewing_ends_without_a_corner_too() -> None:
    assert made(strip(), RIGHT) == [("style_seam", 50.0, "style seam")]
    assert made(strip(), LEFT) == [("style_seam.2", 0.0, "style seam")]
    assert not made(strip())


@pytest.mark.parametrize("backwards", [False, True])
def test_a_seam_that_simply_goes_on_gets_none(backwards: bool) -> None:
    both = (use("style_seam", backwards=backwards), use("style_seam.2", backwards=backwards))
    both = both[::-1] if backwards else both
    assert not made(strip(), seam("long", both, (use("hem", "left"),)))


def test_a_seam_that_begins_and_ends_at_the_joint_gets_one() -> None:
    """A wrist at its opening: round the sleeve the cuff starts there and comes back to it."""
    round_about = (use("style_seam.2"), use("style_seam"))
    assert made(strip(), seam("cuff", round_about, (use("hem", "left"),)))


@pytest.mark.parametrize(("second", "wanted"), [("right", 1), ("left", 0)])
def test_one_seam_over_two_pieces_is_marked_where_they_meet(second: str, wanted: int) -> None:
    """A facing's edge meets the raglan seam, which ends at the neckline."""
    both = (use("style_seam"), use("style_seam.2"))
    other = (use("style_seam", "left"), use("style_seam.2", second))
    assert len(made(strip(), seam("facing", both, other))) == wanted


def test_what_is_marked_already_is_not_marked_again() -> None:
    piece = strip()
    edge = piece["style_seam.2"].with_notch(Notch(at=0.5, name="pitch"))
    assert made(piece.with_edges([edge]), RIGHT, LEFT) == [("style_seam.2", 0.5, "pitch")]
    far = piece["style_seam.2"].with_notch(Notch(at=5.0, name="style seam"))
    assert ("style_seam", 50.0, "style seam") in made(piece.with_edges([far]), RIGHT, LEFT)


def test_along_a_side_of_a_seam_every_notch_has_its_own_name() -> None:
    piece = strip()
    taken = piece["style_seam"].with_notch(Notch(at=10.0, name="style seam"))
    found = made(piece.with_edges([taken]), RIGHT, LEFT)
    assert ("style_seam", 50.0, "style seam 2") in found


def test_a_fold_is_no_seam() -> None:
    assert not made(strip(fold="style_seam"), LEFT)


# --- on the samples ----------------------------------------------------------------------------

SET_IN = (
    "bell-sleeve", "puff-head", "leg-of-mutton", "tiered-sleeve", "shirt-sleeve", "bishop-cuffed",
    "drop-shoulder", "pleated-sleeve-head", "high-cap-sleeve", "three-panel-sleeve",
)  # fmt: skip


def crowns(pattern: Pattern) -> list[tuple[str, str, float, NotchKind]]:
    return [
        (piece.name, edge.name, edge.length - notch.at, notch.kind)
        for piece in pattern.pieces
        for edge in piece.edges
        for notch in edge.notches
        if notch.name == CROWN
    ]


@pytest.mark.parametrize("block", BLOCKS)
@pytest.mark.parametrize("name", SET_IN)
def test_a_set_in_sleeve_has_one_single_notch_at_its_crown(name: str, block: str) -> None:
    for of_a_size in from_svg(block)[::2]:
        pattern = convert(of_a_size, recipe(name)).pattern
        ((piece, edge, off, kind),) = crowns(pattern)
        assert pattern[piece][edge].side is Side.FRONT
        assert (off, kind) == (0.0, NotchKind.SINGLE)
        marks = [m for m in pattern[piece].finish.notches if m.name == CROWN]
        assert [m.sew_point for m in marks] == [
            pytest.approx(tuple(pattern[piece][edge].curve.end), abs=1e-9)
        ]


def test_both_layers_of_a_petal_sleeve_have_a_crown() -> None:
    pattern = convert(from_svg("women_overblock")[2], recipe("petal-sleeve")).pattern
    assert [piece for piece, *_ in crowns(pattern)] == ["sleeve_front", "sleeve_back"]


@pytest.mark.parametrize("name", ["classic-raglan", "one-piece-raglan", "kimono", "batwing"])
def test_where_there_is_no_crown_there_is_no_notch_for_it(name: str) -> None:
    assert not crowns(convert(from_svg("men_overblock")[0], recipe(name)).pattern)


def test_a_pitch_notch_at_the_joint_of_raglan_seam_and_armhole_stays_alone() -> None:
    pattern = convert(from_svg("men_overblock")[0], recipe("classic-raglan")).pattern
    for side in Side:
        names = [n.name for e in pattern[side].edges for n in e.notches]
        assert sorted(names) == [f"{side} pitch", f"{side} raglan"]


@pytest.mark.parametrize("name", ["kimono", "dolman"])
def test_a_kimono_has_fellows_at_shoulder_tip_and_underarm(name: str) -> None:
    pattern = convert(from_svg("women_overblock")[0], recipe(name)).pattern
    for word in ("shoulder tip", "underarm"):
        for side in Side:
            found = [n.name for e in pattern[side].edges for n in e.notches]
            assert found.count(word) == 1
    met = [f for f in check(pattern) if f.check == "notches-meet" and "tip" in f.where]
    assert len(met) == 1
    assert not met[0].fell_short


def test_a_cuff_is_marked_where_its_extension_begins_and_the_wrist_at_its_opening() -> None:
    pattern = convert(from_svg("women_overblock")[0], recipe("bishop-cuffed")).pattern
    wrist = [n.name for e in pattern["sleeve"].with_role(Role.WRIST) for n in e.notches]
    assert "opening" in wrist
    assert "cuff extension" in [n.name for n in pattern["cuff"]["cuff_seam"].notches]


def test_finishing_twice_marks_once() -> None:
    once = finish(from_svg("women_overblock")[0], FinishSettings())
    again = finish(once, FinishSettings())
    assert [p.drill_holes for p in again.pieces] == [p.drill_holes for p in once.pieces]
    assert [notches(p) for p in again.pieces] == [notches(p) for p in once.pieces]


def test_the_two_halves_of_a_whole_piece_are_marked_alike() -> None:
    pattern = convert(from_svg("women_overblock")[0], recipe("kimono")).pattern
    whole = finish(
        replace(pattern, pieces=tuple(replace(p, finish=None) for p in pattern.pieces)),
        FinishSettings(whole=True),
    )
    for side in Side:
        tips = [n.sew_point for n in whole[side].finish.notches if n.name == "shoulder tip"]
        assert len(tips) == 2


def test_curved_joints_are_measured_at_the_joint() -> None:
    arc = Curve.polyline([(100.0, 50.0), (75.0, 60.0), (50.0, 60.0)])
    piece = strip()
    left = Curve.line((50.0, 60.0), (0.0, 50.0))
    bent = piece.with_edges(
        [replace(piece["style_seam"], curve=arc), replace(piece["style_seam.2"], curve=left)]
    )
    assert len(made(bent, RIGHT, LEFT)) == 1
