"""A few faults of every kind; `FAULTS=50` takes more of each, `faults.py` all of them.

This says of the kinds what stands in their docstrings: exit status and message, every file whole, and a next run
that makes what was lost.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from fault_bench import SCENES, Bench, Scene
from fault_kinds import KINDS, UPDATE

from faults import faults_of, missing, suffered

FEW = {"kill": 2, "error": 2, "record": 3}  # of the others one


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    with tempfile.TemporaryDirectory() as name:  # not pytest's, which others may not enter
        folder = Path(name).resolve()
        folder.chmod(0o755)
        yield Bench(folder)


@pytest.mark.parametrize("kind", KINDS)
def test_faults_are_borne(bench: Bench, kind: str) -> None:
    if said := missing(kind):
        pytest.skip(said)
    most = int(os.environ.get("FAULTS", "0"))
    scenes: tuple[Scene, ...] = SCENES if most else (UPDATE,)
    hits = 0
    for fault in faults_of(kind, bench, most or FEW.get(kind, 1), scenes):
        hit, found = suffered(bench, fault)
        hits += hit
        assert not found, f"{fault}: {'; '.join(found)}"
    assert hits


# --- signals ----------------------------------------------------------------------------------

#: Loads a module that is hit by a signal and goes on whatever is raised in it, as libraries in C do.
DEAF = """
import sys, time
from sleevewright.cli.stopping import stop_on_signals
stop_on_signals()
import deaf
print("loaded", flush=True)
time.sleep(20)
"""


@pytest.mark.parametrize(("name", "status"), [("SIGTERM", 143), ("SIGHUP", 129)])
def test_a_signal_is_not_lost_while_a_module_is_loaded(
    tmp_path: Path, name: str, status: int
) -> None:
    (tmp_path / "deaf.py").write_text(
        f"import os, signal\ntry:\n    os.kill(os.getpid(), signal.{name})\n"
        "    for _ in range(1000): pass\nexcept BaseException: pass\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", DEAF], cwd=tmp_path, capture_output=True, text=True, timeout=15,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path), *sys.path])}, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) in ((status, "loaded\n"), (status, ""))
    assert done.stderr == ""


# --- faults of our own ------------------------------------------------------------------------


def broken(folder: Path, error: str) -> "subprocess.CompletedProcess[str]":
    """Run a command line in which a command raises."""
    code = (
        "import sleevewright.cli as c\n"
        f"def broken(**_): raise {error}\n"
        "c.cli.main = broken\nc.main()"
    )
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env={**os.environ, "TMPDIR": str(folder)},
    )  # fmt: skip


def test_a_report_is_written_over_nothing(tmp_path: Path) -> None:
    foreign, shared = tmp_path / "foreign", tmp_path / "shared"
    foreign.write_text("foreign")
    shared.mkdir()
    for name in ("sleevewright-bug-report.txt", "sleevewright-bug-report-.txt"):
        (shared / name).symlink_to(foreign)
    for count in (1, 2):
        done = broken(shared, "KeyError('x')")
        assert done.returncode == 70
        assert "Traceback" not in done.stderr
        reports = [path for path in shared.iterdir() if not path.is_symlink()]
        assert len(reports) == count
        assert any(f"a report is in {path}" in done.stderr for path in reports)
        assert all("KeyError: 'x'" in path.read_text() for path in reports)
        assert all(path.stat().st_mode & 0o077 == 0 for path in reports)
    assert foreign.read_text() == "foreign"


@pytest.mark.parametrize(
    "error",
    ["OSError(24, 'Too many open files')", "OSError(116, 'Stale file handle', '/out/38.svg')"],
)
def test_what_the_system_refuses_is_no_fault_of_ours(tmp_path: Path, error: str) -> None:
    done = broken(tmp_path, error)
    assert done.returncode == 4
    assert "limits of the system, and run again" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
