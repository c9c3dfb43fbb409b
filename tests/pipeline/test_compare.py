"""An edit of 1 mm is told as 1 mm, of the edges that it moved and of no other."""

import json
import math
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from conftest_pipeline import Studio, build, made
from sleevewright.cli import cli

FILE_GRAIN = 0.002  # mm: profiles are whole micrometres, a point is off by 0.7 of one at most

# Front of the size 50, from its drawing: neck end and tip of the shoulder.
NECK, TIP = (566.666667, 23.0), (421.961701, 78.547032)


def with_tip_moved(text: str) -> str:
    """Move the tip of the front shoulder by 1 mm, square to the shoulder."""
    along = (TIP[0] - NECK[0], TIP[1] - NECK[1])
    length = math.hypot(*along)
    moved = (TIP[0] - along[1] / length, TIP[1] + along[0] / length)
    old = f"{TIP[0]:.6f},{TIP[1]:.6f}"
    assert text.count(old) == 2  # the end of the shoulder, the beginning of the armhole
    return text.replace(old, f"{moved[0]:.6f},{moved[1]:.6f}")


def with_longer_hem(text: str) -> str:
    """Move both hems down by 1 mm."""
    assert text.count("823.000000") > 4
    return text.replace("823.000000", "824.000000")


def without_sleeve(text: str) -> str:
    return re.sub(r'<g id="sleeve">.*?</g>\n', "", text, flags=re.DOTALL)


def compared(old: Path, new: Path) -> tuple[str, list[dict[str, Any]]]:
    """Return what is told to people and what is told as JSON."""
    runs = [
        CliRunner().invoke(cli, ["compare", str(old), str(new), *more], standalone_mode=False)
        for more in ([], ["--json"])
    ]
    for run in runs:
        assert (run.exception, run.return_value, run.stderr) == (None, 0, "")
    return runs[0].stdout, json.loads(runs[1].stdout)


def edges_of(pair: dict[str, Any]) -> dict[str, dict[str, float]]:
    return {f"{e['piece']}.{e['edge']}": e for e in pair["edges"]}


@pytest.fixture
def block(small: Studio) -> Path:
    return small.folder / "blocks" / "men_overblock_50.svg"


def test_a_point_moved_by_1_mm(small: Studio, block: Path) -> None:
    edited = small.folder / "edited.svg"
    edited.write_text(with_tip_moved(block.read_text()))
    told, (pair,) = compared(block, edited)
    assert "  front.shoulder moved by 1.00 mm\n" in told
    assert told.endswith("1 of 1 differ\n")
    edges = edges_of(pair)
    assert sorted(edges) == ["front.armhole", "front.shoulder"]
    shoulder = edges["front.shoulder"]
    # The tip is 1 mm off the old line; the new one is the long side of a right triangle.
    length = math.dist(NECK, TIP)
    assert shoulder["moved_mm"] == pytest.approx(1.0, abs=FILE_GRAIN)
    assert shoulder["was_mm"] == pytest.approx(length, abs=FILE_GRAIN)
    assert shoulder["now_mm"] == pytest.approx(math.hypot(length, 1.0), abs=FILE_GRAIN)
    assert not any("sleeve" in line or "back" in line for line in told.splitlines())


def test_an_edge_moved_by_1_mm(small: Studio, block: Path) -> None:
    edited = small.folder / "edited.svg"
    edited.write_text(with_longer_hem(block.read_text()))
    told, (pair,) = compared(block, edited)
    edges = edges_of(pair)
    assert sorted(edges) == [
        f"{piece}.{edge}" for piece in ("back", "front") for edge in ("centre", "hem", "side_seam")
    ]
    for name, edge in edges.items():
        assert edge["moved_mm"] == pytest.approx(1.0, abs=FILE_GRAIN)
        longer = 0.0 if name.endswith("hem") else 1.0  # the others stand square to it
        assert edge["now_mm"] - edge["was_mm"] == pytest.approx(longer, abs=FILE_GRAIN)
        assert f"  {name} moved by 1.00 mm" in told
    figures = {m["name"]: m["now"] - m["was"] for m in pair["measurements"]}
    assert figures == {
        name: pytest.approx(1.0, abs=FILE_GRAIN)
        for name in ("centre_back", "centre_front", "side_seam_back", "side_seam_front")
    }


