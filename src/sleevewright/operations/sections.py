"""The section that a raglan takes from the bodice: cut off, balanced at the shoulder, placed.

Everything here runs *front-wise*: in the direction in which the outline of a front half runs,
that is centre, neckline, shoulder, armhole, side seam. A back is seen the other way round, so that
one piece of code serves both.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve, find_root
from sleevewright.operations.contract import OperationError
from sleevewright.operations.cutting import Spot, cut_chain
from sleevewright.operations.marks import Marks
from sleevewright.operations.raglan_lines import Path, turn_between
from sleevewright.pattern import Edge, HalfBodice, Piece, Role, Side
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]


#: degrees. A raglan line bent more than this by shoulder fullness cannot be faired (tried on the
#: sample blocks: beyond it the sleeve's seam buckles).
LARGEST_BEND = 25.0


@dataclass(frozen=True, slots=True)
class Section:
    """The part of a half bodice on the shoulder side of its raglan line.

    Attributes:
        edges: front-wise from N to P: neckline (after a stretch of centre for a yoke), shoulder,
            armhole (and a stretch of side seam for the deep raglan).
        line: the raglan line from N to P, mm.
        held: the point of the armhole that is placed on the sleeve's pitch point, shape (2,), mm.
        bent_at: station of the line's bend, where shoulder fullness was turned into it, mm;
            0 where there is none.
        marks: what is marked on it.
    """

    edges: tuple[Edge, ...]
    line: Curve
    held: Array
    bent_at: float = 0.0
    marks: Marks = Marks()

    def of(self, role: Role) -> tuple[Edge, ...]:
        """Return its edges of a role, front-wise."""
        return tuple(edge for edge in self.edges if edge.role is role)

    @property
    def shoulder(self) -> Curve:
        """The shoulder from the neck (or N) to the tip, darts already closed, mm."""
        return Curve.joined([edge.curve for edge in self.of(Role.SHOULDER)])

    @property
    def tip(self) -> Array:
        """The shoulder tip, shape (2,), mm."""
        return self.of(Role.SHOULDER)[-1].curve.end

    @property
    def fair_line(self) -> Curve:
        """The raglan line without its bend: rounded over 50 mm on either side, mm."""
        line, at = self.line, self.bent_at
        if not at:
            return line
        reach = min(50.0, 0.8 * at, 0.8 * (line.length - at))
        before, after = line.between(0.0, at - reach), line.between(at + reach, line.length)
        bend = fair_curve(before.end, after.start, before.end_direction, after.start_direction)
        return Curve.joined([before, bend, after])

    @property
    def outline(self) -> tuple[Curve, ...]:
        """The closed chain of curves round it (clockwise for a back)."""
        return (*(edge.curve for edge in self.edges), self.line.reversed)

    def transformed(self, affine: Affine) -> "Section":
        """Return the section moved."""
        return replace(
            self,
            edges=tuple(edge.transformed(affine) for edge in self.edges),
            line=self.line.transformed(affine),
            held=affine.apply(self.held),
            marks=self.marks.transformed(affine),
        )


def cut_section(half: HalfBodice, path: Path) -> tuple[Section, Piece]:
    """Cut a half bodice along its raglan line.

    Returns:
        The section, and the rest of the piece with the line as its raglan seam.

    Raises:
        OperationError: a dart in the neckline is cut off with the section.
    """
    chain = half.piece.edges
    if half.side is Side.BACK:
        chain = tuple(edge.reversed for edge in reversed(chain))
    leaves = _place(half, path.leaves, path.leaves_at)
    arrives = _place(half, path.arrives, path.arrives_at)
    inner, outer = cut_chain(chain, arrives, leaves)
    _refuse_neck_dart(half, outer)
    seam = Edge(name="raglan_seam", role=Role.RAGLAN_SEAM, curve=path.curve)
    inner = tuple(_without_notches_at_ends(edge) for edge in inner)
    rest = replace(
        half.piece,
        edges=with_standard_names(_counter_clockwise((*inner, seam), half.side)),
        fold="",
        finish=None,
    )
    fold = half.piece.fold and next((e.name for e in rest.edges if e.role is Role.CENTRE), "")
    marks = Marks.of(half.piece)
    section = Section(
        edges=tuple(replace(edge, notches=()) for edge in outer),
        line=path.curve,
        held=half.at(Role.ARMHOLE, path.pitch)[0],
        marks=marks.within((*(edge.curve for edge in outer), path.curve.reversed)),
    )
    rest = marks.within(edge.curve for edge in rest.edges).on(rest)
    return section, replace(rest, fold=fold)


def _refuse_neck_dart(half: HalfBodice, outer: Sequence[Edge]) -> None:
    """Refuse a section with a dart in its neckline: on the sleeve it would have nothing to close into."""
    for one, after in pairwise(outer):
        if one.role is Role.NECKLINE and after.role is Role.DART_LEG:
            raise OperationError(
                f"the dart in the neckline of the {half.side} lies in what goes to the sleeve;"
                f" move it to the shoulder with dart-pivot (piece: {half.piece.name}) first"
            )


def _counter_clockwise(chain: tuple[Edge, ...], side: Side) -> tuple[Edge, ...]:
    if side is Side.FRONT:
        return chain
    return tuple(edge.reversed for edge in reversed(chain))


def _place(half: HalfBodice, role: Role, station: float) -> Spot:
    """Return the spot, front-wise, of a station of a walked run."""
    front_wise = {Role.SHOULDER, Role.SIDE_SEAM}
    for edge in half.edges(role):
        if station <= edge.length:
            return Spot(edge.name, station if role in front_wise else edge.length - station)
        station -= edge.length
    raise OperationError(f"the raglan line runs off the {role} of {half.piece.name}")


def _without_notches_at_ends(edge: Edge) -> Edge:
    """Drop marks that fell on a cut: the operation sets its own there."""
    inside = tuple(n for n in edge.notches if 1.0 < n.at < edge.length - 1.0)
    return replace(edge, notches=inside)


# --- balance at the shoulder ------------------------------------------------------------------


def fullness_into_line(section: Section, wanted: float) -> Section:
    """Shorten the shoulder to `wanted` mm by turning its fullness (or dart) into the raglan line.

    The outer part of the section turns about the point of the line that is equally far from both
    sides of what is closed; the line bends there and keeps its length.

    Raises:
        OperationError: the raglan line has no such point.
    """
    inner, outer = _shoulder_parts(section)
    spare = inner.length + outer.length - wanted
    inner = replace(inner, curve=inner.curve.between(0.0, inner.length - spare / 2), notches=())
    outer = replace(outer, curve=outer.curve.between(spare / 2, outer.length), notches=())
    a, b = inner.curve.end, outer.curve.start
    line = section.line

    def nearer(station: float) -> float:
        p = line.point_at(station)
        return float(np.hypot(*(p - a)) - np.hypot(*(p - b)))

    try:
        at = find_root(nearer, 1.0, line.length - 1.0)
    except ValueError:
        raise OperationError(
            "the back shoulder's fullness cannot be turned into this raglan line;"
            " ask for back_shoulder: ease or closed"
        ) from None
    pivot = line.point_at(at)
    turn = Affine.moving((pivot, b), (pivot, a))
    if abs(turn_between(b - pivot, a - pivot)) > LARGEST_BEND:
        raise OperationError(
            f"turning {float(np.hypot(*(b - a))):.1f} mm of back shoulder into a raglan line so near to it would bend"
            f" the line by more than {LARGEST_BEND:.0f} degrees;"
            " ask for back_shoulder: closed or ease"
        )
    near, far = line.split_at(at)
    after = section.edges[_last_shoulder(section) + 1 :]
    before = section.edges[: _first_shoulder(section)]
    chains = ((*before, inner), (outer, *after))
    ends = (Curve.line(a, pivot), Curve.line(pivot, b))
    kept = section.marks.within((*(e.curve for e in chains[0]), ends[0], near.reversed))
    turned = section.marks.within((ends[1], *(e.curve for e in chains[1]), far.reversed))
    outer = outer.transformed(turn)
    shoulder = fair_curve(
        inner.curve.start, outer.curve.end, inner.curve.start_direction, outer.curve.end_direction
    )
    whole = replace(inner, curve=shoulder)
    return Section(
        edges=(*before, whole, *(edge.transformed(turn) for edge in after)),
        line=Curve.joined([near, far.transformed(turn)]),
        held=turn.apply(section.held),
        bent_at=at,
        marks=kept + turned.transformed(turn),
    )


def fullness_as_ease(section: Section) -> Section:
    """Leave the shoulder's fullness as ease: a shoulder dart is left unsewn."""
    first, last = _first_shoulder(section), _last_shoulder(section)
    if first == last:
        return section
    fair = _fair_shoulder(section)
    line = replace(section.edges[first], curve=fair, notches=())
    return replace(section, edges=(*section.edges[:first], line, *section.edges[last + 1 :]))


