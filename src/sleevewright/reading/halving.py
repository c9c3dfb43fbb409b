"""Whole bodice pieces, both halves drawn, cut to the half that the project works on."""

from dataclasses import replace

import numpy as np

from sleevewright.errors import LabelError, Place, Problem
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import Edge, Role

#: mm. Halves whose edges differ by more are not each other's mirror image.
SYMMETRIC = 0.5


def is_whole(edges: tuple[Edge, ...]) -> bool:
    """Whether a bodice outline has both halves: no centre, and hem between two side seams."""
    roles = [edge.role for edge in edges]
    return (
        Role.CENTRE not in roles
        and roles.count(Role.NECKLINE) == 1
        and roles.count(Role.HEM) == 1
        and roles.count(Role.SIDE_SEAM) >= 2
    )


def halved(edges: tuple[Edge, ...], name: str, place: Place) -> tuple[Edge, ...]:
    """Return the half after the middle of the neckline, closed by a centre edge.

    Args:
        edges: a whole outline, counter-clockwise.
        name, place: of the piece, for messages.

    Raises:
        LabelError: the two halves are not each other's mirror image.
    """
    at = next(i for i, edge in enumerate(edges) if edge.role is Role.NECKLINE)
    chain = edges[at:] + edges[:at]
    hem = next(i for i, edge in enumerate(chain) if edge.role is Role.HEM)
    neck_parts = chain[0].split_at(chain[0].length / 2, ("", ""))
    hem_parts = chain[hem].split_at(chain[hem].length / 2, ("", ""))
    half = (neck_parts[1], *chain[1:hem], hem_parts[0])
    other = (hem_parts[1], *chain[hem + 1 :], neck_parts[0])
    top, low = neck_parts[1].curve.start, hem_parts[0].curve.end
    mirror = Affine.reflection(low, top - low)
    for edge, twin in zip(half, reversed(other), strict=len(half) == len(other)):
        image = twin.curve.transformed(mirror).reversed
        off = max(
            abs(edge.length - image.length),
            float(np.hypot(*(edge.curve.start - image.start))),
        )
        if off > SYMMETRIC:
            raise LabelError(
                Problem(
                    f"{name} is drawn whole, but its halves differ: {edge.role} by {off:.2f} mm",
                    place, f"up to {SYMMETRIC:g} mm", "draw the half on the fold",
                )
            )  # fmt: skip
    centre = Edge(name="", role=Role.CENTRE, curve=Curve.line(low, top))
    return tuple(replace(edge, name="") for edge in (*half, centre))
