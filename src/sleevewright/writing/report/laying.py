"""Which pieces of the block and of the result lie on one another in the picture, and how.

A piece of the result never moves: its lettering must not turn. The block's outline is laid under
it, moved or mirrored, where most of the two outlines coincide; along the grain where nothing does.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine
from sleevewright.geometry.region import polygon
from sleevewright.pattern import Pattern
from sleevewright.pattern.piece import Piece
from sleevewright.pattern.result import Result
from sleevewright.pattern.roles import Role

Array = NDArray[np.float64]

_ON = 0.3  # mm: lines nearer than this lie on one another
_ENOUGH = 0.08  # part of the outline that must coincide to be sure of the place
_SAME_LENGTH = 0.1  # mm
_OVERLAP = 0.03  # part of the smaller piece: more of it, and two pieces cannot share a place
_WORTH = 0.2  # part of the block's area below which a piece with no edge in common stands alone
_KNOWN = (Role.UNDERARM_SEAM, Role.WRIST, Role.HEM, Role.CENTRE, Role.SIDE_SEAM)


@dataclass(slots=True, kw_only=True)
class Place:
    """A place in the picture.

    Attributes:
        pieces: of the result.
        block: name of the block's piece that lies there; "" for none.
        under: its outline, laid; with its mirror image where the result is whole and it is half.
    """

    pieces: list[Piece] = field(default_factory=list)
    block: str = ""
    under: list[Piece] = field(default_factory=list)


def places(result: Result) -> list[Place]:
    """Return the places from left to right: the result's, then what only the block has."""
    found: list[Place] = []
    before = result.before
    keys: list[tuple[str, Affine]] = []
    for piece in result.pattern.pieces:
        name, laid = _counterpart(piece, before)
        for i, place in enumerate(found):
            if name and place.block == name and _alike(keys[i][1], laid) and _fits(piece, place):
                place.pieces.append(piece)
                break
        else:
            under = list(_laid(before[name], piece, laid)) if before and name else []
            found.append(Place(pieces=[piece], block=name, under=under))
            keys.append((name, laid))
    used = {place.block for place in found}
    alone = [p for p in (before.pieces if before else ()) if p.name not in used]
    return found + [Place(block=p.name, under=[p]) for p in alone]


def _laid(block: Piece, piece: Piece, laid: Affine) -> Iterator[Piece]:
    yield block.transformed(laid)
    if block.fold and not piece.fold:
        fold = block[block.fold].curve
        image = Affine.reflection(fold.start, fold.end - fold.start)
        yield block.transformed(laid @ image)


def _counterpart(piece: Piece, before: Pattern | None) -> tuple[str, Affine]:
    """Return the name of the block's piece that it was made from, and how that is laid."""
    here = Affine.identity()
    if before is None:
        return "", here
    if piece.name in before:
        return piece.name, _lay(before[piece.name], piece)[0]
    related = [p for p in before.pieces if piece.name.startswith(f"{p.name}_")]
    if related:
        block = max(related, key=lambda p: len(p.name))
        laid, sure = _lay(block, piece)
        if sure or piece.area >= _WORTH * block.area:
            return block.name, laid
        return "", here
    scored = [(_coincident(p, piece), p.name) for p in before.pieces]
    best, name = max(scored, key=lambda s: s[0], default=(0.0, ""))
    return (name, here) if best >= _ENOUGH * piece.perimeter else ("", here)


def _lay(block: Piece, piece: Piece) -> tuple[Affine, bool]:
    """Return how a block's piece is laid under a piece, and whether outlines bear it out."""
    enough = _ENOUGH * piece.perimeter
    best, most = Affine.identity(), _coincident(block, piece)
    if most >= enough:
        return best, True
    for laid in _moves(block, piece):
        on = _coincident(block.transformed(laid), piece)
        if on > most + 1.0:
            best, most = laid, on
    if most >= enough:
        return best, True
    return _along_grain(block, piece), False


def _moves(block: Piece, piece: Piece) -> Iterator[Affine]:
    """Yield moves, with and without a mirror, that lay an edge on one as long of the same role."""
    mirror = Affine.reflection((0.0, 0.0), block.up)
    for image in (Affine.identity(), mirror):
        moved = block.transformed(image)
        for edge in moved.edges:
            for other in piece.edges:
                if edge.role == other.role and abs(edge.length - other.length) < _SAME_LENGTH:
                    step = other.curve.start - edge.curve.start
                    if float(np.hypot(*(edge.curve.end + step - other.curve.end))) < 1.0:
                        yield Affine.translation(step) @ image


def _along_grain(block: Piece, piece: Piece) -> Affine:
    """Return a move that lays grain along grain, and a level or seam that both have together."""
    if _overlap_of_boxes(block, piece) > 0.5:
        return Affine.identity()
    u, v = block.up, piece.up
    turn = Affine.rotation(float(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))))
    turned = block.transformed(turn)
    for role in _KNOWN:
        for edge in piece.with_role(role):
            fellows = turned.with_role(role, edge.side)
            if fellows:
                step = edge.curve.point_at(edge.length / 2) - fellows[0].curve.point_at(
                    fellows[0].length / 2
                )
                return Affine.translation(step) @ turn
    return Affine.translation(_middle(piece) - _middle(turned)) @ turn


def _middle(piece: Piece) -> Array:
    left, bottom, right, top = piece.bounds
    return np.array([(left + right) / 2, (bottom + top) / 2])


def _overlap_of_boxes(block: Piece, piece: Piece) -> float:
    """Return the part of a piece's bounding box that lies in the block's."""
    a, b = block.bounds, piece.bounds
    wide = max(0.0, min(a[2], b[2]) - max(a[0], b[0]))
    tall = max(0.0, min(a[3], b[3]) - max(a[1], b[1]))
    return wide * tall / ((b[2] - b[0]) * (b[3] - b[1]))


def _coincident(block: Piece, piece: Piece) -> float:
    """Return the length of a piece's outline that lies on the block's, mm."""
    a, b = block.bounds, piece.bounds
    if a[0] > b[2] or b[0] > a[2] or a[1] > b[3] or b[1] > a[3]:
        return 0.0
    under = polygon((e.curve for e in block.edges), 0.1).exterior
    over = polygon((e.curve for e in piece.edges), 0.1).exterior
    return float(over.intersection(under.buffer(_ON)).length)


def _alike(a: Affine, b: Affine) -> bool:
    corners = ((0.0, 0.0), (1000.0, 0.0), (0.0, 1000.0))
    return bool(np.abs(a.apply(corners) - b.apply(corners)).max() < _ON)


def _fits(piece: Piece, place: Place) -> bool:
    """Whether a piece lies beside the others of a place."""
    mine = polygon((e.curve for e in piece.edges), 0.5)
    for other in place.pieces:
        theirs = polygon((e.curve for e in other.edges), 0.5)
        if mine.intersection(theirs).area > _OVERLAP * min(mine.area, theirs.area):
            return False
    return True
