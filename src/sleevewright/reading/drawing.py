"""`Drawing`: what a file holds before anything has a meaning; mm, y up.

Terms: a *stroke* is one curve as drawn, a *mark* a point, a *group* what belongs to one piece
(a DXF BLOCK, an SVG group); a *label* is the text that may say what a thing is: a DXF layer, or
the ids and classes of an SVG element and of the group around it.
"""

from dataclasses import dataclass

from sleevewright.errors import Place
from sleevewright.findings import Finding
from sleevewright.geometry import Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One curve as drawn.

    Attributes:
        curve: mm.
        label: what may say its meaning.
        place: where it stands in the file.
        polyline: whether it was drawn as a polyline (its vertices are the truth).
        data: attributes that this program wrote ("edge", "side"), name -> value.
    """

    curve: Curve
    label: str
    place: Place
    polyline: bool = False
    data: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One point as drawn: a notch, a drill hole, a turn or curve point."""

    at: tuple[float, float]
    label: str
    place: Place
    data: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One text as drawn."""

    text: str
    at: tuple[float, float]
    label: str
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """What belongs together; name "" for what belongs to no group."""

    name: str
    strokes: tuple[Stroke, ...] = ()
    marks: tuple[Mark, ...] = ()
    words: tuple[Words, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A file as read.

    Attributes:
        file: its path as given.
        numbered: whether its layers are numbers by D6673.
        groups: in the order of the file.
        size: the size it names; "" where it names none.
        findings: what was skipped or mended, and why.
        counts: kind of entity -> how many of it were read (of a DXF, inserted blocks expanded). With what
            the findings say was passed over, that is all that the file holds.
    """

    file: str
    numbered: bool
    groups: tuple[Group, ...]
    size: str = ""
    findings: tuple[Finding, ...] = ()
    counts: tuple[tuple[str, int], ...] = ()
