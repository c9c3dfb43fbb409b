"""Path data of SVG to cubics; every command of SVG 1.1, its grammar checked as it is read.

Lines, quadratics and cubics are exact; arcs become cubics at once, before any transform.
"""

import math
from array import array
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.geometry.conversion import elliptical_arc
from sleevewright.reading.svg_numbers import after_blanks, number_at

Array = NDArray[np.float64]
Point = tuple[float, float]

#: Numbers that each command takes at a time.
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_LETTERS = frozenset("MmLlHhVvCcSsQqTtAaZz")

#: Segments that an arc may become.
_OF_AN_ARC = 16


def path_controls(d: str, count: Callable[[int], None]) -> list[Array]:
    """Return the control points of each subpath of path data, shape (n, 4, 2), in user units.

    Segments without length are left out, and so are subpaths of nothing else.

    Args:
        d: the data.
        count: is told how many segments a command becomes, before the next is read.

    Raises:
        ValueError: it is no path data; says where in it.
    """
    pen = _Pen()
    for letter, numbers in _commands(d):
        count(_OF_AN_ARC if letter in "Aa" else 1)
        pen.draw(letter, numbers)
    pen.lift()
    return pen.subpaths


def _commands(d: str) -> Iterator[tuple[str, list[float]]]:
    """Yield letter and numbers of each command; of M that goes on, the later ones are L.

    Raises:
        ValueError: with the position in the data, first character 1.
    """
    at = after_blanks(d)
    first = True
    while at < len(d):
        letter = d[at]
        if letter not in _LETTERS or (first and letter not in "Mm"):
            raise ValueError(
                f"path data: {d[at : at + 8]!r} at character {at + 1} is no command here"
            )
        at, first = after_blanks(d, at + 1), False
        wanted = _COUNTS[letter.upper()]
        if not wanted:
            yield letter, []
            continue
        while True:
            numbers, at = _numbers(d, at, letter, wanted)
            yield letter, numbers
            letter = {"M": "L", "m": "l"}.get(letter, letter)
            if at >= len(d) or d[at] in _LETTERS:
                break


def _numbers(d: str, at: int, letter: str, wanted: int) -> tuple[list[float], int]:
    found: list[float] = []
    for i in range(wanted):
        if at >= len(d) or d[at] in _LETTERS:
            raise ValueError(
                f"path data: {letter!r} wants {wanted} numbers; there are {i} before character {at + 1}"
            )
        if wanted == 7 and i in (3, 4):
            if d[at] not in "01":
                raise ValueError(f"path data: an arc flag at character {at + 1} is neither 0 nor 1")
            found.append(float(d[at]))
            at = after_blanks(d, at + 1)
            if d[at : at + 1] == ",":
                at = after_blanks(d, at + 1)
        else:
            value, at = number_at(d, at, "path data")
            found.append(value)
    return found, at


