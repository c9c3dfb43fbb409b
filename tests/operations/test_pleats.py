"""Pleats against closed forms, on all blocks and sizes."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oblong import rectangle
from promised import applied
from samples_of_ours import all_blocks
from sleevewright.checking import check, promise_findings
from sleevewright.errors import OperationError
from sleevewright.geometry import Affine, Curve
from sleevewright.operations.pleats import Pleats
from sleevewright.pattern import Pattern, Piece, Role, Side

BLOCKS = all_blocks()
CLOTH = {"knife": 2, "box": 4, "inverted": 4}


def marks(piece: Piece, name: str) -> list[Curve]:
    return [line.curve for line in piece.internal if line.name == name]


@pytest.mark.parametrize("kind", list(CLOTH))
@pytest.mark.parametrize(("count", "depth"), [(1, 20.0), (3, 12.0), (5, 15.0)])
def test_straight_edges_gain_their_cloth(kind: str, count: int, depth: float) -> None:
    """Finished + 2 x depth x n for knife pleats, + 4 x depth x n for box pleats."""
    width, height = 600.0, 500.0
    step = Pleats(opens="wrist", towards="cap", kind=kind, count=count, depth=depth)  # type: ignore[arg-type]
    sleeve = applied(step, rectangle(width, height))["sleeve"]
    gain = CLOTH[kind] * depth * count
    assert sleeve.length(Role.WRIST) == pytest.approx(width + gain, abs=1e-9)
    assert sleeve.length(Role.CAP) == pytest.approx(width + gain, abs=1e-9)
    assert sleeve.area == pytest.approx((width + gain) * height, rel=1e-12)
    assert len(sleeve.edges) == 4, "square to the folds, an edge is not parted"


@pytest.mark.parametrize("kind", list(CLOTH))
def test_folds_are_laid_a_pleat_away_and_arrows_run_from_high_to_low(kind: str) -> None:
    depth = 18.0
    step = Pleats(opens="wrist", towards="cap", kind=kind, depth=depth, facing="front")  # type: ignore[arg-type]
    sleeve = applied(step, rectangle(400.0, 500.0))["sleeve"]
    folds, placed = marks(sleeve, "pleat 1 fold"), marks(sleeve, "pleat 1 placement")
    arrows = marks(sleeve, "pleat 1 arrow")
    assert len(folds) == len(arrows) == CLOTH[kind] // 2
    for fold, arrow in zip(folds, arrows, strict=True):
        reach = [abs(float(fold.start[0] - line.start[0])) for line in placed]
        assert min(abs(r - 2 * depth) for r in reach) < 1e-9
        assert arrow.start[0] == pytest.approx(fold.start[0])
        assert abs(float(arrow.controls[0, 3, 0] - arrow.start[0])) == pytest.approx(2 * depth)
    if kind == "knife":  # the oblong's front is where x is greatest
        assert arrows[0].controls[0, 3, 0] > arrows[0].start[0]


@pytest.mark.parametrize(
    ("kind", "stations"),
    [("knife", [0, 2]), ("inverted", [0, 2, 4]), ("box", [0, 1, 3, 4])],
)
def test_every_visible_fold_and_what_it_is_laid_to_is_notched(
    kind: str, stations: list[int]
) -> None:
    """Across the cloth of a pleat, in depths; the folds of a box pleat, the centre of an inverted one."""
    depth = 15.0
    step = Pleats(opens="wrist", towards="cap", kind=kind, depth=depth)  # type: ignore[arg-type]
    edge = applied(step, rectangle(400.0, 500.0))["sleeve"].with_role(Role.WRIST)[0]
    at = sorted(n.at for n in edge.notches if n.name.startswith("pleat 1"))
    middle = edge.length / 2 - CLOTH[kind] * depth / 2
    assert at == pytest.approx([middle + k * depth for k in stations])


@pytest.mark.parametrize("i", range(len(BLOCKS)))
@pytest.mark.parametrize("facing", ["front", "back"])
def test_folded_the_edge_is_the_edge_of_the_block(i: int, facing: str) -> None:
    """Fold the paper: mirror the pleat's cloth in its folds; every layer lies on the old cap."""
    block = BLOCKS[i]
    depth = 14.0
    step = Pleats(
        opens="cap", towards="wrist", at=(0.45,), depth=depth, facing=facing, hinged=True,  # type: ignore[arg-type]
        fold_length=60.0,
    )  # fmt: skip
    after = applied(step, block)
    sleeve = after["sleeve"]
    old = Curve.joined(e.curve for e in block["sleeve"].with_role(Role.CAP))
    cap = Curve.joined(e.curve for e in sleeve.with_role(Role.CAP))
    (fold,), (placed,) = marks(sleeve, "pleat 1 fold"), marks(sleeve, "pleat 1 placement")
    start, end = sorted(cap.nearest(line.start)[0] for line in (fold, placed))
    assert cap.length - (end - start) == pytest.approx(old.length, abs=1e-3)
    # The layer next to the fold, mirrored in it, lies on the strip that covers it.
    inside = 1.0 if cap.nearest(fold.start)[0] == start else -1.0
    for reach in np.linspace(1.0, 0.4 * (end - start), 5):
        layer = cap.point_at(cap.nearest(fold.start)[0] + inside * reach)
        mirrored = Affine.reflection(fold.start, fold.start_direction).apply(layer)
        assert cap.nearest(mirrored)[1] < 0.02
        back = abs(cap.nearest(mirrored)[0] - cap.nearest(fold.start)[0])
        assert back == pytest.approx(reach, abs=0.02)
    assert sleeve.length(Role.WRIST) == pytest.approx(block["sleeve"].length(Role.WRIST), abs=0.01)


