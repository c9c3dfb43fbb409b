"""The worked women's block, bust 88, of the project's trade notes: a draft with printed figures.

Source of the figures: the draft's own table (armhole 43.95 cm, cap 47.48, cap height 14.85, biceps
33.83; after the ease is taken out the crown is 21 mm lower, the wedge 47.8 degrees and the neck
gap 11.3 cm). The splines are ours, through the printed samples, so figures agree to about 1 %.
"""

from typing import Literal

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from densely import block_of
from sleevewright.errors import OperationError
from sleevewright.geometry import Affine, Curve
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.raglan_settings import HalfLine
from sleevewright.pattern import (
    Edge,
    HalfBodice,
    Pattern,
    Piece,
    Role,
    Side,
    Sleeve,
    measurements,
    standard_seams,
)
from sleevewright.pattern.naming import with_standard_names


def spline(samples: list, start: tuple | None = None, end: tuple | None = None) -> Curve:
    p = np.array(samples, float) * 10
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])

    def bound(d: tuple | None) -> tuple:
        return (2, np.zeros(2)) if d is None else (1, np.array(d) / np.hypot(*d))

    cs = CubicSpline(s, p, bc_type=(bound(start), bound(end)))
    d, h = cs(s, 1), np.diff(s)[:, None]
    return Curve(np.stack([p[:-1], p[:-1] + d[:-1] * h / 3, p[1:] - d[1:] * h / 3, p[1:]], axis=1))


def edge(role: Role, curve: Curve, side: Side | None = None) -> Edge:
    return Edge(name="", role=role, curve=curve, side=side)


def line(a: tuple, b: tuple) -> Curve:
    return Curve.line(np.array(a) * 10, np.array(b) * 10)


def worked_block() -> Pattern:
    r = Role
    under = (24.22, 17.97)
    neck_b = spline([(0, 39), (2.04, 39.03), (4.06, 39.25), (5.98, 39.91), (7.27, 41.42)], (1, 0))
    arm_b = spline(
        [(21.23, 36.89), (19.23, 31.68), (18.45, 26.20), (19.83, 20.83), under], end=(1, 0)
    )
    k, k2, tip = (11.63, 40.01), (13.48, 39.40), (10.20, 31.0)
    back = [
        edge(r.HEM, line((0, 0), (24.22, 0))), edge(r.SIDE_SEAM, line((24.22, 0), under)),
        edge(r.ARMHOLE, arm_b.reversed), edge(r.SHOULDER, line((21.23, 36.89), k2)),
        edge(r.DART_LEG, line(k2, tip)), edge(r.DART_LEG, line(tip, k)),
        edge(r.SHOULDER, line(k, (7.27, 41.42))), edge(r.NECKLINE, neck_b.reversed),
        edge(r.CENTRE, line((0, 39), (0, 0))),
    ]  # fmt: skip
    closed = Affine.rotation(-19.5, np.array([40.70, 17.97]) * 10)  # the bust dart closed
    neck = spline(
        [(42.93, 43.87), (44.07, 41.38), (45.52, 39.07), (47.45, 37.15), (50, 36.30)], end=(1, 0)
    )
    low = spline([under, (26.48, 18.45), (28.38, 19.76), (29.61, 21.72), (30.05, 23.98)], (1, 0))
    low = low.transformed(closed)
    up = np.array(
        spline(
            [(31.13, 39.10), (32.11, 36.18), (32.86, 33.18), (33.28, 30.13), (32.67, 27.19)]
        ).controls
    )
    up[-1, 3] = low.end
    front = [
        edge(r.HEM, Curve.polyline([(191.7, 65.3), (347.0, 10.3), (407, 0), (500, 0)])),
        edge(r.CENTRE, line((50, 0), (50, 36.30))), edge(r.NECKLINE, neck.reversed),
        edge(r.SHOULDER, line((42.93, 43.87), (31.13, 39.10))),
        edge(r.ARMHOLE, Curve.joined([Curve(up), low.reversed])),
        edge(r.SIDE_SEAM, Curve.line(low.start, (191.7, 65.3))),
    ]  # fmt: skip
    cap_f = spline(
        [(0, 14.85), (2.77, 14.17), (5.13, 12.55), (6.83, 10.25), (8.10, 7.67), (9.47, 5.14),
         (10.87, 2.64), (12.98, 0.72), (15.73, 0)], (1, 0), (1, -0.05),
    )  # fmt: skip
    cap_b = spline(
        [(0, 14.85), (-2.99, 14.30), (-5.62, 12.76), (-7.73, 10.55), (-9.55, 8.09),
         (-11.36, 5.62), (-13.29, 3.24), (-15.22, 0.90), (-18.10, 0)], (-1, 0), (-1, -0.1),
    )  # fmt: skip
    y = 14.85 - 54
    sleeve = [
        edge(r.WRIST, line((-12, y), (11, y))),
        edge(r.UNDERARM_SEAM, line((11, y), (15.73, 0)), Side.FRONT),
        edge(r.CAP, cap_f.reversed, Side.FRONT), edge(r.CAP, cap_b, Side.BACK),
        edge(r.UNDERARM_SEAM, line((-18.1, 0), (-12, y)), Side.BACK),
    ]  # fmt: skip
    pieces = tuple(
        Piece.closed(name, with_standard_names(edges), grain=line((0, 5), (0, 20)), fold=fold)
        for name, edges, fold in (
            ("front", front, "centre"), ("back", back, "centre"), ("sleeve", sleeve, ""),
        )
    )  # fmt: skip
    return Pattern(name="worked", size="88", pieces=pieces, seams=standard_seams(pieces))


