"""What a tiled PDF holds, as pikepdf, pypdf, pdfium and poppler see it; and the pattern joined."""

import io
import re
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pikepdf
import pypdf
import pypdfium2
import pytest
import resvg_py
from PIL import Image
from scipy.spatial import cKDTree
from shapely import box

from oblong import cut_rectangle as rectangle
from sleevewright.pattern import Lettering
from sleevewright.print_settings import Paper, PrintSettings
from sleevewright.writing import FORMATS, lay_out
from sleevewright.writing.pdf import write_pdf

POINT = 25.4 / 72  # mm: 72 points an inch, ISO 32000
DPI = 254  # a pixel is 0.1 mm
MARGIN, OVERLAP = 10.0, 10.0  # mm, as the documentation promises
needs_poppler = pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler is not there")


@pytest.fixture(scope="module")
def data(result):
    return write_pdf([result])


@pytest.fixture(scope="module")
def reader(data):
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def opened(data):
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def rendered(data, folder, first=1, last=None):
    """Pages as grey arrays by poppler, row 0 at the top."""
    (folder / "x.pdf").write_bytes(data)
    pages = ["-f", str(first)] + (["-l", str(last)] if last else [])
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-gray", *pages, "x.pdf", "p"], cwd=folder, check=True
    )
    return [np.asarray(Image.open(p)) for p in sorted(folder.glob("p-*.pgm"))]


def place_of(label):
    """Row and column, from 0, of a label such as B3 or AA12."""
    letters, number = re.fullmatch(r"([A-Z]+)(\d+)", label).groups()
    row = 0
    for letter in letters:
        row = row * 26 + ord(letter) - 64
    return row - 1, int(number) - 1


def printed_at(result, **printing):
    return replace(result, printing=PrintSettings(**printing))


def with_pieces(result, *pieces):
    return replace(result, pattern=replace(result.pattern, pieces=pieces, seams=()))


def drawn(pdf, page):
    """Operators of a page with the matrix in force, a small interpreter of q, Q and cm."""
    matrix, stack = np.eye(3), []
    for operands, operator in pikepdf.parse_content_stream(pdf.pages[page]):
        name = str(operator)
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        else:
            yield name, operands, matrix


# --- pages ------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", list(Paper))
def test_every_page_is_a_sheet_and_its_trim_box_a_tile(result, paper):
    # ISO 216 and ANSI sizes in mm; a tile is the sheet less two margins and one overlap
    sizes = {
        "a4": (210, 297),
        "a3": (297, 420),
        "letter": (215.9, 279.4),
        "tabloid": (279.4, 431.8),
    }
    reader = opened(write_pdf([printed_at(result, paper=paper)]))
    for number, page in enumerate(reader.pages):
        box = page.mediabox
        sides = (float(box.width) * POINT, float(box.height) * POINT)
        assert sorted(sides) == pytest.approx(sorted(sizes[paper]), abs=1e-3)
        assert page.cropbox == box
        trim = [float(v) * POINT for v in page.trimbox]
        if number:
            wanted = [MARGIN, MARGIN + OVERLAP, sides[0] - MARGIN - OVERLAP, sides[1] - MARGIN]
            assert trim == pytest.approx(wanted, abs=1e-3)


def test_the_way_of_fewer_sheets_is_taken_and_portrait_where_both_take_as_many(result):
    # one piece of 100 x 100 mm goes on one sheet either way; the front, 250 x 480 mm with its
    # allowances, takes 2 x 2 tiles of 180 x 267 mm, and one column of three of 267 x 180 mm
    front = result.pattern["front"]
    wide = opened(write_pdf([with_pieces(result, front)]))
    left, bottom, right, top = lay_out(with_pieces(result, front)).pieces[0].lines[0].curve.bounds
    assert 180 < right - left < 265
    assert 267 < top - bottom < 538
    assert len(wide.pages) == 1 + 3
    assert wide.pages[1].mediabox.width > wide.pages[1].mediabox.height
    small = printed_at(with_pieces(result, front), scale=0.25)
    (_, sheet) = opened(write_pdf([small])).pages
    assert sheet.mediabox.width < sheet.mediabox.height


