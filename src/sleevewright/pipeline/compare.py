"""What moved between two versions of a pattern: edges, measurements, seams, pieces.

A *profile* is what is kept of a pattern for this: the curves of its edges, its measurements, its
seams. Pieces that only lie elsewhere on the page are laid on one another first, without turning.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sleevewright.checking import seam_rows
from sleevewright.findings import Status
from sleevewright.pattern import Pattern

Array = NDArray[np.float64]

#: mm. Smaller moves are rounding of files (coordinates have four decimals or fewer).
LEAST = 0.02

Profile = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class EdgeMove:
    """An edge that is not where or as long as it was.

    Attributes:
        piece, edge: names.
        moved: the farthest that any point of it lies from the other version, mm.
        was, now: lengths, mm.
    """

    piece: str
    edge: str
    moved: float
    was: float
    now: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two patterns.

    Attributes:
        gone, new: pieces that only the old or the new one has.
        edges: that moved, farthest first; an edge that is gone or new counts with an infinite move.
        measurements: (name, was, now) that changed, mm or as their name says.
        broken: seams that met and no longer do, with their message.
    """

    gone: tuple[str, ...] = ()
    new: tuple[str, ...] = ()
    edges: tuple[EdgeMove, ...] = ()
    measurements: tuple[tuple[str, float, float], ...] = ()
    broken: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.gone or self.new or self.edges or self.measurements or self.broken)

    def lines(self) -> tuple[str, ...]:
        """Say what differs, a line each, the most telling first."""
        found = [f"seam no longer meets: {name}" for name in self.broken]
        found += [f"piece gone: {name}" for name in self.gone]
        found += [f"piece new: {name}" for name in self.new]
        for edge in self.edges:
            name = f"{edge.piece}.{edge.edge}"
            if not np.isfinite(edge.moved):
                found.append(f"{name} is {'gone' if edge.now == 0 else 'new'}")
            else:
                length = f", {edge.was:.2f} to {edge.now:.2f} mm" if _differs(edge) else ""
                found.append(f"{name} moved by {edge.moved:.2f} mm{length}")
        for name, was, now in self.measurements:
            unit = "" if name.endswith(("_mm", "_mm2", "_deg", "_ratio")) else " mm"
            found.append(f"{name}: {was:.2f} to {now:.2f}{unit}")
        return tuple(found)


def _differs(edge: EdgeMove) -> bool:
    return abs(edge.was - edge.now) > LEAST


def profile_of(pattern: Pattern, measurements: Iterable[tuple[str, float]]) -> dict[str, Any]:
    """Return the profile of a pattern: plain values, curves in micrometres."""
    return {
        "pieces": {
            piece.name: {
                edge.name: np.round(edge.curve.controls * 1000.0).astype(int).ravel().tolist()
                for edge in piece.edges
            }
            for piece in pattern.pieces
        },
        "measurements": {name: round(value, 4) for name, value in measurements},
        "seams": {row.name: row.status is Status.HELD for row in seam_rows(pattern)},
    }


def compare_profiles(old: Profile, new: Profile) -> Comparison:
    """Return what differs between two profiles."""
    were, are = old["pieces"], new["pieces"]
    edges = [move for name in are if name in were for move in _moves(name, were[name], are[name])]
    figures = [
        (name, old["measurements"].get(name), new["measurements"].get(name))
        for name in sorted({*old["measurements"], *new["measurements"]})
    ]
    return Comparison(
        gone=tuple(name for name in were if name not in are),
        new=tuple(name for name in are if name not in were),
        edges=tuple(sorted(edges, key=lambda e: (-e.moved, e.piece, e.edge))),
        measurements=tuple(
            (name, was, now)
            for name, was, now in figures
            if was is not None and now is not None and abs(was - now) > LEAST
        ),
        broken=tuple(
            name for name, held in new["seams"].items() if not held and old["seams"].get(name)
        ),
    )


def _moves(piece: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterable[EdgeMove]:
    from shapely import LineString  # noqa: PLC0415

    from sleevewright.geometry import Curve  # noqa: PLC0415

    def curve(numbers: Any) -> Curve:
        return Curve(np.array(numbers, dtype=float).reshape(-1, 4, 2) / 1000.0)

    shift = _shift(old, new)
    for name, numbers in new.items():
        if name not in old:
            yield EdgeMove(piece, name, np.inf, 0.0, curve(numbers).length)
            continue
        if not shift.any() and numbers == old[name]:
            continue
        was, now = curve(old[name]), curve(numbers)
        lines = (LineString(was.flattened() + shift), LineString(now.flattened()))
        moved = float(lines[0].hausdorff_distance(lines[1]))
        if moved > LEAST or abs(was.length - now.length) > LEAST:
            yield EdgeMove(piece, name, moved, was.length, now.length)
    for name, numbers in old.items():
        if name not in new:
            yield EdgeMove(piece, name, np.inf, curve(numbers).length, 0.0)


def _shift(old: Mapping[str, Any], new: Mapping[str, Any]) -> Array:
    """Return by how much a piece lies elsewhere on the page, mm, shape (2,).

    The median of what its corners moved: an edit of some edges does not change it.
    """
    corners = [
        np.array(new[name][:2], dtype=float) - np.array(old[name][:2], dtype=float)
        for name in new
        if name in old
    ]
    return np.median(np.array(corners), axis=0) / 1000.0 if corners else np.zeros(2)
