"""Sample blocks as loose strokes, and SVG files drawn from them in every way a person might."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import Pattern
from sleevewright.reading import read_pattern
from sleevewright.reading.svg import read_svg

SAMPLES = Path(__file__).parents[2] / "sample_patterns"


@dataclass(frozen=True)
class Line:
    """A stroke to be drawn: piece, class, curve (mm, y up)."""

    piece: str
    role: str
    curve: Curve

    def moved(self, affine: Affine) -> "Line":
        return replace(self, curve=self.curve.transformed(affine))


@dataclass(frozen=True)
class Dot:
    """A notch mark to be drawn."""

    piece: str
    at: tuple[float, float]

    def moved(self, affine: Affine) -> "Dot":
        x, y = affine.apply(self.at)
        return replace(self, at=(float(x), float(y)))


def d_of(curve: Curve, scale: float = 1.0) -> str:
    """Path data of a curve, y turned down."""
    c = curve.controls * (scale, -scale)
    text = "M{!r},{!r}".format(*c[0, 0].tolist())
    for p in c:
        text += "C" + " ".join("{!r},{!r}".format(*q.tolist()) for q in p[1:])
    return text


def svg_of(lines, dots=(), *, unit="mm", per_mm=1.0, label="group"):
    """An SVG file with a group a piece ("group") or a class PIECE_ROLE on every path ("class")."""
    points = np.concatenate([x.curve.controls.reshape(-1, 2) for x in lines])
    (left, bottom), (right, top) = points.min(axis=0) - 20, points.max(axis=0) + 20
    box = [float(v) * per_mm for v in (left, -top, right - left, top - bottom)]
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{box[2]!r}{unit}" height="{box[3]!r}{unit}"'
        f' viewBox="{box[0]!r} {box[1]!r} {box[2]!r} {box[3]!r}">'
    ]
    pieces = dict.fromkeys(x.piece for x in lines)
    for piece in pieces:
        out.append(f'<g id="{piece}">' if label == "group" else "<g>")
        name = (lambda x: x) if label == "group" else (lambda x, p=piece: f"{p}_{x}".upper())
        for x in lines:
            if x.piece == piece:
                out.append(f'<path class="{name(x.role)}" d="{d_of(x.curve, per_mm)}"/>')
        for x in dots:
            if x.piece == piece:
                at = (x.at[0] * per_mm, -x.at[1] * per_mm)
                out.append(f'<circle class="{name("notch")}" cx="{at[0]!r}" cy="{at[1]!r}" r="1"/>')
        out.append("</g>")
    return "\n".join([*out, "</svg>"])


def strokes_of(path: Path):
    """The lines and dots of a sample SVG, whose labels are "piece / role"."""
    (group,) = read_svg(path).groups
    lines = [Line(*s.label.split(" / "), s.curve) for s in group.strokes]
    dots = [Dot(m.label.split(" / ")[0], m.at) for m in group.marks]
    return lines, dots


@pytest.fixture(params=["women_overblock_38", "child_block_110", "men_overblock_50"])
def sample(request):
    """(path, lines, dots, pattern) of a sample."""
    path = SAMPLES / "svg" / f"{request.param}.svg"
    (pattern,) = read_pattern([path]).patterns
    return path, *strokes_of(path), pattern


@pytest.fixture
def women():
    path = SAMPLES / "svg" / "women_overblock_38.svg"
    (pattern,) = read_pattern([path]).patterns
    return path, *strokes_of(path), pattern


@pytest.fixture
def read(tmp_path):
    """Write text to a file of this name and read it."""

    def reads(text: str, name: str = "block_38.svg", labels: str | None = None):
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        label_file = None
        if labels is not None:
            label_file = tmp_path / "block.labels.yaml"
            label_file.write_text(labels, encoding="utf-8")
        return read_pattern([file], label_file)

    return reads


def difference(a: Pattern, b: Pattern) -> float:
    """The largest difference of edge lengths and notch stations, mm; names must agree."""
    assert [p.name for p in a.pieces] == [p.name for p in b.pieces]
    worst = 0.0
    for p, q in zip(a.pieces, b.pieces, strict=True):
        assert {e.name for e in p.edges} == {e.name for e in q.edges}, p.name
        order = [e.name for e in q.edges]
        first = order.index(p.edges[0].name)
        assert [e.name for e in p.edges] == order[first:] + order[:first], p.name
        assert p.fold == q.fold
        assert (p.grain is None) == (q.grain is None)
        for edge in p.edges:
            other = q[edge.name]
            assert [(n.name, n.kind) for n in edge.notches] == [
                (n.name, n.kind) for n in other.notches
            ], (p.name, edge.name)
            worst = max(worst, abs(edge.length - other.length))
            for n, m in zip(edge.notches, other.notches, strict=True):
                worst = max(worst, abs(n.at - m.at))
    return worst
