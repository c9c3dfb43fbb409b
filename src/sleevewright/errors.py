"""Whose fault it is, where, what is allowed.

Six exceptions, sorted by who can mend the matter; each carries the exit status of the command line.
Each holds one or more `Problem`s, so that a person sees every mistake of a file at once.
A fault of our own is any other exception: the command line reports it as a bug (exit status 70).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Place:
    """Where in an input a problem lies.

    Attributes:
        file: path as the user gave it; empty when there is no file.
        line: first line is 1; 0 when unknown.
        column: first column is 1; 0 when unknown.
        within: entity handle, element id, layer, piece, edge or recipe key; empty when unknown.
    """

    file: str = ""
    line: int = 0
    column: int = 0
    within: str = ""

    def __str__(self) -> str:
        text = ":".join([self.file, *(str(n) for n in (self.line, self.column) if n)]).strip(":")
        within = on_one_line(self.within, 100)
        return f"{text} ({within})" if text and within else text or within


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake: where, what was found, what is allowed, what to do.

    Attributes:
        found: what was found, a clause without a full stop ("'byy' is no setting of lower-armhole").
        place: where.
        allowed: what is allowed there; may be empty.
        remedy: what to do about it; may be empty.
    """

    found: str
    place: Place = Place()
    allowed: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        head = f"{self.place}: " if str(self.place) else ""
        parts = (self.found, self.allowed, self.remedy)
        return head + "; ".join(on_one_line(part, 400) for part in parts if part)


class SleevewrightError(Exception):
    """A problem that a person can mend. Its text has one line a problem."""

    exit_status: ClassVar[int] = 2

    def __init__(self, problems: "Problem | Iterable[Problem] | str") -> None:
        if isinstance(problems, str):
            problems = Problem(problems)
        self.problems: tuple[Problem, ...] = (
            (problems,) if isinstance(problems, Problem) else tuple(problems)
        )
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type, tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


class RecipeError(SleevewrightError):
    """A recipe, a library, a setting or the command line is wrong."""

    exit_status = 2


class LabelError(SleevewrightError):
    """A drawing was read, but its pieces and edges cannot be told, or a label map is wrong."""

    exit_status = 3


class ReadError(SleevewrightError):
    """An input file cannot be read as what it claims to be."""

    exit_status = 3


class OperationError(SleevewrightError):
    """An operation cannot be done on this pattern with these settings."""

    exit_status = 2


class WriteError(SleevewrightError):
    """An output cannot be written."""

    exit_status = 4


class HeldError(SleevewrightError):
    """Another run holds the output folder."""

    exit_status = 6


class Stopped(SystemExit):
    """A signal ends the run; what catches an exit that a plug-in asked for lets this one through."""


def on_one_line(text: str, most: int) -> str:
    """Return text as one line of at most so many characters that print; others are escaped or cut off.

    >>> on_one_line("neckline of the front", 12)
    'neckline of…'
    """
    short = text[: most + 1]
    if not short.isprintable():
        short = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in short)
    return short if len(short) <= most else f"{short[: most - 1]}…"


def counted(count: int, what: str) -> str:
    """Return a count in words that go by adding an s.

    >>> counted(1, "drill hole"), counted(0, "variant")
    ('1 drill hole', '0 variants')
    """
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def did_you_mean(word: str, allowed: Iterable[str]) -> str:
    """Return " (did you mean 'x'?)" for the nearest allowed word, or "" where none is near."""
    near = get_close_matches(word, list(allowed), n=1, cutoff=0.6)
    return f" (did you mean {str(near[0])!r}?)" if near else ""
