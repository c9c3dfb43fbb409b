"""Draft the sample blocks and write them as ASTM-layer DXF, named-layer DXF and SVG.

Run from anywhere: `python sample_patterns/draft_blocks.py` rewrites the sample files beside it, the
same bytes each time. Needs numpy and ezdxf; uses nothing of sleevewright, so that the samples are
independent of the code that reads them.

Sources. Women: the "B/8" sloper formulas of the Japanese sewing-school tradition (from memory; the
totals agree with published ranges: cap ease 7 to 8 % of the armhole, armhole about half the bust).
Men: armhole depth chest/4 + 20 mm and cap height armhole/3 as in a published study of slim jacket
blocks (oak.go.kr article 14351, abstract). Widths of neck, back and chest are proportional rules,
common practice. Body measurements: bust and chest steps of 40 mm (EN 13402-3, from memory), sleeve
lengths and wrists in the range of ANSUR II (US Army 2012, public release); child: common practice.

All points are mm, y up, on the sewing line; the wearer's right side seen from outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
Array = np.ndarray
Curve = Array  # cubics, shape (n, 4, 2)


# --- curves -----------------------------------------------------------------------------------


def unit(degrees: float) -> Array:
    """Return the direction at an angle from the x axis."""
    return np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])


def line(a: Array, b: Array) -> Curve:
    """Return a straight segment as a cubic."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    return np.array([[a, a + (b - a) / 3, b - (b - a) / 3, b]])


def cubic(a: Array, leaving: float, b: Array, arriving: float, ka: float, kb: float) -> Curve:
    """Return a cubic between points with directions in degrees and handles as parts of the chord."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    chord = math.dist(a, b)
    return np.array([[a, a + ka * chord * unit(leaving), b - kb * chord * unit(arriving), b]])


def chain(*curves: Curve) -> Curve:
    """Return curves that meet as one."""
    return np.concatenate(curves)


def flipped(curve: Curve) -> Curve:
    """Return a curve run the other way."""
    return curve[::-1, ::-1]


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


def point(curve: Curve, i: int, t: float) -> Array:
    """Return the point of segment i at t."""
    u = 1 - t
    a, b, c, d = curve[i]
    return u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d


def lengths(curve: Curve, upto: float = 1.0) -> Array:
    """Return the arc length of every segment from 0 to `upto`."""
    t = (upto / 2 * (_NODES + 1))[None, :, None]
    d = 3 * np.diff(curve, axis=1)
    v = (1 - t) ** 2 * d[:, None, 0] + 2 * t * (1 - t) * d[:, None, 1] + t * t * d[:, None, 2]
    return upto / 2 * np.hypot(v[..., 0], v[..., 1]) @ _WEIGHTS


def length(curve: Curve) -> float:
    """Return the arc length, mm."""
    return float(lengths(curve).sum())


def at(curve: Curve, station: float) -> Array:
    """Return the point at a station, mm from the start."""
    for i, one in enumerate(lengths(curve)):
        if station <= one or i == len(curve) - 1:
            lo, hi = 0.0, 1.0
            for _ in range(60):
                mid = (lo + hi) / 2
                if lengths(curve[i : i + 1], mid)[0] < station:
                    lo = mid
                else:
                    hi = mid
            return point(curve, i, (lo + hi) / 2)
        station -= one
    raise AssertionError


def solve(function, lo: float, hi: float) -> float:
    """Return where an increasing function is zero, by bisection."""
    for _ in range(80):
        mid = (lo + hi) / 2
        lo, hi = (mid, hi) if function(mid) < 0 else (lo, mid)
    return (lo + hi) / 2


# --- a half block -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Draft:
    """The points of a draft, mm, CB at x = 0 and CF at x = `width`; waist or hem level free."""

    name: str
    size: str
    width: float
    hem: float
    back_neck: tuple[Array, Array]  # centre, shoulder-neck point
    back_shoulder: tuple[float, float]  # slope below horizontal, length (darts open)
    front_neck: tuple[Array, Array]
    front_shoulder: tuple[float, float]
    underarm: Array
    back_width: float
    front_width: float  # x of the chest width line
    cap_height: float  # as a part of the mean armhole height when < 1, else mm
    ease: tuple[float, float]  # cap ease front, back
    sleeve: float
    wrist: float
    bust: tuple[Array, float] | None = None  # bust point, dart angle
    shoulder_dart: tuple[float, float, Array] | None = None  # where, width, tip
    pieces: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Edge:
    """An edge of a sample piece in outline order (counter-clockwise)."""

    role: str
    curve: Curve
    notches: tuple[tuple[float, str], ...] = ()  # station, single or double


@dataclass(frozen=True)
class Piece:
    """A sample piece."""

    name: str
    edges: tuple[Edge, ...]
    grain: tuple[Array, Array]
    fold: bool


def rotated(points: Array, degrees: float, about: Array) -> Array:
    """Return points turned counter-clockwise."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (np.asarray(points) - about) @ np.array([[c, s], [-s, c]]) + about


