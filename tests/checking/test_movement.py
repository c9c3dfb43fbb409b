"""Ease of movement on a sleeve with a pointed cap and a box of a body: angles of plain triangles."""

import math

import pytest

from sleevewright.checking import movement
from sleevewright.geometry import Curve
from sleevewright.pattern import Edge, Pattern, Piece, Role, Side
from straight_pieces import straight_piece

#: 300 wide, 400 to the underarm, the cap 120 high.
CORNERS = ((0.0, 0.0), (300.0, 0.0), (300.0, 400.0), (150.0, 520.0), (0.0, 400.0))
NAMED = (
    ("wrist", Role.WRIST, None), ("underarm_seam.front", Role.UNDERARM_SEAM, Side.FRONT),
    ("cap.front", Role.CAP, Side.FRONT), ("cap.back", Role.CAP, Side.BACK),
    ("underarm_seam.back", Role.UNDERARM_SEAM, Side.BACK),
)  # fmt: skip


def sleeve(cap: Role = Role.CAP) -> Piece:
    ring = zip(CORNERS, (*CORNERS[1:], CORNERS[0]), strict=True)
    edges = tuple(
        Edge(name=name, role=cap if role is Role.CAP else role, side=side, curve=Curve.line(a, b))
        for (name, role, side), (a, b) in zip(NAMED, ring, strict=True)
    )
    return Piece(name="sleeve", edges=edges)


def body(name: str, tall: float, armhole: Role = Role.ARMHOLE) -> Piece:
    """A half body with a side seam, an armhole and a shoulder."""
    corners = ((0.0, 0.0), (200.0, 0.0), (200.0, tall), (150.0, tall + 200), (0.0, tall + 200))
    if name == "back":
        corners = tuple((-x, y) for x, y in reversed(corners))
        roles = (Role.SHOULDER, armhole, Role.SIDE_SEAM, Role.HEM, Role.CENTRE)
    else:
        roles = (Role.HEM, Role.SIDE_SEAM, armhole, Role.SHOULDER, Role.CENTRE)
    return straight_piece(name, corners, roles)


def pattern(*pieces: Piece, facts: tuple = ()) -> Pattern:
    return Pattern(name="b", size="1", pieces=pieces, facts=facts)


BLOCK = pattern(body("front", 300), body("back", 320), sleeve())
GIRTH = 2 * math.hypot(50, 200)


def test_a_set_in_sleeve_has_its_cap_armhole_and_angle() -> None:
    assert movement(BLOCK, BLOCK) == {
        "movement.biceps_mm": pytest.approx(300),
        "movement.underarm_length_front_mm": pytest.approx(300 + 400),
        "movement.underarm_length_back_mm": pytest.approx(320 + 400),
        "movement.armhole_girth_mm": pytest.approx(GIRTH),
        "movement.cap_height_mm": pytest.approx(120),
        "movement.cap_to_armhole_ratio": pytest.approx(120 / GIRTH),
        "movement.flat_angle_deg": pytest.approx(math.degrees(math.atan(120 / 150))),
    }


def raglan(facts: tuple = ()) -> Pattern:
    return pattern(
        body("front", 300, Role.RAGLAN_SEAM), body("back", 320, Role.RAGLAN_SEAM),
        sleeve(Role.RAGLAN_SEAM), facts=facts,
    )  # fmt: skip


def test_a_raglan_takes_cap_and_armhole_from_its_block() -> None:
    found = movement(raglan(), BLOCK)
    assert found["movement.cap_height_mm"] == pytest.approx(120)
    assert found["movement.cap_to_armhole_ratio"] == pytest.approx(120 / GIRTH)
    assert "movement.armhole_girth_mm" not in found
    assert found["movement.biceps_mm"] == pytest.approx(300)
    assert found["movement.flat_angle_deg"] == pytest.approx(math.degrees(math.atan(120 / 150)))


def test_a_raglans_cap_is_lower_by_what_was_lowered() -> None:
    found = movement(raglan((("raglan.crown_lowered_mm", 20.0),)), BLOCK)
    assert found["movement.cap_height_mm"] == pytest.approx(100)
    turned = movement(
        raglan((("raglan.crown_lowered_mm", 20.0), ("raglan_angle.cap_height_mm", 75.0))), BLOCK
    )
    assert turned["movement.cap_height_mm"] == pytest.approx(75)
    assert turned["movement.flat_angle_deg"] == pytest.approx(math.degrees(math.atan(75 / 150)))


def test_what_there_is_not_is_left_out() -> None:
    bodies = pattern(body("front", 300), body("back", 320))
    assert movement(bodies, bodies) == {"movement.armhole_girth_mm": pytest.approx(GIRTH)}
    alone = movement(pattern(sleeve()), BLOCK)
    assert set(alone) == {"movement.biceps_mm", "movement.cap_height_mm", "movement.flat_angle_deg"}
    capless = movement(raglan(), raglan())
    assert not {
        "movement.cap_height_mm",
        "movement.cap_to_armhole_ratio",
        "movement.flat_angle_deg",
    } & set(capless)
    girdled = movement(raglan(), pattern(sleeve()))
    assert "movement.cap_height_mm" in girdled
    assert "movement.cap_to_armhole_ratio" not in girdled


def test_a_kimono_has_the_angle_that_it_was_drawn_at() -> None:
    found = movement(pattern(sleeve(), facts=(("kimono.overarm_angle_deg", 33.0),)), BLOCK)
    assert found["movement.flat_angle_deg"] == 33.0


def test_an_overarm_seam_has_its_length() -> None:
    """A sleeve in one with its bodice: overarm and underarm seams are the bodice's own."""
    corners = (
        (0.0, 0.0),
        (200.0, 0.0),
        (200.0, 250.0),
        (420.0, 250.0),
        (420.0, 400.0),
        (0.0, 400.0),
    )
    roles = (
        Role.HEM,
        Role.SIDE_SEAM,
        Role.UNDERARM_SEAM,
        Role.WRIST,
        Role.OVERARM_SEAM,
        Role.CENTRE,
    )
    found = movement(pattern(straight_piece("front", corners, roles)), BLOCK)
    assert found["movement.overarm_length_mm"] == pytest.approx(420)
    assert found["movement.underarm_length_front_mm"] == pytest.approx(250 + 220)
    assert "movement.underarm_length_back_mm" not in found
