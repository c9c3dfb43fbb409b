"""The same block in the three forms that are read: named layers, SVG, D6673 polylines."""

import pytest

from sleevewright.reading import read_pattern

from .conftest import SAMPLES, difference


@pytest.mark.parametrize("block", ["women_overblock", "men_overblock", "child_block"])
def test_the_three_forms_agree(block):
    numbered = read_pattern([SAMPLES / f"{block}.dxf"]).patterns
    svg = {
        p.size: p for p in read_pattern(sorted((SAMPLES / "svg").glob(f"{block}_*.svg"))).patterns
    }
    named = {
        p.size: p for p in read_pattern(sorted((SAMPLES / "named").glob(f"{block}_*.dxf"))).patterns
    }
    assert {p.size for p in numbered} == set(svg) == set(named)
    for pattern in numbered:
        assert difference(svg[pattern.size], named[pattern.size]) < 1e-4
        assert difference(svg[pattern.size], pattern) < 0.05
        assert [s.name for s in pattern.seams] == [s.name for s in svg[pattern.size].seams]
