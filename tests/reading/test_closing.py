"""Strokes to closed outlines."""

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sleevewright.errors import LabelError, Place
from sleevewright.geometry import Curve
from sleevewright.geometry.region import signed_area
from sleevewright.reading.closing import Link, chained


def _links(points, gap=0.0):
    n = len(points)
    return [
        Link(
            Curve.line(points[i] + (gap, 0), points[(i + 1) % n]), i, f"line {i}", Place("x", i + 1)
        )
        for i in range(n)
    ]


def _star(n, seed):
    random = Random(seed)
    angles = 2 * np.pi * (np.arange(n) + 0.4 * np.array([random.random() for _ in range(n)])) / n
    reach = np.array([random.uniform(200, 400) for _ in range(n)])
    return np.stack([reach * np.cos(angles), reach * np.sin(angles)], axis=1)


@settings(max_examples=30, deadline=None)
@given(n=st.integers(3, 12), seed=st.integers(0, 10**6), gap=st.floats(0, 0.9))
def test_any_order_and_direction_gives_one_exact_ring(n, seed, gap):
    points = _star(n, seed)
    links = _links(points, gap)
    random = Random(seed)
    drawn = [
        Link(x.curve.reversed, x.what, x.name, x.place) if random.random() < 0.5 else x
        for x in links
    ]
    random.shuffle(drawn)
    chain, gaps = chained(drawn, "piece")
    assert sorted(link.what for link in chain) == list(range(n))
    for a, b in zip(chain, (*chain[1:], chain[0]), strict=True):
        assert np.array_equal(a.curve.end, b.curve.start)
    assert signed_area(link.curve for link in chain) > 0
    assert len(gaps) == (n if gap > 0.0500001 else 0) or abs(gap - 0.05) < 1e-6


def test_every_loose_end_is_named_with_the_nearest():
    links = _links(_star(6, 1))
    del links[0], links[2]
    with pytest.raises(LabelError) as caught:
        chained(links, "front")
    assert len(caught.value.problems) == 2
    assert all("mm away" in p.found for p in caught.value.problems)


def test_a_third_line_at_a_joint_is_a_branch():
    points = _star(5, 2)
    extra = Link(Curve.line(points[0], points[0] * 2), 9, "stray", Place("x", 99))
    with pytest.raises(LabelError, match=r"branches: 3 ends meet .*stray"):
        chained([*_links(points), extra], "front")


def test_a_line_drawn_twice_is_refused_either_way_round():
    links = _links(_star(5, 3))
    twice = Link(links[1].curve.reversed, 9, "again", Place("x", 99))
    with pytest.raises(LabelError, match="drawn twice"):
        chained([*links, twice], "front")


def test_two_rings_are_refused():
    with pytest.raises(LabelError, match="2 closed outlines"):
        chained([*_links(_star(4, 4)), *_links(_star(4, 5) + 3000)], "front")


def test_a_speck_is_left_out():
    points = _star(4, 6)
    speck = Link(Curve.line(points[0], points[0] + 0.01), 9, "speck", Place())
    chain, _ = chained([*_links(points), speck], "front")
    assert len(chain) == 4
