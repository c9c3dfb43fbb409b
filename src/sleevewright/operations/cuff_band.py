"""`cuff`: a band sewn to the wrist."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

from sleevewright.geometry import Curve
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.operations.sleeve_length import LengthenSleeve
from sleevewright.operations.sleeves import sleeve_pieces
from sleevewright.pattern import (
    Edge,
    EdgeUse,
    InternalLine,
    Notch,
    Pattern,
    Piece,
    Role,
    Seam,
    Side,
)
from sleevewright.pattern.naming import with_standard_names

_PLAIN = 0.5  # mm; a wrist longer by less is sewn on plain


@operation
class Cuff:
    """Sew a straight cuff to the wrist: cut double, with a fold line, and a wrap where it buttons.

    The wrist is gathered or eased into it. With a placket the cuff begins and ends there; without
    one it is sewn into a ring at the underarm seam and needs no wrap (common practice).
    """

    depth: Annotated[Length, about("of the finished cuff", at_least=20, at_most=200)] = 60.0
    to: Annotated[
        Length | None,
        about(
            "round the wrist when worn, wrap left out; the sleeve's wrist", at_least=80, at_most=600
        ),
    ] = None
    wrap: Annotated[
        Length | None,
        about("overlap at the placket; 25 mm there, none without one", at_least=0, at_most=60),
    ] = None
    fullness: Annotated[Literal["gather", "ease"], about("how the wrist is taken in")] = "gather"
    blouse: Annotated[
        Length | None,
        about(
            "how much the sleeve falls over the cuff: it is shortened by the depth less this",
            at_least=0,
            at_most=80,
        ),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Shorten the sleeve where asked, and make the cuff."""
        if any(piece.has(Role.CUFF_SEAM) for piece in pattern.pieces):
            raise OperationError("the sleeve has a cuff already")
        if self.blouse is not None:
            pattern = self._shortened(pattern)
        uses, slit = _wrists(pattern)
        total = pattern.side_length(uses)
        to = total if self.to is None else self.to
        if to > total + _PLAIN:
            raise OperationError(
                f"a cuff of {to:.0f} mm is wider than the wrist, {total:.0f} mm; make the wrist wider"
                " (flare, slash-and-spread) or the cuff smaller"
            )
        wrap = (25.0 if slit else 0.0) if self.wrap is None else self.wrap
        if wrap and not slit:
            raise OperationError(
                "a cuff with a wrap needs a placket to open at; put placket before it"
            )
        if 0 < wrap < 5.0:
            raise OperationError(
                f"a wrap of {wrap:g} mm is too narrow to button; 5 mm at the least"
            )
        cuff = _band(to, wrap, self.depth, _underarm_at(pattern, uses) * to / total)
        seam = Seam(
            name="cuff",
            first=uses,
            second=(EdgeUse(piece="cuff", edge="cuff_seam", backwards=True),),
        )
        if total - to > _PLAIN and self.fullness == "gather":
            seam = replace(seam, gather=total / to)
        else:
            seam = replace(seam, ease=total - to)
        pattern = _with_underarm_notch(pattern, uses)
        return replace(
            pattern, pieces=(*pattern.pieces, cuff), seams=(*pattern.seams, seam)
        ).with_facts([("cuff.wrist_ratio", total / to)])

    def _shortened(self, pattern: Pattern) -> Pattern:
        by = self.depth - (self.blouse or 0.0)
        if any(len(piece.with_role(Role.WRIST)) > 1 for piece in sleeve_pieces(pattern)):
            raise OperationError(
                "the wrist is parted by its placket and cannot be shortened for the cuff any more;"
                f" shorten it by {by:.0f} mm with lengthen-sleeve before placket"
            )
        return LengthenSleeve(by=-by, at="wrist").apply(pattern)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The cuff is as asked and the wrist goes into it at the ratio noted."""
        cuff, seam = after["cuff"], after.seam("cuff")
        wrists = sum(piece.length(Role.WRIST) for piece in sleeve_pieces(before))
        wrist, band = (after.side_length(side) for side in (seam.first, seam.second))
        if self.to is not None:
            yield Promise("cuff round the wrist", self.to, band, 0.01, "cuff")
        ends = [e.length for e in cuff.with_role(Role.BAND_END)]
        if self.blouse is None:
            yield Promise("wrist as it was", wrists, wrist, 0.01, "wrist")
        yield Promise("cuff cut double", 2 * self.depth, ends[0], 0.01, "cuff")
        wanted = seam.gather * band if seam.gather else band + seam.ease
        yield Promise("wrist into the cuff", wanted, wrist, 0.01 * wrist, "cuff")


def _wrists(pattern: Pattern) -> tuple[tuple[EdgeUse, ...], bool]:
    """Return the wrist's edges as a cuff goes round, and whether a placket parts them.

    From the back underarm seam over the overarm to the front one; from the placket where there is one.
    """
    back = [
        EdgeUse(piece=p.name, edge=e.name) for p in sleeve_pieces(pattern) for e in p.with_role(Role.WRIST)
        if p.has(Role.UNDERARM_SEAM, Side.BACK)
    ]  # fmt: skip
    front = [
        EdgeUse(piece=p.name, edge=e.name) for p in sleeve_pieces(pattern) for e in p.with_role(Role.WRIST)
        if not p.has(Role.UNDERARM_SEAM, Side.BACK)
    ]  # fmt: skip
    slit = len(back) == 2
    if len(back) > 2 or not back:
        raise OperationError("the wrist is in too many parts for a cuff")
    return ((back[1], *front, back[0]) if slit else (*back, *front)), slit


def _underarm_at(pattern: Pattern, uses: tuple[EdgeUse, ...]) -> float:
    """Return how far along the wrist the underarm seam is, mm; 0 where the cuff begins there."""
    if len(uses) < 2 or uses[0].edge != "wrist.2":
        return 0.0
    return pattern.side_length(uses[:-1])


def _with_underarm_notch(pattern: Pattern, uses: tuple[EdgeUse, ...]) -> Pattern:
    if not _underarm_at(pattern, uses):
        return pattern
    last = uses[-1]
    piece = pattern[last.piece]
    edge = piece[last.edge].with_notch(Notch(at=0.0, name="cuff at underarm"))
    return pattern.with_pieces([replace(piece.with_edges([edge]), finish=None)])


def _band(to: float, wrap: float, depth: float, underarm: float) -> Piece:
    """Return the cuff: its seam above, the fold line half way down."""
    wide, tall = to + wrap, 2 * depth
    corners = [(0.0, 0.0), (wide, 0.0), (wide, tall), (wide - wrap, tall), (0.0, tall), (0.0, 0.0)]
    roles = [Role.FREE_EDGE, Role.BAND_END, Role.FREE_EDGE, Role.CUFF_SEAM, Role.BAND_END]
    if not wrap:
        del corners[3], roles[2]
    edges = list(
        with_standard_names(
            Edge(name="", role=role, curve=Curve.line(a, b))
            for role, a, b in zip(roles, corners, corners[1:], strict=False)
        )
    )
    if underarm:
        k = next(i for i, e in enumerate(edges) if e.role is Role.CUFF_SEAM)
        mark = Notch(at=edges[k].length - underarm, name="cuff at underarm")
        edges[k] = edges[k].with_notch(mark)
    fold = InternalLine(curve=Curve.line((0.0, depth), (wide, depth)), name="fold")
    grain = Curve.line((0.15 * wide, 0.5 * depth), (0.85 * wide, 0.5 * depth))
    return Piece(name="cuff", edges=tuple(edges), grain=grain, internal=(fold,), quantity=2)
