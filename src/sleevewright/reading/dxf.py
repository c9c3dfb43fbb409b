"""DXF to `Drawing`: units, blocks and inserts, every kind of line; ezdxf reads the file.

A file whose layers are numbers is read by the conventions of ASTM D6673: a group a BLOCK. Any other
is read from model space, inserts expanded, each line with the name of its layer.
"""

import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.formats.d6673 import UNITS_MM, Layer, PieceKey, StyleKey, normal_key
from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.conversion import b_spline, bulge, circular_arc, elliptical_arc
from sleevewright.geometry.fitting import fit_polyline
from sleevewright.limits import Limits
from sleevewright.reading.drawing import Drawing, Group, Mark, Stroke, Words
from sleevewright.reading.dxf_tags import look_over

#: $INSUNITS -> mm. The DXF reference's list; light years and the like are no garment's.
INSUNITS = {
    1: 25.4, 2: 304.8, 3: 1609344.0, 4: 1.0, 5: 10.0, 6: 1000.0, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3,
    10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100.0, 15: 1e4, 16: 1e5, 17: 1e12,
    21: 304.8006096, 22: 25.4000508, 23: 914.4018288, 24: 1609347.2187,
}  # fmt: skip
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}

#: mm. Coordinates beyond this are no garment's.
LARGEST = 1e5

#: A bulge beyond this is more than a full turn but for a millionth of it.
LARGEST_BULGE = 1e4


def read_dxf(path: Path, units: str | None = None, limits: Limits = Limits()) -> Drawing:
    """Read a DXF file.

    Args:
        path: the file.
        units: "mm", "cm" or "in" for one unit of the drawing; stands above what the file says.

    Raises:
        ReadError: with line, layer or handle, for anything that cannot be read exactly.
    """
    tags = look_over(path, limits)
    file = str(path)
    try:
        return _Reader(file, _document(tags.text), tags.units, tags.renamed).read(units)
    except ReadError:
        raise
    except Exception as error:  # noqa: BLE001 (libraries raise anything on a damaged file)
        text = " ".join(str(error).split())[:160]
        raise ReadError(
            Problem(f"cannot be read as DXF: {type(error).__name__}: {text}", Place(file))
        ) from None


def _document(text: str) -> Any:
    import io  # noqa: PLC0415
    import logging  # noqa: PLC0415

    from ezdxf.filemanagement import read  # noqa: PLC0415 (slow to import)

    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # it speaks of what we report ourselves
    return read(io.StringIO(text))