def test_measures_of_the_draft() -> None:
    m = measurements(worked_block())
    assert m["armhole"] == pytest.approx(439.5, abs=3.0)
    assert m["cap"] == pytest.approx(474.8, abs=1.0)
    assert m["cap_height"] == pytest.approx(148.5, abs=0.01)
    assert m["biceps"] == pytest.approx(338.3, abs=0.01)
    assert m["neckline_front"] == pytest.approx(109.3, abs=0.5)
    assert m["neckline_back"] == pytest.approx(81.5, abs=0.5)


def test_conversion_with_the_shoulder_dart_left_open() -> None:
    """Printed: P at 90 mm of arc, residual ease 3 mm a half."""
    raglan = Raglan(front=HalfLine(pitch=90.0), back=HalfLine(pitch=90.0), back_shoulder="ease")
    facts = dict(raglan.apply(worked_block()).facts)
    assert facts["raglan.crown_lowered_mm"] == pytest.approx(21.0, abs=1.0)
    assert facts["raglan.wedge_deg"] == pytest.approx(47.8, abs=0.5)
    assert facts["raglan.neck_gap_mm"] == pytest.approx(113.0, abs=1.0)
    for side in Side:
        assert facts[f"raglan.tip_from_crown_{side}_mm"] < 1.5


def test_ease_left_in_opens_the_wedge() -> None:
    """Printed: 62 degrees and more with the ease kept, 47.8 with it removed."""
    kept = dict(Raglan(cap_ease="keep", back_shoulder="ease").apply(worked_block()).facts)
    gone = dict(Raglan(back_shoulder="ease").apply(worked_block()).facts)
    assert kept["raglan.wedge_deg"] > gone["raglan.wedge_deg"] + 10


@pytest.mark.parametrize(("side", "printed"), [(Side.FRONT, 9.4), (Side.BACK, 17.6)])
def test_sections_fall_short_of_the_crown_by_the_ease(side: Side, printed: float) -> None:
    """Printed: the chord from Q to the crown is that much longer than from P to the tip."""
    block = worked_block()
    half, sleeve = HalfBodice(block[side.value], side), Sleeve(block["sleeve"])
    on_bodice = np.hypot(*(half.at(Role.ARMHOLE, 90.0)[0] - half.shoulder_tip))
    on_cap = np.hypot(*(sleeve.run(Role.CAP, side).point_at(90.0) - sleeve.crown))
    assert on_cap - on_bodice == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize("placement", ["pitch", "crown"])
def test_a_line_that_meets_the_armhole_too_low_is_told_what_to_do(
    placement: Literal["pitch", "crown"],
) -> None:
    """The armhole is nearly level there; only a higher pitch point turns the seam less."""
    block = block_of("child_block", "98")
    low = Raglan(placement=placement, front=HalfLine(pitch=30.0))
    with pytest.raises(OperationError, match="on the front .* a pitch higher than 30 mm") as told:
        low.apply(block)
    assert ("placement: pitch" in str(told.value)) == (placement != "pitch")
    Raglan(placement=placement, front=HalfLine(pitch=40.0)).apply(block)
