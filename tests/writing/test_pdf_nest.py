"""Several sizes in one PDF: nested piece by piece, told apart by dashes and by colour."""

import io
from dataclasses import replace

import numpy as np
import pikepdf
import pypdf
import pytest

from sleevewright.formats.line_styles import LINE_STYLES, LineKind
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import CutEdge, Edge, Finish, Lettering, Piece, Role
from sleevewright.writing import lay_out
from sleevewright.writing.pdf import write_pdf, write_plot
from sleevewright.writing.pdf.nests import nests_of


def square(side, x=0.0, grain=True, size=""):
    """A square piece cut where it is sewn, its grainline a quarter of the way across."""
    corners = [(x, 0.0), (x + side, 0.0), (x + side, side), (x, side)]
    sides = [Curve.line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    edges = tuple(Edge(name=f"side.{i}", role=Role.HEM, curve=c) for i, c in enumerate(sides))
    text = Lettering(text=f"SIZE {size}", at=(x + side / 3, side / 2), height=5.0)
    finish = Finish(
        allowances=tuple((e.name, 0.0) for e in edges),
        cut_line=(CutEdge(edge="", curve=Curve.joined(sides)),),
        notches=(),
        lettering=(text,),
    )
    line = Curve.line((x + side / 4, side / 4), (x + side / 4, side / 2)) if grain else None
    return Piece(name="square", edges=edges, grain=line, finish=finish)


def sized(result, size, *pieces):
    return replace(result, size=size, pattern=replace(result.pattern, pieces=pieces, seams=()))


@pytest.fixture(scope="module")
def nested(result):
    sides = {"36": 80.0, "38": 100.0, "40": 120.0}
    results = [sized(result, s, square(side, x=7.0, size=s)) for s, side in sides.items()]
    return write_pdf(results)


def state_and_paths(data, form):
    """(layers, colour, dash, width, points) of every stroke of a form."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        stream = pdf.pages[0].Resources.XObject[f"/{form}"]
        names = {k: str(v.Name) for k, v in stream.Resources.Properties.items()}
        layers, colour, dash, width, points = [], None, None, None, []
        for operands, operator in pikepdf.parse_content_stream(stream):
            match str(operator):
                case "BDC":
                    layers.append(names[str(operands[1])])
                case "EMC":
                    layers.pop()
                case "RG":
                    colour = tuple(float(v) for v in operands)
                case "d":
                    dash = tuple(float(v) for v in operands[0])
                case "w":
                    width = float(operands[0])
                case "m":
                    points = [tuple(map(float, operands))]
                case "l" | "c":
                    points.append(tuple(float(v) for v in operands[-2:]))
                case "s" | "S":
                    yield tuple(layers), colour, dash, width, np.array(points)
        assert not layers


def cut_lines(data):
    found = {}
    for layers, colour, dash, width, points in state_and_paths(data, "P0"):
        if "cut" in layers:
            (size,) = [name for name in layers if name.startswith("size ")]
            found[size] = (colour, dash, width, points)
    return found


def test_sizes_differ_in_dashes_and_in_colour(nested):
    lines = cut_lines(nested)
    assert list(lines) == ["size 36", "size 38", "size 40"]
    assert len({colour for colour, *_ in lines.values()}) == 3
    assert len({dash for _, dash, *_ in lines.values()}) == 3
    assert lines["size 36"][:2] == ((0.0, 0.0, 0.0), ())


def test_every_colour_is_read_on_white_as_black_is(result):
    """Relative luminance and contrast after WCAG 2: 4.5 : 1 or more."""
    results = [sized(result, str(n), square(80.0 + n)) for n in range(9)]
    for colour, *_ in cut_lines(write_pdf(results)).values():
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
        luminance = np.dot(linear, (0.2126, 0.7152, 0.0722))
        assert 1.05 / (luminance + 0.05) >= 4.5


def test_sizes_meet_on_the_grainline_and_at_the_hem(nested):
    """Sides of 80, 100, 120 mm, the grain at a quarter: left ends at 10, 5 and 0 mm."""
    lefts = [points[:, 0].min() for *_, points in cut_lines(nested).values()]
    bottoms = [points[:, 1].min() for *_, points in cut_lines(nested).values()]
    assert lefts == pytest.approx([10.0, 5.0, 0.0], abs=1e-3)
    assert bottoms == pytest.approx([0.0, 0.0, 0.0], abs=1e-3)


def test_sizes_without_a_grainline_meet_at_the_lower_left(result):
    sides = {"36": 80.0, "38": 100.0}
    results = [sized(result, s, square(side, x=3.0, grain=False)) for s, side in sides.items()]
    for *_, points in cut_lines(write_pdf(results)).values():
        assert points.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-3)


def test_sizes_on_the_fold_meet_on_the_fold(result):
    """The front has its fold at the right: the right ends of all cut lines are one."""
    front = result.pattern["front"]
    grown = front.transformed(Affine.translation((31.0, 17.0)))
    moved = tuple(
        CutEdge(edge=c.edge, curve=c.curve.transformed(Affine.translation((31.0, 17.0))))
        for c in front.finish.cut_line
    )
    other = replace(grown, finish=replace(front.finish, cut_line=moved, notches=(), lettering=()))
    data = write_pdf([sized(result, "38", front), sized(result, "40", other)])
    first, second = (points for *_, points in cut_lines(data).values())
    assert first == pytest.approx(second, abs=1e-3)


def test_pieces_of_one_name_lie_on_one_another_and_others_beside(result):
    small = sized(result, "36", result.pattern["front"], square(80.0))
    large = sized(result, "38", result.pattern["front"], square(90.0), result.pattern["sleeve"])
    with pikepdf.open(io.BytesIO(write_pdf([small, large]))) as pdf:
        forms = {str(name) for name in pdf.pages[0].Resources.XObject}
    assert {name for name in forms if name.startswith("/P")} == {"/P0", "/P1", "/P2"}


def test_names_of_sizes_are_text(nested):
    reader = pypdf.PdfReader(io.BytesIO(nested))
    assert "sizes 36, 38, 40" in reader.metadata.title
    cover, *sheets = (page.extract_text() for page in reader.pages)
    for size in ("36", "38", "40"):
        assert f"size {size}" in cover  # in the legend
    assert any("SIZE 36" in text for text in sheets)


def test_two_results_of_one_size_keep_layers_apart(result):
    data = write_pdf([sized(result, "36", square(80.0)), sized(result, "36", square(90.0))])
    assert list(cut_lines(data)) == ["size 36", "size 36 (2)"]


def test_one_size_is_black_alone(result):
    data = write_pdf([result])
    assert lay_out(result).pieces[0].piece.name == "front"
    strokes = list(state_and_paths(data, "P0"))
    assert len(strokes) > 10
    assert {colour for _, colour, *_ in strokes} == {(0.0, 0.0, 0.0)}
    assert all("size 38" in layers for layers, *_ in strokes)


def test_grain_and_fold_are_drawn_once_whatever_the_number_of_sizes(result):
    """Brackets and arrow heads of four sizes on one another could not be told apart."""

    def count(data, kind):
        return sum(kind in layers for layers, *_ in state_and_paths(data, "P0"))

    front = result.pattern["front"]
    one = write_pdf([sized(result, "36", front)])
    four = write_pdf([sized(result, size, front) for size in ("36", "38", "40", "42")])
    # the grainline and two heads; the fold line, its bracket and two heads
    for kind, strokes in (("grain", 3), ("fold", 4)):
        assert count(one, kind) == count(four, kind) == strokes
    assert count(four, "cut") == 4 * count(one, "cut") == 4


def test_of_several_sizes_cut_lines_alone_are_drawn_and_darts(result):
    """Where the grade is the allowance, a cut line would lie on the next size's sewing line."""
    one = write_pdf([result])
    two = write_pdf([sized(result, size, *result.pattern.pieces) for size in ("36", "38")])
    for i, piece in enumerate(result.pattern.pieces):
        legs = sum(2 for _ in (*piece.darts(), *piece.slits()))
        sewn = [
            [1 for layers, *_ in state_and_paths(data, f"P{i}") if "sew" in layers]
            for data in (one, two)
        ]
        assert [len(lines) for lines in sewn] == [len(piece.edges), 2 * legs]


def test_sizes_look_like_no_kind_of_line(result):
    """No dots and no short dashes: those are folds, sewing lines and lines inside."""
    kinds = {style.dash for style in LINE_STYLES.values()} - {()}
    results = [sized(result, str(n), square(80.0 + 9 * n, size=str(n))) for n in range(8)]
    rhythms = [dash for _, dash, *_ in cut_lines(write_pdf(results)).values()]
    assert len(set(rhythms)) == 8
    assert not kinds & set(rhythms)
    assert min(length for dash in rhythms for length in dash[::2]) > max(
        length for kind in (LineKind.SEW, LineKind.INTERNAL) for length in LINE_STYLES[kind].dash
    )


def test_names_that_lines_of_other_sizes_cross_are_left_out(result):
    """The name of the left side, 3 mm inside of it, is on the line of the larger size: it goes."""
    small, large = square(80.0, x=7.0, size="36"), square(100.0, x=7.0, size="38")
    names = tuple(
        Lettering(text=text, at=at, height=3.0, angle=angle, about=about)
        for text, at, angle, about in (
            ("LOW", (40.0, 3.0), 0.0, "side.0"),
            ("LEFT", (10.0, 40.0), 90.0, "side.3"),
        )
    )
    with_names = replace(small.finish, lettering=(*small.finish.lettering, *names))
    small = replace(small, finish=with_names)
    # ends of the grainlines meet: move the larger one's so that its left end is in the name
    line = Curve.line((7.0 + 19.0, 25.0), (7.0 + 19.0, 50.0))
    large = replace(large, grain=line)
    (nest,) = nests_of([sized(result, "36", small), sized(result, "38", large)])
    assert [t.text for t in nest.texts] == ["SIZE 36", "LOW"]
    (alone,) = nests_of([sized(result, "36", small)])
    assert [t.text for t in alone.texts] == ["SIZE 36", "LOW", "LEFT"]


def test_a_plot_of_several_sizes_has_a_legend(result):
    results = [sized(result, s, square(80.0 + n, size=s)) for n, s in enumerate(("36", "38"))]
    (page,) = pypdf.PdfReader(io.BytesIO(write_plot(results))).pages
    text = page.extract_text()
    assert "cut, size 36" in text
    assert "cut, size 38" in text
    (page,) = pypdf.PdfReader(io.BytesIO(write_plot(results[:1]))).pages
    assert "cut, size" not in page.extract_text()
