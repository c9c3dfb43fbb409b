"""The page for a plotter: roll, grain along it, gaps, length of a page."""

import io
from dataclasses import replace

import numpy as np
import pikepdf
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from oblong import cut_rectangle as rectangle
from sleevewright.errors import WriteError
from sleevewright.geometry import Curve
from sleevewright.print_settings import PrintSettings
from sleevewright.writing.pdf import write_plot
from sleevewright.writing.pdf.packing import pack

POINT = 25.4 / 72  # mm: 72 points an inch, ISO 32000


def of(result, *pieces, **printing):
    pattern = replace(result.pattern, pieces=pieces, seams=())
    return replace(result, pattern=pattern, printing=PrintSettings(**printing))


def placed(data):
    """Per page: matrices to mm of every form it draws, by a small interpreter of q, Q and cm."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            matrix, stack, found = np.eye(3), [], {}
            for operands, operator in pikepdf.parse_content_stream(page):
                match str(operator):
                    case "q":
                        stack.append(matrix)
                    case "Q":
                        matrix = stack.pop()
                    case "cm":
                        a, b, c, d, e, f = map(float, operands)
                        matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
                    case "Do":
                        found[str(operands[0])] = matrix * POINT
            yield found


def pages(data):
    reader = pypdf.PdfReader(io.BytesIO(data))
    return [
        (float(p.mediabox.width) * POINT, float(p.mediabox.height) * POINT, p) for p in reader.pages
    ]


def test_one_page_as_wide_as_the_roll(result):
    for roll in (914.4, 1067.0):
        ((wide, high, page),) = pages(write_plot([of(result, *result.pattern.pieces, roll=roll)]))
        assert wide == pytest.approx(roll, abs=1e-3)
        assert 300 < high < 5080
        assert page.mediabox == page.cropbox == page.trimbox
        assert "/UserUnit" not in page


def test_the_same_bytes_every_time_and_text_is_text(result):
    data = write_plot([result])
    assert data == write_plot([result])
    text = pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    for words in ("classic", "overblock", "size 38", "FRONT", "SLEEVE", "before you cut cloth"):
        assert words in text


def test_pieces_keep_their_gap_and_the_margins(result):
    """Boxes of 300 x 200 and 300 x 100 mm on a roll of 640 mm: 20 mm apart, 10 mm from the border."""
    sizes = {"/P0": (300.0, 200.0), "/P1": (300.0, 100.0), "/P2": (500.0, 50.0)}
    pieces = [rectangle(name[1:], *size) for name, size in sizes.items()]
    data = write_plot([of(result, *pieces, roll=640.0)])
    ((wide, high, _),) = pages(data)
    (found,) = placed(data)
    boxes = []
    for name, size in sizes.items():
        x, y = found[name][2, :2]
        boxes.append(box(x, y, x + size[0], y + size[1]))
        assert boxes[-1].bounds[0] >= 10 - 1e-3
        assert boxes[-1].bounds[2] <= wide - 10 + 1e-3
        assert boxes[-1].bounds[1] >= 10 - 1e-3
        assert boxes[-1].bounds[3] <= high - 10 + 1e-3
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a.distance(b) >= 20 - 1e-3
    # the two of 300 abreast, the third above one of them: never longer than all three in a pile
    assert high <= 200 + 100 + 50 + 2 * 20 + 2 * 10 + 1e-3


def test_the_grain_runs_along_the_roll(result):
    """A grain that points right is turned to point up the page; the piece 400 mm wide with it."""
    piece = rectangle("band", 400, 60, grain=Curve.line((50, 30), (350, 30)))
    ((_, high, _),) = pages(write_plot([of(result, piece)]))
    (found,) = placed(write_plot([of(result, piece)]))
    along = np.array([1.0, 0.0, 0.0]) @ found["/P0"]
    assert along[:2] == pytest.approx([0.0, 1.0], abs=1e-6)
    assert high == pytest.approx(400 + 2 * 10, abs=1e-3)


def test_a_long_layout_goes_on_several_pages(result):
    """Four pieces of 800 x 2000 mm, one abreast on 914.4 mm: two fit in 5080 mm, so two pages."""
    pieces = [rectangle(f"long_{i}", 800, 2000) for i in range(4)]
    data = write_plot([of(result, *pieces)])
    sizes = pages(data)
    assert len(sizes) == 2
    assert all(high <= 5080 + 1e-3 for _, high, _ in sizes)
    names = [name for page in placed(data) for name in page]
    assert sorted(names) == ["/P0", "/P1", "/P2", "/P3"]


def test_what_does_not_go_on_the_roll_is_refused(result):
    with pytest.raises(WriteError, match="cape .* takes 900 x 100 mm") as refused:
        write_plot([of(result, rectangle("cape", 900, 100))])
    said = str(refused.value)
    assert f"the recipe {result.recipe}" in said
    assert "outputs: {roll: 920 mm}" in said  # 10 mm free on either side
    wider = replace(of(result, rectangle("cape", 900, 100)), printing=PrintSettings(roll=920.0))
    write_plot([wider])
    ((wide, _, _),) = pages(write_plot([of(result, rectangle("cape", 900, 100), scale=0.5)]))
    assert wide == pytest.approx(914.4, abs=1e-3)


sides = st.floats(5.0, 500.0)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=12), st.floats(0.0, 30.0))
def test_packed_boxes_keep_their_distance(boxes, gap):
    """Shapely judges: inside the strip, the gap between any two, on pages no longer than allowed."""
    spots = pack(boxes, 500.0, 1200.0, gap)
    laid = [
        (s.page, box(*s.at, s.at[0] + w, s.at[1] + h))
        for s, (w, h) in zip(spots, boxes, strict=True)
    ]
    for i, (page, a) in enumerate(laid):
        assert a.bounds[0] >= 0
        assert a.bounds[1] >= 0
        assert a.bounds[2] <= 500.0 + 1e-6
        assert a.bounds[3] <= 1200.0 + 1e-6
        for other, b in laid[i + 1 :]:
            if page == other:
                apart = max(
                    b.bounds[0] - a.bounds[2], a.bounds[0] - b.bounds[2],
                    b.bounds[1] - a.bounds[3], a.bounds[1] - b.bounds[3],
                )  # fmt: skip
                assert apart >= gap - 1e-6
    assert sorted({page for page, _ in laid}) == list(range(1 + max(p for p, _ in laid)))


def test_packing_by_hand():
    """Two of 40 x 10 abreast on 100 with a gap of 20; a third goes above: a length of 40."""
    spots = pack([(40.0, 10.0)] * 3, 100.0, 1000.0, 20.0)
    assert sorted((s.page, s.at) for s in spots) == [
        (0, (0.0, 0.0)),
        (0, (0.0, 30.0)),
        (0, (60.0, 0.0)),
    ]
    with pytest.raises(ValueError, match="larger"):
        pack([(101.0, 10.0)], 100.0, 1000.0, 20.0)
