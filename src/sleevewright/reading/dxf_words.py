"""Names and texts of a DXF file without their escapes."""

import re

#: `\\U+00E4` stands for a character that the file's alphabet lacks.
_ESCAPED = re.compile(r"\\U\+([0-9A-Fa-f]{4})")
_CARET = re.compile(r"\^([ @-_])")
_PERCENT = re.compile(r"%%([cdpkou%]|\d{3})", re.IGNORECASE)
_SIGNS = {"c": "Ø", "d": "°", "p": "±", "%": "%"}
_MTEXT = re.compile(
    r"\\(?P<self>[\\{}])|(?P<blank>\\[PN~])|\\[LlOoKkX]|\\S(?P<stack>[^;\\]{0,250});"
    r"|\\[A-Za-z][^;\\]{0,250};|(?P<group>[{}])"
)
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")

LOST = "\ufffd"  # stands for a character that could not be told


def plain_name(text: str) -> str:
    """Return the name of a layer or block with its escaped characters."""
    return _ESCAPED.sub(_character, text).strip()


def plain_text(text: str) -> str:
    r"""Return what a TEXT or ATTRIB shows, on one line.

    >>> plain_text(r"45%%d  M\U+00FCller^Jback")
    '45° Müller back'
    """
    return _one_line(_PERCENT.sub(_sign, _unescaped(text)))


def plain_mtext(text: str) -> str:
    r"""Return what an MTEXT shows, on one line.

    >>> plain_mtext(r"{\fArial|b0;Piece Name: FRONT}\PSize: 38")
    'Piece Name: FRONT Size: 38'
    """
    return _one_line(_PERCENT.sub(_sign, _MTEXT.sub(_shown, _unescaped(text))))


def _unescaped(text: str) -> str:
    return _CARET.sub(lambda m: "^" if m[1] == " " else " ", _ESCAPED.sub(_character, text))


def _character(match: re.Match[str]) -> str:
    code = int(match[1], 16)
    return LOST if 0xD800 <= code <= 0xDFFF else chr(code)


def _sign(match: re.Match[str]) -> str:
    if match[1].isdecimal():
        code = int(match[1])
        return chr(code) if 32 <= code <= 126 or 160 <= code <= 255 else ""
    return _SIGNS.get(match[1].lower(), "")


def _shown(match: re.Match[str]) -> str:
    if match["blank"]:
        return " "
    return match["self"] or match["stack"] or ""


def _one_line(text: str) -> str:
    return " ".join(_CONTROL.sub(" ", text).split())
