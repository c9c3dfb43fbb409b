"""Seams between edges, and the pattern: the pieces and seams of one size of one block."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from sleevewright.geometry import Curve
from sleevewright.pattern.piece import Edge, Piece


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeUse:
    """An edge as one side of a seam uses it.

    Attributes:
        piece, edge: names.
        backwards: whether the seam is walked against the direction of the outline.
    """

    piece: str
    edge: str
    backwards: bool = False

    def __str__(self) -> str:
        return f"{self.piece}.{self.edge}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Two chains of edges that are sewn together, each in walking order from the same end.

    Attributes:
        name: such as "front raglan".
        first, second: the two sides; a side may run over several edges (and over darts, folded).
        ease: how much longer the first side shall be than the second, mm.
        gather: ratio first : second where the first is gathered; 0 where it is not.
        pleated: what is folded away in pleats on the first side, mm (negative: on the second).
        within: the difference allowed, mm.
    """

    name: str
    first: tuple[EdgeUse, ...]
    second: tuple[EdgeUse, ...]
    ease: float = 0.0
    gather: float = 0.0
    pleated: float = 0.0
    within: float = 0.5

    @property
    def uses(self) -> tuple[EdgeUse, ...]:
        """All edges of both sides."""
        return self.first + self.second


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """The pieces of one size and the seams between them.

    Attributes:
        name: of the block.
        size: as the file writes it; "base" where it names none.
        pieces: in a steady order.
        seams: every pair of sides that is sewn.
        facts: (name, number) that operations report, such as ("raglan.wedge_deg", 47.8);
            the name ends in its unit (_mm, _mm2, _deg, _ratio).

    Raises:
        ValueError: two pieces of one name, or a seam that names an edge that is not there.
    """

    name: str
    size: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...] = ()
    facts: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        names = [piece.name for piece in self.pieces]
        if len(set(names)) != len(names):
            raise ValueError(f"two pieces of one name among {names}")
        edges = {(piece.name, edge.name) for piece in self.pieces for edge in piece.edges}
        for seam in self.seams:
            for use in seam.uses:
                if (use.piece, use.edge) not in edges:
                    raise ValueError(f"seam {seam.name!r} names {use}, which is not there")

    def __getitem__(self, name: str) -> Piece:
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(f"no piece {name!r}; there are {[piece.name for piece in self.pieces]}")

    def __contains__(self, name: str) -> bool:
        return any(piece.name == name for piece in self.pieces)

    def seam(self, name: str) -> Seam:
        """Return the seam of this name.

        Raises:
            KeyError: there is none.
        """
        for seam in self.seams:
            if seam.name == name:
                return seam
        raise KeyError(f"no seam {name!r}; there are {[seam.name for seam in self.seams]}")

    def edge(self, use: EdgeUse) -> Edge:
        """Return an edge in the direction in which a seam walks it."""
        edge = self[use.piece][use.edge]
        return edge.reversed if use.backwards else edge

    def side_length(self, side: Iterable[EdgeUse]) -> float:
        """Return the length of one side of a seam, mm."""
        return sum(self[use.piece][use.edge].length for use in side)

    def curves(self, side: Iterable[EdgeUse]) -> tuple[Curve, ...]:
        """Return the curves of one side of a seam in walking order and direction."""
        return tuple(self.edge(use).curve for use in side)

    def with_pieces(self, pieces: Iterable[Piece]) -> "Pattern":
        """Return the pattern with the pieces of these names replaced."""
        new = {piece.name: piece for piece in pieces}
        missing = new.keys() - {piece.name for piece in self.pieces}
        if missing:
            raise KeyError(f"no piece {sorted(missing)}")
        return replace(self, pieces=tuple(new.get(p.name, p) for p in self.pieces))

    def with_facts(self, facts: Iterable[tuple[str, float]]) -> "Pattern":
        """Return the pattern with facts added; a later one of a name stands for an earlier."""
        merged = dict(self.facts)
        merged.update(facts)
        return replace(self, facts=tuple(merged.items()))