def bodice(d: Draft) -> tuple[Piece, Piece]:
    """Draft front and back half."""
    return front(d), back(d)


def back(d: Draft) -> Piece:
    """Draft the back half on the fold."""
    nape, neck = d.back_neck
    shoulder, (inner, outer) = back_shoulder(d)
    tip = shoulder[0].curve[0, 0]
    # Square to the shoulder at both of its ends, to centre back and to the side seam.
    neckline = cubic(nape, 0, neck, 90 - inner, 0.56, 0.22)  # no dip below the nape
    touch = np.array([d.back_width, d.underarm[1] + 0.44 * (tip[1] - d.underarm[1])])
    armhole = chain(
        cubic(tip, -90 - outer, touch, -90, 0.34, 0.38),
        cubic(touch, -90, d.underarm, 0, 0.50, 0.40),
    )
    corner, hem = np.array([d.underarm[0], d.hem]), np.array([0.0, d.hem])
    edges = [
        Edge("hem", line(hem, corner)),
        Edge("side_seam", line(corner, d.underarm)),
        Edge("armhole", flipped(armhole), ((0.40 * length(armhole), "double"),)),
        *shoulder,
        Edge("neckline", flipped(neckline)),
        Edge("centre", line(nape, hem)),
    ]
    grain = (
        np.array([0.25 * d.underarm[0], d.hem + 40]),
        np.array([0.25 * d.underarm[0], nape[1] - 40]),
    )
    return Piece("back", tuple(edges), grain, fold=True)


def back_shoulder(d: Draft) -> tuple[list[Edge], tuple[float, float]]:
    """Draft the back shoulder from the tip to the neck; and its slopes at neck and tip, degrees.

    With a dart it is straight when the dart is closed: folded, ruled from neck to tip and cut, so
    that it peaks at the mouth when it is open (common practice). Open, the tip lies on the slope of
    the draft; closed, the shoulder is as long as without the dart.
    """
    neck, (slope, whole) = d.back_neck[1], d.back_shoulder
    if d.shoulder_dart is None:
        return [Edge("shoulder", line(neck + whole * unit(-slope), neck))], (slope, slope)
    where, width, apex = d.shoulder_dart
    # The apex goes square below the middle of the mouth as it is measured on the slope.
    middle, square = neck + (where + width / 2) * unit(-slope), unit(-90 - slope)
    apex = middle + float((apex - middle) @ square) * square

    def opened(closed: float) -> tuple[Array, Array, Array, float]:
        """The mouth and the tip, for a slope of the closed shoulder; and the dart's angle."""
        inner = neck + where * unit(-closed)
        angle = 2 * math.degrees(math.asin(width / 2 / math.dist(inner, apex)))
        ends = np.array([inner, neck + (whole - width) * unit(-closed)])
        outer, tip = rotated(ends, -angle, apex)
        return inner, outer, tip, angle

    def below(closed: float) -> float:
        """How far the tip lies below the slope of the draft, degrees."""
        run_ = opened(closed)[2] - neck
        return math.degrees(math.atan2(-run_[1], run_[0])) - slope

    closed = solve(below, slope - 20, slope)
    inner, outer, tip, angle = opened(closed)
    edges = [
        Edge("shoulder", line(tip, outer)),
        Edge("dart_leg", line(outer, apex)),
        Edge("dart_leg", line(apex, inner)),
        Edge("shoulder", line(inner, neck)),
    ]
    return edges, (closed, closed + angle)


