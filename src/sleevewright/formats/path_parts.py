"""Names as parts of paths. They come from files and recipes; a part means the same on every file system."""

import re
import unicodedata
from functools import lru_cache
from hashlib import sha256

#: What a name may hold to be a part of a path as it is, for messages.
ALLOWED = "letters and digits of any script, - _ . , = % +"

_LONGEST = 100  # bytes of one part; with an ending it keeps below what any file system allows
_HASHED = 8  # digits of the hash that tells apart what is too long

_SIGNS = ",=%.+-_"
_NOT_PLAIN = re.compile(rf"[^\w{re.escape(_SIGNS)}]", re.ASCII)
#: Letters and marks that are not seen.
_UNSEEN = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef]"
)
#: Names that Windows keeps for devices, whatever stands behind a dot.
_DEVICE = re.compile(r"(con|prn|aux|nul|(com|lpt)[0-9\u00b9\u00b2\u00b3])(\.|$)", re.IGNORECASE)


@lru_cache(maxsize=4096)
def safe(name: str) -> str:
    """Return a name as one part of a path: letters and digits of any script, - _ . , = % + and nothing else.

    It is the same part wherever it is written (NFC), no hidden name, no device of Windows, and at
    most 100 bytes: a longer one ends in a hash of the whole. Spaces go, and between digits become _.

    >>> safe("neck_drop=45 mm"), safe("1 3/8 in"), safe("../nul"), safe("Gr\u00f6\u00dfe")
    ('neck_drop=45mm', '1_3_8in', '_nul', 'Größe')
    """
    normal = unicodedata.normalize("NFC", name)
    plain = _plain(re.sub(r"(?<=\d) +(?=\d)", "_", normal).replace(" ", ""))
    plain = plain.lstrip(".-").rstrip(".") or "_"
    if _DEVICE.match(plain):
        plain = f"_{plain}"
    if len(plain.encode()) > _LONGEST:
        digest = sha256(normal.encode(errors="surrogatepass")).hexdigest()[:_HASHED]
        plain = plain.encode()[: _LONGEST - 1 - _HASHED].decode(errors="ignore") + f"-{digest}"
    return plain


def _plain(text: str) -> str:
    """Return text with _ for whatever is no letter, no digit and none of the signs."""
    if text.isascii():
        return _NOT_PLAIN.sub("_", text)
    kept, before = [], ""
    for char in _UNSEEN.sub("_", text):
        kind = unicodedata.category(char)
        mark = kind in ("Mn", "Mc") and before[:1] in ("L", "M", "N")
        kept.append(char if mark or kind[0] in "LN" or char in _SIGNS else "_")
        before = kind if kept[-1] == char else ""
    return "".join(kept)
