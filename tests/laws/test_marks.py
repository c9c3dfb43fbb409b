"""Internal lines and drill holes lie on the cloth: whatever a recipe does, they go where it goes, or it is told."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import RECIPES, by_size, from_svg, recipe, registry
from sleevewright.findings import Status
from sleevewright.finishing.dart_marks import drill_hole
from sleevewright.geometry import Curve
from sleevewright.operations.dart_pivot import DartPivot
from sleevewright.operations.marks import Marks
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.sleeve_length import LengthenSleeve
from sleevewright.pattern import InternalLine, Pattern, Piece, Role, Side
from sleevewright.pipeline.convert import convert
from sleevewright.recipe import Recipe

BLOCK = by_size(from_svg("women_overblock"))["38"]


def marked(pattern: Pattern) -> Pattern:
    """A line across every piece from edge to edge every 70 mm, and holes between."""
    pieces = []
    for piece in pattern.pieces:
        left, bottom, right, top = piece.bounds
        levels = np.arange(bottom + 35.0, top, 70.0)
        lines = [
            InternalLine(curve=Curve.line((left - 9.0, y), (right + 9.0, y)), name=f"level {i}")
            for i, y in enumerate(levels)
        ]
        spots = [(float(x), float(y)) for y in levels + 20.0 for x in np.linspace(left, right, 7)]
        marks = Marks(tuple(lines), tuple(spots)).within(e.curve for e in piece.edges)
        pieces.append(marks.on(piece))
    return pattern.with_pieces(pieces)


def distance(a: tuple[float, float], b: np.ndarray) -> float:
    return float(np.hypot(*(np.array(a) - b)))


@pytest.mark.parametrize("name", RECIPES)
def test_no_mark_is_beside_its_piece_or_lost_without_a_word(name: str) -> None:
    block = marked(BLOCK)
    result = convert(block, recipe(name))
    seen = [f for f in result.findings if f.check == "marks"]
    assert not [f.message for f in seen if f.fell_short]
    pieces = result.pattern.pieces
    had = sum(len(p.drill_holes) for p in block.pieces)
    own = {hole for p in pieces for hole in map(drill_hole, p.darts())}
    have = sum(len(set(p.drill_holes) - own) for p in pieces)
    told = any(f.status is Status.NOTED and "left out" in f.message for f in result.findings)
    assert have >= had or told, (had, have)


def hole_on(piece: Piece, x: float, y: float) -> Piece:
    return replace(piece, drill_holes=((x, y),))


def test_a_hole_by_the_shoulder_goes_to_the_raglan_sleeve() -> None:
    """As far from the shoulder tip as it was; so it lies where the section is laid."""
    front = BLOCK["front"]
    shoulder = front.with_role(Role.SHOULDER)[0].curve
    tip = min((shoulder.start, shoulder.end), key=lambda p: p[0])
    hole = tip + np.array([35.0, -25.0])
    block = BLOCK.with_pieces([hole_on(front, *hole)])
    after = Raglan().apply(block)
    assert not after["front"].drill_holes
    ((x, y),) = after["sleeve_front"].drill_holes
    over = after["sleeve_front"].with_role(Role.OVERARM_SEAM)[0]
    mark = next(n for n in over.notches if n.name == "shoulder tip")
    now = over.curve.point_at(mark.at)
    assert distance((x, y), now) == pytest.approx(
        np.hypot(35.0, 25.0), abs=6.0
    )  # blended at the tip


def test_a_hole_below_the_line_stays_on_the_bodice() -> None:
    front = hole_on(BLOCK["front"], *(np.array(BLOCK["front"].bounds[:2]) + 120.0))
    after = Raglan().apply(BLOCK.with_pieces([front]))
    assert after["front"].drill_holes == front.drill_holes
    assert not after["sleeve_front"].drill_holes


def test_what_is_marked_on_a_part_turns_with_it_about_the_dart() -> None:
    """The bust dart goes from the armhole to the side seam: what lies between turns about its tip."""
    front = BLOCK["front"]
    dart = next(front.darts())
    side = front.with_role(Role.SIDE_SEAM)[0].curve
    under = max((side.start, side.end), key=lambda p: p[1])
    hole = under + np.array([30.0, -10.0])
    far = (dart.tip[0] + 40.0, dart.tip[1] - 200.0)
    block = BLOCK.with_pieces([replace(front, drill_holes=(tuple(map(float, hole)), far))])
    after = DartPivot(to="side_seam", at=0.3).apply(block)["front"]
    moved, stayed = after.drill_holes
    assert stayed == pytest.approx(far)
    assert distance(moved, dart.tip) == pytest.approx(distance(tuple(hole), dart.tip))
    assert min(
        distance(moved, p)
        for e in after.with_role(Role.ARMHOLE)
        for p in (e.curve.start, e.curve.end)
    ) == pytest.approx(np.hypot(30.0, 10.0), abs=1e-6)
    assert distance(moved, hole) > 5.0


@pytest.mark.parametrize("by", [40.0, -30.0])
def test_what_is_marked_below_the_elbow_goes_down_with_the_wrist(by: float) -> None:
    sleeve = BLOCK["sleeve"]
    low, high = sleeve.bounds[1], sleeve.bounds[3]
    middle = (sleeve.bounds[0] + sleeve.bounds[2]) / 2
    holes = ((middle, low + 60.0), (middle, high - 60.0))
    after = LengthenSleeve(by=by).apply(BLOCK.with_pieces([replace(sleeve, drill_holes=holes)]))[
        "sleeve"
    ]
    wanted = [(middle, low + 60.0 - by), (middle, high - 60.0)]
    assert np.array(sorted(after.drill_holes)) == pytest.approx(np.array(wanted))
    assert {Side.FRONT, Side.BACK} <= {e.side for e in after.edges}


def test_what_a_shortened_sleeve_loses_is_told() -> None:
    sleeve = BLOCK["sleeve"]
    middle = (sleeve.bounds[0] + sleeve.bounds[2]) / 2
    block = BLOCK.with_pieces([hole_on(sleeve, middle, sleeve.bounds[1] + 20.0)])
    text = b"name: short\nsteps:\n  - lengthen-sleeve: {by: -60 mm, at: wrist}\n"
    result = convert(block, Recipe.parse(text, "short.yaml", registry()))
    (told,) = [f for f in result.findings if f.check == "marks" and f.status is Status.NOTED]
    assert (told.status, told.message) == (
        Status.NOTED, "lengthen-sleeve: 1 drill hole off the sleeve left out",
    )  # fmt: skip
    assert not result.pattern["sleeve"].drill_holes
