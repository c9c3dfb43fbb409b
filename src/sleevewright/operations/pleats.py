"""`pleats`: knife, box and inverted pleats laid into an edge."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np

from sleevewright.operations.asking import asked_piece
from sleevewright.operations.contract import Count, Length, Promise, Ratio, about, operation
from sleevewright.operations.fullness import with_fullness
from sleevewright.operations.pleat_edges import Opening, marked, pleated
from sleevewright.operations.pleat_marks import arrow, moved, shown
from sleevewright.operations.runs import Run
from sleevewright.operations.slash_lines import Places, Placing, asked_runs
from sleevewright.operations.spreading import Slashed, Spread, sides_of
from sleevewright.pattern import Edge, InternalLine, Pattern, Piece
from sleevewright.pattern.naming import FOLD_MARK, with_standard_names
from sleevewright.pattern.resewing import resewn

#: Into how many depths of cloth the opening of a pleat is folded.
_FOLDS = {"knife": 2, "box": 4, "inverted": 4}

#: Which lines of a pleat have a notch between its first and its last: the folds of a box pleat, and where
#: those of an inverted one meet (common practice).
_NOTCHED_INSIDE = {"knife": {}, "box": {1: "fold 1", 3: "fold 2"}, "inverted": {2: "centre"}}


@operation
class Pleats:
    """Lay pleats into an edge: the piece is spread, folds and arrows are marked, the edge is trued folded.

    A knife pleat takes 2 x depth of cloth, a box or inverted pleat 4 x depth. The edge across a pleat
    has the shape it has when the pleat is folded and cut, and the seam is told what is folded away.
    Parts of an edge are counted from the front of a sleeve, or from the centre of a bodice.
    """

    piece: Annotated[str, about("the piece")] = "sleeve"
    opens: Annotated[str, about("the edge that the pleats are laid into, such as cap or neckline")]
    towards: Annotated[str, about("the edge that the folds run to")]
    kind: Annotated[
        Literal["knife", "box", "inverted"],
        about("knife, box (folds turned apart) or inverted (folds meeting)"),
    ] = "knife"
    count: Annotated[Count, about("how many pleats, evenly set", at_least=1, at_most=40)] = 1
    depth: Annotated[Length, about("of a pleat, from fold to fold", at_least=3, at_most=150)]
    at: Annotated[
        tuple[Ratio, ...],
        about("where the pleats are, as parts of the edge", at_least=0.01, at_most=0.99),
    ] = ()
    between: Annotated[
        tuple[str, ...], about("the two notches between which the pleats are set")
    ] = ()
    facing: Annotated[
        Literal["front", "back"],
        about("where the folds of knife pleats point: to the front or centre, or away from it"),
    ] = "back"
    hinged: Annotated[
        bool, about("running out to nothing at the far edge; else the same depth all along")
    ] = False
    fold_length: Annotated[
        Length | None,
        about("how much of the folds is drawn; all if not said", at_least=20, at_most=1500),
    ] = None

    def apply(self, pattern: Pattern) -> Pattern:
        """Lay the pleats.

        Raises:
            OperationError: pleats deeper than the edge between them, or lines that leave the piece.
        """
        piece = asked_piece(pattern, self.piece)
        runs = asked_runs(piece, self.opens, self.towards)
        placing = self._placing(piece, runs)
        slashes = placing.slashes([1.0] * len(placing.at))
        slashed = Slashed(piece, *runs, slashes)
        spread = slashed.opened_square(self._width, hinged=self.hinged)
        openings = self._openings(spread)
        left = (self.facing == "back") != placing.counted_back
        near = pleated(runs[0], slashed.cuts[0], spread.placed, openings, left)
        at_joints = [min(abs(cut - j) for j in runs[0].joints) < 0.5 for cut in slashed.cuts[0]]
        near = self._notched(near, openings, at_joints)
        if self.hinged:
            far: tuple[tuple[Edge, ...], ...] = tuple((e,) for e in spread.other_edges())
        else:
            turned = [
                Opening(lines=tuple(line.reversed for line in reversed(o.lines)))
                for o in reversed(openings)
            ]
            far = pleated(runs[1], slashed.cuts[1], spread.placed[::-1], turned, not left)
        marks = [m for i, o in enumerate(openings) for m in self._marks(i + 1, o, left)]
        return self._sewn(pattern, spread, (near, far), marks)

    @property
    def _width(self) -> float:
        return _FOLDS[self.kind] * self.depth

    def _placing(self, piece: Piece, runs: tuple[Run, Run]) -> Placing:
        asked = Places(lines=self.count, at=self.at, between=self.between)
        return Placing.of(piece, runs, asked)

    def _openings(self, spread: Spread) -> tuple[Opening, ...]:
        return tuple(
            Opening.between(line, before, after, _FOLDS[self.kind])
            for line, before, after in zip(
                spread.slashed.lines, spread.placed[:-1], spread.placed[1:], strict=True
            )
        )

    def _notched(
        self,
        near: tuple[tuple[Edge, ...], ...],
        openings: tuple[Opening, ...],
        at_joints: list[bool],
    ) -> tuple[tuple[Edge, ...], ...]:
        """Return the edges with a notch at either end of every pleat, and at its folds between.

        A pleat that is laid where two edges meet, such as the crown, has its centre marked by that.
        """
        flat = tuple(edge for parts in near for edge in parts)
        for i, (opening, at_joint) in enumerate(zip(openings, at_joints, strict=True)):
            inside = {
                k: n for k, n in _NOTCHED_INSIDE[self.kind].items() if not (at_joint and k == 2)
            }
            last = len(opening.lines) - 1
            for k, name in {0: "start", **inside, last: "end"}.items():
                flat = marked(flat, opening.lines[k].start, f"{FOLD_MARK} {i + 1} {name}")
        found = iter(flat)
        return tuple(tuple(next(found) for _ in parts) for parts in near)

    def _marks(self, number: int, opening: Opening, left: bool) -> Iterator[InternalLine]:
        """Yield fold lines, placement lines and the arrows from the one to the other."""
        lines = opening.lines
        if self.kind == "knife":
            pairs = [(lines[0], lines[2]) if left else (lines[2], lines[0])]
        elif self.kind == "inverted":
            pairs = [(lines[0], lines[2]), (lines[4], lines[2])]
        else:
            shift = lines[1].start - lines[0].start, lines[4].start - lines[3].start
            pairs = [
                (lines[1], moved(lines[0], -shift[0])),
                (lines[3], moved(lines[4], shift[1])),
            ]
        drawn = set()
        for fold, placed in pairs:
            for line, what in ((fold, "fold"), (placed, "placement")):
                if line not in drawn:
                    drawn.add(line)
                    curve = shown(line, self.fold_length)
                    yield InternalLine(curve=curve, name=f"pleat {number} {what}")
            yield InternalLine(curve=arrow(fold, placed), name=f"pleat {number} arrow")

    def _sewn(
        self,
        pattern: Pattern,
        spread: Spread,
        runs: tuple[tuple[tuple[Edge, ...], ...], tuple[tuple[Edge, ...], ...]],
        marks: list[InternalLine],
    ) -> Pattern:
        """Return the pattern with the pleated piece, its seams carried along and told."""
        was = spread.slashed.piece
        near, far = (tuple(e for parts in run for e in parts) for run in runs)
        outline = spread.outline(near, far)
        edges = with_standard_names(outline)
        became: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
        for old, new in zip(outline, edges, strict=True):
            key = (was.name, old.name)
            became[key] = (*became.get(key, ()), (was.name, new.name))
        piece = spread.piece(edges, became[was.name, was.fold][0][1] if was.fold else "")
        piece = replace(piece, internal=(*piece.internal, *marks))
        pieces = [piece if p.name == was.name else p for p in pattern.pieces]
        after = resewn(pattern, pieces, became)
        return with_fullness(pattern, after, was.name, "pleat")

    def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]:
        """Every pleat takes its cloth; folded, the edges are as long as they were."""
        was, now = asked_piece(before, self.piece), asked_piece(after, self.piece)
        runs = asked_runs(was, self.opens, self.towards)
        new = asked_runs(now, self.opens, self.towards)
        n = len(self._placing(was, runs).at)
        taken = 0.0
        for i in range(1, n + 1):
            a, b = _notch(new[0], f"{FOLD_MARK} {i} start"), _notch(new[0], f"{FOLD_MARK} {i} end")
            width = float(np.hypot(*(new[0].curve.point_at(b) - new[0].curve.point_at(a))))
            yield Promise(f"cloth in pleat {i}", self._width, width, 0.1, self.opens)
            taken += b - a
        yield Promise(
            f"{self.opens} folded as long as before",
            runs[0].curve.length, new[0].curve.length - taken, 0.01, self.opens,
        )  # fmt: skip
        if self.hinged:
            yield Promise(
                f"{self.towards} as long as before",
                runs[1].curve.length, new[1].curve.length, 0.1, self.towards,
            )  # fmt: skip
        for one, other in zip(sides_of(was, *runs), sides_of(now, *new), strict=True):
            for edge, same in zip(one, other, strict=True):
                where = f"{self.piece}.{edge.name}"
                yield Promise(
                    f"{edge.name} as long as before", edge.length, same.length, 0.001, where
                )


def _notch(run: Run, name: str) -> float:
    """Return the station of a notch on a run, mm."""
    for edge, joint in zip(run.edges, run.joints, strict=False):
        for notch in edge.notches:
            if notch.name == name:
                return joint + notch.at
    return float("nan")
