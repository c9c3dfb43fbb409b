"""Where jobs run: in processes of this machine, or on a dask cluster.

Both are somebody else's engines (pebble, dask.distributed). What is ours is the *cell*: each job
runs in a process that may be lost, so that one that dies, hangs or eats its memory fails alone. Our own
operations share processes, one job after another; a plug-in's job has one to itself, so that nothing it
leaves behind (another locale, folder, signal handler, thread) meets the next job.
"""

import multiprocessing
import os
import signal
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from sleevewright.errors import Problem, RecipeError, WriteError
from sleevewright.limits import Limits
from sleevewright.operations.registry import OWN
from sleevewright.pipeline.fingerprint import refuse_other_code, tool_version
from sleevewright.pipeline.job import Job, Lost, Made, Outcome, run_job

#: Jobs handed out per worker at a time: enough to keep it busy, few enough for flat memory.
AHEAD = 3
TASK_SECONDS = 1.0  # of work in a task of a cluster
MOST_IN_A_TASK = 64
PAUSE = 0.2  # seconds without an outcome
#: Bytes of the path of the temporary folder: the name of a socket, with 32 more, may have 107.
LONGEST_FOR_SOCKETS = 75
_TOO_LONG = "took longer than limits: seconds allows, and was stopped"
_XCPU = int(getattr(signal, "SIGXCPU", 0))  # ends a process at its limit of processor time

Batch = tuple[Job, ...]


class Engine(Protocol):
    """What a batch needs of an engine."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome | None]:
        """Run jobs, drawing on them only as fast as they are done; yield in the order of ending.

        None stands for a moment in which nothing has ended.
        """


@dataclass(frozen=True, slots=True)
class LocalEngine:
    """Processes of this machine.

    Attributes:
        workers: how many.
        limits: of one job.
    """

    workers: int
    limits: Limits

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome | None]:
        """See `Engine.run`."""
        with cell(self.workers, self.limits) as submit:

            def one(batch: Batch) -> "Future[Any]":
                return submit(batch[0])  # type: ignore[no-any-return]

            yield from _flow(((job,) for job in jobs), one, AHEAD * self.workers)


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
                    for outcome in _flow(_batches(jobs, pace), submit, AHEAD * threads):
                        heed()
                        pace.learn(outcome)
                        yield outcome
            finally:
                client.run(close_cells)


def engine_for(
    limits: Limits, workers: int | None = None, kind: str = "local", scheduler: str = ""
) -> Engine:
    """Return an engine.

    Args:
        limits: of one job.
        workers: how many; one for each core that this process may use if not given.
        kind: "local" or "dask".
        scheduler: address of an existing dask scheduler.
    """
    many = workers or len(os.sched_getaffinity(0))
    if kind == "dask":
        return DaskEngine(scheduler, many, limits)
    return LocalEngine(many, limits)


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


def _flow(
    batches: Iterator[Batch], submit: Callable[[Batch], "Future[Any]"], window: int
) -> Iterator[Outcome | None]:
    """Keep a window of batches under way; yield outcomes as they come, None after each pause.

    A batch whose worker was lost is tried again job by job, so that only the one at fault is.
    """
    pending: dict[Future[Any], Batch] = {}
    again: list[Batch] = []
    while True:
        while len(pending) < window:
            batch = again.pop() if again else next(batches, None)
            if batch is None:
                break
            pending[submit(batch)] = batch
        if not pending:
            return
        done, _ = wait(pending, PAUSE, FIRST_COMPLETED)
        if not done:
            yield None
        for future in done:
            batch = pending.pop(future)
            if len(batch) > 1 and future.exception() is not None:
                again += [(job,) for job in batch]
                continue
            yield from _outcomes(future, batch)


def _outcomes(future: "Future[Any]", batch: Batch) -> tuple[Outcome, ...]:
    """Return what became of every job of a batch."""
    try:
        found = future.result()
    except TimeoutError:
        why = _TOO_LONG
    except Exception as error:  # noqa: BLE001 (whatever ended the worker, the others go on)
        said = " ".join(str(error).split()) or type(error).__name__
        why = _lost(getattr(error, "exitcode", None), said)
    else:
        return found if isinstance(found, tuple) else (found,)
    return tuple(Lost(job.key, why) for job in batch)


def _lost(status: int | None, said: str) -> str:
    """Say how a process ended that was to give an outcome; a negative status is a signal's number."""
    if status and status == -_XCPU:
        return "took more processor time than limits: seconds allows, and was stopped"
    if status is not None:
        said = f"signal {-status}" if status < 0 else f"exit status {status}"
    return f"its worker was lost: {said}"


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


# --- the cell ---------------------------------------------------------------------------------


