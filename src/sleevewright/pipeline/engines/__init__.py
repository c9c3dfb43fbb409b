"""Where jobs run: in processes of this machine, or on a dask cluster; front door `engine_for`.

Both are somebody else's engines (pebble, dask.distributed). What is ours is the *cell* that a job runs
in, so that one that dies, hangs or eats its memory fails alone.
"""

import os
from collections.abc import Iterable, Iterator
from typing import Protocol

from sleevewright.limits import Limits
from sleevewright.pipeline.engines.cluster import DaskEngine
from sleevewright.pipeline.engines.local import LocalEngine
from sleevewright.pipeline.job import Job, Outcome

__all__ = ["Engine", "engine_for"]


class Engine(Protocol):
    """What a batch needs of an engine."""

    def run(self, jobs: Iterable[Job]) -> Iterator[Outcome | None]:
        """Run jobs, drawing on them only as fast as they are done; yield in the order of ending.

        None stands for a moment in which nothing has ended.
        """


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