class _Reader:
    """Reads one document."""

    def __init__(self, file: str, doc: Any, insunits: int, renamed: list[str]) -> None:
        self.file = file
        self.doc = doc
        self.insunits = insunits
        self.renamed = renamed
        self.skipped: Counter[str] = Counter()
        self.scale = 1.0

    def read(self, units: str | None) -> Drawing:
        space = self.doc.modelspace()
        numbered = self.is_numbered(space)
        self.scale = self.unit(units, space, numbered)
        to_mm = Affine.scaling(self.scale, self.scale)
        if numbered:
            groups = [
                self.group(block.name, block, to_mm)
                for block in self.doc.blocks
                if not block.name.startswith("*") and len(block)
            ]
            if not any(g.strokes for g in groups):
                groups = [self.group("", space, to_mm)]
        else:
            self.refuse_renamed()
            groups = [self.group("", space, to_mm)]
        return Drawing(
            file=self.file, numbered=numbered, groups=tuple(groups), size=self.size(groups),
            findings=tuple(self.notes()),
        )  # fmt: skip

    # --- what the file says of itself -----------------------------------------------------

    def is_numbered(self, space: Any) -> bool:
        """Whether blocks hold a boundary on layer 1, or piece texts."""
        for layout in (*self.doc.blocks, space):
            for entity in layout:
                if entity.dxf.get("layer", "0") == Layer.CUT and entity.dxftype() in (
                    "POLYLINE", "LWPOLYLINE", "LINE", "SPLINE",
                ):  # fmt: skip
                    return True
        return False

    def unit(self, units: str | None, space: Any, numbered: bool) -> float:
        """Return mm in one unit: what the user says, the Units text, $INSUNITS; else refuse."""
        if units is not None:
            return UNITS[units]
        if numbered:
            for entity in (*space, *(e for block in self.doc.blocks for e in block)):
                if entity.dxftype() == "TEXT":
                    key, colon, value = entity.dxf.text.partition(":")
                    if colon and normal_key(key) == normal_key(StyleKey.UNITS):
                        word = value.strip().upper()
                        if word in UNITS_MM:
                            return UNITS_MM[word]
        if self.insunits in INSUNITS:
            return INSUNITS[self.insunits]
        raise ReadError(
            Problem(
                "the drawing says no unit ($INSUNITS is missing or 0)", Place(self.file),
                self.candidates(space), "say it in a label map, such as units: mm",
            )
        )  # fmt: skip

    def candidates(self, space: Any) -> str:
        """Say how large the drawing would be in each unit."""
        self.scale = 1.0
        layouts = [space, *(b for b in self.doc.blocks if not b.name.startswith("*"))]
        boxes = [
            stroke.curve.bounds
            for layout in layouts
            for stroke in self.group("", layout, Affine.identity(), quiet=True).strokes
        ]
        if not boxes:
            return ""
        array = np.array(boxes)
        width, height = array[:, 2:].max(axis=0) - array[:, :2].min(axis=0)
        sizes = (
            f"in {unit} it is {width * mm / 10:.0f} by {height * mm / 10:.0f} cm"
            for unit, mm in UNITS.items()
        )
        return ", ".join(sizes)

    def size(self, groups: list[Group]) -> str:
        for group in groups:
            for words in group.words:
                key, colon, value = words.text.partition(":")
                if colon and normal_key(key) == normal_key(PieceKey.SIZE) and len(groups) == 1:
                    return value.strip()
        return ""

    def refuse_renamed(self) -> None:
        if self.renamed:
            raise ReadError(
                Problem(
                    f"several blocks are named {self.renamed[0]!r}; which one is inserted cannot be"
                    " told", Place(self.file), "block names are unique", "rename one",
                )
            )  # fmt: skip

    def notes(self) -> Iterator[Finding]:
        for kind, count in sorted(self.skipped.items()):
            text = f"{count} entities of kind {kind} were passed over: no line, point or text"
            yield Finding("reading", Status.NOTED, self.file, text)
        for name in self.renamed:
            text = f"several blocks are named {name!r}; they are kept apart"
            yield Finding("reading", Status.NOTED, self.file, text)

    # --- entities -------------------------------------------------------------------------

    def group(self, name: str, layout: Any, to_mm: Affine, *, quiet: bool = False) -> Group:
        strokes: list[Stroke] = []
        marks: list[Mark] = []
        words: list[Words] = []
        for entity, move, layer in self.flat(layout, to_mm, ""):
            kind = entity.dxftype()
            place = Place(self.file, within=f"layer {layer}, {kind} {entity.dxf.get('handle', '')}")
            if kind in _CURVES:
                for curve, polyline in _CURVES[kind](entity):
                    moved = curve.transformed(move)
                    self.finite(moved.controls, place)
                    strokes.append(
                        Stroke(curve=moved, label=self.label(layer), place=place, polyline=polyline)
                    )
            elif kind == "POINT" or (kind == "CIRCLE" and self.is_mark(layer)):
                p = (
                    entity.dxf.location
                    if kind == "POINT"
                    else _ocs(entity).apply((entity.dxf.center.x, entity.dxf.center.y))
                )
                xy = move.apply((float(p[0]), float(p[1])))
                self.finite(xy, place)
                marks.append(
                    Mark(at=(float(xy[0]), float(xy[1])), label=self.label(layer), place=place)
                )
            elif kind == "CIRCLE":
                curve = circular_arc(
                    (entity.dxf.center.x, entity.dxf.center.y), entity.dxf.radius, 0.0, 360.0
                ).transformed(move @ _ocs(entity))
                strokes.append(Stroke(curve=curve, label=self.label(layer), place=place))
            elif kind in ("TEXT", "MTEXT", "ATTRIB"):
                text = entity.plain_text()
                at = move.apply((float(entity.dxf.insert.x), float(entity.dxf.insert.y)))
                words.append(
                    Words(text=" ".join(text.split()), at=(float(at[0]), float(at[1])),
                          label=self.label(layer), place=place)
                )  # fmt: skip
            elif not quiet and kind not in ("ATTDEF", "SEQEND", "VERTEX"):
                self.skipped[kind] += 1
        return Group(name=name, strokes=tuple(strokes), marks=tuple(marks), words=tuple(words))

    def flat(self, layout: Any, move: Affine, layer: str) -> Iterator[tuple[Any, Affine, str]]:
        """Yield (entity, map to mm, layer), inserts expanded; layer 0 takes its insert's layer."""
        for entity in layout:
            own = entity.dxf.get("layer", "0")
            if own == "0" and layer:
                own = layer
            if entity.dxftype() != "INSERT":
                yield entity, move, own
                continue
            block = self.doc.blocks.get(entity.dxf.name)
            if block is None:
                raise ReadError(
                    Problem(f"block {entity.dxf.name!r} is inserted but not in the file",
                            Place(self.file, within=f"INSERT {entity.dxf.get('handle', '')}"))
                )  # fmt: skip
            for insert in entity.multi_insert() if entity.mcount > 1 else (entity,):
                yield from self.flat(block, move @ self.placing(insert), own)

    def placing(self, insert: Any) -> Affine:
        m = insert.matrix44()
        o, x, y = (m.transform(p) for p in ((0, 0, 0), (1, 0, 0), (0, 1, 0)))
        affine = Affine(x.x - o.x, x.y - o.y, y.x - o.x, y.y - o.y, o.x, o.y)
        if not all(math.isfinite(v) for v in affine) or abs(affine.determinant) < 1e-12:
            raise ReadError(
                Problem("an insert flattens its block (scale 0)",
                        Place(self.file, within=f"INSERT {insert.dxf.get('handle', '')}"))
            )  # fmt: skip
        return affine

    @staticmethod
    def label(layer: str) -> str:
        return layer if layer.isdigit() else f" / {layer}"

    @staticmethod
    def is_mark(layer: str) -> bool:
        return re.search("notch|drill", layer, re.IGNORECASE) is not None

    def finite(self, points: np.ndarray, place: Place) -> None:
        if not np.isfinite(points).all() or np.abs(points).max() > LARGEST:
            raise ReadError(
                Problem("a coordinate is not finite or beyond 100 m", place, "",
                        "is the unit right?")
            )  # fmt: skip


