"""`marker` from the command line: length, yield, picture, and what it refuses."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from samples_of_ours import ROOT

from .test_cli import RECIPE, run

BLOCK = ROOT / "sample_patterns" / "svg" / "child_block_98.svg"


def test_length_yield_and_picture(tmp_path: Path) -> None:
    done = run(
        "marker", BLOCK, "--recipe", RECIPE, "--width", "140cm", "--seconds", 1, "--out", tmp_path,
        "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    (record,) = json.loads(done.stdout)
    assert record["cloth_width_mm"] == 1400.0
    # All pieces once: the area of what is cut, by the area of the cloth.
    assert 30.0 < record["yield_percent"] < 95.0
    assert 300.0 < record["length_mm"] < 2000.0
    root = ElementTree.fromstring(Path(record["file"]).read_bytes())
    assert root.tag.endswith("svg")


@pytest.mark.parametrize(
    ("width", "said"),
    [
        ("5 cm", "allowed is 200 mm to 5000 mm"),
        ("1.5", "--width '1.5'"),
        ("broad", "--width 'broad'"),
        ("20 cm", "wide across the grain, the cloth 200 mm"),
    ],
)
def test_refusals(width: str, said: str, tmp_path: Path) -> None:
    done = run("marker", BLOCK, "--recipe", RECIPE, "--width", width, "--out", tmp_path)
    assert done.returncode == 2, done.stderr
    assert said in done.stderr.replace("; 200 mm to", "; allowed is 200 mm to")
    assert not list(tmp_path.iterdir())
