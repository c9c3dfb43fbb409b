"""Names of pieces and edges in a drawing: the grammar PIECE.ROLE, and the trade's synonyms.

A label is `PIECE.ROLE`, `PIECE_ROLE` or `PIECE-ROLE` in any letter case, or a role alone inside a
group that names the piece. The half of a sleeve may stand behind the role: `sleeve.cap_front`.
"""

import re
from dataclasses import dataclass
from enum import StrEnum

from sleevewright.pattern.roles import Role, Side


class Extra(StrEnum):
    """What a thing may be besides an edge."""

    GRAIN = "grain"
    NOTCH = "notch"
    FOLD = "fold"
    INTERNAL = "internal"
    DRILL = "drill"
    TEXT = "text"
    IGNORE = "ignore"
    CUT = "cut"
    SEW = "sew"


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says.

    Attributes:
        piece: "front", "back", "sleeve" ...; "" where it names none.
        what: the role of an edge, or something else; None where it names only a piece.
        side: the half of a sleeve; None where it names none.
    """

    piece: str
    what: Role | Extra | None
    side: Side | None = None


PIECES = {
    "front": "front", "bodice_front": "front", "front_bodice": "front",
    "back": "back", "bodice_back": "back", "back_bodice": "back",
    "sleeve": "sleeve", "sleeves": "sleeve",
    "sleeve_front": "sleeve_front", "front_sleeve": "sleeve_front",
    "sleeve_back": "sleeve_back", "back_sleeve": "sleeve_back",
}  # fmt: skip

ROLES: dict[str, Role | Extra] = {
    **{str(role): role for role in Role},
    **{str(extra): extra for extra in Extra},
    "neck": Role.NECKLINE, "shoulder_seam": Role.SHOULDER, "scye": Role.ARMHOLE,
    "side": Role.SIDE_SEAM, "hemline": Role.HEM, "center": Role.CENTRE,
    "centre_front": Role.CENTRE, "center_front": Role.CENTRE, "cf": Role.CENTRE,
    "centre_back": Role.CENTRE, "center_back": Role.CENTRE, "cb": Role.CENTRE,
    "sleeve_cap": Role.CAP, "sleeve_head": Role.CAP, "head": Role.CAP,
    "underarm": Role.UNDERARM_SEAM, "cuff": Role.WRIST, "wrist_line": Role.WRIST,
    "dart": Role.DART_LEG, "raglan": Role.RAGLAN_SEAM, "overarm": Role.OVERARM_SEAM,
    "style_line": Role.STYLE_SEAM, "grainline": Extra.GRAIN, "grain_line": Extra.GRAIN,
    "notches": Extra.NOTCH, "fold_line": Extra.FOLD, "mirror": Extra.FOLD,
    "drill_hole": Extra.DRILL, "label": Extra.TEXT, "lettering": Extra.TEXT,
}  # fmt: skip

_NUMBERED = re.compile(r"[._-]?\d+$")


def normal(word: str) -> str:
    """Return a word in the form in which names are compared.

    >>> normal("Front-Side Seam")
    'front_side_seam'
    """
    return re.sub(r"[\s.\-]+", "_", word.strip()).strip("_").lower()


def read_label(word: str) -> Label | None:
    """Read one label; None where it says nothing that is known.

    >>> read_label("SLEEVE_CAP")
    Label(piece='sleeve', what=<Role.CAP: 'cap'>, side=None)
    """
    head, dot, tail = word.partition(".")
    if dot and normal(head) in PIECES:
        what = _what(normal(tail))
        if what is not None:
            return settled(Label(PIECES[normal(head)], *what))
    plain = normal(word)
    for candidate in (plain, _NUMBERED.sub("", plain)):
        found = _read(candidate)
        if found is not None:
            return found
    return None


def _read(plain: str) -> Label | None:
    if plain in PIECES:
        return Label(PIECES[plain], None)
    for name in sorted(PIECES, key=len, reverse=True):
        if plain.startswith(name + "_"):
            what = _what(plain[len(name) + 1 :])
            if what is not None:
                return settled(Label(PIECES[name], *what))
    alone = _what(plain)
    return Label("", *alone) if alone is not None else None


def settled(label: Label, within: str = "") -> Label:
    """Return a label with its role as the piece has it.

    A sleeve's hem is its wrist and its side is its underarm seam; on a bodice the underarm seam is
    the side seam. Only sleeves have a cap, and in a sleeve front and back are halves.

    Args:
        label: as its words say.
        within: piece of the group around it, "" where that names none.
    """
    piece, what, side = label.piece or within, label.what, label.side
    if not isinstance(what, Role):
        return Label(piece, what, side)
    half = label.piece in ("front", "back")
    if half and (within.startswith("sleeve") or what is Role.CAP):
        piece, side = within if within.startswith("sleeve") else "sleeve", Side(label.piece)
    if piece.startswith("sleeve"):
        what = _ON_SLEEVE.get(what, what)
    elif piece:
        what = _ON_BODICE.get(what, what)
    return Label(piece, what, side)


_ON_SLEEVE = {Role.HEM: Role.WRIST, Role.SIDE_SEAM: Role.UNDERARM_SEAM}
_ON_BODICE = {Role.UNDERARM_SEAM: Role.SIDE_SEAM}


def _what(word: str) -> tuple[Role | Extra, Side | None] | None:
    word = _NUMBERED.sub("", word)
    if word in ROLES:
        return ROLES[word], None
    for side in Side:
        for short in (f"_{side}", f"_{side[0]}"):
            if word.endswith(short) and word[: -len(short)] in ROLES:
                return ROLES[word[: -len(short)]], side
        if word.startswith(f"{side}_") and word[len(side) + 1 :] in ROLES:
            return ROLES[word[len(side) + 1 :]], side
    return None
