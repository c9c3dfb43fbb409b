"""Files to patterns: `read_pattern(files, labels)`.

A file is read to a `Drawing` (dxf, svg), its pieces and edges are told by layer numbers, by names
or from the geometry, and the pieces of each size become a `Pattern`.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from sleevewright.errors import LabelError, Place, Problem, ReadError, did_you_mean
from sleevewright.findings import Finding, Status
from sleevewright.limits import Limits
from sleevewright.pattern import NotchKind, Pattern, Piece, Role, Side, standard_seams
from sleevewright.reading.drawing import Drawing
from sleevewright.reading.edge_names import normal
from sleevewright.reading.label_map import LabelMap, label_schema, read_label_map
from sleevewright.reading.labelled import is_labelled, labelled_pieces
from sleevewright.reading.notch_names import with_notch_names
from sleevewright.reading.numbered import numbered_sheets
from sleevewright.reading.outline import Bare, finished_piece
from sleevewright.reading.plain import plain_sheets
from sleevewright.reading.recognition import check_size
from sleevewright.reading.sheets import Sheet, bare_pieces, refuse_doubles
from sleevewright.reading.sleeve_halves import Hints
from sleevewright.reading.soundness import check_outline, long_side
from sleevewright.reading.whole_pieces import halved

__all__ = ["Reading", "label_schema", "read_pattern"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read.

    Attributes:
        patterns: one a size, in the order of the files.
        findings: everything that was skipped, mended, mirrored or recognised.
    """

    patterns: tuple[Pattern, ...]
    findings: tuple[Finding, ...]


def read_pattern(
    files: Sequence[Path | str], labels: Path | str | None = None, limits: Limits = Limits()
) -> Reading:
    """Read the files of one block: all sizes in one file, a file a size, or a file a piece.

    Args:
        files: DXF or SVG.
        labels: a label map.
        limits: of one drawing.

    Raises:
        ReadError: a file cannot be read as what it claims to be.
        LabelError: pieces or edges cannot be told.
    """
    label_map = read_label_map(Path(labels)) if labels is not None else LabelMap()
    sizes: dict[str, list[Bare]] = {}
    findings: list[Finding] = []
    keys: set[str] = set()
    paths = [Path(file) for file in files]
    drawings = [_drawing(path, label_map, limits) for path in paths]
    _refuse_unused(label_map, drawings)
    for path, drawing in zip(paths, drawings, strict=True):
        findings += drawing.findings
        with _file_named(path):
            for size, bares, notes in _pieces(drawing, label_map, keys):
                name = label_map.size or size or drawing.size or _size_of_stem(path.stem)
                sizes.setdefault(name or "base", []).extend(bares)
                findings += notes
    _refuse_unused_pieces(label_map, keys)
    block = label_map.block or _block(paths)
    patterns = []
    for size, bares in sizes.items():
        refuse_doubles(bares, str(paths[0]))
        with _file_named(paths[0]):
            pattern, notes = _pattern(block, size, bares, label_map)
        patterns.append(pattern)
        findings += notes
    return Reading(tuple(patterns), tuple(findings))


@contextmanager
def _file_named(path: Path) -> Iterator[None]:
    """Name the file in problems that name none."""
    try:
        yield
    except (ReadError, LabelError) as error:
        raise type(error)(
            replace(p, place=replace(p.place, file=p.place.file or str(path)))
            for p in error.problems
        ) from error


def _drawing(path: Path, labels: LabelMap, limits: Limits) -> Drawing:
    kind = path.suffix.lower()
    if kind == ".svg":
        from sleevewright.reading.svg import read_svg  # noqa: PLC0415 (only where it is one)

        drawing = read_svg(path, labels.units, limits)
    elif kind == ".dxf":
        from sleevewright.reading.dxf import read_dxf  # noqa: PLC0415 (only where it is one)

        drawing = read_dxf(path, labels.units, limits)
    else:
        raise ReadError(
            Problem(f"{kind or 'no suffix'!r} is no kind of file that is read", Place(str(path)),
                    ".dxf and .svg are read")
        )  # fmt: skip
    if not any(group.strokes for group in drawing.groups):
        raise ReadError(Problem("there is no line in it, so no piece", Place(str(path))))
    return drawing


def _not_ignored(sheets: list[Sheet], keys: set[str]) -> list[Sheet]:
    """Note what a label map may call the sheets, and leave out what it says to ignore."""
    keys.update(key for sheet in sheets for key in sheet.keys)
    return [sheet for sheet in sheets if sheet.name != "ignore"]


def _pieces(
    drawing: Drawing, labels: LabelMap, keys: set[str]
) -> Iterable[tuple[str, list[Bare], list[Finding]]]:
    """Yield (size, pieces, findings) of a drawing."""
    if drawing.numbered:
        sheets = _not_ignored(numbered_sheets(drawing, labels), keys)
        for size in dict.fromkeys(sheet.size for sheet in sheets):
            yield (size, *bare_pieces([sheet for sheet in sheets if sheet.size == size]))
    elif is_labelled(drawing, labels):
        yield ("", *labelled_pieces(drawing, labels))
    else:
        sheets = _not_ignored(plain_sheets(drawing, labels), keys)
        if not sheets:
            raise LabelError(
                Problem("there is no closed outline with three corners, so no piece",
                        Place(drawing.file), "", "close the outlines or label the edges")
            )  # fmt: skip
        yield ("", *bare_pieces(sheets))


