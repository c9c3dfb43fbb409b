"""What a pattern is printed on; values only."""

from dataclasses import dataclass
from enum import StrEnum


class Paper(StrEnum):
    """Sheets that a pattern is tiled over (ISO 216; ANSI/ASME Y14.1 for letter and tabloid)."""

    A4 = "a4"
    A3 = "a3"
    LETTER = "letter"
    TABLOID = "tabloid"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height upright, mm."""
        return {
            Paper.A4: (210.0, 297.0), Paper.A3: (297.0, 420.0),
            Paper.LETTER: (215.9, 279.4), Paper.TABLOID: (279.4, 431.8),
        }[self]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintSettings:
    """How a pattern goes on paper.

    Attributes:
        paper: of the tiled sheets.
        roll: width of a plotter's roll, mm.
        scale: 1, or 0.5 or 0.25 for a trial in paper.
    """

    paper: Paper = Paper.A4
    roll: float = 914.4
    scale: float = 1.0
