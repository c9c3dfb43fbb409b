"""allowance on a box with a cut line round it: off, inside, crossing; what is not judged."""

from dataclasses import replace

import pytest

from sleevewright.checking.allowances import check
from sleevewright.findings import Finding, Status
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import circular_arc
from sleevewright.pattern import Edge, Pattern, Piece, Role
from straight_pieces import BOX, FRONT, Point, cut, straight_piece, two_halves

WIDTHS = {"hem": 30.0, "side_seam": 10.0, "neckline": 6.0, "centre": 0.0}


def around(left: float, bottom: float, right: float, top: float) -> list[tuple[str, Curve]]:
    """The cut line of a box with these allowances."""
    a, b, c, d = (
        (-left, -bottom),
        (100 + right, -bottom),
        (100 + right, 200 + top),
        (-left, 200 + top),
    )
    return [
        ("hem", Curve.line(a, b)), ("side_seam", Curve.line(b, c)),
        ("neckline", Curve.line(c, d)), ("centre", Curve.line(d, a)),
    ]  # fmt: skip


def box(lines: list[tuple[str, Curve]], widths: dict[str, float] = WIDTHS) -> Piece:
    return cut(straight_piece("front", BOX, FRONT), widths, lines)


def judged(*pieces: Piece) -> list[Finding]:
    return list(check(Pattern(name="b", size="1", pieces=pieces)))


def only(piece: Piece) -> Finding:
    (found,) = judged(piece)
    return found


def trimmed(lines: list[tuple[str, Curve]]) -> list[tuple[str, Curve]]:
    """Corners given as stretches of no edge, as finishing gives them."""
    parts: list[tuple[str, Curve]] = []
    for name, curve in lines:
        parts += [("", curve.between(0, 35)), (name, curve.between(35, curve.length - 35)),
                  ("", curve.between(curve.length - 35, curve.length))]  # fmt: skip
    return parts


def test_every_edge_at_its_allowance_is_held() -> None:
    found = only(box(trimmed(around(0, 30, 10, 6))))
    assert found.message == "front: every cut edge within 0.0000 mm of its allowance"
    assert (found.check, found.status, found.where) == ("allowance", Status.HELD, "front")
    assert (found.wanted, found.got, found.within) == (0.0, pytest.approx(0, abs=1e-9), 0.02)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("off", "status"), [(0.0195, Status.HELD), (0.03, Status.FAILED)])
def test_an_edge_lies_within_a_fiftieth_of_its_allowance(
    off: float, status: Status, sign: int
) -> None:
    found = only(box(trimmed(around(0, 30, 10 + sign * off, 6))))
    assert found.status is status
    assert found.got == pytest.approx(off, abs=1e-9)
    assert (found.message == "front: side_seam is 0.030 mm off its allowance") is (off > 0.02)


def test_the_worst_edge_is_told() -> None:
    found = only(box(trimmed(around(0, 30.5, 12, 7))))
    assert found.message == "front: side_seam is 2.000 mm off its allowance"
    assert found.got == pytest.approx(2)
    assert only(box(trimmed(around(0, 33, 12, 7)))).message.startswith("front: hem is 3.000 mm")


def test_a_place_off_in_the_middle_of_an_edge_is_seen() -> None:
    lines = trimmed(around(0, 30, 10, 6))
    middle = Curve.polyline([(110, 5), (110, 80), (111, 100), (110, 120), (110, 171)])
    lines[4] = ("side_seam", middle)
    assert only(box(lines)).got == pytest.approx(1, abs=1e-6)


def test_corners_are_not_measured() -> None:
    lines = trimmed(around(0, 30, 10, 6))
    lines[3] = ("", Curve.polyline([(110, -30), (118, -10), (110, 5)]))  # stands out
    assert only(box(lines)).status is Status.HELD


def test_an_edge_of_no_known_allowance_is_not_measured() -> None:
    widths = {name: w for name, w in WIDTHS.items() if name != "side_seam"}
    assert only(box(trimmed(around(0, 30, 15, 6)), widths)).status is Status.HELD
    assert (
        only(box(trimmed(around(0, 31, 15, 6)), widths)).status is Status.FAILED
    )  # the others are


def test_a_curved_edge_is_measured_along_its_curve() -> None:
    """A half disc: the cut line of its arc is an arc 10 mm wider."""
    arc = Edge(name="hem", role=Role.HEM, curve=circular_arc((0, 0), 100, 0, 180))
    straight = Edge(name="top", role=Role.NECKLINE, curve=Curve.line((-100, 0), (100, 0)))
    piece = Piece(name="disc", edges=(arc, straight))

    def lines(radius: float) -> list[tuple[str, Curve]]:
        foot = Curve.polyline([(-radius, 0), (-radius, -10), (radius, -10), (radius, 0)])
        return [("hem", circular_arc((0, 0), radius, 0, 180)), ("", foot)]

    widths = {"hem": 10.0, "top": 10.0}
    assert only(cut(piece, widths, lines(110))).status is Status.HELD
    assert only(cut(piece, widths, lines(110.05))).status is Status.FAILED
    inside = only(cut(piece, widths, lines(99.9)))  # a tenth of a millimetre inside the arc
    assert "1 stretches of the cut line lie inside the sewing line" in inside.message
    assert "inside" not in only(cut(piece, widths, lines(100.1))).message


