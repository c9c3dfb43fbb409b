"""What is cut: each copy of each piece as a polygon, its grain along x.

The cloth lies open. On folded cloth a piece on the fold would lie on the folded edge and pairs would
come for free, but only in one row and only where every piece is a pair or on the fold; on open cloth
half pieces are unfolded and pairs mirrored, which is right for any pattern and any cloth.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely import Polygon
from shapely.affinity import affine_transform

from sleevewright.geometry.region import polygon
from sleevewright.pattern.piece import Piece

_SEALED = 0.01  # mm: closes the hairline between a half and its image


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of a piece.

    Attributes:
        piece: its name.
        mirrored: whether it is the other one of a pair.
        shape: inside the cut line, mm, the upper end of the grain towards +x.
    """

    piece: str
    mirrored: bool
    shape: Polygon


def copies(piece: Piece) -> Iterator[Copy]:
    """Yield every copy that is cut; of two, one is mirrored.

    Raises:
        ValueError: the piece is not finished.
    """
    shape = _on_grain(piece)
    for number in range(piece.quantity):
        # A piece on the fold is its own mirror image.
        mirrored = number % 2 == 1 and not piece.fold
        turned = affine_transform(shape, (1, 0, 0, -1, 0, 0)) if mirrored else shape
        yield Copy(piece.name, mirrored, turned)


def _on_grain(piece: Piece) -> Polygon:
    """Return what is inside the cut line, unfolded, turned so that the grain runs along x."""
    if piece.finish is None:
        raise ValueError(f"{piece.name} is not finished: it has no cut line")
    shape = polygon(part.curve for part in piece.finish.cut_line)
    if piece.fold:
        fold = piece[piece.fold].curve
        shape = _unfolded(shape, fold.start, fold.end)
    x, y = (float(v) for v in piece.up)
    return affine_transform(shape, (x, y, -y, x, 0, 0))


def _unfolded(half: Polygon, start: np.ndarray, end: np.ndarray) -> Polygon:
    x, y = (end - start) / np.hypot(*(end - start))
    c, s = x * x - y * y, 2 * x * y  # of twice the angle of the fold
    fixed = start - np.array([c * start[0] + s * start[1], s * start[0] - c * start[1]])
    image = affine_transform(half, (c, s, s, -c, float(fixed[0]), float(fixed[1])))
    sealed = half.union(image).buffer(_SEALED, join_style="mitre")
    whole = sealed.buffer(-_SEALED, join_style="mitre")
    if not isinstance(whole, Polygon):
        raise ValueError("a half piece does not reach its fold")
    return Polygon(whole.exterior)
