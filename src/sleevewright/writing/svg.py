"""SVG in millimetres: a group a piece, a class a kind of line, true cubic Beziers, y down.

No scripts, links or fonts; every line is labelled, so that the file can be read back.
"""

import json
import re
from collections.abc import Iterable, Iterator

import numpy as np

from sleevewright.formats.line_styles import LINE_STYLES, SEAMS_ID, LineKind, LineStyle
from sleevewright.geometry import Curve, bezier
from sleevewright.pattern import Seam
from sleevewright.pattern.piece import Lettering
from sleevewright.pattern.result import Result
from sleevewright.writing.numbers import SLOT, Part, filled, literal
from sleevewright.writing.sheet import Sheet, SheetLine, SheetNotch, SheetPiece, lay_out
from sleevewright.writing.xml_text import escaped

_CAPITAL = 0.72  # height of a capital letter as a part of the font size, common for sans serif
_PAIR = f"{SLOT} {SLOT}"
_LINE_TO = f"L{_PAIR}"
_CURVE_TO = f"C{_PAIR} {_PAIR} {_PAIR}"
_TITLE_ID = "title"
_DRILL_RADIUS = 1.0  # mm: the circle in the cross, whose centre tells where the hole is
_DRILL = f'<circle class="{LineKind.DRILL}" cx="{SLOT}" cy="{SLOT}" r="{SLOT}"/>\n'


def write_svg(result: Result) -> bytes:
    """Return a finished pattern as an SVG file.

    Raises:
        ValueError: a piece is not finished.
    """
    return filled(_parts(lay_out(result), result.pattern.seams)).encode("utf-8")


def _parts(sheet: Sheet, seams: Iterable[Seam]) -> Iterator[Part]:
    yield from _head(sheet)
    yield f'<metadata id="{SEAMS_ID}">{literal(escaped(_noted(seams)))}</metadata>\n', []
    for name, placed in zip(_ids(sheet), sheet.pieces, strict=True):
        yield from _piece(name, placed, sheet)
    yield "</svg>\n", []


# --- the file round the pieces ----------------------------------------------------------------


def _head(sheet: Sheet) -> Iterator[Part]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg"', []
    size = f' width="{SLOT}mm" height="{SLOT}mm" viewBox="0 0 {SLOT} {SLOT}"'
    yield size, [sheet.width, sheet.height, sheet.width, sheet.height]
    yield _attributes({"data-size": sheet.size}), []
    yield f' lang="en" xml:lang="en" role="img" aria-labelledby="{_TITLE_ID}">\n', []
    title = literal(escaped(sheet.title))
    yield f'<title id="{_TITLE_ID}">{title}</title>\n<style>\n{_STYLE}</style>\n', []


def _noted(seams: Iterable[Seam]) -> str:
    """Return the seams as JSON, for whoever reads the file back."""
    records = [
        {
            "name": seam.name,
            "first": [[u.piece, u.edge, int(u.backwards)] for u in seam.first],
            "second": [[u.piece, u.edge, int(u.backwards)] for u in seam.second],
            "ease": round(seam.ease, 6), "gather": round(seam.gather, 9),
            "pleated": round(seam.pleated, 6), "within": seam.within,
        }
        for seam in seams
    ]  # fmt: skip
    return json.dumps(records, ensure_ascii=True, allow_nan=False)


def _style() -> str:
    rules = ["path,circle{fill:none;stroke:#000;stroke-linejoin:round}\n"]
    rules += [_rule(style) for kind, style in LINE_STYLES.items() if kind is not LineKind.TEXT]
    fold = " ".join(f"{length:g}" for length in LINE_STYLES[LineKind.FOLD].dash)
    rules.append(f'.{LineKind.INTERNAL}[data-name$="fold"]{{stroke-dasharray:{fold}}}\n')
    rules.append("text{font-family:sans-serif;fill:#000}\n")
    return "".join(rules)


def _rule(style: LineStyle) -> str:
    dash = f";stroke-dasharray:{' '.join(f'{d:g}' for d in style.dash)}" if style.dash else ""
    return f".{style.kind}{{stroke-width:{style.weight:g}{dash}}}\n"


_STYLE = _style()


