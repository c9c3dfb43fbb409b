"""Pieces drawn whole (both halves): the mirror line is found, and the half beside it kept.

The mirror line of an outline goes through its centroid along a principal axis of its area; every
point of the outline must have its image on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sleevewright.errors import LabelError, Problem
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import flattened_ring
from sleevewright.pattern import Edge, InternalLine, Role
from sleevewright.reading.outline import Bare, Tick

#: mm. Both halves of a piece that is drawn whole agree within this.
SYMMETRIC = 0.5
#: mm. Marks of both halves that fall together on the half that is kept are one.
SAME_MARK = 1.0

#: Behind the names of edges of the wearer's left, in whole pieces that this program wrote.
LEFT = ".left"

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MirrorLine:
    """The line in which one half of a piece is the image of the other.

    Attributes:
        point: on it, shape (2,), mm.
        along: unit direction, shape (2,); the half to its left is kept.
    """

    point: Array
    along: Array

    def offset(self, points: ArrayLike) -> Array:
        """Return the distances of points, shape (..., 2), to the left of the line, mm."""
        p = np.asarray(points, dtype=float) - self.point
        return np.asarray(self.along[0] * p[..., 1] - self.along[1] * p[..., 0])

    def folded(self, point: ArrayLike) -> Array:
        """Return a point, or its image where it lies on the half that is not kept."""
        p = np.asarray(point, dtype=float)
        return p if self.offset(p) >= 0 else Affine.reflection(self.point, self.along).apply(p)

    def kept(self, curve: Curve) -> tuple[Curve, ...]:
        """Return the parts of a curve on the half that is kept."""
        stations = np.unique(np.concatenate([np.linspace(0, curve.length, 65), curve.stations]))
        side = self.offset(curve.point_at(stations))
        changes = np.flatnonzero(np.sign(side[1:]) * np.sign(side[:-1]) < 0)
        cuts = [0.0]
        cuts += [self._crossing(curve, float(stations[i]), float(stations[i + 1])) for i in changes]
        cuts += [float(s) for s, d in zip(stations[1:-1], side[1:-1], strict=True) if d == 0]
        cuts = sorted({*cuts, curve.length})
        parts = [curve.between(a, b) for a, b in pairwise(cuts) if b - a > 1e-3]
        return tuple(p for p in parts if self.offset(p.point_at(p.length / 2)) > 0)

    def _crossing(self, curve: Curve, lo: float, hi: float) -> float:
        rising = self.offset(curve.point_at(hi)) > 0
        for _ in range(60):  # halving: 64 mm to far below a rounding
            middle = (lo + hi) / 2
            if (self.offset(curve.point_at(middle)) > 0) == rising:
                hi = middle
            else:
                lo = middle
        return (lo + hi) / 2


def mirror_line(curves: Sequence[Curve], within: float = SYMMETRIC) -> MirrorLine | None:
    """Return the mirror line of a closed outline, or None where its halves differ.

    Args:
        curves: a closed chain.
        within: how far the image of a point may lie from the outline, mm.
    """
    from shapely import LinearRing, Polygon, distance, points  # noqa: PLC0415

    ring = flattened_ring(curves)
    area = Polygon(ring)
    if area.is_empty or not area.is_valid:
        return None  # it crosses itself, and is refused for that
    centroid = np.array(area.centroid.coords[0])
    outline = LinearRing(ring)
    for along in np.linalg.eigh(_moments(ring - centroid))[1].T:
        image = Affine.reflection(centroid, along).apply(ring)
        if float(np.max(distance(outline, points(image)))) <= within:
            return MirrorLine(centroid, along if along[1] > 0 else -along)
    return None


def _moments(ring: Array) -> Array:
    """Return the second moments of area of a polygon about the origin (Green's theorem)."""
    a, b = ring, np.roll(ring, -1, axis=0)
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    total = np.zeros((2, 2))
    for i in range(2):
        for j in range(2):
            terms = a[:, i] * a[:, j] + b[:, i] * b[:, j]
            terms = terms + (a[:, i] + b[:, i]) * (a[:, j] + b[:, j])
            total[i, j] = float((cross * terms).sum()) / 24.0
    return total


def half_chain(curves: Sequence[Curve], line: MirrorLine) -> tuple[list[tuple[int, Curve]], Curve]:
    """Return the half of a closed counter-clockwise chain to the left of the line, and its centre.

    Returns:
        (index of the curve it is a part of, part) from one end of the line to the other, and the
        straight line that closes them.

    Raises:
        LabelError: the outline crosses its mirror line more than twice.
    """
    parts = [(i, part) for i, curve in enumerate(curves) for part in line.kept(curve)]
    n = len(parts)
    starts = [
        k for k in range(n) if float(np.hypot(*(parts[k][1].start - parts[k - 1][1].end))) > 1e-3
    ]
    if len(starts) != 1:
        raise LabelError("a piece drawn whole crosses its mirror line more than twice")
    parts = parts[starts[0] :] + parts[: starts[0]]
    return parts, Curve.line(parts[-1][1].end, parts[0][1].start)


def halved(bare: Bare) -> tuple[Bare, str]:
    """Return the half of a front or back that is drawn whole, its centre on the fold.

    A piece that is drawn as a half comes back as it is, with an empty note.

    Raises:
        LabelError: a front or back without a centre edge whose halves differ.
    """
    whole = bare.name in ("front", "back") and not any(e.role is Role.CENTRE for e in bare.edges)
    if not whole:
        return bare, ""
    curves = [edge.curve for edge in bare.edges]
    line = mirror_line(curves)
    if line is None:
        raise LabelError(
            Problem(
                f"{bare.name} has no edge 'centre', and it is no whole piece: its halves differ",
                bare.place,
                f"a half with an edge 'centre', or halves that agree within {SYMMETRIC:g} mm",
                f"name the edge, such as {bare.name}.centre",
            )
        )
    if bare.name == "back":  # the wearer's right is on the other side of the line
        line = MirrorLine(line.point, -line.along)
    parts, centre = half_chain(curves, line)
    edges = [
        replace(bare.edges[i], name=bare.edges[i].name.removesuffix(LEFT), curve=part)
        for i, part in parts
    ]
    edges.append(Edge(name="", role=Role.CENTRE, curve=centre))
    note = f"{bare.name} is drawn whole; its half beside the mirror line was taken"
    return with_marks_folded(replace(bare, edges=tuple(edges), fold=centre), line), note


def with_marks_folded(bare: Bare, line: MirrorLine) -> Bare:
    """Return a piece with its marks, lines and grain on the half that is kept."""
    ticks: list[Tick] = []
    for tick in bare.ticks:
        at = line.folded(tick.at)
        if all(float(np.hypot(*(at - other.at))) > SAME_MARK for other in ticks):
            ticks.append(replace(tick, at=at, edge=tick.edge.removesuffix(LEFT)))
    holes: list[tuple[float, float]] = []
    for hole in bare.drill_holes:
        x, y = line.folded(hole)
        if all(np.hypot(x - u, y - v) > SAME_MARK for u, v in holes):
            holes.append((float(x), float(y)))
    internal = tuple(
        InternalLine(curve=part, name=drawn.name)
        for drawn in bare.internal
        for part in line.kept(drawn.curve)
    )
    return replace(
        bare,
        ticks=tuple(ticks),
        drill_holes=tuple(holes),
        internal=internal,
        grain=_beside(bare.grain, line, bare.edges),
    )


def _beside(grain: Curve | None, line: MirrorLine, edges: tuple[Edge, ...]) -> Curve | None:
    """Return the grainline inside the half that is kept."""
    if grain is None:
        return None
    middle = np.mean([edge.curve.point_at(edge.length / 2) for edge in edges], axis=0)
    here = float(line.offset((grain.start + grain.end) / 2))
    if here > 1.0:
        return grain
    left = np.array([-line.along[1], line.along[0]])
    return grain.transformed(Affine.translation((float(line.offset(middle)) - here) * left))
