"""`drop-hem`: the bodice made longer at its hem; an example of an operation in a package of its own."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

from sleevewright.geometry import Affine
from sleevewright.operations import Length, OperationError, Promise, about, operation
from sleevewright.operations.sleeves import with_length
from sleevewright.pattern import Edge, Pattern, Piece, Role


@operation
class DropHem:
    """Lower the hem of front and back; side seams and centres run straight on.

    The hem is carried down along the grain, and the edges beside it are lengthened to meet it.
    """

    by: Annotated[Length, about("how far the hem drops", at_least=1, at_most=600)]

    def apply(self, pattern: Pattern) -> Pattern:
        """Lower every hem."""
        bodies = [piece for piece in pattern.pieces if piece.has(Role.HEM)]
        if not bodies:
            raise OperationError("no piece has a hem to drop")
        return pattern.with_pieces(self._dropped(piece) for piece in bodies)

    def _dropped(self, piece: Piece) -> Piece:
        hem = piece.with_role(Role.HEM)[0]
        before, after = piece.neighbours(hem.name)
        down = Affine.translation(-self.by * piece.up)
        into = with_length(before.curve, before.length + self.by)
        out = with_length(after.curve.reversed, after.length + self.by).reversed
        moved = hem.curve.transformed(down).with_ends(into.end, out.start)
        changed = [
            replace(before, curve=into),
            replace(hem, curve=moved),
            replace(after, curve=out, notches=_later(after, self.by)),
        ]
        return replace(piece.with_edges(changed), finish=None)

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Every seam into the hem is longer by what was asked."""
        for piece in before.pieces:
            if piece.has(Role.HEM):
                hem = piece.with_role(Role.HEM)[0]
                for edge in piece.neighbours(hem.name):
                    got = after[piece.name][edge.name].length
                    yield Promise(
                        f"{edge.name} longer", edge.length + self.by, got, 0.01, piece.name
                    )


def _later(edge: Edge, by: float) -> tuple:
    """Return notches of an edge that begins so much earlier."""
    return tuple(replace(notch, at=notch.at + by) for notch in edge.notches)