def front(d: Draft) -> Piece:
    """Draft the front half on the fold; a bust dart opens on the armhole."""
    pit, neck = d.front_neck
    slope, shoulder = d.front_shoulder
    tip = neck + shoulder * unit(180 + slope)
    neckline = cubic(pit, 180, neck, 90 + slope, 0.52, 0.34)
    corner, hem = np.array([d.underarm[0], d.hem]), np.array([d.width, d.hem])
    start = [
        Edge("hem", line(corner, hem)),
        Edge("centre", line(hem, pit)),
        Edge("neckline", neckline),
    ]
    start.append(Edge("shoulder", line(neck, tip)))
    down = -90 + slope  # square to the shoulder
    if d.bust is None:
        touch = np.array([d.front_width, d.underarm[1] + 0.36 * (tip[1] - d.underarm[1])])
        armhole = chain(
            cubic(tip, down, touch, -90, 0.34, 0.34),
            cubic(touch, -90, d.underarm, 180, 0.52, 0.44),
        )
        whole = length(armhole)
        start.append(Edge("armhole", armhole, ((whole - whole / 3, "single"),)))
    else:
        start += _darted_armhole(d, tip, down)
    start.append(Edge("side_seam", line(d.underarm, corner)))
    x = d.width - 0.25 * (d.width - d.underarm[0])
    return Piece(
        "front", tuple(start), (np.array([x, d.hem + 40]), np.array([x, pit[1] - 40])), fold=True
    )


def _darted_armhole(d: Draft, tip: Array, down: float) -> list[Edge]:
    """The armhole with the bust dart open: fair when the dart is closed."""
    apex, angle = d.bust
    lower_end = np.array([d.front_width, d.underarm[1] + 60.0])  # G
    upper_end = rotated(lower_end, -angle, apex)  # G2: where G comes to when the dart is closed
    upper = cubic(tip, down, upper_end, -90 - angle, 0.36, 0.36)
    lower = cubic(lower_end, -90, d.underarm, 180, 0.56, 0.42)
    total = length(upper) + length(lower)
    at_notch = length(lower) - total / 3
    notch = ((at_notch, "single"),) if at_notch > 0 else ()
    early = () if at_notch > 0 else ((length(upper) + at_notch, "single"),)
    return [
        Edge("armhole", upper, early),
        Edge("dart_leg", line(upper_end, apex)),
        Edge("dart_leg", line(apex, lower_end)),
        Edge("armhole", lower, notch),
    ]


def run(piece: Piece, role: str) -> float:
    """Return the length of all edges of a role, mm."""
    return sum(length(edge.curve) for edge in piece.edges if edge.role == role)


