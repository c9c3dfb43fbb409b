"""Nests: the pieces of one name in every size, laid on one another.

Of several sizes one kind of outline is shown, the cut line: where the grade is as wide as the
allowance the cut line of one size lies on the sewing line of the next, and neither could be followed.
Sewing lines of darts and slits, which no cut line tells of, stay.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry.region import polygon
from sleevewright.pattern.piece import Lettering, Piece, Point
from sleevewright.pattern.result import Result
from sleevewright.writing.pdf.typeface import text_width
from sleevewright.writing.sheet import GAP, SheetPiece, lay_out

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_NAME_CLEAR = 2.0  # mm: between names of edges and any line, so that a size's tag has room on it
_CHORD = 0.05  # mm: how near outlines are followed where it is asked which sheets they touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """A piece in one size.

    Attributes:
        size: which of the sizes it is, from 0.
        placed: the piece with its lines and texts, in its own coordinates.
        shift: takes its coordinates to those of the nest, mm.
    """

    size: int
    placed: SheetPiece
    shift: Point

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Bounding box of its cut line in the nest (left, bottom, right, top), mm."""
        return _moved(self.placed.lines[0].curve.bounds, self.shift)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """A piece in all its sizes; its lower left corner is at the origin.

    Attributes:
        name: of the piece.
        copies: one a size that has the piece.
        bearer: the copy whose lettering the nest bears, as a rule the smallest: it is inside of all.
        texts: what of that lettering is drawn: no name of an edge that a line of another size crosses.
        width, height: of all cut lines together, mm.
    """

    name: str
    copies: tuple[Copy, ...]
    bearer: Copy
    texts: tuple[Lettering, ...]
    width: float
    height: float

    @property
    def least(self) -> Copy:
        """The smallest copy."""
        return min(self.copies, key=lambda copy: (copy.placed.piece.area, copy.size))

    def shapes(self) -> "list[BaseGeometry]":
        """Return what covers all that is drawn: the paper of the pieces and boxes of texts."""
        from shapely import affinity, prepare  # noqa: PLC0415 (heavy)

        found: list[BaseGeometry] = []
        for copy in self.copies:
            cut = polygon([copy.placed.lines[0].curve], _CHORD)
            shape: BaseGeometry = cut if cut.is_valid else cut.buffer(0).union(cut.exterior)
            prepare(shape)
            for words in self.texts if copy is self.bearer else ():
                box = _text_box(words)
                if not shape.contains(box):
                    found.append(affinity.translate(box, *copy.shift))
            found.append(affinity.translate(shape, *copy.shift))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where a nest lies.

    Attributes:
        nest: what is placed.
        x, y: of its origin, mm.
        angle: about its origin, degrees.
    """

    nest: Nest
    x: float
    y: float
    angle: float = 0.0


def nests_of(results: Sequence[Result]) -> tuple[Nest, ...]:
    """Lay the pieces of several sizes on one another, name by name.

    Pieces of several sizes come without their sewing lines, darts and slits apart.

    Raises:
        ValueError: a piece is not finished.
    """
    by_name: dict[str, list[tuple[int, SheetPiece]]] = {}
    for size, result in enumerate(results):
        for placed in lay_out(result).pieces:
            shown = placed if len(results) == 1 else _without_sewing_lines(placed)
            by_name.setdefault(placed.piece.name, []).append((size, shown))
    return tuple(_nest(name, entries) for name, entries in by_name.items())


def in_a_row(nests: Sequence[Nest]) -> tuple[Placement, ...]:
    """Place nests side by side from the origin, as `lay_out` does pieces."""
    placements, x = [], 0.0
    for nest in nests:
        placements.append(Placement(nest=nest, x=x, y=0.0))
        x += nest.width + GAP
    return tuple(placements)


def size_names(results: Sequence[Result]) -> tuple[str, ...]:
    """Return a name for each size, unlike all others."""
    names: list[str] = []
    for result in results:
        name, number = result.size, 1
        while name in names:
            number += 1
            name = f"{result.size} ({number})"
        names.append(name)
    return tuple(names)


def _nest(name: str, entries: list[tuple[int, SheetPiece]]) -> Nest:
    copies = []
    for size, placed in entries:
        x, y = _anchor(placed)
        copies.append(Copy(size=size, placed=placed, shift=(-x, -y)))
    boxes = [copy.bounds for copy in copies]
    left, bottom = (min(box[k] for box in boxes) for k in (0, 1))
    right, top = (max(box[k] for box in boxes) for k in (2, 3))
    moved = tuple(
        Copy(
            size=copy.size,
            placed=copy.placed,
            shift=(copy.shift[0] - left, copy.shift[1] - bottom),
        )
        for copy in copies
    )
    bearer, texts = _lettering(moved)
    return Nest(
        name=name, copies=moved, bearer=bearer, texts=texts, width=right - left, height=top - bottom
    )


def _without_sewing_lines(placed: SheetPiece) -> SheetPiece:
    """Return a piece without its sewing lines, but with the legs of its darts and slits."""
    piece = placed.piece
    legs = {leg.name for dart in (*piece.darts(), *piece.slits()) for leg in (dart.into, dart.out)}
    lines = tuple(
        line
        for line in placed.lines
        if line.kind is not LineKind.SEW or (line.edge and line.edge.name in legs)
    )
    return replace(placed, lines=lines)


def _lettering(copies: Sequence[Copy]) -> tuple[Copy, tuple[Lettering, ...]]:
    """Return the copy whose lettering is drawn, and what of it is.

    The smallest copy whose block no line crosses, else the smallest; names of edges that a line
    comes near to are left out.
    """
    by_area = sorted(copies, key=lambda copy: (copy.placed.piece.area, copy.size))
    if len(copies) == 1:
        return by_area[0], by_area[0].placed.texts
    from shapely import MultiLineString, affinity, prepare  # noqa: PLC0415 (heavy)

    drawn = [
        line.curve.flattened(_CHORD) + copy.shift
        for copy in copies
        for line in copy.placed.lines
        if line.kind in (LineKind.CUT, LineKind.SEW, LineKind.INTERNAL)
    ]
    drawn += [n.points + copy.shift for copy in copies for n in copy.placed.notches]
    lines: BaseGeometry = MultiLineString(drawn)
    prepare(lines)

    def near(words: Lettering, copy: Copy) -> bool:
        box = affinity.translate(_text_box(words), *copy.shift)
        return bool(lines.dwithin(box, _NAME_CLEAR if words.about else 0.0))

    bearer = next(
        (c for c in by_area if not any(near(t, c) for t in c.placed.texts if not t.about)),
        by_area[0],
    )
    return bearer, tuple(
        words for words in bearer.placed.texts if not words.about or not near(words, bearer)
    )


def _anchor(placed: SheetPiece) -> Point:
    """Return the point at which sizes meet: on the fold, else the grainline, else the left end.

    Across it is the fold's or the grainline's lower end, upwards the lowest point of the sewing
    line, so that hems lie on one another (common practice).
    """
    piece: Piece = placed.piece
    left, bottom, _, _ = piece.bounds
    if piece.fold:
        curve = piece[piece.fold].curve
        left = float(min((curve.start, curve.end), key=lambda end: float(end[1]))[0])
    elif placed.of_kind(LineKind.GRAIN) and piece.grain is not None:
        left = float(piece.grain.start[0])
    return left, bottom


def _moved(
    box: tuple[float, float, float, float], shift: Point
) -> tuple[float, float, float, float]:
    return box[0] + shift[0], box[1] + shift[1], box[2] + shift[0], box[3] + shift[1]


def _text_box(words: Lettering) -> "BaseGeometry":
    from shapely import affinity, box  # noqa: PLC0415 (heavy)

    x, y = words.at
    level = box(
        x, y - 0.3 * words.height, x + text_width(words.text, words.height), y + words.height
    )
    return affinity.rotate(level, words.angle, origin=words.at)
