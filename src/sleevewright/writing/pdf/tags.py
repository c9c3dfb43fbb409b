"""The name of its size on each cut line of a nest, in a gap of the line, as on a contour map."""

from collections.abc import Iterator, Sequence

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

_HEIGHT = 2.2  # mm
_ROUND = 4  # tags round a piece
_CLEAR = 6.0  # mm: from the ends of a tag to a corner of the line


def size_tags(nest: Nest, sizes: Sequence[str], letters: Letters, scale: float) -> Iterator[Part]:
    """Name the sizes along their cut lines, one after the other, so that no two tags meet."""
    parts: list[Part] = []
    for order, copy in enumerate(nest.copies):
        curve = copy.placed.lines[0].curve
        height, words = _HEIGHT / scale, sizes[copy.size]
        width = text_width(words, height)
        of_copy: list[Part] = []
        for k in range(_ROUND):
            part = (k + (order + 0.5) / len(nest.copies)) / _ROUND
            station = _clear_of_corners(curve, part * curve.length, width / 2 + _CLEAR / scale)
            if station is not None:
                of_copy += _tag(copy, station, (words, width, height), letters)
        parts += within_layer(of_size(copy.size), of_copy)
    yield from within_layer(of_kind(LineKind.TEXT), parts)


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
    yield polyline(_box(middle, along * (width / 2 + 0.4 * height), across * 0.75 * height), "f")
    yield shade(colour_of(copy.size))
    at = middle - along * width / 2 - across * height / 2
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    yield text(letters, words, (float(at[0]), float(at[1])), height, angle)


def _box(
    middle: NDArray[np.float64], half: NDArray[np.float64], rise: NDArray[np.float64]
) -> NDArray[np.float64]:
    corners = (middle - half - rise, middle + half - rise, middle + half + rise)
    return np.array([*corners, middle - half + rise])