def sleeve(d: Draft, front_piece: Piece, back_piece: Piece) -> Piece:
    """Draft the sleeve to the armholes: cap lengths are armhole plus ease, to the micrometre."""
    armholes = run(front_piece, "armhole"), run(back_piece, "armhole")
    if d.cap_height < 1:
        tips = [next(e for e in p.edges if e.role == "shoulder") for p in (front_piece, back_piece)]
        heights = [float(tips[0].curve[-1, 3, 1]), float(tips[1].curve[0, 0, 1])]
        if d.bust is not None:  # the front's height is measured with its dart closed
            heights[0] -= float(rotated(d.underarm, -d.bust[1], d.bust[0])[1]) - d.underarm[1]
        height = d.cap_height * (sum(heights) / 2 - d.underarm[1])
    else:
        height = d.cap_height
    drop = d.sleeve - height

    def half(width: float, taper: float, hollow: float) -> Curve:
        """From the underarm point over the cap to the crown, drawn as a front (to the right)."""
        tilt = math.degrees(math.atan2(taper, drop))
        under, crown = np.array([width, 0.0]), np.array([0.0, height])
        middle = np.array([(0.56 + hollow) * width, 0.42 * height])
        steep = 180 - math.degrees(math.atan2(height, width)) - 21
        return chain(
            cubic(under, 180 - tilt, middle, steep, 0.46, 0.36),
            cubic(middle, steep, crown, 180, 0.36, 0.50),
        )

    def widths(taper: float) -> tuple[float, float]:
        return tuple(
            solve(
                lambda w, i=i: length(half(w, taper, (0.0, 0.03)[i])) - armholes[i] - d.ease[i],
                60,
                320,
            )
            for i in (0, 1)
        )

    taper = 20.0
    for _ in range(30):  # the taper that gives the wrist depends on the widths, and they on it
        wide = widths(taper)
        taper = (sum(wide) - d.wrist) / 2
    caps = half(wide[0], taper, 0.0), half(wide[1], taper, 0.03) * np.array([-1.0, 1.0])
    tilt = math.degrees(math.atan2(taper, drop))
    foot = np.array([wide[0] - taper, -drop]), np.array([taper - wide[1], -drop])
    # Square to both seams at its ends, the wrist rises a little towards its middle.
    a, b = foot[1], foot[0]
    part = 0.22 * (b - a)
    rise = np.array([0.0, float(part[0]) * math.tan(math.radians(tilt)) / 2])
    wrist = chain(
        cubic(a, tilt, a + part + rise, 0, 0.4, 0.4),
        line(a + part + rise, b - part + rise),
        cubic(b - part + rise, 0, b, -tilt, 0.4, 0.4),
    )
    notch = armholes[0] / 3, 0.40 * armholes[1]
    lengths_ = [length(c) for c in caps]
    cap = Edge(
        "cap",
        chain(caps[0], flipped(caps[1])),
        ((notch[0], "single"), (lengths_[0], "single"), (sum(lengths_) - notch[1], "double")),
    )
    edges = (
        Edge("wrist", wrist),
        Edge("underarm_seam", line(b, np.array([wide[0], 0.0]))),
        cap,
        Edge("underarm_seam", line(np.array([-wide[1], 0.0]), a)),
    )
    grain = np.array([0.0, -drop + 50]), np.array([0.0, height - 50])
    return Piece("sleeve", edges, grain, fold=False)


# --- the three blocks -------------------------------------------------------------------------


def women(bust: float, size: str, sleeve_length: float) -> Draft:
    """Women's overblock, hip length, by the B/8 formulas; bust in mm."""
    b = bust / 10
    width, chest, top = b / 2 + 6, b / 12 + 13.7, b / 5 + 8.3
    nape = chest + 20.0  # chest line at y = 20 cm above the origin
    back_w, chest_w = b / 8 + 7.4, b / 8 + 6.2
    neck_w = b / 24 + 3.4
    base = nape - chest
    f = width - chest_w - b / 32  # F on the chest line, towards the side
    apex = np.array([width - chest_w / 2 - 0.7, base]) * 10
    snp_f, snp_b = (
        np.array([width - neck_w, base + top]),
        np.array([neck_w + 0.2, nape + (neck_w + 0.2) / 3]),
    )
    front_shoulder = (snp_f[0] - (width - chest_w)) / math.cos(math.radians(22)) + 1.8
    dart = b / 32 - 0.8
    tip_e = np.array([back_w / 2 + 1.0, nape - 8.0])
    where = (tip_e[0] + 1.5 - snp_b[0]) / math.cos(math.radians(18))
    return Draft(
        "women_overblock",
        size,
        width * 10,
        -10 * (nape - 39.0) - 200 + (nape - 39.0) * 10,
        (np.array([0, nape]) * 10, snp_b * 10),
        (18, (front_shoulder + dart) * 10),
        (np.array([width, base + top - neck_w - 0.5]) * 10, snp_f * 10),
        (22, front_shoulder * 10),
        np.array([(back_w + f) / 2, base]) * 10,
        back_w * 10,
        f * 10,
        5 / 6,
        (11.0, 17.0),
        sleeve_length,
        240 + (bust - 840) / 10,
        (apex, b / 4 - 2.5),
        (where * 10, dart * 10, tip_e * 10),
    )


