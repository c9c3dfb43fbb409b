"""The sample blocks: made by their script, and measured against published body data.

Body data: ANSUR II women (US Army 2012, public release of 2017; means and regressions computed for
this project from the raw file), as noted beside each check. Ranges marked common practice are that.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from samples_of_ours import BLOCKS, ROOT, by_size, from_svg
from sleevewright.checking import check
from sleevewright.geometry import Affine
from sleevewright.pattern import Role, measurements

BUST = {"36": 84.0, "38": 88.0, "40": 92.0, "42": 96.0, "44": 100.0}  # cm


def test_the_script_makes_the_committed_files(tmp_path: Path) -> None:
    (tmp_path / "draft_blocks.py").write_bytes(
        (ROOT / "sample_patterns" / "draft_blocks.py").read_bytes()
    )
    subprocess.run([sys.executable, tmp_path / "draft_blocks.py"], check=True, capture_output=True)
    made = sorted(
        p.relative_to(tmp_path) for p in tmp_path.rglob("*") if p.suffix in (".svg", ".dxf")
    )
    assert len(made) == 25
    for name in made:
        ours = (ROOT / "sample_patterns" / name).read_bytes()
        # ezdxf writes its own version into the named-layer files; their geometry is tested elsewhere.
        if name.parts[0] != "named":
            assert (tmp_path / name).read_bytes() == ours, name


@pytest.mark.parametrize("block", BLOCKS)
def test_blocks_pass_the_checks_themselves(block: str) -> None:
    for pattern in from_svg(block):
        bad = [f.message for f in check(pattern) if f.fell_short and f.check != "grain"]
        assert not bad, bad


@pytest.mark.parametrize("size", BUST)
def test_the_back_shoulder_is_straight_over_its_closed_dart(size: str) -> None:
    """Turned about its tip until the legs meet, neck, mouth and shoulder tip lie on a line."""
    pattern = by_size(from_svg("women_overblock"))[size]
    back = pattern["back"]
    (dart,) = back.darts()
    assert dart.into.length == pytest.approx(dart.out.length, abs=1e-3)
    outer, inner = (e.curve for e in back.with_role(Role.SHOULDER))
    turn = Affine.rotation(dart.angle, dart.tip)  # the outer part, to the left about the tip
    tip, mouth = turn.apply(outer.start), turn.apply(outer.end)
    assert np.allclose(mouth, inner.start, atol=1e-3)
    neck = inner.end
    along = (tip - neck) / np.hypot(*(tip - neck))
    assert abs(float(np.array([-along[1], along[0]]) @ (mouth - neck))) < 1e-3
    front = pattern["front"].length(Role.SHOULDER)
    assert float(np.hypot(*(tip - neck))) == pytest.approx(front, abs=1e-3)
    # Open, it peaks: the mouth lies above the line from neck to tip.
    low = outer.start + (neck - outer.start) * 0.5
    assert inner.start[1] > low[1]
    assert [f.status.name for f in check(pattern) if "across back dart" in f.message] == ["HELD"]


@pytest.mark.parametrize("size", BUST)
def test_women_against_ansur(size: str) -> None:
    m, bust = measurements(by_size(from_svg("women_overblock"))[size]), BUST[size]
    assert m["armhole"] / 10 / bust == pytest.approx(0.5, abs=0.02)  # the draft's own table
    upper_arm = 4.28 + 0.278 * bust  # regression on bust, r 0.75, cm
    assert 3.0 < m["biceps"] / 10 - upper_arm < 11.0  # ease of 5 cm and more is comfort
    wrist = 10.78 + 0.050 * bust  # r 0.52
    assert 6.0 < m["wrist"] / 10 - wrist < 12.0  # slips over the hand, common practice
    neck_base = 22.33 + 0.156 * bust  # r 0.66
    assert -1.0 < 2 * m["neckline"] / 10 - neck_base < 6.0
    assert m["shoulder_front"] / 10 == pytest.approx(13.5, abs=1.6)  # mean, p5 12.0, p95 15.3
    assert 49.7 < m["sleeve_length"] / 10 < 59.4  # sleeve outseam, p5 to p95


@pytest.mark.parametrize("block", BLOCKS)
def test_rules_of_sleeves(block: str) -> None:
    for pattern in from_svg(block):
        m = measurements(pattern)
        assert 0 < m["cap_ease"] < 0.085 * m["armhole"]  # published ranges 0 to 8.5 %
        assert 0.20 < m["cap_height"] / m["armhole"] < 0.36  # quarter to third, published rules
        assert m["underarm_seam_front"] == pytest.approx(m["underarm_seam_back"], abs=0.05)
        assert m["side_seam_front"] == pytest.approx(m["side_seam_back"], abs=0.05)
        # Triangle of cap height and half widths: within 12 mm of the biceps for plain blocks.
        halves = (m["armhole_front"] ** 2 - m["cap_height"] ** 2) ** 0.5
        halves += (m["armhole_back"] ** 2 - m["cap_height"] ** 2) ** 0.5
        assert abs(halves - m["biceps"]) < 0.12 * m["biceps"]
