"""`facing`: the neckline faced, over whatever seams run into it."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

from sleevewright.geometry import Affine
from sleevewright.operations.bands import Stretch, facing_piece, laid_on, stretch_of
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.pattern import Edge, EdgeUse, Pattern, Piece, Role, Seam, Side


@operation
class Facing:
    """Face the neckline with a front and a back facing, joined at the shoulder.

    Where the neckline runs over sleeves, as on a raglan, its parts are laid together as they are when
    sewn, so that one facing lies smoothly across the seams.
    """

    depth: Annotated[Length, about("of the facing", at_least=25, at_most=120)] = 55.0

    def apply(self, pattern: Pattern) -> Pattern:
        """Make both facings."""
        if "front_facing" in pattern:
            raise OperationError("the neckline is faced already")
        facings, seams = [], []
        for side in Side:
            parts = _parts(pattern, side)
            parent = parts[_at_centre(side)][0]
            stretch = _laid(parts, _at_centre(side))
            facing = facing_piece(f"{side}_facing", stretch, self.depth, parent)
            facings.append(facing)
            seams.append(_seam(side, parts, facing))
        seams.append(_shoulder(facings))
        return replace(pattern, pieces=(*pattern.pieces, *facings), seams=(*pattern.seams, *seams))

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The facings are as long as the neckline, and meet at the shoulder."""
        for side in Side:
            wanted = sum(edge.length for _, edge in _parts(before, side))
            got = after[f"{side}_facing"].length(Role.FACING_SEAM)
            yield Promise(f"{side} facing along the neckline", wanted, got, 0.5, f"{side}_facing")
        seam = after.seam("facing shoulder")
        one, other = (after.side_length(s) for s in (seam.first, seam.second))
        yield Promise("facings at the shoulder", one, other, 0.5, seam.name)


def _parts(pattern: Pattern, side: Side) -> list[tuple[Piece, Edge]]:
    """Return the neckline of a half in outline order: (piece, edge).

    Raises:
        OperationError: there is none, or it is gathered.
    """
    if any(seam.gather and any(_is_neck(pattern, u) for u in seam.uses) for seam in pattern.seams):
        raise OperationError("the neckline is gathered; draw its facing from the finished width")
    if "raglan.neck_gather_ratio" in dict(pattern.facts):
        raise OperationError("the neckline is gathered; draw its facing from the finished width")
    found = [
        (piece, edge)
        for piece in pattern.pieces
        if piece.name == side.value
        for edge in piece.with_role(Role.NECKLINE)
    ]
    if len(found) > 1:
        raise OperationError(
            f"a dart parts the neckline of the {side}; move it with dart-pivot before it is faced"
        )
    on_sleeve = [
        (piece, edge)
        for piece in pattern.pieces
        for edge in piece.with_role(Role.NECKLINE, side)
        if piece.name != side.value
    ]
    # Round a front the outline runs from the centre to the shoulder, round a back to the centre.
    parts = [*found, *on_sleeve] if side is Side.FRONT else [*on_sleeve, *found]
    if not parts:
        raise OperationError(f"there is no {side} neckline to face")
    return parts


def _is_neck(pattern: Pattern, use: EdgeUse) -> bool:
    return pattern[use.piece][use.edge].role is Role.NECKLINE


def _at_centre(side: Side) -> int:
    """Return which part of a half's neckline is at the centre: see `_parts`."""
    return 0 if side is Side.FRONT else -1


def _laid(parts: list[tuple[Piece, Edge]], keep: int) -> Stretch:
    """Return the parts laid together, the kept one where its piece has it.

    So the facing has the grain of the piece at the centre: there it is cut on the fold, or meets
    its other half.
    """
    first, *rest = (stretch_of(piece, (edge,)) for piece, edge in parts)
    for stretch in rest:
        first = laid_on(first, stretch)
    lies, drawn = first.curves[keep], parts[keep][1].curve
    return first.transformed(Affine.moving((lies.start, lies.end), (drawn.start, drawn.end)))


def _seam(side: Side, parts: list[tuple[Piece, Edge]], facing: Piece) -> Seam:
    edges = facing.with_role(Role.FACING_SEAM)
    return Seam(
        name=f"{side} neckline facing",
        first=tuple(EdgeUse(piece=piece.name, edge=edge.name) for piece, edge in parts),
        second=tuple(EdgeUse(piece=facing.name, edge=edge.name) for edge in edges),
    )


def _shoulder(facings: list[Piece]) -> Seam:
    """Return the seam that joins the facings, walked from the neck."""
    front, back = facings
    for piece in facings:
        if len(piece.with_role(Role.BAND_END)) != 1:
            raise OperationError("the neckline does not run from the centre to the shoulder")
    return Seam(
        name="facing shoulder",
        first=(EdgeUse(piece=front.name, edge=front.with_role(Role.BAND_END)[0].name),),
        second=(
            EdgeUse(piece=back.name, edge=back.with_role(Role.BAND_END)[0].name, backwards=True),
        ),
    )
