"""Text for DXF R12: seven-bit, one line, nothing that a reader takes for a control code."""

import re
import unicodedata

# Characters that do not decompose into a letter and its accents.
_SPELLED = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "ł": "l",
        "Ł": "L", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "TH", "·": "-", "•": "-",
        "\N{LATIN SMALL LETTER DOTLESS I}": "i", "\N{MULTIPLICATION SIGN}": "x",
        "\N{FRACTION SLASH}": "/", "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{MINUS SIGN}": "-",
        "\N{LEFT SINGLE QUOTATION MARK}": "'", "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{LEFT DOUBLE QUOTATION MARK}": '"', "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    }
)  # fmt: skip
_LONGEST = 250  # a text value of R12 has at most 255 characters


def transliterated(text: str) -> str:
    """Return text in printable ASCII.

    What has no likeness there keeps its code as DXF writes it, backslash U+XXXX.

    >>> transliterated("Größe 38, Ärmel")
    'Grosse 38, Armel'
    """
    if text.isascii() and text.isprintable():
        return text
    plain = unicodedata.normalize("NFKD", text).translate(_SPELLED)
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
    if len(_escaped(plain)) > _LONGEST:  # cut before escaping, so that no escape is cut in half
        plain = plain[: _LONGEST // 3]
    return _escaped(plain)


def _escaped(text: str) -> str:
    # "%%%" draws one per cent sign; "^ " draws one caret.
    return re.sub(r"%%+", lambda run: "%%%" * len(run[0]), text).replace("^", "^ ")


def block_name(text: str) -> str:
    """Return text as a name of R12: A-Z 0-9 _ - and at most 31 characters."""
    return re.sub(r"[^A-Z0-9_-]", "_", transliterated(text).upper())[:31] or "_"
