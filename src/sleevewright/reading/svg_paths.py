"""Path data of SVG to curves: the grammar is checked here, svgpathtools reads the numbers.

svgpathtools drops what it does not know without a word, so nothing reaches it that is not a path
by the grammar of SVG 1.1; arcs become cubics at once, before any transform.
"""

import re
import warnings

import numpy as np

from sleevewright.geometry import Curve
from sleevewright.geometry.conversion import elliptical_arc, quadratic

MOST_CHARACTERS = 8 << 20

#: User units. Larger numbers are a mistake, whatever the units are.
LARGEST = 1e9

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_SEPARATOR = re.compile(r"[\s,]*")


def path_curves(d: str) -> list[Curve]:
    """Return the curves of path data, one a subpath, in user units.

    Raises:
        ValueError: it is no path data; says where in it.
    """
    if len(d) > MOST_CHARACTERS:
        raise ValueError(f"path data of {len(d)} characters; {MOST_CHARACTERS} are allowed")
    check_path(d)
    if not d.strip():
        return []
    from svgpathtools import parse_path  # noqa: PLC0415 (slow to import; only for SVG)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # an arc of radius 0 is a line: the standard says so
        segments = list(parse_path(d))
    runs: list[list[np.ndarray]] = []
    for segment in segments:
        for controls in _controls(segment):
            if runs and np.abs(runs[-1][-1][3] - controls[0]).max() < 1e-12:
                runs[-1].append(controls)
            else:
                runs.append([controls])
    return [Curve(np.array(run)) for run in runs]


def _controls(segment: object) -> list[np.ndarray]:
    """Return the cubics of one segment of svgpathtools; none for one without length."""
    kind = type(segment).__name__
    if kind == "Arc":
        return _arc(segment)
    points = [np.array([p.real, p.imag]) for p in segment.bpoints()]  # type: ignore[attr-defined]
    if all(np.array_equal(p, points[0]) for p in points):
        return []
    if kind == "Line":
        return list(Curve.line(*points).controls)
    if kind == "QuadraticBezier":
        return list(quadratic(*points).controls)
    return [np.array(points)]


def _arc(arc: object) -> list[np.ndarray]:
    centre, radius = arc.center, arc.radius  # type: ignore[attr-defined]
    turn = np.radians(arc.rotation)  # type: ignore[attr-defined]
    axis = np.array([np.cos(turn), np.sin(turn)])
    curve = elliptical_arc(
        (centre.real, centre.imag), radius.real * axis,
        radius.imag * np.array([-axis[1], axis[0]]),
        arc.theta, arc.delta,  # type: ignore[attr-defined]
    )  # fmt: skip
    controls = np.array(curve.controls)
    start, end = arc.start, arc.end  # type: ignore[attr-defined]
    controls[0, 0], controls[-1, 3] = (start.real, start.imag), (end.real, end.imag)
    return list(controls)


def check_path(d: str) -> None:
    """Check path data against the grammar of SVG 1.1.

    Raises:
        ValueError: with the position in the data, first character 1.
    """
    at = _skip(d, 0)
    first = True
    while at < len(d):
        command = d[at]
        if command.upper() not in _COUNTS or (first and command not in "Mm"):
            raise ValueError(f"path data: {command!r} at character {at + 1} is no command here")
        at, first = _skip(d, at + 1), False
        count, sets = _COUNTS[command.upper()], 0
        while count and at < len(d) and d[at].upper() not in _COUNTS:
            at = _arguments(d, at, command, count)
            sets += 1
        if count and not sets:
            raise ValueError(f"path data: {command!r} has no numbers at character {at + 1}")


def _arguments(d: str, at: int, command: str, count: int) -> int:
    for i in range(count):
        if command in "Aa" and i in (3, 4):
            if at >= len(d) or d[at] not in "01":
                raise ValueError(f"path data: an arc flag at character {at + 1} is neither 0 nor 1")
            at = _skip(d, at + 1)
            continue
        match = _NUMBER.match(d, at)
        if match is None:
            raise ValueError(
                f"path data: {command!r} wants {count} numbers; {d[at : at + 8]!r} at character"
                f" {at + 1} is none"
            )
        if abs(float(match[0])) > LARGEST:
            raise ValueError(f"path data: {match[0]} at character {at + 1} is no coordinate")
        at = _skip(d, match.end())
    return at


def _skip(d: str, at: int) -> int:
    match = _SEPARATOR.match(d, at)
    return match.end() if match else at
