"""What an operation of a stranger does to its process hurts its own variant, and no other."""

import json
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from conftest_pipeline import Studio, made
from packages_of_strangers import package

SECONDS = 4  # of wall time for one job; an ordinary one takes about a second on a busy machine

CODE = """
import atexit, locale, os, resource, signal, sys, threading, time
from dataclasses import replace
import numpy as np


def _spoilt(pattern):
    front = pattern["front"]
    edge = front.edges[0]
    controls = np.array(edge.curve.controls)
    controls[0, 1] = float("nan")
    return pattern.with_pieces([front.with_edges([replace(edge, curve=type(edge.curve)(controls))])])


def _stay():
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    while True:
        pass


def _child():
    if os.fork() == 0:
        os.setsid()
        while True:
            pass


def _elsewhere():
    os.chdir("/")
    os.umask(0o777)
    os.environ.clear()
    sys.path.clear()
    locale.setlocale(locale.LC_ALL, "C")
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    np.seterr(all="raise")
    sys.stdout = None


def _thread():
    threading.Thread(target=time.sleep, args=[1000]).start()
    atexit.register(os._exit, 7)


DOES = {
    "Raises": lambda p: {}["x"],
    "Nan": _spoilt,
    "Loops": lambda p: _stay(),
    "Gorges": lambda p: bytearray(10_000_000_000),
    "GorgesArrays": lambda p: np.ones(1_250_000_000),
    "Exits": lambda p: os._exit(3),
    "ExitsWell": lambda p: os._exit(0),
    "AsksToEnd": lambda p: sys.exit(0),
    "Overspends": lambda p: os.kill(os.getpid(), signal.SIGXCPU),
    "Prints": lambda p: (print("]]] noise"), os.write(1, b"more noise"), sys.stdout.flush()),
    "Elsewhere": lambda p: _elsewhere(),
    "Thread": lambda p: _thread(),
    "Child": lambda p: _child(),
}


def _operation(name, does):
    def apply(self, pattern):
        return pattern if (made := does(pattern)) is None or type(made) is tuple else made
    body = {"__doc__": "Do as its name says.", "apply": apply, "__module__": __name__}
    return operation(type(name, (_Quiet,), body))


globals().update({name: _operation(name, does) for name, does in DOES.items()})
"""

#: Operation -> a word that its message owes. All words are ours, so that a cutter knows what to do.
LOST = {
    "raises": "of stranger 1.0: it failed: KeyError",
    "nan": "of stranger 1.0: ",
    "loops": "took longer than limits: seconds",
    "gorges": "limits: memory_mb",
    "gorges_arrays": "limits: memory_mb",
    "exits": "its worker was lost",
    "exits_well": "its worker was lost",
    "asks_to_end": "of stranger 1.0: it failed: SystemExit: 0",
    "overspends": "more processor time than limits: seconds",
}
#: Operations that change their process, and give the pattern back as it was.
KEPT = ("prints", "elsewhere", "thread", "child")
CLASSES = {
    name: "".join(word.title() for word in name.split("_")) for name in (*LOST, *KEPT)
}  # fmt: skip


@pytest.fixture
def strange(studio: Studio) -> Studio:
    """Every strange operation before a raglan, and a plain raglan; all of one block."""
    package(studio.folder / "site", CODE, **CLASSES)
    studio.block("men_overblock_50")
    for name in CLASSES:
        text = f"name: {name}\nsteps:\n  - {name.replace('_', '-')}\n  - raglan\n"
        studio.recipe(name, text)
    studio.recipe("plain", "name: plain\nsteps:\n  - raglan\n")
    studio.library(
        "outputs: {folder: out, formats: [json]}\nplugins: [stranger==1.0]\n"
        f"limits: {{seconds: {SECONDS}, memory_mb: 400}}\n"
    )
    return studio


def strangers(folder: Path) -> Iterator[psutil.Process]:
    """Processes that were forked for a run in a folder."""
    for process in psutil.process_iter():
        try:
            if str(folder) in process.environ().get("PYTHONPATH", ""):
                yield process
        except psutil.Error:
            continue


def test_each_hurts_its_own_variant_alone(strange: Studio) -> None:
    env = {"PYTHONPATH": str(strange.folder / "site")}
    done = strange.run("batch", "library.yaml", "--jobs", 2, "--json", env=env)
    events = json.loads(done.stdout)
    assert made(events) == sorted(f"men/{name}/50" for name in (*KEPT, "plain"))
    problems = {e["key"].split("/")[1]: e["problem"] for e in events if e["event"] == "failed"}
    assert sorted(problems) == sorted(LOST)
    for name, word in LOST.items():
        assert word in problems[name], problems[name]
        assert "\n" not in problems[name]
    assert done.returncode == 5
    assert done.stderr == ""
    texts = {key.split("/")[1]: data for key, data in strange.bytes_out().items()}
    for name in KEPT:  # nothing that one did to its process is in what it or another made
        assert texts[name] == texts["plain"].replace(b'"plain"', f'"{name}"'.encode())
    # A process that was left behind ends too, when it has had the time of a job.
    _, alive = psutil.wait_procs(list(strangers(strange.folder)), timeout=30)
    for process in alive:
        process.kill()
    assert alive == []


WAITS = """
import os, signal, time


@operation
class Waits(_Quiet):
    '''Be told to stop while it works.'''
    def apply(self, pattern):
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(20)
        return pattern
"""


def test_a_signal_to_convert_is_not_taken_for_an_exit_of_the_plug_in(studio: Studio) -> None:
    package(studio.folder / "site", WAITS, waits="Waits")
    block = studio.block("men_overblock_50")
    recipe = studio.recipe("waits", "name: waits\nsteps:\n  - waits\n")
    done = studio.run(
        "convert", block, "--recipe", recipe, "--plugin", "stranger==1.0",
        env={"PYTHONPATH": str(studio.folder / "site")},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (128 + 15, "")
