"""`hem`: how the hem or the wrist is finished."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

from sleevewright.operations.bands import facing_piece, stretch_of
from sleevewright.operations.contract import Length, OperationError, Promise, about, operation
from sleevewright.pattern import Edge, EdgeUse, HemKind, Pattern, Piece, Role, Seam

#: Depths, mm, where the recipe gives none (common practice).
_USUAL = {"turned": None, "rolled": 6.0, "faced": 45.0, "bound": 0.0}


@operation
class Hem:
    """Finish the hem of the bodice or the wrist of the sleeve.

    Turned up by its depth, rolled narrow, faced with a shaped piece, or bound without an allowance.
    """

    edge: Annotated[Literal["hem", "wrist"], about("which")] = "hem"
    kind: Annotated[Literal["turned", "rolled", "faced", "bound"], about("how")] = "turned"
    depth: Annotated[
        Length | None,
        about(
            "of turn-up or facing; the recipe's allowance, 6 mm rolled, 45 mm faced",
            at_least=3,
            at_most=120,
        ),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Note the hem on every edge, and make facings."""
        found = self._edges(pattern)
        depth = _USUAL[self.kind] if self.depth is None else self.depth
        kind = HemKind(self.kind)
        for piece, edge in found:
            width = None if kind is HemKind.FACED else depth
            now = pattern[piece.name].with_edges([replace(edge, hem=kind, allowance=width)])
            pattern = pattern.with_pieces([replace(now, finish=None)])
        if kind is not HemKind.FACED or depth is None:
            return pattern
        facings = [
            facing_piece(f"{p.name}_{self.edge}_facing", stretch_of(p, (e,)), depth, p)
            for p, e in found
        ]
        seams = [_seam(p, e, f) for (p, e), f in zip(found, facings, strict=True)]
        return replace(
            pattern,
            pieces=(*pattern.pieces, *facings),
            seams=(*pattern.seams, *seams, *_joins(found, facings)),
        )

    def _edges(self, pattern: Pattern) -> list[tuple[Piece, Edge]]:
        role = Role(self.edge)
        found = [(piece, edge) for piece in pattern.pieces for edge in piece.with_role(role)]
        if not found:
            raise OperationError(f"no piece has a {self.edge}")
        if self.kind == "faced" and len({piece.name for piece, _ in found}) < len(found):
            raise OperationError(
                f"the {self.edge} of a piece is in parts; put a faced hem before the step that parts it"
            )
        sewn = {(use.piece, use.edge): seam for seam in pattern.seams for use in seam.uses}
        for piece, edge in found:
            if edge.hem is not None:
                raise OperationError(f"the {self.edge} of {piece.name} is {edge.hem} already")
            if (piece.name, edge.name) in sewn:
                raise OperationError(
                    f"the {self.edge} of {piece.name} is sewn in the {sewn[piece.name, edge.name].name}"
                    " seam; it needs no hem"
                )
        return found

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Every edge has its finish; facings are as long as what they face."""
        found = self._edges(before)
        done = sum(after[p.name][e.name].hem is HemKind(self.kind) for p, e in found)
        yield Promise("edges finished so", len(found), done, 0, self.edge)
        for piece, edge in found:
            now = after[piece.name][edge.name]
            if self.kind == "faced":
                facing = after[f"{piece.name}_{self.edge}_facing"]
                got = facing.length(Role.FACING_SEAM)
                yield Promise(f"{facing.name} along its edge", edge.length, got, 0.1, facing.name)
            elif self.depth is not None and now.allowance is not None:
                yield Promise(
                    "allowance as deep as asked", self.depth, now.allowance, 0, piece.name
                )


def _seam(piece: Piece, edge: Edge, facing: Piece) -> Seam:
    return Seam(
        name=f"{facing.name.replace('_', ' ')}",
        first=(EdgeUse(piece=piece.name, edge=edge.name),),
        second=(EdgeUse(piece=facing.name, edge=facing.with_role(Role.FACING_SEAM)[0].name),),
    )


def _joins(found: list[tuple[Piece, Edge]], facings: list[Piece]) -> Iterator[Seam]:
    """Yield the seams between facings, or between both ends of one: where their garment is sewn.

    Each end belongs to the edge beside the hem; the ends of two edges of one role are sewn.
    """
    ends: dict[Role, list[EdgeUse]] = {}
    for (piece, edge), facing in zip(found, facings, strict=True):
        free = facing.with_role(Role.FREE_EDGE)[0]
        beside = facing.neighbours(free.name)  # the end where the hem ends, and where it begins
        neighbours = piece.neighbours(edge.name)
        for end, neighbour, backwards in (
            (beside[0], neighbours[1], False), (beside[1], neighbours[0], True)
        ):  # fmt: skip
            if end.role is Role.BAND_END:
                use = EdgeUse(piece=facing.name, edge=end.name, backwards=backwards)
                ends.setdefault(neighbour.role, []).append(use)
    for role, uses in ends.items():
        if len(uses) == 2:
            first, second = uses
            yield Seam(
                name=f"{role.replace('_', ' ')} of the facing", first=(first,), second=(second,)
            )
