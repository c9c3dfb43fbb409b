"""Sleeves lengthened at the elbow: front and back underarm seams grow alike, the wrist is kept."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import from_svg
from sleevewright.errors import OperationError
from sleevewright.geometry import Curve
from sleevewright.operations.kimono import Kimono
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.sleeve_length import LengthenSleeve
from sleevewright.operations.sleeves import sleeve_pieces, with_wrist_seams
from sleevewright.pattern import Pattern, Role, Side


def pitched_forward(block: Pattern, by: float) -> Pattern:
    """The block with the lower end of its sleeve swung to the front, both seams as long as before."""
    sleeve = block["sleeve"]
    into, out = sleeve.neighbours("wrist")
    ends = []
    for top, foot in ((into.curve.start, into.curve.end), (out.curve.end, out.curve.start)):
        way = foot + np.array([by, 0.0]) - top
        ends.append(top + into.length * way / np.hypot(*way))
    new = (
        replace(into, curve=Curve.line(into.curve.start, ends[0])),
        replace(sleeve["wrist"], curve=sleeve["wrist"].curve.with_ends(*ends)),
        replace(out, curve=Curve.line(ends[1], out.curve.end)),
    )
    return block.with_pieces([sleeve.with_edges(new)])


@pytest.mark.parametrize("by", [-60.0, 20.0, 80.0])
@pytest.mark.parametrize("making", [None, Raglan(), Kimono()], ids=["set-in", "raglan", "kimono"])
def test_a_sleeve_pitched_forward_grows_alike_on_front_and_back(
    making: Raglan | Kimono | None, by: float
) -> None:
    """Its front seam slants unlike its back seam; spread along the grain they would part."""
    before = pitched_forward(from_svg("women_overblock")[2], 28.0)
    if making is not None:
        before = making.apply(before)
    lengthen = LengthenSleeve(by=by)
    after = lengthen.apply(before)
    longer = {
        side: sum(
            after[p.name].length(Role.UNDERARM_SEAM, side) - p.length(Role.UNDERARM_SEAM, side)
            for p in sleeve_pieces(before)
        )
        for side in Side
    }
    assert longer[Side.FRONT] == pytest.approx(longer[Side.BACK], abs=1e-4)
    assert longer[Side.FRONT] == pytest.approx(by, abs=0.1 * abs(by))
    for promise in lengthen.promises(before, after):
        assert abs(promise.got - promise.wanted) <= promise.within, promise.what


def test_a_sleeve_too_short_to_be_shortened_says_what_it_has() -> None:
    block = from_svg("women_overblock")[2]
    sleeve = block["sleeve"]
    before, after = sleeve.neighbours("wrist")
    into, out = (seam.between(0.0, 24.0) for seam in (before.curve, after.curve.reversed))
    wrist = sleeve["wrist"].curve.with_ends(into.end, out.end)
    short = block.with_pieces([with_wrist_seams(sleeve, into, out.reversed, wrist)])
    with pytest.raises(
        OperationError, match="it has 24 mm below the biceps line, and 30 mm are left"
    ):
        LengthenSleeve(by=-1.0).apply(short)
