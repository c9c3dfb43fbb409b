"""Entities of a DXF file to curves, in the drawing's unit.

Lines, arcs, ellipses, bulges and plain splines up to degree 3 are exact; rational splines and those of higher
degree are within `SPLINE_ERROR`. Every value is looked at before any geometry is made of it.
"""

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import b_spline, bulge, circular_arc, elliptical_arc
from sleevewright.geometry.fitting import fit_polyline
from sleevewright.reading.dxf_entities import Entity, Vertex
from sleevewright.reading.dxf_inserts import plane_of

Array = NDArray[np.float64]

SAME = 1e-9  # of the drawing's unit: no length
SPLINE_ERROR = 2e-3  # mm, or a millionth of its width where it is wider than any piece

#: A bulge beyond this is more than a full turn but for a ten-thousandth of it.
LARGEST_BULGE = 1e4
LARGEST_ANGLE = 36_000.0  # degrees
MOST_CONTROLS = 2_000  # of one spline
HIGHEST_DEGREE = 11
HEAVIEST = 1e4  # ratio of the weights of a spline

_MESH = 16 | 64  # flags of a POLYLINE
_SOLID = 8


class Drawn(NamedTuple):
    """One curve of an entity.

    Attributes:
        curve: in the drawing's unit.
        polyline: whether its vertices are the truth.
    """

    curve: Curve
    polyline: bool = False


def curves_of(entity: Entity, mm: float) -> Iterator[Drawn]:
    """Yield the curves of an entity; none where it has no length.

    Args:
        entity: of a kind in `CURVES`.
        mm: how many are one unit of the drawing.

    Raises:
        ValueError: says what is wrong with it.
    """
    height_of(entity)
    return CURVES[entity.kind](entity, mm)


def height_of(entity: Entity) -> float:
    """Return the height above the drawing's plane at which an entity lies, in the drawing's unit.

    Raises:
        ValueError: it has depth.
    """
    n = entity.numbers
    heights = [n[code] for code in (30, 38) if code in n]
    if entity.kind == "LINE":
        heights = [n.get(30, 0.0), n.get(31, 0.0)]
    elif entity.kind == "ELLIPSE" and abs(n.get(31, 0.0)) > SAME:
        raise ValueError("an ELLIPSE is tilted out of the drawing's plane")
    elif entity.kind == "SPLINE":
        heights = entity.lists.get(30, []) + entity.lists.get(31, [])
    elif entity.kind == "POLYLINE" and int(n.get(70, 0)) & _SOLID:
        heights = [vertex.z for vertex in entity.vertices]
    if not heights:
        return 0.0
    if max(heights) - min(heights) > 1e-6:
        raise ValueError(
            f"a {entity.kind} runs from height {min(heights):g} to {max(heights):g}: it is not flat"
        )
    return heights[0]


def _line(entity: Entity, _: float) -> Iterator[Drawn]:
    n = entity.numbers
    a, b = (n[10], n[20]), (n[11], n[21])
    if math.dist(a, b) > SAME:
        yield Drawn(Curve.line(a, b))


def _polyline(entity: Entity, _: float) -> Iterator[Drawn]:
    flags = int(entity.numbers.get(70, 0))
    if entity.kind == "POLYLINE" and flags & _MESH:
        raise ValueError("a POLYLINE is a mesh")
    plane = plane_of(entity)
    vertices = entity.vertices
    if any(abs(vertex.bulge) > LARGEST_BULGE for vertex in vertices):
        raise ValueError("a bulge is beyond a full turn")
    if flags & 1 and (len(vertices) > 2 or any(v.bulge for v in vertices)):
        vertices = (*vertices, vertices[0]._replace(bulge=0.0))
    kept = [
        v for v, w in zip(vertices, vertices[1:], strict=False) if math.dist(v[:2], w[:2]) > SAME
    ]
    if not kept:
        return
    kept.append(vertices[-1])
    straight = not any(v.bulge for v in kept)
    curve = _straight(kept) if straight else _bulged(kept)
    yield Drawn(curve.transformed(plane), straight and len(kept) > 9)


def _straight(vertices: list[Vertex]) -> Curve:
    return Curve.polyline([(v.x, v.y) for v in vertices])


def _bulged(vertices: list[Vertex]) -> Curve:
    pairs = zip(vertices, vertices[1:], strict=False)
    return Curve.joined(bulge(v[:2], w[:2], v.bulge) for v, w in pairs)


def _radius(entity: Entity) -> float:
    radius = entity.numbers[40]
    if radius < 0:
        raise ValueError(f"a radius of {radius:g}")
    return radius


def _circle(entity: Entity, _: float) -> Iterator[Drawn]:
    n, radius = entity.numbers, _radius(entity)
    if radius > SAME:
        circle = circular_arc((n[10], n[20]), radius, 0.0, 360.0)
        yield Drawn(circle.transformed(plane_of(entity)))


def _arc(entity: Entity, _: float) -> Iterator[Drawn]:
    n, radius = entity.numbers, _radius(entity)
    _check_angles(n[50], n[51])
    sweep = (n[51] - n[50]) % 360.0 or 360.0
    if radius * math.radians(sweep) > SAME:
        arc = circular_arc((n[10], n[20]), radius, n[50], sweep)
        yield Drawn(arc.transformed(plane_of(entity)))