def test_title_language_and_what_a_reader_is_told(data, result):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert str(pdf.docinfo["/Title"]) == "classic, overblock, size 38, neck_drop 30 mm"
        assert pdf.Root.Lang == "en"
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle is True
        assert set(pdf.docinfo.keys()) == {"/Title"}  # no dates


def test_the_same_bytes_every_time(result, data):
    assert write_pdf([result]) == data
    assert data != write_pdf([replace(result, block="other")])


def test_no_pattern_and_unfinished_pieces_are_refused(result):
    with pytest.raises(ValueError, match="no pattern"):
        write_pdf([])
    bare = replace(result.pattern["front"], finish=None)
    with pytest.raises(ValueError, match="not finished"):
        write_pdf([with_pieces(result, bare)])


# --- other readers ----------------------------------------------------------------------------


def test_three_other_readers_open_it(data, reader, tmp_path):
    assert len(pypdfium2.PdfDocument(data)) == len(reader.pages) > 3
    if shutil.which("qpdf"):
        (tmp_path / "x.pdf").write_bytes(data)
        subprocess.run(["qpdf", "--check", "x.pdf"], cwd=tmp_path, check=True, capture_output=True)


def test_fonts_are_embedded_subsets(reader):
    found = 0
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            found += 1
            (descendant,) = font.get_object()["/DescendantFonts"]
            descriptor = descendant.get_object()["/FontDescriptor"]
            assert re.match(r"/[A-Z]{6}\+", descriptor["/FontName"])
            assert len(descriptor["/FontFile2"].get_data()) > 1000
    assert found


def test_layers_by_name(data, result):
    with pikepdf.open(io.BytesIO(write_pdf([result, replace(result, size="40")]))) as pdf:
        names = [str(group.Name) for group in pdf.Root.OCProperties.OCGs]
    kinds = ["cut", "sew", "notch", "grain", "fold", "internal", "drill", "text"]
    assert names == ["size 38", "size 40", *kinds]


def test_hiding_a_layer_hides_its_lines(result, tmp_path):
    """Poppler obeys: without cut and sew lines hardly any black is left of a piece without text."""
    if not shutil.which("pdftoppm"):
        pytest.skip("poppler is not there")
    data = write_pdf([with_pieces(result, without_texts(result.pattern["front"]))])
    (shown,) = rendered(data, tmp_path, 2, 2)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        groups = pdf.Root.OCProperties
        groups.D.OFF = [g for g in groups.OCGs if str(g.Name) in {"cut", "sew", "fold"}]
        target = io.BytesIO()
        pdf.save(target)
    (hidden,) = rendered(target.getvalue(), tmp_path, 2, 2)
    tile = np.s_[110:-210, 110:-210]
    assert (hidden[tile] < 80).sum() < 0.3 * (shown[tile] < 80).sum()


# --- texts ------------------------------------------------------------------------------------


def test_style_block_piece_and_size_are_text_on_every_sheet(reader, result):
    for page in list(reader.pages)[1:]:
        text = page.extract_text()
        assert "classic, overblock, size 38" in text
        assert any(piece.name in text for piece in result.pattern.pieces)
    cover = reader.pages[0].extract_text()
    assert cover.count("check this square before you cut cloth") == 2
    for piece in result.pattern.pieces:
        assert piece.name in cover


def lines_of(pdf, page):
    """Every line that the content of a page itself shows, decoded by the font's own table."""
    (font,) = pdf.pages[page].Resources.Font.values()
    table = font.ToUnicode.read_bytes().decode()
    letters = {
        int(code, 16): bytes.fromhex(text).decode("utf-16-be")
        for code, text in re.findall(r"<([0-9A-F]{4})> <([0-9A-F]{4,8})>\n", table)
    }
    for name, operands, _ in drawn(pdf, page):
        if name == "Tj":
            codes = np.frombuffer(bytes(operands[0]), dtype=">u2")
            yield "".join(letters[code] for code in codes.tolist())


