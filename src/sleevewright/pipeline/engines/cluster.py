"""A dask cluster, whose workers run each job in a cell beside them."""

import multiprocessing
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import Any

from sleevewright.errors import Problem, RecipeError
from sleevewright.limits import Limits
from sleevewright.operations.registry import OWN
from sleevewright.pipeline.engines.cell import cell
from sleevewright.pipeline.engines.flow import AHEAD, Batch, flow, outcomes
from sleevewright.pipeline.fingerprint import refuse_other_code, tool_version
from sleevewright.pipeline.job import Job, Lost, Made, Outcome

TASK_SECONDS = 1.0  # of work in a task
MOST_IN_A_TASK = 64


@dataclass(frozen=True, slots=True)
class DaskEngine:
    """A dask cluster: an existing one, or one of this machine's.

    A scheduler takes about a millisecond for a task, and every task carries its block: jobs of one
    block go out in batches of about a second's work.

    Attributes:
        scheduler: address of an existing scheduler; "" starts a cluster here.
        workers: how many, of a cluster that is started here.
        limits: of one job.
    """

    scheduler: str
    workers: int
    limits: Limits

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome | None]:
        """See `Engine.run`.

        Raises:
            RecipeError: dask is not installed, or the scheduler cannot be reached.
        """
        with _client(self.scheduler, self.workers) as client:
            threads = sum(client.nthreads().values()) or self.workers

            def submit(batch: Batch) -> "Future[Any]":
                return pool.submit(run_in_cell, batch, self.limits, ours)  # type: ignore[no-any-return]

            ours, pace = tool_version(), _Pace()
            try:
                with client.get_executor(pure=False, retries=1) as pool, _signals_noted() as heed:
                    for outcome in flow(_batches(jobs, pace), submit, AHEAD * threads):
                        heed()
                        pace.learn(outcome)
                        yield outcome
            finally:
                client.run(close_cells)


class _Pace:
    """How many jobs make about a second's work; one until that is known."""

    def __init__(self) -> None:
        self.seconds = TASK_SECONDS

    def learn(self, outcome: Outcome | None) -> None:
        """Take in what a job took."""
        if isinstance(outcome, Made):
            self.seconds += 0.2 * (outcome.seconds - self.seconds)

    @property
    def jobs(self) -> int:
        """How many jobs the next task may hold."""
        return min(max(1, round(TASK_SECONDS / max(self.seconds, 1e-6))), MOST_IN_A_TASK)


def _batches(jobs: Iterable[Job], pace: _Pace) -> Iterator[Batch]:
    """Put neighbouring jobs of one block together, as many as the pace says when asked."""
    batch: list[Job] = []
    for job in jobs:
        if batch and (len(batch) >= pace.jobs or job.pattern is not batch[0].pattern):
            yield tuple(batch)
            batch = []
        batch.append(job)
    if batch:
        yield tuple(batch)


@contextmanager
def _signals_noted() -> Iterator[Callable[[], None]]:
    """Note signals instead of raising in whatever code runs; give a function that then raises.

    Dask runs callbacks in the main thread in which an exception is lost, and the run would go on.
    """
    noted: list[int] = []
    usual: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                number = int(getattr(signal, name))
                usual[number] = signal.signal(number, lambda got, _frame: noted.append(got))

    def heed() -> None:
        if noted and callable(usual[noted[0]]):
            usual[noted[0]](noted[0], None)

    try:
        yield heed
    finally:
        for number, handler in usual.items():
            signal.signal(number, handler)


_cells: dict[Limits, tuple[AbstractContextManager[Any], Any]] = {}


def run_in_cell(batch: Batch, limits: Limits, tool: str) -> tuple[Outcome, ...]:
    """Run jobs on a dask worker, each in a process beside it; with another sleevewright, none."""
    try:
        refuse_other_code([(OWN, tool)])
    except RecipeError as error:
        return tuple(Lost(job.key, str(error)) for job in batch)
    if limits not in _cells:
        # A dask worker is a daemon process, which may have no children of its own; ours end with it.
        multiprocessing.process.current_process()._config["daemon"] = False  # type: ignore[attr-defined]
        keeper = cell(_threads(), limits)
        _cells[limits] = (keeper, keeper.__enter__())
    futures = [_cells[limits][1](job) for job in batch]
    return tuple(
        outcome
        for future, job in zip(futures, batch, strict=True)
        for outcome in outcomes(future, (job,))
    )


def close_cells() -> None:
    """End the processes beside a dask worker."""
    while _cells:
        _, (keeper, _submit) = _cells.popitem()
        keeper.__exit__(None, None, None)


def _threads() -> int:
    from distributed import get_worker  # noqa: PLC0415

    return int(get_worker().state.nthreads)


@contextmanager
def _client(scheduler: str, workers: int) -> Iterator[Any]:
    try:
        from distributed import Client, LocalCluster  # noqa: PLC0415
    except ImportError:
        raise RecipeError(
            Problem("--engine dask needs dask, which is not installed", remedy=
                    "install sleevewright with the extra: cluster")
        ) from None  # fmt: skip
    if not scheduler:
        with (
            LocalCluster(  # type: ignore[no-untyped-call]
                n_workers=workers, threads_per_worker=1, dashboard_address=None, silence_logs=40
            ) as cluster,
            Client(cluster) as client,  # type: ignore[no-untyped-call]
        ):
            yield client
        return
    try:
        client = Client(scheduler, timeout=10)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise RecipeError(
            Problem(f"--scheduler {scheduler}: cannot be reached: {error or type(error).__name__}")
        ) from None
    with client:
        yield client
