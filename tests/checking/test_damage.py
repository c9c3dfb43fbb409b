"""Checks are tested by damage: each must notice its own, and hold on a sound pattern."""

from dataclasses import replace

import numpy as np
import pytest

from samples_of_ours import from_svg, recipe
from sleevewright.checking import check, promise_findings, seam_rows
from sleevewright.findings import Promise, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.operations.raglan import Raglan
from sleevewright.pattern import Pattern
from sleevewright.pipeline.convert import convert

BLOCK = from_svg("men_overblock")[1]
SOUND = convert(BLOCK, recipe("classic-raglan"), {}).pattern


def failed(pattern: Pattern, before: Pattern | None = None) -> set[str]:
    return {f.check for f in check(pattern, before) if f.fell_short}


def with_edge(pattern: Pattern, piece: str, name: str, **change: object) -> Pattern:
    edge = replace(pattern[piece][name], **change)
    return pattern.with_pieces([pattern[piece].with_edges([edge])])


def test_a_sound_pattern_passes() -> None:
    assert not failed(SOUND, BLOCK)


@pytest.mark.parametrize(("more", "bad"), [(0.49, False), (0.51, True)])
def test_seam_length(more: float, bad: bool) -> None:
    seams = tuple(
        replace(seam, ease=seam.ease + more) if seam.name == "side" else seam
        for seam in SOUND.seams
    )
    assert ("seam-length" in failed(replace(SOUND, seams=seams))) is bad


@pytest.mark.parametrize(("by", "bad"), [(0.45, False), (0.55, True)])
def test_notches_meet(by: float, bad: bool) -> None:
    edge = SOUND["front"]["raglan_seam"]
    notches = tuple(
        replace(n, at=n.at - by) if n.name == "front raglan" else n for n in edge.notches
    )
    damaged = with_edge(SOUND, "front", "raglan_seam", notches=notches)
    assert ("notches-meet" in failed(damaged)) is bad


@pytest.mark.parametrize(("angle", "bad"), [(0.6, False), (1.6, True)])
def test_centre_square(angle: float, bad: bool) -> None:
    piece = SOUND["front"]
    hem = piece["hem"]
    corner = hem.curve.end
    turned = hem.curve.transformed(Affine.rotation(angle, corner))
    side = piece["side_seam"]
    closed = Curve.line(side.curve.start, turned.start)
    damaged = with_edge(with_edge_unchecked(SOUND, "front", hem, turned), "front", "hem")
    del closed, side
    assert ("centre-square" in failed(damaged)) is bad


def with_edge_unchecked(pattern: Pattern, piece: str, edge: object, curve: Curve) -> Pattern:
    """Turn the hem about the centre and let the side seam run to its new end."""
    p = pattern[piece]
    side = p["side_seam"]
    new_side = replace(side, curve=Curve.line(side.curve.start, curve.start))
    return pattern.with_pieces([p.with_edges([replace(edge, curve=curve), new_side])])


def test_smooth_edge() -> None:
    edge = SOUND["front"]["armhole"]
    c = np.array(edge.curve.controls)
    first, second = edge.curve.split_at(20.0)
    kinked = np.array(second.controls)
    kinked[0, 1] = kinked[0, 0] + Affine.rotation(4.0).apply(kinked[0, 1] - kinked[0, 0])
    damaged = with_edge(
        SOUND, "front", "armhole", curve=Curve(np.concatenate([first.controls, kinked]))
    )
    del c
    assert "smooth-edge" in failed(damaged)


def test_allowance() -> None:
    piece = SOUND["back"]
    cut = tuple(
        replace(part, curve=part.curve.transformed(Affine.translation((0.0, 0.3))))
        if part.edge == "hem"
        else part
        for part in piece.finish.cut_line
    )
    damaged = replace(piece, finish=replace(piece.finish, cut_line=cut))
    assert "allowance" in failed(SOUND.with_pieces([damaged]))


def test_notch_place() -> None:
    piece = SOUND["front"]
    first, *rest = piece.finish.notches
    moved = replace(first, point=(first.point[0] + 2.0, first.point[1]))
    damaged = replace(piece, finish=replace(piece.finish, notches=(moved, *rest)))
    assert "notch-place" in failed(SOUND.with_pieces([damaged]))


def test_grain() -> None:
    piece = SOUND["sleeve_front"]
    turned = piece.grain.transformed(Affine.rotation(1.0, piece.grain.start))
    assert "grain" in failed(SOUND.with_pieces([replace(piece, grain=turned)]), BLOCK)


def test_grain_to_fold() -> None:
    piece = SOUND["back"]
    turned = piece.grain.transformed(Affine.rotation(55.0, piece.grain.point_at(100.0)))
    assert "grain-to-fold" in failed(SOUND.with_pieces([replace(piece, grain=turned)]))


def test_neckline_whole() -> None:
    neck = SOUND["front"]["neckline"]
    longer = neck.curve.with_ends(neck.curve.start, neck.curve.end)
    shrunk = replace(
        SOUND, pieces=tuple(p for p in SOUND.pieces if p.name != "sleeve_back"), seams=()
    )
    del longer
    assert "neckline-whole" in failed(shrunk, BLOCK)


def test_what_cannot_be_computed_is_no_pass() -> None:
    def broken() -> object:
        yield Promise("x", 1.0, 1.0, 0.1)
        raise ZeroDivisionError("a plug-in's own fault")

    found = promise_findings("x", broken())
    assert [f.status for f in found] == [Status.HELD, Status.NOT_COMPUTED]
    (nan,) = promise_findings("x", [Promise("y", float("nan"), 1.0, 0.1)])
    assert nan.status is Status.NOT_COMPUTED


def test_rows_of_the_seam_walk_add_up() -> None:
    for row in seam_rows(Raglan().apply(BLOCK)):
        assert row.difference == pytest.approx(
            row.lengths[0] - row.lengths[1] - row.wanted_ease, abs=1e-9
        )
