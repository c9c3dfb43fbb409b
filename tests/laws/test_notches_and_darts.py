"""Over all recipes, blocks and sizes: set-in sleeves have a crown, darts their marks; every format says so."""

import re

import pytest

from samples_of_ours import from_svg, recipe
from sleevewright.findings import Status
from sleevewright.pattern import Pattern, Piece, Role, Side
from sleevewright.pattern.naming import CROWN, DART_MARK
from sleevewright.pipeline.convert import convert
from sleevewright.pipeline.proofread import proofread
from sleevewright.writing import FORMATS


def is_set_in(piece: Piece) -> bool:
    """Whether the two halves of a cap meet at its crown: no seam and no raglan between them."""
    edges = piece.edges
    return any(
        e.role is edges[i - 1].role is Role.CAP and {e.side, edges[i - 1].side} == set(Side)
        for i, e in enumerate(edges)
    )


def at_the_crown(piece: Piece) -> list[float]:
    return [min(n.at, e.length - n.at) for e in piece.edges for n in e.notches if n.name == CROWN]


def test_crowns_meet_the_shoulder_and_darts_are_marked(variants) -> None:
    for result in variants:
        for piece in result.pattern.pieces:
            layer = piece.has(Role.CAP) and piece.has(Role.LAYER_SEAM)
            wanted = [0.0] if is_set_in(piece) or layer else []
            assert at_the_crown(piece) == wanted, (result.size, piece.name)
            if is_set_in(piece):
                (met,) = [
                    f for f in result.findings
                    if f.check == "joint-notch" and f.where.startswith(f"{piece.name}: cap")
                ]  # fmt: skip
                assert met.status is Status.HELD
                assert re.search(r"meets the (right |left )?shoulder seam$", met.message)
        marks_of_darts(result.pattern)
        told = [f for f in result.findings if f.check == "dart-marks"]
        assert len(told) == sum(1 for p in result.pattern.pieces for _ in p.darts())
        assert all(f.status is Status.HELD for f in told)


def marks_of_darts(pattern: Pattern) -> None:
    for piece in pattern.pieces:
        darts = tuple(piece.darts())
        cut_out = [d for d in darts if d.on is Role.NECKLINE and piece.has(Role.RAGLAN_SEAM)]
        cuts = [m for m in piece.finish.notches if m.name.startswith(DART_MARK)]
        assert len(cuts) == 2 * (len(darts) - len(cut_out))


@pytest.mark.parametrize(
    "name", ["leg-of-mutton", "bust-dart-shared", "elbow-dart-sleeve", "kimono"]
)
@pytest.mark.parametrize("ending", sorted(FORMATS))
def test_every_format_with_these_marks_is_proofread(name: str, ending: str) -> None:
    result = convert(from_svg("women_overblock")[2], recipe(name))
    proofread(ending, FORMATS[ending](result), result)
