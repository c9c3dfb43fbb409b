"""Tables on a terminal: whole at any width, words for every status, plain lines for everyone else."""

import fcntl
import io
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from collections import Counter

import pytest

from sleevewright.cli.tables import (
    show,
    show_edges,
    show_findings,
    show_measurements,
    show_moves,
    show_seams,
    show_variants,
    word,
)
from sleevewright.findings import Status

ESCAPE = "\x1b"
SEAMS = [
    ("side", 400.0, 400.2, 0.0, -0.2, "held"),
    ("front raglan", 193.25, 200.0, 3.0, 9.75, "failed"),
    ("back raglan", 202.0, 202.0, 0.0, 0.0, "noted"),
    ("gusset", 100.0, 100.0, 0.0, 0.0, "not computed"),
]


class Screen(io.TextIOWrapper):
    """A terminal that remembers what it was sent."""

    def __init__(self, encoding="utf-8"):
        super().__init__(io.BytesIO(), encoding=encoding, newline="")

    def isatty(self):
        return True

    def text(self):
        self.flush()
        return self.buffer.getvalue().decode(self.encoding)


@pytest.fixture
def terminal(monkeypatch):
    """Return a function that makes a terminal of so many columns."""

    def of(width=100, encoding="utf-8", term="xterm-256color", no_color=""):
        for name in ("COLORTERM", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE", "LINES"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setenv("TERM", term)
        monkeypatch.setenv("COLUMNS", str(width))
        monkeypatch.setenv("NO_COLOR", no_color)
        return Screen(encoding)

    return of


def bare(text):
    return re.sub(r"\x1b\[[\d;]*m", "", text)


def test_elsewhere_the_plain_lines_and_nothing_else(capsys, monkeypatch):
    monkeypatch.setenv("FORCE_COLOR", "1")  # asks for colour; a pipe is still a pipe
    show_seams("title", SEAMS, ["  side  400.00  held", "  bad \x1b[31m name"])
    assert capsys.readouterr().out == "  side  400.00  held\n  bad \\x1b[31m name\n"


def test_on_a_terminal_a_table_in_place_of_the_lines(terminal):
    screen = terminal()
    show("women, size 36", ("edge", "mm"), [("hem", 232.914), ("cap.front", 7)], ["no"], to=screen)
    lines = [line.rstrip() for line in bare(screen.text()).splitlines()]
    assert lines[0] == "women, size 36"
    assert lines[1].split() == ["edge", "mm"]
    assert lines[3].split() == ["hem", "232.91"]
    assert len(lines) == 5
    assert len(lines[3]) == len(lines[1])  # numbers to the right, under their heading
    assert "no" not in screen.text()


def test_every_status_is_a_word_with_colour_or_without(terminal, monkeypatch):
    for no_color in ("", "1"):
        screen = terminal(no_color=no_color)
        monkeypatch.setattr(sys, "stdout", screen)
        show_seams("walk", SEAMS, [])
        lines = bare(screen.text()).splitlines()
        last = {
            re.split(r"\s{2,}", line)[0]: re.split(r"\s{2,}", line.rstrip())[-1] for line in lines
        }
        assert last["side"] == "held"
        assert last["front raglan"] == "fell short"
        assert last["back raglan"] == "noted"
        assert last["gusset"] == "not computed"


def test_a_status_of_two_words_stays_in_one_line(terminal, monkeypatch):
    screen = terminal(60, no_color="1")
    monkeypatch.setattr(sys, "stdout", screen)
    show_seams("walk", SEAMS, [])
    ends = [line.rstrip() for line in screen.text().splitlines()]
    assert sum(line.endswith(("fell short", "not computed")) for line in ends) == 2


def test_there_is_a_word_for_every_status_of_a_finding():
    assert [word(str(status)) for status in Status] == [
        "held", "noted", "fell short", "not computed",
    ]  # fmt: skip


def test_colour_only_where_it_is_wanted(terminal):
    def sent(**given):
        screen = terminal(**given)
        show("t", ("status",), [("held",), ("fell short",)], [], to=screen)
        return screen.text()

    assert f"{ESCAPE}[32mheld" in sent()  # 32 is green (ECMA-48)
    assert f"{ESCAPE}[1;31mfell short" in sent()
    for given in ({"no_color": "1"}, {"term": "dumb"}):
        assert ESCAPE not in sent(**given)


@pytest.mark.parametrize("encoding", ["ascii", "iso-8859-1", "cp437"])
def test_nothing_beyond_ascii_where_the_encoding_is_not_utf_8(terminal, encoding):
    for width in (20, 100):
        screen = terminal(width, encoding)
        show("\u00c4rmel", ("name\u2026", "mm"), [("\u00c4rmel \u2192", 1.5)], [], to=screen)
        assert screen.text().isascii()
        assert "\\xc4rmel" in screen.text()


def test_a_name_cannot_steer_the_terminal_or_be_markup(terminal):
    screen = terminal(no_color="1")
    name = "a\x1b]0;owned\x07 [red]b[/red] :smile:\nc"
    show(name, (name,), [(name,)], [name], to=screen)
    text = screen.text()
    assert not set(text) & {"\x1b", "\x07"}
    assert text.count("[red]b[/red] :smile:\\x0ac") == 3


LONG = [
    (
        "front.side_seam",
        "a sentence that is a good deal longer than the others",
        1.25,
        "fell short",
    ),
    ("back.side_seam", "short", None, "held"),
    ("x" * 90, "\u4e2d\u6587 \u00e9", -12345.5, "noted"),
]


@pytest.mark.parametrize("width", [12, 20, 33, 40, 60, 79, 80, 120, 200])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_no_line_is_wider_than_the_terminal_and_no_letter_is_lost(terminal, width, encoding):
    """Chinese letters are two columns wide (Unicode's East Asian Width), the others here one."""
    heads = ("seam", "what was found", "off by mm", "status")
    screen = terminal(width, encoding)
    show("walk", heads, LONG, [], to=screen)
    lines = bare(screen.text()).splitlines()
    assert all(len(line) + sum("\u4e00" <= c <= "\u9fff" for c in line) <= width for line in lines)
    cells = [cell for row in (heads, *LONG) for cell in row if cell is not None]
    texts = [f"{cell:.2f}" if isinstance(cell, float) else cell for cell in cells]
    if encoding == "ascii":
        texts = [text.encode("ascii", "backslashreplace").decode() for text in texts]
    lost = Counter("".join(" ".join(texts).split())) - Counter("".join(lines))
    assert not lost
    for one in " ".join(texts).split():
        # Words of 10 letters stay whole at any of these widths; longer ones may be folded.
        assert len(one) > 10 or any(one in line for line in lines), one


def test_a_terminal_too_narrow_for_the_table_lists_each_row(terminal):
    """The headings alone want 14 + 7 + 6 columns and two gaps of three."""
    rows = [("front", 193.25, "noted"), ("back", None, "held")]
    heads = ("measured_along", "another", "status")
    screen = terminal(32, no_color="1")
    show("", heads, rows, [], to=screen)
    assert [line.rstrip() for line in screen.text().splitlines()] == [
        "measured_along: front", "another: 193.25", "status: noted", "",
        "measured_along: back", "another:", "status: held", "",
    ]  # fmt: skip
    screen = terminal(33, no_color="1")
    show("", heads, rows, [], to=screen)
    assert [line.split() for line in screen.text().splitlines()][2:] == [
        ["front", "193.25", "noted"],
        ["back", "held"],
    ]


@pytest.mark.parametrize(
    ("function", "row"),
    [
        (show_edges, ("armhole", "armhole", 212.0, "single notch 'front pitch' at 70.7")),
        (show_findings, ("failed", "front.hem", "the hem is 3.2 mm off")),
        (show_measurements, ("wrist", 240.16)),
        (show_moves, ("front.armhole", 212.0, None, 5.25)),
        (show_variants, ("women/classic-raglan/40", "made", "a block changed")),
    ],
)
def test_each_command_has_its_table_and_its_lines(terminal, monkeypatch, capsys, function, row):
    function("the title", [row], ["the line"])
    assert capsys.readouterr().out == "the line\n"
    screen = terminal()
    monkeypatch.setattr(sys, "stdout", screen)
    function("the title", [row], ["the line"])
    text = bare(screen.text())
    for cell in row:
        shown = f"{cell:.2f}" if isinstance(cell, float) else word(str(cell or ""))
        assert shown in text
    assert "the line" not in text
    assert text.startswith("the title")


def test_no_rows_is_a_table_of_headings(terminal):
    screen = terminal(no_color="1")
    show("t", ("a", "b"), [], [], to=screen)
    assert screen.text().split()[:3] == ["t", "a", "b"]


CODE = (
    "from sleevewright.cli.tables import show\n"
    "show('t', ('seam', 'status'), [('front raglan seam ' * 4, 'held')], ['plain'])\n"
)


def test_on_a_real_terminal_of_the_kernel():
    """The width is asked of the terminal itself, 50 columns here; the same run into a pipe is plain."""
    env = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES", "NO_COLOR")}
    env |= {"TERM": "xterm-256color", "PYTHONIOENCODING": "utf-8"}
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 50, 0, 0))
    command = [sys.executable, "-c", CODE]
    subprocess.run(command, stdin=theirs, stdout=theirs, stderr=theirs, env=env, check=True)
    os.close(theirs)
    sent = b""
    while True:
        try:
            part = os.read(ours, 4096)
        except OSError:  # Linux says so when the other end is closed
            break
        if not part:
            break
        sent += part
    os.close(ours)
    assert ESCAPE.encode() in sent
    lines = bare(sent.decode()).splitlines()
    assert 40 < max(map(len, lines)) <= 50
    piped = subprocess.run(command, env=env, capture_output=True, check=True)
    assert piped.stdout.split() == [b"plain"]
