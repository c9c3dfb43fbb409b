"""Finishing: small blends, allowances, notch cuts, grainlines, lettering.

The front door is `finish(pattern, settings)`.
"""

from dataclasses import replace

from sleevewright.finishing.allowances import allowance_of, cut_line, with_sewn_hems
from sleevewright.finishing.grainlines import with_grainline
from sleevewright.finishing.lettering import lettering
from sleevewright.finishing.notch_cuts import notch_cuts
from sleevewright.finishing.truing import trued
from sleevewright.finishing.unfolding import unfolded
from sleevewright.pattern import Finish, Pattern, Piece
from sleevewright.pattern.finish_settings import FinishSettings

__all__ = ["finish"]


def finish(pattern: Pattern, settings: FinishSettings) -> Pattern:
    """Return the pattern ready for cutting: every piece has its `finish`.

    Raises:
        OperationError: an allowance is wider than a piece allows.
    """
    pattern = with_sewn_hems(trued(pattern), settings)
    return replace(
        pattern, pieces=tuple(_finished(piece, pattern, settings) for piece in pattern.pieces)
    )


def _finished(piece: Piece, pattern: Pattern, settings: FinishSettings) -> Piece:
    piece = with_grainline(piece)
    if settings.whole:
        piece = with_grainline(unfolded(piece))
    cut = cut_line(piece, settings)
    return replace(
        piece,
        finish=Finish(
            allowances=tuple(
                (edge.name, allowance_of(piece, edge, settings)) for edge in piece.edges
            ),
            cut_line=cut,
            notches=notch_cuts(piece, cut, settings),
            lettering=lettering(piece, pattern.size, pattern.name, settings),
        ),
    )
