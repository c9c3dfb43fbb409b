"""The BLOCK of one piece in DXF R12, after the layer conventions of ASTM D6673."""

import math
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from sleevewright.formats.d6673 import EDGE_PREFIX, Layer, PieceKey
from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Curve
from sleevewright.geometry.bezier import chord_counts
from sleevewright.geometry.tolerance import FLATTEN
from sleevewright.pattern.piece import Edge, Point
from sleevewright.writing.ascii_text import dxf_text
from sleevewright.writing.numbers import SLOT, Part, literal
from sleevewright.writing.shape_points import shape_points
from sleevewright.writing.sheet import SheetPiece, chained

Array = NDArray[np.float64]

#: mm. Of system and edge texts, small so that they leave the lettering legible.
SYSTEM_HEIGHT = 2.0
#: mm. From one line of system text to the next.
SYSTEM_STEP = 3.2

_PLACE = f" 10\n{SLOT}\n 20\n{SLOT}\n"
_VERTEX = f"  0\nVERTEX\n  8\n{{layer}}\n{_PLACE}"
_POINT = f"  0\nPOINT\n  8\n{{layer}}\n{_PLACE}"
_NOTCH = f"  0\nPOINT\n  8\n{Layer.NOTCH}\n{_PLACE} 30\n{SLOT}\n 39\n{SLOT}\n 50\n{SLOT}\n"
_LINE = f"  0\nLINE\n  8\n{{layer}}\n{_PLACE} 11\n{SLOT}\n 21\n{SLOT}\n"
_TEXT = f"  0\nTEXT\n  8\n{{layer}}\n{_PLACE} 40\n{SLOT}\n 50\n{SLOT}\n  1\n"
_POLYLINE = (
    "  0\nPOLYLINE\n  8\n{layer}\n 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n0\n"
    "{vertices}  0\nSEQEND\n  8\n{layer}\n"
)
_HEAD = f"  0\nBLOCK\n  8\n{Layer.CUT}\n  2\n{{name}}\n 70\n0\n 10\n0.0\n 20\n0.0\n  3\n{{name}}\n"


def block(name: str, placed: SheetPiece, size: str) -> Iterator[Part]:
    """Yield the BLOCK of a piece, in the piece's own coordinates.

    Args:
        name: of the block, as R12 allows it.
        placed: the piece.
        size: for its system text.
    """
    yield _HEAD.format(name=name), []
    yield from _system_texts(placed, size)
    cut = placed.lines[0].curve
    yield _polyline(Layer.CUT, cut.flattened())
    yield from _shape(placed)
    for notch in placed.notches:
        mark = notch.cut
        angle = math.degrees(math.atan2(mark.direction[1], mark.direction[0])) % 360.0
        yield _NOTCH, [*mark.point, mark.depth, mark.width, angle]
    for line in placed.of_kind(LineKind.FOLD):
        yield _line(Layer.MIRROR, line.curve)
    for line in placed.of_kind(LineKind.GRAIN):
        yield _line(Layer.GRAIN, line.curve)
    for line in placed.of_kind(LineKind.INTERNAL):
        yield _polyline(Layer.INTERNAL, line.curve.flattened())
    yield _points(Layer.DRILL, placed.piece.drill_holes)
    yield from _sew_lines(placed.piece.edges)
    for text in placed.texts:
        yield text_record(Layer.ANNOTATION, text.text, text.at, text.height, text.angle)
    yield f"  0\nENDBLK\n  8\n{Layer.CUT}\n", []


def text_record(layer: Layer, text: str, at: Point, height: float, angle: float = 0.0) -> Part:
    """Return a TEXT: its base line starts `at`, mm, and runs at `angle`, degrees."""
    template = f"{_TEXT.format(layer=layer)}{literal(dxf_text(text))}\n"
    return template, [*at, height, angle % 360.0]


