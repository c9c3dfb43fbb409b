"""A pleat at the centre on the fold, against closed forms on a box and folded anew on all blocks."""

from dataclasses import replace

import numpy as np
import pytest

from promised import applied
from samples_of_ours import all_blocks
from sleevewright.checking import check
from sleevewright.errors import OperationError
from sleevewright.finishing import finish
from sleevewright.geometry import Affine, Curve
from sleevewright.operations.centre_pleat import CentrePleat
from sleevewright.pattern import Pattern, Piece, Role
from sleevewright.pattern.finish_settings import FinishSettings
from straight_pieces import BACK, BOX, FRONT, straight_piece, two_halves

BLOCKS = all_blocks()


def boxes() -> Pattern:
    """A front whose centre is its left side and a back whose centre is its right side, on the fold."""
    front = straight_piece("front", BOX, FRONT, fold="centre")
    back = straight_piece("back", BOX, BACK, fold="centre")
    return replace(two_halves(), pieces=(front, back))


@pytest.mark.parametrize(("piece", "out"), [("front", -1.0), ("back", 1.0)])
@pytest.mark.parametrize(("kind", "stations"), [("box", [0.0, 1.0]), ("inverted", [0.0])])
def test_a_box_gains_twice_the_depth_beyond_its_centre(
    piece: str, out: float, kind: str, stations: list[float]
) -> None:
    depth, width, height = 20.0, 100.0, 200.0
    step = CentrePleat(piece=piece, kind=kind, depth=depth)  # type: ignore[arg-type]
    after = applied(step, boxes())
    half = after[piece]
    assert half.area == pytest.approx((width + 2 * depth) * height)
    assert [e.role for e in half.edges] == [e.role for e in boxes()[piece].edges]
    centre = {"front": 0.0, "back": 100.0}[piece]
    assert half[half.fold].curve.start[0] == pytest.approx(centre + out * 2 * depth)
    for role in (Role.HEM, Role.NECKLINE):
        (edge,) = half.with_role(role)
        at = sorted(abs(edge.curve.point_at(n.at)[0] - centre) / depth for n in edge.notches)
        assert at == pytest.approx(stations)
    lines = {line.name: line.curve for line in half.internal}
    fold = lines["pleat fold"].start[0]
    assert fold == pytest.approx(centre + out * depth * (kind == "box"))
    assert lines["pleat fold"].start[1] == pytest.approx(height), "drawn from the neckline down"
    if kind == "box":
        assert lines["pleat placement"].start[0] == pytest.approx(centre - out * depth)
    assert abs(lines["pleat arrow"].controls[0, 3, 0] - fold) == pytest.approx(2 * depth)


@pytest.mark.parametrize("i", range(len(BLOCKS)))
@pytest.mark.parametrize("piece", ["front", "back"])
def test_folded_the_edge_is_the_edge_of_the_block(i: int, piece: str) -> None:
    """Fold the paper: the cloth of the pleat, mirrored in its folds, lies on the old neckline."""
    block, depth = BLOCKS[i], 15.0
    half = applied(CentrePleat(piece=piece, depth=depth), block)[piece]
    old = block[piece][block[piece].fold].curve
    neck = Curve.joined(e.curve for e in half.with_role(Role.NECKLINE))
    was = Curve.joined(e.curve for e in block[piece].with_role(Role.NECKLINE))
    out = -1.0 if half[half.fold].curve.start[0] < old.start[0] else 1.0
    under = Affine.reflection((old.start[0] + out * depth, 0.0), (0.0, 1.0))
    over = Affine.reflection(old.start, (0.0, 1.0))
    for point in neck.flattened():
        beyond = out * (point[0] - old.start[0])
        folded = point
        if beyond > depth:
            folded = under.apply(folded)
        if beyond > 0:
            folded = over.apply(folded)
        assert was.nearest(folded)[1] < 0.05, point


@pytest.mark.parametrize("i", range(len(BLOCKS)))
def test_every_check_holds_on_the_finished_piece(i: int) -> None:
    after = applied(CentrePleat(depth=20.0, kind="inverted", fold_length=80.0), BLOCKS[i])
    bad = [f.message for f in check(finish(after, FinishSettings()), BLOCKS[i]) if f.fell_short]
    assert not bad
    (fold,) = (line.curve for line in after["back"].internal if line.name == "pleat fold")
    assert fold.length == pytest.approx(80.0)


def bent(piece: Piece) -> Piece:
    c = np.array(piece["centre"].curve.controls)
    c[0, 1:3, 0] += 4.0
    return piece.with_edges([replace(piece["centre"], curve=Curve(c))])


@pytest.mark.parametrize(
    ("step", "pattern", "words"),
    [
        (CentrePleat(depth=20.0), two_halves(), "back is not cut on the fold"),
        (CentrePleat(depth=20.0, piece="yoke"), boxes(), "no piece 'yoke'"),
        (CentrePleat(depth=120.0), boxes(), "deeper than the edge"),
        (CentrePleat(depth=20.0), boxes().with_pieces([bent(boxes()["back"])]), "not straight"),
    ],
)
def test_refusals_say_what_is_wrong(step: CentrePleat, pattern: Pattern, words: str) -> None:
    with pytest.raises(OperationError, match=words):
        step.apply(pattern)
