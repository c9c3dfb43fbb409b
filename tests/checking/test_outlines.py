"""outline, smooth-edge and grain on small pieces: each limit from both sides, and the words."""

import copy
from dataclasses import replace

import numpy as np
import pytest

from sleevewright.checking.outlines import check, soundness
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import circular_arc
from sleevewright.pattern import Edge, Pattern, Piece, Role
from straight_pieces import BOX, FRONT, straight_piece

GRAIN = Curve.line((50, 40), (50, 160))


def pattern(*pieces: Piece) -> Pattern:
    return Pattern(name="box", size="1", pieces=pieces)


def unsound(edges: tuple[Edge, ...], **rest: object) -> Piece:
    """A piece that no one can make: the check must not trust that pieces are sound."""
    piece = copy.copy(straight_piece("front", BOX, FRONT, grain=GRAIN, **rest))
    object.__setattr__(piece, "edges", edges)
    return piece


def edges_through(*curves: Curve) -> tuple[Edge, ...]:
    return tuple(Edge(name=f"e{i}", role=Role.HEM, curve=c) for i, c in enumerate(curves))


def lines(*corners: tuple[float, float]) -> tuple[Edge, ...]:
    ring = zip(corners, (*corners[1:], corners[0]), strict=True)
    return edges_through(*(Curve.line(a, b) for a, b in ring))


def outline(piece: Piece) -> Finding:
    (found,) = (f for f in soundness(pattern(piece)) if f.check == "outline")
    return found


def test_a_sound_outline_says_its_edges_and_area() -> None:
    found = outline(straight_piece("front", BOX, FRONT))
    assert found == Finding(
        "outline", Status.HELD, "front", "front: closed, simple, 4 edges, area 20000 mm2"
    )


@pytest.mark.parametrize(("gap", "status"), [(0.009, Status.HELD), (0.011, Status.FAILED)])
@pytest.mark.parametrize("at", [0, 3])
def test_a_gap_is_at_most_a_hundredth(gap: float, status: Status, at: int) -> None:
    edges = list(lines(*BOX))
    start, end = edges[at].curve.start, edges[at].curve.end
    edges[at] = replace(edges[at], curve=Curve.line(start, end + np.array([gap, 0])))
    found = outline(unsound(tuple(edges)))
    assert found.status is status
    assert ("a gap of 0.011 mm" in found.message) is (status is Status.FAILED)


def test_a_clockwise_outline_is_told_with_its_area() -> None:
    found = outline(unsound(lines(*reversed(BOX))))
    assert found.status is Status.FAILED
    assert found.message == "front: it runs clockwise (area -20000 mm2)"


def test_an_outline_without_area_is_told() -> None:
    found = outline(unsound(lines((0, 0), (100, 0), (50, 0))))
    assert found.status is Status.FAILED
    assert "it runs clockwise (area 0 mm2)" in found.message


def test_an_outline_that_crosses_itself_is_told_with_the_place() -> None:
    found = outline(unsound(lines((0, 0), (100, 0), (100, 100), (50, -20), (0, 100))))
    assert found.status is Status.FAILED
    assert found.message.startswith("front: it crosses itself: Self-intersection[")


@pytest.mark.parametrize(("length", "status"), [(0.99, Status.FAILED), (1.01, Status.HELD)])
def test_an_edge_is_at_least_a_millimetre_long(length: float, status: Status) -> None:
    found = outline(unsound(lines((0, 0), (100, 0), (100, 200), (length, 200), (0, 200))))
    assert found.status is status
    if status is Status.FAILED:
        assert found.message == "front: e3 is 0.99 mm long"


def test_all_that_is_wrong_is_told_in_one_line() -> None:
    edges = list(lines((0, 0), (0, 200), (0.5, 200), (100, 0)))
    edges[3] = replace(edges[3], curve=Curve.line((100, 0), (0.5, 0)))
    found = outline(unsound(tuple(edges)))
    assert found.message == (
        "front: a gap of 0.500 mm; it runs clockwise (area -10050 mm2); e1 is 0.50 mm long"
    )


def test_coordinates_that_are_not_finite_are_no_pass() -> None:
    broken = Curve.line((0, 0), (100, 0))
    array = np.array(broken.controls)
    array[0, 1, 0] = np.nan
    object.__setattr__(broken, "_controls", array)
    edges = list(lines(*BOX))
    edges[0] = replace(edges[0], curve=broken)
    found = outline(unsound(tuple(edges)))
    assert found == Finding("outline", Status.NOT_COMPUTED, "front", "a coordinate is not finite")


