"""The bodice of a raglan: darts moved clear of the line, its own side of the seam trued and notched."""

from dataclasses import replace

from sleevewright.geometry import Curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.darts import pivot_dart
from sleevewright.operations.raglan_lines import Path
from sleevewright.operations.raglan_seam import MOST_BOW, LineBend
from sleevewright.pattern import Notch, NotchKind, Pattern, Piece, Role, Side

#: Edges that a raglan line cuts; a dart on one of them is in its way.
_CUT = (Role.SHOULDER, Role.NECKLINE, Role.ARMHOLE)


def with_darts_clear(pattern: Pattern, down: float) -> Pattern:
    """Move every bust dart on shoulder, neckline or armhole of the front to the side seam.

    Args:
        pattern: a block.
        down: how far below the underarm point they go, mm.

    Raises:
        OperationError: that place is not on the side seam.
    """
    front = pattern["front"]
    while dart := next((d for d in front.darts() if d.on in _CUT), None):
        side = front.with_role(Role.SIDE_SEAM)[0]
        if not down < side.length - 20.0:
            raise OperationError(
                f"the bust dart cannot be moved {down:.0f} mm down a side seam of"
                f" {side.length:.0f} mm; bust_dart may be 20 to {side.length - 20:.0f} mm"
            )
        front = pivot_dart(front, dart, side.name, down).piece
    if front is pattern["front"]:
        return pattern
    return replace(pattern, seams=()).with_pieces([front])


def following(piece: Piece, side: Side, longer: float) -> Piece:
    """Bow the bodice's raglan seam until it is as much longer as the sleeve's came out.

    What is trued on one partner is trued on the other.
    """
    if longer <= 0.0:
        return piece
    edge = piece.with_role(Role.RAGLAN_SEAM)[0]
    bend = LineBend(edge.curve, 0.0, edge.length)
    wanted = edge.length + longer
    ends = {sign * MOST_BOW: bend.length(sign * MOST_BOW) for sign in (1.0, -1.0)}
    far = max(ends, key=lambda move: ends[move])
    if ends[far] < wanted:
        raise OperationError(
            f"the {side} raglan seam cannot be trued: the sleeve's is {longer:.1f} mm longer"
        )
    move = find_root(lambda m: bend.length(m) - wanted, 0.0, far)
    return piece.with_edges([replace(edge, curve=Curve(bend.controls(move)))])


def with_seam_notches(piece: Piece, side: Side, path: Path) -> Piece:
    """Mark the middle of the bodice's raglan seam and, where it ends on the armhole, P."""
    edge = piece.with_role(Role.RAGLAN_SEAM)[0]
    total = edge.length
    kind = NotchKind.SINGLE if side is Side.FRONT else NotchKind.DOUBLE
    from_neck = {f"{side} raglan": total / 2}
    if path.arrives is Role.ARMHOLE:
        from_neck[f"{side} pitch"] = total
    for name, station in from_neck.items():
        at = station if side is Side.FRONT else total - station
        edge = edge.with_notch(Notch(at=at, name=name, kind=kind))
    return piece.with_edges([edge])
