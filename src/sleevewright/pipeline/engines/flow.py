"""Jobs handed out a window at a time, and what became of each."""

import signal
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from typing import Any

from sleevewright.pipeline.job import Job, Lost, Outcome

#: Jobs handed out per worker at a time: enough to keep it busy, few enough for flat memory.
AHEAD = 3
PAUSE = 0.2  # seconds without an outcome
TOO_LONG = "took longer than limits: seconds allows, and was stopped"
_XCPU = int(getattr(signal, "SIGXCPU", 0))  # ends a process at its limit of processor time

Batch = tuple[Job, ...]


def flow(
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
            yield from outcomes(future, batch)


def outcomes(future: "Future[Any]", batch: Batch) -> tuple[Outcome, ...]:
    """Return what became of every job of a batch."""
    try:
        found = future.result()
    except TimeoutError:
        why = TOO_LONG
    except Exception as error:  # noqa: BLE001 (whatever ended the worker, the others go on)
        said = " ".join(str(error).split()) or type(error).__name__
        why = lost(getattr(error, "exitcode", None), said)
    else:
        return found if isinstance(found, tuple) else (found,)
    return tuple(Lost(job.key, why) for job in batch)


def lost(status: int | None, said: str) -> str:
    """Say how a process ended that was to give an outcome; a negative status is a signal's number."""
    if status and status == -_XCPU:
        return "took more processor time than limits: seconds allows, and was stopped"
    if status is not None:
        said = f"signal {-status}" if status < 0 else f"exit status {status}"
    return f"its worker was lost: {said}"