def _ids(sheet: Sheet) -> list[str]:
    """Return an id for each piece: its name where that is a plain one, made unique."""
    taken = [_TITLE_ID, SEAMS_ID]
    for placed in sheet.pieces:
        base = re.sub(r"[^A-Za-z0-9_-]", "_", placed.piece.name)
        base = name = base if base[:1].isalpha() else f"piece_{base}"
        number = 1
        while name in taken:
            number += 1
            name = f"{base}_{number}"
        taken.append(name)
    return taken[2:]


# --- a piece ----------------------------------------------------------------------------------


def _piece(name: str, placed: SheetPiece, sheet: Sheet) -> Iterator[Part]:
    piece = placed.piece
    # piece coordinates (y up) to the sheet's (y down): x + across, down - y
    across, down = placed.shift[0], sheet.height - placed.shift[1]
    fields = {
        "class": "piece",
        "id": name,
        "data-piece": piece.name,
        "data-size": sheet.size,
        "data-quantity": str(piece.quantity),
        "data-material": piece.material,
        "data-fold": piece.fold,
    }
    yield f"<g{_attributes(fields)}>\n", []
    curves = [line.curve for line in placed.lines]
    for line, (data, numbers) in zip(placed.lines, _path_data(curves, across, down), strict=True):
        close = "Z" if line.kind is LineKind.CUT else ""
        yield f'<path{_attributes(_line_fields(line))} d="{data}{close}"/>\n', numbers
    for x, y in piece.drill_holes:
        yield _DRILL, [x + across, down - y, _DRILL_RADIUS]
    for notch in placed.notches:
        points = notch.points * (1.0, -1.0) + (across, down)
        data = f"M{_PAIR}" + f"L{_PAIR}" * (len(points) - 1)
        numbers = [notch.at, *points.ravel().tolist()]
        yield f'<path{_attributes(_notch_fields(notch))} data-at="{SLOT}" d="{data}"/>\n', numbers
    for text in placed.texts:
        yield _text(text, across, down)
    yield "</g>\n", []


def _line_fields(line: SheetLine) -> dict[str, str]:
    if line.edge is None:
        return {"class": line.kind.value, "data-name": line.name}
    side = line.edge.side.value if line.edge.side else ""
    role = f" {line.edge.role}" if line.kind is LineKind.SEW else ""
    return {"class": f"{line.kind}{role}", "data-edge": line.edge.name, "data-side": side}


def _notch_fields(notch: SheetNotch) -> dict[str, str]:
    return {
        "class": LineKind.NOTCH.value,
        "data-name": notch.cut.name,
        "data-edge": notch.edge,
        "data-kind": notch.cut.kind.value,
    }


def _path_data(curves: list[Curve], across: float, down: float) -> Iterator[Part]:
    """Yield the path data of curves; straight segments that run evenly become lines."""
    controls = np.concatenate([curve.controls for curve in curves])
    straight = bezier.evenly_straight(controls).tolist()
    numbers = (controls * (1.0, -1.0) + (across, down)).reshape(-1, 8).tolist()
    i = 0
    for curve in curves:
        template, values = [f"M{_PAIR}"], numbers[i][:2]
        for _ in range(len(curve.controls)):
            template.append(_LINE_TO if straight[i] else _CURVE_TO)
            values += numbers[i][6:] if straight[i] else numbers[i][2:]
            i += 1
        yield "".join(template), values


def _text(text: Lettering, across: float, down: float) -> Part:
    x, y = text.at[0] + across, down - text.at[1]
    template = f'<text class="text" x="{SLOT}" y="{SLOT}" font-size="{SLOT}"'
    numbers = [x, y, text.height / _CAPITAL]
    if text.angle:
        template += f' transform="rotate({SLOT} {SLOT} {SLOT})"'
        numbers += [-text.angle, x, y]
    about = _attributes({"data-edge": text.about})
    return f"{template}{about}>{literal(escaped(text.text))}</text>\n", numbers


# --- XML --------------------------------------------------------------------------------------


def _attributes(fields: dict[str, str]) -> str:
    """Return attributes as a template; empty ones are left out."""
    pairs = (f' {name}="{escaped(value)}"' for name, value in fields.items() if value)
    return literal("".join(pairs))
