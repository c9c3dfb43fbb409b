"""Same input, same bytes: whoever builds it, where, when, in which language, with how many workers."""

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from samples_of_ours import ROOT

HERE = Path(__file__).parent
LIBRARY = """
blocks:
  men: {files: ["blocks/men_*.svg"]}
  women: {files: [blocks/women_overblock_44.svg]}
recipes: ["recipes/*.yaml"]
include: [{block: men, recipe: kimono, size: 50}, {recipe: classic-raglan}]
outputs:
  folder: out
  formats: [dxf, svg, json, pdf, plot, report, xlsx, csv]
  gallery: true
"""
BLOCKS = ("men_overblock_50.svg", "men_overblock_52.svg", "women_overblock_44.svg")
RECIPES = ("classic-raglan.yaml", "kimono.yaml")
#: Read at the start of every Python: folders give their names in the opposite order.
BACKWARDS = """
import os

_list, _scan = os.listdir, os.scandir


class _Backwards:
    def __init__(self, *where):
        with _scan(*where) as entries:
            self._left = iter(sorted(entries, key=lambda entry: entry.name, reverse=True))
    def __iter__(self):
        return self
    def __next__(self):
        return next(self._left)
    def __enter__(self):
        return self
    def __exit__(self, *error):
        pass
    def close(self):
        pass


os.listdir = lambda *where: sorted(_list(*where), reverse=True)
os.scandir = _Backwards
"""

Files = dict[str, bytes]


def lay_out(folder: Path, *, backwards: bool = False, stamp: int | None = None) -> Path:
    """Lay out a small library; in which order files are made, and their stamps, are to say nothing."""
    made = []
    for name, sources in (("blocks", BLOCKS), ("recipes", RECIPES)):
        (folder / name).mkdir(parents=True)
        place = ROOT / "sample_patterns" / "svg" if name == "blocks" else ROOT / "recipes"
        for source in reversed(sources) if backwards else sources:
            made.append(Path(shutil.copyfile(place / source, folder / name / source)))
    (folder / "library.yaml").write_text(LIBRARY)
    for path in made if stamp is not None else ():
        os.utime(path, (stamp, stamp))
    return folder


def build(
    folder: Path,
    env: Mapping[str, str],
    *,
    jobs: int = 1,
    umask: int = 0o022,
    cwd: Path | None = None,
) -> Files:
    """Build the library by the command line; return every file but those that the tool keeps for itself."""
    cwd = folder if cwd is None else cwd
    done = subprocess.run(
        [sys.executable, "-m", "sleevewright.cli", "batch",
         os.path.relpath(folder / "library.yaml", cwd), "--jobs", str(jobs), "--json"],
        cwd=cwd, env={**os.environ, **env}, umask=umask, text=True, capture_output=True,
        check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr
    assert json.loads(done.stdout)[-1]["made"] == 4
    return {
        path.relative_to(folder / "out").as_posix(): path.read_bytes()
        for path in (folder / "out").rglob("*")
        if path.is_file() and not path.name.startswith(".sleevewright")
    }


def differences(one: Files, two: Files) -> list[str]:
    return sorted(name for name in one.keys() | two.keys() if one.get(name) != two.get(name))


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Files:
    env = {"PYTHONHASHSEED": "0", "LC_ALL": "C", "TZ": "UTC"}
    files = build(lay_out(tmp_path_factory.mktemp("plain")), env)
    endings = {name.rpartition(".")[2] for name in files}
    assert {"dxf", "svg", "json", "pdf", "html", "xlsx", "csv"} <= endings
    assert "index.html" in files
    return files


def test_place_person_zone_workers_and_order_of_files(plain: Files, tmp_path: Path) -> None:
    folder = tmp_path / "ein anderer Ordner, März"
    lay_out(folder, backwards=True, stamp=3_975_000_000)  # the files are of the year 2095
    start = tmp_path / "start"
    start.mkdir()
    (start / "sitecustomize.py").write_text(BACKWARDS)
    env = {
        "PYTHONHASHSEED": "4711", "TZ": "Pacific/Kiritimati", "LC_ALL": "C.UTF-8",
        "USER": "jemand", "LOGNAME": "jemand", "USERNAME": "jemand", "HOSTNAME": "woanders",
        "HOME": str(start), "XDG_CACHE_HOME": str(start), "TMPDIR": str(start), "COLUMNS": "40",
        "PYTHONPATH": os.pathsep.join([str(start), os.environ.get("PYTHONPATH", "")]),
    }  # fmt: skip
    said = subprocess.run(
        [sys.executable, "-c", "import os; print(*os.listdir('.')); print(*os.scandir('.'))"],
        cwd=folder / "blocks", env={**os.environ, **env}, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert said.index("women") < said.index("men_overblock_52") < said.index("men_overblock_50")
    built = build(folder, env, jobs=2, umask=0o077, cwd=start)
    assert differences(plain, built) == []


@pytest.mark.skipif(shutil.which("localedef") is None, reason="no localedef to make a locale with")
def test_language(plain: Files, tmp_path: Path) -> None:
    """Turkish has a comma for a point, and an i whose capital has a dot."""
    words = [
        "localedef",
        "--no-archive",
        "-i",
        "tr_TR",
        "-f",
        "UTF-8",
        str(tmp_path / "tr_TR.UTF-8"),
    ]
    subprocess.run(words, capture_output=True, check=False)
    env = {"LOCPATH": str(tmp_path), "LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"}
    speaks = "import locale as l; l.setlocale(l.LC_ALL, ''); print(l.format_string('%.1f', 1.5))"
    said = subprocess.run(
        [sys.executable, "-c", speaks], env={**os.environ, **env}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert said.stdout == "1,5\n", said.stderr
    assert differences(plain, build(lay_out(tmp_path / "library"), env)) == []


@pytest.mark.skipif(shutil.which("cc") is None, reason="no C compiler to make another clock with")
def test_day(plain: Files, tmp_path: Path) -> None:
    """Thirteen months later, in a leap year's spring or autumn."""
    clock = tmp_path / "clock.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-o", str(clock), str(HERE / "clock.c")], check=True)
    ahead = 400 * 86_400
    env = {"LD_PRELOAD": str(clock), "CLOCK_AHEAD": str(ahead)}
    code = "import time, datetime; print(time.time(), datetime.datetime.now().timestamp())"
    said = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **env}, capture_output=True, text=True,
        check=True,
    ).stdout.split()  # fmt: skip
    assert all(float(told) == pytest.approx(time.time() + ahead, abs=60) for told in said)
    built = build(lay_out(tmp_path / "library", stamp=315_600_000), env, jobs=2)
    assert differences(plain, built) == []
