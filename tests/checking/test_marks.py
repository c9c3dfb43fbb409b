"""marks: what is drawn or drilled beside a finished piece is found, on both sides of the limit."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import from_svg
from sleevewright.checking.marks import check
from sleevewright.findings import Status
from sleevewright.finishing import finish
from sleevewright.geometry import Curve
from sleevewright.pattern import InternalLine, Pattern, Piece
from sleevewright.pattern.finish_settings import FinishSettings

BLOCK = finish(from_svg("men_overblock")[1], FinishSettings())


def left_of(piece: Piece, by: float) -> tuple[float, float]:
    """A point so far to the left of the outermost point of the cut line."""
    assert piece.finish is not None
    points = np.concatenate([part.curve.flattened(0.001) for part in piece.finish.cut_line])
    x, y = points[points[:, 0].argmin()]
    return float(x) - by, float(y)


def with_hole(by: float) -> Pattern:
    sleeve = BLOCK["sleeve"]
    return BLOCK.with_pieces([replace(sleeve, drill_holes=(left_of(sleeve, by),))])


def with_line(by: float) -> Pattern:
    sleeve = BLOCK["sleeve"]
    left, bottom, right, top = sleeve.bounds
    curve = Curve.line(((left + right) / 2, (bottom + top) / 2), left_of(sleeve, by))
    return BLOCK.with_pieces([replace(sleeve, internal=(InternalLine(curve=curve, name="x"),))])


@pytest.mark.parametrize("place", [with_hole, with_line])
@pytest.mark.parametrize(("by", "status"), [(0.45, Status.HELD), (0.55, Status.FAILED)])
def test_beside_the_piece(place, by: float, status: Status) -> None:
    (found,) = check(place(by))
    assert (found.check, found.where, found.status) == ("marks", "sleeve", status)
    assert found.got == pytest.approx(by, abs=0.01)
    one = "1 drill hole" if place is with_hole else "1 internal line"
    assert one in found.message
    assert f"{found.got:.2f} mm" in found.message


def test_what_has_no_marks_is_not_asked() -> None:
    assert not list(check(BLOCK))
    unfinished = replace(with_hole(20.0)["sleeve"], finish=None)
    assert not list(check(BLOCK.with_pieces([unfinished])))
