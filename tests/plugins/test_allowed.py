"""A package that is installed is not imported for that: a library or the command line must allow it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from conftest_pipeline import Studio, made
from packages_of_strangers import package
from samples_of_ours import ROOT
from sleevewright.errors import RecipeError
from sleevewright.operations.registry import Registry
from sleevewright.pipeline.fingerprint import package_version
from sleevewright.recipe import Recipe

BLOCK = ROOT / "sample_patterns" / "svg" / "men_overblock_50.svg"

#: Its import leaves a file beside it.
LEAVES_A_MARK = """
from pathlib import Path

Path(__file__).with_name("PWNED").touch()


@operation
class Idle(_Quiet):
    \"\"\"Change nothing.\"\"\"
    def apply(self, pattern):
        return pattern
"""
RECIPE = "name: odd\nsteps:\n  - raglan\n  - odd-job\n"


@pytest.fixture
def odd(studio: Studio) -> Studio:
    """A library whose one recipe uses the operation odd-job of the package Odd.Jobs 1.0."""
    package(studio.folder / "site", LEAVES_A_MARK, "Odd.Jobs", odd_job="Idle")
    studio.block("men_overblock_50")
    studio.recipe("odd", RECIPE)
    studio.library()
    return studio


def run(studio: Studio, *words: object) -> "subprocess.CompletedProcess[str]":
    return studio.run(*words, env={"PYTHONPATH": str(studio.folder / "site")})


def imported(studio: Studio) -> bool:
    mark = studio.folder / "site" / "PWNED"
    was_there = mark.exists()
    mark.unlink(missing_ok=True)
    return was_there


def test_what_is_only_installed_is_listed_but_never_imported(odd: Studio) -> None:
    listed = run(odd, "operations")
    assert "odd-job           not allowed: add --plugin Odd.Jobs==1.0\n" in listed.stdout
    schema = run(odd, "schema", "recipe")
    assert '"odd-job"' not in schema.stdout
    assert "odd-job: not allowed: add --plugin Odd.Jobs==1.0" in schema.stderr
    page = run(odd, "operations", "odd-job")
    convert = run(odd, "convert", BLOCK, "--recipe", "recipes/odd.yaml")
    for done in (page, convert):
        assert done.returncode == 2
        assert "Odd.Jobs==1.0, which is not allowed" in done.stderr
        assert "plugins: [Odd.Jobs==1.0] to the library" in done.stderr
        assert len(done.stderr.splitlines()) == 1
    assert "odd.yaml:4:" in convert.stderr
    batch = run(odd, "batch", "library.yaml")
    assert batch.returncode == 5
    assert "odd.yaml:4:" in batch.stdout
    assert "which is not allowed" in batch.stdout
    assert odd.bytes_out() == {}
    assert not imported(odd)


@pytest.mark.parametrize("name", ["Odd.Jobs", "odd_jobs", "ODD--jobs"])
def test_what_is_allowed_is_imported(name: str, odd: Studio) -> None:
    done = run(odd, "operations", "odd-job", "--plugin", f"{name}==1.0")
    assert "Change nothing." in done.stdout, done.stderr
    assert imported(odd)


def test_a_library_allows_and_forbids(odd: Studio) -> None:
    odd.library("plugins: [odd-jobs==1.0]\n")
    done = run(odd, "batch", "library.yaml", "--json")
    assert made(json.loads(done.stdout)) == ["men/odd/50"]
    assert imported(odd)
    again = run(odd, "batch", "library.yaml")
    assert "1 variant: 0 made, 1 up to date" in again.stdout
    # Another content of the package, though not another version, makes its variants stale.
    with (odd.folder / "site" / "odd_jobs.py").open("a") as module:
        module.write("# another line\n")
    stale = run(odd, "batch", "library.yaml", "--dry-run")
    assert "would make men/odd/50: operations are odd-job=Odd.Jobs:1.0+" in stale.stdout
    # What is not allowed any more is no more up to date.
    odd.library()
    imported(odd)
    forbidden = run(odd, "batch", "library.yaml")
    assert forbidden.returncode == 5
    assert "which is not allowed" in forbidden.stdout
    assert not imported(odd)


@pytest.mark.parametrize(
    ("plugin", "said"),
    [
        ("Odd.Jobs==1.1", "version 1.0 is installed; allow Odd.Jobs==1.0, or install"),
        ("odd-job==1.0", "is not installed, or gives no operation; plug-ins that are installed: Odd.Jobs==1.0"),
        ("sleevewright==0.1.0", "is not installed, or gives no operation"),
        ("Odd.Jobs", "NAME==VERSION"),
        ("Odd.Jobs>=1.0", "NAME==VERSION"),
    ],
)  # fmt: skip
def test_an_allowance_that_fits_nothing_is_a_mistake(plugin: str, said: str, odd: Studio) -> None:
    done = run(odd, "operations", "--plugin", plugin)
    assert done.returncode == 2
    assert said in done.stderr
    odd.library(f"plugins: [{plugin}]\n")
    done = run(odd, "batch", "library.yaml")
    assert done.returncode == 2
    assert "library.yaml" in done.stderr
    assert said in done.stderr
    assert not imported(odd)


def test_a_script_allows_it(odd: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(odd.folder / "site")
    monkeypatch.setitem(sys.modules, "odd_jobs", None)  # taken away again at the end
    del sys.modules["odd_jobs"]
    file = odd.folder / "recipes" / "odd.yaml"
    with pytest.raises(RecipeError, match="which is not allowed"):
        Recipe.load(file)
    assert not imported(odd)
    recipe = Recipe.load(file, Registry.installed(plugins=("odd-jobs==1.0",)))
    assert [step.operation.__name__ for step in recipe.steps] == ["Raglan", "Idle"]
    assert imported(odd)


# --- two of one name ----------------------------------------------------------------------------


@pytest.fixture
def rivals(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two packages that give an operation `twist`, and one that gives a `raglan`."""
    package(tmp_path, LEAVES_A_MARK, "one", twist="Idle")
    package(tmp_path, LEAVES_A_MARK, "two", "2.0", twist="Idle")
    package(tmp_path, LEAVES_A_MARK, "three", raglan="Idle")
    monkeypatch.syspath_prepend(tmp_path)


