"""A library of 2,000 variants by processes of this machine and by a cluster: the same bytes.

Run by hand: `python tests/benchmarks/two_engines.py [JOBS]`. The cluster is a dask scheduler and two workers,
each a process of its own, spoken to by address.
"""

import hashlib
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bench_library import make_library, run


@contextmanager
def cluster(folder: Path) -> Iterator[str]:
    """Start a scheduler and two workers; give the scheduler's address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{probe.getsockname()[1]}"
    dask = [sys.executable, "-m", "dask"]
    quiet = {"cwd": folder, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    host = ["--host", "127.0.0.1"]
    commands = [
        [*dask, "scheduler", *host, "--port", address.rpartition(":")[2], "--no-dashboard"],
        *([*dask, "worker", address, *host, "--nthreads", "1", "--no-dashboard"],) * 2,
    ]
    processes = [subprocess.Popen(command, **quiet) for command in commands]  # type: ignore[call-overload]
    try:
        yield address
    finally:
        for process in processes:
            process.terminate()
        for process in processes:
            process.wait(timeout=30)


def digests(folder: Path) -> dict[str, str]:
    """Return the digest of every output below a folder."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def main(jobs: int = 2_002) -> None:
    """Build both ways and compare."""
    with tempfile.TemporaryDirectory() as name, cluster(Path(name)) as address:
        folder = Path(name)
        local, far = (make_library(folder, jobs, way) for way in ("local", "dask"))
        times = [run(local)[0]]
        started = time.monotonic()
        _, _, counts = run(far, "--engine", "dask", "--scheduler", address)
        times.append(time.monotonic() - started)
        one, other = (digests(folder / f"out-{way}") for way in ("local", "dask"))
        same = one == other
        sys.stdout.write(
            f"{counts['made']} variants, {len(one)} files: {'the same bytes' if same else 'DIFFERENT'};"
            f" local {times[0]:.0f} s, dask {times[1]:.0f} s on {os.cpu_count()} cores\n"
        )
        if not same:
            raise SystemExit(1)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
