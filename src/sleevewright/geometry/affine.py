"""Affine maps of the plane: six numbers, composed with `@`."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Affine(NamedTuple):
    """The map (x, y) -> (a x + c y + e, b x + d y + f), the order of SVG's matrix().

    | a c e |
    | b d f |
    | 0 0 1 |
    """

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    @staticmethod
    def identity() -> "Affine":
        """Return the map that moves nothing."""
        return Affine(1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

    @staticmethod
    def translation(offset: ArrayLike) -> "Affine":
        """Return the shift by offset, shape (2,), mm."""
        x, y = np.asarray(offset, dtype=float).tolist()
        return Affine(1.0, 0.0, 0.0, 1.0, x, y)

    @staticmethod
    def rotation(degrees: float, about: ArrayLike = (0.0, 0.0)) -> "Affine":
        """Return the turn by degrees, counter-clockwise, about a point, shape (2,), mm."""
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        x, y = np.asarray(about).tolist()
        return Affine(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)

    @staticmethod
    def scaling(x: float, y: float, about: ArrayLike = (0.0, 0.0)) -> "Affine":
        """Return the scaling by x and y about a point, shape (2,), mm."""
        px, py = np.asarray(about).tolist()
        return Affine(x, 0.0, 0.0, y, px - x * px, py - y * py)

    @staticmethod
    def reflection(point: ArrayLike, direction: ArrayLike) -> "Affine":
        """Return the mirror image in the line through point along direction, shapes (2,)."""
        p = np.asarray(point)
        u = np.asarray(direction, dtype=float)
        u = u / np.hypot(*u)
        m = 2.0 * np.outer(u, u) - np.eye(2)
        shift = p - m @ p
        return Affine(m[0, 0], m[1, 0], m[0, 1], m[1, 1], float(shift[0]), float(shift[1]))

    @staticmethod
    def moving(
        source: tuple[ArrayLike, ArrayLike], target: tuple[ArrayLike, ArrayLike]
    ) -> "Affine":
        """Return the rigid move (turn and shift) that takes source[0] to target[0].

        It turns the direction source[0] -> source[1] into the direction target[0] -> target[1].
        """
        s0, s1 = (np.asarray(p, dtype=float) for p in source)
        t0, t1 = (np.asarray(p, dtype=float) for p in target)
        (sx, sy), (tx, ty) = s1 - s0, t1 - t0
        turn = math.degrees(math.atan2(ty, tx) - math.atan2(sy, sx))
        return Affine.translation(t0 - s0) @ Affine.rotation(turn, s0)

    def __matmul__(self, other: "Affine") -> "Affine":
        """Return the map that does other first, then self."""
        a, b, c, d, e, f = self
        oa, ob, oc, od, oe, of = other
        return Affine(
            a * oa + c * ob,
            b * oa + d * ob,
            a * oc + c * od,
            b * oc + d * od,
            a * oe + c * of + e,
            b * oe + d * of + f,
        )

    @property
    def determinant(self) -> float:
        """The factor by which areas grow; negative for a mirror image."""
        return self.a * self.d - self.b * self.c

    @property
    def inverse(self) -> "Affine":
        """The map that undoes this one.

        Raises:
            ZeroDivisionError: the map flattens the plane.
        """
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def apply(self, points: ArrayLike) -> NDArray[np.float64]:
        """Return the images of points, shape (..., 2), mm."""
        p = np.asarray(points, dtype=float)
        x, y = p[..., 0], p[..., 1]
        return np.stack(
            [self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f], axis=-1
        )