def fullness_closed(section: Section, wanted: float) -> Section:
    """Shorten the shoulder to `wanted` mm at its tip; the upper armhole is drawn anew."""
    first, last = _first_shoulder(section), _last_shoulder(section)
    fair = _fair_shoulder(section)
    short = Affine.scaling(*(wanted / fair.length,) * 2, fair.start)
    shoulder = replace(section.edges[first], curve=fair.transformed(short), notches=())
    tip = shoulder.curve.end
    armhole, *rest = section.edges[last + 1 :]
    lower = armhole.curve.between(0.5 * armhole.length, armhole.length)
    upper = fair_curve(tip, lower.start, armhole.curve.start_direction, lower.start_direction)
    redrawn = replace(armhole, curve=Curve.joined([upper, lower]), notches=())
    return replace(section, edges=(*section.edges[:first], shoulder, redrawn, *rest))


def _fair_shoulder(section: Section) -> Curve:
    """Return the shoulder drawn over the mouth of its dart, which is left out.

    It keeps its direction at either end, so that neckline and armhole run on over it: a shoulder that is
    straight when its dart is closed peaks at the mouth, and is drawn round.
    """
    first, last = section.edges[_first_shoulder(section)], section.edges[_last_shoulder(section)]
    start, end = first.curve.start_direction, last.curve.end_direction
    return fair_curve(first.curve.start, last.curve.end, start, end)


