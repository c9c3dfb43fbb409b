"""However labelled strokes are drawn, the same pattern comes out."""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sleevewright.geometry import Affine, Curve

from .conftest import SAMPLES, difference, strokes_of, svg_of

SAME = 1e-4  # mm


def _shuffled(lines, dots, seed):
    """Strokes reversed, cut in two and put in another order."""
    random = Random(seed)
    out = []
    for line in lines:
        curve = line.curve.reversed if random.random() < 0.5 else line.curve
        if random.random() < 0.6:
            a, b = curve.split_at(curve.length * random.uniform(0.1, 0.9))
            out += [replace(line, curve=a), replace(line, curve=b)]
        else:
            out.append(replace(line, curve=curve))
    dots = list(dots)
    random.shuffle(out)
    random.shuffle(dots)
    return out, dots


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10**6))
def test_order_direction_and_cuts_of_strokes_do_not_matter(sample, read, seed):
    _, lines, dots, pattern = sample
    (again,) = read(svg_of(*_shuffled(lines, dots, seed))).patterns
    assert difference(pattern, again) < SAME


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(degrees=st.floats(0, 360), mirrored=st.booleans())
def test_turning_and_mirroring_the_sheet_do_not_matter(sample, read, degrees, mirrored):
    _, lines, dots, pattern = sample
    move = Affine.rotation(degrees) @ Affine.scaling(-1.0 if mirrored else 1.0, 1.0)
    reading = read(svg_of([x.moved(move) for x in lines], [x.moved(move) for x in dots]))
    assert difference(pattern, reading.patterns[0]) < SAME
    said = [f.message for f in reading.findings if "wearer's left" in f.message]
    assert len(said) == (3 if mirrored else 0)


@pytest.mark.parametrize(
    ("unit", "per_mm"), [("mm", 1.0), ("cm", 0.1), ("in", 1 / 25.4), ("pt", 72 / 25.4)]
)
def test_physical_units(sample, read, unit, per_mm):
    _, lines, dots, pattern = sample
    (again,) = read(svg_of(lines, dots, unit=unit, per_mm=per_mm)).patterns
    assert difference(pattern, again) < SAME


def test_the_label_may_stand_on_every_stroke(sample, read):
    _, lines, dots, pattern = sample
    (again,) = read(svg_of(lines, dots, label="class")).patterns
    assert difference(pattern, again) < SAME


def test_edges_drawn_as_polylines_come_out_fair(sample, read):
    _, lines, dots, pattern = sample
    drawn = [replace(x, curve=Curve.polyline(x.curve.flattened(0.02))) for x in lines]
    (again,) = read(svg_of(drawn, dots)).patterns
    assert difference(pattern, again) < 0.05


def test_a_fold_line_may_stand_for_the_centre(sample, read):
    _, lines, dots, pattern = sample
    (again,) = read(svg_of([x for x in lines if x.role != "centre"], dots)).patterns
    assert difference(pattern, again) < SAME


def test_a_notch_drawn_twice_at_one_place_is_read_once_and_told(sample, read):
    _, lines, dots, pattern = sample
    reading = read(svg_of(lines, [*dots, dots[0]]))
    assert difference(pattern, reading.patterns[0]) < SAME
    assert [f.message for f in reading.findings if "read once" in f.message] == [
        f"1 notch of {dots[0].piece} at the place of another; read once"
    ]


def test_without_a_grainline_one_is_inferred_whichever_way_the_piece_lies(sample, read):
    _, lines, dots, pattern = sample
    move = Affine.rotation(130)
    drawn = [x.moved(move) for x in lines if x.role != "grain"]
    reading = read(svg_of(drawn, [x.moved(move) for x in dots]))
    (again,) = reading.patterns
    for piece in again.pieces:
        expected = move.apply(pattern[piece.name].up) @ piece.up
        assert expected == pytest.approx(1.0, abs=1e-3)
    assert sum("no grainline" in f.message for f in reading.findings) == 3


