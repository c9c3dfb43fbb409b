"""A small finished pattern of our own, with allowances made by another library than the tool's."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from sleevewright.findings import Finding, SeamRow, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import polygon
from sleevewright.pattern import (
    CutEdge,
    Edge,
    Finish,
    InternalLine,
    Lettering,
    Notch,
    NotchCut,
    NotchKind,
    NotchMark,
    Pattern,
    Piece,
    Role,
    Side,
    measurements,
    standard_seams,
)
from sleevewright.pattern.naming import with_standard_names
from sleevewright.pattern.result import Result

ALLOWANCE = 10.0


def edge(role, curve, side=None, notches=()):
    return Edge(name=str(role), role=role, curve=curve, side=side, notches=tuple(notches))


def front():
    hem, side = (0.0, 0.0), (-240.0, 0.0)
    under, tip, neck_side, neck = (-245.0, 230.0), (-190.0, 420.0), (-70.0, 460.0), (0.0, 380.0)
    return Piece(
        name="front",
        edges=with_standard_names(
            [
                edge(Role.HEM, Curve.line(side, hem)),
                edge(Role.CENTRE, Curve.line(hem, neck)),
                edge(Role.NECKLINE, Curve.cubic(neck, (-40, 380), (-65, 410), neck_side)),
                edge(Role.SHOULDER, Curve.line(neck_side, tip)),
                edge(
                    Role.ARMHOLE,
                    Curve.joined(
                        [
                            Curve.cubic(tip, (-182, 380), (-180, 340), (-185, 310)),
                            Curve.cubic((-185, 310), (-190, 280), (-210, 240), under),
                        ]
                    ),
                    notches=[Notch(at=130.0, name="front pitch")],
                ),
                edge(Role.SIDE_SEAM, Curve.line(under, side)),
            ]
        ),
        grain=Curve.line((-90, 60), (-90, 330)),
        fold="centre",
        internal=(InternalLine(curve=Curve.line((-240, 200), (0, 200)), name="bust line"),),
        drill_holes=((-130.0, 205.0),),
        material="shell",
    )


def back():
    """Half back with a shoulder dart, a seam at the centre, cut as a pair."""
    hem, side, under = (300.0, 0.0), (540.0, 0.0), (545.0, 225.0)
    tip, neck_side, neck = (495.0, 415.0), (372.0, 455.0), (300.0, 440.0)
    mouth, dart_tip = ((440.0, 440.0), (428.0, 444.0)), (425.0, 365.0)
    return Piece(
        name="back",
        edges=with_standard_names(
            [
                edge(Role.HEM, Curve.line(hem, side)),
                edge(Role.SIDE_SEAM, Curve.line(side, under)),
                edge(
                    Role.ARMHOLE,
                    Curve.cubic(under, (500, 240), (485, 330), tip),
                    notches=[Notch(at=90.0, name="back pitch", kind=NotchKind.DOUBLE)],
                ),
                edge(Role.SHOULDER, Curve.line(tip, mouth[0])),
                edge(Role.DART_LEG, Curve.line(mouth[0], dart_tip)),
                edge(Role.DART_LEG, Curve.line(dart_tip, mouth[1])),
                edge(Role.SHOULDER, Curve.line(mouth[1], neck_side)),
                edge(Role.NECKLINE, Curve.cubic(neck_side, (355, 442), (330, 440), neck)),
                edge(Role.CENTRE, Curve.line(neck, hem)),
            ]
        ),
        grain=Curve.line((380, 60), (380, 330)),
        quantity=2,
        material="shell",
    )


def sleeve():
    wrist_back, wrist_front = (-110.0, 0.0), (110.0, 0.0)
    under_back, crown, under_front = (-160.0, 430.0), (0.0, 560.0), (160.0, 430.0)
    return Piece(
        name="sleeve",
        edges=with_standard_names(
            [
                edge(Role.WRIST, Curve.line(wrist_back, wrist_front)),
                edge(Role.UNDERARM_SEAM, Curve.line(wrist_front, under_front), Side.FRONT),
                edge(
                    Role.CAP,
                    Curve.cubic(under_front, (90, 440), (80, 560), crown),
                    Side.FRONT,
                    [Notch(at=100.0, name="front pitch")],
                ),
                edge(
                    Role.CAP,
                    Curve.cubic(crown, (-80, 560), (-90, 440), under_back),
                    Side.BACK,
                    [Notch(at=110.0, name="back pitch", kind=NotchKind.DOUBLE)],
                ),
                edge(Role.UNDERARM_SEAM, Curve.line(under_back, wrist_back), Side.BACK),
            ]
        ),
        grain=Curve.line((0, 60), (0, 500)),
        quantity=2,
    )


def finished(piece):
    """Allowance all round by shapely's buffer; none beyond the fold."""
    outline = polygon(e.curve for e in piece.edges)
    grown = outline.buffer(ALLOWANCE, join_style="mitre", mitre_limit=2.5)
    if piece.fold:
        left, bottom, _, top = grown.bounds
        grown = grown.intersection(box(left, bottom, outline.bounds[2], top))
    ring = np.array(grown.exterior.coords)
    if not grown.exterior.is_ccw:
        ring = ring[::-1]
    notches = []
    for e in piece.edges:
        for n in e.notches:
            offsets = (-3.0, 3.0) if n.kind is NotchKind.DOUBLE else (0.0,)
            for offset in offsets:
                point, along = e.curve.point_at(n.at + offset), e.curve.direction_at(n.at)
                inward = np.array([-along[1], along[0]])
                notches.append(
                    NotchCut(
                        name=n.name,
                        kind=n.kind,
                        sew_point=tuple(map(float, point)),
                        point=tuple(map(float, point - ALLOWANCE * inward)),
                        direction=tuple(map(float, inward)),
                        depth=5.0,
                        width=4.0 if piece.name == "sleeve" else 0.0,
                        mark=NotchMark.V if piece.name == "sleeve" else NotchMark.SLIT,
                    )
                )
    x, y = piece.grain.point_at(piece.grain.length * 0.6)
    lettering = tuple(
        Lettering(text=text, at=(float(x) + 15, float(y) - 14 * i), height=8.0)
        for i, text in enumerate([piece.name.upper(), "SIZE 38"])
    )
    seam = piece.edges[1]
    seam_note = Lettering(
        text=seam.name, at=tuple(seam.curve.point_at(60.0)), height=3.0, angle=90.0, about=seam.name
    )
    return replace(
        piece,
        finish=Finish(
            allowances=tuple((e.name, ALLOWANCE) for e in piece.edges),
            cut_line=(CutEdge(edge="", curve=Curve.polyline(ring)),),
            notches=tuple(notches),
            lettering=(*lettering, seam_note),
        ),
    )