def _shoulder_parts(section: Section) -> tuple[Edge, Edge]:
    """Return the shoulder on either side of its dart, or of its middle where it has none."""
    parts = section.of(Role.SHOULDER)
    if len(parts) == 1:
        return parts[0].split_at(0.5 * parts[0].length, ("shoulder.1", "shoulder.2"))
    return parts[0], parts[-1]


def _first_shoulder(section: Section) -> int:
    return next(i for i, e in enumerate(section.edges) if e.role is Role.SHOULDER)


def _last_shoulder(section: Section) -> int:
    return max(i for i, e in enumerate(section.edges) if e.role is Role.SHOULDER)


# --- placing ----------------------------------------------------------------------------------


def placed_by_pitch(section: Section, q: Array, crown: Array) -> Section:
    """Put the pitch point on Q and the shoulder tip on the ray from Q to the crown."""
    return section.transformed(Affine.moving((section.held, section.tip), (q, crown)))


def placed_by_crown(section: Section, q: Array, tip: Array, arriving: Array) -> Section:
    """Put the shoulder tip on a point above the crown and turn the raglan line to reach Q.

    The section turns about its tip until the line, run fair into Q with the direction of the
    lower cap there, is as long as it was cut.

    Raises:
        OperationError: no turn within 25 degrees does it.
    """
    start = section.transformed(Affine.moving((section.tip, section.held), (tip, q)))

    def turned(angle: float) -> Section:
        return start.transformed(Affine.rotation(angle, tip))

    def miss(angle: float) -> float:
        line = turned(angle).line
        kept = line.between(0.0, 0.5 * line.length)
        rest = fair_curve(kept.end, q, kept.end_direction, arriving)
        return kept.length + rest.length - line.length

    grid = np.linspace(-25.0, 25.0, 21)
    misses = [miss(float(angle)) for angle in grid]
    changes = [i for i in range(20) if misses[i] * misses[i + 1] <= 0]
    if not changes:
        raise OperationError(
            "the section held at the crown cannot reach Q with its raglan seam;"
            " ask for a smaller crown_gap or placement: pitch"
        )
    i = min(changes, key=lambda k: abs(grid[k]))
    return turned(find_root(miss, float(grid[i]), float(grid[i + 1]), 1e-4))


def placed_by_fit(section: Section, upper_cap: Curve) -> Section:
    """Lay the armhole on the upper cap (from Q to the crown), least squares at equal arc parts.

    The rigid least-squares fit of two point rows (Kabsch 1976, in the plane).
    """
    armhole = Curve.joined([edge.curve for edge in section.of(Role.ARMHOLE)]).reversed
    along = float(armhole.nearest(section.held)[0])
    parts = np.linspace(0.0, 1.0, 41)
    source = armhole.point_at(along + parts * (armhole.length - along))
    target = upper_cap.point_at(parts * upper_cap.length)
    s, t = source - source.mean(axis=0), target - target.mean(axis=0)
    cross = (s[:, 0] * t[:, 1] - s[:, 1] * t[:, 0]).sum()
    turn = float(np.degrees(np.arctan2(cross, (s * t).sum())))
    move = Affine.translation(target.mean(axis=0) - source.mean(axis=0))
    return section.transformed(move @ Affine.rotation(turn, source.mean(axis=0)))
