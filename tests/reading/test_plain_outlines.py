"""Closed outlines without labels, and pieces drawn whole."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sleevewright.errors import LabelError, Place
from sleevewright.geometry import Affine, Curve
from sleevewright.reading import read_pattern
from sleevewright.reading.closing import Link, chained

from .conftest import Dot, Line, difference, svg_of

MARKS = ("grain", "fold")


def _ring(lines, piece):
    links = [
        Link(x.curve, x, x.role, Place()) for x in lines if x.piece == piece and x.role not in MARKS
    ]
    return Curve.joined([link.curve for link in chained(links, piece)[0]])


def plain(lines, dots=(), marks=True):
    """One path a piece in an anonymous group; grainlines and notches labelled as such."""
    out = [Line("sheet", "x", _ring(lines, p)) for p in dict.fromkeys(x.piece for x in lines)]
    if marks:
        out += [replace(x, piece="sheet") for x in lines if x.role in MARKS]
    return out, [replace(d, piece="sheet") for d in dots]


def whole(lines, dots):
    """Front and back drawn with both halves, apart from one another."""
    out, marks = [], []
    for i, name in enumerate(("front", "back", "sleeve")):
        move = Affine.translation((2000.0 * i, 0.0))
        own = [x for x in lines if x.piece == name]
        own_dots = [d for d in dots if d.piece == name]
        images: list[Line] = []
        images_dots: list[Dot] = []
        if name != "sleeve":
            centre = next(x.curve for x in own if x.role == "centre")
            mirror = Affine.reflection(centre.start, centre.end - centre.start)
            own = [x for x in own if x.role not in ("centre", "fold")]
            images = [x.moved(mirror) for x in own if x.role != "grain"]
            images_dots = [d.moved(mirror) for d in own_dots]
        out += [x.moved(move) for x in (*own, *images)]
        marks += [d.moved(move) for d in (*own_dots, *images_dots)]
    return out, marks


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(degrees=st.floats(0, 360), mirrored=st.booleans())
def test_outlines_are_recognised_whichever_way_they_lie(sample, read, degrees, mirrored):
    _, lines, dots, pattern = sample
    move = Affine.rotation(degrees) @ Affine.scaling(-1.0 if mirrored else 1.0, 1.0)
    drawn, marks = plain(lines, dots)
    reading = read(svg_of([x.moved(move) for x in drawn], [x.moved(move) for x in marks]))
    assert difference(pattern, reading.patterns[0]) < 1e-4
    assert sum(f.check == "recognition" for f in reading.findings) == 3


def test_outlines_of_polylines_are_recognised(sample, read):
    _, lines, dots, pattern = sample
    drawn, marks = plain(lines, dots)
    drawn = [
        replace(x, curve=Curve.polyline(x.curve.flattened(0.02))) if x.role == "x" else x
        for x in drawn
    ]
    (again,) = read(svg_of(drawn, marks)).patterns
    assert difference(pattern, again) < 0.05


def test_nothing_but_outlines(women, read):
    _, lines, _, pattern = women
    reading = read(svg_of(*plain(lines, marks=False)))
    (again,) = reading.patterns
    for name in ("front", "back"):
        for edge in pattern[name].edges:
            assert again[name][edge.name].length == pytest.approx(edge.length, abs=1e-4)
    assert again["sleeve"]["cap.front"].length == pytest.approx(
        pattern["sleeve"]["cap.front"].length, abs=0.5
    )


def test_a_sleeve_that_fits_both_ways_is_doubt_and_the_label_map_settles_it(read):
    from sleevewright.reading import read_pattern

    from .conftest import SAMPLES, strokes_of

    path = SAMPLES / "svg" / "men_overblock_50.svg"
    (pattern,) = read_pattern([path]).patterns
    text = svg_of(*plain(strokes_of(path)[0], marks=False))
    with pytest.raises(LabelError, match="sleeve_front: right"):
        read(text)
    (again,) = read(text, labels="sleeve_front: right\n").patterns
    assert again["sleeve"]["cap.front"].length == pytest.approx(
        pattern["sleeve"]["cap.front"].length, abs=0.5
    )


def test_two_equal_bodices_are_doubt(women, read):
    _, lines, _dots, _ = women
    front = [x for x in lines if x.piece == "front"]
    again = [replace(x.moved(Affine.translation((900, 0))), piece="second") for x in front]
    drawn, _ = plain(front + again, marks=False)
    with pytest.raises(LabelError, match="outline 1: front, outline 2: back"):
        read(svg_of(drawn))


def test_a_shape_that_is_no_piece_names_the_line_that_leaves_it_out(women, read):
    _, lines, dots, pattern = women
    drawn, marks = plain(lines, dots)
    ring = Curve.polyline([(0, 2000), (300, 2000), (300, 2100), (150, 2200), (0, 2100), (0, 2000)])
    text = svg_of([*drawn, Line("sheet", "x", ring)], marks)
    with pytest.raises(LabelError, match=r"pieces: {outline 4: ignore}"):
        read(text)
    (again,) = read(text, labels="pieces: {outline 4: ignore}\n").patterns
    assert difference(pattern, again) < 1e-4


def test_outlines_may_be_named_by_the_label_map(women, read):
    _, lines, dots, pattern = women
    drawn, marks = plain(lines, dots)
    named = "pieces: {outline 1: front, outline 2: back, outline 3: sleeve}\n"
    (again,) = read(svg_of(drawn, marks), labels=named).patterns
    assert difference(pattern, again) < 1e-4


@pytest.mark.parametrize("labelled", [True, False])
def test_pieces_drawn_whole_come_out_as_halves_on_the_fold(sample, read, labelled):
    _, lines, dots, pattern = sample
    drawn, marks = whole(lines, dots)
    if not labelled:
        drawn, marks = plain(drawn, marks)
    reading = read(svg_of(drawn, marks))
    assert difference(pattern, reading.patterns[0]) < 1e-3
    assert sum("drawn whole" in f.message for f in reading.findings) == 2


def test_halves_that_differ_are_refused(women, read):
    _, lines, dots, _ = women
    drawn, marks = whole(lines, dots)
    hems = [i for i, x in enumerate(drawn) if x.piece == "front" and x.role == "hem"]
    line = drawn[hems[1]]
    a, b = line.curve.start, line.curve.end
    drawn[hems[1]] = replace(line, curve=Curve.cubic(a, a - [0, 30], b - [0, 30], b))
    with pytest.raises(LabelError, match="its halves differ"):
        read(svg_of(drawn, marks))


@pytest.mark.parametrize("short", [0.0, 1e-8, 1e-7, 2e-6])
def test_a_step_of_no_length_at_a_corner_is_no_edge(short: float, tmp_path) -> None:
    """Drawn with the pen put down beside the corner, as a rounded coordinate does."""
    drawn = (
        f'<path d="M0 0H300 V200 L0 200.5 V{-short} L{-short} 0z" fill="none"/>'
        '<path d="M400 0H700V200H400z" fill="none"/>'
    )
    path = tmp_path / "two.svg"
    path.write_text(f'<svg width="800mm" height="400mm" viewBox="0 0 800 400">{drawn}</svg>')
    with pytest.raises(LabelError, match="outline 1") as caught:  # a rectangle is no piece
        read_pattern([path])
    assert all("outline" in problem.found for problem in caught.value.problems)
