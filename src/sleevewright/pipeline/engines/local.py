"""Processes of this machine."""

from collections.abc import Iterable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any

from sleevewright.limits import Limits
from sleevewright.pipeline.engines.cell import cell
from sleevewright.pipeline.engines.flow import AHEAD, Batch, flow
from sleevewright.pipeline.job import Job, Outcome


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

            yield from flow(((job,) for job in jobs), one, AHEAD * self.workers)
