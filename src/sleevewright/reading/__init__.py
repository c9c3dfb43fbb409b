"""Files to patterns: `read_pattern(files, labels)`.

A file is read to a `Drawing` (dxf, svg), its pieces and edges are told by layer numbers, by names or
from the geometry, and the pieces of each size become a `Pattern`.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sleevewright.errors import LabelError, Place, Problem, ReadError
from sleevewright.findings import Finding, Status
from sleevewright.pattern import Pattern, Piece, Role, Side, standard_seams
from sleevewright.reading.drawing import Drawing
from sleevewright.reading.label_map import LabelMap, label_schema, read_label_map
from sleevewright.reading.labelled import is_labelled, labelled_pieces
from sleevewright.reading.notch_names import with_notch_names
from sleevewright.reading.outline import Bare, finished_piece
from sleevewright.reading.plain import bare_pieces, numbered_sheets, plain_sheets, refuse_doubles
from sleevewright.reading.soundness import check_outline

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


def read_pattern(files: Sequence[Path | str], labels: Path | str | None = None) -> Reading:
    """Read the files of one block: all sizes in one file, a file a size, or a file a piece.

    Args:
        files: DXF or SVG.
        labels: a label map.

    Raises:
        ReadError: a file cannot be read as what it claims to be.
        LabelError: pieces or edges cannot be told.
    """
    label_map = read_label_map(Path(labels)) if labels is not None else LabelMap()
    sizes: dict[str, list[Bare]] = {}
    findings: list[Finding] = []
    paths = [Path(file) for file in files]
    drawings = [_drawing(path, label_map) for path in paths]
    _refuse_unused(label_map, drawings)
    for path, drawing in zip(paths, drawings, strict=True):
        findings += drawing.findings
        for size, bares, notes in _pieces(drawing, label_map):
            name = label_map.size or size or drawing.size or _size_of_stem(path.stem)
            sizes.setdefault(name or "base", []).extend(bares)
            findings += notes
    block = label_map.block or _block(paths)
    patterns = []
    for size, bares in sizes.items():
        refuse_doubles(bares, str(paths[0]))
        pattern, notes = _pattern(block, size, bares, label_map)
        patterns.append(pattern)
        findings += notes
    return Reading(tuple(patterns), tuple(findings))


def _drawing(path: Path, labels: LabelMap) -> Drawing:
    kind = path.suffix.lower()
    if kind == ".svg":
        from sleevewright.reading.svg import read_svg  # noqa: PLC0415 (svgpathtools is slow)

        drawing = read_svg(path, labels.units)
    elif kind == ".dxf":
        from sleevewright.reading.dxf import read_dxf  # noqa: PLC0415 (ezdxf is slow)

        drawing = read_dxf(path, labels.units)
    else:
        raise ReadError(
            Problem(f"{kind or 'no suffix'!r} is no kind of file that is read", Place(str(path)),
                    ".dxf and .svg are read")
        )  # fmt: skip
    if not any(group.strokes for group in drawing.groups):
        raise ReadError(Problem("there is no line in it, so no piece", Place(str(path))))
    return drawing


def _pieces(drawing: Drawing, labels: LabelMap) -> Iterable[tuple[str, list[Bare], list[Finding]]]:
    """Yield (size, pieces, findings) of a drawing."""
    if drawing.numbered:
        sheets = numbered_sheets(drawing)
        for size in dict.fromkeys(sheet.size for sheet in sheets):
            yield (size, *bare_pieces([sheet for sheet in sheets if sheet.size == size]))
    elif is_labelled(drawing, labels):
        yield ("", *labelled_pieces(drawing, labels))
    else:
        sheets = plain_sheets(drawing, labels)
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
    findings: list[Finding] = []
    for bare in bares:
        check_outline(bare)
        piece, mirrored = finished_piece(bare, labels.sleeve_front)
        if mirrored:
            text = f"{piece.name} is drawn as the wearer's left; read as the right"
            findings.append(Finding("reading", Status.NOTED, piece.name, text))
        if piece.grain is None:
            text = f"{piece.name} has no grainline; straight up the page is taken"
            findings.append(Finding("reading", Status.NOTED, piece.name, text))
        pieces.append(piece)
    order = {name: i for i, name in enumerate(("front", "back", "sleeve"))}
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


#: TRADE-NOTES 10, number 20: cap ease of 0 to 8.5 % of the armhole; a shoulder eases 15 mm at most.
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
    return found


def _refuse_unused(labels: LabelMap, drawings: list[Drawing]) -> None:
    """A line of the label map that matches nothing is a mistake."""
    from sleevewright.reading.edge_names import normal  # noqa: PLC0415

    said = [
        label
        for drawing in drawings
        for group in drawing.groups
        for label in (
            *(stroke.label for stroke in group.strokes),
            *(mark.label for mark in group.marks),
            *(words.label for words in group.words),
        )
    ]
    words = {
        normal(word)
        for label in said
        for word in (*label.replace(" / ", " ").split(), label.rpartition(" / ")[2])
    }
    problems = [
        Problem(f"layers: nothing in the drawing is labelled {name!r}", place)
        for name, _, place in labels.layers
        if name not in words
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
    return re.sub(r"[^A-Za-z0-9_.-]+", "_", name).strip("._-") or "block"
