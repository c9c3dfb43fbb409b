"""`gusset`: a piece let in under the arm of a kimono, so that it can be lifted."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry import Curve
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.gusset_slit import slit_piece
from sleevewright.pattern import Edge, EdgeUse, Notch, Pattern, Piece, Role, Seam, Side
from sleevewright.pattern.naming import with_standard_names

Array = NDArray[np.float64]


@operation
class Gusset:
    """Let a gusset in under the arm: a diamond, two triangles, or a strip along the whole underarm.

    Diamond and triangles are set into a slit from the underarm towards the shoulder on front and
    back; their sides are as long as the slit's, and their width across the underarm is what the arm
    gains (2 s sin of half the angle at the slit point). The slit is marked, its
    point reinforced, and cut when it has been stitched round. A strip is sewn in between front and
    back from wrist to hem and adds its width to the girth.
    """

    kind: Annotated[
        Literal["diamond", "triangles", "strip"],
        about("one piece, cut in two along the underarm, or a strip"),
    ] = "diamond"
    length: Annotated[
        Length, about("of the slit, to its point (not for a strip)", at_least=60, at_most=130)
    ] = 90.0
    width: Annotated[
        Length, about("across the underarm: what the gusset opens", at_least=40, at_most=150)
    ] = 90.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Slit front and back and make the gusset, or make the strip."""
        pieces = [self._half(pattern, side) for side in Side]
        if self.kind == "strip":
            return _with_strip(pattern, pieces, self.width)
        if self.width > 1.6 * self.length:
            raise OperationError(
                f"a gusset {self.width:.0f} mm wide does not fit a slit of {self.length:.0f} mm; up to"
                f" {1.6 * self.length:.0f} mm does"
            )
        slit = [slit_piece(piece, self.length) for piece in pieces]
        pattern = pattern.with_pieces(slit)
        made = _diamond(self.length, self.width)
        gussets = (made,) if self.kind == "diamond" else _halved(made)
        seams = [
            _slit_seam(pattern, gussets, side, upper) for side in Side for upper in (True, False)
        ]
        if self.kind == "triangles":
            seams.append(_base_seam(gussets))
        added = ("gusset.added_mm", self.width)
        return replace(
            pattern, pieces=(*pattern.pieces, *gussets), seams=(*pattern.seams, *seams)
        ).with_facts([added])

    def _half(self, pattern: Pattern, side: Side) -> Piece:
        if any(piece.name.startswith("gusset") for piece in pattern.pieces):
            raise OperationError("there is a gusset already")
        found = [p for p in pattern.pieces if p.name == side.value]
        if not found or not all(found[0].has(r) for r in (Role.UNDERARM_SEAM, Role.SIDE_SEAM)):
            raise OperationError(
                f"a gusset needs a {side} on which the underarm seam runs into the side seam, as a"
                " two-piece kimono has"
            )
        return found[0]

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Sides of gusset and slit are equal; the width is what 2 s sin(beta) gives."""
        if self.kind == "strip":
            for side in Side:
                seam = after.seam(f"{side} strip")
                one, other = (after.side_length(s) for s in (seam.first, seam.second))
                yield Promise(f"strip along the {side}", one, other, 0.1, seam.name)
            return
        for seam in after.seams:
            if seam.name.startswith("gusset ") and seam.name != "gusset base":
                lengths = [after.side_length(side) for side in (seam.first, seam.second)]
                for length in lengths:
                    yield Promise(
                        f"{seam.name}: slit and gusset", self.length, length, 0.2, "gusset"
                    )
        names = ("gusset",) if self.kind == "diamond" else ("gusset_front", "gusset_back")
        for name in names:
            beta = math.radians(_point_angle(after[name]) / 2)
            added = 2 * self.length * math.sin(beta)  # what a slit opened so far gains
            yield Promise("length added under the arm", self.width, added, 0.1, name)
        for side in Side:
            one, other = (
                before[side.value].length(role) - after[side.value].length(role)
                for role in (Role.UNDERARM_SEAM, Role.SIDE_SEAM)
            )
            yield Promise(f"{side} underarm and side give way alike", one, other, 0.1, side)


def _point_angle(piece: Piece) -> float:
    """Return the angle of a gusset at its slit point, degrees."""
    edges = piece.with_role(Role.GUSSET_SEAM)
    for into, out in zip(edges, (*edges[1:], edges[0]), strict=True):
        if np.allclose(into.curve.end, out.curve.start, atol=1e-6):
            u, v = -into.curve.end_direction, out.curve.start_direction
            angle = math.degrees(math.acos(float(np.clip(u @ v, -1, 1))))
            if abs(float((out.curve.start)[1])) < 1e-6:  # slit points lie on the long diagonal
                return angle
    raise OperationError(f"{piece.name} has no slit point")


def _diamond(side: float, width: float) -> Piece:
    """Return the gusset in one piece: slit points left (front) and right (back), on the bias."""
    reach = math.sqrt(side**2 - (width / 2) ** 2)
    front, back = np.array([-reach, 0.0]), np.array([reach, 0.0])
    sleeve, body = np.array([0.0, width / 2]), np.array([0.0, -width / 2])
    corners = (front, body, back, sleeve, front)
    edges = [
        Edge(name="", role=Role.GUSSET_SEAM, curve=Curve.line(a, b))
        for a, b in zip(corners, corners[1:], strict=False)
    ]
    return Piece(
        name="gusset", edges=with_standard_names(edges), grain=_bias(0.0, width), quantity=2
    )


def _bias(middle: float, width: float) -> Curve:
    """Return a grainline at 45 degrees to the long diagonal: on the bias it gives."""
    reach = 0.2 * width
    return Curve.line((middle - reach, -reach), (middle + reach, reach))


def _halved(whole: Piece) -> tuple[Piece, Piece]:
    """Return the diamond cut in two along the underarm."""
    into_body, body_out, back_up, sleeve_out = whole.edges
    body, sleeve = into_body.curve.end, sleeve_out.curve.start
    third = float(back_up.curve.start[0]) / 3
    pieces = []
    for name, edges, base, at in (
        ("gusset_front", (into_body, sleeve_out), (body, sleeve), -third),
        ("gusset_back", (body_out, back_up), (sleeve, body), third),
    ):
        line = Edge(name="", role=Role.STYLE_SEAM, curve=Curve.line(*base))
        chain = (edges[0], line, edges[1]) if name == "gusset_front" else (*edges, line)
        grain = _bias(at, 0.6 * float(np.hypot(*(body - sleeve))))
        pieces.append(Piece(name=name, edges=with_standard_names(chain), grain=grain, quantity=2))
    return pieces[0], pieces[1]


def _slit_seam(pattern: Pattern, gussets: tuple[Piece, ...], side: Side, upper: bool) -> Seam:
    """Return the seam of one leg of a slit, walked from the slit point."""
    piece = pattern[side.value]
    slit = next(piece.slits())
    # Round a front the sleeve's leg comes first, into the slit point; round a back, out of it.
    into = upper is (side is Side.FRONT)
    leg = slit.into if into else slit.out
    gusset = gussets[0] if len(gussets) == 1 or side is Side.FRONT else gussets[1]
    edges = gusset.with_role(Role.GUSSET_SEAM)
    wanted = np.array([-1.0, 1.0]) if side is Side.FRONT else np.ones(2)
    wanted[1] = 1.0 if upper else -1.0
    edge = max(edges, key=lambda e: float(e.curve.point_at(e.length / 2) @ wanted))
    tip_first = abs(float(edge.curve.start[1])) < 1e-6
    return Seam(
        name=f"gusset {side} {'sleeve' if upper else 'side'}",
        first=(EdgeUse(piece=piece.name, edge=leg.name, backwards=into),),
        second=(EdgeUse(piece=gusset.name, edge=edge.name, backwards=not tip_first),),
    )


def _base_seam(gussets: tuple[Piece, ...]) -> Seam:
    front, back = gussets
    return Seam(
        name="gusset base",
        first=(EdgeUse(piece=front.name, edge=front.with_role(Role.STYLE_SEAM)[0].name),),
        second=(
            EdgeUse(piece=back.name, edge=back.with_role(Role.STYLE_SEAM)[0].name, backwards=True),
        ),
    )


def _with_strip(pattern: Pattern, pieces: list[Piece], width: float) -> Pattern:
    """Return the pattern with a strip between front and back, from wrist to hem."""
    uses = {
        Side.FRONT: _below_arm(pieces[0], backwards=False),
        Side.BACK: _below_arm(pieces[1], backwards=True),
    }
    lengths = {side: pattern.side_length(uses[side]) for side in Side}
    front, back = lengths[Side.FRONT], lengths[Side.BACK]
    # The front's edge runs down on the left, the back's up on the right; wrist above, hem below.
    corners = [(0.0, front), (0.0, 0.0), (width, 0.0), (width, back)]
    roles = (Role.GUSSET_SEAM, Role.HEM, Role.GUSSET_SEAM, Role.WRIST)
    edges = with_standard_names(
        Edge(name="", role=role, curve=Curve.line(a, b))
        for role, a, b in zip(roles, corners, (*corners[1:], corners[0]), strict=True)
    )
    halves = [_marked(piece) for piece in pieces]
    pattern = pattern.with_pieces(halves)
    down, up = ({n.name: at for n, at in _stations(pattern, uses[side])} for side in Side)
    marks = {edges[0].name: down, edges[2].name: {name: back - at for name, at in up.items()}}
    kinds = {n.name: n.kind for side in Side for n, _ in _stations(pattern, uses[side])}
    edges = tuple(
        replace(
            edge,
            notches=tuple(
                Notch(at=at, name=name, kind=kinds[name])
                for name, at in sorted(marks.get(edge.name, {}).items(), key=lambda m: m[1])
            ),
        )
        for edge in edges
    )
    strip = Piece(
        name="gusset_strip", edges=edges, quantity=2,
        grain=Curve.line((width / 2, 0.1 * front), (width / 2, 0.9 * front)),
    )  # fmt: skip
    seams = [s for s in pattern.seams if s.name not in ("side", "underarm")]
    for side, edge, backwards in (
        (Side.FRONT, edges[0], False), (Side.BACK, edges[2], True)
    ):  # fmt: skip
        mate = (EdgeUse(piece=strip.name, edge=edge.name, backwards=backwards),)
        seams.append(Seam(name=f"{side} strip", first=uses[side], second=mate))
    return replace(pattern, pieces=(*pattern.pieces, strip), seams=tuple(seams)).with_facts(
        [("gusset.girth_added_mm", 2 * width)]
    )


def _stations(pattern: Pattern, side: tuple[EdgeUse, ...]) -> Iterator[tuple[Notch, float]]:
    """Yield the notches of a side of a seam with their distance from where it is walked from."""
    run = 0.0
    for use in side:
        edge = pattern.edge(use)
        for notch in edge.notches:
            yield notch, run + notch.at
        run += edge.length


def _below_arm(piece: Piece, *, backwards: bool) -> tuple[EdgeUse, ...]:
    """Return underarm seam and side seam, walked from the wrist down."""
    edges = [
        *piece.with_role(Role.UNDERARM_SEAM),
        *(piece.with_role(Role.SIDE_SEAM)[::-1] if backwards else piece.with_role(Role.SIDE_SEAM)),
    ]
    return tuple(EdgeUse(piece=piece.name, edge=e.name, backwards=backwards) for e in edges)


def _marked(piece: Piece) -> Piece:
    """Return a half with a notch where its underarm seam runs into its side seam."""
    edge = piece.with_role(Role.UNDERARM_SEAM)[0]
    at = edge.length if edge.side is Side.FRONT else 0.0
    return replace(piece.with_edges([edge.with_notch(Notch(at=at, name="underarm"))]), finish=None)
