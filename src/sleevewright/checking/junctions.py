"""junction, centre-square: edges that run on across a seam are smooth there, square at the centre.

Where a seam ends, the edges on either side become one edge of the garment: together they must
make a straight angle, or the finished edge has a point or a dip (common practice). Within 1 degree;
3 for a neckline across a raglan or overarm seam. Hems, wrists and necklines are seen, and fall short
beyond that. Other edges are sewn into a seam: there a blend mends it, and it is noted, up to what a blend of
40 mm a side mends by moving the edge 3 mm; beyond that the geometry is wrong rather than rough, and it
falls short. At centre front and back hem and neckline are square to the centre.
"""

from collections.abc import Iterator

from sleevewright.checking.measure import interior_angle
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Edge, EdgeUse, Pattern, Piece, Role, Seam

CHECK, SQUARE = "junction", "centre-square"
WITHIN = 1.0
NECKLINE_WITHIN = 3.0
#: degrees, both sides together. An edge that leaves its corner blended over 40 mm, its bend growing evenly
#: towards the seam, moves there by a third of 40 mm times its turn: 3 mm are 12.9 degrees a side.
BLENDED_WITHIN = 26.0

#: Edges that go on across a seam as one edge of the garment (or as a side of another seam).
_RUNNING_ON = {
    Role.NECKLINE, Role.HEM, Role.WRIST, Role.ARMHOLE, Role.CAP, Role.RAGLAN_SEAM, Role.SIDE_SEAM,
    Role.UNDERARM_SEAM, Role.SHOULDER, Role.OVERARM_SEAM, Role.CENTRE,
}  # fmt: skip


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every junction and every centre corner."""
    for seam in pattern.seams:
        for at_start in (True, False):
            found = _junction(pattern, seam, at_start)
            if found is not None:
                yield found
    for piece in pattern.pieces:
        yield from _centre(piece)


def _corner(pattern: Pattern, use: EdgeUse, at_start: bool) -> tuple[Edge, float]:
    """Return the edge that runs on and the interior angle at an end of a seam's side."""
    piece = pattern[use.piece]
    names = [edge.name for edge in piece.edges]
    i = names.index(use.edge)
    edge = piece.edges[i]
    if at_start is not use.backwards:
        other = piece.edges[i - 1]
        return other, interior_angle(other.curve, edge.curve)
    other = piece.edges[(i + 1) % len(names)]
    return other, interior_angle(edge.curve, other.curve)


def _junction(pattern: Pattern, seam: Seam, at_start: bool) -> Finding | None:
    index = 0 if at_start else -1
    first, a = _corner(pattern, seam.first[index], at_start)
    second, b = _corner(pattern, seam.second[index], at_start)
    roles = {first.role, second.role}
    if Role.DART_LEG in roles or len(roles) != 1 or not roles <= _RUNNING_ON:
        return None
    if roles == {Role.RAGLAN_SEAM} and seam.name in ("shoulder", "overarm"):
        return None  # a half raglan's lines meet in a point on the shoulder: that is its style
    if any(abs(angle - 180.0) < 10.0 for angle in (a, b)):
        return None  # not a corner: the seam's side only changes its name there (the pitch point)
    where = f"{seam.name}, {'upper' if at_start else 'lower'} end"
    neckline = roles == {Role.NECKLINE}
    within = NECKLINE_WITHIN if neckline else WITHIN
    off = a + b - 180.0
    role = first.role.replace("_", " ")
    text = (
        f"{role} across {where}: {a:.2f} and {b:.2f} degrees make {a + b:.2f},"
        f" 180 wanted, within {within:g}"
    )
    status = Status.HELD if abs(off) <= within else _how_bad(pattern, seam, first.role, off)
    return Finding(CHECK, status, where, text, 180.0, a + b, within)


def _how_bad(pattern: Pattern, seam: Seam, role: Role, off: float) -> Status:
    """Return what an angle so far off is.

    The lower edge of a raglan sleeve may peak under the arm, however sharply: drawn as the mirror image
    of the armhole it stands up there as a built-in gusset.
    """
    if role in (Role.HEM, Role.WRIST, Role.NECKLINE):
        return Status.FAILED
    raglan = all(pattern[use.piece].has(Role.RAGLAN_SEAM) for use in seam.uses)
    peaks = role is Role.CAP and raglan and off < 0
    return Status.NOTED if peaks or abs(off) <= BLENDED_WITHIN else Status.FAILED


def _centre(piece: Piece) -> Iterator[Finding]:
    for i, edge in enumerate(piece.edges):
        before = piece.edges[i - 1]
        roles = {before.role, edge.role}
        if Role.CENTRE not in roles or not roles & {Role.HEM, Role.NECKLINE}:
            continue
        angle = interior_angle(before.curve, edge.curve)
        other = next(iter(roles - {Role.CENTRE}))
        where = f"{piece.name}: {other} at the centre"
        text = f"{where}: {angle:.2f} degrees, 90 wanted, within {WITHIN:g}"
        on_fold = piece.fold in (before.name, edge.name)
        bad = Status.FAILED if on_fold else Status.NOTED
        status = Status.HELD if abs(angle - 90.0) <= WITHIN else bad
        yield Finding(SQUARE, status, where, text, 90.0, angle, WITHIN)
