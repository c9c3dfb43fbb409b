"""Measurements in the trade's words, in the order in which a chart lists them.

A pattern has half the body and one sleeve; what is measured on half a body says so.
"""

from collections.abc import Iterable, Iterator, Mapping

HANDS = ("right", "left")

_HALVES = ("front", "back")

#: Name of a measurement; "{half}" stands for front and back -> how the trade calls it.
_WORDS = {
    "neckline": "Neckline, half",
    "neckline_{half}": "Neckline, {half} half",
    "sleeve_neckline_{half}": "Neckline on the sleeve, {half}",
    "shoulder_{half}": "Shoulder seam, {half}",
    "raglan_seam_{half}": "Raglan seam, {half}",
    "sleeve_raglan_seam_{half}": "Raglan seam on the sleeve, {half}",
    "armhole": "Armhole, round",
    "armhole_{half}": "Armhole, {half}",
    "armhole_depth_{half}": "Armhole depth, {half}",
    "centre_{half}": "Centre {half} length",
    "side_seam_{half}": "Side seam, {half}",
    "hem_{half}": "Hem, {half} half",
    "sleeve_length": "Sleeve length, crown to wrist",
    "overarm_seam_{half}": "Overarm seam, {half}",
    "underarm_seam_{half}": "Underarm seam, {half}",
    "cap": "Sleeve cap",
    "cap_{half}": "Sleeve cap, {half}",
    "cap_ease": "Cap ease",
    "cap_height": "Cap height",
    "biceps": "Biceps, round",
    "wrist": "Wrist, round",
}  # fmt: skip

#: A raglan leaves armhole and cap below the pitch points alone, and takes part of the neckline.
_OF_A_RAGLAN = {
    "neckline": "Neckline on the body, half",
    "neckline_{half}": "Neckline on the body, {half} half",
    "armhole": "Lower armhole, front and back",
    "armhole_{half}": "Lower armhole, {half}",
    "cap": "Lower sleeve cap",
    "cap_{half}": "Lower sleeve cap, {half}",
}


def _spelled(words: Mapping[str, str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, text in words.items():
        for half in _HALVES if "{half}" in name else ("",):
            found[name.format(half=half)] = text.format(half=half)
    return found


_PLAIN = _spelled(_WORDS)
_RAGLAN = _PLAIN | _spelled(_OF_A_RAGLAN)


def apart(name: str) -> tuple[str, str]:
    """Return (hand, measurement); no hand where left and right are alike.

    >>> apart("left.neckline_front"), apart("wrist")
    (('left', 'neckline_front'), ('', 'wrist'))
    """
    hand, dot, rest = name.partition(".")
    return (hand, rest) if dot and hand in HANDS else ("", name)


def lengths_of_the_garment(names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield (name, how the trade calls it) of what a tape measures, as a chart lists it.

    Figures that an operation or a check reports of itself ("raglan.wedge_deg") are none.
    """
    names = list(names)
    known = {name: apart(name) for name in names if "." not in apart(name)[1]}
    raglans = {hand for hand, rest in known.values() if rest.startswith("raglan_seam_")}
    order = list(_PLAIN)

    def place(name: str) -> tuple[int, str, int]:
        hand, rest = known[name]
        at = order.index(rest) if rest in _PLAIN else len(order)
        return at, rest, HANDS.index(hand) if hand else 0

    for name in sorted(known, key=place):
        hand, rest = known[name]
        text = (_RAGLAN if hand in raglans else _PLAIN).get(rest)
        text = text or rest.replace("_", " ").capitalize()
        yield name, f"{text}, {hand}" if hand else text
