"""Text as XML can hold it."""

import re

_PLAIN = re.compile(r"[\w .,:/+-]*", re.ASCII)
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ENTITIES = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "\t": " ", "\n": " ", "\r": " "}
)


def escaped(text: str) -> str:
    """Return text for XML content or a quoted attribute; what XML cannot hold is replaced.

    >>> escaped('a<b & "c"')
    'a&lt;b &amp; &quot;c&quot;'
    """
    if _PLAIN.fullmatch(text):
        return text
    return _NOT_IN_XML.sub("\ufffd", text).translate(_ENTITIES)