@pytest.mark.parametrize("i", range(len(BLOCKS)))
def test_seams_are_walked_with_the_pleats_folded(i: int) -> None:
    block = BLOCKS[i]
    step = Pleats(
        opens="cap", towards="wrist", at=(0.35, 0.5, 0.65), depth=8.0, hinged=True, kind="knife"
    )
    after = applied(step, block)
    total = 0.0
    for side in Side:
        was, now = block.seam(f"{side} armhole"), after.seam(f"{side} armhole")
        assert now.ease == was.ease
        extra = after.side_length(now.first) - block.side_length(was.first)
        assert now.pleated == pytest.approx(extra, abs=1e-9)
        total += extra
    cap = sum(
        after["sleeve"].length(Role.CAP, s) - block["sleeve"].length(Role.CAP, s) for s in Side
    )
    assert total == pytest.approx(cap, abs=1e-9)
    assert total > 3 * 16.0 - 1.0
    known = {f.where for f in check(block) if f.fell_short}
    bad = [f for f in check(after) if f.fell_short and f.where not in known]
    assert not bad, [f.message for f in bad]


def test_a_pleat_forgotten_by_the_seam_is_found() -> None:
    after = Pleats(opens="cap", towards="wrist", depth=8.0, hinged=True).apply(BLOCKS[0])
    seams = tuple(replace(seam, pleated=0.0) for seam in after.seams)
    bad = [f for f in check(replace(after, seams=seams)) if f.fell_short]
    assert {f.check for f in bad} >= {"seam-length"}


@settings(max_examples=25)
@given(
    st.sampled_from(BLOCKS), st.sampled_from(list(CLOTH)), st.integers(1, 6), st.floats(3.0, 60.0),
    st.booleans(), st.sampled_from(["front", "back"]),
    st.sampled_from([("sleeve", "cap", "wrist"), ("sleeve", "wrist", "cap"), ("back", "hem", "neckline")]),
)  # fmt: skip
def test_any_pleats_hold_or_say_why(
    block: Pattern, kind: str, count: int, depth: float, hinged: bool, facing: str,
    where: tuple[str, str, str],
) -> None:  # fmt: skip
    piece, opens, towards = where
    step = Pleats(
        piece=piece, opens=opens, towards=towards, kind=kind, count=count, depth=depth,  # type: ignore[arg-type]
        hinged=hinged, facing=facing,  # type: ignore[arg-type]
    )  # fmt: skip
    try:
        after = step.apply(block)
    except OperationError as error:
        assert len(str(error)) > 30
        return
    bad = [f for f in promise_findings("x", step.promises(block, after)) if f.fell_short]
    assert not bad, [f.message for f in bad]


@pytest.mark.parametrize(
    ("given_settings", "words"),
    [
        ({"opens": "cap", "towards": "wrist", "count": 6, "depth": 60.0}, "deeper than the edge"),
        ({"opens": "cap", "towards": "cap", "depth": 9.0}, "to itself"),
        ({"opens": "cuff", "towards": "cap", "depth": 9.0}, "no edge 'cuff'"),
        ({"piece": "yoke", "opens": "cap", "towards": "cap", "depth": 9.0}, "no piece 'yoke'"),
    ],
)
def test_refusals_say_what_is_wrong(given_settings: dict[str, object], words: str) -> None:
    with pytest.raises(OperationError, match=words):
        Pleats(**given_settings).apply(BLOCKS[0])  # type: ignore[arg-type]


@pytest.mark.parametrize("off", [-3.0, -0.04, 0.04, 3.0])
def test_a_joint_of_the_edge_hard_by_a_fold_makes_no_kink(off: float) -> None:
    """The little turn at a fold is taken out over 6 mm, wherever the drawing's own joints lie."""
    block = rectangle(400.0, 500.0)
    sleeve = block["sleeve"]
    wrist = sleeve["wrist"]
    low = replace(wrist, curve=Curve.line((0.0, -1.4), (400.0, 1.4)))
    low = replace(low, curve=Curve.joined(low.curve.split_at(low.length / 2 + off)))
    left, right = sleeve.neighbours("wrist")
    edges = (
        replace(left, curve=left.curve.with_ends(left.curve.start, low.curve.start)), low,
        replace(right, curve=right.curve.with_ends(low.curve.end, right.curve.end)),
    )  # fmt: skip
    pleats = Pleats(opens="cap", towards="wrist", kind="inverted", count=1, depth=20.0)
    after = pleats.apply(block.with_pieces([sleeve.with_edges(edges)]))["sleeve"]
    for edge in after.with_role(Role.WRIST):
        ways = edge.curve.direction_at(np.arange(0.0, edge.length, 0.05))
        turns = np.degrees(np.arcsin(ways[:-1, 0] * ways[1:, 1] - ways[:-1, 1] * ways[1:, 0]))
        assert np.abs(turns).max() < 0.05, f"{edge.name} turns within a twentieth of a mm"
