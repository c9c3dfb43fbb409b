"""Operations by third parties: built, installed, used from a recipe; and blamed by name when they are at fault."""

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

from samples_of_ours import ROOT

BLOCK = ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg"
DROP_HEM = ("--plugin", "example-drop-hem==1.0")
FAULTY = ("--plugin", "faulty==2.3")


def run(python: Path | str, *words: object, cwd: Path, path: Path | None = None):
    env = dict(os.environ)
    if path is not None:
        env["PYTHONPATH"] = str(path)
    return subprocess.run(
        [str(python), "-m", "sleevewright.cli", *map(str, words)],
        capture_output=True, text=True, cwd=cwd, env=env, check=False,
    )  # fmt: skip


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with the example package built and installed into it."""
    folder = tmp_path_factory.mktemp("fresh")
    source = folder / "source"
    shutil.copytree(ROOT / "docs" / "example_operation", source)
    venv.create(folder / "venv", with_pip=False)
    python = folder / "venv" / "bin" / "python"
    # What sleevewright itself needs is taken from the running environment, so that nothing is fetched.
    site = next((folder / "venv" / "lib").glob("python*")) / "site-packages"
    lines = [sysconfig.get_path("purelib"), *(p for p in sys.path if p.endswith("src"))]
    (site / "running.pth").write_text(
        "".join(f"import site; site.addsitedir({p!r})\n" for p in lines)
    )
    quiet = ["--quiet", "--no-index", "--no-deps", "--disable-pip-version-check"]
    pip = [sys.executable, "-m", "pip"]
    for words in (
        [*pip, "wheel", *quiet, "--no-build-isolation", "--wheel-dir", folder, source],
        [
            *pip,
            "--python",
            python,
            "install",
            *quiet,
            folder / "example_drop_hem-1.0-py3-none-any.whl",
        ],
    ):
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    return python


def test_used_from_a_recipe(installed: Path, tmp_path: Path) -> None:
    recipe = tmp_path / "longer.yaml"
    recipe.write_text("name: longer\nsteps:\n  - drop-hem:\n      by: 60 mm\n  - raglan\n")
    done = run(
        installed, "convert", BLOCK, "--recipe", recipe, "--json", "--formats", "svg", *DROP_HEM,
        cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)[0]
    promised = [f for f in record["findings"] if f["check"] == "promise.drop-hem"]
    assert len(promised) == 4
    assert {f["status"] for f in promised} == {"held"}
    assert record["measurements"]["side_seam_front"] == pytest.approx(570.0, abs=0.01)


def test_one_declaration_gives_pages_schema_and_messages(installed: Path, tmp_path: Path) -> None:
    page = run(installed, "operations", "drop-hem", *DROP_HEM, cwd=tmp_path)
    assert "how far the hem drops (1 mm to 600 mm)" in page.stdout
    listed = json.loads(run(installed, "operations", "--json", *DROP_HEM, cwd=tmp_path).stdout)
    assert {"example-drop-hem 1.0"} == {r["from"] for r in listed if r["name"] == "drop-hem"}
    schema = run(installed, "schema", "recipe", *DROP_HEM, cwd=tmp_path).stdout
    assert '"drop-hem"' in schema
    recipe = tmp_path / "r.yaml"
    for text, said in (
        ("by: 60", "'60' has no unit"),
        ("by: 900 mm", "600 mm"),
        ("byy: 9 mm", "did you mean 'by'?"),
    ):
        recipe.write_text(f"name: r\nsteps:\n  - drop-hem:\n      {text}\n")
        done = run(installed, "convert", BLOCK, "--recipe", recipe, *DROP_HEM, cwd=tmp_path)
        assert done.returncode == 2
        assert "r.yaml:4:" in done.stderr
        assert said in done.stderr, done.stderr


FAULTS = {
    "slips": ("raise KeyError('x')", "it failed: KeyError: 'x'"),
    "leaves": ("raise SystemExit(0)", "it failed: SystemExit: 0"),
    "gives_nothing": ("return None", "returned no pattern"),
    "breaks": ("return pattern", "wanted 1.000, got 2.000"),
    "tears": (
        "front = pattern['front']; hem = front['hem']\n"
        "        return pattern.with_pieces([front.with_edges([replace(hem, curve="
        "Curve.polyline([hem.curve.start, hem.curve.start + (500.0, 900.0), hem.curve.end]))])])",
        "what it leaves is unsound",
    ),
    "unsews": (
        "back = pattern['back']; up = back.up * 9.0\n"
        "        side, hem = back['side_seam'], back['hem']\n"
        "        end = side.curve.start + up\n"
        "        edges = [replace(hem, curve=Curve.line(hem.curve.start, end)),"
        " replace(side, curve=Curve.line(end, side.curve.end))]\n"
        "        return pattern.with_pieces([back.with_edges(edges)])",
        "what it leaves is unsound: side",
    ),
}


def faulty(folder: Path, body: str, promise: str, declared: str = "") -> Path:
    info = folder / "faulty-2.3.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: faulty\nVersion: 2.3\n")
    (info / "entry_points.txt").write_text("[sleevewright.operations]\nfaulty = faulty:Faulty\n")
    (folder / "faulty.py").write_text(
        "from dataclasses import replace\n"
        "from sleevewright.geometry import Curve\n"
        "from sleevewright.operations import Promise, operation\n\n"
        "@operation\nclass Faulty:\n"
        '    """Do something."""\n'
        f"{declared}"
        "    def apply(self, pattern):\n"
        f"        {body}\n"
        "    def promises(self, before, after):\n"
        f"        {promise}\n"
    )
    return folder


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_put_to_its_package(name: str, tmp_path: Path) -> None:
    body, said = FAULTS[name]
    promise = "yield Promise('one', 1.0, 2.0, 0.1)" if name == "breaks" else "return iter(())"
    site = faulty(tmp_path / "site", body, promise)
    recipe = tmp_path / "r.yaml"
    recipe.write_text("name: r\nsteps:\n  - faulty\n")
    words = ["convert", BLOCK, "--recipe", recipe, *FAULTY]
    done = run(sys.executable, *words, cwd=tmp_path, path=site)
    assert done.returncode == 2, done.stderr
    assert "faulty 2.3" in done.stderr
    assert said in done.stderr, done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("declared", "said"),
    [
        ("    by: float = 1.0\n", "setting by of Faulty has no about"),
        ("    import nothing_of_this_name\n", "ModuleNotFoundError"),
    ],
)
def test_a_broken_package_hurts_only_recipes_that_use_it(
    declared: str, said: str, tmp_path: Path
) -> None:
    site = faulty(tmp_path / "site", "return pattern", "return iter(())", declared)
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("name: good\nsteps:\n  - raglan\n")
    bad.write_text("name: bad\nsteps:\n  - faulty\n")
    listed = run(sys.executable, "operations", *FAULTY, cwd=tmp_path, path=site)
    assert listed.returncode == 0
    assert "faulty 2.3 cannot be used" in listed.stdout
    schema = run(sys.executable, "schema", "recipe", *FAULTY, cwd=tmp_path, path=site)
    assert schema.returncode == 0
    assert '"raglan"' in schema.stdout
    assert "left out" in schema.stderr
    assert "faulty 2.3" in schema.stderr
    done = run(sys.executable, "convert", BLOCK, "--recipe", bad, *FAULTY, cwd=tmp_path, path=site)
    assert done.returncode == 2
    assert said in done.stderr
    assert "faulty 2.3" in done.stderr
    done = run(sys.executable, "convert", BLOCK, "--recipe", good, *FAULTY, cwd=tmp_path, path=site)
    assert done.returncode == 0