def men(chest: float, size: str, sleeve_length: float) -> Draft:
    """Men's overblock, no darts; chest in mm. Chest ease 140, armhole depth chest/4 + 20."""
    width = (chest + 140) / 2
    nape, depth = 780.0, chest / 4 + 20
    neck_w = chest / 12 + 2
    base = nape - depth
    under = np.array([width * 0.505, base])
    shoulder = chest * 0.155
    return Draft(
        "men_overblock",
        size,
        width,
        0.0,
        (np.array([0, nape]), np.array([neck_w, nape + 23])),
        (19, shoulder + 6),
        (np.array([width, nape - neck_w + 18]), np.array([width - neck_w + 2, nape + 20])),
        (21, shoulder),
        under,
        chest / 5 + 8,
        width - chest / 5 + 4,
        0.66,
        (9.0, 13.0),
        sleeve_length,
        262 + (chest - 960) / 8,
    )


def child(stature: float, chest: float, size: str, sleeve_length: float) -> Draft:
    """Child's overblock, no darts, flat cap; stature and chest in mm (common practice)."""
    width = (chest + 130) / 2
    nape, depth = 0.36 * stature, chest / 4 + 22
    neck_w = chest / 12 + 10
    base = nape - depth
    shoulder = chest / 10 + 28
    return Draft(
        "child_block",
        size,
        width,
        0.0,
        (np.array([0, nape]), np.array([neck_w, nape + 16])),
        (17, shoulder),
        (np.array([width, nape - neck_w + 4]), np.array([width - neck_w + 1, nape + 12])),
        (19, shoulder),
        np.array([width * 0.502, base]),
        neck_w + shoulder * 0.90,
        width - neck_w - shoulder * 0.84,
        0.58,
        (5.0, 7.0),
        sleeve_length,
        175 + (stature - 980) / 20,
    )


