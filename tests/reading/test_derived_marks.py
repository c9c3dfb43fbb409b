"""Marks that finishing derives are left out as a block is read, silently; all others stay."""

from dataclasses import replace

import numpy as np
import pytest

from sleevewright.pattern import Notch, Role, Side
from sleevewright.reading.derived_marks import END, without_derived_marks

from .conftest import Dot, Line, difference, svg_of

SAME = 0.05  # mm


def dart_of(piece):
    (dart,) = piece.darts()
    return dart


def test_a_crown_drawn_is_no_notch_of_the_block(women, read):
    """The sample draws one; it has told where the halves of the cap part."""
    _path, lines, dots, pattern = women
    sleeve = pattern["sleeve"]
    crown = tuple(sleeve["cap.front"].curve.end)
    assert any(np.hypot(*np.subtract(d.at, crown)) < 0.01 for d in dots if d.piece == "sleeve")
    names = [n.name for e in sleeve.with_role(Role.CAP) for n in e.notches]
    assert sorted(names) == ["back pitch", "front pitch"]
    del lines, read


def test_nor_where_the_cap_is_drawn_in_two_halves(women, read):
    _path, lines, dots, pattern = women
    caps = {s: pattern["sleeve"][f"cap.{s}"].curve for s in Side}
    rest = [x for x in lines if not (x.piece == "sleeve" and x.role == "cap")]
    halves = [Line("sleeve", f"cap_{side}", curve) for side, curve in caps.items()]
    (again,) = read(svg_of([*rest, *halves], dots)).patterns
    assert difference(pattern, again) < SAME


@pytest.mark.parametrize("away", [0.0, 0.9])
def test_drawn_notches_of_darts_are_left_out(women, read, away):
    _path, lines, dots, pattern = women
    drawn = []
    for name in ("front", "back"):
        dart = dart_of(pattern[name])
        before, _ = pattern[name].neighbours(dart.into.name)
        _, after = pattern[name].neighbours(dart.out.name)
        drawn += [
            Dot(name, tuple(before.curve.point_at(before.length - away).tolist())),
            Dot(name, tuple(after.curve.point_at(away).tolist())),
        ]
    result = read(svg_of(lines, [*dots, *drawn]))
    assert difference(pattern, result.patterns[0]) < SAME
    assert not [f for f in result.findings if "notch" in f.message]


def test_a_hole_in_a_dart_is_left_out_and_others_stay(women):
    front = women[-1]["front"]
    dart = dart_of(front)
    a, b = dart.mouth
    axis = (a + b) / 2 - dart.tip
    within, at_bust = dart.tip + 0.1 * axis, dart.tip - 0.1 * axis
    pocket = np.array(front.bounds[:2]) + 60.0
    holes = tuple(tuple(map(float, p)) for p in (within, at_bust, pocket))
    read = without_derived_marks(replace(front, drill_holes=holes))
    assert read.drill_holes == holes[1:]


def test_notches_a_little_farther_off_stay(women):
    sleeve = women[-1]["sleeve"]
    cap = sleeve["cap.front"]
    near = cap.with_notch(Notch(at=cap.length - END - 0.1, name="front 2"))
    piece = sleeve.with_edges([near])
    assert without_derived_marks(piece) == piece


def test_a_pitch_notch_at_the_end_of_a_lower_cap_stays(women):
    """Where a raglan sleeve's cap meets its raglan seam the notch is the pattern's own.

    Rounding in a file may put it a little off the end.
    """
    sleeve = women[-1]["sleeve"]
    front, back = sleeve["cap.front"], sleeve["cap.back"]
    pitch = front.with_notch(Notch(at=front.length + 1e-6, name="front pitch 2"))
    piece = sleeve.with_edges([pitch, replace(back, role=Role.RAGLAN_SEAM)])
    assert without_derived_marks(piece) == piece