def test_a_curved_outline_has_its_curved_area() -> None:
    """A parabola of 100 by 30 on top of the box: two thirds of its frame."""
    arch = Curve.cubic((100, 200), (200 / 3, 240), (100 / 3, 240), (0, 200))
    edges = edges_through(
        Curve.line((0, 0), (100, 0)),
        Curve.line((100, 0), (100, 200)),
        arch,
        Curve.line((0, 200), (0, 0)),
    )
    assert outline(unsound(edges)).message.endswith(f"area {20000 + 2 / 3 * 100 * 30 - 8:.0f} mm2")


# --- kinks -------------------------------------------------------------------------------------


def kinked(*turns: float) -> Piece:
    """A hem of 20 mm stretches that turns by so many degrees at its joints."""
    points, heading = [np.zeros(2), np.array([20.0, 0])], 0.0
    for turn in turns:
        heading += np.radians(turn)
        points.append(points[-1] + 20 * np.array([np.cos(heading), np.sin(heading)]))
    end = points[-1]
    hem = Edge(name="hem", role=Role.HEM, curve=Curve.polyline(points))
    rest = lines(tuple(end), (end[0], 200.0), (0.0, 200.0), (0.0, 0.0))[:3]
    return unsound((hem, *rest))


def kinks(piece: Piece) -> list[Finding]:
    return [f for f in soundness(pattern(piece)) if f.check == "smooth-edge"]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("turn", "status"), [(1.99, Status.HELD), (2.01, Status.FAILED), (0.0, Status.HELD)]
)
def test_an_edge_turns_by_at_most_two_degrees_at_a_joint(
    turn: float, status: Status, sign: int
) -> None:
    (found,) = kinks(kinked(0.5, sign * turn, 0.0))
    assert found.status is status
    assert found.got == pytest.approx(max(turn, 0.5), abs=1e-9)


def test_the_sharpest_kink_is_told() -> None:
    (found,) = kinks(kinked(1.0, -30.0, 5.0))
    assert found.message == "front.hem: sharpest kink 30.00 degrees, 2 allowed"
    assert found.where == "front.hem"
    assert (found.wanted, found.within) == (0.0, 2.0)
    assert found.got == pytest.approx(30)


def test_edges_of_one_segment_have_no_kink_and_others_are_each_judged() -> None:
    assert kinks(straight_piece("front", BOX, FRONT)) == []
    piece = kinked(1.0)
    both = (piece.edges[0], replace(piece.edges[0], name="again"), *piece.edges[1:])
    assert [f.where for f in kinks(unsound(both))] == ["front.hem", "front.again"]
    late = (piece.edges[1], piece.edges[2], piece.edges[0])
    assert [f.where for f in kinks(unsound(late))] == ["front.hem"]


def test_kinks_at_slow_handles_are_measured_whatever_their_length() -> None:
    bow = Curve([[(0, 0), (1, 0), (19, 0), (20, 0)], [(20, 0), (20.5, 0.5), (30, 10), (40, 20)]])
    (found,) = kinks(unsound((Edge(name="hem", role=Role.HEM, curve=bow), *lines(*BOX)[1:])))
    assert found.got == pytest.approx(45)


def joint(first: list, second: list) -> Finding:
    bow = Edge(name="hem", role=Role.HEM, curve=Curve([first, second]))
    (found,) = kinks(unsound((bow, *lines(*BOX)[1:])))
    return found


def test_the_handle_at_the_joint_decides() -> None:
    found = joint([(0, 0), (1, 0), (19, 0), (20, 0)], [(20, 0), (20.5, 0.5), (30, 0), (40, 20)])
    assert found.got == pytest.approx(45)


def test_a_handle_on_its_end_hides_no_kink() -> None:
    """There the next control point says where the edge goes."""
    sharp = [(20, 0), (20, 0), (30, 10), (40, 20)]
    for first in ([(0, 0), (5, 0), (20, 0), (20, 0)], [(0, 0), (5, 0), (15, 0), (20, 0)]):
        found = joint(first, sharp)
        assert (found.status, found.got) == (Status.FAILED, pytest.approx(45))
        smooth = joint(first, [(20, 0), (20, 0), (30, 0), (40, 20)])
        assert (smooth.status, smooth.got) == (Status.HELD, pytest.approx(0, abs=1e-9))


