"""How far a sewn garment may be off its specification: common practice, no standard.

Woven garments, each way: 3 mm on the small rounds that a body feels (wrist, cuff, neckline), 5 mm
on lengths under 500 mm, 10 mm from there on. Houses differ; a buyer's own table goes before it.
"""

BASIS = "common practice"

CLOSE = 3.0  # mm; wrist, cuff and neckline
SHORT = 5.0  # mm; lengths under `LONG_FROM`
LONG = 10.0  # mm
LONG_FROM = 500.0  # mm


def tolerance_of(smallest: float, *, close: bool) -> float:
    """Return the tolerance of a point of measure, mm each way.

    Args:
        smallest: the point in the smallest size: one tolerance serves all sizes, the stricter.
        close: whether it is a wrist, cuff or neckline.

    >>> tolerance_of(499.9, close=False), tolerance_of(500.0, close=False)
    (5.0, 10.0)
    """
    if close:
        return CLOSE
    return SHORT if smallest < LONG_FROM else LONG
