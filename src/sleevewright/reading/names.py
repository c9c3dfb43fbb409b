"""The words of labels: `PIECE.ROLE`, `PIECE_ROLE` or `PIECE-ROLE`, in any letter case.

Trade terms have several spellings; the tables here are all that is known. A label may name a
piece, an edge's role (with the half of the garment it belongs to), or another kind of line.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from sleevewright.errors import did_you_mean
from sleevewright.pattern import Role, Side


class Word(StrEnum):
    """What a label may say besides the role of an edge."""

    GRAIN = "grain"
    NOTCH = "notch"
    FOLD = "fold"
    INTERNAL = "internal"
    DRILL = "drill"
    TEXT = "text"
    IGNORE = "ignore"
    CUT = "cut"
    SEW = "sew"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What a label says; what it leaves open is empty.

    Attributes:
        piece: canonical name ("front"); "" where it names none.
        role: of an edge.
        side: the half of the garment, for edges of a sleeve.
        word: another kind of line.
    """

    piece: str = ""
    role: Role | None = None
    side: Side | None = None
    word: Word | None = None

    def __str__(self) -> str:
        role = f"{self.role}.{self.side}" if self.side else self.role
        return ".".join(str(part) for part in (self.piece, role, self.word) if part)


#: Canonical name -> other spellings.
_PIECES: dict[str, tuple[str, ...]] = {
    "front": ("bodice_front", "front_bodice", "fr", "front_piece", "half_front", "front_half"),
    "back": ("bodice_back", "back_bodice", "bk", "back_piece", "half_back", "back_half"),
    "sleeve": ("slv", "sl", "sleeve_piece", "whole_sleeve"),
    "sleeve_front": ("front_sleeve",),
    "sleeve_back": ("back_sleeve",),
}

_ROLES: dict[Role, tuple[str, ...]] = {
    Role.NECKLINE: ("neck", "neck_line", "neck_edge", "neckhole"),
    Role.SHOULDER: ("shoulder_seam", "shoulder_line"),
    Role.ARMHOLE: ("arm_hole", "scye", "armscye"),
    Role.SIDE_SEAM: ("side", "sideseam", "side_line"),
    Role.HEM: ("hemline", "hem_line", "bottom", "waist", "waistline", "lower_edge"),
    Role.CENTRE: (
        "center", "cf", "cb", "centre_line", "center_line", "centre_front", "center_front",
        "centre_back", "center_back", "front_edge", "cf_line", "cb_line",
    ),
    Role.CAP: ("sleeve_cap", "head", "sleeve_head"),
    Role.UNDERARM_SEAM: ("underarm", "under_arm", "sleeve_seam", "underseam"),
    Role.WRIST: ("sleeve_hem", "cuff_line", "wrist_line"),
    Role.DART_LEG: ("dart", "dartleg"),
    Role.RAGLAN_SEAM: ("raglan", "raglan_line"),
    Role.OVERARM_SEAM: ("overarm", "over_arm", "top_seam"),
    Role.STYLE_SEAM: ("style_line", "panel_seam"),
}  # fmt: skip

_WORDS: dict[Word, tuple[str, ...]] = {
    Word.GRAIN: ("grainline", "grain_line"),
    Word.NOTCH: ("notches",),
    Word.FOLD: ("fold_line", "foldline", "mirror", "mirror_line"),
    Word.INTERNAL: ("internal_line", "internals", "placement"),
    Word.DRILL: ("drill_hole", "drill_holes", "drills"),
    Word.TEXT: ("texts", "lettering", "label", "labels", "annotation"),
    Word.IGNORE: ("skip", "scratch", "construction"),
    Word.CUT: ("cut_line", "cutline"),
    Word.SEW: ("sew_line", "sewline", "seam_line", "seamline"),
}

#: On a sleeve the lower edge is the wrist and the side is the underarm seam.
_ON_SLEEVE = {Role.HEM: Role.WRIST, Role.SIDE_SEAM: Role.UNDERARM_SEAM}

_PIECE_OF = {alias: name for name, more in _PIECES.items() for alias in (name, *more)}
_ROLE_OF = {alias: role for role, more in _ROLES.items() for alias in (role.value, *more)}
_WORD_OF = {alias: word for word, more in _WORDS.items() for alias in (word.value, *more)}
_SLEEVE_WORDS = {"sleeve_cap", "sleeve_head", "sleeve_seam", "sleeve_hem"}

