"""A few power cuts; `CUTS=50` takes more of each story, `power_cut.py` all of them."""

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from disk_model import Data, Entry, Journal, Sync, journal_of
from fault_bench import Bench
from power_cut import stories, told

FEW = ("rebuild, none", "gallery, run")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    memory = Path("/dev/shm")  # where it takes half the time
    folder = memory if os.access(memory, os.W_OK) else tmp_path_factory.getbasetemp()
    with tempfile.TemporaryDirectory(dir=folder) as name:
        yield Bench(Path(name).resolve())


@pytest.mark.skipif(shutil.which("strace") is None, reason="no strace")
@pytest.mark.parametrize("name", FEW)
def test_power_cuts_are_borne(bench: Bench, name: str) -> None:
    story = next(story for story in stories() if str(story) == name)
    tally = told(story, bench, most=int(os.environ.get("CUTS", "3")), draws=1)
    assert not tally.lines
    assert tally.states > 10


# --- the disk ---------------------------------------------------------------------------------

TRACE = r"""
7 mkdir("/d/out", 0777) = 0
7 mkdir("/d/out", 0777) = -1 EEXIST (File exists)
7 openat(AT_FDCWD</>, "/d/out/a.tmp", O_WRONLY|O_CREAT|O_EXCL|O_CLOEXEC, 0666) = 3</d/out/a.tmp>
8 openat(AT_FDCWD</>, "/elsewhere/b", O_WRONLY|O_CREAT, 0666) = 3</elsewhere/b>
7 write(3</d/out/a.tmp>, "old\"\0", 5) = 5
8 write(3</elsewhere/b>, "x", 1 <unfinished ...>
7 fsync(3</d/out/a.tmp>) = 0
8 <... write resumed>) = 1
7 rename("/d/out/a.tmp", "/d/out/a") = 0
"""


def files(journal: Journal, *lost: int, filled: bool = False) -> dict[str, bytes]:
    tree = journal.tree(len(journal.ops), lost, filled=filled)
    return {path: data for path, (data, _) in tree.items()}


def test_a_trace_is_read() -> None:
    journal = journal_of(TRACE.splitlines(), "/d")
    assert journal.ops == [
        Entry(0, (("out", 1),)), Entry(1, (("a.tmp", 2),)), Data(2, 0, b'old"\0'), Sync(2),
        Entry(1, (("a", 2), ("a.tmp", None))),
    ]  # fmt: skip
    assert journal.unsynced(5) == [0, 1, 4]
    assert files(journal) == {"out/a": b'old"\0'}
    assert files(journal, 4) == {"out/a.tmp": b'old"\0'}
    assert files(journal, 0) == {}
    assert files(journal, 2) == {"out/a": b""}
    assert files(journal, 2, filled=True) == {"out/a": bytes(5)}


def test_what_a_disk_may_hold() -> None:
    written = [Data(1, 0, b"one"), Data(1, 4096, b"two"), Data(1, 0, b"ONE")]
    journal = Journal([Entry(0, (("a", 1),)), Sync(0), *written])
    found = {tree["a"][0] for _, tree in journal.trees(5, draws=200, seed=1)}
    apart = bytes(4093) + b"two"
    assert found == {
        b"",
        b"one",
        b"ONE",
        b"one" + apart,
        b"ONE" + apart,
        bytes(3) + apart,
        bytes(4099),
        b"one" + bytes(4096),
        b"ONE" + bytes(4096),
    }  # fmt: skip  (never the later of two writes in one block without the earlier)
