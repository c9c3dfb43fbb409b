"""`slash-and-spread`: a piece slashed from one edge to another and opened, the fullness noted."""

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from sleevewright.geometry import find_root
from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import (
    Count,
    Length,
    OperationError,
    Promise,
    Ratio,
    about,
    operation,
)
from sleevewright.operations.fullness import fullness_promises, with_fullness
from sleevewright.operations.runs import Run, Stand
from sleevewright.operations.slash_lines import (
    Places,
    Placing,
    asked_runs,
    notch_stations,
    sides_kept,
)
from sleevewright.operations.spreading import Slashed, Spread
from sleevewright.pattern import Edge, Pattern, Piece

_LEAST = 0.02  # of what is asked; a stand may take the rest


@operation
class SlashAndSpread:
    """Slash a piece from one edge to another and spread it, as a flare, for gathers or for pleats.

    The strips between the slash lines are moved rigidly: hinged at the far edge, which keeps its
    length, or parallel. Both edges are drawn fair again; the opened edge is longer by exactly
    what is asked. Notches stay with their strip and seams at the sides as they are. Give `by`,
    `ratio` or `amounts`. Parts of an edge are counted from the front of a sleeve, or from the
    centre of a bodice.
    """

    piece: Annotated[str, about("the piece")] = "sleeve"
    opens: Annotated[str, about("the edge that is opened, such as wrist, cap, neckline or hem")]
    towards: Annotated[str, about("the edge that the slash lines run to")]
    by: Annotated[Length | None, about("what the opened edge gains", at_least=0, at_most=3000)] = (
        None
    )
    ratio: Annotated[
        Ratio | None,
        about("new length to old, of the opened edge or of the stretch between the notches",
              at_least=1, at_most=5),
    ] = None  # fmt: skip
    amounts: Annotated[
        tuple[Length, ...], about("what each slash line gives", at_least=0, at_most=1000)
    ] = ()
    lines: Annotated[
        Count | None,
        about("how many slash lines, evenly set; 4 if not said", at_least=1, at_most=40),
    ] = None
    at: Annotated[
        tuple[Ratio, ...],
        about("where the lines are, as parts of the opened edge", at_least=0.01, at_most=0.99),
    ] = ()
    to: Annotated[
        tuple[Ratio, ...],
        about("where the lines end, as parts of the other edge; as on the opened one if not said",
              at_least=0.01, at_most=0.99),
    ] = ()  # fmt: skip
    between: Annotated[
        tuple[str, ...], about("the two notches of the opened edge between which the lines are set")
    ] = ()
    hinged: Annotated[bool, about("hinged at the far edge; else parallel, opening both")] = True
    fullness: Annotated[
        Literal["flare", "gather", "pleat"],
        about("left to flare, or gathered or pleated into the seam"),
    ] = "flare"
    stand: Annotated[
        Length,
        about("how far the opened edge is drawn out, so that a puff stands or a sleeve blouses",
              at_least=0, at_most=200),
    ] = 0.0  # fmt: skip
    stand_at: Annotated[
        Ratio,
        about(
            "where it is drawn out farthest, as a part of the stretch", at_least=0.1, at_most=0.9
        ),
    ] = 0.5

    def apply(self, pattern: Pattern) -> Pattern:
        """Spread the piece and note the fullness.

        Raises:
            OperationError: settings that contradict one another, lines that leave the piece, or
                more than the lines can open.
        """
        piece = asked_piece(pattern, self.piece)
        opened, other = asked_runs(piece, self.opens, self.towards)
        placing = self._placing(piece, opened, other)
        amounts = self._amounts(placing)
        if math.fsum(amounts) < 1e-9 and self.stand == 0:
            return pattern
        spread, edges = self._spread(piece, opened, other, placing, amounts)
        outline = spread.outline(edges, spread.other_edges())
        after = pattern.with_pieces([spread.piece(outline, piece.fold)])
        return with_fullness(pattern, after, piece.name, self.fullness)

    def _placing(self, piece: Piece, opened: Run, other: Run) -> Placing:
        lines = self.lines or len(self.amounts) or 4
        asked = Places(lines=lines, at=self.at, to=self.to, between=self.between)
        return Placing.of(piece, (opened, other), asked)

    def _amounts(self, placing: Placing) -> tuple[float, ...]:
        """Return what every line gives, in outline order, mm."""
        given = [self.by is not None, self.ratio is not None, bool(self.amounts)]
        if sum(given) != 1:
            raise OperationError("slash-and-spread wants one of by, ratio and amounts")
        count = len(placing.at)
        if self.amounts:
            if len(self.amounts) != count:
                raise OperationError(
                    f"{len(self.amounts)} amounts are given for {count} slash lines"
                )
            return self.amounts[::-1] if placing.counted_back else self.amounts
        return (self._total(placing) / count,) * count

    def _total(self, placing: Placing) -> float:
        if self.amounts:
            return math.fsum(self.amounts)
        if self.by is not None:
            return self.by
        return ((self.ratio or 1.0) - 1.0) * (placing.stretch[1] - placing.stretch[0])

    def _spread(
        self, piece: Piece, opened: Run, other: Run, placing: Placing, amounts: Sequence[float]
    ) -> tuple[Spread, tuple[Edge, ...]]:
        """Return the strips spread and the opened edge as it is drawn, as long as asked."""
        total = math.fsum(amounts)

        stand = None
        if self.stand:
            peak = 1 - self.stand_at if placing.counted_back else self.stand_at
            stand = Stand(most=self.stand, peak=peak, stretch=placing.stretch, up=piece.up)

        def opened_by(part: float) -> tuple[Spread, tuple[Edge, ...]]:
            slashes = placing.slashes([part * amount for amount in amounts])
            spread = Slashed(piece, opened, other, slashes).spread(hinged=self.hinged)
            return spread, spread.opened_edges(stand)

        def miss(part: float) -> float:
            length = math.fsum(edge.length for edge in opened_by(part)[1])
            return length - opened.curve.length - total

        if miss(_LEAST) > 0:
            raise OperationError(
                f"a stand of {self.stand:.1f} mm alone lengthens the {self.opens} by more than the"
                f" {total:.1f} mm asked; spread more, or stand less"
            )
        try:
            return opened_by(find_root(miss, _LEAST, 1.3, settled=1e-6))
        except ValueError:
            raise OperationError(
                f"the {self.opens} cannot be opened by {total:.1f} mm along these lines;"
                " take more lines, or set them more squarely to the edge"
            ) from None

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """The opened edge gains what is asked, the hinge and the sides nothing; gathers as noted."""
        was, now = asked_piece(before, self.piece), asked_piece(after, self.piece)
        runs, new = (asked_runs(p, self.opens, self.towards) for p in (was, now))
        placing = self._placing(was, *runs)
        (a, b), (c, d) = ([math.fsum(e.length for e in r.edges) for r in rs] for rs in (runs, new))
        yield Promise(
            f"{self.opens} as long as asked", a + self._total(placing), c, 0.1, self.opens
        )
        if self.hinged:
            yield Promise(f"{self.towards} as long as before", b, d, 0.1, self.towards)
        yield from sides_kept(was, now, runs)
        if self.between:
            yield from _ends_kept(runs[0], new[0], placing.stretch, (a, c))
        yield from fullness_promises(before, after, self.piece)


def _ends_kept(
    old: Run, new: Run, stretch: tuple[float, float], totals: tuple[float, float]
) -> Iterator[Promise]:
    """Promise that notches outside the gathered stretch keep their distance from the edge's end."""
    now = notch_stations(new)
    for name, station in notch_stations(old).items():
        if station <= stretch[0] + 1e-6:
            yield Promise(f"{name} keeps its place", station, now[name], 0.1, name)
        elif station >= stretch[1] - 1e-6:
            was, got = totals[0] - station, totals[1] - now[name]
            yield Promise(f"{name} keeps its place", was, got, 0.1, name)
