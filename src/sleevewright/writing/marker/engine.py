"""The nesting engine in a process of its own, so that it can be stopped at a step, not at a time.

The engine itself stops by the clock, and a busy machine gets less far. Its steps, though, are the
same for the same seed: it makes the strip shorter and shorter, and now and then comes to a dead end
and begins again. Here it is stopped at its nth dead end.
"""

import json
import os
import subprocess
import sys
import threading
from dataclasses import dataclass
from typing import Any

from sleevewright.errors import OperationError

_POLL = 0.02  # seconds
#: Seconds that an ordinary machine takes from one dead end to the next, about (measured).
_DEAD_END = 2.0
#: A machine that needs so many times longer than an ordinary one is not waited for.
_PATIENCE = 8.0


@dataclass(frozen=True, slots=True)
class Strip:
    """Where the engine laid things.

    Attributes:
        places: (rotation in degrees about the origin, then x and y to move by) of every outline.
        settled: whether all dead ends were come to; if not, another run may end elsewhere.
    """

    places: tuple[tuple[float, float, float], ...]
    settled: bool


def nest(
    outlines: list[list[tuple[float, float]]],
    height: float,
    ways: list[float],
    seconds: float,
    seed: int,
) -> Strip:
    """Lay outlines on a strip of a height, each turned by one of the angles `ways`.

    Raises:
        OperationError: the engine is not installed, or failed.
    """
    try:
        import spyrrow  # noqa: F401, PLC0415
    except ImportError:
        raise OperationError(
            "a marker needs spyrrow, which is not installed; install sleevewright with the extra: nest"
        ) from None
    task = {
        "outlines": outlines, "height": height, "ways": ways, "seed": seed,
        "dead_ends": max(1, round(seconds / _DEAD_END)),
        "most": round(_PATIENCE * max(seconds, 2 * _DEAD_END)),
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", __name__],
        input=json.dumps(task, allow_nan=False), capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode or not done.stdout:
        why = done.stderr.strip().splitlines() or ["it said nothing"]
        raise OperationError(f"the nesting engine failed: {why[-1]}")
    found = json.loads(done.stdout)
    return Strip(tuple((a, x, y) for a, x, y in found["places"]), found["settled"])


def _run(task: dict[str, Any]) -> dict[str, Any]:
    """Search until the dead ends are come to, or the time is over."""
    import spyrrow  # noqa: PLC0415

    strip = spyrrow.StripPackingInstance(
        "marker",
        task["height"],
        [
            spyrrow.Item(str(n), [(x, y) for x, y in outline], 1, task["ways"])
            for n, outline in enumerate(task["outlines"])
        ],
    )
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,  # else no other times are taken
        exploration_time=task["most"],
        compression_time=0,  # it hurries by the clock: never twice the same
        num_workers=1,  # several race one another
        seed=task["seed"],
    )
    queue = spyrrow.ProgressQueue()
    ended: list[Any] = []
    thread = threading.Thread(target=lambda: ended.append(strip.solve(config, queue)), daemon=True)
    thread.start()
    best, dead_ends = None, 0
    while True:
        alive = thread.is_alive()
        for kind, solution in queue.drain():
            if kind == spyrrow.ReportType.ExplFeas and (not best or solution.width < best.width):
                best = solution
            dead_ends += kind == spyrrow.ReportType.ExplInfeas
            if best and dead_ends == task["dead_ends"]:
                return _said(best, settled=True)
        if not alive:
            break
        thread.join(_POLL)
    if not ended:
        raise SystemExit("it found no place for a piece")
    return _said(best or ended[0], settled=False)


def _said(solution: Any, *, settled: bool) -> dict[str, Any]:
    at = {int(item.id): item for item in solution.placed_items}
    places = [[at[n].rotation, *at[n].translation] for n in sorted(at)]
    return {"places": places, "settled": settled}


if __name__ == "__main__":
    print(json.dumps(_run(json.load(sys.stdin)), allow_nan=False), flush=True)  # noqa: T201
    os._exit(0)  # the engine's thread cannot be stopped otherwise
