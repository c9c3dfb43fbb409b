"""The seams of a garment, from the roles of its edges.

What is sewn to what follows from the trade's names: side seam to side seam, sleeve cap to armhole,
front half to front half. Readers call this for a block; operations call it for what they made.
"""

from collections.abc import Iterator

from sleevewright.pattern.pattern import EdgeUse, Seam
from sleevewright.pattern.piece import Piece
from sleevewright.pattern.roles import Role, Side

Pieces = tuple[Piece, ...]


def standard_seams(pieces: Pieces, eases: dict[str, float] | None = None) -> tuple[Seam, ...]:
    """Return the seams that the roles of the edges imply.

    Bodice pieces are those named "front" and "back"; every piece with edges that have a side, or
    whose name begins with "sleeve", is a sleeve piece.

    Args:
        pieces: half pieces (or whole sleeves), counter-clockwise.
        eases: ease wanted per seam name, mm (first side longer); 0 where not named.
    """
    eases = eases or {}
    bodice = {piece.name: piece for piece in pieces if piece.name in ("front", "back")}
    sleeves = tuple(piece for piece in pieces if piece.name not in bodice)
    seams = [
        *_bodice_seams(bodice),
        *_sleeve_seams(sleeves),
        *_armhole_seams(bodice, sleeves),
        *_dart_seams(pieces),
    ]
    return tuple(
        Seam(name=name, first=first, second=second, ease=eases.get(name, 0.0))
        for name, first, second in seams
        if first and second
    )


_Named = tuple[str, tuple[EdgeUse, ...], tuple[EdgeUse, ...]]


def _side(pieces: Pieces, role: Role, side: Side | None, backwards: bool) -> tuple[EdgeUse, ...]:
    """Return the edges of a role in walking order, over all the pieces given."""
    uses: list[EdgeUse] = []
    for piece in pieces:
        edges = piece.with_role(role, side)
        for edge in reversed(edges) if backwards else edges:
            uses.append(EdgeUse(piece=piece.name, edge=edge.name, backwards=backwards))
    return tuple(uses)


def _bodice_seams(bodice: dict[str, Piece]) -> Iterator[_Named]:
    """Side and shoulder seams: the front's run from the underarm and from the neck.

    Round a front (armhole to the left of centre front) the outline runs neckline, shoulder,
    armhole, side seam; round a back the other way.
    """
    if len(bodice) < 2:
        return
    front, back = (bodice["front"],), (bodice["back"],)
    yield "side", _side(front, Role.SIDE_SEAM, None, False), _side(back, Role.SIDE_SEAM, None, True)
    # The back comes first: its ease is the part of the shoulder that is eased in.
    yield (
        "shoulder",
        _side(back, Role.SHOULDER, None, True),
        _side(front, Role.SHOULDER, None, False),
    )


def _sleeve_seams(sleeves: Pieces) -> Iterator[_Named]:
    yield (
        "underarm",
        _side(sleeves, Role.UNDERARM_SEAM, Side.FRONT, True),
        _side(sleeves, Role.UNDERARM_SEAM, Side.BACK, False),
    )
    yield (
        "overarm",
        _side(sleeves, Role.OVERARM_SEAM, Side.BACK, True),
        _side(sleeves, Role.OVERARM_SEAM, Side.FRONT, False),
    )


def _dart_seams(pieces: Pieces) -> Iterator[_Named]:
    """The legs of every dart, from its mouth to its tip."""
    for piece in pieces:
        darts = tuple(piece.darts())
        for i, dart in enumerate(darts):
            yield (
                f"{piece.name} dart" if len(darts) == 1 else f"{piece.name} dart {i + 1}",
                (EdgeUse(piece=piece.name, edge=dart.out.name, backwards=True),),
                (EdgeUse(piece=piece.name, edge=dart.into.name),),
            )


def _armhole_seams(bodice: dict[str, Piece], sleeves: Pieces) -> Iterator[_Named]:
    """Cap to armhole and raglan to raglan, each from the shoulder (or neck) to the underarm."""
    for side in Side:
        piece = bodice.get(side.value)
        if piece is None:
            continue
        front = side is Side.FRONT
        for name, on_sleeve, on_bodice in (
            (f"{side} armhole", Role.CAP, Role.ARMHOLE),
            (f"{side} raglan", Role.RAGLAN_SEAM, Role.RAGLAN_SEAM),
        ):
            yield (
                name,
                _side(sleeves, on_sleeve, side, front),
                _side((piece,), on_bodice, None, not front),
            )