def test_neighbours_name_one_another(data, reader):
    """A sheet says the label of each neighbour, and a joint's number stands on its two sheets."""
    labels = reader.page_labels[1:]
    with pikepdf.open(io.BytesIO(data)) as pdf:
        said = {label: list(lines_of(pdf, i)) for i, label in enumerate(labels, start=1)}
    places = {place_of(label): label for label in labels}
    joints = 0
    for (row, column), label in places.items():
        for other in ((row, column + 1), (row + 1, column)):
            if other in places:
                joints += 1
                here, there = said[label], said[places[other]]
                assert places[other] in here
                assert label in there
                # in both halves of the diamond, on both sheets
                assert any(n.isdecimal() and here.count(n) == there.count(n) == 2 for n in here)
    assert joints > 2
    everywhere = [line for lines in said.values() for line in lines if line.isdecimal()]
    assert sorted(map(int, everywhere)) == sorted([*range(1, joints + 1)] * 4)


HOSTILE = "a(b\\)\x00\x1b[2J) <</x>> endstream \u202eÄrmel 袖 рукав 👗"


def test_hostile_names_stay_text(result):
    front = result.pattern["front"]
    line = Lettering(text=HOSTILE, at=(-150.0, 200.0), height=4.0)
    piece = replace(front, name=HOSTILE, finish=replace(front.finish, lettering=(line,)))
    data = write_pdf([replace(with_pieces(result, piece), block=HOSTILE, size=HOSTILE)])
    # what no text can hold (controls, a turn of direction) is written as U+FFFD
    wanted = re.sub("[\x00\x1b\u202e]", "�", HOSTILE)
    reader = opened(data)
    assert wanted in reader.metadata.title
    squeezed = re.sub(r"\s", "", wanted)
    texts = [re.sub(r"\s", "", page.extract_text()) for page in reader.pages]
    assert squeezed in texts[0]
    assert any(squeezed in text for text in texts[1:])
    assert "\x00" not in "".join(texts)
    pdfium = pypdfium2.PdfDocument(data)[1].get_textpage().get_text_bounded()
    assert "endstream" in pdfium


def test_names_on_the_map_do_not_collide(result):
    """Narrow pieces side by side: the words of one are written clear of its neighbour's."""
    sleeve = result.pattern["sleeve"]
    strips = [rectangle(f"sleeve_{side}", 40, 600) for side in ("front", "back")]
    page = pypdfium2.PdfDocument(write_pdf([with_pieces(result, sleeve, *strips)]))[0]
    text = page.get_textpage()
    said = text.get_text_range()
    assert "sleeve_" not in said
    boxes = []
    for words in ("sleeve front", "sleeve back"):
        at, count = text.search(words).get_next()
        rects = np.array([text.get_charbox(i) for i in range(at, at + count)])
        boxes.append(box(*rects[:, :2].min(axis=0), *rects[:, 2:].max(axis=0)))
    assert not boxes[0].intersects(boxes[1])


@pytest.mark.parametrize("letters", [1, 400])
def test_long_names_stay_on_the_sheet(result, letters):
    """By pdfium's boxes of the letters; nothing comes nearer than 10 mm to the border."""
    piece = replace(without_texts(result.pattern["front"]), name="wide " * letters)
    data = write_pdf([replace(with_pieces(result, piece), recipe="style " * letters)])
    for page in pypdfium2.PdfDocument(data):
        text = page.get_textpage()
        boxes = np.array([text.get_charbox(i) for i in range(text.count_chars())])
        assert len(boxes) > 20
        assert boxes[:, 0].min() * POINT > MARGIN - 0.1
        assert boxes[:, 2].max() * POINT < page.get_width() * POINT - MARGIN + 0.1


