"""Which sheets a pattern takes: the grid, portrait or landscape, without the sheets it does not touch.

A *tile* is the part of the pattern that one sheet contributes: what is left when it is trimmed.
A sheet prints its tile and, below it and to its right, 10 mm of the next tiles to lay them on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from sleevewright.print_settings import PrintSettings
from sleevewright.writing.pdf.nests import Placement

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: mm. Left free on every side: more than the margins that printers keep (common practice).
MARGIN = 10.0
#: mm. Printed on two neighbouring sheets.
OVERLAP = 10.0

_INSET = 1.0  # mm: between the pattern and the border of the grid, at the least
_PEN = 0.25  # mm: half of the widest pen; what comes this near a tile marks it

Place = tuple[int, int]  # row and column


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A sheet that is printed.

    Attributes:
        row, column: from the top and from the left, from 0.
        shown: which placements are on it, its flaps included.
        named: which placements are on the tile itself.
    """

    row: int
    column: int
    shown: tuple[int, ...]
    named: tuple[int, ...]

    @property
    def label(self) -> str:
        """A letter for the row and a number for the column.

        >>> Tile(row=27, column=2, shown=(), named=()).label
        'AB3'
        """
        return label_of(self.row, self.column)


@dataclass(frozen=True, kw_only=True)
class Tiling:
    """A pattern on sheets.

    Attributes:
        paper: width and height of a sheet as it is printed, mm.
        rows, columns: of the whole grid.
        origin: of the pattern in the grid, whose own origin is its lower left corner, mm.
        scale: of the pattern.
        placements: the pattern, mm before scaling.
        tiles: in reading order; empty ones are left out.
    """

    paper: tuple[float, float]
    rows: int
    columns: int
    origin: tuple[float, float]
    scale: float
    placements: tuple[Placement, ...]
    tiles: tuple[Tile, ...]

    @property
    def step(self) -> tuple[float, float]:
        """Width and height of a tile, mm."""
        return _step(self.paper)

    @property
    def width(self) -> float:
        """Of the grid, mm."""
        return self.columns * self.step[0]

    @property
    def height(self) -> float:
        """Of the grid, mm."""
        return self.rows * self.step[1]

    @cached_property
    def printed(self) -> dict[Place, Tile]:
        """The tiles by row and column."""
        return {(tile.row, tile.column): tile for tile in self.tiles}

    @cached_property
    def order(self) -> dict[Place, int]:
        """The number of each tile, from 1."""
        return {place: number for number, place in enumerate(self.printed, start=1)}

    @cached_property
    def joints(self) -> dict[tuple[Place, Place], int]:
        """Number of each joint, from 1: (place of a sheet, way to its neighbour right or below)."""
        found = [
            ((row, column), (down, right))
            for row, column in self.printed
            for down, right in ((0, 1), (1, 0))
            if (row + down, column + right) in self.printed
        ]
        return {joint: number for number, joint in enumerate(found, start=1)}

    def corner(self, tile: Tile) -> tuple[float, float]:
        """Return the lower left corner of a tile in the grid, mm."""
        return tile.column * self.step[0], (self.rows - 1 - tile.row) * self.step[1]

    def place(self, placement: Placement) -> tuple[float, float]:
        """Return where the origin of a nest is in the grid, mm."""
        return (
            self.origin[0] + self.scale * placement.x,
            self.origin[1] + self.scale * placement.y,
        )


def label_of(row: int, column: int) -> str:
    """Return the label of a sheet: rows A, B ... Z, AA, AB ...; columns 1, 2 ..."""
    letters, rest = "", row + 1
    while rest:
        rest, last = divmod(rest - 1, 26)
        letters = chr(65 + last) + letters
    return f"{letters}{column + 1}"


def best_tiling(placements: Sequence[Placement], printing: PrintSettings) -> Tiling:
    """Return the tiling of fewer sheets, portrait or landscape; portrait where both take as many."""
    wide, high = printing.paper.size
    covered = _covered(placements)
    portrait, landscape = (
        _tiling(placements, covered, paper, printing.scale)
        for paper in ((wide, high), (high, wide))
    )
    return portrait if len(portrait.tiles) <= len(landscape.tiles) else landscape


def _step(paper: tuple[float, float]) -> tuple[float, float]:
    return paper[0] - 2 * MARGIN - OVERLAP, paper[1] - 2 * MARGIN - OVERLAP


def _covered(placements: Sequence[Placement]) -> list[tuple[int, object]]:
    """Return shapes on the paper, mm, each with the number of its placement."""
    from shapely import affinity  # noqa: PLC0415 (heavy)

    return [
        (i, affinity.translate(shape, placement.x, placement.y))
        for i, placement in enumerate(placements)
        for shape in placement.nest.shapes()
    ]


def _tiling(
    placements: Sequence[Placement],
    covered: list[tuple[int, object]],
    paper: tuple[float, float],
    scale: float,
) -> Tiling:
    import shapely  # noqa: PLC0415 (heavy)

    step = np.array(_step(paper))
    shapes = np.array([shape for _, shape in covered], dtype=object)
    boxes = shapely.bounds(shapes)
    low, high = scale * boxes[:, :2].min(axis=0), scale * boxes[:, 2:].max(axis=0)
    columns, rows = (max(1, ceil(n - 1e-9)) for n in (high - low + 2 * _INSET) / step)
    # what is left over goes to both sides alike
    origin = (np.array([columns, rows]) * step - (high - low)) / 2 - low
    corners = np.array(
        [[c * step[0], (rows - 1 - r) * step[1]] for r in range(rows) for c in range(columns)]
    )
    corners = (corners - origin) / scale
    own = _touching(shapes, corners, step / scale, np.zeros(2), _PEN / scale)
    flap = np.array([OVERLAP, OVERLAP]) / scale
    all_shown = _touching(shapes, corners, step / scale, flap, _PEN / scale)
    numbers = [number for number, _ in covered]
    tiles = tuple(
        Tile(
            row=k // columns,
            column=k % columns,
            shown=tuple(sorted({numbers[i] for i in all_shown[k]})),
            named=tuple(sorted({numbers[i] for i in own[k]})),
        )
        for k in range(rows * columns)
        if own[k]
    )
    return Tiling(
        paper=paper,
        rows=rows,
        columns=columns,
        origin=(float(origin[0]), float(origin[1])),
        scale=scale,
        placements=tuple(placements),
        tiles=tiles,
    )


def _touching(
    shapes: "NDArray[np.object_]",
    corners: "NDArray[np.float64]",
    size: "NDArray[np.float64]",
    flap: "NDArray[np.float64]",
    pen: float,
) -> list[list[int]]:
    """Return for each sheet which shapes it prints; the flaps are to the right of and below it."""
    from shapely import STRtree, box  # noqa: PLC0415 (heavy)

    left, bottom = corners[:, 0] - pen, corners[:, 1] - flap[1] - pen
    right, top = corners[:, 0] + size[0] + flap[0] + pen, corners[:, 1] + size[1] + pen
    pairs = STRtree(box(left, bottom, right, top)).query(shapes, predicate="intersects")
    found: list[list[int]] = [[] for _ in corners]
    for shape, sheet in pairs.T.tolist():
        found[sheet].append(shape)
    return found
