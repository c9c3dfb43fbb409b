"""Every recipe on every sample block it is for, made once for all laws that look at the results."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from samples_of_ours import BLOCKS, RECIPES, WANT_A_DART, by_size, from_d6673, from_svg, recipe
from sleevewright.pattern.result import Result
from sleevewright.pipeline.convert import convert

APPLIES = [
    (name, block)
    for name in RECIPES
    for block in BLOCKS
    if block == "women_overblock" or name not in WANT_A_DART
]


@dataclass(frozen=True)
class Variants:
    """What a recipe makes of a block, by size, from its SVG and from its DXF."""

    name: str
    block: str
    svg: dict[str, Result]
    dxf: dict[str, Result]

    def __iter__(self) -> Iterator[Result]:
        yield from self.svg.values()


@pytest.fixture(scope="session", params=APPLIES, ids="-".join)
def variants(request) -> Variants:
    """Session scope: pytest runs all laws on one recipe and block before it goes on to the next."""
    name, block = request.param
    svg, dxf = (
        {size: convert(p, recipe(name)) for size, p in by_size(read(block)).items()}
        for read in (from_svg, from_d6673)
    )
    return Variants(name, block, svg, dxf)
