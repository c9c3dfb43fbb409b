"""Pieces and edges that a recipe asks for by name, and the patterns that an operation can begin from."""

from sleevewright.errors import did_you_mean
from sleevewright.operations.contract import OperationError
from sleevewright.pattern import Edge, Pattern, Piece, Role

_BLOCK = ("front", "back", "sleeve")


def asked_piece(pattern: Pattern, name: str) -> Piece:
    """Return a piece by name.

    Raises:
        OperationError: there is none; names the nearest.
    """
    if name in pattern:
        return pattern[name]
    names = [piece.name for piece in pattern.pieces]
    raise OperationError(
        f"there is no piece {name!r}{did_you_mean(name, names)}; pieces are {', '.join(names)}"
    )


def as_role(name: str) -> str:
    """Return a name as roles are written.

    >>> as_role("side seam"), as_role("side-seam")
    ('side_seam', 'side_seam')
    """
    return name.replace(" ", "_").replace("-", "_")


def asked_edges(piece: Piece, name: str) -> tuple[Edge, ...]:
    """Return the edges of a name ("cap.front") or of a role ("cap", "side seam"), outline order.

    Raises:
        OperationError: there is none, or a dart or other edges part them.
    """
    if any(edge.name == name for edge in piece.edges):
        return (piece[name],)
    text = as_role(name)
    roles = {str(edge.role): edge.role for edge in piece.edges}
    if text not in roles:
        names = [*roles, *(edge.name for edge in piece.edges)]
        raise OperationError(
            f"{piece.name} has no edge {name!r}{did_you_mean(name, names)};"
            f" its edges are {', '.join(edge.name for edge in piece.edges)}"
        )
    edges = piece.with_role(Role(text))
    for one, after in zip(edges, edges[1:], strict=False):
        if piece.neighbours(one.name)[1].name != after.name:
            raise OperationError(
                f"the {name} of {piece.name} is in parts ({', '.join(e.name for e in edges)});"
                " name one of them"
            )
    return edges


def the_block(pattern: Pattern, operation: str) -> tuple[Piece, Piece, Piece]:
    """Return front, back and set-in sleeve of a pattern that is a block still.

    Raises:
        OperationError: it is not, or not any more; says what is in the way.
    """
    names = [piece.name for piece in pattern.pieces]
    missing = [name for name in _BLOCK if name not in pattern]
    if missing:
        raise OperationError(
            f"{operation} needs a front, a back and a set-in sleeve; there is no"
            f" {' and no '.join(missing)} among {', '.join(names)}"
        )
    more = [name for name in names if name not in _BLOCK]
    if more:
        raise OperationError(
            f"{operation} works on a block of front, back and sleeve; put it before the step that"
            f" made {', '.join(more)}"
        )
    front, back, sleeve = (pattern[name] for name in _BLOCK)
    for piece, role in ((front, Role.ARMHOLE), (back, Role.ARMHOLE), (sleeve, Role.CAP)):
        if not piece.has(role) or piece.has(Role.RAGLAN_SEAM):
            raise OperationError(
                f"{operation} needs a sleeve that is set in; {piece.name} has been converted"
                " already"
            )
    for piece, role in (
        (front, Role.STYLE_SEAM),
        (back, Role.STYLE_SEAM),
        (sleeve, Role.STYLE_SEAM),
    ):
        if piece.has(role):
            raise OperationError(f"{operation} comes before the step that cut {piece.name} up")
    return front, back, sleeve


def plain_sleeve(sleeve: Piece, operation: str) -> None:
    """Refuse a sleeve with a dart.

    Raises:
        OperationError: it has one; says where the step belongs.
    """
    if any(True for _ in sleeve.darts()):
        raise OperationError(
            f"{operation} needs a sleeve without a dart; put it before the step that made one"
        )
