"""Finished patterns that this program wrote are read back as they were."""

from dataclasses import replace

import pytest

from sleevewright.finishing import finish
from sleevewright.operations.raglan import Raglan
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pattern.result import Result
from sleevewright.reading.derived_marks import without_derived_marks
from sleevewright.writing.dxf import write_dxf
from sleevewright.writing.svg import write_svg

from .conftest import difference


def _as_a_block(pattern):
    """What finishing derives is no part of a block: it is left out as the file is read as one."""
    return replace(pattern, pieces=tuple(without_derived_marks(p) for p in pattern.pieces))


def _result(pattern, whole):
    finished = finish(pattern, FinishSettings(whole=whole))
    return Result(block="b", recipe="r", size=pattern.size, pattern=finished)


@pytest.mark.parametrize("whole", [None, True], ids=["half", "whole"])
@pytest.mark.parametrize("sleeve", [None, "two-piece", "one-piece", "gathered"])
def test_svg_exactly(sample, read, sleeve, whole):
    pattern = sample[-1] if sleeve is None else Raglan(sleeve=sleeve).apply(sample[-1])
    halves = _result(pattern, None).pattern
    text = write_svg(_result(pattern, whole)).decode()
    (again,) = read(text, "out.svg").patterns
    assert difference(_as_a_block(halves), again) < 5e-4
    assert not any(piece.drill_holes for piece in again.pieces)
    assert again.size == pattern.size


@pytest.mark.parametrize("whole", [None, True], ids=["half", "whole"])
@pytest.mark.parametrize("sleeve", [None, "two-piece", "one-piece", "gathered"])
def test_dxf_within_its_polylines(sample, read, sleeve, whole):
    pattern = sample[-1] if sleeve is None else Raglan(sleeve=sleeve).apply(sample[-1])
    halves = _result(pattern, None).pattern
    text = write_dxf(_result(pattern, whole)).decode()
    (again,) = read(text, "out.dxf").patterns
    assert [p.name for p in again.pieces] == [p.name for p in halves.pieces]
    assert again.size == pattern.size
    for piece in halves.pieces:
        for edge in piece.edges:
            assert again[piece.name][edge.name].length == pytest.approx(edge.length, abs=0.05)


def test_dxf_marks_of_darts_are_not_taken_for_other_notches(women, read):
    """They lie on the legs, run on through the allowance: off the mouth, seen from the cut line."""
    block = women[-1]
    text = write_dxf(_result(block, None)).decode()
    (again,) = read(text, "out.dxf").patterns
    for piece in block.pieces:
        assert not again[piece.name].drill_holes
        for edge in piece.edges:
            names = [n.name for n in again[piece.name][edge.name].notches]
            assert names == [n.name for n in edge.notches], (piece.name, edge.name)
