"""Every offset proves its own distance within 0.02 mm; measured here by another way."""

import os

import numpy as np
from shapely import LineString, distance, points

from sleevewright.geometry import Curve, fair_curve
from sleevewright.geometry.offset import OffsetError, parallel

#: 20,000 in the full run (DRAWN=20000), a few hundred in the ordinary one.
DRAWN = int(os.environ.get("DRAWN", "400"))


def drawn(seed: int) -> Curve:
    """A fair edge of the trade's size, sometimes with a tight turn or a tiny segment."""
    rng = np.random.default_rng(seed)
    here, angle, parts = np.zeros(2), rng.uniform(0, 360), []
    for _ in range(rng.integers(1, 5)):
        reach = rng.choice([0.9, 12.0, 60.0, 180.0]) * rng.uniform(0.5, 1.5)
        turn = rng.normal(0, 25)
        heading = np.radians(angle + turn / 2)
        there = here + reach * np.array([np.cos(heading), np.sin(heading)])
        ends = [np.radians(a) for a in (angle, angle + turn)]
        parts.append(fair_curve(here, there, *((np.cos(a), np.sin(a)) for a in ends)))
        here, angle = there, angle + turn
    return Curve.joined(parts)


def test_every_parallel_keeps_its_distance() -> None:
    refused = 0
    for seed in range(DRAWN):
        curve = drawn(seed)
        rng = np.random.default_rng(seed + 10**6)
        width = float(rng.choice([-30, -10, -6, 6, 10, 15, 30, 40]))
        try:
            cut = parallel(curve, width)
        except OffsetError as error:
            assert "mm" in str(error)
            refused += 1
            continue
        line = LineString(curve.flattened(0.001))
        off = np.abs(distance(line, points(cut.flattened(0.05))) - abs(width))
        assert off.max() <= 0.02 + 0.001, (seed, width, off.max())
    assert refused < 0.5 * DRAWN
