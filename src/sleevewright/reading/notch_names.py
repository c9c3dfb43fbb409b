"""Names for notches that a drawing leaves unnamed; those that meet when sewn share one."""

from dataclasses import replace

from sleevewright.pattern import Edge, Notch, Piece, Role, Side


def with_notch_names(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """Name every notch.

    The one next to the trade's place on armhole and cap is the pitch notch of its half; others are
    named after the seam they are on and counted from the underarm (or the top), so that fellows
    on both sides of a seam get one name when there are as many.
    """
    return tuple(
        piece.with_edges([_named(piece, edge) for edge in piece.edges if edge.notches])
        for piece in pieces
    )


def _named(piece: Piece, edge: Edge) -> Edge:
    seam = _seam(piece, edge)
    notches: list[Notch] = []
    unnamed = [n for n in edge.notches if not n.name]
    from_start = _counts_from_start(piece, edge)
    order = sorted(unnamed, key=lambda n: n.at if from_start else -n.at)
    for notch in edge.notches:
        if notch.name:
            notches.append(notch)
            continue
        i = order.index(notch)
        name = f"{seam} pitch" if edge.role in (Role.ARMHOLE, Role.CAP) else f"{seam} {i + 1}"
        if edge.role in (Role.ARMHOLE, Role.CAP) and len(order) > 1:
            name = f"{seam} pitch" if i == 0 else f"{seam} {i + 1}"
        notches.append(replace(notch, name=name))
    return replace(edge, notches=tuple(notches))


def _seam(piece: Piece, edge: Edge) -> str:
    side = edge.side or (Side(piece.name) if piece.name in set(Side) else None)
    if edge.role in (Role.ARMHOLE, Role.CAP) and side is not None:
        return str(side)
    return {Role.SIDE_SEAM: "side", Role.UNDERARM_SEAM: "underarm"}.get(edge.role, edge.name)


def _counts_from_start(piece: Piece, edge: Edge) -> bool:
    """Whether the underarm (or top) is at the start of the edge in outline order."""
    side = edge.side or (Side(piece.name) if piece.name in set(Side) else None)
    front = side is Side.FRONT
    if edge.role in (Role.CAP, Role.SIDE_SEAM):
        return front
    if edge.role in (Role.ARMHOLE, Role.UNDERARM_SEAM):
        return not front
    return True
