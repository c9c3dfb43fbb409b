"""A million variants on a hundred machines, on paper, from rates that are measured here.

Run by hand: `python tests/benchmarks/simulate_cluster.py`. One real job is made; then dask's own LocalCluster of a
hundred workers with injected latency runs tasks that only carry what that job carries, and the side that runs
the batch takes in outcomes that cost it what real ones do. Each stage's rate gives its time for a million; the
slowest stage is the bottleneck. See docs/performance.md.
"""

import itertools
import pickle
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from bench_library import make_library

JOBS, MACHINES, CORES = 1_000_000, 100, 8
WORKERS = 25  # of the cluster on this machine, four threads each
LATENCY = 0.005  # s each way, between machines
BANDWIDTH = 1.25e9  # bytes a second into the side that runs the batch: 10 Gbit/s
PAPER = 2_000  # variants that are taken in for measuring


class Canned:
    """An engine whose outcomes are one real one, again and again."""

    def __init__(self, outcome: object, *, stored: bool) -> None:
        self.outcome, self.stored = outcome, stored

    def run(self, jobs: Iterable[object]) -> Iterator[object]:
        from sleevewright.pipeline.job import store

        for job in jobs:
            files = tuple(
                (f"{job.key}.{name.rpartition('.')[2]}", data)  # type: ignore[attr-defined]
                for name, data in self.outcome.files  # type: ignore[attr-defined]
            )
            stored = store(files, job.folder, "run") if self.stored else ()  # type: ignore[attr-defined]
            files = () if self.stored else files
            yield replace(self.outcome, key=job.key, files=files, stored=stored)  # type: ignore[attr-defined, type-var]


def one_job(folder: Path) -> tuple[object, object]:
    """Return a real job and its outcome."""
    from sleevewright.operations.registry import Registry
    from sleevewright.pipeline.batch import run_batch
    from sleevewright.pipeline.job import run_job
    from sleevewright.pipeline.library import Library

    caught: list[tuple[object, object]] = []

    class Here:
        def run(self, jobs: Iterable[object]) -> Iterator[object]:
            for job in jobs:
                run_job(job)  # type: ignore[arg-type]
                outcome = run_job(job)  # type: ignore[arg-type]
                caught.append((job, outcome))
                yield outcome

    list(run_batch(Library.load(make_library(folder, 11, "one")), Here, Registry.installed))  # type: ignore[arg-type]
    return caught[-1]


def taken_in(folder: Path, outcome: object, stored_by: str) -> float:
    """Return seconds a variant that the side that runs the batch needs, planning and records included."""
    from sleevewright.operations.registry import Registry
    from sleevewright.pipeline.batch import run_batch
    from sleevewright.pipeline.library import Library

    library = Library.load(make_library(folder, PAPER, stored_by, stored_by=stored_by))
    engine = Canned(outcome, stored=stored_by == "workers")
    start = time.perf_counter()
    count = sum(
        event.kind == "made" for event in run_batch(library, lambda: engine, Registry.installed)
    )  # type: ignore[arg-type]
    return (time.perf_counter() - start) / count


def simulated(batch: tuple[object, ...], answer: bytes) -> bytes:
    """What a task costs the scheduler: it carries its batch out and its answer back, over a network."""
    time.sleep(2 * LATENCY)
    return answer


def scheduled(job: object, outcome: object, batch: int, *, bytes_back: bool) -> float:
    """Return seconds a task that dask needs on many workers with nothing to compute."""
    from concurrent.futures import FIRST_COMPLETED, wait

    from distributed import Client, LocalCluster

    made = outcome if bytes_back else replace(outcome, files=())  # type: ignore[type-var]
    jobs, answer = (job,) * batch, pickle.dumps((made,) * batch)
    tasks = max(150, 1_500 // batch)
    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=WORKERS, threads_per_worker=4, processes=False, dashboard_address=":0",
            silence_logs=50,
        ) as cluster,
        Client(cluster) as client,  # type: ignore[no-untyped-call]
        client.get_executor(pure=False) as pool,
    ):  # fmt: skip
        numbers = iter(range(tasks))
        pending = {pool.submit(simulated, jobs, answer) for _ in itertools.islice(numbers, 300)}
        start = time.perf_counter()
        while pending:
            done, pending = wait(pending, return_when=FIRST_COMPLETED)
            for future in done:
                future.result()
            pending |= {
                pool.submit(simulated, jobs, answer) for _ in itertools.islice(numbers, len(done))
            }
        return (time.perf_counter() - start) / tasks


def main() -> None:
    """Measure, and put the million together."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        job, outcome = one_job(folder)
        seconds = outcome.seconds  # type: ignore[attr-defined]
        back = sum(len(data) for _, data in outcome.files)  # type: ignore[attr-defined]
        here, shared = (taken_in(folder, outcome, who) for who in ("here", "workers"))
        sys.stdout.write(
            f"a job: {1e3 * seconds:.0f} ms, {len(pickle.dumps(job)) / 1024:.0f} KB out,"
            f" {back / 1024:.0f} KB back\n"
            f"taken in: {1e3 * here:.2f} ms a variant, {1e3 * shared:.2f} ms where workers store\n"
        )
        machines = JOBS * seconds / (MACHINES * CORES)
        for stored, takes in ((False, here), (True, shared)):
            for batch in (1, 9):
                task = scheduled(job, outcome, batch, bytes_back=not stored)
                times = {
                    "machines": machines,
                    "scheduler": JOBS / batch * task,
                    "batch side": JOBS * takes,
                    "its network": JOBS * (0 if stored else back) / BANDWIDTH,
                }
                slowest = max(times, key=lambda stage: times[stage])
                told = ", ".join(f"{stage} {t / 60:.0f} min" for stage, t in times.items())
                sys.stdout.write(
                    f"{batch} a task, stored {'by workers' if stored else 'here'}: {1e3 * task:.2f} ms"
                    f" a task; a million: {told}: the {slowest} is the bottleneck\n"
                )
                sys.stdout.flush()


if __name__ == "__main__":
    main()
