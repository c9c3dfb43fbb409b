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
from sleevewright.pattern.piece import Edge, Finish, Lettering, NotchCut, Piece, Point
from sleevewright.pattern.result import Result

#: mm. Between the cut lines of neighbouring pieces: room for a pair of shears.
GAP = 20.0
#: mm. Round the row of pieces.
MARGIN = 10.0

_ARROW = (5.0, 1.6)  # mm: length and half width of an arrow head
_BRACKET_DEPTH = 12.0  # mm: of the bracket that says "place on the fold"
_BRACKET_ENDS = (0.25, 0.75)  # parts of the fold's length
_DRILL_ARM = 2.0  # mm: half the size of the cross of a drill hole

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
        point, inward = np.array(self.cut.point), np.array(self.cut.direction)
        apex = point + self.cut.depth * inward
        if self.cut.width <= 0:
            return np.array([point, apex])
        half = 0.5 * self.cut.width * np.array([-inward[1], inward[0]])
        return np.array([point + half, apex, point - half])


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
        for x, y in piece.drill_holes
        for arm in (
            Curve.line((x - _DRILL_ARM, y), (x + _DRILL_ARM, y)),
            Curve.line((x, y - _DRILL_ARM), (x, y + _DRILL_ARM)),
        )
    ]
    return tuple(lines)


def _grain(grain: Curve) -> list[SheetLine]:
    """The grainline, with an arrow head at both ends."""
    heads = (
        _arrow_head(grain.start, -grain.start_direction),
        _arrow_head(grain.end, grain.end_direction),
    )
    marks = [SheetLine(kind=LineKind.MARK, curve=head) for head in heads]
    return [SheetLine(kind=LineKind.GRAIN, curve=grain), *marks]


def _fold(edge: Edge) -> list[SheetLine]:
    """The fold line, with the bracket whose two arrows say "place on the fold"."""
    start, end = edge.curve.start, edge.curve.end
    along = (end - start) / np.hypot(*(end - start))
    inward = np.array([-along[1], along[0]])  # the outline runs counter-clockwise
    tips = [start + part * (end - start) for part in _BRACKET_ENDS]
    inner = [tip + _BRACKET_DEPTH * inward for tip in tips]
    bracket = Curve.polyline([tips[0], inner[0], inner[1], tips[1]])
    marks = (bracket, *(_arrow_head(tip, -inward) for tip in tips))
    return [
        SheetLine(kind=LineKind.FOLD, curve=Curve.line(start, end), edge=edge),
        *(SheetLine(kind=LineKind.MARK, curve=mark) for mark in marks),
    ]


def _arrow_head(tip: Array, direction: Array) -> Curve:
    length, half = _ARROW
    across = np.array([-direction[1], direction[0]])
    base = tip - length * direction
    return Curve.polyline([base + half * across, tip, base - half * across])


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
