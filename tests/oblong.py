"""A sleeve without shape, for closed forms."""

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.pattern import CutEdge, Edge, Finish, Pattern, Piece, Role, Side


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


def cut_rectangle(name: str, width: float, height: float, grain: Curve | None = None) -> Piece:
    """A finished piece of straight edges that is cut where it is sewn."""
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    sides = [Curve.line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    edges = tuple(Edge(name=f"side.{i}", role=Role.HEM, curve=c) for i, c in enumerate(sides))
    cut = (CutEdge(edge="", curve=Curve.joined(sides)),)
    finish = Finish(
        allowances=tuple((e.name, 0.0) for e in edges), cut_line=cut, notches=(), lettering=()
    )
    return Piece(name=name, edges=edges, grain=grain, finish=finish)
