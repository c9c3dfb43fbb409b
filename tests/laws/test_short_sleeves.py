"""Short sleeves are cut off, so that their underarm seams slope as the block's do and meet as they did."""

import pytest

from samples_of_ours import BLOCKS, from_svg, recipe, registry
from sleevewright.findings import Finding
from sleevewright.pattern import Pattern, Piece, Role
from sleevewright.pipeline.convert import convert
from sleevewright.recipe import Recipe

SHORT = ("petal-sleeve", "full-puff", "puff-wrist")


def underarm(findings: tuple[Finding, ...]) -> Finding:
    (found,) = [f for f in findings if f.check == "junction" and "cap across underarm" in f.message]
    return found


def sleeves(pattern: Pattern) -> list[Piece]:
    return [piece for piece in pattern.pieces if piece.has(Role.CAP)]


@pytest.mark.parametrize("block", BLOCKS)
@pytest.mark.parametrize("name", SHORT)
def test_a_short_sleeve_runs_on_under_the_arm(name: str, block: str) -> None:
    for pattern in from_svg(block):
        result = convert(pattern, recipe(name), {})
        found = underarm(result.findings)
        assert found.status.name == "HELD", found.message
        was = pattern["sleeve"].with_role(Role.UNDERARM_SEAM)
        now = [e for piece in sleeves(result.pattern) for e in piece.with_role(Role.UNDERARM_SEAM)]
        assert len(was) == len(now) == 2
        assert all(e.length < min(x.length for x in was) for e in now)
        assert now[0].length == pytest.approx(now[1].length, abs=0.05)


@pytest.mark.parametrize("block", BLOCKS)
def test_a_petal_squeezed_to_the_full_sleeves_wrist_falls_short(block: str) -> None:
    """Shortened at the elbow it was 124 degrees across the underarm and only noted."""
    text = "name: squeezed\nsteps:\n  - lengthen-sleeve:\n      by: = 220 mm - sleeve_length\n  - petal\n"
    squeezed = Recipe.parse(text.encode(), "squeezed.yaml", registry())
    for pattern in from_svg(block):
        found = underarm(convert(pattern, squeezed, {}).findings)
        wanted = abs(found.got - 180.0) > 26.0
        assert found.fell_short is wanted
        if block != "child_block":  # a child's is not shortened by so much
            assert found.fell_short, found.message
