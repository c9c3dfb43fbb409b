"""The edge of a pleated piece, trued as folded: what lies under a fold has the shape of what it lies under.

Between two strips moved apart lies the pleat. Folded, its layers lie on (or under) one of the strips, so
their edge is that strip's own, mirrored in the fold, and mirrored back in the fold under it. Unfolded
that makes the zigzag that a cutter gets who folds the paper and cuts along the edge.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve, fair_curve
from sleevewright.geometry.intersect import intersections
from sleevewright.operations.contract import OperationError
from sleevewright.operations.runs import Run
from sleevewright.operations.sleeves import with_length
from sleevewright.pattern import Edge, Notch

Array = NDArray[np.float64]

_EASED = 6.0  # mm on either side of a fold, over which a lesser turn is taken out
_SMOOTH = 1.7  # degrees; an edge that turns more at a fold is parted there
_MEETING = 0.01  # mm; a pleat may be so much deeper than the edge it lies under


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """The lines of a pleat between two strips, each from the run that it is folded into.

    Attributes:
        lines: from the earlier strip's side to the later one's: two for every turn of the cloth and
            one more (a knife pleat has 3, a box pleat 5).
    """

    lines: tuple[Curve, ...]

    @classmethod
    def between(cls, line: Curve, before: Affine, after: Affine, folds: int) -> "Opening":
        """Return the lines of a pleat that opens along a slash line.

        Args:
            line: where the slash was.
            before, after: the moves of the strips on either side.
            folds: into how many equal widths the opening is folded.
        """
        first, last = line.transformed(before), line.transformed(after)
        step = before.inverse @ after
        turn = float(np.degrees(np.arctan2(step.b, step.a)))
        lines = [
            first.transformed(
                Affine.translation(part * (last.end - first.end))
                @ Affine.rotation(part * turn, first.end)
            )
            for part in np.arange(1, folds) / folds
        ]
        return cls(lines=(first, *lines, last))

    def layers(self, before: Curve, after: Curve, left_covers: bool) -> list[Curve]:
        """Return the edge across the pleat, from its first line to its last.

        Args:
            before, after: the strips' own parts of the edge, up to the first line and from the last.
            left_covers: for a knife pleat: whether its layers lie under the strip before it.

        Raises:
            OperationError: the strip is narrower than the pleat.
        """
        if len(self.lines) == 3:
            if left_covers:
                return self._met(folded_under(before, *self.lines[:2]))
            back = folded_under(after.reversed, self.lines[2], self.lines[1])
            return self._met([layer.reversed for layer in reversed(back)])
        left = folded_under(before, *self.lines[:2])
        right = folded_under(after.reversed, self.lines[4], self.lines[3])
        return self._met([*left, *(layer.reversed for layer in reversed(right))])

    def _met(self, layers: list[Curve]) -> list[Curve]:
        """Return layers that meet exactly; a hinge has moved them by hundredths."""
        ends = [self.lines[0].start, *(layer.end for layer in layers[:-1]), self.lines[-1].start]
        return [
            layer.with_ends(a, b) for layer, a, b in zip(layers, ends[:-1], ends[1:], strict=True)
        ]


def folded_under(edge: Curve, fold: Curve, under: Curve) -> list[Curve]:
    """Return the two layers folded back under an edge that ends on a fold.

    Args:
        edge: ends on `fold`.
        fold, under: lines from the edge, that the cloth is folded along first and then.

    Raises:
        OperationError: the pleat is deeper than the edge is long.
    """
    mirrored = edge.reversed.transformed(Affine.reflection(fold.start, fold.start_direction))
    far = 1000.0 * under.start_direction
    # Pleats that just meet end where the edge does.
    reach = with_length(mirrored, mirrored.length + _MEETING)
    hits = intersections(reach, Curve.line(under.start - far, under.end + far))
    if not hits or hits[0][0] < 0.5:
        raise OperationError(
            f"a pleat is deeper than the edge between it and the next ({edge.length:.1f} mm);"
            " make it shallower, or take fewer pleats"
        )
    layer = mirrored.between(0.0, min(hits[0][0], mirrored.length))
    return [
        layer,
        layer.reversed.transformed(Affine.reflection(under.start, under.start_direction)),
    ]


def pleated(
    run: Run,
    cuts: Sequence[float],
    placed: Sequence[Affine],
    openings: Sequence[Opening],
    left_covers: bool,
) -> tuple[tuple[Edge, ...], ...]:
    """Return what became of every edge of a run: its parts, in outline order.

    Args:
        run: as it was.
        cuts: stations of the slash lines, rising, mm.
        placed: the moves of the strips along the run.
        openings: the pleats, in order along the run, lines from the earlier strip's side.
        left_covers: for knife pleats, which strip covers.

    An edge is parted where it turns by more than 1.7 degrees at a fold.
    """
    stops = [0.0, *cuts, run.curve.length]
    strips = [
        run.curve.between(a, b).transformed(move)
        for a, b, move in zip(stops[:-1], stops[1:], placed, strict=True)
    ]
    edges: list[list[Edge]] = [[] for _ in run.edges]
    for k, strip in enumerate(strips):
        for i, edge in enumerate(run.edges):
            a, b = max(run.joints[i], stops[k]), min(run.joints[i + 1], stops[k + 1])
            if b - a > 1e-6:
                edges[i].append(_part(edge, run.joints[i], (a, b), strip, stops[k]))
        if k < len(openings):
            layers = openings[k].layers(strip, strips[k + 1], left_covers)
            half = len(layers) // 2
            for index, some in (
                (_owner(run, cuts[k], before=True), layers[:half]),
                (_owner(run, cuts[k], before=False), layers[half:]),
            ):
                edges[index] += [replace(run.edges[index], curve=c, notches=()) for c in some]
    return tuple(smooth_parts(parts) for parts in edges)


def _part(edge: Edge, joint: float, reach: tuple[float, float], strip: Curve, start: float) -> Edge:
    a, b = reach
    notches = tuple(
        replace(n, at=joint + n.at - a)
        for n in edge.notches
        if a <= joint + n.at < b or (joint + n.at == b and abs(n.at - edge.length) < 1e-9)
    )
    return replace(edge, curve=strip.between(a - start, b - start), notches=notches)


def _owner(run: Run, cut: float, *, before: bool) -> int:
    nudge = -1e-3 if before else 1e-3
    return max(0, int(np.searchsorted(run.joints, cut + nudge)) - 1)


def smooth_parts(parts: list[Edge]) -> tuple[Edge, ...]:
    """Return parts of an edge as one, parted only where they turn by more than 1.7 degrees."""
    joined = [parts[0]]
    for part in parts[1:]:
        last = joined[-1]
        u, v = last.curve.end_direction, part.curve.start_direction
        turn = abs(float(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))))
        if turn > _SMOOTH:
            joined.append(part)
            continue
        notches = tuple(replace(n, at=n.at + last.length) for n in part.notches)
        curve = _joined_smoothly(last.curve, part.curve)
        joined[-1] = replace(last, curve=curve, notches=(*last.notches, *notches))
    return tuple(joined)


def _joined_smoothly(first: Curve, second: Curve) -> Curve:
    """Return two curves as one, the little turn between them taken out of the handles there."""
    first, second = _eased_end(first.reversed).reversed, _eased_end(second)
    controls = np.concatenate([first.controls, second.controls])
    k = len(first.controls)
    along = first.end_direction + second.start_direction
    along = along / np.hypot(*along)
    at = controls[k, 0]
    controls[k - 1, 2] = at - np.hypot(*(controls[k - 1, 2] - at)) * along
    controls[k, 1] = at + np.hypot(*(controls[k, 1] - at)) * along
    return Curve(controls)


def _eased_end(curve: Curve) -> Curve:
    """Return a curve with one cubic over the first stretch of it, where it is longer than that.

    A joint of its own hard by the fold would leave the turn no room.
    """
    if curve.length <= _EASED + 0.1:
        return curve
    near, far = curve.split_at(_EASED)
    if len(near.controls) > 1:
        near = fair_curve(near.start, near.end, near.start_direction, near.end_direction)
    return Curve.joined([near, far])


def marked(parts: Sequence[Edge], point: Array, name: str) -> tuple[Edge, ...]:
    """Return edges with a notch at the point of them that is nearest to a point."""
    found = [edge.curve.nearest(point) for edge in parts]
    k = min(range(len(parts)), key=lambda i: found[i][1])
    notch = Notch(at=found[k][0], name=name)
    return tuple(e.with_notch(notch) if i == k else e for i, e in enumerate(parts))
