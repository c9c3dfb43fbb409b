"""Every example that a command's --help gives runs as it stands, beside the samples and recipes."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from samples_of_ours import ROOT
from sleevewright.cli import cli

Run = subprocess.CompletedProcess[str]

#: A command that runs until it is stopped.
ENDLESS = ("watch",)


def run(line: str, cwd: Path, path: str) -> Run:
    return subprocess.run(
        line, shell=True, capture_output=True, text=True, cwd=cwd, check=False, timeout=120,
        env={**os.environ, "PATH": path},
    )  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory) -> str:
    """A PATH with this very package as `sleevewright`, whatever else is installed.

    Guarded as an installed script is: workers of a batch import it once more.
    """
    folder = tmp_path_factory.mktemp("bin")
    program = folder / "sleevewright"
    program.write_text(
        f"#!{sys.executable}\nimport sys\nsys.argv[0] = 'sleevewright'\n"
        "if __name__ == '__main__':\n    from sleevewright.cli import main\n    main()\n"
    )
    program.chmod(0o755)
    return f"{folder}{os.pathsep}{os.environ['PATH']}"


@pytest.fixture(scope="module")
def place(tmp_path_factory) -> Path:
    """A folder with the samples and recipes of the repository."""
    folder = tmp_path_factory.mktemp("place")
    for name in ("sample_patterns", "recipes"):
        shutil.copytree(ROOT / name, folder / name)
    return folder


def examples(text: str) -> list[str]:
    """The commands behind every "Example:" of a help page; click wraps them, so lines are joined."""
    parts = re.split(r"\bExamples?:", text)[1:]
    found = []
    for part in parts:
        line = " ".join(part.split("\n\n")[0].split())
        found.append(line)
    return found


@pytest.fixture(scope="module")
def pages(place: Path, path: str) -> dict[str, list[str]]:
    """Command -> its examples, from the page that a user sees."""
    found = {}
    for name in cli.commands:
        done = run(f"sleevewright {name} --help", place, path)
        assert done.returncode == 0, done.stderr
        found[name] = examples(done.stdout)
    return found


@pytest.fixture(scope="module")
def runs(place: Path, path: str, pages: dict[str, list[str]]) -> dict[str, Run]:
    """Example -> its run. That of `convert` comes first: `check` reads what it wrote.

    What `compare` compares is made beforehand: two raglans that differ in a setting; and what
    `verify` verifies: a small library.
    """
    (place / "small.yaml").write_text(
        "blocks: {men: {files: [sample_patterns/svg/men_overblock_50.svg]}}\n"
        "recipes: [recipes/half-raglan.yaml]\noutputs: {folder: out, formats: [svg]}\n"
    )
    done = run("sleevewright batch small.yaml --jobs 1", place, path)
    assert done.returncode == 0, done.stderr
    for folder, drop in (("old", 30), ("new", 45)):
        (place / folder).mkdir()
        line = (
            "sleevewright convert sample_patterns/svg/men_overblock_50.svg --formats dxf"
            f" --recipe recipes/classic-raglan.yaml --set 'front_drop={drop} mm' --out made_{folder}"
        )
        done = run(line, place, path)
        assert done.returncode == 0, done.stderr
        (made,) = (place / f"made_{folder}").rglob("*.dxf")
        made.rename(place / folder / "women.dxf")
    order = sorted((n for n in pages if n not in ENDLESS), key=lambda name: name != "convert")
    return {line: run(line, place, path) for name in order for line in pages[name]}


def test_examples_are_found_where_a_page_wraps_them():
    text = "Usage: x\n\n  Example: sleevewright convert a.dxf --recipe\n  b.yaml --out out\n"
    assert examples(text) == ["sleevewright convert a.dxf --recipe b.yaml --out out"]


def test_every_command_has_an_example_of_itself(pages):
    for name, lines in pages.items():
        assert lines, f"{name} has no example"
        assert all(line.startswith(f"sleevewright {name} ") for line in lines)


@pytest.mark.parametrize("name", [name for name in cli.commands if name not in ENDLESS])
def test_the_examples_run(name, pages, place, runs):
    """What stands behind --out, --report and > is there afterwards."""
    for line in pages[name]:
        assert runs[line].returncode == 0, f"{line}\n{runs[line].stderr}"
        for made in re.findall(r"(?:--out|--report|>) (\S+)", line):
            target = place / made
            assert any(target.iterdir()) if target.is_dir() else target.stat().st_size


def test_the_example_of_watch_builds_and_stops(pages, place, path):
    pytest.importorskip("watchfiles")
    (line,) = pages["watch"]
    process = subprocess.Popen(
        ["sh", "-c", f"exec {line} --jobs 2"], cwd=place, env={**os.environ, "PATH": path},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    try:
        until = time.monotonic() + 60
        folder = place / "out"  # as the library says
        before = set(folder.rglob("*.svg")) if folder.exists() else set()
        while not set(folder.rglob("*.svg")) - before:
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < until, "nothing was built"
            time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
    assert process.returncode == 128 + signal.SIGINT, errors
    assert "Traceback" not in errors
