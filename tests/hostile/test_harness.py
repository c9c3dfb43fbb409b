"""The harness itself: each way in which a case can fail makes it fail."""

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from hostile import harness
from hostile.harness import OUR_FAULT, Case, complaint, each, run_cases, verify
from sleevewright.errors import LabelError, Place, Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.reading import Reading


def _hangs(_: Path) -> None:
    while True:
        pass


def _sleeps(_: Path) -> None:
    time.sleep(60)


def _dies(_: Path) -> None:
    os._exit(3)


def _slips(_: Path) -> None:
    raise KeyError("x")


def _gorges(_: Path) -> bytes:
    return b"x" * (40 << 20)


def _beyond_all_memory(_: Path) -> bytearray:
    return bytearray(4 << 30)


def _refuses(text: str, *, named: bool = True) -> Callable[[Path], Any]:
    def read(path: Path) -> None:
        raise ReadError(Problem(text, Place(str(path) if named else "")))

    return read


def _finds(text: str) -> Callable[[Path], Any]:
    return lambda path: Reading((), (Finding("x", Status.NOTED, "", text),))


def _fails(_: Any) -> None:
    raise AssertionError("not so")


def case(expect: Any, read: Callable[[Path], Any], words: str = "", **more: Any) -> Case:
    return Case(
        "x", ".dxf", b"", expect, words, read=read, **{"seconds": 0.3, "megabytes": 20, **more}
    )


GOOD = [
    case("refused", _refuses("no such unit"), "such unit"),
    case("read", lambda path: None),
    case("read", lambda path: 7, check=lambda value: None),
    case("listed", _finds("3 lines"), "3 lines"),
]
BAD = {
    "wanted read, got hung": case("read", _hangs),
    "wanted read, got died": case("read", _dies),
    "KeyError": case("refused", _slips),
    "MB, 20 allowed": case("read", _gorges, seconds=5.0),
    "MemoryError": case("read", _beyond_all_memory),
    "is not said": case("refused", _refuses("no such unit"), "something else"),
    "is not said in: '3 lines'": case("listed", _finds("3 lines"), "4 lines"),
    "wanted refused, got read": case("refused", lambda path: None),
    "wanted read, got refused": case("read", _refuses("x")),
    "wanted LabelError": case("refused", _refuses("x"), error=LabelError),
    "the file is not named": case("refused", _refuses("x", named=False)),
    "not so": case("read", lambda path: None, check=_fails),
    "do not print": case("listed", _finds("a\x1b[31mb"), "a"),
    "characters in one line": case("listed", _finds("a" * 2000), "a"),
    "problems in": case("listed", _finds("a\nb"), "a"),
    OUR_FAULT: case("refused", _refuses(f"{OUR_FAULT}: x"), "x"),
}


def test_what_is_as_said_passes() -> None:
    verify(GOOD)


@pytest.mark.parametrize("words", BAD)
def test_whatever_is_not_as_said_fails(words: str) -> None:
    (outcome,) = run_cases([BAD[words]])
    assert words in complaint(BAD[words], outcome)
    with pytest.raises(AssertionError, match="1 of 1 cases"):
        verify([BAD[words]])


def test_a_process_that_sleeps_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(harness, "WALL_FACTOR", 2)
    (outcome,) = run_cases([case("read", _sleeps)])
    assert outcome.ended == "hung"


def test_what_is_lost_costs_one_item() -> None:
    found = list(each(range(5), lambda i: os._exit(1) if i in (0, 3) else i))
    assert [outcome.value for outcome in found] == [None, 1, 2, None, 4]
    assert [outcome.ended for outcome in found] == ["died", "read", "read", "died", "read"]