def _pattern(
    block: str, size: str, bares: list[Bare], labels: LabelMap
) -> tuple[Pattern, list[Finding]]:
    pieces: list[Piece] = []
    findings = [
        Finding("reading", Status.NOTED, block, f"there is no {name} among the pieces of {size}")
        for name in ("front", "back", "sleeve")
        if not any(bare.name.startswith(name) for bare in bares)
    ]
    if bares:
        longest = max(bares, key=long_side)
        check_size([edge.curve for edge in longest.edges], longest.name, longest.place)
    # the bodice first: its armholes may tell the front of the sleeve
    for bare in sorted(bares, key=lambda bare: bare.name not in ("front", "back")):
        check_outline(bare)
        half, halving = halved(bare)
        piece, notes = finished_piece(half, Hints(labels.sleeve_front, tuple(pieces)))
        notes = (halving, *notes) if halving else notes
        findings += [Finding("reading", Status.NOTED, piece.name, text) for text in notes]
        pieces.append(piece)
    order = {
        name: i for i, name in enumerate(("front", "back", "sleeve", "sleeve_front", "sleeve_back"))
    }
    pieces.sort(key=lambda piece: (order.get(piece.name, 9), piece.name))
    named = with_notch_names(tuple(pieces))
    eases = _eases(named)
    findings += _doubtful(eases, named)
    return Pattern(
        name=block, size=size, pieces=named, seams=standard_seams(named, eases)
    ), findings


def _eases(pieces: tuple[Piece, ...]) -> dict[str, float]:
    """The block's own ease is taken as wanted: in the cap, and of the back shoulder."""
    found = {}
    by_name = {piece.name: piece for piece in pieces}
    for side in Side:
        bodice = by_name.get(side.value)
        cap = sum(piece.length(Role.CAP, side) for piece in pieces)
        if bodice is not None and cap and not bodice.has(Role.RAGLAN_SEAM):
            found[f"{side} armhole"] = cap - bodice.length(Role.ARMHOLE)
    if {"front", "back"} <= by_name.keys():
        back, front = (by_name[n].length(Role.SHOULDER) for n in ("back", "front"))
        found["shoulder"] = back - front
    return found


#: Common practice: cap ease of 0 to 8.5 % of the armhole; a shoulder eases 15 mm at most.
MOST_CAP_EASE = 0.085
MOST_SHOULDER_EASE = 15.0


def _doubtful(eases: dict[str, float], pieces: tuple[Piece, ...]) -> list[Finding]:
    found = []
    bodice = {p.name: p for p in pieces}
    for side in Side:
        ease = eases.get(f"{side} armhole")
        if ease is None:
            continue
        armhole = bodice[side.value].length(Role.ARMHOLE)
        if not -0.5 <= ease <= MOST_CAP_EASE * armhole:
            text = (
                f"the {side} cap is {ease:+.1f} mm longer than its armhole;"
                f" 0 to {MOST_CAP_EASE * armhole:.0f} mm is usual"
            )
            found.append(Finding("reading", Status.NOTED, f"{side} armhole", text))
    if abs(eases.get("shoulder", 0.0)) > MOST_SHOULDER_EASE:
        text = f"back and front shoulder differ by {eases['shoulder']:+.1f} mm"
        found.append(Finding("reading", Status.NOTED, "shoulder", text))
    found += [Finding("reading", Status.NOTED, "notches", text) for text in _odd_notches(pieces)]
    return found


def _odd_notches(pieces: tuple[Piece, ...]) -> Iterator[str]:
    """Say where notches are not as the trade has them: some on armhole and cap, a double one on the back."""
    edges = [e for p in pieces for e in p.edges if e.role in (Role.ARMHOLE, Role.CAP)]
    if edges and not any(edge.notches for edge in edges):
        yield "no notch is drawn on armhole or cap; what is made of them has none there"
    doubles = {
        edge.side for edge in edges if edge.role is Role.CAP
        if any(notch.kind is NotchKind.DOUBLE for notch in edge.notches)
    }  # fmt: skip
    if doubles == {Side.FRONT}:
        yield "the double notch of the cap is on its front half; the trade marks the back with it"


def _refuse_unused(labels: LabelMap, drawings: list[Drawing]) -> None:
    """A line of the label map that matches nothing is a mistake."""
    drawn: list[str] = []
    for group in (group for drawing in drawings for group in drawing.groups):
        drawn += [stroke.label for stroke in group.strokes]
        drawn += [mark.label for mark in group.marks]
        drawn += [words.label for words in group.words]
    known = {
        normal(word)
        for label in drawn
        for word in (*label.replace(" / ", " ").split(), label.rpartition(" / ")[2])
    }
    problems = [
        Problem(
            f"layers: nothing in the drawing is labelled {name!r}{did_you_mean(name, known)}", place
        )
        for name, _, place in labels.layers
        if name not in known
    ]
    if problems:
        raise LabelError(problems)


def _refuse_unused_pieces(labels: LabelMap, keys: set[str]) -> None:
    """The same for its pieces."""
    problems = [
        Problem(
            f"pieces: no piece or outline is called {name!r}{did_you_mean(name, keys)}",
            place,
            f"there are {', '.join(sorted(filter(None, keys))) or 'labelled pieces alone'}",
        )
        for name, _, place in labels.pieces
        if name not in keys
    ]
    if problems:
        raise LabelError(problems)


def _size_of_stem(stem: str) -> str:
    match = re.search(r"_([A-Za-z0-9]{1,5})$", stem)
    return match[1] if match and (match[1].isdigit() or match[1].isupper()) else ""


def _block(paths: list[Path]) -> str:
    """Name the block by the first file, without its size."""
    stem = paths[0].stem
    size = _size_of_stem(stem)
    name = stem[: -len(size) - 1] if size else stem
    # What does not print has no place in lettering; a name that is not UTF-8 has some of it.
    return "".join(c if c.isprintable() else "_" for c in name).strip("._- ") or "block"