@contextmanager
def cell(workers: int, limits: Limits) -> Iterator[Any]:
    """Give a function that runs a job in a process with limits, and ends the processes after."""
    from pebble import ProcessPool  # noqa: PLC0415

    context = _context()
    with _quiet():
        _start_server(context)
    pool = ProcessPool(
        max_workers=workers,
        context=context,
        initializer=_prepare,
        initargs=(limits.memory_mb, os.getpid()),
    )

    def submit(job: Job) -> "Future[Outcome]":
        if job.plugins:
            return alone(job)
        try:
            shared: Future[Outcome] = pool.schedule(
                _limited, args=[job, limits.seconds], timeout=limits.seconds
            )
        except RuntimeError:  # the pool's own word for whatever the system refused it
            raise WriteError(
                Problem("processes cannot be started", remedy="raise the limits of the system on open"
                        " files, processes and memory, or use fewer --jobs; a script calls build()"
                        " under `if __name__ == \"__main__\":`, for every process loads it")
            ) from None  # fmt: skip
        return shared

    try:
        with _single(workers, limits, context) as alone:
            yield submit
    finally:
        pool.stop()  # type: ignore[no-untyped-call]
        pool.join()


@contextmanager
def _single(
    workers: int, limits: Limits, context: Any
) -> Iterator[Callable[[Job], "Future[Outcome]"]]:
    """Give a function that runs a job in a process of its own, so many at a time."""
    running: set[Any] = set()
    ending = threading.Event()

    def run(job: Job) -> Outcome:
        reader, writer = context.Pipe(duplex=False)
        arguments = (job, limits, os.getpid(), writer)
        process = context.Process(target=_prepared, args=arguments, daemon=True)
        process.start()
        writer.close()
        running.add(process)
        if ending.is_set():
            process.kill()
        try:
            outcome: Outcome = (
                reader.recv() if reader.poll(limits.seconds) else Lost(job.key, _TOO_LONG)
            )
        except (EOFError, OSError):
            process.join()
            outcome = Lost(job.key, _lost(process.exitcode, ""))
        process.kill()  # whatever it still does: its job is done, or over
        process.join()
        running.discard(process)
        return outcome

    with ThreadPoolExecutor(workers) as threads:
        try:
            yield lambda job: threads.submit(run, job)
        finally:
            threads.shutdown(wait=False, cancel_futures=True)
            ending.set()
            for process in tuple(running):
                process.kill()


def _context() -> Any:
    """Processes are forked from a clean server that has the heavy modules loaded."""
    known = "forkserver" in multiprocessing.get_all_start_methods()
    if not known or len(os.fsencode(tempfile.gettempdir())) > LONGEST_FOR_SOCKETS:
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["sleevewright.pipeline.preload"])
    return context


def _start_server(context: Any) -> None:
    """Start the server that forks workers."""
    if context.get_start_method() == "forkserver":
        from multiprocessing import forkserver  # noqa: PLC0415

        forkserver.ensure_running()


@contextmanager
def _quiet() -> Iterator[None]:
    """Let processes started here say nothing: their outcome does, and stdout may be a JSON document."""
    kept = [os.dup(1), os.dup(2)]
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    try:
        yield
    finally:
        for number, copy in zip((1, 2), kept, strict=True):
            os.dup2(copy, number)
            os.close(copy)
        os.close(nowhere)


def _end_with(parent: int) -> None:
    """End this process soon after another one has gone, whatever it is doing."""

    def look() -> None:
        while True:
            time.sleep(1.0)
            if not _runs(parent):
                os._exit(1)

    threading.Thread(target=look, daemon=True).start()


def _runs(pid: int) -> bool:
    """Whether a process is there and has not ended, though nobody may have asked after it yet."""
    try:
        os.kill(pid, 0)
        with open(f"/proc/{pid}/stat", encoding="ascii", errors="replace") as file:  # noqa: PTH123
            return file.read().rpartition(")")[2].split()[0] not in ("Z", "X")
    except ProcessLookupError:
        return False
    except OSError:
        return True  # another user's, or a system without /proc


def _prepare(memory_mb: int, parent: int) -> None:
    """Limit the memory of this process to what it has now and so much more; see it end in time."""
    _end_with(parent)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the side that runs the batch ends us
    import sleevewright.pipeline.preload  # noqa: F401, PLC0415

    try:
        import resource  # noqa: PLC0415
    except ImportError:
        return  # no such limits on this system
    with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
        pages = int(file.read().split()[0])
    most = pages * os.sysconf("SC_PAGE_SIZE") + memory_mb * 1024 * 1024
    resource.setrlimit(resource.RLIMIT_AS, (most, resource.getrlimit(resource.RLIMIT_AS)[1]))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))  # whatever ends us leaves no file behind


def _prepared(job: Job, limits: Limits, parent: int, answer: Any) -> None:
    """Run a job in a process that has done nothing before and does nothing after."""
    _prepare(limits.memory_mb, parent)
    answer.send(_limited(job, limits.seconds))


def _limited(job: Job, seconds: int) -> Outcome:
    """Run a job, with so much processor time more than this process has had.

    Wall time is watched from outside and ends most jobs first. Processor time ends what that cannot
    see: threads that add up, and processes that an operation started and left behind.
    """
    _allow_processor_time(seconds)
    return run_job(job)


def _allow_processor_time(seconds: int) -> None:
    try:
        import resource  # noqa: PLC0415
    except ImportError:
        return  # no such limits on this system
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    soft = int(time.process_time()) + seconds + 1  # whole seconds, never less than was asked for
    if hard != resource.RLIM_INFINITY:
        soft = min(soft, hard)
    resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


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
        for outcome in _outcomes(future, (job,))
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