def test_the_canonical_hand_and_start(women):
    *_, pattern = women
    assert [e.name for e in pattern["back"].edges][:2] == ["hem", "side_seam"]
    assert [e.name for e in pattern["front"].edges][:3] == ["hem", "centre", "neckline"]
    assert [e.name for e in pattern["sleeve"].edges] == [
        "wrist", "underarm_seam.front", "cap.front", "cap.back", "underarm_seam.back",
    ]  # fmt: skip
    assert pattern["front"].fold == pattern["back"].fold == "centre"


def test_matching_notches_share_a_name(women):
    *_, pattern = women
    for piece, edge, name, kind in (
        ("front", "armhole.2", "front pitch", "single"),
        ("sleeve", "cap.front", "front pitch", "single"),
        ("back", "armhole", "back pitch", "double"),
        ("sleeve", "cap.back", "back pitch", "double"),
    ):
        assert [(n.name, n.kind) for n in pattern[piece][edge].notches] == [(name, kind)]


def test_ease_of_the_block_is_what_its_seams_want(women):
    *_, pattern = women
    for seam in pattern.seams:
        first, second = pattern.side_length(seam.first), pattern.side_length(seam.second)
        assert first - second == pytest.approx(seam.ease, abs=1e-3), seam.name
    assert pattern.seam("front armhole").ease > 5


def test_the_front_of_a_sleeve_is_told_by_notches_that_match(read, women):
    """With one mark for every pitch notch, their distances from the underarm tell."""
    _, lines, dots, pattern = women
    single = list(dots)
    for piece in ("back", "sleeve"):
        pair = [d for d in single if d.piece == piece][-2:]
        for dot in pair:
            single.remove(dot)
        edge = pattern[piece]["armhole" if piece == "back" else "cap.back"]
        (notch,) = edge.notches
        single.append(replace(pair[0], at=tuple(edge.curve.point_at(notch.at).tolist())))
    reading = read(svg_of(lines, single))
    sleeve = reading.patterns[0]["sleeve"]
    for name in ("cap.front", "cap.back"):
        assert sleeve[name].length == pytest.approx(pattern["sleeve"][name].length, abs=SAME)
    assert any("told by the notches" in f.message for f in reading.findings)


def test_the_front_of_a_sleeve_is_told_by_the_armholes(read, women):
    _, lines, _, pattern = women
    reading = read(svg_of(lines))
    sleeve = reading.patterns[0]["sleeve"]
    # the lowest point of this cap's halves differ, so that the crown is at its top here as there
    assert sleeve["cap.front"].length == pytest.approx(
        pattern["sleeve"]["cap.front"].length, abs=0.5
    )
    assert any("told by the lengths" in f.message for f in reading.findings)


def test_several_files_are_sizes_of_one_block():
    from sleevewright.reading import read_pattern

    files = sorted((SAMPLES / "svg").glob("women_overblock_*.svg"))
    patterns = read_pattern(files).patterns
    assert [p.size for p in patterns] == ["36", "38", "40", "42", "44"]
    assert {p.name for p in patterns} == {"women_overblock"}


def test_several_files_may_hold_the_pieces_of_one_size(read, women, tmp_path):
    from sleevewright.reading import read_pattern

    _path, lines, dots, pattern = women
    files = []
    for piece in ("front", "back", "sleeve"):
        file = tmp_path / f"{piece}_38.svg"
        file.write_text(
            svg_of([x for x in lines if x.piece == piece], [x for x in dots if x.piece == piece])
        )
        files.append(file)
    (again,) = read_pattern(files).patterns
    assert difference(pattern, again) < SAME


def test_strokes_of_a_sample_are_what_the_tests_take_them_for():
    lines, dots = strokes_of(SAMPLES / "svg" / "women_overblock_38.svg")
    assert {x.piece for x in lines} == {"front", "back", "sleeve"}
    assert len(dots) == 7
