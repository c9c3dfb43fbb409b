"""Closed vocabularies of the trade: what an edge is, whose half it belongs to, kinds of marks."""

from enum import StrEnum


class Role(StrEnum):
    """What an edge of a piece is."""

    NECKLINE = "neckline"
    SHOULDER = "shoulder"
    ARMHOLE = "armhole"
    SIDE_SEAM = "side_seam"
    HEM = "hem"
    CENTRE = "centre"  # centre front or centre back: on the fold, or a seam
    CAP = "cap"
    UNDERARM_SEAM = "underarm_seam"
    WRIST = "wrist"
    DART_LEG = "dart_leg"
    RAGLAN_SEAM = "raglan_seam"
    OVERARM_SEAM = "overarm_seam"
    STYLE_SEAM = "style_seam"  # a seam that a style line or a tier makes inside a piece
    LAYER_SEAM = "layer_seam"  # where a layer is laid on another, to be sewn with it as one
    GUSSET_SEAM = "gusset_seam"  # the sides of a gusset and of the slit it is set into
    CUFF_SEAM = "cuff_seam"  # a cuff's edge that is sewn to the wrist
    FACING_SEAM = "facing_seam"  # a facing's edge that is sewn to the garment
    BAND_END = "band_end"  # the short end of a cuff or facing
    FREE_EDGE = "free_edge"  # finished by itself and sewn to nothing


class Side(StrEnum):
    """The half of the garment that an edge of a sleeve is sewn to."""

    FRONT = "front"
    BACK = "back"


class NotchKind(StrEnum):
    """How many marks a notch has. Front single, back double is the trade's rule."""

    SINGLE = "single"
    DOUBLE = "double"


class NotchMark(StrEnum):
    """How a notch is cut."""

    SLIT = "slit"
    V = "v"


class HemKind(StrEnum):
    """How a hem or wrist is finished."""

    TURNED = "turned"  # turned up once, as wide as its allowance
    ROLLED = "rolled"  # turned twice, very narrow
    FACED = "faced"  # sewn to a shaped facing
    BOUND = "bound"  # bound with a tape: no allowance
    SEWN = "sewn"  # no hem: something is sewn on


class Corner(StrEnum):
    """How the allowances of two neighbouring edges meet."""

    EXTENDED = "extended"  # both cut lines run on until they meet, trimmed at 2.5 x the wider
    SQUARED = "squared"  # the seam's end squared off, so that pressed-open allowances match
    MIRRORED = "mirrored"  # the side's allowance mirrored in the fold line of a hem or wrist
    MITRED = "mitred"  # the two cut lines bevelled square to the corner's bisector
