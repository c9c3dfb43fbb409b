"""One variant as the gallery shows it: plain values, made from what is kept of every variant."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

Array = NDArray[np.float64]

#: What became of a variant, from good to bad.
STATES = ("held", "noted", "fell short", "failed")

#: mm. A thumbnail is drawn at a tenth of full scale or smaller: half a millimetre cannot be seen.
_COARSE = 0.5
_STEPS = np.linspace(0.0, 1.0, 13)[:, None, None]  # points of a cubic before it is made coarse
_SAME = 0.05  # mm: edges whose ends are that near to one another meet


@dataclass(frozen=True, slots=True)
class Outline:
    """The outline of a piece.

    Attributes:
        piece: its name; pieces of one name are laid on one another when variants are compared.
        points: of a closed polyline, mm, y up; the last point need not repeat the first.
    """

    piece: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A variant.

    Attributes:
        key: BLOCK/RECIPE/[SETTINGS/]SIZE.
        block, recipe, size: names.
        family: of the recipe ("raglan"); may be empty.
        settings: (name, value as written).
        state: one of `STATES`.
        problem: what was wrong: why it failed, or what fell short; may be empty.
        measurements: (name, mm, or the unit that its name ends in).
        links: format -> path of the file, relative to the page, with /.
        outlines: of the pieces, coarse; empty where there is nothing to see.

    Raises:
        ValueError: the state is unknown, or a link leads out of the folder.
    """

    key: str
    block: str
    recipe: str
    size: str
    state: str
    family: str = ""
    settings: tuple[tuple[str, str], ...] = ()
    problem: str = ""
    measurements: tuple[tuple[str, float], ...] = ()
    links: tuple[tuple[str, str], ...] = ()
    outlines: tuple[Outline, ...] = ()

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise ValueError(f"{self.key}: {self.state!r} is no state; there are {STATES}")
        for _, path in self.links:
            if path.startswith("/") or ".." in path.split("/") or not path:
                raise ValueError(f"{self.key}: the link {path!r} leads out of the folder")


def outlines_from(pieces: Mapping[str, Mapping[str, Sequence[int]]]) -> tuple[Outline, ...]:
    """Return coarse outlines from the `pieces` of a profile.

    Args:
        pieces: name -> edge name -> control points of its cubics, micrometres, flat. These are
            sewing lines, in any order: a record that was stored keeps names sorted.
    """
    found = []
    for name, edges in pieces.items():
        curves = [np.array(e, dtype=float).reshape(-1, 4, 2) / 1000.0 for e in edges.values() if e]
        found += [Outline(name, _coarse(ring)) for ring in _rings(curves)]
    return tuple(found)


def _rings(curves: list[Array]) -> list[Array]:
    """Chain curves end to start; what does not belong to the first ring makes another."""
    left = list(curves)
    rings = []
    while left:
        chain = [left.pop(0)]
        begin = chain[0][0, 0]
        while left:
            end = chain[-1][-1, 3]
            gaps = [math.dist(curve[0, 0], end) for curve in left]
            nearest = int(np.argmin(gaps))
            if gaps[nearest] > _SAME:
                break
            chain.append(left.pop(nearest))
            # Closed, unless a slit begins here, whose two ends can be one point.
            if math.dist(chain[-1][-1, 3], begin) <= _SAME and not any(
                math.dist(curve[0, 0], begin) <= _SAME for curve in left
            ):
                break
        rings.append(np.concatenate(chain))
    return rings


def _coarse(controls: Array) -> tuple[tuple[float, float], ...]:
    a, b, c, d = (controls[None, :, i] for i in range(4))
    t, s = _STEPS, 1.0 - _STEPS
    points = s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d  # (steps, cubics, 2)
    line = LineString(points.swapaxes(0, 1).reshape(-1, 2)).simplify(_COARSE)
    return tuple((round(x, 2), round(y, 2)) for x, y in line.coords)
