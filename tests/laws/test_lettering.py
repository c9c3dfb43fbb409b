"""Every finished piece says what it is, inside itself and clear of its grainline."""

import pytest
from shapely import LineString, box

from samples_of_ours import BLOCKS, RECIPES, WANT_A_DART, from_svg, recipe
from sleevewright.finishing.lettering import text_width
from sleevewright.geometry.region import polygon
from sleevewright.pipeline.convert import convert


@pytest.mark.parametrize("name", RECIPES)
def test_block_of_letters(name: str) -> None:
    for block in BLOCKS:
        if name in WANT_A_DART and block != "women_overblock":
            continue
        result = convert(from_svg(block)[0], recipe(name), {})
        for piece in result.pattern.pieces:
            texts = [t for t in piece.finish.lettering if not t.about]
            assert texts, (block, name, piece.name)
            words = {t.text for t in texts}
            assert f"SIZE {result.size}" in words
            assert any(w.startswith("CUT ") for w in words)
            assert any(w.startswith("ALLOWANCE ") for w in words)
            sew = polygon([e.curve for e in piece.edges])
            grain = LineString([piece.grain.start, piece.grain.end])
            for t in texts:
                x, y = t.at
                area = box(x, y, x + text_width(t.text, t.height), y + t.height)
                assert sew.contains(area), (block, name, piece.name, t.text)
                assert not area.intersects(grain), (block, name, piece.name, t.text)
