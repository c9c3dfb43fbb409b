"""A half of a raglan sleeve from the wrist to the neck: underarm seam, lower cap, raglan seam.

Edges run *front-wise* (wrist, underarm seam, cap, raglan seam), those of the back as the mirror order
of the front.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.operations.contract import OperationError
from sleevewright.operations.raglan_lines import Path
from sleevewright.operations.raglan_seam import faired_line
from sleevewright.operations.raglan_settings import RaglanSettings
from sleevewright.operations.sections import Section
from sleevewright.operations.underarm import Refit, refitted
from sleevewright.pattern import Edge, Notch, NotchKind, Role, Side, Sleeve

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HalfSleeve:
    """What a half of the sleeve is made of.

    Attributes:
        side: front or back.
        section: cut from the bodice, still where it was there.
        path: the raglan line's places.
        cap: from the underarm point to the crown, ease taken out, mm.
        sleeve: the set-in sleeve.
    """

    side: Side
    section: Section
    path: Path
    cap: Curve
    sleeve: Sleeve

    @property
    def q(self) -> Array:
        """Q: as far up the cap as the pitch point is up the armhole, shape (2,), mm."""
        return self.cap.point_at(self.path.pitch)

    @property
    def turn_sign(self) -> float:
        """+1 where turning counter-clockwise about Q lifts the shoulder tip."""
        return -1.0 if self.side is Side.FRONT else 1.0


@dataclass(frozen=True, slots=True)
class LowerSeams:
    """The edges of a half sleeve from the wrist to the neck, front-wise, and the raglan seam.

    Attributes:
        edges: underarm seam, lower cap (none for the deep raglan), raglan seam.
        longer: how much longer the raglan seam is than asked, mm; the bodice's follows.
    """

    edges: tuple[Edge, ...]
    longer: float


def lower_seams(raglan: RaglanSettings, half: HalfSleeve, section: Section) -> LowerSeams:
    """Return the seams of a half whose section is laid on the sleeve.

    Raises:
        OperationError: no fair raglan seam has that length, or no underarm point fits (deep raglan).
    """
    underarm = _front_wise(half.sleeve, Role.UNDERARM_SEAM, half.side)
    length = section.line.length + raglan.raglan_ease
    if half.path.arrives is Role.ARMHOLE:
        cap = _lower_cap(half)
        at_q = cap[-1].curve
        try:
            seam = faired_line(section, at_q.end, -at_q.end_direction, length)
        except OperationError as error:
            raise OperationError(
                f"on the {half.side} {error}; {_turned_less(raglan, half)}"
            ) from None
        edges = (*underarm, *cap, _raglan_edge(half, seam, raglan.raglan_ease, pitch=True))
    else:
        seam, new_underarm = _deep_seam(half, section, underarm, length)
        edges = (*new_underarm, _raglan_edge(half, seam, raglan.raglan_ease, pitch=False))
    longer = seam.length - length
    return LowerSeams(edges, longer if longer > 1e-6 else 0.0)


def _turned_less(raglan: RaglanSettings, half: HalfSleeve) -> str:
    """Return what makes a raglan seam turn less into the lower cap."""
    higher = f"choose a pitch higher than {half.path.pitch:.0f} mm"
    return higher if raglan.placement == "pitch" else f"{higher}, or placement: pitch"


def _deep_seam(
    half: HalfSleeve, section: Section, underarm: tuple[Edge, ...], length: float
) -> tuple[Curve, tuple[Edge, ...]]:
    """Return the raglan seam down to a new underarm point, and the underarm seam from there."""
    line = section.fair_line
    at, _ = line.nearest(half.q)
    upper = line.between(0.0, at)
    seam = Curve.joined([edge.curve for edge in underarm]).reversed
    old = Refit(half.cap.between(0.0, half.path.pitch).reversed, seam)
    new = refitted(upper.end, upper.end_direction, old, length - upper.length)
    whole = Curve.joined([upper, new.cap])
    return whole, (replace(underarm[0], curve=new.seam.reversed, notches=()),)


def _lower_cap(half: HalfSleeve) -> tuple[Edge, ...]:
    """Return the edges of the cap from the underarm point to Q, front-wise, notches kept.

    Below the pitch point the cap is the sleeve's own; a Q higher up lies on the lowered cap.
    """
    kept: list[Edge] = []
    run = 0.0
    whole = half.cap.between(0.0, half.path.pitch)
    for edge in _front_wise(half.sleeve, Role.CAP, half.side):
        if run < half.path.pitch - 1e-3:
            end = min(run + edge.length, half.path.pitch)
            notches = tuple(n for n in edge.notches if n.at < end - run - 2.0)
            part = edge.curve if end == run + edge.length else whole.between(run, end)
            kept.append(replace(edge, curve=part, notches=notches))
        run += edge.length
    return tuple(kept)


def _front_wise(sleeve: Sleeve, role: Role, side: Side) -> tuple[Edge, ...]:
    """Return edges of a half front-wise: underarm seam from the wrist, cap from the underarm."""
    edges = sleeve.edges(role, side)
    if role is Role.CAP:
        return edges
    return tuple(edge.reversed for edge in reversed(edges))


def _raglan_edge(half: HalfSleeve, seam: Curve, ease: float, *, pitch: bool) -> Edge:
    """Return the sleeve's raglan seam from Q (or the underarm point) to N, with its notches."""
    curve, side = seam.reversed, half.side
    kind = NotchKind.SINGLE if side is Side.FRONT else NotchKind.DOUBLE
    edge = Edge(name="", role=Role.RAGLAN_SEAM, curve=curve, side=side)
    edge = edge.with_notch(
        Notch(at=curve.length - (curve.length - ease) / 2, name=f"{side} raglan", kind=kind)
    )
    if pitch:
        edge = edge.with_notch(Notch(at=0.0, name=f"{side} pitch", kind=kind))
    return edge