def _check_angles(*degrees: float) -> None:
    for angle in degrees:
        if abs(angle) > LARGEST_ANGLE:
            raise ValueError(f"an angle of {angle:g} degrees")


def _ellipse(entity: Entity, _: float) -> Iterator[Drawn]:
    n = entity.numbers
    x, y, ratio = n[11], n[21], n[40]
    if not SAME < abs(ratio) <= 1.0 + 1e-9:
        raise ValueError(f"an ELLIPSE has the ratio {ratio:g}; up to 1 is allowed")
    start, end = math.degrees(n.get(41, 0.0)), math.degrees(n.get(42, math.tau))
    _check_angles(start, end)
    sweep = (end - start) % 360.0
    if sweep < 1e-9:
        sweep = 360.0
    turn = ratio if plane_of(entity).a > 0 else -ratio
    if math.hypot(x, y) > SAME:
        yield Drawn(elliptical_arc((n[10], n[20]), (x, y), (-y * turn, x * turn), start, sweep))


# --- splines -------------------------------------------------------------------------------------


def _spline(entity: Entity, mm: float) -> Iterator[Drawn]:
    controls, fits = _points(entity, 10), _points(entity, 11)
    _check_spline(entity, len(controls), len(fits))
    plane_of(entity)
    if not len(controls):
        curve = _through(entity, fits)
    else:
        knots, weights = np.array(entity.lists.get(40, [])), entity.lists.get(41, [])
        degree = int(entity.numbers[71])
        same = not weights or max(weights) - min(weights) < 1e-9 * max(weights)
        exact = degree <= 3 and same
        curve = b_spline(controls, knots, degree) if exact else _sampled(entity, controls, mm)
    if np.ptp(curve.controls.reshape(-1, 2), axis=0).max() > SAME:
        yield Drawn(curve)


def _points(entity: Entity, code: int) -> Array:
    xs, ys = entity.lists.get(code, []), entity.lists.get(code + 10, [])
    if len(xs) != len(ys):
        raise ValueError(
            f"a SPLINE has {len(xs)} x and {len(ys)} y (groups {code} and {code + 10})"
        )
    return np.array([xs, ys], dtype=float).reshape(2, -1).T


def _check_spline(entity: Entity, controls: int, fits: int) -> None:
    """Refuse what no spline may be; counts that lie among it."""
    knots, weights = entity.lists.get(40, []), entity.lists.get(41, [])
    has = {72: (len(knots), "knots"), 73: (controls, "control points"), 74: (fits, "fit points")}
    for code, (count, what) in has.items():
        says = int(entity.numbers.get(code, count))
        if says != count:
            raise ValueError(f"a SPLINE says it has {says} {what} and has {count}")
    if max(controls, fits) > MOST_CONTROLS:
        raise ValueError(f"a SPLINE of {max(controls, fits)} points; {MOST_CONTROLS} are allowed")
    if not controls:
        if fits < 2:
            raise ValueError("a SPLINE has no points")
        return
    degree = int(entity.numbers[71])
    if not 1 <= degree <= HIGHEST_DEGREE:
        raise ValueError(f"a SPLINE of degree {degree}; 1 to {HIGHEST_DEGREE} are allowed")
    if len(knots) != controls + degree + 1 or any(
        b < a for a, b in zip(knots, knots[1:], strict=False)
    ):
        raise ValueError("a SPLINE's knots fall, or do not fit its degree and control points")
    if any(a == b for a, b in zip(knots, knots[degree + 1 :], strict=False)):
        raise ValueError("a knot of a SPLINE stands more than degree + 1 times")
    if weights and (
        len(weights) != controls or min(weights) <= 0 or max(weights) > HEAVIEST * min(weights)
    ):
        raise ValueError(
            f"a SPLINE's weights are not positive and within {HEAVIEST:g} times each other"
        )


def _through(entity: Entity, fits: Array) -> Curve:
    """Return the cubic spline through fit points that drawing programs agree on most."""
    from ezdxf.math import fit_points_to_cad_cv  # noqa: PLC0415 (slow to import)

    if np.hypot(*np.diff(fits, axis=0).T).min() < SAME:
        raise ValueError("two fit points of a SPLINE lie on each other")
    n = entity.numbers
    tangents = [(n.get(x, 0.0), n.get(x + 10, 0.0)) for x in (12, 13)]
    given = all(math.hypot(*t) > SAME for t in tangents)
    spline = fit_points_to_cad_cv(fits, tangents if given else None)
    points = np.array([(p.x, p.y) for p in spline.control_points])
    return b_spline(points, np.array(spline.knots()), spline.degree)


def _sampled(entity: Entity, controls: Array, mm: float) -> Curve:
    """Return a spline that cubics do not give exactly, within `SPLINE_ERROR`."""
    from ezdxf.math import BSpline  # noqa: PLC0415 (slow to import)

    spline = BSpline(
        controls * mm, int(entity.numbers[71]) + 1, entity.lists[40], entity.lists.get(41) or None
    )
    error = max(SPLINE_ERROR, 1e-6 * float(np.ptp(controls * mm, axis=0).max())) / 2
    points = np.array([(p.x, p.y) for p in spline.flattening(error)])
    return Curve(fit_polyline(points, within=error).controls / mm)


CURVES: dict[str, Callable[[Entity, float], Iterator[Drawn]]] = {
    "LINE": _line,
    "LWPOLYLINE": _polyline,
    "POLYLINE": _polyline,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
