"""SVG: whatever the bytes, the reader's own exception or a drawing that is finite and tells what it left out."""

import random
import re
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from hostile.harness import OUR_FAULT, attempt, read_block, unreadable
from hostile.svg_cases import CASES, FOREIGN_FILES, SAMPLES
from sleevewright.limits import LARGEST_COORDINATE, Limits
from sleevewright.reading.finished import read_finished
from sleevewright.reading.svg import read_svg

#: So small that an input that multiplies is refused and not waited for.
LIMITS = Limits(file_mb=1, elements=3_000, inserts=500, points=5_000)

_PATH = Path(tempfile.mkdtemp()) / "hostile.svg"


def _seeds() -> Iterator[bytes]:
    yield (SAMPLES / "child_block_110.svg").read_bytes()
    yield from (text.encode() for text in FOREIGN_FILES.values())
    yield from _finished()
    for case in CASES:
        if isinstance(case.data, bytes) and len(case.data) < 4_000:
            yield case.data


def _finished() -> Iterator[bytes]:
    """A file that this program wrote, cut down to one piece."""
    from samples_of_ours import from_svg, recipe
    from sleevewright.pipeline.convert import convert
    from sleevewright.writing import FORMATS

    text = FORMATS["svg"](convert(from_svg("child_block")[0], recipe("shirt-sleeve"))).decode()
    yield text.encode()
    yield re.sub(r' d="[^"]{200,}"', ' d="M0 0h9"', text).encode()


SEEDS = tuple(dict.fromkeys(_seeds()))


def one(data: bytes) -> None:
    _PATH.write_bytes(data)
    for read in (lambda path: read_svg(path, "mm", LIMITS), read_finished, read_block):
        outcome, value = attempt(read, _PATH)
        assert outcome.ended in ("read", "refused"), outcome.text
        assert OUR_FAULT not in outcome.text, outcome.text
        wrong = unreadable(outcome, _PATH.name if outcome.ended == "refused" else "")
        assert not wrong, wrong
        for group in getattr(value, "groups", ()):
            for stroke in group.strokes:
                assert np.abs(stroke.curve.controls).max() <= LARGEST_COORDINATE
                assert stroke.curve.length > 0
            assert all(np.abs(mark.at).max() <= LARGEST_COORDINATE for mark in group.marks)


# --- changes of elements -------------------------------------------------------------------------

_NUMBERS = (
    "0", "1", "-1", "1e8", "-1e-8", ".5", "1e999", "nan", "", "%", "mm", "1e9", "90", "360", "1e-300", "00",
    "5 5", ",", "-",
)  # fmt: skip
_ATTRIBUTES = (
    'transform="scale(-1 2)"', 'transform="rotate(30 1 1)"', 'transform="matrix(1 0 0 1 5 5)"',
    'display="none"', 'id="a"', 'href="#a"', 'xlink:href="#front"', 'class="front.hem"', 'class="notch"',
    'class="grain"', 'style="display:inline"', 'viewBox="0 0 9 9"', 'width="9"', 'height="9mm"',
    'points="1 2 3 4 5 6"', 'd="M0 0A5 5 0 1 0 9 9z"', 'x="1"', 'r="5"', 'data-size="38"', 'data-piece="p"',
    'data-edge="hem"', 'data-at="5"', 'class="sew hem"', 'id="seams"', 'rx="3"',
)  # fmt: skip
_ELEMENTS = (
    "<g>", "</g>", '<use href="#a"/>', '<symbol id="a">', "</symbol>", "<defs>", "</defs>",
    '<path d="M0 0H9"/>', '<path class="front.hem" d="M0 0Q5 5 9 0T20 0"/>', "<text>38</text>",
    "<style>.a{display:none}</style>", "<svg>", "</svg>", "<!-- -->", "<![CDATA[x]]>", "&amp;",
    '<rect width="9" height="9" rx="2"/>', '<circle class="notch" r="1"/>', '<!DOCTYPE svg SYSTEM "x">',
    "<?xml-stylesheet x?>", '<x:path xmlns:x="u"/>',
)  # fmt: skip
_COMMANDS = "MmLlHhVvCcSsQqTtAaZz"


def _one_of(pattern: str, text: str, draw: random.Random) -> tuple[int, int] | None:
    found = [match.span() for match in re.finditer(pattern, text)]
    return draw.choice(found) if found else None


def _swap(pattern: str, values: tuple[str, ...] | str) -> Callable[[str, random.Random], str]:
    def change(text: str, draw: random.Random) -> str:
        span = _one_of(pattern, text, draw)
        return text if span is None else text[: span[0]] + draw.choice(values) + text[span[1] :]

    return change


def _tripled(text: str, draw: random.Random) -> str:
    span = _one_of(r"<[^<>]*/>|[A-Za-z][-+\d., ]+", text, draw)
    return text if span is None else text[: span[1]] + text[span[0] : span[1]] * 3 + text[span[1] :]


def _dropped(text: str, draw: random.Random) -> str:
    span = _one_of(r'<[^<>]*>|\s[\w:-]+="[^"]*"|[-+]?\d+', text, draw)
    return text if span is None else text[: span[0]] + text[span[1] :]


_CHANGES = (
    _swap(r"[-+]?\d+(\.\d+)?", _NUMBERS), _swap(r"[-+]?\d+(\.\d+)?", _NUMBERS),
    _swap(r"(?<=[\d ,])[A-Za-z](?=[-\d. ])", _COMMANDS),
    _swap(r"(?=/?>)", tuple(f" {attribute}" for attribute in _ATTRIBUTES)),
    _swap(r"(?<=>)(?=.|\n)", _ELEMENTS), _swap(r'[\w:-]+="[^"]*"', _ATTRIBUTES), _tripled, _dropped,
)  # fmt: skip


def mutate(data: bytes, draw: random.Random) -> bytes:
    """Change numbers, attributes, commands and elements; most of it stays XML."""
    text = data.decode("utf-8", "replace")
    for _ in range(draw.choice((1, 1, 2, 4))):
        text = draw.choice(_CHANGES)(text, draw)
    return text.encode()
