"""Every finished piece says what it is, inside itself; no letters run over a line or over others."""

from shapely import LineString

from samples_of_ours import from_svg, recipe
from sleevewright.finishing.letter_room import letter_box
from sleevewright.geometry.region import polygon
from sleevewright.pipeline.convert import convert
from sleevewright.writing import lay_out

#: mm; a size of ISO 3098.
LEGIBLE = 2.5


def test_lettering(variants) -> None:
    for result in variants:
        for placed in lay_out(result).pieces:
            where = (variants.block, result.size, variants.name, placed.piece.name)
            says_what_it_is(placed.texts, result.size, where)
            stands_clear(placed, where)
            names_folds(placed, where)


def says_what_it_is(texts, size, where):
    """Style, piece, size, how it is cut, allowance; legible, and no smaller than names of edges."""
    own = [t for t in texts if not t.about]
    words = {t.text for t in own}
    assert f"SIZE {size}" in words, where
    assert any(w.startswith("CUT ") for w in words), where
    assert any(w.startswith("ALLOWANCE ") for w in words), where
    least = min(t.height for t in own)
    assert all(LEGIBLE <= t.height <= least for t in texts if t.about), where
    assert least >= LEGIBLE, (where, least)


def stands_clear(placed, where):
    """Every line of letters is inside the sewing line and clear of all that is drawn."""
    sew = polygon([e.curve for e in placed.piece.edges])
    drawn = [(line.kind.value, LineString(line.curve.flattened())) for line in placed.lines]
    drawn += [("notch", LineString(notch.points)) for notch in placed.notches]
    boxes = [(t.text, letter_box(t)) for t in placed.texts]
    for i, (text, area) in enumerate(boxes):
        assert sew.contains(area), (where, text)
        for kind, line in drawn:
            assert not area.intersects(line), (where, text, kind)
        for other, beside in boxes[i + 1 :]:
            assert not area.intersects(beside), (where, text, other)


def names_folds(placed, where):
    """Along every fold inside is the word FOLD."""
    named = {t.about for t in placed.texts if t.text == "FOLD"}
    assert named == {line.name for line in placed.piece.internal if line.is_fold}, where


def test_most_edges_are_named():
    """Names are left out only where edges are short or crowded: of the raglan, none but necklines."""
    result = convert(from_svg("women_overblock")[2], recipe("classic-raglan"), {})
    for piece in result.pattern.pieces:
        named = {t.about for t in piece.finish.lettering}
        unnamed = {e.name for e in piece.edges if e.name not in named}
        assert unnamed <= {"neckline.front", "neckline.back"}, piece.name
