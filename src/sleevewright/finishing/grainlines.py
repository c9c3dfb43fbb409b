"""Grainlines: kept where they are; drawn where a piece has none."""

from dataclasses import replace

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.pattern import Piece


def with_grainline(piece: Piece) -> Piece:
    """Return the piece with a grainline: its own, else one up the page through its middle.

    A drawn one takes two thirds of what the piece is tall there (TRADE-NOTES 7.4).
    """
    if piece.grain is not None:
        return piece
    from shapely import LineString  # noqa: PLC0415

    from sleevewright.geometry.region import polygon  # noqa: PLC0415

    left, bottom, right, top = piece.bounds
    shape = polygon((edge.curve for edge in piece.edges), 0.5)
    x = float(shape.centroid.x)
    across = shape.intersection(LineString([(x, bottom), (x, top)]))
    longest = max(getattr(across, "geoms", [across]), key=lambda part: part.length)
    low, high = sorted(float(y) for _, y in np.asarray(longest.coords)[[0, -1]])
    sixth = (high - low) / 6
    return replace(piece, grain=Curve.line((x, low + sixth), (x, high - sixth)))