@pytest.mark.usefixtures("rivals")
def test_two_of_one_name_are_a_mistake_only_if_both_are_allowed() -> None:
    assert [e.plugin for e in Registry.installed().not_allowed] == [
        "three==1.0", "one==1.0", "two==2.0",
    ]  # fmt: skip
    assert Registry.installed(["one==1.0"]).entry("twist").plugin == "one==1.0"
    with pytest.raises(RecipeError, match=r"'twist': one==1.0 and two==2.0; allow only one"):
        Registry.installed(["one==1.0", "two==2.0"])


@pytest.mark.usefixtures("rivals")
def test_ours_stays_ours() -> None:
    assert Registry.installed().entry("raglan").is_ours
    assert Registry.installed(["one==1.0"]).entry("raglan").is_ours
    with pytest.raises(RecipeError, match="two packages give an operation 'raglan'"):
        Registry.installed(["three==1.0"])


# --- what a package is --------------------------------------------------------------------------


def version_of(name: str) -> str:
    return package_version.__wrapped__(name)


def test_every_file_of_a_package_counts_but_no_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package(tmp_path, LEAVES_A_MARK, "one", twist="Idle")
    inside = tmp_path / "inside"
    inside.mkdir()
    (inside / "__init__.py").write_text("")
    (inside / "table.json").write_text("{}")
    info = tmp_path / "one-1.0.dist-info"
    monkeypatch.syspath_prepend(tmp_path)
    unlisted = version_of("one")
    listed = ["one.py", "inside/__init__.py", "inside/table.json", "one-1.0.dist-info/METADATA"]
    (info / "RECORD").write_text("".join(f"{name},,\n" for name in (*listed, "../../bin/one")))
    as_made = version_of("one")
    assert as_made != unlisted  # what it lists is more than its module
    (inside / "__pycache__").mkdir()
    (inside / "__pycache__" / "x.pyc").write_bytes(b"0")
    (info / "INSTALLER").write_text("somebody")
    assert version_of("one") == as_made
    seen = {as_made}
    for name in listed[:3]:
        with (tmp_path / name).open("a") as file:
            file.write(" ")
        seen.add(version_of("one"))
    assert len(seen) == 4
    # An editable install lists a pointer only: then its modules count.
    (info / "direct_url.json").write_text('{"url": "file:///x", "dir_info": {"editable": true}}')
    before = version_of("one")
    with (tmp_path / "one.py").open("a") as file:
        file.write("# more\n")
    assert version_of("one") != before
    assert not (tmp_path / "PWNED").exists()


def test_nothing_is_imported_to_tell_a_version(odd: Studio) -> None:
    code = (
        "import sys\nfrom sleevewright.pipeline.fingerprint import package_version\n"
        "print(package_version('odd-jobs'))\nsys.exit('odd_jobs' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(odd.folder / "site")},
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.startswith("1.0+")
    assert not imported(odd)
