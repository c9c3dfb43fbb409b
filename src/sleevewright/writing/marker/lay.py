"""Copies laid on cloth by a nesting engine, and its work looked over."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from shapely import Polygon, box
from shapely.affinity import rotate, translate

from sleevewright.errors import OperationError, Problem
from sleevewright.pattern.result import Result
from sleevewright.writing.marker.copies import Copy, copies
from sleevewright.writing.marker.engine import nest

#: mm between cut lines: room for a blade (common practice).
GAP = 3.0

_COARSE = 0.3  # mm: the engine's outlines may lie so much further out than they need
_PLAY = 0.25  # mm: for a piece just as wide as the cloth; it is moved back by no more
_SAME = 1e-3  # mm: the engine counts in single precision


@dataclass(frozen=True, slots=True)
class Placed:
    """A copy of a piece where it lies.

    Attributes:
        piece: its name.
        mirrored: whether it is the other one of a pair.
        turned: whether the upper end of its grain points to the beginning of the cloth.
        points: its cut line, closed polyline without the first point again, mm.
    """

    piece: str
    mirrored: bool
    turned: bool
    points: tuple[tuple[float, float], ...]

    @property
    def shape(self) -> Polygon:
        """The polygon inside its cut line."""
        return Polygon(self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """Pieces laid on cloth: x from 0 to `length`, y from 0 to `width`, mm.

    Attributes:
        title: what it is a marker of.
        width: of the cloth, mm.
        length: of cloth that is used, mm.
        nap: whether all pieces point one way.
        seed: that it was laid with.
        settled: whether the work was done that `seconds` stand for; if not (a very slow machine),
            the same seed may give another marker.
        placed: the pieces.
    """

    title: str
    width: float
    length: float
    nap: bool
    seed: int
    settled: bool
    placed: tuple[Placed, ...]

    @property
    def area(self) -> float:
        """Area of the pieces inside their cut lines, mm2."""
        return sum(piece.shape.area for piece in self.placed)

    @property
    def yield_ratio(self) -> float:
        """Area of the pieces by area of the cloth used."""
        return self.area / (self.width * self.length)


def lay_marker(result: Result, width: float, *, nap: bool, seconds: float, seed: int) -> Marker:
    """Lay all pieces of a finished pattern on cloth, on their grain.

    Args:
        result: whose pattern is finished.
        width: of the cloth between its selvedges, mm.
        nap: all pieces point one way; without it a piece may be turned by half a turn.
        seconds: to look for a shorter marker: the work that an ordinary machine does in about this
            time, so that the same seed gives the same marker on a slower one.
        seed: of the engine's choices.

    Raises:
        OperationError: the engine is not installed, a piece is wider than the cloth, or the engine
            laid pieces on one another.
    """
    pieces = [copy for piece in result.pattern.pieces for copy in copies(piece)]
    _refuse_wide(pieces, width)
    found, settled = _nested(pieces, width, nap=nap, seconds=seconds, seed=seed)
    shapes = _moved_to_start(found)
    _look_over(pieces, shapes, width)
    placed = tuple(
        Placed(
            copy.piece,
            copy.mirrored,
            turned,
            tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1]),
        )
        for copy, (_, turned), shape in zip(pieces, found, shapes, strict=True)
    )
    settings = (f"{name} {value}" for name, value in result.settings)
    return Marker(
        title=", ".join((result.block, result.recipe, f"size {result.size}", *settings)),
        width=width,
        length=max(shape.bounds[2] for shape in shapes),
        nap=nap,
        seed=seed,
        settled=settled,
        placed=placed,
    )


def _refuse_wide(pieces: Sequence[Copy], width: float) -> None:
    wide = {copy.piece: copy.shape.bounds[3] - copy.shape.bounds[1] for copy in pieces}
    problems = [
        Problem(
            f"{name} is {across:.0f} mm wide across the grain, the cloth {width:.0f} mm",
            remedy="take wider cloth, or cut the piece in two with a seam",
        )
        for name, across in wide.items()
        if across > width
    ]
    if problems:
        raise OperationError(problems)


def _nested(
    pieces: Sequence[Copy], width: float, *, nap: bool, seconds: float, seed: int
) -> tuple[list[tuple[Polygon, bool]], bool]:
    """Return (shape, turned) of every copy, and whether it is the same each time."""
    # Half the gap is part of each outline, so it may stick out over the selvedges.
    strip = nest(
        [_with_room(copy.shape) for copy in pieces],
        width + GAP + 2 * _PLAY,
        [0.0] if nap else [0.0, 180.0],
        seconds,
        seed,
    )
    found = []
    for copy, (angle, x, y) in zip(pieces, strip.places, strict=True):
        turned = abs(angle) > 90.0
        shape = rotate(copy.shape, 180.0, origin=(0, 0)) if turned else copy.shape
        found.append((_on_cloth(translate(shape, x, y - GAP / 2 - _PLAY), width), turned))
    return found, strip.settled


def _with_room(shape: Polygon) -> list[tuple[float, float]]:
    """Return an outline at least half the gap outside of a shape, of few points."""
    low, high = shape.bounds[1] - GAP / 2, shape.bounds[3] + GAP / 2
    grown = shape.buffer(GAP / 2 + _COARSE, quad_segs=4).simplify(_COARSE)
    # No wider than need be: a piece may be just as wide as the cloth.
    kept = grown.intersection(box(grown.bounds[0], low, grown.bounds[2], high))
    assert isinstance(kept, Polygon)
    return [(float(x), float(y)) for x, y in kept.exterior.coords[:-1]]


def _on_cloth(shape: Polygon, width: float) -> Polygon:
    over = max(0.0, -shape.bounds[1]) or min(0.0, width - shape.bounds[3])
    return translate(shape, 0.0, over) if abs(over) <= 2 * _PLAY else shape


def _moved_to_start(found: Sequence[tuple[Polygon, bool]]) -> list[Polygon]:
    left = min(shape.bounds[0] for shape, _ in found)
    return [translate(shape, -left, 0.0) for shape, _ in found]


def _look_over(pieces: Sequence[Copy], shapes: Sequence[Polygon], width: float) -> None:
    """Refuse what no cutter could use."""
    problems = list(_faults(pieces, shapes, width))
    if problems:
        raise OperationError(problems)


def _faults(pieces: Sequence[Copy], shapes: Sequence[Polygon], width: float) -> Iterator[Problem]:
    named = list(zip((copy.piece for copy in pieces), shapes, strict=True))
    for name, shape in named:
        if shape.bounds[1] < -_SAME or shape.bounds[3] > width + _SAME:
            yield Problem(f"the nesting engine laid {name} over the edge of the cloth")
    for (one, first), (other, second) in combinations(named, 2):
        if first.intersects(second):
            yield Problem(f"the nesting engine laid {one} on {other}")
