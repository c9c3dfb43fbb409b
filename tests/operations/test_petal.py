"""A petal sleeve: layers that lie on one another exactly, and refusals."""

import numpy as np
import pytest

from samples_of_ours import all_blocks
from sleevewright.checking import check
from sleevewright.errors import OperationError
from sleevewright.operations.cuff_band import Cuff
from sleevewright.operations.petal import Petal
from sleevewright.operations.sleeve_length import LengthenSleeve
from sleevewright.pattern import Pattern, Role, Side

BLOCKS = all_blocks()


def short(block: Pattern) -> Pattern:
    return LengthenSleeve(by=-0.4 * block["sleeve"].length(Role.UNDERARM_SEAM, Side.FRONT)).apply(
        block
    )


@pytest.mark.parametrize("overlap", [40.0, 75.0])
@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: f"{b.name}-{b.size}")
def test_layers_are_the_sleeve_twice_over_the_crown(block: Pattern, overlap: float) -> None:
    """Each stretch of the cap between the tips is there twice, the rest once."""
    before = short(block)
    after = Petal(overlap=overlap).apply(before)
    sleeve = before["sleeve"]
    caps = sum(after[f"sleeve_{side}"].length(Role.CAP) for side in Side)
    laid = sum(after[f"sleeve_{side}"].length(Role.LAYER_SEAM) for side in Side)
    assert caps == pytest.approx(sleeve.length(Role.CAP), abs=1e-6)
    assert laid == pytest.approx(2 * overlap, abs=1e-6)
    for name in ("front layers", "back layers"):
        seam = after.seam(name)
        (one,), (other,) = (after.curves(side) for side in (seam.first, seam.second))
        # The layers were not moved: their seams are one and the same curve.
        for part in np.linspace(0.0, 1.0, 9):
            gap = one.point_at(part * one.length) - other.point_at(part * other.length)
            assert np.abs(gap).max() < 1e-6
    # The grainline is cut to a layer when it is finished.
    bad = [f.message for f in check(after) if f.fell_short and f.check != "grain"]
    assert not bad, bad


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: f"{b.name}-{b.size}")
def test_the_petal_is_square_to_its_underarm_seam_and_hangs_down_the_grain(block: Pattern) -> None:
    after = Petal(overlap=60.0).apply(short(block))
    for side in Side:
        layer = after[f"sleeve_{side}"]
        petal, seam = layer.with_role(Role.FREE_EDGE)[0], layer.with_role(Role.UNDERARM_SEAM)[0]
        down = petal.curve if side is Side.FRONT else petal.curve.reversed
        upwards = seam.curve if side is Side.FRONT else seam.curve.reversed
        assert float(down.start_direction @ layer.up) == pytest.approx(-1.0, abs=1e-9)
        assert float(down.end_direction @ upwards.start_direction) == pytest.approx(0.0, abs=1e-9)


def test_refusals_say_what_to_do() -> None:
    block = BLOCKS[0]
    with pytest.raises(OperationError, match="allows .* at the most"):
        Petal(overlap=160.0).apply(next(b for b in BLOCKS if b.name == "child_block"))
    with pytest.raises(OperationError, match="wrist, which cuff is sewn to"):
        Petal().apply(Cuff().apply(block))
    with pytest.raises(OperationError, match="no piece 'sleeve'"):
        Petal().apply(Petal().apply(block))
