"""Damaged copies of good files are refused or read, never worse; `mutants.py` runs many more."""

import os
from dataclasses import replace

import pytest

from hostile.mutants import KINDS, ROOT, alike, run, subjects
from sleevewright.geometry import Affine
from sleevewright.reading import read_pattern

MUTANTS = int(os.environ.get("MUTANTS", "4"))
SUBJECTS = subjects()
USUAL = (
    "sample_patterns/named/child_block_110.dxf",
    "sample_patterns/svg/child_block_110.svg",
    "recipes/classic-raglan.yaml",
    "a label map",
)


@pytest.mark.parametrize("name", USUAL)
def test_mutants(name: str) -> None:
    for row in run(SUBJECTS[name], KINDS, MUTANTS, seed=1):
        assert not row.wrong
        assert row.tally.total() == MUTANTS


def test_a_change_of_a_micrometre_is_seen() -> None:
    """The comparison itself, from both sides."""
    (pattern,) = read_pattern([ROOT / USUAL[0]]).patterns
    piece = pattern.pieces[0]
    assert alike(pattern, replace(pattern))
    for by, same in ((1e-7, True), (1e-5, False)):
        edge = piece.edges[0]
        moved = replace(edge, curve=edge.curve.transformed(Affine.translation((by, 0.0))))
        assert alike(edge, moved) is same
    pieces = (replace(piece, quantity=7), *pattern.pieces[1:])
    assert not alike(pattern, replace(pattern, pieces=pieces))
    assert not alike(pattern, replace(pattern, size="7"))