# --- inside and crossing -----------------------------------------------------------------------


@pytest.mark.parametrize(("depth", "status"), [(0.04, Status.HELD), (0.06, Status.FAILED)])
def test_no_stretch_lies_inside_the_sewing_line(depth: float, status: Status) -> None:
    lines = trimmed(around(0, 30, 10, 6))
    lines[4] = ("", Curve.polyline([(110, 5), (100 - depth, 100), (110, 171)]))
    found = only(box(lines))
    assert found.status is status
    if status is Status.FAILED:
        assert found.message == "front: 1 stretches of the cut line lie inside the sewing line"


def test_a_shallow_bow_inside_is_seen() -> None:
    """Both its ends lie outside; its middle half a millimetre inside."""
    lines = trimmed(around(0, 30, 10, 6))
    bow = Curve.cubic((100.3, 5), (99.2, 60), (99.2, 116), (100.3, 171))
    lines[4] = (
        "",
        Curve.joined([Curve.line((110, 5), (100.3, 5)), bow, Curve.line((100.3, 171), (110, 171))]),
    )
    assert "1 stretches of the cut line lie inside" in only(box(lines)).message


def test_stretches_inside_are_counted() -> None:
    lines = trimmed(around(0, 30, 10, 6))
    for i, x, y in ((4, 90.0, 100.0), (1, 50.0, 20.0)):
        a, b = lines[i][1].start, lines[i][1].end
        lines[i] = ("", Curve.polyline([a, (x, y), b]))
    assert (
        only(box(lines)).message == "front: 2 stretches of the cut line lie inside the sewing line"
    )


def test_a_cut_line_that_crosses_itself_is_told() -> None:
    lines = trimmed(around(0, 30, 10, 6))
    lines[3] = ("", Curve.polyline([(110, -30), (140, 0), (140, -20), (105, -15), (110, 5)]))
    assert only(box(lines)).message == "front: the cut line crosses itself"


@pytest.mark.parametrize(("step", "status"), [(0.9e-4, Status.HELD), (5e-3, Status.FAILED)])
def test_a_step_back_of_roundings_size_is_no_crossing(step: float, status: Status) -> None:
    lines = trimmed(around(0, 30, 10, 6))
    lines[4] = ("side_seam", Curve.polyline([(110, 5), (110, 5 - step), (110, 171)]))
    found = only(box(lines))
    assert found.status is status
    assert ("the cut line crosses itself" in found.message) is (status is Status.FAILED)


def test_all_that_is_wrong_is_told_in_one_line() -> None:
    lines = trimmed(around(0, 30, 12, 6))
    lines[6] = (
        "",
        Curve.polyline([(112, 206), (50, 190), (55, 180), (60, 200), (50, 206), (77, 206)]),
    )
    assert only(box(lines)).message == (
        "front: the cut line crosses itself; 1 stretches of the cut line lie inside the sewing line;"
        " side_seam is 2.000 mm off its allowance"
    )


# --- darts and slits ---------------------------------------------------------------------------


@pytest.mark.parametrize("role", [Role.DART_LEG, Role.GUSSET_SEAM])
def test_legs_that_are_folded_or_slit_are_not_measured(role: Role) -> None:
    """A dart in the hem: the cut line runs straight under its mouth, far from its legs."""
    corners: list[Point] = [(0, 0), (40, 0), (50, 80), (60, 0), (100, 0), (100, 200), (0, 200)]
    roles = (Role.HEM, role, role, Role.HEM, Role.SIDE_SEAM, Role.NECKLINE, Role.CENTRE)
    piece = straight_piece("front", corners, roles)
    hem = Curve.line((0, -30), (110, -30))
    legs = [
        ("hem", hem.between(0, 40)), (str(role), hem.between(40, 50)), (f"{role}.2", hem.between(50, 60)),
        ("hem.2", hem.between(60, 100)), ("", hem.between(100, 110)), *trimmed(around(0, 30, 10, 6))[3:],
    ]  # fmt: skip
    widths = {**WIDTHS, "hem.2": 30.0, str(role): 10.0, f"{role}.2": 10.0}
    assert only(cut(piece, widths, legs)).status is Status.HELD
    other = replace(piece, edges=tuple(
        replace(e, role=Role.STYLE_SEAM) if e.role is role else e for e in piece.edges
    ))  # fmt: skip
    assert only(cut(other, widths, legs)).status is Status.FAILED


def test_finished_pieces_alone_are_judged() -> None:
    assert judged(*two_halves().pieces) == []
    one = box(trimmed(around(0, 30, 10, 6)))
    plain = straight_piece("plain", BOX, FRONT)
    moved = replace(one, name="back")
    assert [f.where for f in judged(plain, one, moved)] == ["front", "back"]
    far = Affine.translation((500, 0))
    apart = cut(
        straight_piece("far", BOX, FRONT).transformed(far), WIDTHS,
        [(name, curve.transformed(far)) for name, curve in trimmed(around(0, 30, 10, 6))],
    )  # fmt: skip
    assert only(apart).status is Status.HELD
