"""marks: what is drawn or drilled beside a finished piece is found, on both sides of the limit."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import from_svg
from sleevewright.checking.marks import check
from sleevewright.findings import Finding, Status
from sleevewright.finishing import finish
from sleevewright.geometry import Curve
from sleevewright.pattern import InternalLine, Pattern, Piece
from sleevewright.pattern.finish_settings import FinishSettings
from straight_pieces import BOX, FRONT, cut, straight_piece, two_halves

BLOCK = finish(from_svg("men_overblock")[1], FinishSettings())


def beside(piece: Piece, by: float) -> tuple[float, float]:
    """A point so far outside the cut line, half way along the round front of the cap."""
    assert piece.finish is not None
    curve = next(part.curve for part in piece.finish.cut_line if part.edge == "cap.front")
    along = curve.direction_at(curve.length / 2)
    x, y = curve.point_at(curve.length / 2) + by * np.array([along[1], -along[0]])
    return float(x), float(y)


def with_hole(by: float) -> Pattern:
    sleeve = BLOCK["sleeve"]
    return BLOCK.with_pieces([replace(sleeve, drill_holes=(beside(sleeve, by),))])


def with_line(by: float) -> Pattern:
    sleeve = BLOCK["sleeve"]
    left, bottom, right, top = sleeve.bounds
    curve = Curve.line(((left + right) / 2, (bottom + top) / 2), beside(sleeve, by))
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


def test_just_at_the_limit_it_holds() -> None:
    piece = straight_piece("front", BOX, FRONT, drill_holes=((100.5, 50.0),))
    pattern = two_halves().with_pieces([cut(piece, {}, [(e.name, e.curve) for e in piece.edges])])
    (found,) = check(pattern)
    assert (found.got, found.status) == (0.5, Status.HELD)


def test_words_and_numbers() -> None:
    sleeve = BLOCK["sleeve"]
    left, bottom, right, top = sleeve.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    lines = tuple(
        InternalLine(curve=Curve.line((x, y), (x + d, y)), name="x") for d in (20.0, 40.0)
    )
    holes = ((x, y), (x, y - 30.0))
    for marks, words in (
        ({"internal": lines, "drill_holes": holes}, "2 internal lines and 2 drill holes"),
        ({"internal": lines[:1], "drill_holes": holes[:1]}, "1 internal line and 1 drill hole"),
        ({"drill_holes": holes}, "2 drill holes"),
    ):
        (found,) = check(BLOCK.with_pieces([replace(sleeve, **marks)]))
        text = f"sleeve: {words}, 0.00 mm outside the cut line at the most, 0.5 allowed"
        assert found == Finding("marks", Status.HELD, "sleeve", text, 0.0, 0.0, 0.5)


def test_what_has_no_marks_is_not_asked() -> None:
    assert not list(check(BLOCK))
    unfinished = replace(with_hole(20.0)["sleeve"], finish=None)
    assert not list(check(BLOCK.with_pieces([unfinished])))
