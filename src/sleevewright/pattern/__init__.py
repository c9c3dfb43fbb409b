"""The garment: pieces, edges, notches, seams, patterns, measurements. Knows no file."""

from sleevewright.pattern.measurements import measurements
from sleevewright.pattern.pattern import EdgeUse, Pattern, Seam
from sleevewright.pattern.piece import (
    CutEdge,
    Dart,
    Edge,
    Finish,
    InternalLine,
    Lettering,
    Notch,
    NotchCut,
    Piece,
)
from sleevewright.pattern.roles import Corner, HemKind, NotchKind, NotchMark, Role, Side
from sleevewright.pattern.seams import standard_seams
from sleevewright.pattern.views import HalfBodice, Sleeve

__all__ = [
    "Corner",
    "CutEdge",
    "Dart",
    "Edge",
    "EdgeUse",
    "Finish",
    "HalfBodice",
    "HemKind",
    "InternalLine",
    "Lettering",
    "Notch",
    "NotchCut",
    "NotchKind",
    "NotchMark",
    "Pattern",
    "Piece",
    "Role",
    "Seam",
    "Side",
    "Sleeve",
    "measurements",
    "standard_seams",
]
