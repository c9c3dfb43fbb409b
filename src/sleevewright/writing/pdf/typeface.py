"""The typeface of printed patterns: measured, and embedded as a subset of the letters used.

Noto Sans Regular (SIL Open Font License 1.1), the default instance of the variable font that the
package fontpkg-noto-sans ships. A letter that it has not is drawn as an empty box and stays text.
"""

import unicodedata
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from typing import Any, NamedTuple

import pikepdf

_PACKAGE, _FILE = "fontpkg_noto_sans", "NotoSans[wdth,wght].ttf"
_NAME = "NotoSans-Regular"
#: Tables of the variation axes and of shaping, which a subset for PDF has no use for.
_DROPPED = ("gvar", "fvar", "avar", "HVAR", "MVAR", "STAT", "GSUB", "GPOS", "GDEF", "gasp", "prep")
_PLAIN = "".join(map(chr, range(0x20, 0x7F)))  # in every subset, so that one serves many files
_UNWRITABLE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})  # controls, lone surrogates, no characters


class _Metrics(NamedTuple):
    """What of the font is asked for again and again; lengths in thousandths of an em."""

    glyphs: dict[int, str]
    widths: dict[str, float]
    missing: float
    capital: float
    ascent: float
    descent: float
    box: tuple[float, float, float, float]


def _opened() -> Any:
    from fontTools.ttLib import TTFont  # noqa: PLC0415 (heavy)

    path = files(_PACKAGE) / "files" / _FILE
    font = TTFont(BytesIO(path.read_bytes()), lazy=True, recalcTimestamp=False)
    for tag in _DROPPED:
        if tag in font:
            del font[tag]
    return font


@lru_cache(maxsize=1)
def _metrics() -> _Metrics:
    font = _opened()
    head, hhea = font["head"], font["hhea"]
    thousandth = 1000 / head.unitsPerEm
    widths = {name: width * thousandth for name, (width, _) in font["hmtx"].metrics.items()}
    return _Metrics(
        glyphs=font.getBestCmap(),
        widths=widths,
        missing=widths[".notdef"],
        capital=font["OS/2"].sCapHeight * thousandth,
        ascent=hhea.ascent * thousandth,
        descent=hhea.descent * thousandth,
        box=tuple(v * thousandth for v in (head.xMin, head.yMin, head.xMax, head.yMax)),
    )


def cleaned(text: str) -> str:
    r"""Return text as it is written: white space as spaces, what cannot be written as U+FFFD.

    >>> cleaned("a\tb\x00(c)")
    'a b\ufffd(c)'
    """
    if text.isascii() and text.isprintable():
        return text
    letters = unicodedata.normalize("NFC", text)
    return "".join(
        " " if c.isspace() else "\ufffd" if unicodedata.category(c) in _UNWRITABLE else c
        for c in letters
    )


def font_size(height: float) -> float:
    """Return the font size at which a capital is this high; same unit."""
    return height * 1000 / _metrics().capital


def text_width(text: str, height: float) -> float:
    """Return the width of a line whose capitals are this high; same unit."""
    metrics = _metrics()
    em = sum(
        metrics.widths.get(metrics.glyphs.get(ord(c), ""), metrics.missing) for c in cleaned(text)
    )
    return font_size(height) * em / 1000


class Letters:
    """The letters of one document: gives each a code when it is first shown."""

    def __init__(self) -> None:
        self._codes: dict[str, int] = {}

    def shown(self, text: str) -> str:
        """Return a line of text as the operand of Tj."""
        codes = self._codes
        shown = "".join(f"{codes.setdefault(c, len(codes) + 1):04X}" for c in cleaned(text))
        return f"<{shown}>"

    def embed(self, pdf: pikepdf.Pdf) -> pikepdf.Object:
        """Return the font dictionary with a subset of all that was shown."""
        metrics = _metrics()
        program, glyph_ids = _subset("".join(sorted({*self._codes, *_PLAIN})))
        ids, widths = [0], [metrics.missing]  # code 0 is never shown
        for letter in self._codes:
            ids.append(glyph_ids.get(letter, 0))
            glyph = metrics.glyphs.get(ord(letter), "")
            widths.append(metrics.widths.get(glyph, metrics.missing))
        file = pdf.make_stream(program, Length1=len(program))
        tag = _tag(self._codes)
        descriptor = pikepdf.Dictionary(
            Type=pikepdf.Name.FontDescriptor, FontName=pikepdf.Name(f"/{tag}+{_NAME}"),
            Flags=4, FontBBox=list(map(_number, metrics.box)), ItalicAngle=0, StemV=80,
            Ascent=_number(metrics.ascent), Descent=_number(metrics.descent),
            CapHeight=_number(metrics.capital), FontFile2=file,
        )  # fmt: skip
        descendant = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.CIDFontType2,
            BaseFont=descriptor.FontName, FontDescriptor=pdf.make_indirect(descriptor),
            CIDSystemInfo=pikepdf.Dictionary(
                Registry=pikepdf.String("Adobe"), Ordering=pikepdf.String("Identity"), Supplement=0
            ),
            DW=_number(metrics.missing), W=[0, list(map(_number, widths))],
            CIDToGIDMap=pdf.make_stream(b"".join(i.to_bytes(2, "big") for i in ids)),
        )  # fmt: skip
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type0, BaseFont=descriptor.FontName,
            Encoding=pikepdf.Name("/Identity-H"), ToUnicode=pdf.make_stream(_to_unicode(self._codes)),
            DescendantFonts=[pdf.make_indirect(descendant)],
        )  # fmt: skip
        return pdf.make_indirect(font)


@lru_cache(maxsize=16)
def _subset(letters: str) -> tuple[bytes, dict[str, int]]:
    """Return a font program with these letters, and the glyph number of each that it has."""
    from fontTools import subset  # noqa: PLC0415 (heavy)

    font = _opened()
    options = subset.Options(
        hinting=False, notdef_outline=True, glyph_names=False, layout_features=[]
    )
    options.recalc_timestamp = False
    options.drop_tables += ["name", "OS/2", "post"]
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=map(ord, letters))
    subsetter.subset(font)
    found = {chr(code): font.getGlyphID(name) for code, name in font.getBestCmap().items()}
    target = BytesIO()
    font.save(target, reorderTables=None)
    return target.getvalue(), found


def _to_unicode(codes: dict[str, int]) -> bytes:
    """Return the table by which a reader finds the letters of a code."""
    rows = [f"<{code:04X}> <{c.encode('utf-16-be').hex().upper()}>" for c, code in codes.items()]
    blocks = "".join(
        f"{len(part)} beginbfchar\n{chr(10).join(part)}\nendbfchar\n"
        for part in (rows[i : i + 100] for i in range(0, len(rows), 100))
    )
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n"
        f"{blocks}endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"
    ).encode("ascii")


def _tag(codes: dict[str, int]) -> str:
    """Return the six capitals that tell one subset from another."""
    from hashlib import sha256  # noqa: PLC0415

    digest = sha256("".join(codes).encode("utf-8")).digest()
    return "".join(chr(65 + byte % 26) for byte in digest[:6])


def _number(value: float) -> float | int:
    """Return a metric as a PDF number: whole where it is."""
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded
