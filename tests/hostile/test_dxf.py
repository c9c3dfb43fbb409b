"""Hostile DXF files: refused in one clear line, or read and right, in little time and memory."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from hostile.dxf_cases import GROUPS
from hostile.harness import Case, verify
from sleevewright.errors import ReadError
from sleevewright.reading import read_pattern


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__.strip("_"))
def test_hostile_dxf(group: Callable[[], Iterator[Case]]) -> None:
    verify(group())


def test_cases_have_names_of_their_own() -> None:
    names = [case.name for group in GROUPS for case in group()]
    assert len(set(names)) == len(names) >= 140


def test_what_is_no_file_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / "folder.dxf").mkdir()
    os.mkfifo(tmp_path / "pipe.dxf")
    (tmp_path / "zeros.dxf").symlink_to("/dev/zero")
    (tmp_path / "circle.dxf").symlink_to("circle.dxf")
    for name in ("folder.dxf", "pipe.dxf", "zeros.dxf", "circle.dxf", "missing.dxf"):
        with pytest.raises(ReadError, match=rf"{name}: cannot be read: "):
            read_pattern([tmp_path / name])
