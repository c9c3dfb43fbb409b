"""A run ends on SIGINT, SIGTERM and SIGHUP, by an exception, so that everything is put away."""

import signal
from types import FrameType

from sleevewright.errors import Stopped

_AGAIN = 0.02  # s


def stop_on_signals() -> list[int]:
    """Raise where the program is when a signal comes; return the list that then holds its number.

    While a module is being loaded that has to wait: libraries in C load others and go on whatever
    these raise, and the run would go on with them.
    """
    stopped: list[int] = []

    def stop(number: int, frame: FrameType | None) -> None:
        if number != getattr(signal, "SIGALRM", 0) or not stopped:
            stopped.append(number)
        if hasattr(signal, "setitimer") and _loads_a_module(frame):
            signal.setitimer(signal.ITIMER_REAL, _AGAIN)
        elif stopped[0] == signal.SIGINT:
            raise KeyboardInterrupt
        else:
            raise Stopped(128 + stopped[0])

    for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGALRM"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)
    return stopped


def _loads_a_module(frame: FrameType | None) -> bool:
    while frame is not None:
        if frame.f_globals.get("__name__") == "importlib._bootstrap":
            return True
        frame = frame.f_back
    return False
