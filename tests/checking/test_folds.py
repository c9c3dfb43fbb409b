"""grain-to-fold: both sides of the limit, along the fold and square to it, and facings."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import BLOCKS, by_size, from_svg, registry
from sleevewright.checking.folds import check
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import Pattern, Piece
from sleevewright.pipeline.convert import convert
from sleevewright.recipe import Recipe
from straight_pieces import BOX, FRONT, straight_piece, two_halves

#: The smallest, a middle and the largest size of each block.
SIZES = [(b, list(by_size(from_svg(b)))[i]) for b in BLOCKS for i in (0, 2, -1)]


def with_grain(degrees: float, turned: float = 0.0) -> Pattern:
    """A front on the fold, its grain so far from the fold, the whole turned on the page."""
    grain = Curve.line((50.0, 50.0), (50.0, 150.0)).transformed(
        Affine.rotation(degrees, (50.0, 100.0))
    )
    piece = straight_piece("front", BOX, FRONT, grain=grain, fold="centre")
    return two_halves().with_pieces([piece.transformed(Affine.rotation(turned))])


def found(pattern: Pattern) -> Finding:
    (finding,) = check(pattern)
    return finding


@pytest.mark.parametrize("turned", [0.0, 37.0, 180.0])
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("about", [0.0, 90.0, 180.0])
def test_along_the_fold_or_square_to_it_within_half_a_degree(
    about: float, sign: int, turned: float
) -> None:
    held = found(with_grain(about + sign * 0.49, turned))
    assert (held.check, held.status, held.where) == ("grain-to-fold", Status.HELD, "front")
    assert ("cross grain" if about == 90.0 else "straight grain") in held.message
    off = found(with_grain(about + sign * 0.51, turned))
    assert off.status is Status.FAILED
    assert off.got == pytest.approx(0.51, abs=1e-6)


@pytest.mark.parametrize("degrees", [10.0, 45.0, 58.0, 80.0, -58.0, 122.0])
def test_at_any_other_angle_it_fell_short_and_says_by_how_much(degrees: float) -> None:
    finding = found(with_grain(degrees))
    straight = min(abs(degrees), 180.0 - abs(degrees))
    assert finding.status is Status.FAILED
    assert f"grain {straight:.2f} degrees off the fold" in finding.message
    assert finding.got == pytest.approx(min(straight, 90.0 - straight))


@pytest.mark.parametrize(("hollow", "bad"), [(0.09, False), (0.12, True)])
def test_a_fold_is_straight(hollow: float, bad: bool) -> None:
    front = with_grain(0.0)["front"]
    fold = front["centre"]
    c = np.array(fold.curve.controls)
    c[0, 1:3, 0] += hollow / 0.75  # a cubic's middle goes three quarters as far as its handles
    bent = front.with_edges([replace(fold, curve=Curve(c))])
    assert (found(two_halves().with_pieces([bent])).status is Status.FAILED) is bad


@pytest.mark.parametrize(
    ("degrees", "hollow", "words", "off"),
    [
        (0.0, 0.0, "along the fold (straight grain), 0.5 degrees allowed", 0.0),
        (90.0, 0.0, "square to the fold (cross grain), 0.5 degrees allowed", 0.0),
        (10.0, 0.0, "10.00 degrees off the fold, neither along it nor square to it, 0.5 degrees allowed",
         10.0),
        (0.0, 3.0, "along the fold (straight grain), 0.5 degrees allowed; the fold leaves the straight"
         " line by 3.00 mm", 0.0),
    ],
)  # fmt: skip
def test_words_and_numbers(degrees: float, hollow: float, words: str, off: float) -> None:
    front = with_grain(degrees)["front"]
    c = np.array(front["centre"].curve.controls)
    c[0, 1:3, 0] -= hollow / 0.75  # to either side
    bent = front.with_edges([replace(front["centre"], curve=Curve(c))])
    finding = found(two_halves().with_pieces([bent if hollow else front]))
    status = Status.FAILED if off or hollow else Status.HELD
    text = f"front: grain {words}"
    assert finding.got == pytest.approx(off, abs=1e-9)
    assert replace(finding, got=off) == Finding(
        "grain-to-fold", status, "front", text, 0.0, off, 0.5
    )


def test_what_is_not_on_the_fold_or_has_no_grain_is_not_asked() -> None:
    assert not list(check(two_halves()))
    piece: Piece = replace(with_grain(30.0)["front"], fold="")
    assert not list(check(two_halves().with_pieces([piece])))
    assert not list(check(two_halves().with_pieces([replace(piece, grain=None, fold="centre")])))


def faced(steps: str, block: str, size: str) -> Pattern:
    """Steps, and a neckline facing behind them."""
    text = f"name: faced\nsteps:\n{steps}\n  - facing:\n      depth: 40 mm\n".encode()
    made = convert(by_size(from_svg(block))[size], Recipe.parse(text, "faced.yaml", registry()), {})
    assert not [
        f.message for f in made.findings if f.check in ("grain-to-fold", "grain") and f.fell_short
    ]
    return made.pattern


@pytest.mark.parametrize(("block", "size"), SIZES)
@pytest.mark.parametrize(
    "steps",
    [
        "  - raglan", "  - raglan:\n      line: saddle\n      back_shoulder: closed",
        "  - raglan:\n      sleeve: one-piece", "  - kimono",
    ],
)  # fmt: skip
def test_a_neckline_facing_lies_along_its_fold(steps: str, block: str, size: str) -> None:
    pattern = faced(steps, block, size)
    for side in ("front", "back"):
        facing = pattern[f"{side}_facing"]
        assert facing.cut_words == "CUT 1 ON FOLD"
        fold = facing[facing.fold].curve
        way = (fold.end - fold.start) / fold.chord
        assert abs(float(way @ facing.up)) == pytest.approx(1.0, abs=1e-6)
