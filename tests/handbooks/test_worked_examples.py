"""Worked examples of published handbooks, reproduced. Numbers and facts only; the source stands beside each.

An inch is 25.4 mm. Old books work in eighths or sixteenths of an inch; tolerances say which.
"""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from oblong import rectangle
from samples_of_ours import all_blocks
from sleevewright.geometry import Curve
from sleevewright.operations.cuff_band import Cuff
from sleevewright.operations.gusset import Gusset
from sleevewright.operations.kimono import Kimono
from sleevewright.operations.panels import Panels
from sleevewright.operations.pleats import Pleats
from sleevewright.operations.slash_and_spread import SlashAndSpread
from sleevewright.operations.tiers import Tiers
from sleevewright.pattern import Pattern, Role

INCH = 25.4
SIXTEENTH = INCH / 16


def circle_through(points: np.ndarray) -> float:
    """The radius of the circle nearest to points, mm."""
    start = [*points.mean(axis=0), 1000.0]
    fit = least_squares(lambda c: np.hypot(*(points - c[:2]).T) - c[2], start)
    return abs(float(fit.x[2]))


def test_the_petticoat_flounce() -> None:
    """Baldt, Clothing for Women (1916), draft of a circular flounce, Fig. 56.

    Depth 12 in, 72 in at the top, 112 in at the bottom. Her rule: radius of the top = top x depth /
    (bottom - top). A flounce is a straight strip slashed and spread along its lower edge.
    """
    top, bottom, depth = 72 * INCH, 112 * INCH, 12 * INCH
    radius = top * depth / (bottom - top)
    assert radius == pytest.approx(21.6 * INCH)
    at = tuple((i + 0.5) / 40 for i in range(40))
    spread = SlashAndSpread(opens="wrist", towards="cap", at=at, by=bottom - top)
    flounce = spread.apply(rectangle(top, depth))["sleeve"]
    assert flounce.length(Role.WRIST) == pytest.approx(bottom, abs=SIXTEENTH)
    assert flounce.length(Role.CAP) == pytest.approx(top, abs=SIXTEENTH)
    upper = np.concatenate([e.curve.flattened(0.02) for e in flounce.with_role(Role.CAP)])
    lower = np.concatenate([e.curve.flattened(0.02) for e in flounce.with_role(Role.WRIST)])
    # Strips of 1.8 in stand for a circle of 21.6 in: off by 0.02 in at most.
    assert circle_through(upper) == pytest.approx(radius, rel=0.005)
    assert circle_through(lower) == pytest.approx(radius + depth, rel=0.005)


@pytest.mark.parametrize(
    ("kind", "count", "depth", "finished", "cloth"),
    [
        # 20 pleats of 2.5 cm that meet, in 50 cm, and 2.5 cm left plain beside the first
        ("knife", 20, 25.0, 500.0 + 25.0, 1500.0 + 25.0),
        ("box", 1, 120.0, 600.0, 1080.0),  # one of 12 cm in a skirt front of 60 cm
        ("inverted", 1, 65.0, 660.0, 660.0 + 4 * 65.0),  # one of 6.5 cm in a back of 66 cm
    ],
)
def test_cloth_for_pleats(
    kind: str, count: int, depth: float, finished: float, cloth: float
) -> None:
    """NIMI, Craft Instructor Training: Dress Making, trade practical 2, exercise 48 (p. 189).

    Its examples 1 and 2, and the exercise that follows them by the same rule. Older books say the same
    of pleats that meet: "three times" (Hapgood, School Needlework, 1893, on plaiting).
    """
    at = tuple((i + 1) / (count + 1) for i in range(count))
    step = Pleats(opens="wrist", towards="cap", kind=kind, count=count, depth=depth, at=at)  # type: ignore[arg-type]
    skirt = step.apply(rectangle(finished, 600.0))["sleeve"]
    assert skirt.length(Role.WRIST) == pytest.approx(cloth, abs=1e-6)


