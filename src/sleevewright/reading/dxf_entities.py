"""One record as an `Entity`: the values that are used, and what is wrong with it.

What an entity must have, what may stand in it only once, and how many vertices it says it has are checked:
a lost or doubled line of a file shows here.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from sleevewright.errors import Place, Problem, ReadError
from sleevewright.reading.dxf_tags import Record, Value
from sleevewright.reading.dxf_words import plain_mtext, plain_name, plain_text

LONGEST_NAME = 255  # characters, by the DXF reference
#: Points that each point of a rational spline, or of one of a higher degree, is approached by at the most.
APPROACHED = 200


class Vertex(NamedTuple):
    """One vertex of a polyline, in the drawing's unit; the bulge is of the segment that follows."""

    x: float
    y: float
    z: float = 0.0
    bulge: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Entity:
    """One entity as written.

    Attributes:
        kind: such as "LINE".
        line: of the file, where it begins.
        handle: "" where it has none.
        layer: its name.
        on_paper: whether it lies on a sheet of paper rather than in the drawing.
        numbers: group code -> number, of codes that stand once.
        lists: group code -> numbers, of a SPLINE's codes that repeat.
        vertices: of a polyline.
        text: of a TEXT, MTEXT or ATTRIB; the name of the block of an INSERT.
        attributes: of an INSERT.
    """

    kind: str
    line: int
    handle: str = ""
    layer: str = "0"
    on_paper: bool = False
    numbers: dict[int, float] = field(default_factory=dict)
    lists: dict[int, list[float]] = field(default_factory=dict)
    vertices: tuple[Vertex, ...] = ()
    text: str = ""
    attributes: "tuple[Entity, ...]" = ()

    @property
    def points(self) -> int:
        """How many points it counts for: a spline that has to be approached, for as many as that takes."""
        own = max(1, len(self.vertices), sum(len(v) for v in self.lists.values()) // 2)
        approached = self.kind == "SPLINE" and (41 in self.lists or self.numbers.get(71, 3) > 3)
        return own * APPROACHED if approached else own

    def place(self, file: str) -> Place:
        """Where it stands."""
        return Place(
            file, self.line, within=f"layer {self.layer}, {self.kind} {self.handle}".strip()
        )


class _Form(NamedTuple):
    """The group codes that are used of a kind of entity."""

    needed: frozenset[int]
    once: frozenset[int]
    repeated: frozenset[int]


def _form(needed: str, may: str = "", repeated: str = "") -> _Form:
    codes = [frozenset(map(int, text.split())) for text in (needed, may, repeated)]
    return _Form(codes[0], codes[0] | codes[1] | {5, 8, 67}, codes[2])


_PLANE = " 210 220 230"
FORMS = {
    "LINE": _form("10 20 11 21", "30 31"),
    "POINT": _form("10 20"),
    "CIRCLE": _form("10 20 40", "30" + _PLANE),
    "ARC": _form("10 20 40 50 51", "30" + _PLANE),
    "ELLIPSE": _form("10 20 11 21 40", "30 31 41 42" + _PLANE),
    "SPLINE": _form("71", "70 72 73 74 12 22 13 23" + _PLANE, "10 20 30 11 21 31 40 41"),
    "LWPOLYLINE": _form("", "38 70 90" + _PLANE, "10 20 42"),
    "POLYLINE": _form("", "30 70" + _PLANE),
    "VERTEX": _form("10 20", "30 42 70"),
    "TEXT": _form("10 20", "1" + _PLANE),
    "ATTRIB": _form("10 20", "1" + _PLANE),
    "MTEXT": _form("10 20", "1", "3"),
    "INSERT": _form("2 10 20", "41 42 44 45 50 70 71" + _PLANE),
    "BLOCK": _form("2", "10 20 70"),
}
_OTHER = _form("")

_SPLINE_FRAME = 16  # flag of a VERTEX that steers a curve and does not lie on it


def entity_of(record: Record, file: str) -> Entity:
    """Return a record as an entity.

    Raises:
        ReadError: a value is missing, stands twice or is not what its kind may have.
    """
    form = FORMS.get(record.kind, _OTHER)
    once: dict[int, Value] = {}
    repeated: list[tuple[int, Value]] = []
    for code, value in _own(record.tags):
        if code in form.repeated:
            repeated.append((code, value))
        elif code in form.once:
            if code in once and form is not _OTHER:
                raise _refusal(record, file, f"group {code} stands twice")
            once.setdefault(code, value)
    missing = sorted(form.needed - once.keys())
    if missing:
        raise _refusal(record, file, f"group {missing[0]} is missing")
    found = Entity(
        kind=record.kind,
        line=record.line,
        handle=str(once.get(5, "")).strip()[:16],
        layer=_name(once.get(8, "0"), record, file) or "0",
        on_paper=once.get(67, 0) == 1,
        numbers={code: v for code, v in once.items() if isinstance(v, float | int)},
    )
    return _with_contents(found, once, repeated, file)


def _own(tags: list[tuple[int, Value]]) -> Iterator[tuple[int, Value]]:
    """Yield the tags of an entity itself, without those of programs and of objects within it."""
    foreign = False
    for code, value in tags:
        if code == 101 or code >= 1000:
            return
        if code == 102:
            foreign = str(value).lstrip().startswith("{")
        elif not foreign:
            yield code, value


def _with_contents(
    entity: Entity, once: dict[int, Value], repeated: list[tuple[int, Value]], file: str
) -> Entity:
    """Return the entity with its text, its vertices or its lists."""
    if entity.kind in ("TEXT", "ATTRIB"):
        return replace(entity, text=plain_text(str(once.get(1, ""))))
    if entity.kind == "MTEXT":
        chunks = [str(value) for _, value in repeated]
        return replace(entity, text=plain_mtext("".join([*chunks, str(once.get(1, ""))])))
    if entity.kind in ("INSERT", "BLOCK"):
        return replace(entity, text=_name(once[2], Record(entity.kind, entity.line), file))
    if entity.kind == "LWPOLYLINE":
        return replace(entity, vertices=_vertices(entity, repeated, file))
    if entity.kind == "SPLINE":
        lists: dict[int, list[float]] = {}
        for code, value in repeated:
            lists.setdefault(code, []).append(float(value))
        return replace(entity, lists=lists)
    return entity


def _vertices(entity: Entity, tags: list[tuple[int, Value]], file: str) -> tuple[Vertex, ...]:
    xs: list[float] = []
    ys: list[float] = []
    bulges: dict[int, float] = {}
    for code, value in tags:
        if code == 42:
            bulges[len(xs) - 1] = float(value)
        else:
            (xs if code == 10 else ys).append(float(value))
            if not 0 <= len(xs) - len(ys) <= 1:
                break
    says = entity.numbers.get(90, len(xs))
    if len(xs) != len(ys) or -1 in bulges:
        raise _refusal(entity, file, "groups 10 and 20 do not alternate")
    if says != len(xs):
        raise _refusal(entity, file, f"it says {says} vertices and has {len(xs)}")
    z = entity.numbers.get(38, 0.0)
    return tuple(
        Vertex(x, y, z, bulges.get(i, 0.0)) for i, (x, y) in enumerate(zip(xs, ys, strict=True))
    )


def vertex_of(entity: Entity) -> Vertex | None:
    """Return a VERTEX as a vertex; None where it only steers a curve."""
    n = entity.numbers
    if int(n.get(70, 0)) & _SPLINE_FRAME:
        return None
    return Vertex(n[10], n[20], n.get(30, 0.0), n.get(42, 0.0))


def _name(value: Value, record: Record, file: str) -> str:
    name = plain_name(str(value))
    if len(name) > LONGEST_NAME:
        raise _refusal(
            record, file, f"a name of {len(name)} characters; {LONGEST_NAME} are allowed"
        )
    if any(ord(c) < 32 or 127 <= ord(c) < 160 for c in name):
        raise _refusal(record, file, f"a control character in the name {name!r}")
    return name


def _refusal(what: Record | Entity, file: str, found: str) -> ReadError:
    return ReadError(
        Problem(f"{what.kind[:24]!r}: {found}", Place(file, what.line), "",
                "is a line of the file missing or doubled?")
    )  # fmt: skip