class _Pen:
    """Draws commands: keeps where it is, where the subpath began and what S and T mirror."""

    def __init__(self) -> None:
        self.subpaths: list[Array] = []
        self.drawn = array("d")
        self.at: Point = (0.0, 0.0)
        self.began: Point = (0.0, 0.0)
        self.handle: Point | None = None  # last handle of a cubic, of a quadratic
        self.handle_of = ""

    def draw(self, letter: str, numbers: list[float]) -> None:
        command = letter.upper()
        x, y = self.at if letter.islower() else (0.0, 0.0)
        if command == "H":
            points = [(numbers[0] + x, self.at[1])]
        elif command == "V":
            points = [(self.at[0], numbers[0] + y)]
        elif command == "A":
            points = [(numbers[5] + x, numbers[6] + y)]
        else:
            points = [(a + x, b + y) for a, b in zip(numbers[::2], numbers[1::2], strict=True)]
        handle = (
            self.handle if command in _MIRRORS and self.handle_of == _MIRRORS[command] else None
        )
        self.handle, self.handle_of = None, ""
        if command == "M":
            self.lift()
            self.at = self.began = points[0]
        elif command == "Z":
            self.line(self.began)
            self.lift()
        elif command in "LHV":
            self.line(points[0])
        elif command == "A":
            self.arc(numbers, points[0])
        elif command in "CS":
            self.curve(points if command == "C" else [self.mirrored(handle), *points])
            self.handle, self.handle_of = points[-2], "cubic"
        else:
            self.handle, self.handle_of = (
                (points[0] if command == "Q" else self.mirrored(handle)),
                "quadratic",
            )
            self.quadratic(self.handle, points[-1])

    def mirrored(self, handle: Point | None) -> Point:
        """Return a handle on the other side of the pen; the pen itself where there is none."""
        if handle is None:
            return self.at
        return 2 * self.at[0] - handle[0], 2 * self.at[1] - handle[1]

    def lift(self) -> None:
        """End the subpath."""
        if self.drawn:
            self.subpaths.append(np.array(self.drawn).reshape(-1, 4, 2))
            self.drawn = array("d")

    def curve(self, points: list[Point]) -> None:
        b, c, d = points
        if not self.at == b == c == d:
            self.drawn.extend((*self.at, *b, *c, *d))
        self.at = d

    def line(self, to: Point) -> None:
        (ax, ay), (bx, by) = self.at, to
        dx, dy = (bx - ax) / 3, (by - ay) / 3
        self.curve([(ax + dx, ay + dy), (bx - dx, by - dy), to])

    def quadratic(self, handle: Point, to: Point) -> None:
        (ax, ay), (hx, hy), (bx, by) = self.at, handle, to
        self.curve([
            (ax + (hx - ax) * 2 / 3, ay + (hy - ay) * 2 / 3),
            (bx + (hx - bx) * 2 / 3, by + (hy - by) * 2 / 3),
            to,
        ])  # fmt: skip

    def arc(self, numbers: list[float], to: Point) -> None:
        """Draw an elliptical arc; a line where a radius is 0, as the standard has it."""
        rx, ry, turn, large, sweep = numbers[:5]
        if self.at == to:
            return
        if rx == 0 or ry == 0:
            self.line(to)
            return
        controls = _arc(self.at, to, (abs(rx), abs(ry), turn), (bool(large), bool(sweep)))
        for a, b, c, d in controls.tolist():
            self.at = tuple(a)
            self.curve([tuple(b), tuple(c), tuple(d)])


#: What S and T mirror the handle of.
_MIRRORS = {"S": "cubic", "T": "quadratic"}


def _arc(
    start: Point, end: Point, ellipse: tuple[float, float, float], flags: tuple[bool, bool]
) -> Array:
    """Return an arc as cubics (SVG 1.1, F.6.5, in the frame in which the ellipse is the unit circle).

    Args:
        start, end: points, not the same.
        ellipse: radii, made larger where they do not reach, and turn of the first axis, degrees.
        flags: whether it is the larger part, whether its angle grows.

    Raises:
        ValueError: the radii are too small or too unlike.
    """
    rx, ry, turn = ellipse
    large, sweep = flags
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    u, v = (cos * dx + sin * dy) / rx, (cos * dy - sin * dx) / ry
    reach = math.hypot(u, v)  # half the chord; more than 1 does not fit
    if not 0 < reach < 1e12:
        raise ValueError(f"path data: an arc with radii {rx:g} and {ry:g} is out of all proportion")
    if reach > 1:
        rx, ry, u, v = rx * reach, ry * reach, u / reach, v / reach
        reach = 1.0
    off = math.sqrt(max(0.0, 1 / reach**2 - 1)) * (-1 if large == sweep else 1)
    cu, cv = off * v, -off * u
    half = math.degrees(math.asin(reach))
    angle = 2 * (180 - half if large else half)
    begin = math.degrees(math.atan2(v - cv, u - cu))
    centre = (
        cos * rx * cu - sin * ry * cv + (start[0] + end[0]) / 2,
        sin * rx * cu + cos * ry * cv + (start[1] + end[1]) / 2,
    )
    axes = ((rx * cos, rx * sin), (-ry * sin, ry * cos))
    controls = np.array(elliptical_arc(centre, *axes, begin, angle if sweep else -angle).controls)
    controls[0, 0], controls[-1, 3] = start, end
    return controls
