"""The sheet: a finished pattern laid out, as styled curves and texts that every format draws.

The pieces lie in one row, side by side. Curves stay in the coordinates of their piece, mm, y up;
`SheetPiece.shift` takes them to the sheet, whose origin is its lower left corner.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Curve
from sleevewright.pattern.drawn_marks import drill_cross, fold_bracket, grain_heads, notch_shape
from sleevewright.pattern.piece import Edge, Finish, Lettering, NotchCut, Piece, Point, is_fold
from sleevewright.pattern.result import Result

#: mm. Between the cut lines of neighbouring pieces: room for a pair of shears.
GAP = 20.0
#: mm. Round the row of pieces.
MARGIN = 10.0

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """One line of a piece as it is drawn.

    Attributes:
        kind: what it means; decides layer, class and pen.
        curve: in the coordinates of the piece, mm.
        edge: the edge that a sew line or a fold line is; None for other kinds.
        name: of an internal line.
    """

    kind: LineKind
    curve: Curve
    edge: Edge | None = None
    name: str = ""

    @property
    def pen(self) -> LineKind:
        """The kind whose pen draws it: a fold inside a piece looks like any fold."""
        inner_fold = self.kind is LineKind.INTERNAL and is_fold(self.name)
        return LineKind.FOLD if inner_fold else self.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetNotch:
    """One mark of a notch as it is drawn.

    Attributes:
        cut: the mark.
        edge: name of the edge that its notch is on.
        at: station of its notch on that edge, mm.
    """

    cut: NotchCut
    edge: str
    at: float

    @property
    def points(self) -> Array:
        """Its shape as a polyline, mm: (2, 2) for a slit, (3, 2) for a V, from the cut line."""
        return notch_shape(self.cut)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPiece:
    """A piece on the sheet.

    Attributes:
        piece: as finished.
        shift: added to its coordinates it gives the sheet's, mm.
        lines: every line that is drawn, notches apart; the cut line comes first.
        notches: every mark of every notch.
        texts: every line of lettering.
    """

    piece: Piece
    shift: Point
    lines: tuple[SheetLine, ...]
    notches: tuple[SheetNotch, ...]
    texts: tuple[Lettering, ...]

    def of_kind(self, kind: LineKind) -> tuple[SheetLine, ...]:
        """Return its lines of a kind."""
        return tuple(line for line in self.lines if line.kind is kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All pieces of one size, laid out.

    Attributes:
        title: one line that names block, recipe, size and settings.
        size: as the block names it.
        width, height: with a margin all round, mm.
        pieces: from left to right.
    """

    title: str
    size: str
    width: float
    height: float
    pieces: tuple[SheetPiece, ...]


def lay_out(result: Result) -> Sheet:
    """Lay a finished pattern out in one row, cut lines 20 mm apart.

    Raises:
        ValueError: a piece is not finished.
    """
    placed, x, height = [], MARGIN, 0.0
    for piece in result.pattern.pieces:
        lines = _lines(piece)
        left, bottom, right, top = lines[0].curve.bounds
        placed.append(
            SheetPiece(
                piece=piece,
                shift=(x - left, MARGIN - bottom),
                lines=lines,
                notches=tuple(_notches(piece)),
                texts=_finish(piece).lettering,
            )
        )
        x += right - left + GAP
        height = max(height, top - bottom)
    return Sheet(
        title=title_of(result),
        size=result.size,
        width=x - GAP + MARGIN,
        height=height + 2 * MARGIN,
        pieces=tuple(placed),
    )


def title_of(result: Result) -> str:
    """Return one line that names block, recipe, size and settings."""
    settings = (f"{name} {value}" for name, value in result.settings)
    return ", ".join((result.block, result.recipe, f"size {result.size}", *settings))


def chained(curves: Iterable[Curve]) -> Curve:
    """Return curves that meet within the tolerance of a piece (1e-5 mm) as one, joints exact."""
    controls = np.concatenate([curve.controls for curve in curves])
    controls[1:, 0] = controls[:-1, 3]
    return Curve(controls)


def _finish(piece: Piece) -> Finish:
    if piece.finish is None:
        raise ValueError(f"{piece.name} is not finished: it has no cut line")
    return piece.finish


def _lines(piece: Piece) -> tuple[SheetLine, ...]:
    cut = chained(part.curve for part in _finish(piece).cut_line)
    lines = [SheetLine(kind=LineKind.CUT, curve=cut)]
    lines += [SheetLine(kind=LineKind.SEW, curve=e.curve, edge=e) for e in piece.edges]
    if piece.fold:
        lines += _fold(piece[piece.fold])
    if piece.grain is not None:
        lines += _grain(piece.grain)
    lines += [
        SheetLine(kind=LineKind.INTERNAL, curve=line.curve, name=line.name)
        for line in piece.internal
    ]
    lines += [
        SheetLine(kind=LineKind.MARK, curve=arm)
        for hole in piece.drill_holes
        for arm in drill_cross(hole)
    ]
    return tuple(lines)


def _grain(grain: Curve) -> list[SheetLine]:
    """The grainline, with an arrow head at both ends."""
    marks = [SheetLine(kind=LineKind.MARK, curve=head) for head in grain_heads(grain)]
    return [SheetLine(kind=LineKind.GRAIN, curve=grain), *marks]


def _fold(edge: Edge) -> list[SheetLine]:
    """The fold line, with the bracket whose two arrows say "place on the fold"."""
    start, end = edge.curve.start, edge.curve.end
    return [
        SheetLine(kind=LineKind.FOLD, curve=Curve.line(start, end), edge=edge),
        *(SheetLine(kind=LineKind.MARK, curve=mark) for mark in fold_bracket(start, end)),
    ]


def _notches(piece: Piece) -> Iterable[SheetNotch]:
    """Find, for each mark, the edge and the notch that it belongs to."""
    on: dict[str, list[tuple[Edge, float]]] = {}
    for edge in piece.edges:
        for notch in edge.notches:
            on.setdefault(notch.name, []).append((edge, notch.at))
    for cut in _finish(piece).notches:
        places = on.get(cut.name, [])
        if len(places) == 1:
            edge, at = places[0]
        else:
            edge, at = _nearest(cut, places or [(edge, -1.0) for edge in piece.edges])
        yield SheetNotch(cut=cut, edge=edge.name, at=at)


def _nearest(cut: NotchCut, places: list[tuple[Edge, float]]) -> tuple[Edge, float]:
    """Return the edge, and the station on it, that a mark is nearest to.

    A station below 0 stands for "anywhere on the edge".
    """

    def reach(place: tuple[Edge, float]) -> tuple[float, Edge, float]:
        edge, at = place
        if at < 0:
            at, distance = edge.curve.nearest(cut.sew_point)
            return distance, edge, at
        return float(np.hypot(*(edge.curve.point_at(at) - cut.sew_point))), edge, at

    _, edge, at = min((reach(place) for place in places), key=lambda found: found[0])
    return edge, at
