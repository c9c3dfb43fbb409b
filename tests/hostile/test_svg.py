"""Hostile SVG files: refused in one clear line, or read and right, in little time and memory."""

import os
import re
import socket
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hostile import svg_cases
from hostile.harness import Case, verify
from hostile.svg_cases import CASES, FOREIGN_FILES, GROUPS, OUTSIDE, SAMPLES, page, true_edges
from sleevewright.errors import ReadError
from sleevewright.geometry import bezier
from sleevewright.reading.finished import read_finished
from sleevewright.reading.svg import read_svg
from sleevewright.reading.svg_paths import path_controls


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_hostile_svg(group: Callable[[], Iterator[Case]]) -> None:
    true_edges()  # read once, for all that compare with it
    verify(group())


def test_cases_have_names_of_their_own() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names) >= 110


def test_nothing_outside_of_the_file_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """A port that listens is never called; a pipe that would block for ever is never opened."""
    with socket.socket() as server:
        server.bind(("127.0.0.1", 0))
        server.listen()
        server.setblocking(False)
        monkeypatch.setattr(svg_cases, "OUTSIDE", f"http://127.0.0.1:{server.getsockname()[1]}")
        cases = list(svg_cases.declarations())
        assert sum(svg_cases.OUTSIDE.encode() in _bytes(case) for case in cases) >= 6
        verify(cases)
        with pytest.raises(BlockingIOError):
            server.accept()
    assert svg_cases.OUTSIDE != OUTSIDE


def test_no_other_file_is_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    url = (tmp_path / "pipe").as_uri()
    verify([
        svg_cases.refused("entity", f'<!DOCTYPE svg [<!ENTITY a SYSTEM "{url}">]>'.encode() + page("&a;"), "'a'"),
        svg_cases.drawn("DTD", f'<!DOCTYPE svg SYSTEM "{url}">'.encode() + page()),
        svg_cases.listed("picture", page(f'<image href="{url}"/>'), "1 image"),
        svg_cases.refused("use", page(f'<use href="{url}#a"/>'), "not in the file"),
        svg_cases.listed("style", page(f'<style>@import "{url}";</style>'), "not read"),
    ])  # fmt: skip


def test_what_is_no_file_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.svg")
    (tmp_path / "folder.svg").mkdir()
    (tmp_path / "zero.svg").symlink_to("/dev/zero")
    (tmp_path / "loop.svg").symlink_to("loop.svg")
    (tmp_path / "broken.svg").symlink_to("nowhere.svg")
    for name in ("pipe", "folder", "zero", "loop", "broken", "missing", "x" * 300, "a\0b"):
        path = tmp_path / f"{name}.svg"
        for reader in (read_svg, read_finished):
            with pytest.raises(ReadError, match="cannot be read"):
                reader(path)


# --- census --------------------------------------------------------------------------------------

SEEN = (
    "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text", "use", "image",
)  # fmt: skip


def _bytes(case: Case) -> bytes:
    return case.data if isinstance(case.data, bytes) else b""


def _in_the_file(data: bytes) -> Counter[str]:
    """What can be seen in a drawing, counted by another parser, whatever its namespace is."""
    root = ET.fromstring(data)
    tags = (e.tag.rpartition("}")[2] for e in root.iter() if isinstance(e.tag, str))
    return Counter(tag for tag in tags if tag in SEEN)


def _read_or_listed(path: Path) -> Counter[str]:
    drawing = read_svg(path)
    found = Counter({tag: n for tag, n in drawing.counts if tag in SEEN})
    for finding in drawing.findings:
        what, passed, _ = finding.message.partition(" passed over: ")
        if passed:
            for number, tag in re.findall(r"(\d+) (\S+?)(?:,|$)", what):
                found[tag] += int(number) if tag in SEEN else 0
    return found


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.svg")), ids=lambda path: path.stem)
def test_census_of_samples(path: Path) -> None:
    wanted = _in_the_file(path.read_bytes())
    assert wanted
    assert _read_or_listed(path) == wanted


@pytest.mark.parametrize("name", FOREIGN_FILES)
def test_census_of_foreign_files(name: str, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(FOREIGN_FILES[name])
    wanted = _in_the_file(path.read_bytes())
    assert sum(wanted.values()) >= 5
    assert _read_or_listed(path) == wanted


def test_census_of_every_case_that_is_read(tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    counted = 0
    for case in CASES:
        data = _bytes(case)
        if case.expect == "refused" or not data or case.name.startswith("page: units given"):
            continue
        path.write_bytes(data)
        wanted = _in_the_file(data)
        assert _read_or_listed(path) == wanted, case.name
        counted += len(wanted) > 0
    assert counted > 100


# --- paths against another parser ----------------------------------------------------------------

numbers = st.integers(-9999, 9999).map(lambda n: n / 10)
ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
radii = st.integers(5, 5000).map(lambda n: n / 10)


def _command(letter: str) -> st.SearchStrategy[str]:
    if letter.upper() == "A":
        flags = st.sampled_from("01")
        parts = st.tuples(radii, radii, st.integers(-360, 360), flags, flags, numbers, numbers)
    else:
        parts = st.tuples(*[numbers] * ARGUMENTS[letter.upper()])
    return parts.map(lambda values: letter + " ".join(map(str, values)))


data = st.tuples(
    numbers,
    numbers,
    st.lists(st.sampled_from("MmLlHhVvCcSsQqTtAaZz").flatmap(_command), max_size=8),
).map(lambda parts: f"M{parts[0]} {parts[1]} " + " ".join(parts[2]))


@given(data)
def test_paths_are_what_another_parser_reads(d: str) -> None:
    """Segment by segment: the same ends, the same middle; an arc is as many cubics as it takes."""
    from svgpathtools import Arc, parse_path

    try:
        wanted = [s for s in parse_path(d) if isinstance(s, Arc) or len(set(s.bpoints())) > 1]
    except AssertionError:  # an arc to where it is
        assume(False)
    mine = np.array([c for controls in path_controls(d, lambda _: None) for c in controls])
    for segment in wanted:
        start, middle, end = ((p.real, p.imag) for p in map(segment.point, (0.0, 0.5, 1.0)))
        gaps = np.abs(mine[:, 3] - end).max(axis=1)
        parts = 1 + int(np.argmax(gaps < 1e-6)) if isinstance(segment, Arc) else 1
        assert np.abs(mine[0, 0] - start).max() < 1e-6
        assert gaps[parts - 1] < 1e-6
        half, inside = divmod(parts, 2)
        at = bezier.evaluate(mine[half : half + 1], np.array([[0.5 * inside]]))[0, 0]
        assert np.abs(at - middle).max() < 2e-3, segment
        mine = mine[parts:]
    assert not len(mine)


@given(st.text("MmLlHhVvCcSsQqTtAaZz0123456789+-.eE, \n", max_size=40))
def test_any_letters_are_a_path_or_refused(d: str) -> None:
    try:
        found = path_controls(d, lambda _: None)
    except ValueError as error:
        assert re.search(r"character \d+|proportion", str(error))
    else:
        assert all(len(controls) for controls in found)
