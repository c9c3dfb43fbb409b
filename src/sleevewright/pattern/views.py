"""A half bodice and a sleeve seen as a cutter names them, whichever way their outlines run.

Terms: *shoulder-neck point* (neckline meets shoulder), *shoulder tip* (shoulder meets armhole),
*underarm point* (armhole meets side seam; cap meets underarm seam), *pitch point* (the balance
notch on armhole and cap), *crown* (top of the cap, where the shoulder seam is set).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Affine, Curve
from sleevewright.pattern.piece import Edge, Notch, Piece
from sleevewright.pattern.roles import Role, Side

Array = NDArray[np.float64]

#: Where the pitch point is when an armhole has no balance notch: parts of its length from the
#: underarm point. Common practice: front about 1/3, back about 2/5.
PITCH_PART = {Side.FRONT: 1 / 3, Side.BACK: 2 / 5}


@dataclass(frozen=True, slots=True)
class HalfBodice:
    """Front or back half bodice, its edges run as a cutter walks them.

    Attributes:
        piece: the half piece.
        side: front or back.
    """

    piece: Piece
    side: Side

    def run(self, role: Role) -> Curve:
        """Return the edges of a role as one curve, darts folded out of the way.

        Neckline, shoulder: from the shoulder-neck point. Armhole, side seam: from the underarm
        point. Centre: from the neck. Hem: from the side seam. Raglan seam: from the neck.
        Parts that a dart keeps apart are laid end to end by a rigid move.

        Raises:
            KeyError: the piece has no such edge.
        """
        edges = self.edges(role)
        if not edges:
            raise KeyError(f"{self.piece.name} has no {role}")
        return laid_end_to_end([edge.curve for edge in edges])

    def edges(self, role: Role) -> tuple[Edge, ...]:
        """Return the edges of a role in the direction of `run`."""
        edges = self.piece.with_role(role)
        # Round a front the outline runs neck, shoulder, armhole, side: outwards from the
        # shoulder-neck point on the shoulder, against it on neckline and armhole.
        with_outline = {Role.SHOULDER, Role.SIDE_SEAM, Role.HEM, Role.RAGLAN_SEAM}
        if (role in with_outline) == (self.side is Side.FRONT):
            return edges
        return tuple(edge.reversed for edge in reversed(edges))

    def at(self, role: Role, station: float) -> tuple[Array, Array]:
        """Return (point, unit direction) at a station of `run`, where the piece really has it.

        Unlike a point of `run` it is not moved by the closing of a dart. Stations are clamped.
        """
        *before, last = self.edges(role)
        for edge in before:
            if station <= edge.length:
                return edge.curve.point_at(station), edge.curve.direction_at(station)
            station -= edge.length
        return last.curve.point_at(station), last.curve.direction_at(station)

    @property
    def shoulder_neck_point(self) -> Array:
        """Where the neckline meets the shoulder, shape (2,), mm."""
        return self.edges(Role.NECKLINE)[0].curve.start

    @property
    def shoulder_tip(self) -> Array:
        """Where the shoulder meets the armhole, shape (2,), mm."""
        return self.edges(Role.ARMHOLE)[-1].curve.end

    @property
    def underarm_point(self) -> Array:
        """Where the armhole meets the side seam, shape (2,), mm."""
        return self.edges(Role.ARMHOLE)[0].curve.start

    @property
    def pitch(self) -> float:
        """Length of armhole from the underarm point to the pitch point, mm.

        The balance notch nearest to the trade's place for it, else that place.
        """
        edges = self.edges(Role.ARMHOLE)
        total = sum(edge.length for edge in edges)
        return pitch_station(edges, PITCH_PART[self.side] * total, total)


@dataclass(frozen=True, slots=True)
class Sleeve:
    """A set-in sleeve of one piece.

    Attributes:
        piece: the whole sleeve.
    """

    piece: Piece

    def edges(self, role: Role, side: Side) -> tuple[Edge, ...]:
        """Return the edges of a half in walking order.

        Cap and underarm seam: from the underarm point. (Round the outline the front half comes
        up the underarm seam and over its cap to the crown, the back half goes down.)
        """
        edges = self.piece.with_role(role, side)
        with_outline = (role is Role.CAP) == (side is Side.FRONT)
        if with_outline:
            return edges
        return tuple(edge.reversed for edge in reversed(edges))

    def run(self, role: Role, side: Side) -> Curve:
        """Return the edges of `edges` as one curve, darts folded out of the way.

        Raises:
            KeyError: the sleeve has no such edge.
        """
        edges = self.edges(role, side)
        if not edges:
            raise KeyError(f"{self.piece.name} has no {role} of the {side}")
        return laid_end_to_end([edge.curve for edge in edges])

    @property
    def crown(self) -> Array:
        """Where the front half of the cap meets the back half, shape (2,), mm."""
        return self.edges(Role.CAP, Side.FRONT)[-1].curve.end

    def underarm_point(self, side: Side) -> Array:
        """Where the cap of a half meets its underarm seam, shape (2,), mm."""
        return self.edges(Role.CAP, side)[0].curve.start


def pitch_station(edges: tuple[Edge, ...], usual: float, total: float) -> float:
    """Return the station of the balance notch on a chain of edges from the underarm point, mm.

    The notch nearest to `usual` counts if it lies in the lower two thirds; else `usual` itself.
    """
    stations, run = [], 0.0
    for edge in edges:
        stations += [run + notch.at for notch in edge.notches if not _at_end(notch, edge)]
        run += edge.length
    near = [s for s in stations if s < total * 2 / 3]
    return min(near, key=lambda s: abs(s - usual)) if near else usual


def _at_end(notch: Notch, edge: Edge) -> bool:
    return notch.at < 1.0 or notch.at > edge.length - 1.0


def laid_end_to_end(curves: list[Curve]) -> Curve:
    """Return curves as one, each moved rigidly so that it carries on where the last one ends.

    Curves that already meet are not moved. Across a dart the directions are brought together,
    as they are when the dart is closed.
    """
    joined = [curves[0]]
    for curve in curves[1:]:
        end = joined[-1].end
        if float(np.hypot(*(curve.start - end))) > 1e-6:
            target = end + joined[-1].end_direction
            source = (curve.start, curve.start + curve.start_direction)
            curve = curve.transformed(Affine.moving(source, (end, target)))  # noqa: PLW2901
        joined.append(curve)
    return Curve.joined(joined)
