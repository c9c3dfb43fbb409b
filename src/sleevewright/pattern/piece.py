"""A piece of a pattern and its parts; values that do not change.

Terms: the *outline* of a piece is its sewing line, a closed chain of edges that runs
counter-clockwise; an edge's *station* is a length along it from its start, mm; a *dart* is two
neighbouring edges of role dart_leg that share its tip.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.region import signed_area
from sleevewright.geometry.tolerance import SAME_POINT
from sleevewright.pattern.roles import HemKind, NotchKind, NotchMark, Role, Side

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A mark on an edge that meets its fellow on another edge.

    Attributes:
        at: station on the edge, mm.
        name: identity; notches that are sewn together share it ("front pitch").
        kind: one mark or two.
    """

    at: float
    name: str
    kind: NotchKind = NotchKind.SINGLE


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A side of a piece between two corners (or two points where its meaning changes).

    Attributes:
        name: unique in its piece and stable from reading to output ("armhole", "cap.front").
        role: what it is.
        curve: the sewing line, in the direction of the outline (counter-clockwise), mm.
        side: for sleeves, the half of the garment it belongs to.
        notches: in order of their stations.
        hem: how a free edge is finished, where an operation has said so; see HemKind.
        allowance: width that goes before the recipe's for the role, mm; None where it does not.
    """

    name: str
    role: Role
    curve: Curve
    side: Side | None = None
    notches: tuple[Notch, ...] = ()
    hem: HemKind | None = None
    allowance: float | None = None

    @property
    def length(self) -> float:
        """Arc length, mm."""
        return self.curve.length

    @property
    def reversed(self) -> "Edge":
        """The same edge run the other way, its notches where they were."""
        total = self.length
        notches = tuple(replace(n, at=total - n.at) for n in reversed(self.notches))
        return replace(self, curve=self.curve.reversed, notches=notches)

    def transformed(self, affine: Affine) -> "Edge":
        """Return its image under a rigid move or a mirror image (notch stations are kept)."""
        return replace(self, curve=self.curve.transformed(affine))

    def split_at(self, station: float, names: tuple[str, str]) -> "tuple[Edge, Edge]":
        """Cut in two at a station, mm; each notch stays with its part.

        Raises:
            ValueError: the station is not inside the edge.
        """
        first, second = self.curve.split_at(station)
        before = tuple(n for n in self.notches if n.at <= station)
        after = tuple(replace(n, at=n.at - station) for n in self.notches if n.at > station)
        return (
            replace(self, name=names[0], curve=first, notches=before),
            replace(self, name=names[1], curve=second, notches=after),
        )

    def with_notch(self, notch: Notch) -> "Edge":
        """Return the edge with one notch more, in order of stations."""
        return replace(
            self, notches=tuple(sorted((*self.notches, notch), key=lambda n: (n.at, n.name)))
        )


def is_fold(name: str) -> bool:
    """Whether a line inside a piece that bears this name is a fold.

    >>> is_fold("pleat 1 fold"), is_fold("pleat 1 placement")
    (True, False)
    """
    return name.rsplit(" ", maxsplit=1)[-1] == "fold"


@dataclass(frozen=True, slots=True, kw_only=True)
class InternalLine:
    """A line inside a piece, drawn and not cut (a placement, a fold, a level).

    Attributes:
        curve: the line, mm.
        name: what it marks; its last word is "fold" where the cloth is folded along it.
    """

    curve: Curve
    name: str = ""

    @property
    def is_fold(self) -> bool:
        """Whether the cloth is folded along it: a cuff's middle, a pleat."""
        return is_fold(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dart:
    """Two neighbouring dart legs of an outline.

    Attributes:
        into, out: the leg that runs to the tip and the leg that runs from it, outline order.
        on: the role of the edge that the dart opens on.
    """

    into: Edge
    out: Edge
    on: Role

    @property
    def tip(self) -> NDArray[np.float64]:
        """The dart tip, shape (2,), mm."""
        return self.into.curve.end

    @property
    def mouth(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The two ends of the legs on the edge, outline order, shapes (2,), mm."""
        return self.into.curve.start, self.out.curve.end

    @property
    def angle(self) -> float:
        """The angle between the legs at the tip, degrees."""
        a, b = (p - self.tip for p in self.mouth)
        return float(np.degrees(np.arctan2(abs(a[0] * b[1] - a[1] * b[0]), a @ b)))


@dataclass(frozen=True, slots=True, kw_only=True)
class CutEdge:
    """A stretch of the cut line.

    Attributes:
        edge: name of the edge whose allowance it bounds; "" for a corner.
        curve: counter-clockwise, mm.
    """

    edge: str
    curve: Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class NotchCut:
    """One mark of a notch as it is cut.

    Attributes:
        name, kind: of the notch it belongs to.
        sew_point: where the notch is on the sewing line, mm.
        point: where it is cut on the cut line, mm.
        direction: unit vector from the cut line into the piece, square to the sewing line (of the
            notches of a dart: along its leg).
        depth, width: mm; width 0 for a slit.
        mark: slit or V.
    """

    name: str
    kind: NotchKind
    sew_point: Point
    point: Point
    direction: Point
    depth: float
    width: float
    mark: NotchMark


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """A line of text on a piece.

    Attributes:
        text: what it says.
        at: the left end of its base line, mm.
        height: of a capital letter, mm.
        angle: of the base line, degrees.
        about: name of the edge, or of the fold inside, that it names; "" for lettering of the whole piece.
    """

    text: str
    at: Point
    height: float
    angle: float = 0.0
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What finishing adds to a piece.

    Attributes:
        allowances: (edge name, width in mm) for every edge.
        cut_line: closed, counter-clockwise.
        notches: every mark.
        lettering: every line of text.
    """

    allowances: tuple[tuple[str, float], ...]
    cut_line: tuple[CutEdge, ...]
    notches: tuple[NotchCut, ...]
    lettering: tuple[Lettering, ...]

    @property
    def cut_perimeter(self) -> float:
        """Length of the cut line, mm."""
        return sum(part.curve.length for part in self.cut_line)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece: its outline (sewing line) and what is marked on it.

    Attributes:
        name: "front", "back", "sleeve", "sleeve_front" ...
        edges: the outline, counter-clockwise, each edge starting where the one before it ends.
        grain: the grainline, from its lower to its upper end; None where the file had none.
        fold: name of the edge that lies on the fold; "" for a whole piece.
        internal: lines drawn inside.
        drill_holes: points, mm.
        quantity: how many are cut ("cut 1 on fold" is 1; a mirrored pair is 2).
        material: such as "shell"; may be empty.
        finish: allowances, cut line, notch cuts, lettering; None before finishing.

    Raises:
        ValueError: the outline is not closed, runs clockwise, or two edges share a name.
    """

    name: str
    edges: tuple[Edge, ...]
    grain: Curve | None = None
    fold: str = ""
    internal: tuple[InternalLine, ...] = ()
    drill_holes: tuple[Point, ...] = ()
    quantity: int = 1
    material: str = ""
    finish: Finish | None = None

    def __post_init__(self) -> None:
        names = [edge.name for edge in self.edges]
        if len(set(names)) != len(names):
            raise ValueError(f"{self.name}: two edges of one name among {names}")
        if self.fold and self.fold not in names:
            raise ValueError(f"{self.name}: the fold {self.fold!r} is none of its edges")
        for edge, after in zip(self.edges, (*self.edges[1:], self.edges[0]), strict=True):
            gap = float(np.hypot(*(after.curve.start - edge.curve.end)))
            if gap > 10 * SAME_POINT:
                raise ValueError(
                    f"{self.name}: {edge.name} and {after.name} do not meet: a gap of {gap:.4f} mm"
                )
        if self.area <= 0:
            raise ValueError(f"{self.name}: the outline runs clockwise or has no area")

    @classmethod
    def closed(cls, name: str, edges: Iterable[Edge], **rest: object) -> "Piece":
        """Return a piece from edges in order round it, whichever way they run.

        A clockwise chain is turned round: the order of the edges and each edge.
        """
        chain = tuple(edges)
        if signed_area(edge.curve for edge in chain) < 0:
            chain = tuple(edge.reversed for edge in reversed(chain))
        return cls(name=name, edges=chain, **rest)  # type: ignore[arg-type]

    # --- asking -------------------------------------------------------------------------------

    def __getitem__(self, name: str) -> Edge:
        for edge in self.edges:
            if edge.name == name:
                return edge
        raise KeyError(f"{self.name} has no edge {name!r}; it has {[e.name for e in self.edges]}")

    def has(self, role: Role, side: Side | None = None) -> bool:
        """Whether the piece has an edge of this role (and side)."""
        return bool(self.with_role(role, side))

    def with_role(self, role: Role, side: Side | None = None) -> tuple[Edge, ...]:
        """Return the edges of a role (and side), in outline order from a sensible start.

        Edges of one role that a dart parts come in the order of the outline, the first being
        the one after the longest stretch of other roles.
        """
        hit = [e.role == role and side in (None, e.side) for e in self.edges]
        if not any(hit):
            return ()
        n = len(hit)
        starts = [i for i in range(n) if hit[i] and not hit[i - 1]] or [0]

        def free(i: int) -> float:
            total, j = 0.0, i - 1
            while not hit[j % n] and j > i - n:
                total, j = total + self.edges[j % n].length, j - 1
            return total

        first = max(starts, key=free)
        order = (self.edges[(first + k) % n] for k in range(n))
        return tuple(e for e in order if e.role == role and side in (None, e.side))

    def length(self, role: Role, side: Side | None = None) -> float:
        """Return the length of all edges of a role (darts folded out), mm; 0 where there is none."""
        return sum(edge.length for edge in self.with_role(role, side))

    @property
    def area(self) -> float:
        """Area inside the sewing line, mm2."""
        return signed_area(edge.curve for edge in self.edges)

    @property
    def perimeter(self) -> float:
        """Length of the sewing line, mm."""
        return sum(edge.length for edge in self.edges)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Bounding box of the outline (left, bottom, right, top), mm."""
        boxes = np.array([edge.curve.bounds for edge in self.edges])
        (left, bottom), (right, top) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return float(left), float(bottom), float(right), float(top)

    @property
    def up(self) -> NDArray[np.float64]:
        """The unit direction of the grain, towards the top of the garment, shape (2,).

        Without a grainline: straight up the page.
        """
        if self.grain is None:
            return np.array([0.0, 1.0])
        return self.grain.end_direction

    @property
    def cut_words(self) -> str:
        """How often and how it is cut, in the words that are lettered on it."""
        if self.fold:
            return f"CUT {self.quantity} ON FOLD"
        pairs, odd = divmod(self.quantity, 2)
        if odd:
            return f"CUT {self.quantity}"
        return "CUT 1 PAIR" if pairs == 1 else f"CUT {pairs} PAIRS"

    def darts(self) -> Iterator[Dart]:
        """Yield the darts of the outline, in its order."""
        n = len(self.edges)
        for i, edge in enumerate(self.edges):
            after = self.edges[(i + 1) % n]
            before = self.edges[i - 1]
            legs = edge.role == after.role == Role.DART_LEG
            if legs and before.role != Role.DART_LEG:
                yield Dart(into=edge, out=after, on=before.role)

    def slits(self) -> Iterator[Dart]:
        """Yield the slits that gussets are set into: two gusset seams that meet at a hollow tip."""
        n = len(self.edges)
        for i, edge in enumerate(self.edges):
            after = self.edges[(i + 1) % n]
            if edge.role == after.role == Role.GUSSET_SEAM:
                u, v = edge.curve.end_direction, after.curve.start_direction
                if float(u[0] * v[1] - u[1] * v[0]) < 0 or float(u @ v) < -0.99:
                    yield Dart(into=edge, out=after, on=self.edges[i - 1].role)

    def neighbours(self, name: str) -> tuple[Edge, Edge]:
        """Return the edges before and after the named one."""
        i = [edge.name for edge in self.edges].index(name)
        return self.edges[i - 1], self.edges[(i + 1) % len(self.edges)]

    # --- changing -----------------------------------------------------------------------------

    def with_edges(self, changed: Iterable[Edge]) -> "Piece":
        """Return the piece with the edges of these names replaced."""
        new = {edge.name: edge for edge in changed}
        missing = new.keys() - {edge.name for edge in self.edges}
        if missing:
            raise KeyError(f"{self.name} has no edge {sorted(missing)}")
        return replace(self, edges=tuple(new.get(edge.name, edge) for edge in self.edges))

    def transformed(self, affine: Affine) -> "Piece":
        """Return its image under a rigid move or mirror image; stays counter-clockwise.

        Finishing is dropped: lettering must not come out mirrored.
        """
        edges = tuple(edge.transformed(affine) for edge in self.edges)
        if affine.determinant < 0:
            edges = tuple(edge.reversed for edge in reversed(edges))
        return replace(
            self,
            edges=edges,
            grain=self.grain and self.grain.transformed(affine),
            internal=tuple(
                replace(line, curve=line.curve.transformed(affine)) for line in self.internal
            ),
            drill_holes=tuple(
                (float(x), float(y)) for x, y in (affine.apply(p) for p in self.drill_holes)
            ),
            finish=None,
        )