def drafts() -> list[Draft]:
    """Return every sample: block and size."""
    return [
        *(women(840 + 40 * i, str(36 + 2 * i), 540 + 6 * i) for i in range(5)),
        *(men(960 + 40 * i, str(48 + 2 * i), 635 + 8 * i) for i in range(3)),
        *(
            child(s, c, str(s // 10), l)
            for s, c, l in ((980, 560, 345), (1100, 590, 390), (1220, 630, 435))
        ),
    ]


def pieces_of(d: Draft) -> tuple[Piece, ...]:
    """Return front, back and sleeve, laid side by side."""
    f, b = bodice(d)
    s = sleeve(d, f, b)
    placed = []
    for piece, x in ((f, 60.0), (b, 0.0), (s, d.width + 340.0)):
        placed.append(moved(piece, np.array([x, 0.0 if piece is not s else 420.0])))
    return tuple(placed)


def moved(piece: Piece, by: Array) -> Piece:
    """Return a piece shifted."""
    edges = tuple(Edge(e.role, e.curve + by, e.notches) for e in piece.edges)
    return Piece(piece.name, edges, tuple(p + by for p in piece.grain), piece.fold)


# --- checking the draft -----------------------------------------------------------------------


def direction(curve: Curve, end: bool) -> Array:
    """Return the direction at the start or end of a curve."""
    v = curve[-1, 3] - curve[-1, 2] if end else curve[0, 1] - curve[0, 0]
    return v / np.hypot(*v)


def corner(piece: Piece, i: int) -> float:
    """Return the interior angle between edge i - 1 and edge i, degrees."""
    into, out = direction(piece.edges[i - 1].curve, True), direction(piece.edges[i].curve, False)
    turn = math.degrees(math.atan2(into[0] * out[1] - into[1] * out[0], into @ out))
    return 180.0 - turn


def angle_between(piece: Piece, first: str, second: str) -> float:
    """Return the interior angle where one role ends and another begins, either order."""
    for i, edge in enumerate(piece.edges):
        if {piece.edges[i - 1].role, edge.role} == {first, second}:
            return corner(piece, i)
    raise AssertionError((first, second))


def check(pieces: tuple[Piece, ...]) -> dict[str, float]:
    """Measure a drafted size and raise where it is not as a block must be."""
    f, b, s = pieces
    for piece in pieces:
        for i, edge in enumerate(piece.edges):
            gap = math.dist(piece.edges[i - 1].curve[-1, 3], edge.curve[0, 0])
            assert gap < 1e-9, (piece.name, edge.role, gap)
    for name, first, second in (
        ("neckline at the shoulder", "neckline", "shoulder"),
        ("armhole at the shoulder", "shoulder", "armhole"),
        ("armhole at the underarm", "armhole", "side_seam"),
        ("hem at the side", "side_seam", "hem"),
    ):
        total = sum(angle_between(p, first, second) for p in (f, b))
        assert abs(total - 180) < 0.5, (name, total)
    for p in (f, b):
        assert abs(angle_between(p, "neckline", "centre") - 90) < 0.1
        assert abs(angle_between(p, "hem", "centre") - 90) < 0.1
    for i in (1, 2, 3, 0):
        assert abs(corner(s, i) - 90) < 0.1, (i, corner(s, i))
    legs = [i for i, edge in enumerate(b.edges) if edge.role == "dart_leg"]
    if legs:  # the shoulder is straight over its closed dart
        assert abs(corner(b, legs[0]) + corner(b, legs[1] + 1) - 180) < 0.01
        assert abs(length(b.edges[legs[0]].curve) - length(b.edges[legs[1]].curve)) < 1e-6
        assert abs(run(b, "shoulder") - run(f, "shoulder")) < 1e-6
    seams = [length(e.curve) for e in s.edges if e.role == "underarm_seam"]
    assert abs(seams[0] - seams[1]) < 0.05, seams
    assert abs(run(f, "side_seam") - run(b, "side_seam")) < 0.05
    return {
        "armhole": run(f, "armhole") + run(b, "armhole"),
        "cap": run(s, "cap"),
        "biceps": math.dist(s.edges[1].curve[-1, 3], s.edges[3].curve[0, 0]),
        "wrist": length(s.edges[0].curve),
        "shoulder": run(f, "shoulder"),
        "back shoulder": run(b, "shoulder"),
        "neckline": run(f, "neckline") + run(b, "neckline"),
    }


# --- writing ----------------------------------------------------------------------------------


def flattened(curve: Curve, within: float = 0.02) -> tuple[Array, list[int]]:
    """Return a polyline and the indices of the joints of the cubics."""
    points, joints = [curve[0, 0]], [0]
    for i, c in enumerate(curve):
        bend = np.hypot(*np.diff(c, n=2, axis=0).T).max()
        n = max(1, math.ceil(math.sqrt(0.75 * bend / within)))
        points += [point(curve, i, k / n) for k in range(1, n)] + [c[3]]
        joints.append(len(points) - 1)
    return np.array(points), joints


def notch_points(edge: Edge) -> list[Array]:
    """Return where the marks of an edge's notches are."""
    marks = []
    for station, kind in edge.notches:
        offsets = (0.0,) if kind == "single" else (-5.0, 5.0)
        marks += [at(edge.curve, station + offset) for offset in offsets]
    return marks


def tag(code: int, value: object) -> str:
    """Return a DXF group."""
    return f"{code}\n{f'{value:.6f}' if isinstance(value, float) else value}\n"


def xy(p: Array, code: int = 10) -> str:
    """Return the groups of a point."""
    return tag(code, float(p[0]) + 0.0) + tag(code + 10, float(p[1]) + 0.0)


def text(layer: int, p: Array, words: str) -> str:
    """Return a TEXT entity."""
    return tag(0, "TEXT") + tag(8, layer) + xy(p) + tag(40, 4.0) + tag(1, words)


def d6673_block(name: str, piece: Piece, size: str) -> str:
    """Return one BLOCK by the layer conventions of ASTM D6673."""
    out = tag(0, "BLOCK") + tag(8, 1) + tag(2, name) + tag(70, 0) + xy(np.zeros(2))
    ring, turns, curves = [], [], []
    for edge in piece.edges:
        points, joints = flattened(edge.curve)
        turns.append(points[0])
        curves += [points[j] for j in joints[1:-1]]
        ring += list(points[:-1])
    out += tag(0, "POLYLINE") + tag(8, 1) + tag(66, 1) + tag(70, 0)
    for p in [*ring, ring[0]]:
        out += tag(0, "VERTEX") + tag(8, 1) + xy(p)
    out += tag(0, "SEQEND") + tag(8, 1)
    for layer, points in ((2, turns), (3, curves)):
        for p in points:
            out += tag(0, "POINT") + tag(8, layer) + xy(p)
    for edge in piece.edges:
        for p in notch_points(edge):
            out += tag(0, "POINT") + tag(8, 4) + xy(p) + tag(30, 5.0) + tag(39, 0.0)
    if piece.fold:
        c = next(e.curve for e in piece.edges if e.role == "centre")
        out += tag(0, "LINE") + tag(8, 6) + xy(c[0, 0]) + xy(c[-1, 3], 11)
    out += tag(0, "LINE") + tag(8, 7) + xy(piece.grain[0]) + xy(piece.grain[1], 11)
    words = [
        f"Piece Name: {piece.name.upper()}",
        f"Size: {size}",
        f"Quantity: {1 if piece.fold else 2}",
        "Material: SHELL",
        f"Category: {piece.name.upper()}",
    ]
    for i, line_ in enumerate(words):
        out += text(1, piece.grain[0] + np.array([12.0, 20.0 + 8 * i]), line_)
    return out + tag(0, "ENDBLK") + tag(8, 1)


def write_d6673(name: str, sizes: list[tuple[Draft, tuple[Piece, ...]]]) -> None:
    """Write all sizes of a block into one file."""
    out = (
        tag(0, "SECTION")
        + tag(2, "HEADER")
        + tag(0, "ENDSEC")
        + tag(0, "SECTION")
        + tag(2, "BLOCKS")
    )
    for d, pieces in sizes:
        for piece in pieces:
            out += d6673_block(f"{piece.name.upper()}_{d.size}", piece, d.size)
    out += tag(0, "ENDSEC") + tag(0, "SECTION") + tag(2, "ENTITIES")
    style = [
        "ASTM/D13Proposal 1 Version: D6673-10",
        "Author: HOLLOW LANE WORKROOM",
        f"Style Name: {name.upper()}",
        f"Sample Size: {sizes[0][0].size}",
        "Units: METRIC",
    ]
    for i, words in enumerate(style):
        out += text(1, np.array([0.0, -20.0 - 8 * i]), words)
    for i, (d, pieces) in enumerate(sizes):
        for piece in pieces:
            insert = tag(0, "INSERT") + tag(8, 1) + tag(2, f"{piece.name.upper()}_{d.size}")
            out += insert + xy(np.array([0.0, 1400.0 * i]))
    (HERE / f"{name}.dxf").write_bytes((out + tag(0, "ENDSEC") + tag(0, "EOF")).encode("ascii"))


def write_named(d: Draft, pieces: tuple[Piece, ...]) -> None:
    """Write one size with a layer per edge: exact splines and lines, R2000."""
    import ezdxf
    from ezdxf.document import Drawing

    ezdxf.options.write_fixed_meta_data_for_testing = True  # the same bytes each time
    doc: Drawing = ezdxf.new("R2000", units=4)
    space = doc.modelspace()
    for piece in pieces:
        for edge in piece.edges:
            layer = {"layer": f"{piece.name}.{edge.role}"}
            if len(edge.curve) == 1 and is_straight(edge.curve):
                space.add_line(edge.curve[0, 0], edge.curve[0, 3], layer)
            else:
                points = [edge.curve[0, 0], *(p for c in edge.curve for p in c[1:])]
                n = len(edge.curve)
                knots = (
                    [0.0] * 4 + [float(k) for k in range(1, n) for _ in range(3)] + [float(n)] * 4
                )
                spline = space.add_spline(dxfattribs=layer)
                spline.dxf.degree = 3
                spline.control_points = [(p[0], p[1], 0) for p in points]
                spline.knots = knots
            for p in notch_points(edge):
                space.add_point(p, {"layer": f"{piece.name}.notch"})
        space.add_line(piece.grain[0], piece.grain[1], {"layer": f"{piece.name}.grain"})
        if piece.fold:
            c = next(e.curve for e in piece.edges if e.role == "centre")
            space.add_line(c[0, 0], c[-1, 3], {"layer": f"{piece.name}.fold"})
    space.add_text(f"Size: {d.size}", height=8, dxfattribs={"layer": "text", "insert": (0, -40)})
    folder = HERE / "named"
    folder.mkdir(exist_ok=True)
    doc.saveas(folder / f"{d.name}_{d.size}.dxf")


def is_straight(curve: Curve) -> bool:
    """Whether a single cubic is a straight line."""
    a, b, c, e = curve[0]
    run_ = e - a
    return all(abs((p - a)[0] * run_[1] - (p - a)[1] * run_[0]) < 1e-9 for p in (b, c))


def write_svg(d: Draft, pieces: tuple[Piece, ...]) -> None:
    """Write one size as SVG: millimetres, y down, a group per piece and a class per edge."""
    everything = np.concatenate([e.curve.reshape(-1, 2) for p in pieces for e in p.edges])
    (left, bottom), (right, top) = everything.min(axis=0) - 20, everything.max(axis=0) + 20

    def pair(p: Array) -> str:
        return f"{p[0] - left:.6f},{top - p[1]:.6f}"

    def path(curve: Curve) -> str:
        if len(curve) == 1 and is_straight(curve):
            return f"M{pair(curve[0, 0])} L{pair(curve[0, 3])}"
        return f"M{pair(curve[0, 0])} " + " ".join(
            "C" + " ".join(pair(p) for p in c[1:]) for c in curve
        )

    w, h = right - left, top - bottom
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:.3f}mm" height="{h:.3f}mm"'
        f' viewBox="0 0 {w:.3f} {h:.3f}" data-size="{d.size}">',
        f"<title>{d.name.replace('_', ' ')}, size {d.size}</title>",
        "<style>path,line{fill:none;stroke:#000;stroke-width:.5}.grain{stroke-dasharray:8 3}"
        "circle{fill:#000}</style>",
    ]
    for piece in pieces:
        out.append(f'<g id="{piece.name}">')
        for edge in piece.edges:
            out.append(f'<path class="{edge.role}" d="{path(edge.curve)}"/>')
            out += [
                f'<circle class="notch" cx="{p[0] - left:.6f}" cy="{top - p[1]:.6f}" r="1.5"/>'
                for p in notch_points(edge)
            ]
        lines = [("grain", piece.grain)]
        if piece.fold:
            c = next(e.curve for e in piece.edges if e.role == "centre")
            lines.append(("fold", (c[0, 0], c[-1, 3])))
        for kind, (a, b) in lines:
            ends = (a[0] - left, top - a[1], b[0] - left, top - b[1])
            out.append(
                '<line class="{}" x1="{:.6f}" y1="{:.6f}" x2="{:.6f}" y2="{:.6f}"/>'.format(
                    kind, *ends
                )
            )
        out.append("</g>")
    folder = HERE / "svg"
    folder.mkdir(exist_ok=True)
    (folder / f"{d.name}_{d.size}.svg").write_text(
        "\n".join([*out, "</svg>", ""]), encoding="utf-8"
    )


def main() -> None:
    """Draft, check and write every sample; print what each measures."""
    blocks: dict[str, list[tuple[Draft, tuple[Piece, ...]]]] = {}
    for d in drafts():
        pieces = pieces_of(d)
        measured = check(pieces)
        print(d.name, d.size, {key: round(value, 1) for key, value in measured.items()})
        blocks.setdefault(d.name, []).append((d, pieces))
        write_named(d, pieces)
        write_svg(d, pieces)
    for name, sizes in blocks.items():
        write_d6673(name, sizes)


if __name__ == "__main__":
    main()
