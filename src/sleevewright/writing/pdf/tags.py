"""The name of its size on each cut line of a nest, in a gap of the line, as on a contour map."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Curve
from sleevewright.writing.numbers import Part
from sleevewright.writing.pdf.layers import of_kind, of_size
from sleevewright.writing.pdf.nests import Copy, Nest
from sleevewright.writing.pdf.pens import colour_of
from sleevewright.writing.pdf.strokes import WHITE, polyline, shade, text, within_layer
from sleevewright.writing.pdf.typeface import Letters, text_width

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_CHORD = 0.1  # mm: how near lines are followed where tags are placed
_HEIGHT = 2.5  # mm; a size of ISO 3098
_ROUND = 6  # tags round a piece, where there is room
_TRIED = 48  # places looked at round a piece
_CLEAR = 6.0  # mm: from the ends of a tag to a corner of the line
_APART = 0.4  # mm: between a tag and the line of another size
_RISE = 0.75  # half the height of a tag's gap, of a capital's


def size_tags(nest: Nest, sizes: Sequence[str], letters: Letters, scale: float) -> Iterator[Part]:
    """Name the sizes along their cut lines, one after the other, so that no two tags meet.

    A tag stands where its line is alone; where all lines of a size lie on those of others, on them.
    """
    from shapely import LinearRing, LineString, MultiLineString, prepare  # noqa: PLC0415 (heavy)

    parts: list[Part] = []
    rings = [
        LinearRing(copy.placed.lines[0].curve.flattened(_CHORD) + copy.shift)
        for copy in nest.copies
    ]
    notches = MultiLineString(
        [LineString(n.points + c.shift) for c in nest.copies for n in c.placed.notches]
    )
    prepare([*rings, notches])
    for order, copy in enumerate(nest.copies):
        curve = copy.placed.lines[0].curve
        height, words = _HEIGHT / scale, sizes[copy.size]
        width = text_width(words, height)
        begin = (order + 0.5) / len(nest.copies)
        steps = [(begin + k * _ROUND / _TRIED) / _ROUND % 1.0 for k in range(_TRIED)]
        reach = width / 2 + _CLEAR / scale
        tried = (_clear_of_corners(curve, part * curve.length, reach) for part in steps)
        found = [station for station in tried if station is not None]
        others = [notches, *(ring for ring in rings if ring is not rings[order])]
        alone = [s for s in found if _is_alone(copy, s, (width, height), others)]
        stations = _spread(alone, curve.length / _ROUND) or found[:: _TRIED // _ROUND]
        of_copy = [
            part
            for station in stations
            for part in _tag(copy, station, (words, width, height), letters)
        ]
        parts += within_layer(of_size(copy.size), of_copy)
    yield from within_layer(of_kind(LineKind.TEXT), parts)


def _is_alone(
    copy: Copy, station: float, size: tuple[float, float], others: "Sequence[BaseGeometry]"
) -> bool:
    """Whether the gap for a tag touches no line of another size and no notch."""
    from shapely import Polygon  # noqa: PLC0415 (heavy)

    width, height = size
    curve = copy.placed.lines[0].curve
    middle = curve.point_at(station) + np.array(copy.shift)
    along = curve.direction_at(station)
    across = np.array([-along[1], along[0]])
    gap = Polygon(_box(middle, along * (width / 2 + 0.4 * height), across * _RISE * height))
    return not any(ring.dwithin(gap, _APART) for ring in others)


def _spread(stations: Sequence[float], apart: float) -> list[float]:
    """Return the stations, in their order, that are so far from all taken before."""
    taken: list[float] = []
    for station in stations:
        if all(abs(station - other) >= 0.8 * apart for other in taken):
            taken.append(station)
    return taken


def _clear_of_corners(curve: Curve, station: float, reach: float) -> float | None:
    """Return the station, or one near it, that keeps its distance from every corner."""
    corners = np.array([0.0, *curve.corners(), curve.length])
    for step in (0.0, 5.0, -5.0, 10.0, -10.0, 15.0, -15.0, 20.0, -20.0):
        if np.abs(corners - (station + step)).min() >= reach:
            return station + step
    return None


def _tag(
    copy: Copy, station: float, label: tuple[str, float, float], letters: Letters
) -> Iterator[Part]:
    words, width, height = label
    curve = copy.placed.lines[0].curve
    middle = curve.point_at(station) + np.array(copy.shift)
    along = curve.direction_at(station)
    if along[0] < -1e-9 or (abs(along[0]) <= 1e-9 and along[1] < 0):
        along = -along  # letters stand on their feet
    across = np.array([-along[1], along[0]])
    yield shade(WHITE)
    yield polyline(_box(middle, along * (width / 2 + 0.4 * height), across * _RISE * height), "f")
    yield shade(colour_of(copy.size))
    at = middle - along * width / 2 - across * height / 2
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    yield text(letters, words, (float(at[0]), float(at[1])), height, angle)


def _box(
    middle: NDArray[np.float64], half: NDArray[np.float64], rise: NDArray[np.float64]
) -> NDArray[np.float64]:
    corners = (middle - half - rise, middle + half - rise, middle + half + rise)
    return np.array([*corners, middle - half + rise])