def test_a_kink_that_a_handle_hides_is_found_at_any_joint() -> None:
    level = [[(x, 0), (x + 2, 0), (x + 8, 0), (x + 10, 0)] for x in (0, 10, 20)]
    sharp = [(30, 0), (30, 0), (40, 10), (50, 20)]
    after = [[(x, x - 30), (x + 2, x - 28), (x + 8, x - 22), (x + 10, x - 20)] for x in (50, 60)]
    bow = Edge(name="hem", role=Role.HEM, curve=Curve([*level, sharp, *after]))
    (found,) = kinks(unsound((bow, *lines(*BOX)[1:])))
    assert found.got == pytest.approx(45)


def test_a_stretch_without_direction_is_no_pass() -> None:
    found = joint([(0, 0), (5, 0), (15, 0), (20, 0)], [(20, 0)] * 4)
    assert (found.status, found.got) == (Status.FAILED, 180.0)


# --- grain -------------------------------------------------------------------------------------


def grain(piece: Piece, before: Pattern | None = None) -> Finding:
    (found,) = (f for f in check(pattern(piece), before) if f.check == "grain")
    return found


def test_a_grainline_inside_says_its_length() -> None:
    found = grain(straight_piece("front", BOX, FRONT, grain=GRAIN))
    assert found == Finding(
        "grain", Status.HELD, "front",
        "front: grainline 120 mm, inside, turned by 0.00 degrees, 0.5 allowed", 0.0, 0.0, 0.5,
    )  # fmt: skip


def test_no_grainline_is_no_pass() -> None:
    found = grain(straight_piece("front", BOX, FRONT))
    assert found == Finding("grain", Status.NOT_COMPUTED, "front", "front has no grainline")


@pytest.mark.parametrize(
    ("x", "status"), [(99.9, Status.HELD), (100.09, Status.HELD), (100.2, Status.FAILED)]
)
def test_a_grainline_lies_inside_within_a_tenth(x: float, status: Status) -> None:
    found = grain(straight_piece("front", BOX, FRONT, grain=Curve.line((x, 40), (x, 160))))
    assert found.status is status
    assert (", inside," in found.message) is (status is Status.HELD)
    assert (", not inside," in found.message) is (status is Status.FAILED)


def turned(degrees: float) -> Piece:
    line = GRAIN.transformed(Affine.rotation(degrees, (50, 100)))
    return straight_piece("front", BOX, FRONT, grain=line)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("by", "status"), [(0.49, Status.HELD), (0.51, Status.FAILED), (0.0, Status.HELD)]
)
def test_the_grain_stays_as_it_was_within_half_a_degree(
    by: float, status: Status, sign: int
) -> None:
    found = grain(turned(sign * by), pattern(turned(0.0)))
    assert found.status is status
    assert found.got == pytest.approx(sign * by, abs=1e-9)
    slanting = grain(turned(30 + sign * by), pattern(turned(30)))
    assert slanting.status is status
    assert slanting.got == pytest.approx(sign * by, abs=1e-9)


def test_the_parent_is_the_piece_of_the_first_word() -> None:
    block = pattern(turned(0.0))
    part = replace(turned(5.0), name="front_side_panel")
    assert grain(part, block).status is Status.FAILED
    assert grain(replace(turned(5.0), name="cuff"), block).status is Status.HELD  # not in the block
    assert grain(turned(5.0)).status is Status.HELD  # nothing to compare with
    without = pattern(straight_piece("front", BOX, FRONT))
    assert grain(turned(5.0), without).status is Status.HELD


def test_every_piece_is_judged() -> None:
    two = pattern(turned(0.0), replace(turned(0.0), name="back"))
    assert [(f.check, f.where) for f in check(two, None)] == [
        ("outline", "front"), ("outline", "back"), ("grain", "front"), ("grain", "back"),
    ]  # fmt: skip


def test_a_grainline_in_the_bulge_of_a_curved_edge_is_inside() -> None:
    arc = Edge(name="hem", role=Role.HEM, curve=circular_arc((0, 0), 100, -180, 180))
    top = Edge(name="top", role=Role.NECKLINE, curve=Curve.line((100, 0), (-100, 0)))
    for depth, status in ((-97.5, Status.HELD), (-101.0, Status.FAILED)):
        line = Curve.line((0, depth), (0, -5))
        assert grain(Piece(name="disc", edges=(arc, top), grain=line)).status is status
