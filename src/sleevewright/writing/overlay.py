"""Two versions of pieces laid on one another, as one SVG picture for the eye.

The old version is dashed and grey, the new one full and dark; an edge that moved is heavy, with the
distance beside it, since a millimetre cannot be seen at the size of a page.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sleevewright.writing.xml_text import escaped

Array = NDArray[np.float64]

_GAP, _LETTER, _WIDEST = 40.0, 14.0, 2400.0  # mm
_MOST_LINES = 8

Moved = Mapping[tuple[str, str], float]
Shown = tuple[str, Mapping[str, Any], Mapping[str, Any], Sequence[str], Moved]


#: What such a picture has within its first thousand bytes.
OVERLAY = b"<title>What moved</title>"


def overlay_svg(pairs: Iterable[Shown]) -> bytes:
    """Return the picture.

    Args:
        pairs: (name, old profile, new profile, lines that say what differs, how far which edge of
            which piece moved in mm). A profile has `pieces`: name -> edge name -> control points,
            micrometres, flat.
    """
    body: list[str] = []
    top = _GAP
    width = 600.0
    for name, old, new, lines, moved in pairs:
        body.append(_text(_GAP, top + _LETTER, name, _LETTER))
        top += 2 * _LETTER
        for line in lines[:_MOST_LINES]:
            body.append(_text(_GAP, top + _LETTER, line, 0.7 * _LETTER))
            top += _LETTER
        top += _LETTER
        left, tallest = _GAP, 0.0
        for piece in new["pieces"]:
            before = old["pieces"].get(piece, {})
            heavy = {edge: by for (at, edge), by in moved.items() if at == piece}
            drawn, wide, tall = _piece(piece, before, new["pieces"][piece], heavy)
            if left + wide > _WIDEST:
                left, top, tallest = _GAP, top + tallest + _GAP, 0.0
            body.append(f'<g transform="translate({left:.2f} {top:.2f})">{drawn}</g>')
            left, tallest = left + wide + _GAP, max(tallest, tall)
            width = max(width, left)
        top += tallest + 2 * _GAP
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}mm" height="{top:.1f}mm"'
        f' viewBox="0 0 {width:.1f} {top:.1f}">{OVERLAY.decode()}'
        "<style>.old{fill:none;stroke:#888;stroke-width:.8;stroke-dasharray:5 3}"
        ".new{fill:none;stroke:#000;stroke-width:.8}.moved{fill:none;stroke:#b00020;stroke-width:3}"
        "text{font-family:sans-serif}</style>\n"
    )
    return (head + "\n".join(body) + "\n</svg>\n").encode()


def _piece(
    name: str, old: Mapping[str, Any], new: Mapping[str, Any], moved: Mapping[str, float]
) -> tuple[str, float, float]:
    """Return one piece drawn at the origin, its width and height, mm."""
    now = {edge: _controls(numbers) for edge, numbers in new.items()}
    were = {edge: _controls(numbers) for edge, numbers in old.items()}
    common = [edge for edge in now if edge in were]
    if common:
        shift = np.median([now[e][0, 0] - were[e][0, 0] for e in common], axis=0)
        were = {edge: controls + shift for edge, controls in were.items()}
    points = np.concatenate([c.reshape(-1, 2) for c in (*now.values(), *were.values())])
    low, high = points.min(axis=0), points.max(axis=0)

    def placed(controls: Array) -> Array:
        return np.asarray((controls - (low[0], high[1])) * (1.0, -1.0))

    body = [f'<path class="old" d="{_path(placed(c))}"/>' for c in were.values()]
    for edge, controls in now.items():
        kind = "moved" if edge in moved else "new"
        body.append(f'<path class="{kind}" d="{_path(placed(controls))}"/>')
        if edge in moved:
            x, y = placed(controls)[len(controls) // 2, 0 if len(controls) > 1 else 1]
            body.append(_text(x + 3.0, y - 3.0, f"{moved[edge]:.2f}", 0.7 * _LETTER))
    size = high - low
    body.append(_text(0.0, float(size[1]) + 0.9 * _LETTER, name, 0.7 * _LETTER))
    return "".join(body), float(size[0]), float(size[1]) + _LETTER


def _controls(numbers: Any) -> Array:
    return np.array(numbers, dtype=float).reshape(-1, 4, 2) / 1000.0


def _path(controls: Array) -> str:
    start = f"M{controls[0, 0, 0]:.2f} {controls[0, 0, 1]:.2f}"
    return start + "".join(
        "C" + " ".join(f"{v:.2f}" for v in segment[1:].ravel()) for segment in controls
    )


def _text(x: float, y: float, words: str, height: float) -> str:
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{height:.1f}">{escaped(words)}</text>'
