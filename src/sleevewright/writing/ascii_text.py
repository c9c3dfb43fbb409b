"""Text for DXF R12: seven-bit, one line, nothing that a reader takes for a control code."""

import re
import unicodedata

_SPELLED = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O",
        "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "TH",
        "ı": "i", "–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"',
        "”": '"', "«": '"', "»": '"', "×": "x", "·": "-", "•": "-",
    }
)  # fmt: skip
_LONGEST = 250  # a text value of R12 has at most 255 characters


def transliterated(text: str) -> str:
    """Return text in printable ASCII; a character without a likeness becomes \\U+XXXX.

    >>> transliterated("Größe 38 – Ärmel")
    'Grosse 38 - Armel'
    """
    plain = unicodedata.normalize("NFKD", text.translate(_SPELLED))
    return "".join(_ascii(char) for char in plain if not unicodedata.combining(char))


def _ascii(char: str) -> str:
    if " " <= char <= "~":
        return char
    if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp", "Zs"):
        return " "
    return f"\\U+{ord(char):04X}" if ord(char) <= 0xFFFF else "?"


def dxf_text(text: str) -> str:
    """Return text as the value of a TEXT: `%%` and `^` escaped, cut to what R12 can hold."""
    plain = transliterated(text)
    # "%%%" draws one per cent sign; "^ " draws one caret.
    escaped = re.sub(r"%%+", lambda run: "%%%" * len(run[0]), plain).replace("^", "^ ")
    return escaped if len(escaped) <= _LONGEST else escaped[: _LONGEST - 3] + "..."


def block_name(text: str) -> str:
    """Return text as a name of R12: A-Z 0-9 _ - and at most 31 characters."""
    return re.sub(r"[^A-Z0-9_-]", "_", transliterated(text).upper())[:31] or "_"