@pytest.fixture(scope="session")
def result():
    pieces = (front(), back(), sleeve())
    pattern = Pattern(
        name="overblock",
        size="38",
        pieces=tuple(finished(p) for p in pieces),
        seams=standard_seams(pieces),
    )
    rows = (
        SeamRow(
            name="side",
            edges=(("front.side_seam",), ("back.side_seam",)),
            lengths=(230.05433, 225.05555),
            wanted_ease=0.0,
            difference=4.99878,
            allowed=0.5,
            status=Status.FAILED,
        ),
    )
    return Result(
        block="overblock",
        recipe="classic",
        size="38",
        settings=(("neck_drop", "30 mm"),),
        pattern=pattern,
        findings=(Finding("seam-length", Status.FAILED, "side", "4.999 mm too long"),),
        seam_rows=rows,
        measurements=tuple(measurements(pattern).items()),
    )


@pytest.fixture(scope="session")
def whole_result(result):
    """The front unfolded by hand: two armholes, each with a notch of the same name."""
    half = front()
    image = Affine.reflection((0, 0), (0, 1))
    mirrored = [e.transformed(image).reversed for e in reversed(half.edges)]
    keep = [e for e in half.edges if e.name != "centre"]
    other = [e for e in mirrored if e.name != "centre"]
    # hem (side to centre), mirrored hem (centre to side) ... and back over the neck
    right = keep[1:]
    edges = with_standard_names([keep[0], other[-1], *other[:-1], *right])
    piece = finished(replace(half, edges=edges, fold="", quantity=1))
    return replace(result, pattern=Pattern(name="overblock", size="38", pieces=(piece,)))
