"""A nest drawn once: every size's lines on its layer, and what is written on the piece."""

from collections.abc import Iterator, Sequence

import numpy as np

from sleevewright.formats.line_styles import LineKind
from sleevewright.geometry import Affine, Curve
from sleevewright.pattern.piece import Lettering, Point
from sleevewright.writing.numbers import Part
from sleevewright.writing.pdf.layers import KINDS, of_kind, of_size
from sleevewright.writing.pdf.nests import Copy, Nest
from sleevewright.writing.pdf.pens import colour_of, pen_of
from sleevewright.writing.pdf.strokes import paths, polyline, shade, text, within_layer
from sleevewright.writing.pdf.tags import size_tags
from sleevewright.writing.pdf.typeface import Letters, text_width

#: Drawn once in a nest: the grain is the same in all sizes, and their folds lie on one another.
_COMMON = (LineKind.GRAIN, LineKind.FOLD)
_DRILL_RADIUS = 1.0  # mm
_ROUND = 5.0  # mm: room for pens and tags


def draw(nest: Nest, sizes: Sequence[str], letters: Letters, scale: float = 1.0) -> Iterator[Part]:
    """Draw a nest in its own coordinates, mm; pens are as wide on paper at every scale."""
    alone = len(sizes) == 1
    yield "1 j\n", []
    for copy in nest.copies:
        kinds = [k for k in KINDS if alone or k not in (*_COMMON, LineKind.TEXT)]
        parts = [part for kind in kinds for part in _of_kind(kind, copy, letters, scale)]
        yield from within_layer(of_size(copy.size), [shade(colour_of(copy.size)), *parts])
    if not alone:
        yield shade(colour_of(0))
        for kind in _COMMON:
            yield from _of_kind(kind, nest.least, letters, scale)
        yield from size_tags(nest, sizes, letters, scale)
        yield shade(colour_of(0))
        yield from _nest_texts(nest, letters)


def cut_lines(nest: Nest) -> Iterator[Part]:
    """Draw the cut lines alone, with the pen that is set: for the map of the sheets."""
    yield from paths([_moved(copy.placed.lines[0].curve, copy) for copy in nest.copies], True)


def drawn_box(nest: Nest) -> tuple[float, float, float, float]:
    """Return a box round all that is drawn of a nest (left, bottom, right, top), mm."""
    boxes = np.array([shape.bounds for shape in nest.shapes()])
    (left, bottom), (right, top) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(left) - _ROUND, float(bottom) - _ROUND, float(right) + _ROUND, float(top) + _ROUND


# --- one size ---------------------------------------------------------------------------------


def _of_kind(kind: LineKind, copy: Copy, letters: Letters, scale: float) -> Iterator[Part]:
    yield from within_layer(of_kind(kind), _lines(kind, copy, letters, scale))


def _lines(kind: LineKind, copy: Copy, letters: Letters, scale: float) -> Iterator[Part]:
    if kind is LineKind.TEXT:
        yield from (_lettering(words, copy, letters) for words in copy.placed.texts)
        return
    if kind is LineKind.NOTCH:
        shift = np.array(copy.shift)
        parts = [polyline(notch.points + shift) for notch in copy.placed.notches]
    else:
        lines = [line for line in copy.placed.of_kind(kind) if line.pen is kind]
        curves = [_moved(line.curve, copy) for line in lines]
        if kind is LineKind.DRILL:
            curves = [_moved(_ring(hole), copy) for hole in copy.placed.piece.drill_holes]
        parts = list(paths(curves, closed=kind in (LineKind.CUT, LineKind.DRILL)))
        others = [line for line in copy.placed.of_kind(kind) if line.pen is not kind]
        if others:  # folds inside
            parts.append(pen_of(LineKind.FOLD, copy.size, scale))
            parts += paths([_moved(line.curve, copy) for line in others])
    marks = [_moved(curve, copy) for curve in _marks(kind, copy)]
    if parts or marks:
        yield pen_of(kind, copy.size, scale)
        yield from parts
    if marks:
        yield pen_of(LineKind.MARK, copy.size, scale)
        yield from paths(marks)