_Curves = Iterator[tuple[Curve, bool]]


def _ocs(entity: Any) -> Affine:
    """Return the map of an entity's own plane: mirrored where its extrusion points down.

    Raises:
        ValueError: it lies in another plane than the drawing's.
    """
    z = entity.dxf.get("extrusion", (0, 0, 1))
    if abs(z[0]) > 1e-9 or abs(z[1]) > 1e-9:
        raise ValueError(f"a {entity.dxftype()} is tilted out of the drawing's plane")
    return Affine.scaling(-1.0, 1.0) if z[2] < 0 else Affine.identity()


def _line(entity: Any) -> _Curves:
    a, b = entity.dxf.start, entity.dxf.end
    if math.dist((a.x, a.y), (b.x, b.y)) > 1e-9:
        yield Curve.line((a.x, a.y), (b.x, b.y)), False


def _lwpolyline(entity: Any) -> _Curves:
    points = [(p[0], p[1], p[2]) for p in entity.get_points("xyb")]
    yield from _bulged(points, entity.closed, _ocs(entity))


def _polyline(entity: Any) -> _Curves:
    if not entity.is_2d_polyline and not entity.is_3d_polyline:
        raise ValueError("a POLYLINE is a mesh")
    points = [
        (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices
    ]
    plane = Affine.identity() if entity.is_3d_polyline else _ocs(entity)
    yield from _bulged(points, entity.is_closed, plane)


def _bulged(points: list[tuple[float, float, float]], closed: bool, plane: Affine) -> _Curves:
    if closed and len(points) > 2:
        points = [*points, (points[0][0], points[0][1], 0.0)]
    if any(abs(p[2]) > LARGEST_BULGE or not math.isfinite(p[2]) for p in points):
        raise ValueError("a bulge is beyond a full turn")
    parts = [
        bulge(a[:2], b[:2], a[2])
        for a, b in zip(points, points[1:], strict=False)
        if math.dist(a[:2], b[:2]) > 1e-9
    ]
    if parts:
        straight = all(p[2] == 0 for p in points)
        yield Curve.joined(parts).transformed(plane), straight and len(parts) > 8


def _arc(entity: Any) -> _Curves:
    start, end = entity.dxf.start_angle, entity.dxf.end_angle
    sweep = (end - start) % 360.0 or 360.0
    c = entity.dxf.center
    arc = circular_arc((c.x, c.y), entity.dxf.radius, start, sweep)
    yield arc.transformed(_ocs(entity)), False


def _ellipse(entity: Any) -> _Curves:
    c, major = entity.dxf.center, entity.dxf.major_axis
    ratio = entity.dxf.ratio
    if not 0 < abs(ratio) <= 1.0 + 1e-9:
        raise ValueError(f"an ELLIPSE has the ratio {ratio:g}")
    down = entity.dxf.get("extrusion", (0, 0, 1))[2] < 0
    sign = -1.0 if down else 1.0
    start, end = (math.degrees(entity.dxf.get(k)) for k in ("start_param", "end_param"))
    sweep = (end - start) % 360.0 or 360.0
    minor = (-major.y * ratio * sign, major.x * ratio * sign)
    yield elliptical_arc((c.x, c.y), (major.x, major.y), minor, start, sweep), False


def _spline(entity: Any) -> _Curves:
    control = np.array([(p[0], p[1]) for p in entity.control_points]).reshape(-1, 2)
    weights = list(entity.weights)
    same = not weights or max(weights) - min(weights) < 1e-9 * max(map(abs, weights))
    if len(control) and entity.dxf.degree <= 3 and same:
        yield b_spline(control, np.array(entity.knots), entity.dxf.degree), False
        return
    if any(not math.isfinite(w) or w <= 0 for w in weights):
        raise ValueError("a SPLINE has a weight that is not positive")
    if len(control):
        points = np.array([(p.x, p.y) for p in entity.construction_tool().flattening(0.002)])
        yield fit_polyline(points), False
        return
    from ezdxf.path import make_path  # noqa: PLC0415

    points = np.array([(p.x, p.y) for p in make_path(entity).flattening(0.002)])
    yield fit_polyline(points), False


_CURVES: dict[str, Callable[[Any], _Curves]] = {
    "LINE": _line,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
