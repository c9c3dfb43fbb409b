"""DXF: whatever the bytes, the reader's own exception or a drawing."""

import random
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from hostile.dxf_cases import GROUPS, SAMPLES
from hostile.harness import OUR_FAULT, attempt, read_block, unreadable
from sleevewright.limits import Limits
from sleevewright.reading.dxf import read_dxf

#: So small that an input that multiplies is refused and not waited for.
LIMITS = Limits(file_mb=1, elements=3_000, inserts=500, points=5_000)

_PATH = Path(tempfile.mkdtemp()) / "hostile.dxf"


def _seeds() -> Iterator[bytes]:
    yield (SAMPLES / "named" / "child_block_110.dxf").read_bytes()
    for group in GROUPS:
        for case in group():
            if isinstance(case.data, bytes) and len(case.data) < 4_000:
                yield case.data


SEEDS = tuple(dict.fromkeys(_seeds()))


def one(data: bytes) -> None:
    _PATH.write_bytes(data)
    for read in (lambda path: read_dxf(path, "mm", LIMITS), read_block):
        outcome, _ = attempt(read, _PATH)
        assert outcome.ended in ("read", "refused"), outcome.text
        assert OUR_FAULT not in outcome.text, outcome.text
        wrong = unreadable(outcome, _PATH.name if outcome.ended == "refused" else "")
        assert not wrong, wrong
        if outcome.ended == "refused":
            return


# --- changes of tags -----------------------------------------------------------------------------

_VALUES = (
    "0", "1", "-1", "2", "3", "1e8", "-1e8", "1e-9", "0.5", "45", "360", "nan", "", "16", "64", "8", "4", "128",
    "A", "CUT", "FRONT.ARMHOLE", "1e5", "99999", "LINE", "INSERT", "POLYLINE", "LWPOLYLINE", "SPLINE", "ELLIPSE",
    "ARC", "CIRCLE", "VERTEX", "SEQEND", "BLOCK", "ENDBLK", "SECTION", "ENDSEC", "EOF", "TEXT", "MTEXT",
    "ATTRIB", "POINT", r"\U+D800",
)  # fmt: skip
_CODES = (
    0,
    1,
    2,
    3,
    5,
    8,
    10,
    20,
    30,
    11,
    21,
    31,
    12,
    22,
    38,
    40,
    41,
    42,
    44,
    45,
    50,
    51,
    66,
    67,
    70,
    71,
    72,
    73,
    74,
    90,
    210,
    220,
    230,
    101,
    102,
    999,
    1001,
)

Tags = list[tuple[str, str]]


def _value(tags: Tags, draw: random.Random) -> None:
    at = draw.randrange(len(tags))
    tags[at] = (tags[at][0], draw.choice(_VALUES))


def _code(tags: Tags, draw: random.Random) -> None:
    at = draw.randrange(len(tags))
    tags[at] = (str(draw.choice(_CODES)), tags[at][1])


def _dropped(tags: Tags, draw: random.Random) -> None:
    at = draw.randrange(len(tags))
    del tags[at : at + draw.randint(1, 4)]


def _doubled(tags: Tags, draw: random.Random) -> None:
    at = draw.randrange(len(tags))
    tags[at:at] = tags[at : at + draw.randint(1, 12)] * draw.choice((1, 1, 2, 20))


def _moved(tags: Tags, draw: random.Random) -> None:
    at, to = draw.randrange(len(tags)), draw.randrange(len(tags))
    some = tags[at : at + draw.randint(1, 12)]
    tags[to:to] = some


def _added(tags: Tags, draw: random.Random) -> None:
    tags.insert(draw.randrange(len(tags) + 1), (str(draw.choice(_CODES)), draw.choice(_VALUES)))


_CHANGES: tuple[Callable[[Tags, random.Random], None], ...] = (
    _value,
    _value,
    _value,
    _code,
    _dropped,
    _doubled,
    _moved,
    _added,
)


def mutate(data: bytes, draw: random.Random) -> bytes:
    """Change some tags; their pairs stay pairs."""
    lines = data.decode("latin-1").splitlines()
    tags = list(zip(lines[::2], lines[1::2], strict=False))
    for _ in range(draw.choice((1, 1, 2, 4))):
        if tags:
            draw.choice(_CHANGES)(tags, draw)
    return "".join(f"{code}\n{value}\n" for code, value in tags).encode("latin-1")