_BREAK = re.compile(r"[\s._\-]+")


def piece_name(text: str) -> str:
    """Return the canonical name of a piece, or "" where the text names none that is known.

    >>> piece_name("Bodice Front"), piece_name("SLV_38"), piece_name("collar")
    ('front', 'sleeve', '')
    """
    words = [word for word in _BREAK.split(text.casefold()) if word]
    return _PIECE_OF.get("_".join(words)) or _PIECE_OF.get("_".join(words[:-1]), "")


def parse_label(text: str, within: str = "") -> Label | None:
    """Return what a label says, or None where nothing in it is known.

    Args:
        text: the layer, or the classes and id of an element, blank between them.
        within: canonical name of the piece that the group around it names; may be empty.

    >>> str(parse_label("SLEEVE_CAP")), str(parse_label("front.armhole"))
    ('sleeve.cap', 'front.armhole')
    >>> str(parse_label("hem", within="sleeve")), str(parse_label("sleeve-cap-front"))
    ('sleeve.wrist', 'sleeve.cap.front')
    """
    whole = _one_label(text, within)
    if whole is not None or not text.split()[1:]:
        return whole
    parts = [label for token in text.split() if (label := _one_label(token, within))]
    if not parts:
        return None
    return Label(
        piece=next((p.piece for p in parts if p.piece), within),
        role=next((p.role for p in parts if p.role), None),
        side=next((p.side for p in parts if p.side), None),
        word=next((p.word for p in parts if p.word), None),
    )


def _one_label(text: str, within: str) -> Label | None:
    head, dot, tail = text.casefold().partition(".")
    if dot and (piece := _PIECE_OF.get("_".join(_split(head)))):
        found = next(_readings(_split(tail), piece), None)
        if found:
            return found
    words = _split(text.casefold())
    for k in range(len(words)):
        piece = _PIECE_OF.get("_".join(words[:k]), "") if k else within
        if k and not piece:
            continue
        if found := next(_readings(words[k:], piece), None):
            return found
    piece = _PIECE_OF.get("_".join(words), "")
    return Label(piece=piece) if piece else None


def _split(text: str) -> list[str]:
    """Return the words of a label, a number at its end left out (side_seam.1, dart_leg_2)."""
    words = [word for word in _BREAK.split(text) if word]
    return words[:-1] if len(words) > 1 and words[-1].isdigit() else words


def _readings(words: list[str], piece: str) -> Iterator[Label]:
    """Yield what the words behind the piece may mean."""
    name = "_".join(words)
    if name in _WORD_OF:
        yield Label(piece=piece, word=_WORD_OF[name])
    if name in _ROLE_OF:
        yield _with_role(piece or ("sleeve" if name in _SLEEVE_WORDS else ""), _ROLE_OF[name])
    for first, rest in ((words[-1:], words[:-1]), (words[:1], words[1:])):
        name, half = "_".join(rest), "".join(first)
        if half in ("front", "back") and name in _ROLE_OF and piece not in ("front", "back"):
            yield _with_role(piece, _ROLE_OF[name], Side(half))


def _with_role(piece: str, role: Role, side: Side | None = None) -> Label:
    if piece.startswith("sleeve"):
        role = _ON_SLEEVE.get(role, role)
        if piece != "sleeve" and side is None:
            side = Side(piece.removeprefix("sleeve_"))
    return Label(piece=piece, role=role, side=side)


def nearest_label(text: str) -> str:
    """Return " (did you mean 'front.armhole'?)" for the nearest label that is known, or ""."""
    pieces = ("front", "back", "sleeve")
    names = [*_ROLE_OF, *_WORD_OF]
    near = _BREAK.sub(".", text.strip().casefold(), count=1)
    return did_you_mean(near, [f"{piece}.{name}" for piece in pieces for name in names] + names)


def piece_names() -> tuple[str, ...]:
    """Return the canonical names of pieces."""
    return tuple(_PIECES)


def role_names() -> tuple[str, ...]:
    """Return the names of roles and of other kinds of line, as written in a label."""
    return (*(role.value for role in Role), *(word.value for word in Word))