def _marks(kind: LineKind, copy: Copy) -> list[Curve]:
    """Return arrow heads and brackets of a kind of line: they come right after it.

    The arms of the crosses of drill holes come last, two a hole.
    """
    lines = copy.placed.lines
    arms = len(lines) - 2 * len(copy.placed.piece.drill_holes)
    if kind is LineKind.DRILL:
        return [line.curve for line in lines[arms:]]
    found, owner = [], LineKind.CUT
    for line in lines[:arms]:
        if line.kind is not LineKind.MARK:
            owner = line.kind
        elif owner is kind:
            found.append(line.curve)
    return found


def _ring(centre: Point) -> Curve:
    """Return the circle in the cross of a drill hole; four cubics, right to 0.03 % of its radius."""
    r, h = _DRILL_RADIUS, _DRILL_RADIUS * 4 / 3 * (2**0.5 - 1)
    quarter = np.array([(r, 0.0), (r, h), (h, r), (0.0, r)])
    turn = np.array([(0.0, 1.0), (-1.0, 0.0)])  # a quarter counter-clockwise, for rows
    quarters = [quarter @ np.linalg.matrix_power(turn, k) for k in range(4)]
    return Curve(np.array(quarters) + np.array(centre))


def _moved(curve: Curve, copy: Copy) -> Curve:
    return curve.transformed(Affine.translation(copy.shift))


def _lettering(words: Lettering, copy: Copy, letters: Letters) -> Part:
    x, y = words.at
    at = (x + copy.shift[0], y + copy.shift[1])
    return text(letters, words.text, at, words.height, words.angle)


# --- several sizes ----------------------------------------------------------------------------


def _nest_texts(nest: Nest, letters: Letters) -> Iterator[Part]:
    """Write what the bearer says; where sizes differ, what each says, side by side."""
    bearer = nest.bearer
    block = [words for words in nest.texts if not words.about]
    others = [[w for w in copy.placed.texts if not w.about] for copy in nest.copies]
    comparable = all(len(lines) == len(block) for lines in others)
    parts: list[Part] = []
    for words in nest.texts:
        if words.about or not comparable:
            parts.append(_lettering(words, bearer, letters))
            continue
        i = block.index(words)
        said = [lines[i].text for lines in others]
        if len(set(said)) == 1:
            parts.append(_lettering(words, bearer, letters))
        else:
            room = max(text_width(w.text, w.height) for w in block if _below(words, w))
            parts += _side_by_side(words, said, nest, room, letters)
    yield from within_layer(of_kind(LineKind.TEXT), parts)


def _below(words: Lettering, other: Lettering) -> bool:
    """Whether two lines of a block are in one column: they begin on one line square to both."""
    apart = np.subtract(other.at, words.at)
    turn = np.radians(words.angle)
    return abs(float(apart @ (np.cos(turn), np.sin(turn)))) < 0.01


def _side_by_side(
    words: Lettering, said: list[str], nest: Nest, room: float, letters: Letters
) -> Iterator[Part]:
    """Write "SIZE 36", "38", "40" in one line, each on the layer of its size."""
    first = said[0].split(" ")
    shared = 0
    while all(len(s.split(" ")) > shared + 1 for s in said) and all(
        s.split(" ")[shared] == first[shared] for s in said
    ):
        shared += 1
    shown = [said[0], *(" ".join(s.split(" ")[shared:]) for s in said[1:])]
    gap = 1.2
    width = sum(text_width(s, words.height) for s in shown) + gap * words.height * len(shown[1:])
    height = words.height * min(1.0, max(room, 1.0) / width)
    turn = np.radians(words.angle)
    along = np.array([np.cos(turn), np.sin(turn)])
    at = np.array(words.at) + nest.bearer.shift
    for copy, line in zip(nest.copies, shown, strict=True):
        part = text(letters, line, at.tolist(), height, words.angle)
        yield from within_layer(of_size(copy.size), [shade(colour_of(copy.size)), part])
        at = at + along * (text_width(line, height) + gap * height)
    yield shade(colour_of(0))
