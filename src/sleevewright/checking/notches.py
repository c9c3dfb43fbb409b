"""notches-meet, notch-place: notches that are sewn together meet, and are where they can be cut.

Fellows share a name. Along a seam without ease their distance from the end is the same on both
sides; where ease lies between a notch and the seam's upper end, from the underarm. A notch within
fullness meets its fellow when gathering or folding can bring it there: on either side of it the
full edge is at least as long as the flat one, and pleats take up no more than they fold away.
What stands at the very end of a seam meets the end of the other side: joint-notch checks that.
"""

from collections.abc import Iterator

from sleevewright.checking.measure import cut_ring, length_of
from sleevewright.findings import Finding, Status
from sleevewright.pattern import EdgeUse, Pattern, Piece, Seam
from sleevewright.pattern.naming import DART_MARK, FOLD_MARK, TIP_MARK

MEET, PLACE = "notches-meet", "notch-place"
WITHIN = 0.5  # mm
OFF_CUT_LINE = 0.05  # mm
CLEAR_OF_CORNER = 10.0  # mm


def check(pattern: Pattern) -> Iterator[Finding]:
    """Yield a finding for every pair of notches, and for every piece's notch cuts."""
    for seam in pattern.seams:
        yield from _pairs(pattern, seam)
    for piece in pattern.pieces:
        if piece.finish is not None and piece.finish.notches:
            yield _places(piece)


def _stations(pattern: Pattern, side: tuple[EdgeUse, ...]) -> dict[str, tuple[float, float, str]]:
    """Return notch name -> (distance from the walk's start, from its end, kind)."""
    found, run = {}, 0.0
    lengths = [length_of(pattern[use.piece][use.edge].curve) for use in side]
    total = sum(lengths)
    for use, length in zip(side, lengths, strict=True):
        for notch in pattern[use.piece][use.edge].notches:
            at = run + (length - notch.at if use.backwards else notch.at)
            found[notch.name] = (at, total - at, str(notch.kind))
        run += length
    return found


def _pairs(pattern: Pattern, seam: Seam) -> Iterator[Finding]:
    first, second = _stations(pattern, seam.first), _stations(pattern, seam.second)
    for name in sorted(first.keys() | second.keys()):
        where = f"{name} on {seam.name}"
        a, b = first.get(name), second.get(name)
        if a is None or b is None:
            if name.startswith((FOLD_MARK, TIP_MARK, DART_MARK)) or _at_end(a or b):
                continue
            text = f"{where}: only on {'the second' if a is None else 'the first'} side"
            yield Finding(MEET, Status.NOTED, where, text)
            continue
        # From the end; with ease in the seam the other end would count it in.
        off = a[1] - b[1]
        if abs(off) > WITHIN and (abs(a[0] - b[0]) < abs(off)):
            off = a[0] - b[0]
        spare = _beyond_fullness(seam, (a[0] - b[0], a[1] - b[1]))
        off = off if spare is None or abs(off) <= abs(spare) else spare
        held = abs(off) <= WITHIN and a[2] == b[2]
        kinds = "" if a[2] == b[2] else f"; {a[2]} on one side and {b[2]} on the other"
        text = f"{where}: {off:+.3f} mm apart, {WITHIN:g} allowed{kinds}"
        yield Finding(MEET, Status.HELD if held else Status.FAILED, where, text, 0.0, off, WITHIN)


def _at_end(places: tuple[float, float, str] | None) -> bool:
    return places is not None and min(places[:2]) <= WITHIN


def _beyond_fullness(seam: Seam, extra: tuple[float, float]) -> float | None:
    """Return by how much a notch within fullness lies where no gather or pleat can take it, mm.

    Args:
        seam: the seam.
        extra: how much longer the first side is before the notch and after it, mm.

    None where the seam has no fullness.
    """
    if seam.gather > 1.0:
        return min(0.0, *extra)
    if not seam.pleated:
        return None
    low = min(0.0, seam.pleated) + min(0.0, seam.ease)
    high = max(0.0, seam.pleated) + max(0.0, seam.ease)
    return max((e - min(max(e, low), high) for e in extra), key=abs)


def _places(piece: Piece) -> Finding:
    from shapely import LinearRing, Point  # noqa: PLC0415

    assert piece.finish is not None
    ring = LinearRing(cut_ring(piece, 0.01))
    off = [ring.distance(Point(cut.point)) for cut in piece.finish.notches]
    worst = max(off)
    status = Status.HELD if worst <= OFF_CUT_LINE else Status.FAILED
    text = (
        f"{piece.name}: {len(off)} notch cuts, at most {worst:.3f} mm off the cut line,"
        f" {OFF_CUT_LINE:g} allowed"
    )
    return Finding(PLACE, status, piece.name, text, 0.0, worst, OFF_CUT_LINE)
