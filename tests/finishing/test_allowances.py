"""Allowances and corners on every sample: invariants 30 and 31, and what is refused."""

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from samples_of_ours import all_blocks
from sleevewright.checking import check
from sleevewright.errors import OperationError
from sleevewright.finishing import finish
from sleevewright.finishing.unfolding import unfolded
from sleevewright.geometry import Affine
from sleevewright.geometry.region import polygon
from sleevewright.operations.raglan import Raglan
from sleevewright.pattern import Corner, Role
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.naming import DART_MARK

BLOCKS = all_blocks()
WIDTHS = {Role.NECKLINE: 6.0, Role.HEM: 35.0, Role.WRIST: 20.0, Role.SIDE_SEAM: 15.0}


@pytest.mark.parametrize("kind", list(Corner))
def test_every_corner_kind_gives_a_sound_cut_line(kind: Corner) -> None:
    settings = FinishSettings(allowances=WIDTHS, corner=kind, corners=dict.fromkeys(Role, kind))
    for block in BLOCKS:
        pattern = finish(Raglan().apply(block), settings)
        bad = [f.message for f in check(pattern) if f.fell_short and f.check == "allowance"]
        assert not bad, bad
        for piece in pattern.pieces:
            ring = np.concatenate([p.curve.flattened(0.02)[:-1] for p in piece.finish.cut_line])
            sew = polygon([e.curve for e in piece.edges])
            cut = Polygon(ring)
            assert cut.is_valid
            farthest = max(Point(p).distance(sew) for p in ring)
            assert farthest <= 2.5 * 35.0 + 0.1, (piece.name, kind)


def test_mirrored_turn_up_lies_on_the_piece_when_folded() -> None:
    """Folded along the hem line the turn-up covers the side's allowance and no more (0.1 mm)."""
    settings = FinishSettings(allowances=WIDTHS)
    for block in BLOCKS[::2]:
        piece = finish(block, settings)["front"]
        hem = next(e for e in piece.edges if e.role is Role.HEM).curve
        cut = Polygon(np.concatenate([p.curve.flattened(0.01)[:-1] for p in piece.finish.cut_line]))
        mirror = Affine.reflection(hem.start, hem.end - hem.start)
        below = cut.intersection(_half_plane(hem, below=True))
        folded = Polygon(mirror.apply(np.array(below.exterior.coords)))
        outside = folded.difference(cut.buffer(0.1))
        assert outside.area < 1.0, (block.name, outside.area)


def _half_plane(hem: object, *, below: bool) -> Polygon:
    a, b = hem.start, hem.end
    along = (b - a) / np.hypot(*(b - a))
    down = np.array([along[1], -along[0]]) * (1 if below else -1)
    p, q = a - 500 * along, b + 500 * along
    return Polygon([p, q, q + 500 * down, p + 500 * down])


def test_no_allowance_leaves_the_sewing_line() -> None:
    piece = finish(BLOCKS[5], FinishSettings(allowance=0.0, allowances={}))["back"]
    cut = polygon([p.curve for p in piece.finish.cut_line])
    assert cut.symmetric_difference(polygon([e.curve for e in piece.edges])).area < 0.5


def test_too_wide_an_allowance_is_refused_by_name() -> None:
    with pytest.raises(OperationError, match=r"neckline of .* is wider than the piece allows"):
        finish(BLOCKS[5], FinishSettings(allowances={Role.NECKLINE: 90.0}))


def test_notches_sit_on_the_cut_line_square_to_the_seam() -> None:
    for block in BLOCKS[::3]:
        for piece in finish(Raglan().apply(block), FinishSettings()).pieces:
            ring = LineString(
                np.concatenate([p.curve.flattened(0.005) for p in piece.finish.cut_line])
            )
            for mark in piece.finish.notches:
                assert ring.distance(Point(mark.point)) < 0.05
                if mark.name.startswith(DART_MARK):  # along its leg: test_dart_marks
                    continue
                edge = min(piece.edges, key=lambda e: e.curve.nearest(mark.sew_point)[1])
                along = edge.curve.direction_at(edge.curve.nearest(mark.sew_point)[0])
                assert abs(float(along @ np.array(mark.direction))) < 0.02
                assert mark.depth <= 5.0


def test_unfolding_doubles_the_area_and_keeps_the_edges() -> None:
    for block in BLOCKS:
        for name in ("front", "back"):
            half, whole = block[name], unfolded(block[name])
            assert whole.area == pytest.approx(2 * half.area, rel=1e-9)
            assert not whole.fold
            assert whole.length(Role.ARMHOLE) == pytest.approx(2 * half.length(Role.ARMHOLE))
            assert whole["neckline"].length == pytest.approx(2 * half["neckline"].length)
            assert not whole["neckline"].curve.corners(1.0)
