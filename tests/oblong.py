"""A sleeve without shape, for closed forms."""

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.pattern import Edge, Pattern, Piece, Role, Side


def rectangle(width: float, height: float) -> Pattern:
    """A sleeve without shape: wrist below, cap above, straight."""
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height], [0, 0]], dtype=float)
    named = (
        ("wrist", Role.WRIST, None), ("underarm_seam.front", Role.UNDERARM_SEAM, Side.FRONT),
        ("cap", Role.CAP, None), ("underarm_seam.back", Role.UNDERARM_SEAM, Side.BACK),
    )  # fmt: skip
    edges = tuple(
        Edge(name=name, role=role, side=side, curve=Curve.line(a, b))
        for (name, role, side), a, b in zip(named, corners[:-1], corners[1:], strict=True)
    )
    grain = Curve.line((width / 2, height * 0.2), (width / 2, height * 0.8))
    return Pattern(
        name="oblong", size="1", pieces=(Piece(name="sleeve", edges=edges, grain=grain),)
    )
