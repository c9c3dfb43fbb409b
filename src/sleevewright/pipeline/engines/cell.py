"""The cell: each job runs in a process that may be lost, with limits of time and memory.

Our own operations share processes, one job after another; a plug-in's job has one to itself, so that
nothing it leaves behind (another locale, folder, signal handler, thread) meets the next job.
"""

import multiprocessing
import os
import signal
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

from sleevewright.errors import Problem, WriteError
from sleevewright.limits import Limits
from sleevewright.pipeline.engines.flow import TOO_LONG, lost
from sleevewright.pipeline.job import Job, Lost, Outcome, run_job

#: Bytes of the path of the temporary folder: the name of a socket, with 32 more, may have 107.
LONGEST_FOR_SOCKETS = 75


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
                reader.recv() if reader.poll(limits.seconds) else Lost(job.key, TOO_LONG)
            )
        except (EOFError, OSError):
            process.join()
            outcome = Lost(job.key, lost(process.exitcode, ""))
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
