"""Numbers and names as the report writes them; text that no name can break out of."""

import math
import re

_MINUS = "\N{MINUS SIGN}"
_NOT_SHOWN = re.compile(
    "[^\t\n\r\u0020-\u007e\u00a0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
    # marks that would turn round the reading direction of what follows a name
    "|[\u202a-\u202e\u2066-\u2069]"
)
#: What is written where there is no number.
NONE = "\N{EM DASH}"


def clean(value: object) -> object:
    """Return text without what HTML cannot hold and what would hide or turn its neighbours.

    Anything that is not plain text (numbers, markup of the templates) stays as it is.
    """
    return _NOT_SHOWN.sub("\ufffd", value) if type(value) is str else value


def human(name: str) -> str:
    """Return a name as a cutter reads it.

    >>> human("sleeve_front.raglan_seam.front")
    'sleeve front raglan seam front'
    """
    return name.replace("_", " ").replace(".", " ")


def number(value: float | None, decimals: int = 1) -> str:
    """Return a number with fixed decimals and a true minus sign; a dash where there is none.

    >>> number(-0.04), number(12.25, 2), number(float("nan"))
    ('0.0', '12.25', '—')
    """
    if value is None or not math.isfinite(value):
        return NONE
    text = f"{abs(value):.{decimals}f}"
    zero = not text.strip("0.")
    return text if value >= 0 or zero else _MINUS + text


def signed(value: float | None, decimals: int = 1) -> str:
    """Return a difference with its sign; plain 0 where it rounds to nothing.

    >>> signed(3.21), signed(0.004)
    ('+3.2', '0')
    """
    text = number(value, decimals)
    if text == NONE or text.startswith(_MINUS):
        return text
    return f"+{text}" if text.strip("0.") else "0"


def short(value: float) -> str:
    """Return a number with as many decimals as it needs, two at the most.

    >>> short(10.0), short(6.35)
    ('10', '6.35')
    """
    text = number(value, 2)
    return text.rstrip("0").rstrip(".") if "." in text else text


def joined(words: list[str]) -> str:
    """Return words as a list in a sentence.

    >>> joined(["front", "back", "sleeve"])
    'front, back and sleeve'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def counted(count: int, one: str, many: str = "") -> str:
    """Return a count with its noun.

    >>> counted(1, "piece"), counted(3, "piece")
    ('1 piece', '3 pieces')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
