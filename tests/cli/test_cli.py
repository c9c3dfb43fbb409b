"""The command line: one table of commands, and one of bad inputs; status, streams, files."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from samples_of_ours import ROOT

SVG = ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg"
DXF = ROOT / "sample_patterns" / "child_block.dxf"
RECIPE = ROOT / "recipes" / "classic-raglan.yaml"


def run(*words: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "sleevewright.cli", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, check=False)


def test_convert_writes_whole_files_and_says_so(tmp_path: Path) -> None:
    done = run("convert", SVG, "--recipe", RECIPE, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "out" / "men_overblock" / "classic-raglan"
    assert sorted(p.name for p in folder.iterdir()) == ["50.dxf", "50.json", "50.svg"]
    record = json.loads((folder / "50.json").read_text())
    fixed = ("block", "recipe", "size", "settings", "pieces", "seams", "findings", "measurements")
    assert set(fixed) <= record.keys()
    assert "checks held" in done.stdout
    first = {p.name: p.read_bytes() for p in folder.iterdir()}
    run("convert", SVG, "--recipe", RECIPE, "--out", tmp_path / "out")
    assert first == {p.name: p.read_bytes() for p in folder.iterdir()}
    checked = run("check", folder / "50.svg", folder / "50.dxf")
    assert checked.returncode == 0, checked.stderr + checked.stdout


def test_settings_get_a_folder_of_their_own(tmp_path: Path) -> None:
    done = run(
        "convert", DXF, "--recipe", RECIPE, "--out", tmp_path, "--size", "110",
        "--set", "front_drop=30 mm", "--formats", "svg",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    path = tmp_path / "child_block" / "classic-raglan" / "front_drop=30mm" / "110.svg"
    assert path.exists()
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [path]


@pytest.mark.parametrize(
    "words",
    [
        ("convert", SVG, "--recipe", RECIPE, "--json"),
        ("inspect", DXF, "--json"),
        ("operations", "--json"),
        ("operations", "raglan", "--json"),
        ("schema", "recipe"),
        ("schema", "labels"),
    ],
)
def test_json_is_alone_on_stdout(words: tuple, tmp_path: Path) -> None:
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    json.loads(done.stdout)


def test_plain_commands_print_what_a_cutter_reads(tmp_path: Path) -> None:
    inspected = run("inspect", SVG)
    assert "armhole" in inspected.stdout
    assert "notch 'front pitch'" in inspected.stdout
    listed = run("operations")
    names = [line.split()[0] for line in listed.stdout.splitlines()]
    assert names == sorted(names)
    assert {"cuff", "raglan", "kimono"} <= set(names)
    page = run("operations", "lower-armhole")
    assert "down the side seam" in page.stdout
    assert "0 mm to 120 mm" in page.stdout


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; sys.argv=['sleevewright','--help']\n"
        "from sleevewright.cli import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "heavy = {'numpy','shapely','ezdxf','svgpathtools','pydantic','yaml'} & set(sys.modules)\n"
        "sys.exit(bool(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert done.returncode == 0


SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 800 800">{body}</svg>'
SIZED = 'width="800mm" height="800mm"'
BLOCK = SVG.read_text()


def changed(old: str, new: str) -> str:
    assert old in BLOCK
    return BLOCK.replace(old, new, 1)


def without(piece: str) -> str:
    start = BLOCK.index(f'<g id="{piece}">')
    return BLOCK[:start] + BLOCK[BLOCK.index("</g>", start) + 4 :]


def a_path(piece: str, role: str) -> str:
    group = BLOCK.index(f'<g id="{piece}">')
    start = BLOCK.index(f'<path class="{role}"', group)
    return BLOCK[start : BLOCK.index("/>", start) + 2]


INPUTS = {
    "not a DXF": ("b.dxf", "hello\n", 3, "not a DXF file"),
    "a PDF": ("b.dxf", "%PDF-1.7\n", 3, "PDF"),
    "truncated": ("b.dxf", DXF.read_text()[: len(DXF.read_text()) // 2], 3, "cut off"),
    "not a number": ("b.dxf", DXF.read_text().replace("60.000000", "nan", 1), 3, "is no number"),
    "no pieces": ("b.svg", SQUARE.format(size=SIZED, body=""), 3, "no line"),
    "no units": ("b.svg", SQUARE.format(size="", body=""), 3, "no physical size"),
    "open outline": ("b.svg", changed(a_path("front", "hem"), ""), 3, "is open"),
    "two fronts": ("b.svg", changed('<g id="back">', '<g id="front">'), 3, "front"),
    "missing sleeve": ("b.svg", without("sleeve"), 2, "no sleeve"),
    "crossing": (
        "b.svg",
        SQUARE.format(size=SIZED, body='<path d="M0,0 L500,500 L500,0 L0,400 L-90,200 Z"/>'),
        3,
        "",
    ),
    "a notch off the edge": (
        "b.svg",
        changed('<g id="front">', '<g id="front"><circle class="notch" cx="300" cy="400" r="1"/>'),
        3,
        "off the nearest edge",
    ),
    "impossible size": (
        "b.svg",
        SQUARE.format(size='width="8mm" height="8mm"', body='<rect width="30" height="700"/>'),
        3,
        "mm long",
    ),
    "not XML": ("b.svg", "<svg", 3, "not an SVG file"),
    "unknown kind": ("b.txt", "x", 3, ".dxf and .svg"),
}


@pytest.mark.parametrize("name", INPUTS)
def test_bad_input_is_one_clear_message(name: str, tmp_path: Path) -> None:
    file, text, status, says = INPUTS[name]
    (tmp_path / file).write_text(text)
    out = tmp_path / "out"
    done = run("convert", tmp_path / file, "--recipe", RECIPE, "--out", out)
    assert done.returncode == status, (done.returncode, done.stderr)
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("error: ")
    assert not out.exists()


RECIPES = {
    "misspelt key": ("stps: [raglan]\n", 2, "did you mean 'steps'"),
    "misspelt setting": ("steps:\n  - raglan: {lin: classic}\n", 2, "r.yaml:2:14"),
    "unknown operation": ("steps: [ragln]\n", 2, "did you mean 'raglan'"),
    "no unit": ("steps:\n  - lower-armhole: {by: 12}\n", 2, "has no unit"),
    "out of range": ("steps:\n  - lower-armhole: {by: 900 mm}\n", 2, "allowed is"),
    "misses the armhole": ("steps:\n  - raglan: {front: {pitch: 390 mm}}\n", 2, "misses the armhole"),
    "allowance too wide": (
        "steps: [raglan]\nfinish: {allowances: {neckline: 120 mm}}\n", 2, "wider than the piece",
    ),
    "unknown name": ("steps:\n  - lower-armhole: {by: = 0.1 * armhle_front}\n", 2, "armhole_front"),
    "not YAML": ("steps: [raglan\n", 2, "not YAML"),
    "duplicate": ("steps: [raglan]\nsteps: [raglan]\n", 2, "stands twice"),
    "param unread": (
        "params: {x: 3 mm}\nsteps: [raglan]\n", 2, "no step reads the param 'x'; remove it",
    ),
    "param misread": (
        "params: {drop: 3 mm}\nsteps:\n  - lower-armhole: {by: = dropp}\n", 2, "'dropp', which is read",
    ),
    "another mistake is told alone": (
        "params: {drop: 3 mm}\nstep: [raglan]\nsteps: [raglan]\n", 2, "did you mean 'steps'",
    ),
    "no unit in a param": (
        "params: {drop: 3}\nsteps:\n  - lower-armhole: {by: = drop}\n", 2, "such as 45 mm",
    ),
    "when among settings": (
        "steps:\n  - raglan: {when: has_bust_dart}\n", 2, "stands beside the operation",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RECIPES)
def test_bad_recipe_is_one_clear_message(name: str, tmp_path: Path) -> None:
    text, status, says = RECIPES[name]
    (tmp_path / "r.yaml").write_text(text)
    out = tmp_path / "out"
    done = run("convert", SVG, "--recipe", tmp_path / "r.yaml", "--out", out)
    assert done.returncode == status, (done.returncode, done.stderr)
    assert says in done.stderr
    assert ("no step reads" in done.stderr) == name.startswith("param ")
    assert "Traceback" not in done.stderr
    assert not out.exists()


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("convrt",), 2, "did you mean 'convert'"),
        (("convert", "x.svg"), 2, "--recipe"),
        (("schema", "recipes"), 2, "did you mean 'recipe'"),
        (("operations", "flair"), 2, "did you mean 'flare'"),
        (("inspect", "nothing.svg"), 3, "cannot be read"),
        (("convert", SVG, "--recipe", RECIPE, "--size", "99"), 2, "no such size"),
        (("convert", SVG, "--recipe", RECIPE, "--set", "drop"), 2, "NAME=VALUE"),
        (("convert", SVG, "--recipe", RECIPE, "--formats", "pdff"), 2, "is no format"),
    ],
)
def test_usage(words: tuple, status: int, says: str, tmp_path: Path) -> None:
    done = run(*words, cwd=tmp_path)
    assert done.returncode == status, (done.returncode, done.stderr)
    assert says in done.stderr
    assert not list(tmp_path.iterdir())


def test_output_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file is in the way")
    done = run("convert", SVG, "--recipe", RECIPE, "--out", tmp_path / "out")
    assert done.returncode == 4
    assert "Traceback" not in done.stderr
    assert (tmp_path / "out").read_text() == "a file is in the way"


def test_a_reader_that_goes_away_is_no_failure() -> None:
    command = (
        f"{sys.executable} -m sleevewright.cli inspect {DXF} | head -1; echo ${{PIPESTATUS[0]}}"
    )
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert done.stdout.split()[-1] == "0", done.stderr
    assert "Traceback" not in done.stderr


def test_no_command_prints_the_help() -> None:
    done = run()
    assert done.returncode == 2
    assert "convert" in done.stderr
    assert "\\x0a" not in done.stderr


def test_tables_are_markdown_on_stdout(tmp_path: Path) -> None:
    from markdown_it import MarkdownIt

    done = run("convert", DXF, "--recipe", RECIPE, "--out", tmp_path, "--tables")
    assert done.returncode == 0, done.stderr
    tokens = MarkdownIt("commonmark").enable("table").parse(done.stdout)
    heads = [tokens[i + 1].content for i, t in enumerate(tokens) if t.type == "heading_open"]
    assert [h.split(":")[0] for h in heads] == ["Measurement chart", "Spec sheet"] + [
        "Cutting list"
    ] * 3
    assert sum(t.type == "table_open" for t in tokens) == 5
    assert (tmp_path / "child_block" / "classic-raglan" / "98.svg").is_file()


def test_check_of_a_dxf_that_cannot_tell_points_to_the_svg(tmp_path: Path) -> None:
    recipe = ROOT / "recipes" / "three-panel-sleeve.yaml"
    run("convert", SVG, "--recipe", recipe, "--out", tmp_path, "--formats", "dxf,svg")
    (path,) = tmp_path.rglob("*.dxf")
    done = run("check", path)
    assert done.returncode == 3
    assert done.stderr.splitlines()[-1].endswith("check the SVG of the same variant")
    assert run("check", path.with_suffix(".svg")).returncode == 0


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [("notes.md", "mine", "no name of an SVG"), ("block.svg", "<svg/>", "no overlay picture")],
)
def test_an_overlay_replaces_nothing_but_an_overlay(
    name: str, text: str, says: str, tmp_path: Path
) -> None:
    report = tmp_path / name
    report.write_text(text)
    done = run("compare", SVG, DXF, "--report", report)
    assert done.returncode == 4
    assert says in done.stderr
    assert report.read_text() == text
    ours = tmp_path / "ours.svg"
    for _ in range(2):
        assert run("compare", SVG, SVG, "--report", ours).returncode == 0
