"""Finishing: small blends, notches at joints, marks of darts, allowances, notch cuts, grainlines, lettering.

The front door is `finish(pattern, settings)`.
"""

from collections.abc import Callable
from dataclasses import replace

from sleevewright.finishing.allowances import allowance_of, cut_line, with_sewn_hems
from sleevewright.finishing.dart_marks import with_dart_marks
from sleevewright.finishing.grainlines import with_grainline, with_grainline_elsewhere
from sleevewright.finishing.joint_notches import with_joint_notches
from sleevewright.finishing.lettering import SMALL, lettering
from sleevewright.finishing.notch_cuts import notch_cuts
from sleevewright.finishing.truing import trued
from sleevewright.finishing.unfolding import unfolded
from sleevewright.pattern import Finish, Lettering, Pattern, Piece
from sleevewright.pattern.finish_settings import FinishSettings

__all__ = ["finish"]

Letters = tuple[Lettering, ...]


def finish(pattern: Pattern, settings: FinishSettings) -> Pattern:
    """Return the pattern ready for cutting: every piece has its `finish`.

    Raises:
        OperationError: an allowance is wider than a piece allows.
    """
    pattern = with_joint_notches(with_sewn_hems(trued(pattern), settings))
    return replace(
        pattern, pieces=tuple(_finished(piece, pattern, settings) for piece in pattern.pieces)
    )


def _finished(piece: Piece, pattern: Pattern, settings: FinishSettings) -> Piece:
    piece = with_grainline(with_dart_marks(piece, settings))
    if settings.whole:
        piece = with_grainline(unfolded(piece))
    cut = cut_line(piece, settings)
    notches = notch_cuts(piece, cut, settings)
    piece, letters = _lettered(
        piece, lambda p: lettering(p, pattern.size, pattern.name, settings, notches)
    )
    return replace(
        piece,
        finish=Finish(
            allowances=tuple(
                (edge.name, allowance_of(piece, edge, settings)) for edge in piece.edges
            ),
            cut_line=cut,
            notches=notches,
            lettering=letters,
        ),
    )


def _lettered(piece: Piece, write: Callable[[Piece], Letters]) -> tuple[Piece, Letters]:
    """Return a piece and its lettering; a small piece's grainline makes room where it can."""
    letters = write(piece)
    if not letters or letters[0].height < SMALL:
        for moved in with_grainline_elsewhere(piece):
            others = write(moved)
            if others and (not letters or others[0].height > letters[0].height):
                piece, letters = moved, others
    return piece, letters
