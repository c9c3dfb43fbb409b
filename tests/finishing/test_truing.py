"""Hem corners blended over a seam, on straight pieces whose angles are known."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from densely import SIZES
from samples_of_ours import by_size, from_svg, recipe
from sleevewright.checking.measure import interior_angle
from sleevewright.finishing.truing import BLEND, FADING, MOST_MOVED, TOO_MUCH, trued
from sleevewright.geometry import Curve
from sleevewright.pattern import EdgeUse, Notch, Pattern, Role, Seam
from sleevewright.pipeline.convert import convert
from straight_pieces import two_halves

WIDE = 400.0  # mm


def halves(degrees: float) -> Pattern:
    """A front and a back 400 mm wide whose hems meet the side seam at 90 degrees and so much more."""
    rise = WIDE * math.tan(math.radians(degrees))
    front = ((0.0, -rise), (WIDE, 0.0), (WIDE, 300.0), (0.0, 300.0))
    back = ((0.0, 0.0), (WIDE, -rise), (WIDE, 300.0), (0.0, 300.0))
    return two_halves(front, back)


def corner(pattern: Pattern, piece: str) -> float:
    """The angle between hem and side seam, degrees."""
    hem, side = pattern[piece]["hem"].curve, pattern[piece]["side_seam"].curve
    return interior_angle(hem, side) if piece == "front" else interior_angle(side, hem)


def turns(curve: Curve) -> NDArray[np.float64]:
    """The turns between 200 equal steps of a curve, degrees."""
    ways = np.diff(curve.point_at(np.linspace(0.0, curve.length, 201)), axis=0)
    return np.asarray(np.degrees(np.diff(np.unwrap(np.arctan2(ways[:, 1], ways[:, 0])))))


def moved(pattern: Pattern, piece: str) -> float:
    return dict(pattern.facts)[f"truing.{piece}_mm"]


@pytest.mark.parametrize("degrees", [1.0, 3.0, 6.0, 9.0, 11.9, -1.0, -6.0, -11.9])
def test_the_hem_runs_on_and_bends_one_way(degrees: float) -> None:
    before = halves(degrees)
    after = trued(before)
    part = min(FADING, 3 * MOST_MOVED / math.radians(abs(degrees)))
    for piece in ("front", "back"):
        assert corner(after, piece) == pytest.approx(90.0, abs=0.01)
        bent = turns(after[piece]["hem"].curve)
        assert len(set(np.sign(bent[np.abs(bent) > 1e-3]))) == 1, "no inflection"
        steps = after[piece]["hem"].length / 200
        assert np.abs(bent).max() < 2.4 * abs(degrees) * steps / part, "no hook"
        # The corner goes out where the hem was too wide for its seam, and in where too narrow.
        longer = after[piece]["side_seam"].length - before[piece]["side_seam"].length
        assert longer == pytest.approx(math.radians(degrees) * part / 3, rel=0.01)
        assert 0.0 < moved(after, piece) <= MOST_MOVED
        assert abs(longer) <= MOST_MOVED
    sides = [after[piece]["side_seam"].length for piece in ("front", "back")]
    assert sides[0] == pytest.approx(sides[1], abs=1e-9)


def test_small_errors_keep_their_corner_and_large_ones_are_left() -> None:
    small, large = halves(0.4), halves(TOO_MUCH / 2 + 0.1)
    assert trued(large).pieces == large.pieces
    after = trued(small)
    for piece in ("front", "back"):
        assert after[piece]["side_seam"] == small[piece]["side_seam"]
        assert corner(after, piece) == pytest.approx(90.0, abs=0.01)


def test_a_hem_that_is_sewn_keeps_its_corners() -> None:
    """A band sewn to the front's hem was drawn for where it ends."""
    pattern = halves(5.0)
    band = replace(pattern["front"], name="band")
    seam = Seam(
        name="band", first=(EdgeUse(piece="front", edge="hem"),),
        second=(EdgeUse(piece="band", edge="hem"),),
    )  # fmt: skip
    sewn = replace(pattern, pieces=(*pattern.pieces, band), seams=(*pattern.seams, seam))
    after = trued(sewn)
    for piece in ("front", "back"):
        assert after[piece]["side_seam"] == sewn[piece]["side_seam"]
        assert corner(after, piece) == pytest.approx(90.0, abs=0.01)
        rest = after[piece]["hem"].curve
        flat = rest.between(BLEND + 2, rest.length) if piece == "back" else rest.between(0.0, 350.0)
        assert flat.length == pytest.approx(flat.chord, abs=1e-6)


@pytest.mark.parametrize(("away", "goes"), [(10.0, False), (20.0, True)])
def test_a_corner_beside_a_notch_stays(away: float, goes: bool) -> None:
    pattern = halves(5.0)
    back = pattern["back"]
    side = back["side_seam"]
    mark = Notch(at=side.length - away, name="side")
    notched = pattern.with_pieces([back.with_edges([replace(side, notches=(mark,))])])
    after = trued(notched)
    assert (after["back"]["side_seam"].length > side.length + 0.5) is goes
    assert after["back"]["side_seam"].notches == (mark,)


def test_a_notch_stays_where_it_is_on_the_cloth() -> None:
    """The front's side seam begins at the hem: its notches are counted from a corner that moves."""
    pattern = halves(5.0)
    front = pattern["front"]
    side = front["side_seam"]
    mark = Notch(at=120.0, name="side")
    point = side.curve.point_at(120.0)
    after = trued(pattern.with_pieces([front.with_edges([replace(side, notches=(mark,))])]))
    now = after["front"]["side_seam"]
    assert now.length > side.length + 0.5
    assert np.allclose(now.curve.point_at(now.notches[0].at), point, atol=1e-6)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(
    "name", ["leg-of-mutton", "deep-raglan", "easy-raglan", "cropped-raglan", "full-puff"]
)
def test_no_sleeve_has_ears(name: str, block: str, size: str) -> None:
    """A wrist bends one way, but by less than a radius of 4 m shows; and nowhere on one under 40 mm."""
    result = convert(by_size(from_svg(block))[size], recipe(name), {})
    for piece in result.pattern.pieces:
        for edge in piece.edges:
            if edge.role is Role.WRIST:
                bent = turns(edge.curve)
                signs = np.sign(bent[np.abs(bent) > np.degrees(edge.length / 200 / 4000.0)])
                assert np.count_nonzero(np.diff(signs)) <= 1, (piece.name, edge.name)
                assert np.abs(bent).max() < np.degrees(edge.length / 200 / 40.0)
