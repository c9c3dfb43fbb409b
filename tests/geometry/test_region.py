"""Closed chains: areas in closed form, winding, polygons."""

import numpy as np
import pytest

from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import circular_arc
from sleevewright.geometry.region import flattened_ring, polygon, signed_area

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

#: A half disc of radius 10 standing on a line.
HALF_DISC = (circular_arc((0, 0), 10, 0, 180), Curve.line((-10, 0), (10, 0)))


def test_area_is_exact_and_signed_by_the_winding() -> None:
    assert signed_area(HALF_DISC) == pytest.approx(50 * np.pi, rel=5e-7)
    turned = [curve.reversed for curve in reversed(HALF_DISC)]
    assert signed_area(turned) == pytest.approx(-50 * np.pi, rel=5e-7)
    assert signed_area(iter(HALF_DISC)) == signed_area(HALF_DISC)
    square = [Curve.polyline([(1, 1), (4, 1), (4, 3)]), Curve.polyline([(4, 3), (1, 3), (1, 1)])]
    assert signed_area(square) == pytest.approx(6, abs=1e-12)


def test_a_ring_has_every_joint_once() -> None:
    ring = flattened_ring(HALF_DISC)
    assert ring.shape[1] == 2
    for corner in ((10, 0), (-10, 0)):
        assert (np.hypot(*(ring - corner).T) < 1e-9).sum() == 1
    assert len(np.unique(ring.round(9), axis=0)) == len(ring)


@pytest.mark.parametrize("within", [0.5, 0.001])
def test_chords_keep_within_the_tolerance(within: float) -> None:
    ring = flattened_ring(HALF_DISC, within)
    middles = (ring[1:] + ring[:-1]) / 2
    on_arc = middles[middles[:, 1] > 0]
    assert 10 - np.hypot(*on_arc.T).min() <= within
    shape = polygon(HALF_DISC, within)
    assert len(shape.exterior.coords) == len(ring) + 1
    assert shape.area == pytest.approx(50 * np.pi, abs=31.5 * within)
    assert shape.is_valid


def test_the_usual_tolerance_is_a_fiftieth_of_a_millimetre() -> None:
    assert len(flattened_ring(HALF_DISC)) == len(flattened_ring(HALF_DISC, 0.02))
    assert polygon(HALF_DISC).equals(polygon(HALF_DISC, 0.02))
    assert not polygon(HALF_DISC).equals(polygon(HALF_DISC, 0.005))
