"""What the tool is built of and shipped with: pinned, free to ship, and built to the same bytes again."""

import os
import re
import runpy
import shutil
import subprocess
import sys
import tomllib
import zipfile
from functools import cache
from importlib.metadata import distribution
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement

from samples_of_ours import ROOT

LOCKS = {"test.lock": ("test",), "release.lock": ("cluster", "nest", "watch")}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


@cache
def script(name: str) -> dict[str, Any]:
    """The names in a script of .ci."""
    return runpy.run_path(str(ROOT / ".ci" / name))


def pinned(lock: str) -> dict[str, tuple[str, int]]:
    """Name -> (version, how many hashes), of every entry of a lock file."""
    text = (ROOT / ".ci" / lock).read_text()
    entries = re.split(r"^(?=[^\s#])", text, flags=re.MULTILINE)[1:]
    found = {}
    for entry in entries:
        said = re.match(r"([\w.-]+)==([\w.!+]+)( ; .+?)? \\\n", entry)
        assert said, f"{lock}: no version pinned: {entry.splitlines()[0]}"
        hashes = re.findall(r"--hash=sha256:[0-9a-f]{64}\b", entry)
        found[normal(said[1])] = (said[2], len(hashes))
    return found


# --- lock files ---------------------------------------------------------------------------------


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_pins_all_that_the_project_asks_for(lock: str) -> None:
    """Within its bounds: who changes a dependency makes the locks anew (.ci/lock)."""
    have = pinned(lock)
    wanted = list(PROJECT["dependencies"])
    for extra in LOCKS[lock]:
        wanted += PROJECT["optional-dependencies"][extra]
    for text in wanted:
        asked = Requirement(text)
        version, _ = have[normal(asked.name)]
        assert asked.specifier.contains(version, prereleases=True), f"{text}: {version} is pinned"
    assert all(hashes for _, hashes in have.values())


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_pins_what_those_need_in_turn(lock: str) -> None:
    have = pinned(lock)
    for name in script("licences")["needed"]("sleevewright", LOCKS[lock]):
        assert name == "sleevewright" or name in have, name


def test_what_is_released_is_what_was_tested() -> None:
    tested = pinned("test.lock")
    for name, (version, _) in pinned("release.lock").items():
        assert tested[name][0] == version


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_no_place_to_fetch_from(lock: str) -> None:
    text = (ROOT / ".ci" / lock).read_text()
    assert "://" not in text
    assert not re.search(r"^--?[a-z]|file:|find-links", text, re.MULTILINE)


def test_no_version_known_to_be_unsafe_is_allowed() -> None:
    """PyYAML before 6.0.4 hangs on a merge-key bomb; filelock before 3.20.3 follows links."""
    asked = {r.name: r.specifier for r in map(Requirement, PROJECT["dependencies"])}
    assert "6.0.2" not in asked["pyyaml"]
    assert "filelock" not in asked or "3.20.2" not in asked["filelock"]
    assert "3.1.5" not in asked["jinja2"]


# --- licences -----------------------------------------------------------------------------------


def test_everything_that_is_shipped_with_is_free() -> None:
    licences = script("licences")
    extras = licences["EXTRAS"]
    assert set(extras) == set(PROJECT["optional-dependencies"]) - {"test"}
    needed = licences["needed"]("sleevewright", extras)
    assert {normal(Requirement(text).name) for text in PROJECT["dependencies"]} <= set(needed)
    for name, found in needed.items():
        said = licences["licence"](found)
        assert licences["is_free"](said), f"{name}: {said or 'no licence'}"


@pytest.mark.parametrize(
    ("said", "free"),
    [
        ("MIT", True),
        ("BSD-3-Clause AND 0BSD AND CC0-1.0", True),
        ("Apache-2.0 OR BSD-2-Clause", True),
        ("GPL-3.0-only OR MIT", True),
        ("MIT AND (GPL-3.0-only OR AGPL-3.0-only)", False),
        ("MIT AND GPL-3.0-only", False),
        ("LicenseRef-Proprietary", False),
        ("", False),
    ],
)
def test_what_counts_as_free(said: str, free: bool) -> None:
    assert script("licences")["is_free"](said) is free


def test_a_package_without_a_licence_is_told(tmp_path: Path) -> None:
    info = tmp_path / "bare-1.0.dist-info"
    info.mkdir()
    bare = "Metadata-Version: 2.1\nName: bare\nVersion: 1.0\n"
    (info / "METADATA").write_text(bare)
    told = script("licences")["licence"]
    found = type(distribution("pip"))(info)
    assert told(found) == ""
    (info / "METADATA").write_text(bare + "Classifier: License :: OSI Approved :: BSD License\n")
    assert told(found) == "BSD-3-Clause"
    (info / "METADATA").write_text(bare + "License: Ours alone\n")
    assert told(found) == "Ours alone"


# --- a release ----------------------------------------------------------------------------------


def built(folder: Path) -> Path:
    """Build a wheel from a copy of the sources, and return it."""
    source = folder / "source"
    source.mkdir(parents=True)
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copyfile(ROOT / name, source / name)
    kept = shutil.ignore_patterns("__pycache__", "*.egg-info")
    shutil.copytree(ROOT / "src", source / "src", ignore=kept, copy_function=shutil.copyfile)
    words = ["wheel", "--quiet", "--no-index", "--no-deps", "--no-build-isolation"]
    done = subprocess.run(
        [sys.executable, "-m", "pip", *words, "--wheel-dir", str(folder), str(source)],
        capture_output=True, text=True, check=False, umask=0o022,
        env={**os.environ, "SOURCE_DATE_EPOCH": "1700000000", "PIP_DISABLE_PIP_VERSION_CHECK": "1"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return next(folder.glob("*.whl"))


def test_a_wheel_is_built_to_the_same_bytes_again(tmp_path: Path) -> None:
    one = built(tmp_path / "one")
    two = built(tmp_path / "another place")
    names = zipfile.ZipFile(one).namelist()
    assert sum(name.endswith(".py") for name in names) > 100
    assert any(name.endswith("gallery.js") for name in names)
    assert one.read_bytes() == two.read_bytes()