def test_a_piece_that_only_lies_elsewhere_has_not_moved(small: Studio, block: Path) -> None:
    shifted = small.folder / "shifted.svg"
    shifted.write_text(
        block.read_text().replace('<g id="sleeve">', '<g id="sleeve" transform="translate(7 3)">')
    )
    told, (pair,) = compared(block, shifted)
    assert told == "0 of 1 differ\n"
    assert (pair["edges"], pair["measurements"]) == ([], [])


def test_identical_files(small: Studio, block: Path) -> None:
    copy = small.folder / "copy.svg"
    copy.write_bytes(block.read_bytes())
    told, (pair,) = compared(block, copy)
    assert told == "0 of 1 differ\n"
    assert pair.pop("name") == "50"
    assert pair.pop("state") == "both"
    assert not any(pair.values())


def test_a_piece_gone_or_new(small: Studio, block: Path) -> None:
    edited = small.folder / "edited.svg"
    edited.write_text(without_sleeve(block.read_text()))
    told, (pair,) = compared(block, edited)
    assert "  piece gone: sleeve\n" in told
    assert (pair["pieces_gone"], pair["pieces_new"], pair["edges"]) == (["sleeve"], [], [])
    told, (pair,) = compared(edited, block)
    assert "  piece new: sleeve\n" in told
    assert (pair["pieces_gone"], pair["pieces_new"], pair["edges"]) == ([], ["sleeve"], [])


def test_two_runs(small: Studio, block: Path) -> None:
    build(small)
    old = small.folder / "old"
    shutil.copytree(small.out, old)
    block.write_text(with_longer_hem(block.read_text()))
    assert made(build(small)) == ["men/classic-raglan/50", "men/half-raglan/50"]
    told, pairs = compared(old, small.out)
    assert told.endswith("2 of 4 differ\n")
    changed = [pair for pair in pairs if pair["edges"]]
    assert [pair["name"] for pair in changed] == ["men/classic-raglan/50", "men/half-raglan/50"]
    for pair in changed:
        for piece in ("front", "back"):
            hem = edges_of(pair)[f"{piece}.hem"]
            assert hem["moved_mm"] == pytest.approx(1.0, abs=FILE_GRAIN)
            assert hem["now_mm"] == pytest.approx(hem["was_mm"], abs=FILE_GRAIN)
    # The files alone say the same as the records that the runs kept.
    for folder in (old, small.out):
        (folder / ".sleevewright.state").unlink()
    _, without = compared(old, small.out)
    for pair, other in zip(pairs, without, strict=True):
        assert pair["name"] == other["name"]
        assert edges_of(pair).keys() == edges_of(other).keys()
        for name, edge in edges_of(pair).items():
            assert edge["moved_mm"] == pytest.approx(edges_of(other)[name]["moved_mm"], abs=0.02)


def test_a_variant_gone_or_new(small: Studio) -> None:
    build(small)
    old = small.folder / "old"
    shutil.copytree(small.out, old)
    (small.out / "men/half-raglan/50.svg").unlink()
    told, pairs = compared(old, small.out)
    assert told == "men/half-raglan/50\n  gone\n1 of 4 differ\n"
    assert [p["state"] for p in pairs].count("both") == 3
    told, _ = compared(small.out, old)
    assert told == "men/half-raglan/50\n  new\n1 of 4 differ\n"


def test_a_file_that_cannot_be_read_among_others(small: Studio) -> None:
    build(small)
    old = small.folder / "old"
    shutil.copytree(small.out, old)
    (small.out / "men/half-raglan/52.svg").write_text("<svg")
    done = small.run("compare", old, small.out)
    assert done.returncode == 3
    (line,) = done.stderr.splitlines()
    assert "men/half-raglan/52.svg:1:1: not an SVG file" in line
    assert done.stdout == "0 of 3 differ\n"
    pairs = json.loads(small.run("compare", old, small.out, "--json").stdout)
    assert [p["name"] for p in pairs if p["state"] == "unreadable"] == ["men/half-raglan/52"]


@pytest.mark.parametrize(
    ("new", "said"),
    [("nowhere.svg", "there is no such file"), (".", "one is a folder, the other a file")],
)
def test_what_cannot_be_compared(small: Studio, block: Path, new: str, said: str) -> None:
    done = small.run("compare", block, new)
    assert done.returncode == 3
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
