"""What labels mean."""

import pytest

from sleevewright.pattern import Role, Side
from sleevewright.reading.edge_names import Extra, read_label


@pytest.mark.parametrize(
    ("text", "piece", "what"),
    [
        ("front.armhole", "front", Role.ARMHOLE),
        ("FRONT_ARMHOLE", "front", Role.ARMHOLE),
        ("Front-Armhole", "front", Role.ARMHOLE),
        ("front armhole", "front", Role.ARMHOLE),
        ("BACK.SIDE_SEAM", "back", Role.SIDE_SEAM),
        ("back-side-seam", "back", Role.SIDE_SEAM),
        ("back_cb", "back", Role.CENTRE),
        ("SLEEVE_CAP", "sleeve", Role.CAP),
        ("sleeve.underarm", "sleeve", Role.UNDERARM_SEAM),
        ("front.dart_leg_2", "front", Role.DART_LEG),
        ("sleeve_front.raglan_seam", "sleeve_front", Role.RAGLAN_SEAM),
        ("front.notch", "front", Extra.NOTCH),
        ("sleeve_GRAIN", "sleeve", Extra.GRAIN),
        ("armhole", "", Role.ARMHOLE),
        ("ignore", "", Extra.IGNORE),
    ],
)
def test_a_label_names_a_piece_and_what_it_is(text, piece, what):
    label = read_label(text)
    assert (label.piece, label.what) == (piece, what)


@pytest.mark.parametrize("text", ["sleeve.cap_front", "sleeve.front_cap", "SLEEVE_CAP_FRONT"])
def test_the_half_of_a_sleeve_may_be_named(text):
    label = read_label(text)
    assert (label.piece, label.what, label.side) == ("sleeve", Role.CAP, Side.FRONT)


def test_a_piece_alone_is_a_label_too():
    assert read_label("Bodice Front").piece == "front"
    assert read_label("Bodice Front").what is None


@pytest.mark.parametrize(
    "text", ["", "0", "armhoel", "layer1", "path1234", "front.armhoel", "élan"]
)
def test_what_is_not_known_means_nothing(text):
    assert read_label(text) is None


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("sleeve.hem", ("sleeve", Role.WRIST, None)),
        ("sleeve_side", ("sleeve", Role.UNDERARM_SEAM, None)),
        ("front.underarm", ("front", Role.SIDE_SEAM, None)),
        ("front_cap", ("sleeve", Role.CAP, Side.FRONT)),
    ],
)
def test_a_role_is_what_its_piece_has(text, meant):
    label = read_label(text)
    assert (label.piece, label.what, label.side) == meant
