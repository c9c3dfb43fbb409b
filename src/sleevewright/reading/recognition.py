"""Plain outlines: which piece it is and what its edges are, from the geometry alone.

A half bodice has six runs round it (hem, centre, neckline, shoulder, armhole, side seam), a sleeve
four (wrist, underarm seam, cap, underarm seam); darts are V's that part a run. Every way of laying
the names round the outline is scored by what the trade expects; a close second is doubt, and doubt
is an error that shows the label map line that settles it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Curve
from sleevewright.geometry.region import signed_area
from sleevewright.pattern import Edge, Role

Array = NDArray[np.float64]

#: mm. Pieces of a block are no smaller and no larger than this, on their long side.
SMALLEST, LARGEST = 60.0, 2000.0

#: The edges of a half bodice, in order round it.
BODICE = (
    Role.HEM, Role.CENTRE, Role.NECKLINE, Role.SHOULDER, Role.ARMHOLE, Role.SIDE_SEAM,
)  # fmt: skip
_SLEEVE = (Role.WRIST, Role.UNDERARM_SEAM, Role.CAP, Role.UNDERARM_SEAM)

#: How much better the best way must be than the second, of a whole of about 10.
CLEAR = 0.75
#: A way scored below this is no block that is known.
POOR = 4.0


@dataclass(frozen=True, slots=True)
class Recognised:
    """An outline with names.

    Attributes:
        kind: "bodice" or "sleeve".
        edges: in outline order, counter-clockwise, roles set.
        score: how well it fits; higher is better.
        margin: how far the second best way is behind.
    """

    kind: str
    edges: tuple[Edge, ...]
    score: float
    margin: float


def recognise(
    curves: Sequence[Curve], name: str, place: Place, fold: Curve | None, up: Array | None
) -> Recognised:
    """Name the edges of a closed outline.

    Args:
        curves: between corners, a closed chain.
        name: of the outline, for messages.
        place: for messages.
        fold: a mirror line, which lies on the centre.
        up: direction of the grain, if known.

    Raises:
        LabelError: it is no piece of a block that is known, or two ways fit equally.
    """
    chain = list(curves)
    if signed_area(chain) < 0:
        chain = [curve.reversed for curve in reversed(chain)]
    check_size(chain, name, place)
    is_leg = _dart_legs(chain)
    start = next((i for i in range(len(chain)) if not is_leg[i] and not is_leg[i - 1]), 0)
    chain, is_leg = chain[start:] + chain[:start], is_leg[start:] + is_leg[:start]
    runs = _runs(chain, is_leg)
    ways = []
    for kind, roles in (("bodice", BODICE), ("sleeve", _SLEEVE)):
        if len(runs) != len(roles):
            continue
        for turn in range(len(roles)):
            for order in (roles, tuple(reversed(roles))):
                laid = order[turn:] + order[:turn]
                score = _score(kind, dict(zip(laid, runs, strict=True)), laid, runs, fold, up)
                ways.append((score, kind, laid))
    if not ways:
        raise LabelError(
            Problem(
                f"{name} has {len(runs)} edges between its corners"
                f" (and {sum(is_leg) // 2} darts)", place,
                "a half bodice has 6, a sleeve 4",
                f"label its edges, or leave it out in a label map: pieces: {{{name}: ignore}}",
            )
        )  # fmt: skip
    ways.sort(key=lambda way: -way[0])
    best = ways[0]
    # A sleeve read from either side has the same names; only a different kind or order is doubt.
    second = next((w[0] for w in ways[1:] if w[2] != best[2]), 0.0)
    if best[0] < POOR:
        raise LabelError(
            Problem(f"{name} is no piece of a block that is known", place, "",
                    f"label its edges, or leave it out in a label map: pieces: {{{name}: ignore}}")
        )  # fmt: skip
    if best[0] - second < CLEAR:
        raise LabelError(
            Problem(
                f"{name}: its edges may run {', '.join(best[2])} or another way round, equally"
                " well", place, "",
                "label one edge in a label map, such as layers: {NAME: front.hem}",
            )
        )  # fmt: skip
    edges, run = [], -1
    for i, curve in enumerate(chain):
        if is_leg[i]:
            edges.append(Edge(name="", role=Role.DART_LEG, curve=curve))
            continue
        run += 0 if i and is_leg[i - 1] else 1
        edges.append(Edge(name="", role=best[2][run], curve=curve))
    return Recognised(best[1], tuple(edges), best[0], best[0] - second)


def count_runs(curves: Sequence[Curve]) -> int:
    """Return how many edges a closed counter-clockwise outline has, what a dart parts being one."""
    chain = list(curves)
    legs = _dart_legs(chain)
    start = next((i for i in range(len(chain)) if not legs[i] and not legs[i - 1]), 0)
    return len(_runs(chain[start:] + chain[:start], legs[start:] + legs[:start]))


def check_size(chain: Sequence[Curve], name: str, place: Place) -> None:
    """Refuse a piece of a size that no garment has.

    Raises:
        LabelError: with the units that are likely.
    """
    boxes = np.array([curve.bounds for curve in chain])
    extent = float((boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)).max())
    if SMALLEST <= extent <= LARGEST:
        return
    likely = [
        unit
        for unit, size in (("cm", 10.0), ("in", 25.4), ("mm", 0.1), ("m", 1000.0))
        if 150 <= extent * size <= 1200
    ]
    hint = f"units are perhaps {' or '.join(likely)}" if likely else ""
    raise LabelError(
        Problem(
            f"{name} comes out {extent:.1f} mm long", place,
            f"pieces of a block are {SMALLEST:.0f} to {LARGEST:.0f} mm", hint,
        )
    )  # fmt: skip


def _dart_legs(chain: list[Curve]) -> list[bool]:
    """Mark pairs of straight neighbours of one length that meet at a sharp tip inside the piece."""
    n = len(chain)
    legs = [False] * n
    for i in range(n):
        a, b = chain[i], chain[(i + 1) % n]
        if not (a.is_straight(0.05) and b.is_straight(0.05)):
            continue
        if abs(a.length - b.length) > 0.02 * (a.length + b.length):
            continue
        u, v = a.end_direction, b.start_direction
        # Into the piece and back: the outline (counter-clockwise) turns right by over 120 degrees.
        turn = math.degrees(math.atan2(u[0] * v[1] - u[1] * v[0], u @ v))
        if turn < -120.0:
            legs[i] = legs[(i + 1) % n] = True
    return legs


def _runs(chain: list[Curve], is_leg: list[bool]) -> list[list[Curve]]:
    """Group the edges: what a dart parts is one run."""
    runs: list[list[Curve]] = []
    for i, curve in enumerate(chain):
        if is_leg[i]:
            continue
        if runs and i and is_leg[i - 1]:
            runs[-1].append(curve)
        else:
            runs.append([curve])
    return runs


def _score(  # noqa: PLR0913 (all that is known of an outline)
    kind: str,
    by_role: dict[Role, list[Curve]],
    laid: Sequence[Role],
    runs: list[list[Curve]],
    fold: Curve | None,
    up: Array | None,
) -> float:
    straight = {role: _straightness(run) for role, run in by_role.items()}
    total = {role: sum(c.length for c in run) for role, run in by_role.items()}
    if kind == "bodice":
        return _score_bodice(by_role, straight, total, fold, up)
    return _score_sleeve(laid, runs, up)


def _straightness(run: list[Curve]) -> float:
    """1 for straight, falling to 0 for a curve as deep as a quarter of its length."""
    deepest = 0.0
    for curve in run:
        points = curve.flattened(0.5)
        chord = points[-1] - points[0]
        off = points - points[0]
        reach = float(np.hypot(*chord)) or 1.0
        depth = np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() / reach
        deepest = max(deepest, float(depth) / max(curve.length, 1.0))
    return max(0.0, 1.0 - 8.0 * deepest)


def _score_bodice(
    by_role: dict[Role, list[Curve]],
    straight: dict[Role, float],
    total: dict[Role, float],
    fold: Curve | None,
    up: Array | None,
) -> float:
    score = straight[Role.CENTRE] + 0.7 * straight[Role.SHOULDER] + 0.5 * straight[Role.SIDE_SEAM]
    score += 0.5 * straight[Role.HEM] + 1 - straight[Role.ARMHOLE] + 1 - straight[Role.NECKLINE]
    score += float(total[Role.CENTRE] > total[Role.SIDE_SEAM])
    score += float(total[Role.ARMHOLE] > total[Role.NECKLINE])
    score += float(total[Role.ARMHOLE] > total[Role.SHOULDER])
    score += float(total[Role.CENTRE] > 2 * total[Role.SHOULDER])
    centre = by_role[Role.CENTRE][0]
    along = (centre.end - centre.start) / max(centre.chord, 1e-9)
    if up is not None:
        score += abs(float(along @ up))
        hem = by_role[Role.HEM][0]
        neck = by_role[Role.NECKLINE][0]
        middle = [(c.start + c.end) / 2 for c in (hem, neck)]
        score += float((middle[1] - middle[0]) @ up > 0)
    hem = by_role[Role.HEM][0]
    across = (hem.end - hem.start) / max(hem.chord, 1e-9)
    score += 1 - abs(float(along @ across))
    if fold is not None:
        ends = [centre.nearest(p)[1] for p in (fold.start, fold.end)]
        score += 2.0 if max(ends) < 1.0 else -2.0
    return score


def _score_sleeve(laid: Sequence[Role], runs: list[list[Curve]], up: Array | None) -> float:
    by_place = list(zip(laid, runs, strict=True))
    cap = next(run for role, run in by_place if role is Role.CAP)
    wrist = next(run for role, run in by_place if role is Role.WRIST)
    seams = [run for role, run in by_place if role is Role.UNDERARM_SEAM]
    lengths = [sum(c.length for c in run) for run in seams]
    score = 2 * (1 - _straightness(cap)) + _straightness(wrist)
    score += 2 * max(0.0, 1 - 10 * abs(lengths[0] - lengths[1]) / max(lengths))
    score += sum(_straightness(run) for run in seams) / 2
    score += 2 * float(sum(c.length for c in cap) > 1.1 * sum(c.length for c in wrist))
    if up is not None:
        middle = [(run[0].start + run[-1].end) / 2 for run in (wrist, cap)]
        away = middle[1] - middle[0]
        score += 1.5 * float(away @ up) / max(float(np.hypot(*away)), 1e-9)
    return score


def with_piece_names(found: list[tuple[str, Recognised]]) -> list[tuple[str, Recognised]]:
    """Give names to recognised pieces that have none: the back's neckline is the shallower one.

    Args:
        found: (name or "", what was recognised).

    Raises:
        LabelError: there are two of one piece, or front and back cannot be told apart.
    """
    bodice = [i for i, (name, r) in enumerate(found) if not name and r.kind == "bodice"]
    sleeves = [i for i, (name, r) in enumerate(found) if not name and r.kind == "sleeve"]
    names = [name for name, _ in found]
    if len(sleeves) > 1 or (sleeves and "sleeve" in names):
        raise LabelError("there are two sleeves; say which is meant: pieces: {outline 2: ignore}")
    for i in sleeves:
        names[i] = "sleeve"
    free = [n for n in ("front", "back") if n not in names]
    if len(bodice) > len(free):
        raise LabelError(
            f"{len(bodice)} outlines look like half bodices, for {' and '.join(free) or 'none'};"
            " say which is which: pieces: {outline 1: front, outline 2: back, outline 3: ignore}"
        )
    if len(bodice) == 2:
        drops = [_neck_depth(found[i][1]) for i in bodice]
        if abs(drops[0] - drops[1]) < 0.15 * max(drops):
            raise LabelError(
                "front and back cannot be told apart: their necklines are equally deep;"
                " say which is which: pieces: {outline 1: front, outline 2: back}"
            )
        deeper, shallower = bodice if drops[0] > drops[1] else bodice[::-1]
        names[deeper], names[shallower] = "front", "back"
    elif len(bodice) == 1:
        if len(free) != 1:
            raise LabelError(
                "one half bodice and neither front nor back among the names;"
                " say which it is: pieces: {outline 1: front}"
            )
        names[bodice[0]] = free[0]
    return [(name, r) for name, (_, r) in zip(names, found, strict=True)]


def _neck_depth(found: Recognised) -> float:
    """How far the neckline drops along the centre, mm."""
    edges = {edge.role: edge for edge in found.edges}
    neck, centre = edges[Role.NECKLINE].curve, edges[Role.CENTRE].curve
    along = (centre.end - centre.start) / centre.chord
    return abs(float((neck.end - neck.start) @ along))
