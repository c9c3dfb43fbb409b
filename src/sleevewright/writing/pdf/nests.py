"""Nests: the pieces of one name in every size, laid on one another."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry.region import polygon
from sleevewright.pattern.piece import Lettering, Piece, Point
from sleevewright.pattern.result import Result
from sleevewright.writing.pdf.typeface import text_width
from sleevewright.writing.sheet import GAP, SheetPiece, lay_out

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

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
        width, height: of all cut lines together, mm.
    """

    name: str
    copies: tuple[Copy, ...]
    width: float
    height: float

    @property
    def least(self) -> Copy:
        """The copy whose lettering the nest bears: the smallest, so that it is inside of all."""
        return min(self.copies, key=lambda copy: (copy.placed.piece.area, copy.size))

    def shapes(self) -> "list[BaseGeometry]":
        """Return what covers all that is drawn: the paper of the pieces and boxes of texts."""
        from shapely import affinity, prepare  # noqa: PLC0415 (heavy)

        found: list[BaseGeometry] = []
        least = self.least
        for copy in self.copies:
            cut = polygon([copy.placed.lines[0].curve], _CHORD)
            shape: BaseGeometry = cut if cut.is_valid else cut.buffer(0).union(cut.exterior)
            prepare(shape)
            for words in copy.placed.texts if copy is least else ():
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

    Raises:
        ValueError: a piece is not finished.
    """
    by_name: dict[str, list[tuple[int, SheetPiece]]] = {}
    for size, result in enumerate(results):
        for placed in lay_out(result).pieces:
            by_name.setdefault(placed.piece.name, []).append((size, placed))
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
    return Nest(name=name, copies=moved, width=right - left, height=top - bottom)


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