def _shape(placed: SheetPiece) -> Iterator[Part]:
    """Turn points and curve points of all lines, each place once, a corner before a curve."""
    lines = [line.curve for line in placed.lines if line.kind in (LineKind.SEW, LineKind.INTERNAL)]
    corners, smooth = shape_points(lines, ring=placed.lines[0].curve)
    yield _points(Layer.TURN_POINT, corners)
    yield _points(Layer.CURVE_POINT, smooth)


def _sew_lines(edges: tuple[Edge, ...]) -> Iterator[Part]:
    """One polyline an edge, and the text that names the edge at its middle."""
    points, ends = _flattened_apart(edges)
    steps = np.diff(points, axis=0)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    middles = 0.5 * (run[ends[:-1]] + run[ends[1:]])
    x, y = (np.interp(middles, run, points[:, axis]).tolist() for axis in (0, 1))
    on = np.searchsorted(run, middles, side="right") - 1
    angles = np.degrees(np.arctan2(steps[on, 1], steps[on, 0])).tolist()
    for i, edge in enumerate(edges):
        yield _polyline(Layer.SEW, points[ends[i] : ends[i + 1] + 1])
        # Text that would stand on its head runs the other way.
        angle = angles[i] if -90.0 < angles[i] <= 90.0 else angles[i] + 180.0
        label = EDGE_PREFIX + edge.name
        yield text_record(Layer.ANNOTATION, label, (x[i], y[i]), SYSTEM_HEIGHT, angle)


def _flattened_apart(edges: tuple[Edge, ...]) -> tuple[Array, NDArray[np.int64]]:
    """Flatten an outline at once: its points, and where each edge starts and the last ends."""
    outline = chained(edge.curve for edge in edges)
    corners = np.cumsum([len(edge.curve.controls) for edge in edges])
    chords = np.cumsum(chord_counts(outline.controls, FLATTEN))
    ends = np.concatenate([[0], chords[corners - 1]])
    return outline.flattened(), ends


def _system_texts(placed: SheetPiece, size: str) -> Iterator[Part]:
    """The texts that say what the piece is, below its lettering."""
    piece = placed.piece
    entries = (
        (PieceKey.NAME, piece.name.upper()),
        (PieceKey.SIZE, size),
        (PieceKey.QUANTITY, str(piece.quantity)),
        (PieceKey.MATERIAL, piece.material.upper()),
        (PieceKey.CATEGORY, piece.name.split("_")[0].upper()),
        (PieceKey.ANNOTATION, piece.cut_words),
    )
    (x, y), angle = _below_lettering(placed)
    turn = math.radians(angle)
    across, down = SYSTEM_STEP * math.sin(turn), SYSTEM_STEP * math.cos(turn)
    texts = [f"{key}: {value}" for key, value in entries if value]
    for i, text in enumerate(texts):
        place = (x + (i + 1.5) * across, y - (i + 1.5) * down)
        yield text_record(Layer.CUT, text, place, SYSTEM_HEIGHT, angle)


def _below_lettering(placed: SheetPiece) -> tuple[Point, float]:
    """Return start and angle of the last base line of the lettering of the whole piece."""
    own = [text for text in placed.texts if not text.about]
    if own:
        return own[-1].at, own[-1].angle
    left, bottom, right, top = placed.piece.bounds
    return ((left + right) / 2, (bottom + top) / 2), 0.0


def _polyline(layer: Layer, points: Array) -> Part:
    vertices = _VERTEX.format(layer=layer) * len(points)
    return _POLYLINE.format(layer=layer, vertices=vertices), points.ravel().tolist()


def _points(layer: Layer, points: Iterable[Point]) -> Part:
    values = [number for point in points for number in point]
    return _POINT.format(layer=layer) * (len(values) // 2), values


def _line(layer: Layer, curve: Curve) -> Part:
    return _LINE.format(layer=layer), [*curve.start.tolist(), *curve.end.tolist()]
