"""The nesting engine on an open instance of irregular strip packing, against the literature.

Instance `albano` (Albano and Sapuppo 1980; 24 pieces of clothing, cloth 4900 wide, half turns allowed), as it
is kept in the open collections of the field and used by the paper of the engine itself. The densest layout
published for long was 89.58 % (Elkeran 2013, guided cuckoo search; the figure from memory). A short search must
come within 5 % of that length.
"""

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import rotate, translate

pytest.importorskip("spyrrow")

from sleevewright.writing.marker.engine import nest

CLOTH = 4900.0
DENSEST = 0.8958
PIECES: list[tuple[int, list[tuple[int, int]]]] = [
    (2, [(0, 86), (966, 142), (1983, 0), (2185, 238), (2734, 217), (3000, 767), (2819, 900),
         (2819, 1360), (3000, 1493), (2734, 2043), (2185, 2022), (1983, 2260), (966, 2118), (0, 2174)]),
    (2, [(0, 0), (3034, 0), (3034, 261), (0, 261)]),
    (4, [(0, 173), (1761, 0), (2183, 650), (2183, 1010), (1761, 1660), (0, 1487)]),
    (4, [(74, 0), (870, 119), (1666, 0), (1740, 125), (870, 305), (0, 125)]),
    (4, [(0, 0), (411, 65), (800, 0), (1189, 65), (1600, 0), (1500, 368), (800, 286), (100, 368)]),
    (4, [(0, 0), (936, 0), (936, 659), (0, 659)]),
    (2, [(56, 73), (1066, 143), (1891, 0), (2186, 288), (2573, 241), (2676, 926), (2594, 1366),
         (0, 1366)]),
    (2, [(0, 0), (2499, 0), (2705, 387), (2622, 934), (2148, 967), (1920, 1152), (1061, 1059),
         (0, 1125)]),
]  # fmt: skip


def test_within_five_per_cent_of_the_densest_published_layout() -> None:
    outlines = [
        [(float(x), float(y)) for x, y in points] for count, points in PIECES for _ in range(count)
    ]
    assert len(outlines) == 24
    strip = nest(outlines, CLOTH, [0.0, 180.0], 4.0, 3)
    laid = [
        translate(rotate(Polygon(points), angle, origin=(0, 0)), x, y)
        for points, (angle, x, y) in zip(outlines, strip.places, strict=True)
    ]
    bounds = np.array([piece.bounds for piece in laid])
    assert bounds[:, 1].min() >= -1e-3
    assert bounds[:, 3].max() <= CLOTH + 1e-3
    for i, one in enumerate(laid):
        for other in laid[i + 1 :]:
            assert one.intersection(other).area < 1.0  # of millions
    length = float(bounds[:, 2].max() - bounds[:, 0].min())
    published = sum(piece.area for piece in laid) / (CLOTH * DENSEST)
    assert length <= 1.05 * published, (length, published)
