"""Every engine gives the same bytes, and a job that ends badly ends alone."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from conftest_pipeline import Studio, made
from samples_of_ours import registry
from sleevewright.limits import Limits
from sleevewright.pipeline.batch import run_batch
from sleevewright.pipeline.engines.cluster import run_in_cell
from sleevewright.pipeline.job import Job, Lost, Outcome
from sleevewright.pipeline.library import Library

GOOD = [
    "men/classic-raglan/50", "men/classic-raglan/52", "men/half-raglan/50", "men/half-raglan/52",
]  # fmt: skip

#: What each faulty operation does (see conftest_pipeline and `faulty`), and a word its message owes.
FAULTS = {
    "men/die/52": "worker was lost",
    "men/gorge/52": "memory_mb",
    "men/hang/52": "limits: seconds",
    "men/segfault/52": "worker was lost",
    "men/slip/52": "KeyError",
}
SECONDS = 6

SEGFAULT = '''
import signal


@operation
class Segfault(_Quiet):
    """Be ended by the system as for a bad pointer."""
    def apply(self, pattern):
        os.kill(os.getpid(), signal.SIGSEGV)
        time.sleep(10)
'''


def faulty(studio: Studio) -> dict[str, str]:
    """Install the faulty plug-in with one operation more; return the environment."""
    env = studio.plug_in()
    place = studio.folder / "site"
    with (place / "faulty.py").open("a") as file:
        file.write(SEGFAULT)
    with (place / "faulty-1.0.dist-info" / "entry_points.txt").open("a") as file:
        file.write("segfault = faulty:Segfault\n")
    studio.recipe("segfault", "name: segfault\nsteps:\n  - segfault\n")
    # Every good variant, and each fault once.
    studio.library(
        f"limits: {{seconds: {SECONDS}, memory_mb: 250}}\n"
        "include: [{recipe: '*raglan'}, {size: 52}]\n"
    )
    return env


@contextmanager
def processes(*commands: list[str], env: dict[str, str], folder: Path) -> Iterator[None]:
    """Run commands beside the test, each with its children in a group that is ended after."""
    running = [
        subprocess.Popen(
            [sys.executable, "-m", *words], cwd=folder, env={**os.environ, **env},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )
        for words in commands
    ]  # fmt: skip
    try:
        yield
    finally:
        for process in running:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


@contextmanager
def cluster(folder: Path, env: dict[str, str]) -> Iterator[str]:
    """Start a scheduler and two workers as processes of their own; give the address."""
    told = folder / "scheduler.json"
    words = ["--scheduler-file", str(told), "--no-dashboard", "--host", "127.0.0.1"]
    scheduler = ["distributed.cli.dask_scheduler", *words, "--port", "0"]
    worker = ["distributed.cli.dask_worker", *words, "--nworkers", "2", "--nthreads", "1"]
    with processes(scheduler, worker, env=env, folder=folder):
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline:
            with suppress(OSError, ValueError):  # not there, or not whole yet
                yield str(json.loads(told.read_text())["address"])
                return
            time.sleep(0.05)
        raise AssertionError("the scheduler did not start")


def failed(events: list[dict[str, object]]) -> dict[str, str]:
    return {str(e["key"]): str(e["problem"]) for e in events if e["event"] == "failed"}


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The tree that one local worker makes."""
    studio = Studio(tmp_path_factory.mktemp("plain"))
    for size in (50, 52):
        studio.block(f"men_overblock_{size}")
    for name in ("classic-raglan", "half-raglan"):
        studio.recipe(name)
    studio.library()
    done = studio.run("batch", "library.yaml", "--json", "--jobs", 1)
    assert (done.returncode, made(json.loads(done.stdout))) == (0, GOOD)
    assert len(studio.bytes_out()) == 2 * len(GOOD)  # svg and json
    return studio.bytes_out()


@pytest.mark.parametrize("engine", ["local", "dask"])
def test_two_workers_give_the_bytes_of_one(
    small: Studio, plain: dict[str, bytes], engine: str
) -> None:
    done = small.run("batch", "library.yaml", "--json", "--jobs", 2, "--engine", engine)
    assert (done.returncode, made(json.loads(done.stdout))) == (0, GOOD)
    assert small.bytes_out() == plain


@pytest.mark.parametrize("engine", ["local", "cluster"])
def test_a_job_that_ends_badly_ends_alone(
    small: Studio, plain: dict[str, bytes], engine: str
) -> None:
    env = faulty(small)
    words: list[object] = ["batch", "library.yaml", "--json", "--jobs", 2]
    if engine == "local":
        done = small.run(*words, env=env)
    else:
        with cluster(small.folder, env) as address:
            done = small.run(*words, "--engine", "dask", "--scheduler", address, env=env)
    assert done.returncode == 5, done.stderr
    events = json.loads(done.stdout)
    assert made(events) == GOOD
    problems = failed(events)
    assert sorted(problems) == sorted(FAULTS)
    for key, word in FAULTS.items():
        assert word in problems[key], problems[key]
        assert "\n" not in problems[key]
    assert (events[-1]["made"], events[-1]["failed"]) == (len(GOOD), len(FAULTS))
    assert small.bytes_out() == plain


def test_a_worker_with_another_plug_in_refuses_its_jobs(small: Studio) -> None:
    """Same name, same version, other code: what it would make is not what was planned."""
    env = small.plug_in()
    small.library("include: [{recipe: half-raglan}, {recipe: slip, size: 52}]\n")
    other = small.folder / "other"
    shutil.copytree(small.folder / "site", other)
    with (other / "faulty.py").open("a") as file:
        file.write("# mended\n")
    with cluster(small.folder, {"PYTHONPATH": str(other)}) as address:
        words = ["batch", "library.yaml", "--json", "--engine", "dask", "--scheduler", address]
        done = small.run(*words, env=env)
    events = json.loads(done.stdout)
    assert made(events) == ["men/half-raglan/50", "men/half-raglan/52"]
    problem = failed(events)["men/slip/52"]
    assert problem.startswith("this worker has faulty 1.0+")
    assert "the batch was planned with 1.0+" in problem


def test_a_worker_with_another_sleevewright_refuses_all(small: Studio) -> None:
    jobs: list[Job] = []

    class Keep:
        def run(self, given: Iterable[Job]) -> Iterator[Outcome]:
            jobs.extend(given)
            return iter(())

    list(run_batch(Library.load(small.folder / "library.yaml"), Keep, registry))
    outcomes = run_in_cell(tuple(jobs), Limits(), "0.0.9+0123456789abcdef")
    assert sorted(outcome.key for outcome in outcomes) == GOOD
    for outcome in outcomes:
        assert isinstance(outcome, Lost)
        assert "the batch was planned with 0.0.9+0123456789abcdef" in outcome.problem