# --- scale ------------------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [1.0, 0.5, 0.25])
def test_the_test_squares_are_true_in_the_content_stream(result, scale):
    """100 mm, and 4 in = 101.6 mm, whatever the scale of the pattern."""
    data = write_pdf([printed_at(result, scale=scale)])
    sides = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for name, operands, matrix in drawn(pdf, 0):
            if name == "re":
                width, height = (float(v) for v in operands[2:])
                right = np.array([width, 0, 0]) @ matrix
                up = np.array([0, height, 0]) @ matrix
                sides.append((np.hypot(*right[:2]) * POINT, np.hypot(*up[:2]) * POINT))
    for wanted in (100.0, 101.6):
        assert (pytest.approx(wanted, abs=1e-3), pytest.approx(wanted, abs=1e-3)) in sides


@needs_poppler
def test_the_test_squares_are_true_in_pixels(data, tmp_path):
    """The four upright and four level lines that are longest lie 1000 and 1016 pixels apart."""
    (page,) = rendered(data, tmp_path, 1, 1)
    black = page < 128
    for axis in (0, 1):
        found = np.flatnonzero(black.sum(axis=axis) > 950)
        lines = [g.mean() for g in np.split(found, np.flatnonzero(np.diff(found) > 3) + 1)]
        gaps = {round(b - a) for i, a in enumerate(lines) for b in lines[i + 1 :]}
        assert gaps & {999, 1000, 1001}
        assert gaps & {1015, 1016, 1017}


def test_the_pattern_is_placed_at_its_scale(result):
    for scale in (1.0, 0.5, 0.25):
        data = write_pdf([printed_at(result, scale=scale)])
        with pikepdf.open(io.BytesIO(data)) as pdf:
            placed = [m for name, _, m in drawn(pdf, 1) if name == "Do"]
        assert placed
        for matrix in placed:
            assert matrix[:2, :2] * POINT == pytest.approx(scale * np.eye(2), abs=1e-9)


