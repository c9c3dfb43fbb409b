"""Small pieces of straight edges, whose lengths and angles are known without computing."""

from collections.abc import Sequence

from sleevewright.geometry import Curve
from sleevewright.pattern import (
    CutEdge,
    Edge,
    EdgeUse,
    Finish,
    NotchCut,
    NotchKind,
    NotchMark,
    Pattern,
    Piece,
    Role,
    Seam,
)

Point = tuple[float, float]

#: Front and back halves of a body, seen side by side: the front's side seam is its right side,
#: the back's its left side; centres outside, hems below, necklines above.
FRONT = (Role.HEM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
BACK = (Role.HEM, Role.CENTRE, Role.NECKLINE, Role.SIDE_SEAM)
BOX: tuple[Point, ...] = ((0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0))


def straight_piece(
    name: str, corners: Sequence[Point], roles: Sequence[Role], **rest: object
) -> Piece:
    """Edges are named after their roles; two of one role are numbered."""
    edges = []
    for i, role in enumerate(roles):
        count = [r for r in roles[:i] if r is role]
        label = f"{role}.{len(count) + 1}" if count else str(role)
        curve = Curve.line(corners[i], corners[(i + 1) % len(corners)])
        edges.append(Edge(name=label, role=role, curve=curve))
    return Piece(name=name, edges=tuple(edges), **rest)  # type: ignore[arg-type]


def side_seam(**rest: object) -> Seam:
    """Front to back, walked from the neckline down."""
    return Seam(
        name="side",
        first=(EdgeUse(piece="front", edge="side_seam", backwards=True),),
        second=(EdgeUse(piece="back", edge="side_seam"),),
        **rest,  # type: ignore[arg-type]
    )


def two_halves(
    front: Sequence[Point] = BOX, back: Sequence[Point] = BOX, seam: Seam | None = None
) -> Pattern:
    pieces = (straight_piece("front", front, FRONT), straight_piece("back", back, BACK))
    return Pattern(name="box", size="1", pieces=pieces, seams=(seam or side_seam(),))


def cut(
    piece: Piece,
    widths: dict[str, float],
    lines: Sequence[tuple[str, Curve]],
    notches: Sequence[NotchCut] = (),
) -> Piece:
    """The piece as if finished with this cut line."""
    from dataclasses import replace

    finish = Finish(
        allowances=tuple(widths.items()),
        cut_line=tuple(CutEdge(edge=edge, curve=curve) for edge, curve in lines),
        notches=tuple(notches),
        lettering=(),
    )
    return replace(piece, finish=finish)


def slit(name: str, sewn: Point = (0.0, 0.0), cut_at: Point = (0.0, 0.0)) -> NotchCut:
    """A single notch as it is cut: where it is on the sewing line, and where on the cut line."""
    return NotchCut(
        name=name, kind=NotchKind.SINGLE, sew_point=sewn, point=cut_at, direction=(0.0, 1.0),
        depth=4.0, width=0.0, mark=NotchMark.SLIT,
    )  # fmt: skip
