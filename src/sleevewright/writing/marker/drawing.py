"""A marker as SVG, full scale, the cloth from left to right."""

from sleevewright.writing.marker.lay import Marker, Placed
from sleevewright.writing.numbers import rounded
from sleevewright.writing.xml_text import escaped

_LETTER = 22.0  # mm
_MARGIN = 60.0  # mm: above the cloth, for the line that says what it is
_ARROW = (60.0, 12.0)  # mm: half length of a grain arrow, length of its head

_STYLE = (
    ".cloth{fill:#f6f3ec;stroke:#888;stroke-width:1}"
    ".cut{fill:#e6dcc6;stroke:#000;stroke-width:1;stroke-linejoin:round}"
    ".grain{fill:none;stroke:#000;stroke-width:1}"
    "text{font-family:sans-serif;text-anchor:middle}"
    ".title{text-anchor:start}"
)


def marker_svg(marker: Marker) -> bytes:
    """Return the drawing: 1 unit is 1 mm."""
    width, height = marker.length, marker.width + _MARGIN
    words = (
        f"{marker.title}: {marker.length / 1000:.3f} m of cloth {marker.width:g} mm wide,"
        f" yield {100 * marker.yield_ratio:.1f} %{', with nap' if marker.nap else ''}"
    )
    # So small that the line is no longer than the cloth: a letter is about 0.6 of its height wide.
    letter = min(_LETTER, width / (0.6 * len(words)))
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm"'
        f' viewBox="0 {_n(-_MARGIN)} {_n(width)} {_n(height)}">\n'
        f"<title>{escaped(words)}</title>\n<style>{_STYLE}</style>\n"
        f'<text class="title" x="0" y="{_n(-0.4 * _MARGIN)}" font-size="{_n(letter)}">{escaped(words)}'
        "</text>\n"
        f'<rect class="cloth" x="0" y="0" width="{_n(width)}" height="{_n(marker.width)}"/>\n'
    )
    body = "\n".join(_piece(piece, marker.width) for piece in marker.placed)
    return f"{head}{body}\n</svg>\n".encode()


def _piece(piece: Placed, top: float) -> str:
    """Draw a piece, its name and the direction of its grain; y points down here."""
    points = " ".join(f"{_n(x)},{_n(top - y)}" for x, y in piece.points)
    middle = piece.shape.representative_point()
    x, y = middle.x, top - middle.y
    half, head = _ARROW
    way = -1.0 if piece.turned else 1.0
    tip, barb = x + way * half, x + way * (half - head)
    arrow = (
        f"M{_n(x - way * half)} {_n(y)}H{_n(tip)}"
        f"M{_n(barb)} {_n(y - head / 2)}L{_n(tip)} {_n(y)}L{_n(barb)} {_n(y + head / 2)}"
    )
    name = piece.piece.replace("_", " ") + (", mirrored" if piece.mirrored else "")
    return (
        f'<g><polygon class="cut" points="{points}"/><path class="grain" d="{arrow}"/>'
        f'<text x="{_n(x)}" y="{_n(y - 0.5 * _LETTER)}" font-size="{_LETTER:g}">{escaped(name)}</text></g>'
    )


def _n(value: float) -> str:
    return f"{rounded(value):g}" if abs(value) < 1 else f"{round(value, 2):.10g}"