def trapezoid(top: float, bottom: float, height: float) -> Pattern:
    """A flat piece, wider below, its corners level."""
    piece = rectangle(bottom, height)["sleeve"]
    inset = (bottom - top) / 2
    a, b, c, d = (0.0, 0.0), (bottom, 0.0), (bottom - inset, height), (inset, height)
    lines = [Curve.line(p, q) for p, q in ((a, b), (b, c), (c, d), (d, a))]
    from dataclasses import replace

    edges = tuple(replace(e, curve=line) for e, line in zip(piece.edges, lines, strict=True))
    return Pattern(name="skirt", size="1", pieces=(replace(piece, edges=edges),))


def test_the_gores_of_a_five_gored_skirt() -> None:
    """The Perfect Dressmaking System (1914), practice skirt: waist 25 in, hip 40 in, five gores.

    The book gives 5 in at the waist and 8 in at the hip for each gore.
    """
    skirt = trapezoid(25 * INCH, 40 * INCH, 7 * INCH)
    made = Panels(count=5, start="wrist", end="cap").apply(skirt)
    for k in range(1, 6):
        gore = made[f"sleeve_{k}"]
        assert gore.length(Role.WRIST) == pytest.approx(8 * INCH, abs=SIXTEENTH)
        assert gore.length(Role.CAP) == pytest.approx(5 * INCH, abs=SIXTEENTH)


@pytest.mark.parametrize("block", all_blocks(), ids=lambda b: f"{b.name}-{b.size}")
def test_the_four_inch_square_gusset(block: Pattern) -> None:
    """Rosenfeld, The Practical Designer (1918): a gusset 4 in square, set in along two lines of 4 in.

    A square is the diamond whose slit opens by a right angle: its width is 2 x 4 in x sin 45.
    """
    side = 4 * INCH
    kimono = Kimono(overarm_angle=45.0, depth=0.0, underarm_radius=30.0).apply(block)
    width = 2 * side * math.sin(math.radians(45))
    made = Gusset(kind="diamond", length=side, width=width).apply(kimono)
    corners = [edge.curve.start for edge in made["gusset"].edges]
    sides = [edge.length for edge in made["gusset"].edges]
    assert len(sides) == 4
    assert sides == pytest.approx([side] * 4, abs=0.2)
    diagonals = [float(np.hypot(*(corners[i + 2] - corners[i]))) for i in (0, 1)]
    assert diagonals == pytest.approx([width, width], abs=SIXTEENTH)


@pytest.mark.parametrize("hand", [8.0, 9.0])
def test_the_shirtwaist_cuff(hand: float) -> None:
    """Text-Book on Domestic Art, shirt waist sleeve: cuff 3 in deep, as long as the hand measure.

    It is cut the hand measure by twice the depth, folded lengthwise.
    """
    block = next(b for b in all_blocks() if b.name == "women_overblock")
    cuff = Cuff(depth=3 * INCH, to=hand * INCH, wrap=0.0).apply(block)["cuff"]
    left, bottom, right, top = cuff.bounds
    assert right - left == pytest.approx(hand * INCH, abs=0.01)
    assert top - bottom == pytest.approx(6 * INCH, abs=0.01)


@pytest.mark.parametrize("ratio", [1.5, 2.0, 3.0])
def test_ruffles_take_one_and_a_half_to_three_times_the_length(ratio: float) -> None:
    """The usual range of ruffle fullness, 1.5 to 3 (common practice); tiers by ratio."""
    made = Tiers(count=2, ratio=ratio).apply(
        next(b for b in all_blocks() if b.name == "child_block")
    )
    above = made["sleeve_tier_1"].bounds
    below = made["sleeve_tier_2"]
    top = max((e for e in below.edges if e.role is Role.STYLE_SEAM), key=lambda e: e.curve.start[1])
    seam = made.seam("sleeve tier 2")
    assert seam.gather == pytest.approx(ratio)
    foot = min(
        (e for e in made["sleeve_tier_1"].edges if e.role is Role.STYLE_SEAM),
        key=lambda e: e.curve.start[1],
    )
    assert top.length == pytest.approx(ratio * foot.length, rel=1e-3)
    assert above[3] > above[1]