def test_curves_are_cubics_and_lines_are_lines(data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        form = pdf.pages[0].Resources.XObject["/P0"]
        operators = [str(op) for _, op in pikepdf.parse_content_stream(form)]
    # the armhole has two cubics, the neckline one; the cut line of the fixture is a polyline
    assert operators.count("c") >= 3
    assert operators.count("l") > 10


# --- joined -----------------------------------------------------------------------------------


def without_texts(piece):
    return replace(piece, finish=replace(piece.finish, lettering=()))


def joined(data, folder):
    """Sheets pasted by their labels, each trimmed to its tile: an image in tenths of a mm."""
    reader = opened(data)
    labels = reader.page_labels[1:]
    images = rendered(data, folder, 2)
    trim = [float(v) * POINT * 10 for v in reader.pages[1].trimbox]
    height = images[0].shape[0]
    left, right = round(trim[0]), round(trim[2])
    upper, lower = round(height - trim[3]), round(height - trim[1])
    wide, high = right - left, lower - upper
    places = [place_of(label) for label in labels]
    rows, columns = (max(p[k] for p in places) + 1 for k in (0, 1))
    whole = np.full((rows * high, columns * wide), 255, dtype=np.uint8)
    for (row, column), image in zip(places, images, strict=True):
        tile = image[upper:lower, left:right]
        whole[row * high : (row + 1) * high, column * wide : (column + 1) * wide] = tile
    return whole


def as_svg_shows(result):
    """The SVG by resvg, tenths of a mm a pixel."""
    png = resvg_py.svg_to_bytes(
        svg_string=FORMATS["svg"](result).decode(), dpi=DPI, background="white"
    )
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L"))


def black_pixels(image):
    """Where an image is darker than 80 of 255, tenths of a mm from the middle of all of it.

    The pens of marks round the pattern are grey: what is darker is pattern. Where the whole lies
    on the paper, and so on the grid of pixels, does not matter; hence from the middle.
    """
    points = np.argwhere(image < 80)
    return points - (points.min(axis=0) + points.max(axis=0)) / 2


def farthest(a, b):
    """mm: how far a black pixel of one image is at most from the nearest of the other."""
    return max(cKDTree(b).query(a)[0].max(), cKDTree(a).query(b)[0].max()) / 10


@needs_poppler
@pytest.mark.parametrize(("paper", "names"), [(Paper.A4, ("sleeve",)), (Paper.LETTER, ("front",))])
def test_sheets_joined_by_their_labels_are_the_pattern(result, tmp_path, paper, names):
    """Within 0.2 mm of the SVG, which another renderer draws: two pixels."""
    pieces = [without_texts(result.pattern[name]) for name in names]
    pattern = printed_at(with_pieces(result, *pieces), paper=paper)
    paper_side = black_pixels(joined(write_pdf([pattern]), tmp_path))
    svg_side = black_pixels(as_svg_shows(pattern))
    assert len(svg_side) > 10_000
    assert farthest(paper_side, svg_side) <= 0.2


@needs_poppler
def test_the_comparison_bites(result, tmp_path):
    """A notch half a millimetre off is found."""
    piece = without_texts(result.pattern["front"])
    cut = piece.finish.notches[0]
    moved = replace(cut, point=(cut.point[0], cut.point[1] + 0.5))
    other = replace(piece, finish=replace(piece.finish, notches=(moved,)))
    paper_side = black_pixels(joined(write_pdf([with_pieces(result, other)]), tmp_path))
    svg_side = black_pixels(as_svg_shows(with_pieces(result, piece)))
    assert farthest(paper_side, svg_side) > 0.2


@needs_poppler
def test_neighbours_print_the_overlap_alike(data, tmp_path):
    """The right flap of a sheet shows what the first 10 mm of its right neighbour show."""
    reader = opened(data)
    labels = reader.page_labels[1:]
    images = dict(zip(labels, rendered(data, tmp_path, 2), strict=True))
    trim = [float(v) * POINT * 10 for v in reader.pages[1].trimbox]
    left, right = round(trim[0]), round(trim[2])
    compared = 0
    for label, image in images.items():
        row, column = place_of(label)
        other = next((o for o in labels if place_of(o) == (row, column + 1)), None)
        if other is None:
            continue
        rows = np.s_[120 : image.shape[0] - 260]
        flap = image[rows, right + 3 : right + 97] < 80
        start = images[other][rows, left + 3 : left + 97] < 80
        if flap.any() and start.any():
            compared += 1
            assert (flap ^ start).mean() < 0.01
            assert (flap & start).any()
    assert compared


@needs_poppler
def test_nothing_is_printed_in_the_margins(data, tmp_path):
    for page in rendered(data, tmp_path, 1, 4):
        inside = np.zeros(page.shape, bool)
        inside[98:-98, 98:-98] = True
        assert (page[~inside] > 250).all()


def test_empty_sheets_are_left_out(result):
    """A sleeve 580 mm high beside a belt 60 mm high: above the belt there is nothing to print."""
    pattern = with_pieces(result, result.pattern["sleeve"], rectangle("belt", 400, 60))
    reader = opened(write_pdf([pattern]))
    places = [place_of(label) for label in reader.page_labels[1:]]
    rows, columns = (max(p[k] for p in places) + 1 for k in (0, 1))
    assert len(places) < rows * columns
    assert (0, columns - 1) not in places
    assert (rows - 1, columns - 1) in places


def test_a_sheet_inside_a_piece_is_kept(result):
    """The paper of a piece is whole: 3 x 3 tiles of 180 x 267 mm, the middle one without a line."""
    reader = opened(write_pdf([with_pieces(result, rectangle("cloak", 530, 790))]))
    assert reader.page_labels[1:] == [f"{row}{n}" for row in "ABC" for n in (1, 2, 3)]
