"""The main promise: every sample block x recipe x size converts and every check holds."""

import pytest

from samples_of_ours import (
    BLOCKS,
    WANT_A_DART,
    by_size,
    from_d6673,
    from_named,
    from_svg,
    recipe,
)
from sleevewright.errors import OperationError
from sleevewright.pipeline.convert import convert
from sleevewright.writing import FORMATS


@pytest.mark.parametrize("name", sorted(WANT_A_DART))
@pytest.mark.parametrize("block", ["men_overblock", "child_block"])
def test_a_dart_recipe_refuses_a_block_without_one(name: str, block: str) -> None:
    for pattern in from_svg(block):
        with pytest.raises(OperationError, match="front has no dart") as caught:
            convert(pattern, recipe(name), {})
        assert len(caught.value.problems) == 1


def test_every_check_holds_from_svg_and_dxf_alike(variants) -> None:
    assert variants.svg.keys() == variants.dxf.keys()
    for size, result in variants.svg.items():
        other = variants.dxf[size]
        for made in (result, other):
            short = [f.message for f in made.findings if f.fell_short]
            assert not short, (size, short)
            assert len(made.findings) > 20
        one, two = result.pattern, other.pattern
        assert [p.name for p in one.pieces] == [p.name for p in two.pieces]
        for piece in one.pieces:
            lengths = {edge.name: edge.length for edge in piece.edges}
            for edge in two[piece.name].edges:
                assert edge.length == pytest.approx(lengths[edge.name], abs=0.05), (size, edge.name)


def test_every_fold_lies_along_the_grain(variants) -> None:
    for result in variants:
        seen = [f for f in result.findings if f.check == "grain-to-fold"]
        assert len(seen) == sum(bool(piece.fold) for piece in result.pattern.pieces)
        assert not [f.message for f in seen if f.fell_short]


@pytest.mark.parametrize("block", BLOCKS)
def test_three_forms_hold_the_same_block(block: str) -> None:
    forms = [by_size(read(block)) for read in (from_svg, from_d6673, from_named)]
    assert forms[0].keys() == forms[1].keys() == forms[2].keys()
    for size, pattern in forms[0].items():
        for other in forms[1:]:
            for piece in pattern.pieces:
                mine = [(e.name, e.role, e.side) for e in piece.edges]
                theirs = other[size][piece.name]
                assert sorted(mine) == sorted((e.name, e.role, e.side) for e in theirs.edges)
                for edge in piece.edges:
                    twin = theirs[edge.name]
                    assert twin.length == pytest.approx(edge.length, abs=0.05)
                    assert [n.name for n in twin.notches] == [n.name for n in edge.notches]
                    for a, b in zip(twin.notches, edge.notches, strict=True):
                        assert a.kind == b.kind
                        assert a.at == pytest.approx(b.at, abs=0.1)


@pytest.mark.parametrize("ending", sorted(FORMATS))
def test_same_bytes_twice(ending: str) -> None:
    block = from_svg("women_overblock")[2]
    made = {FORMATS[ending](convert(block, recipe("classic-raglan"), {})) for _ in range(2)}
    assert len(made) == 1


def test_cut_line_lies_outside_and_lettering_inside() -> None:
    from shapely import Point

    from sleevewright.geometry.region import polygon

    for block in BLOCKS:
        result = convert(from_svg(block)[0], recipe("classic-raglan"), {})
        for piece in result.pattern.pieces:
            assert piece.finish is not None
            sew = polygon([e.curve for e in piece.edges])
            cut = polygon([p.curve for p in piece.finish.cut_line])
            assert cut.buffer(0.01).contains(sew)
            texts = [t for t in piece.finish.lettering if not t.about]
            assert any(t.text.startswith("SIZE") for t in texts)
            for text in piece.finish.lettering:
                assert sew.contains(Point(text.at)), (piece.name, text.text)
