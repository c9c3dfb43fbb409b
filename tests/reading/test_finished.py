"""Finished SVG files are read back as what they are, whatever their pieces are called."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from samples_of_ours import WANT_A_DART, from_svg, recipe
from sleevewright.checking import seam_rows
from sleevewright.errors import ReadError
from sleevewright.finishing import finish
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.pipeline.convert import convert
from sleevewright.reading.finished import read_finished
from sleevewright.writing import FORMATS

NAMES = (
    "classic-raglan", "three-panel-sleeve", "tiered-body", "one-raglan", "kimono-in-one",
    "kimono-diamond-gusset", "petal-sleeve", "raglan-faced", "pleated-sleeve-head",
    "princess-armhole",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("block", ["women_overblock", "child_block"])
def test_read_back_as_it_was(name: str, block: str, tmp_path: Path) -> None:
    if name in WANT_A_DART and block == "child_block":
        pytest.skip("the block has no dart")
    made = convert(from_svg(block)[0], recipe(name)).pattern
    path = tmp_path / "finished.svg"
    path.write_bytes(FORMATS["svg"](convert(from_svg(block)[0], recipe(name))))
    read = read_finished(path)
    assert read is not None
    assert [p.name for p in read.pieces] == [p.name for p in made.pieces]
    for one, other in zip(read.pieces, made.pieces, strict=True):
        assert [e.name for e in one.edges] == [e.name for e in other.edges]
        assert one.area == pytest.approx(other.area, rel=1e-6)
        for a, b in zip(one.edges, other.edges, strict=True):
            assert (a.role, a.side) == (b.role, b.side)
            assert a.length == pytest.approx(b.length, abs=2e-3)
            assert [n.name for n in a.notches] == [n.name for n in b.notches]
            assert [n.at for n in a.notches] == pytest.approx([n.at for n in b.notches], abs=1e-3)
    for row, was in zip(seam_rows(read), seam_rows(made), strict=True):
        assert (row.name, row.status) == (was.name, was.status)
        assert row.difference == pytest.approx(was.difference, abs=5e-3)


@pytest.mark.parametrize("name", ["bust-dart-shared", "elbow-dart-sleeve", "bishop-cuffed"])
@pytest.mark.parametrize("whole", [None, True])
def test_drill_holes_and_notches_of_darts_are_read_back(
    name: str, whole: bool | None, tmp_path: Path
) -> None:
    result = convert(from_svg("women_overblock")[2], recipe(name))
    bare = replace(
        result.pattern, pieces=tuple(replace(p, finish=None) for p in result.pattern.pieces)
    )
    made = finish(bare, FinishSettings(whole=whole))
    path = tmp_path / "finished.svg"
    path.write_bytes(FORMATS["svg"](replace(result, pattern=made)))
    read = read_finished(path)
    for piece in made.pieces:
        # the sheet moves every piece; what lies inside it moves along
        shift = np.array(read[piece.name].bounds[:2]) - piece.bounds[:2]
        holes = np.reshape(read[piece.name].drill_holes, (-1, 2))
        assert holes == pytest.approx(np.reshape(piece.drill_holes, (-1, 2)) + shift, abs=1e-3)
        for edge in piece.edges:
            again = read[piece.name][edge.name].notches
            assert [n.name for n in again] == [n.name for n in edge.notches]


def test_what_is_not_ours_is_nothing_finished(tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L1 1"/></svg>')
    assert read_finished(path) is None
    assert read_finished(tmp_path / "drawing.dxf") is None


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('data-edge="side_seam', 'data-edge="sade_seam'),
        ('"first"', '"furst"'),
        ('class="sew hem"', 'class="sew ham"'),
        ('data-kind="single"', 'data-kind="sangle"'),
        ('id="seams">[', 'id="seams">[['),
    ],
)
def test_a_damaged_file_is_refused(old: str, new: str, tmp_path: Path) -> None:
    text = FORMATS["svg"](convert(from_svg("men_overblock")[0], recipe("classic-raglan"))).decode()
    old, new = (t.replace('"first"', "&quot;first&quot;") for t in (old, new))
    assert old in text
    path = tmp_path / "finished.svg"
    path.write_text(text.replace(old, new.replace('"furst"', "&quot;furst&quot;"), 1))
    with pytest.raises(ReadError, match=r"damaged|path data"):
        seam_rows(read_finished(path) or pytest.fail("it was not taken for a finished file"))
