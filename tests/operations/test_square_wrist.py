"""Wrists of drafted half sleeves: square to both seams and an arc between, with nothing hooked at an end."""

import numpy as np
import pytest
from numpy.typing import NDArray

from densely import SIZES
from samples_of_ours import by_size, from_svg, recipe
from sleevewright.geometry import Curve
from sleevewright.operations.kimono import Kimono
from sleevewright.operations.square_wrist import across, square_wrist
from sleevewright.pattern import Pattern, Role
from sleevewright.pipeline.convert import convert

Array = NDArray[np.float64]


def turning(curve: Curve) -> tuple[Array, Array]:
    """Curvatures, 1/mm, between points 1/60 of the curve apart, and the turn over each step, degrees."""
    points = curve.point_at(np.linspace(0.0, curve.length, 61))
    ways = np.diff(points, axis=0)
    angles = np.unwrap(np.arctan2(ways[:, 1], ways[:, 0]))
    turns = np.diff(angles)
    return turns / (curve.length / 60), np.degrees(turns)


def square_off(one: Array, other: Array) -> float:
    """How far two directions are from square, degrees."""
    sine = float(one @ other) / float(np.hypot(*one) * np.hypot(*other))
    return abs(float(np.degrees(np.arcsin(sine))))


@pytest.mark.parametrize("width", [70.0, 110.0, 180.0])
@pytest.mark.parametrize("slant", [-20.0, 0.0, 4.0, 15.0, 38.0, 60.0])
def test_the_wrist_is_an_arc_square_to_both_seams(slant: float, width: float) -> None:
    """The overarm comes down a vertical line; the underarm leans out by an angle."""
    end, square = np.array([0.0, 0.0]), np.array([1.0, 0.0])
    under = np.array([width, 0.0]) + 450.0 * np.array(
        [np.sin(np.radians(slant)), np.cos(np.radians(slant))]
    )
    corner, wrist = square_wrist(end, square, under, width)
    assert wrist.length == pytest.approx(width, abs=1e-6)
    assert np.allclose(wrist.end, corner, atol=1e-9)
    assert square_off(wrist.start_direction, np.array([0.0, 1.0])) < 1e-6
    assert square_off(wrist.end_direction, under - corner) < 1e-6
    curvature, turns = turning(wrist)
    whole = float(np.degrees(np.arccos(wrist.start_direction @ wrist.end_direction)))
    assert abs(turns.sum()) == pytest.approx(whole, rel=0.05, abs=1e-6)
    assert np.ptp(curvature) < 0.03 * np.abs(curvature).max() + 1e-7, "it bends evenly"
    # The corner comes down along the underarm seam where that leans out, and up where it leans in.
    assert np.sign(-corner[1]) == np.sign(slant) or slant == 0.0


def test_across_is_a_unit_vector_on_the_side_asked() -> None:
    assert np.allclose(across(np.array([0.0, -7.0]), np.array([3.0, 1.0])), [1.0, 0.0])
    assert np.allclose(across(np.array([0.0, -7.0]), np.array([-3.0, 1.0])), [-1.0, 0.0])


def wrists(pattern: Pattern) -> list[Curve]:
    return [e.curve for piece in pattern.pieces for e in piece.edges if e.role is Role.WRIST]


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(
    "name", ["batwing", "dolman", "kimono", "kimono-in-one", "kimono-two-gussets", "raglan-45"]
)
def test_a_finished_wrist_bends_one_way_and_evenly(name: str, block: str, size: str) -> None:
    """A hem turns up along it: nowhere does it bend more than half as much again as on the whole."""
    result = convert(by_size(from_svg(block))[size], recipe(name), {})
    for wrist in wrists(result.pattern):
        curvature, turns = turning(wrist)
        whole = abs(turns.sum())
        bent = curvature[np.abs(turns) > 0.02]
        assert len(set(np.sign(bent))) <= 1, "an inflection"
        assert np.abs(turns).max() < 1.5 * whole / len(turns) + 0.05
    junctions = [f for f in result.findings if f.check == "junction" and "wrist" in f.message]
    assert junctions
    assert all(abs(f.got - 180.0) < 0.2 for f in junctions)


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize("depth", [0.0, 60.0])
def test_the_length_under_the_arm_is_told(depth: float, block: str, size: str) -> None:
    """What the corner comes down is in the underarm seam, on front and back, and in the figures."""
    pattern = Kimono(depth=depth).apply(by_size(from_svg(block))[size])
    told = dict(pattern.facts)["kimono.underarm_mm"]
    for side in ("front", "back"):
        piece = pattern[side]
        long = piece.length(Role.UNDERARM_SEAM) + piece.length(Role.SIDE_SEAM)
        assert long == pytest.approx(told, abs=0.01)
