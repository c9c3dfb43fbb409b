"""The picture of block and result: for each place an SVG's parts, in layers that can be switched.

Coordinates are mm, y down, from the upper left corner of the place; every place has one scale.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Curve, bezier
from sleevewright.pattern.piece import Lettering, Piece
from sleevewright.pattern.result import Result
from sleevewright.writing.report.laying import Place, places
from sleevewright.writing.report.words import human, joined, number
from sleevewright.writing.sheet import SheetPiece, chained, lay_out

Array = NDArray[np.float64]

_MARGIN = 8.0  # mm, round everything that is drawn
_FOOT = 22.0  # mm, for the scale below it
_ROW = 1090.0  # px: what a row of places is as wide as on a wide screen
_GAP = 28.0  # px, between places
_SCALES = (0.84, 1.15)  # px a mm, least and most
_CAPITAL = 0.72  # height of a capital in a sans serif, parts of the font size
_STRAIGHT = 1e-6  # mm
_LEGIBLE = 4.2  # mm: of a capital
_LETTER_WIDTH = 0.98  # of a letter, parts of a capital's height, as finishing measures it
_EDGE_PART = 0.9  # of an edge that its name may take

#: Layer -> its name beside the switch.
LAYERS = {
    "block": "Block",
    "cut": "Cut line",
    "sew": "Sewing line",
    "notch": "Notches, drill holes",
    "grain": "Grain and fold",
    "inner": "Inner lines",
    "text": "Lettering",
}
_LAYER_OF = {
    LineKind.CUT: "cut",
    LineKind.SEW: "sew",
    LineKind.FOLD: "grain",
    LineKind.GRAIN: "grain",
    LineKind.MARK: "grain",
    LineKind.INTERNAL: "inner",
}


@dataclass(frozen=True, slots=True)
class Words:
    """A line of lettering: text, place, size of the font, turn about its place, whether centred."""

    text: str
    x: str
    y: str
    size: str
    turn: str
    middle: bool


@dataclass(slots=True, kw_only=True)
class Shown:
    """One place as the template draws it.

    Attributes:
        caption, under: what lies there, and on what.
        about: the same for those who do not see it.
        box, width, height: viewBox; px at full size.
        paths: layer -> (class, path data) in drawing order.
        words: the lettering.
        scale: (x, y, length) of the bar of 100 mm.
    """

    caption: str
    under: str
    about: str
    box: str = ""
    width: str = ""
    height: str = ""
    paths: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    words: list[Words] = field(default_factory=list)
    scale: tuple[str, str, str] = ("", "", "")


def overlay(result: Result) -> tuple[list[Shown], list[tuple[str, str]]]:
    """Return the places, and (layer, name) of every layer that has something in it.

    Raises:
        ValueError: a piece is not finished.
    """
    drawn = {placed.piece.name: placed for placed in lay_out(result).pieces}
    found = [(place, _box(place, drawn)) for place in places(result)]
    wide = sum(box[2] - box[0] for _, box in found)
    room = _ROW - _GAP * (len(found) - 1)
    scale = round(min(_SCALES[1], max(_SCALES[0], room / wide)), 3) if wide else 1.0
    shown = [_shown(place, box, drawn, scale) for place, box in found]
    present = {layer for one in shown for layer in one.paths}
    if any(one.words for one in shown):
        present.add("text")
    return shown, [(layer, name) for layer, name in LAYERS.items() if layer in present]


Box = tuple[float, float, float, float]


def _box(place: Place, drawn: dict[str, SheetPiece]) -> Box:
    """Return left, bottom, right, top of all that is drawn in a place, with its margin."""
    boxes = [p.bounds for p in place.under]
    boxes += [line.curve.bounds for p in place.pieces for line in drawn[p.name].lines]
    array = np.array(boxes)
    left, bottom = (array[:, :2].min(axis=0) - _MARGIN).tolist()
    right, top = (array[:, 2:].max(axis=0) + _MARGIN).tolist()
    return left, bottom - _FOOT, max(right, left + 100 + 2 * _MARGIN), top


def _shown(place: Place, box: Box, drawn: dict[str, SheetPiece], scale: float) -> Shown:
    left, bottom, right, top = box
    wide, tall = right - left, top - bottom
    names = joined([human(p.name) for p in place.pieces])
    block = human(place.block)
    if not place.pieces:
        caption, under = block, "in the block only"
    elif place.block:
        caption, under = names, "on the block" if names == block else f"on the block's {block}"
    else:
        caption, under = names, "new: the block has no such piece"
    shown = Shown(caption=caption, under=under, about=_about(place))
    shown.box = f"0 0 {wide:.2f} {tall:.2f}"
    shown.width, shown.height = f"{wide * scale:.0f}", f"{tall * scale:.0f}"
    origin = np.array([left, top])
    for piece in place.under:
        outline = chained(edge.curve for edge in piece.edges)
        shown.paths.setdefault("block", []).append(("block", f"{_path(outline, origin)}Z"))
    for piece in place.pieces:
        _draw(drawn[piece.name], shown, origin)
    foot = f"{tall - 12:.2f}"
    shown.scale = (f"{_MARGIN:.2f}", foot, f"{_MARGIN + 100:.2f}")
    return shown


def _draw(placed: SheetPiece, shown: Shown, origin: Array) -> None:
    outline = chained(edge.curve for edge in placed.piece.edges)
    shown.paths.setdefault("sew", []).append(("cloth", f"{_path(outline, origin)}Z"))
    for line in placed.lines:
        if (
            line.edge is not None
            and line.kind is LineKind.SEW
            and line.edge.name == placed.piece.fold
        ):
            continue  # drawn as the fold
        close = "Z" if line.kind is LineKind.CUT else ""
        layer = _LAYER_OF[line.kind]
        drawn = (line.kind.value, _path(line.curve, origin) + close)
        shown.paths.setdefault(layer, []).append(drawn)
    for notch in placed.notches:
        points = (notch.points - origin) * (1.0, -1.0)
        data = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points.tolist())
        spot = ("spot", _dot(notch.cut.sew_point, origin))
        shown.paths.setdefault("notch", []).extend([("notch", data), spot])
    for hole in placed.piece.drill_holes:
        shown.paths.setdefault("notch", []).append(("spot", _dot(hole, origin)))
    shown.words += [_lettered(text, placed.piece, origin) for text in placed.texts]


def _dot(at: tuple[float, float], origin: Array) -> str:
    """Return path data of no length: a round cap makes a dot of it."""
    x, y = ((np.array(at) - origin) * (1.0, -1.0)).tolist()
    return f"M{x:.2f} {y:.2f}h0"


def _lettered(text: Lettering, piece: Piece, origin: Array) -> Words:
    """Return a line of lettering; the name of an edge is enlarged about its middle to be legible."""
    height, at = text.height, np.array(text.at)
    of_edge = any(edge.name == text.about for edge in piece.edges)
    if of_edge:
        turn = np.radians(text.angle)
        along, up = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        wide = _LETTER_WIDTH * len(text.text)
        middle = at + 0.5 * wide * height * along + 0.5 * height * up
        room = _EDGE_PART * piece[text.about].length / wide if text.text else height
        height = max(height, min(_LEGIBLE, room))
        at = middle - 0.5 * height * up
    x, y = ((at - origin) * (1.0, -1.0)).tolist()
    return Words(
        text=text.text,
        x=f"{x:.2f}",
        y=f"{y:.2f}",
        size=f"{height / _CAPITAL:.2f}",
        turn=f"rotate({-text.angle:.2f} {x:.2f} {y:.2f})" if text.angle else "",
        middle=of_edge,
    )


def _about(place: Place) -> str:
    """Say what is seen: the size of every piece, and on what it lies."""
    said = [f"{_sized(p)}, drawn solid" for p in place.pieces]
    if place.under:
        said.append(f"{_sized(place.under[0])} in the block, dashed")
    return "; ".join(said) + "."


def _sized(piece: Piece) -> str:
    left, bottom, right, top = piece.bounds
    return f"{human(piece.name)}, {number(right - left, 0)} by {number(top - bottom, 0)} mm"


def _path(curve: Curve, origin: Array) -> str:
    """Return path data; straight segments as lines."""
    controls = (curve.controls - origin) * (1.0, -1.0)
    straight = bezier.evenly_straight(controls, _STRAIGHT).tolist()
    parts = ["M" + _pair(controls[0, 0])]
    for line, segment in zip(straight, controls, strict=True):
        parts.append("L" + _pair(segment[3]) if line else "C" + " ".join(map(_pair, segment[1:])))
    return "".join(parts)


def _pair(point: Iterable[float]) -> str:
    # rounding first, and adding 0.0, so that no "-0.00" is written
    x, y = (round(float(v), 2) + 0.0 for v in point)
    return f"{x:.2f} {y:.2f}"
