"""Hostile SVG files, made by script; each says what must come of it, decided before it ran.

Most are a sample of ours with one thing changed, or one line on a page of 100 mm beside what is hostile, so
that "read" can be checked by comparing with the sample or by counting and measuring what came.
"""

import gzip
import math
import re
from collections.abc import Callable, Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

from hostile.harness import Case, read_block
from sleevewright.errors import LabelError
from sleevewright.limits import Limits
from sleevewright.reading.drawing import Drawing
from sleevewright.reading.finished import read_finished
from sleevewright.reading.svg import read_svg

SAMPLES = Path(__file__).parents[2] / "sample_patterns" / "svg"
SAMPLE = (SAMPLES / "women_overblock_38.svg").read_text(encoding="utf-8")
HEAD = re.search(r"<svg[^>]*>", SAMPLE)[0]
INNER = SAMPLE.split("</style>")[1].replace("</svg>", "")
SIZE = 'width="1040.521mm" height="804.043mm"'
HEM = "M322.250000,784.042644 L580.000000,784.042644"
START = "M322.25,784.042644"

NS = 'xmlns="http://www.w3.org/2000/svg"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
#: One user unit is one mm.
PAGE = f'<svg {NS} {XLINK} width="100mm" height="100mm" viewBox="0 0 100 100">'
LINE = '<path id="own" d="M10 10L90 10"/>'
OUTSIDE = "http://127.0.0.1:9"

Check = Callable[[Any], None]


# --- making files --------------------------------------------------------------------------------


def page(*parts: str) -> bytes:
    """A page with a line of 80 mm and other things."""
    return (PAGE + LINE + "".join(parts) + "</svg>").encode()


def bare(*parts: str) -> bytes:
    """A page without the line."""
    return (PAGE + "".join(parts) + "</svg>").encode()


def sample(old: str, new: str) -> bytes:
    """The sample with a change that must apply."""
    assert old in SAMPLE, old
    return SAMPLE.replace(old, new, 1).encode()


def hem(d: str) -> bytes:
    """The sample with other data in its first hem, whose id is hem7."""
    return sample(f'<path class="hem" d="{HEM}"', f'<path id="hem7" class="hem" d="{d}"')


# --- what was read -------------------------------------------------------------------------------


def drawing(path: Path, units: str | None = None, **limits: int) -> Drawing:
    """The file alone, before anything has a meaning."""
    return read_svg(path, units, Limits(**limits))


def edges(reading: Any) -> list[tuple[str, str, float]]:
    (pattern,) = reading.patterns
    return [(p.name, e.name, e.length) for p in pattern.pieces for e in p.edges]


@cache
def true_edges() -> list[tuple[str, str, float]]:
    return edges(read_block(SAMPLES / "women_overblock_38.svg"))


def same(reading: Any) -> None:
    """It is the block of the sample."""
    for mine, true in zip(edges(reading), true_edges(), strict=True):
        assert mine[:2] == true[:2]
        assert abs(mine[2] - true[2]) < 1e-4, (mine, true)


def lengths(*wanted: float, within: float = 1e-6) -> Check:
    """The strokes beside the page's own line have these lengths, mm."""

    def check(found: Drawing) -> None:
        strokes = [s for s in found.groups[0].strokes if "own" not in s.label]
        got = [s.curve.length for s in strokes]
        assert len(got) == len(wanted), got
        assert all(abs(a - b) < within for a, b in zip(got, wanted, strict=True)), got

    return check


def ends(*wanted: tuple[float, float, float, float]) -> Check:
    """The strokes beside the page's own line run from here to there, mm, y down as drawn."""

    def check(found: Drawing) -> None:
        got = [
            (*s.curve.start.tolist(), *s.curve.end.tolist())
            for s in found.groups[0].strokes
            if "own" not in s.label
        ]
        assert len(got) == len(wanted), got
        for (a, b, c, d), line in zip(got, wanted, strict=True):
            assert math.dist((a, -b, c, -d), line) < 1e-6, got

    return check


def labels(*wanted: str) -> Check:
    def check(found: Drawing) -> None:
        got = [s.label for s in found.groups[0].strokes if "own" not in s.label]
        assert got == list(wanted), got

    return check


def texts(*wanted: str) -> Check:
    def check(found: Drawing) -> None:
        assert [w.text for w in found.groups[0].words] == list(wanted)

    return check


def refused(name: str, data: Any, *words: str, **more: Any) -> Case:
    return Case(name, ".svg", data, "refused", words, **more)


def read(name: str, data: Any, check: Check = same, **more: Any) -> Case:
    """A block that is read whole."""
    return Case(name, ".svg", data, "read", check=check, **more)


def drawn(name: str, data: Any, check: Check = lengths(), **more: Any) -> Case:
    """A drawing that is read, without its meaning."""
    return Case(name, ".svg", data, "read", check=check, read=drawing, **more)


def listed(name: str, data: Any, *words: str, check: Check = lengths(), **more: Any) -> Case:
    """A drawing that is read and says what was passed over."""
    return Case(name, ".svg", data, "listed", words, check=check, read=drawing, **more)


# --- declarations, and what is outside the file --------------------------------------------------


def declarations() -> Iterator[Case]:
    def doctype(inside: str, rest: str = "") -> bytes:
        return f"<!DOCTYPE svg {inside}>\n".encode() + page(rest)

    laughs = '<!ENTITY a0 "lol">'
    for i in range(1, 10):
        ten = f"&a{i - 1};" * 10
        laughs += f'<!ENTITY a{i} "{ten}">'
    yield refused("an entity", doctype('[<!ENTITY a "b">]'), ":1:", "entity 'a'", "plain SVG")
    yield refused("a billion laughs", doctype(f"[{laughs}]", "<text>&a9;</text>"), "entity 'a0'")
    yield refused(
        "quadratic growth", doctype(f'[<!ENTITY a "{"x" * 10**6}">]', "<text>" + "&a;" * 400 + "</text>"),
        "entity 'a'",
    )  # fmt: skip
    yield refused("a parameter entity", doctype('[<!ENTITY % a "b"> %a;]'), "entity 'a'")
    yield refused(
        "an entity of a file", doctype('[<!ENTITY a SYSTEM "file:///etc/passwd">]', "<text>&a;</text>"),
        "entity 'a'",
    )  # fmt: skip
    yield refused(
        "an entity of a web page", doctype(f'[<!ENTITY a SYSTEM "{OUTSIDE}/x">]', "<text>&a;</text>"),
        "entity 'a'",
    )  # fmt: skip
    yield refused("an entity that is not declared", page("<text>&a;</text>"), "undefined entity")
    yield refused(
        "an entity in a path that only a DTD elsewhere could declare",
        doctype(f'SYSTEM "{OUTSIDE}/x.dtd"', '\n<path d="&a;"/>'), ":3:", "undefined entity",
        why="parsers put nothing in its place, without a word: the line would vanish",
    )  # fmt: skip
    yield read(
        "a bare DOCTYPE", f'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "{OUTSIDE}/x">{SAMPLE}'.encode(),
        why="most programs write one",
    )  # fmt: skip
    yield drawn("a DOCTYPE that declares elements", doctype("[<!ELEMENT a ANY>\n<!ELEMENT b ANY>]"))
    yield refused(
        "a default for all elements", doctype('[<!ATTLIST path d CDATA "M0 0L50 50">]', "<path/>"),
        "value of 'd'", why="lines that are nowhere in the drawing",
    )  # fmt: skip
    yield refused(
        "a large default for many elements",
        doctype(f'[<!ATTLIST g x CDATA "{"x" * 10**6}">]', "<g/>" * 10**5), "value of 'x'",
    )  # fmt: skip
    wide = ('<!DOCTYPE svg SYSTEM "x">\n' + SAMPLE).encode
    yield read("a DOCTYPE in UTF-16, little end first", b"\xff\xfe" + wide("utf-16-le"))
    yield read("a DOCTYPE in UTF-16, big end first", b"\xfe\xff" + wide("utf-16-be"))
    yield refused("two DOCTYPEs", b"<!DOCTYPE svg><!DOCTYPE svg>" + page(), "two DOCTYPEs")
    yield refused(
        "the line of a mistake behind a DOCTYPE of many lines",
        b"<!DOCTYPE\nsvg [\n<!ELEMENT a ANY>\n]>\n" + page('\n\n<path d="L"/>'), ":7 (path)",
        why="the DOCTYPE has four lines, the page begins on the fifth",
    )  # fmt: skip
    yield listed(
        "a style sheet elsewhere", f'<?xml-stylesheet href="{OUTSIDE}/x.css"?>'.encode() + page(),
        "1 style sheets are outside the file", "line 1", why="it may hide lines",
    )  # fmt: skip
    yield listed(
        "a style sheet that imports one", page(f'<style>@import "{OUTSIDE}/x.css"; path{{}}</style>'),
        "1 style sheets are outside the file",
    )  # fmt: skip
    yield drawn(
        "XInclude",
        page('<x:include xmlns:x="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"/>'),
        why="an element of another namespace that draws nothing",
    )
    yield listed(
        "a picture elsewhere", page(f'<image href="{OUTSIDE}/x.png"/><image xlink:href="x.svg"/>'),
        "2 image passed over: it holds no lines",
    )  # fmt: skip
    yield refused("use of a web page", page(f'<use href="{OUTSIDE}/x.svg#a"/>'), "not in the file")
    yield refused("use of another file", page('<use href="x.svg#own"/>'), "'x.svg#own'")
    yield drawn(
        "a link", page(f'<a href="javascript:alert(1)"><path d="M0 0H20"/></a><a href="{OUTSIDE}"/>'),
        lengths(20), why="a link is a group",
    )  # fmt: skip
    yield listed(
        "scripts", page('<script>alert(1)</script><g onload="alert(1)"><path onclick="x" d="M0 0H20"/></g>'),
        "1 script passed over", check=lengths(20),
    )  # fmt: skip
    yield listed(
        "a page within the drawing",
        page('<foreignObject><b xmlns="http://www.w3.org/1999/xhtml">hi</b><path d="M0 0H20"/></foreignObject>'),
        "1 path, 1 foreignObject passed over", "no shape of SVG",
    )  # fmt: skip


# --- depth and use -------------------------------------------------------------------------------


def depths() -> Iterator[Case]:
    def nested(depth: int) -> bytes:
        return page("<g>" * depth, '<path d="M0 0H20"/>', "</g>" * depth)

    yield drawn("198 groups in groups", nested(198), lengths(20))
    yield refused("199 groups in groups", nested(199), ":1", "200 levels are allowed")
    yield refused("200,000 groups in groups", lambda: nested(200_000), "200 levels")

    def chain(links: int) -> bytes:
        uses = "".join(f'<use id="u{i}" href="#u{i + 1}"/>' for i in range(links))
        return page(f'<defs>{uses}<path id="u{links}" d="M0 0H20"/></defs><use href="#u0"/>')

    yield drawn("150 uses of uses", chain(150), lengths(20))
    yield refused("5,000 uses of uses", chain(5000), "nested too deep by <use>")

    def tens(levels: int) -> bytes:
        groups = ""
        for i in range(levels):
            ten = f'<use href="#g{i + 1}"/>' * 10
            groups += f'<g id="g{i}">{ten}</g>'
        return page(f'<defs>{groups}<path id="g{levels}" d="M0 0H20"/></defs><use href="#g0"/>')

    yield refused("10^9 uses", tens(9), "too many inserts: 1000000000", "inserts allows 100000")
    yield refused("10^60 uses", tens(60), "too many inserts")
    yield drawn("111 uses", tens(2), lengths(*[20] * 100))
    yield refused(
        "a use within a use within itself", page('<use id="a" href="#a"/>'), "circle: #a -> #a"
    )
    yield refused(
        "a circle of two", page('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
        "circle: #b -> #a -> #b",
    )  # fmt: skip
    yield refused(
        "a circle through a symbol",
        page('<symbol id="s"><g><use href="#t"/></g></symbol><g id="t"><use href="#s"/></g>'),
        "circle: #s -> #t -> #s",
    )
    yield refused(
        "use of the page", f'<svg id="all" {NS} width="9mm" viewBox="0 0 9 9">{LINE}<use href="#all"/></svg>'
        .encode(), "circle: #all -> #all",
    )  # fmt: skip
    yield listed(
        "a circle that nothing draws", page('<defs><g id="a"><use href="#a"/></g></defs>'),
        "1 use passed over: in <defs>, and nothing",
    )  # fmt: skip
    yield refused("use of nothing", page('<use href="#zz"/>'), "'#zz', which is not in the file")
    yield refused("use without a target", page('<use id="u"/>'), "(use 'u')", "not in the file")
    yield refused("use of an empty name", page('<use href="#"/>'), "'#'", "not in the file")
    yield refused(
        "use of a name that two have", page('<path id="a" d="M0 0H5"/><path id="a" d="M0 0H6"/><use href="#a"/>'),
        "'#a', which 2 elements are called", why="nobody can say which is meant",
    )  # fmt: skip
    yield listed(
        "use of what is hidden", page('<path id="a" display="none" d="M0 0H5"/><use href="#a"/>'),
        "1 path passed over: hidden",
    )  # fmt: skip
    yield drawn(
        "use of a gradient",
        page('<linearGradient id="a"/><use href="#a"/>'),
        why="it draws nothing",
    )
    yield drawn(
        "use moves by x and y after its transform",
        page('<defs><path id="p" d="M1 2H3"/></defs><use href="#p" x="10" y="20" transform="scale(2)"/>'),
        ends((22, 44, 26, 44)), why="SVG 1.1, 5.6: the translation is added to the end of the transforms",
    )  # fmt: skip
    yield drawn(
        "href before xlink:href", page('<defs><path id="p" d="M0 0H9"/></defs><use xlink:href="#zz" href="#p"/>'),
        ends((0, 0, 9, 0)), why="SVG 2, 16.1.5: href wins",
    )  # fmt: skip


# --- the page ------------------------------------------------------------------------------------


def pages() -> Iterator[Case]:
    def sized(attributes: str) -> bytes:
        return f'<svg {NS} {attributes}><path d="M10 10H90"/></svg>'.encode()

    box = 'viewBox="0 0 100 100"'
    for name, attributes, *words in (
        ("no size", box, "no physical size", "units: mm"),
        ("size in per cent", f'width="100%" height="100%" {box}', "no physical size"),
        ("size in pixels", f'width="100px" height="100px" {box}', "no physical size"),
        ("size without unit", f'width="100" height="100" {box}', "no physical size"),
        ("no width", f'width="0mm" height="100mm" {box}', "width '0mm'", "positive length"),
        ("negative width", f'width="-5mm" height="100mm" {box}', "width '-5mm'", "positive length"),
        ("width not a number", f'width="nanmm" height="100mm" {box}', "'nanmm' is no length"),
        ("infinite width", f'width="1e999mm" height="100mm" {box}', "1e999"),
        ("unknown unit", f'width="10furlong" height="100mm" {box}', "furlong", "mm, cm or in"),
        ("unit of type", f'width="10em" height="100mm" {box}', "10em", "mm, cm or in"),
        ("two numbers", f'width="10 0mm" height="100mm" {box}', "'10 0mm' is no length"),
        ("empty width", f'width="" height="100mm" {box}', "'' is no length"),
        ("a long width", f'width="{"1" * 10**6}mm" height="100mm" {box}', "is no length"),
        ("two scales", f'width="100mm" height="200mm" {box}', "1 across and 2 down", "one scale"),
        ("empty viewBox", 'width="100mm" height="100mm" viewBox=""', "viewBox ''", "four numbers"),
        ("three numbers", 'width="100mm" viewBox="0 0 100"', "viewBox", "four numbers"),
        ("five numbers", 'width="100mm" viewBox="0 0 100 100 100"', "viewBox", "four numbers"),
        ("flat viewBox", 'width="100mm" height="100mm" viewBox="0 0 100 0"', "two positive"),
        ("negative viewBox", 'width="100mm" height="100mm" viewBox="0 0 -1 -1"', "two positive"),
        ("viewBox not numbers", 'width="100mm" viewBox="0 0 nan 9"', "'nan 9' at character 5"),
        ("viewBox of words", 'width="100mm" viewBox="all of it"', "'all of i' at character 1"),
        ("infinite viewBox", 'width="9mm" viewBox="0 0 1e999 1"', "1e999 at character 5"),
        ("tiny viewBox", 'width="9mm" viewBox="0 0 1e-320 1e-320"', "one unit"),
        ("a viewBox without end", f'width="9mm" viewBox="{"1 " * 10**6}"', "viewBox of 2000000"),
    ):
        yield refused(f"page: {name}", sized(attributes), ":1 (svg)", *words)
    for name, attributes, length in (
        ("height alone", f'height="100mm" {box}', 80),
        ("width alone, in inches", f'width="1in" {box}', 80 * 0.254),
        ("pixels of 96 to the inch where there is no viewBox", 'width="100mm"', 80 * 25.4 / 96),
        ("an exponent", f'width="1e2mm" {box}', 80),
        ("quarter millimetres", f'width="400Q" {box}', 80),
    ):
        yield drawn(f"page: {name}", sized(attributes), lengths(length))
    yield Case(
        "page: units given where there is no size", ".svg", sized(box), "read", check=lengths(800),
        read=partial(drawing, units="cm"),
    )  # fmt: skip
    yield refused(
        "an inner drawing with two scales",
        page('<svg width="10" height="20" viewBox="0 0 10 10"><path d="M0 0H9"/></svg>'), "one scale for both",
    )  # fmt: skip
    yield refused(
        "an inner drawing without a size", page('<svg viewBox="0 0 10 10"><path d="M0 0H9"/></svg>'),
        "no width and height",
    )  # fmt: skip
    yield drawn(
        "an inner drawing with its own units",
        page('<svg x="5" y="6" width="10" height="20" viewBox="1 1 5 10"><path d="M1 1H6"/></svg>'),
        ends((5, 6, 15, 6)),
    )


# --- paths ---------------------------------------------------------------------------------------


def paths() -> Iterator[Case]:
    """Refused with the id of the path and the character of its data at which it goes wrong."""
    for name, d, at, *words in (
        ("not a number", f"{START} Lnan,3", "nan", "is no number"),
        ("infinite", f"{START} Linf,3", "inf", "is no number"),
        ("beyond any number", f"{START} L1e999,3", "1e999", "beyond"),
        ("far too large", f"{START} L1e300,3", "1e300", "beyond"),
        ("an unknown command", f"{START} X580", "X580", "is no number"),
        ("a command of Cyrillic", f"{START} \u0421 1 1 2 2 3 3", "\u0421", "is no number"),
        ("a long s", f"{START} \u017f 1 1 2 2", "\u017f", "is no number"),
        ("no moveto", "L580,783", "L580", "is no command here"),
        ("a number first", "580,783", "580", "is no command here"),
        ("a comma first", "M,5 5", ",", "is no number"),
        ("two commas", f"{START} L5,,6", ",6", "is no number"),
        ("underscore in a number", f"{START} L1_000,6", "_000", "is no number"),
        ("hexadecimal", f"{START} L0x10,6", "x10", "is no number"),
        ("Arabic digits", f"{START} L\u0661,6", "\u0661", "is no number"),
        ("full-width digits", f"{START} L\uff11,6", "\uff11", "is no number"),
        ("a minus of type", f"{START} L\u22125,6", "\u22125", "is no number"),
        ("two signs", f"{START} L--5,6", "--5", "is no number"),
        ("a sign alone", f"{START} L-,6", "-,6", "is no number"),
        ("a point alone", f"{START} L.,6", ".,6", "is no number"),
        ("an exponent without digits", f"{START} L5e,6", "e,6", "is no number"),
        ("a blank that is none", f"{START} L5\u00a06", "\u00a06", "is no number"),
        ("half a pair", f"{START} L5,5 6", "", "'L' wants 2 numbers; there are 1"),
        ("half a curve", f"{START} C1 1 2 2 3", "", "'C' wants 6 numbers; there are 5"),
        ("half a smooth curve", f"{START} S1 1 2", "", "'S' wants 4 numbers; there are 3"),
        ("half a quadratic", f"{START} Q1 1 2 Z", "Z", "'Q' wants 4 numbers; there are 3"),
        ("half an arc", f"{START} A1 1 0 0 1 5", "", "'A' wants 7 numbers; there are 6"),
        ("a line of nothing", f"{START} L Z", "Z", "'L' wants 2 numbers; there are 0"),
        ("a level of nothing", f"{START} H", "", "'H' wants 1 numbers; there are 0"),
        ("numbers after closing", f"{START} L5 5 Z 7 7", "7 7", "is no command here"),
        ("arc flag 2", f"{START} A1 1 0 2 1 580 783", "2 1 580", "an arc flag", "neither 0 nor 1"),
        ("arc flag 0.5", f"{START} A1 1 0 0.5 1 580 783", ".5", "an arc flag"),
        ("a number of a million digits", f"{START} L{'1' * 10**6},5", "1" * 30, "beyond"),
        ("a million blanks and a mistake", f"{START}{' ' * 10**6}?", "?", "is no"),
    ):
        where = d.index(at, len(START) if d.startswith(START) else 0) if at else len(d)
        yield refused(f"path: {name}", hem(d), "(path 'hem7')", f"character {where + 1}", *words)
    yield from arcs()
    yield from spellings()


def arcs() -> Iterator[Case]:
    yield read(
        "an arc without radius is a line", hem(f"{START} A 0 9 0 0 1 580 784.042644"),
        why="SVG 1.1, F.6.2",
    )  # fmt: skip
    yield read(
        "an arc to where it is", hem(f"{START} A 5 5 0 0 1 322.25 784.042644 L580 784.042644"),
        why="SVG 1.1, F.6.2: it is left out",
    )  # fmt: skip
    for name, d, length in (
        ("half a circle", "M0 0A10 10 0 0 1 20 0", math.pi * 10),
        ("negative radii", "M0 0A-10 -10 0 0 1 20 0", math.pi * 10),
        ("radii that do not reach", "M0 0A1 1 0 0 1 20 0", math.pi * 10),
        ("the larger part", "M0 0A10 10 0 1 1 10 10", 1.5 * math.pi * 10),
        ("flags without blanks", "M0 0a10 10 0 0110 10", 0.5 * math.pi * 10),
        ("flags with commas", "M0 0a10,10,0,0,1,10,10", 0.5 * math.pi * 10),
        ("turned beyond a circle", "M0 0A10 10 1e6 0 1 20 0", math.pi * 10),
        ("a radius of 10 m over 1 mm", "M0 0A10000 10000 0 0 1 1 0", 20000 * math.asin(1 / 20000)),
    ):
        yield drawn(f"arc: {name}", page(f'<path d="{d}"/>'), lengths(length, within=1e-4))
    yield refused(
        "arc: radii out of proportion", page('<path id="a" d="M0 0A1e-300 9 0 0 1 20 0"/>'), "(path 'a')",
        "out of all proportion",
    )  # fmt: skip
    yield refused("arc: beyond 100 m", page('<path d="M0 0A9e8 9e8 0 1 1 1 0"/>'), "beyond 100 m")


def spellings() -> Iterator[Case]:
    """Spellings that are odd and right."""
    for name, d in (
        ("numbers without blanks", "M322.25.0m0 784.042644L580.000000,784.042644"),
        ("signs as separators", "M322.25 784.042644h+257.75-0"),
        ("exponents", "M3.2225e2,7.84042644E+2 L5.8e+02,784042644e-6"),
        ("a comma at the end", f"{HEM},"),
        ("tabs and line ends", HEM.replace(" ", "&#9;&#10;&#13;")),
        ("a point after the number", "M322.25,784.042644 L580.,784.042644"),
        ("an empty subpath behind", f"{HEM} M0 0"),
        ("moves alone before", f"M1 1 M2 2 m3 3 {HEM}"),
        ("segments without length", f"{HEM} L580,784.042644 l0 0 h0 v0 c0 0 0 0 0 0 t0 0"),
        ("relative", "m322.25,784.042644 l257.75,0"),
        ("implicit lines", "M322.25,784.042644 450,784.042644 580,784.042644"),
    ):
        yield read(f"path: {name}", hem(d))
    for name, d, *wanted in (
        ("smooth after a line", "M0 0L10 0S20 10 30 0", (0, 0, 30, 0)),
        ("closed twice", "M0 0H9V9zz", (0, 0, 0, 0)),
        ("going on from where it closed", "M5 5H9V9zL7 5", (5, 5, 5, 5), (5, 5, 7, 5)),
        ("relative to where it closed", "M5 5H9V9zm1 1h3", (5, 5, 5, 5), (6, 6, 9, 6)),
        ("subpaths that meet", "M0 0H5M5 0H9", (0, 0, 5, 0), (5, 0, 9, 0)),
    ):
        yield drawn(f"path: {name}", page(f'<path d="{d}"/>'), ends(*wanted))
    for name, path in (
        ("no data", "<path/>"), ("empty data", '<path d=" "/>'), ("a move alone", '<path d="M5 5"/>'),
        ("a move and a close", '<path d="M5 5z"/>'), ("a million blanks", f'<path d="{" " * 10**6}"/>'),
        ("a line to where it is", '<path d="M5 5L5 5"/>'),
    ):  # fmt: skip
        yield listed(f"path: {name}", page(path), "1 path passed over: without length")


# --- transforms ----------------------------------------------------------------------------------


def transforms() -> Iterator[Case]:
    def moved(transform: str) -> bytes:
        return page(f'<g id="own-g" transform="{transform}">', '<path id="p" d="M1 2L3 2"/></g>')

    for name, text, *words in (
        ("zero scale", "scale(0)", "flattens"),
        ("a scale that flattens", "scale(1 0)", "flattens"),
        ("a singular matrix", "matrix(1 2 2 4 0 0)", "flattens"),
        ("nearly singular", "matrix(1 1 1 1.0000000001 0 0)", "flattens"),
        ("skewed by 90 degrees", "skewX(90)", "flattens"),
        ("skewed by -90 degrees", "skewY(-90)", "flattens"),
        ("not a number", "scale(nan)", "'nan' at character 1"),
        ("beyond any number", "translate(1e999)", "1e999"),
        ("blown up", "scale(1e7)", "flattens the drawing or blows it up"),
        ("not closed", "scale(2", "'scale(2' at character 1"),
        ("unknown", "rot(3)", "'rot(3)' at character 1"),
        ("too few numbers", "matrix(1 2 3)", "has 3 numbers"),
        ("too many numbers", "rotate(1 2 3 4)", "has 4 numbers"),
        ("no number", "rotate()", "has 0 numbers"),
        ("something behind", "scale(2) or so", "'or so' at character 10"),
        ("two commas", "scale(2),,scale(2)", "',scale(2)' at character 10"),
        ("3D", "rotate3d(1,1,1,45deg)", "'rotate3d"),
        ("a million blanks and a mistake", " " * 10**6 + "x", "a transform of 1000001"),
        ("units", "translate(5mm)", "'mm' at character 2"),
    ):
        yield refused(f"transform: {name}", moved(text), "(g 'own-g')", *words)
    yield refused(
        "transform: blown up by many groups", page('<g transform="scale(1e5)">' * 60, LINE, "</g>" * 60),
        "blow the drawing up",
    )  # fmt: skip
    yield listed(
        "transform: made too small by many groups",
        page('<g transform="scale(1e-3)">' * 4, '<path d="M0 0H9"/>', "</g>" * 4),
        "1 path passed over: without length",
    )
    yield refused(
        "transform: beyond 100 m", page('<path id="p" transform="translate(1e6)" d="M0 0H9"/>'),
        "(path 'p')", "beyond 100 m",
    )  # fmt: skip
    for name, text, *wanted in (
        ("none", "", 1, 2, 3, 2),
        ("all of them", "translate(10) scale(2 3)", 12, 6, 16, 6),
        ("mirrored", "scale(-1 1)", -1, 2, -3, 2),
        ("about a point", "rotate(90 1 2)", 1, 2, 1, 4),
        ("skewed", "skewX(45)", 3, 2, 5, 2),
        ("commas between", "translate(1,1),translate(1,1)", 3, 4, 5, 4),
        ("no blanks between", "translate(1 1)translate(1 1)", 3, 4, 5, 4),
    ):
        yield drawn(f"transform: {name}", moved(text), _moved_ends(*wanted))


def _moved_ends(*wanted: float) -> Check:
    def check(found: Drawing) -> None:
        (_, moved) = found.groups[0].strokes
        a, b, c, d = (*moved.curve.start.tolist(), *moved.curve.end.tolist())
        assert math.dist((a, -b, c, -d), wanted) < 1e-6, (a, b, c, d)

    return check


# --- shapes --------------------------------------------------------------------------------------


def shapes() -> Iterator[Case]:
    for name, shape, *words in (
        ("negative width", '<rect id="s" width="-5" height="5"/>', "width '-5' is negative"),
        ("negative radius", '<circle id="s" r="-5"/>', "r '-5' is negative"),
        ("negative half axis", '<ellipse id="s" rx="-5" ry="5"/>', "rx '-5' is negative"),
        ("width in per cent", '<rect id="s" width="50%" height="5"/>', "'50%'", "units are"),
        ("not a number", '<line id="s" x1="nan" x2="5"/>', "x1 'nan' is no length"),
        ("beyond any number", '<line id="s" x1="1e999" x2="5"/>', "1e999"),
        ("beyond 100 m", '<line id="s" x2="1e6"/>', "beyond 100 m"),
        ("an odd count", '<polyline id="s" points="1 2 3"/>', "3 numbers", "in pairs"),
        ("points not numbers", '<polygon id="s" points="1 2 3 x"/>', "'x' at character 7"),
        ("a mark beyond 100 m", '<circle id="s" cx="1e7" r="1"/>', "beyond 100 m"),
        ("a text beyond 100 m", '<text id="s" x="1e7">38</text>', "beyond 100 m"),
    ):
        yield refused(f"shape: {name}", page(shape), "'s')", *words)
    for name, shape in (
        ("rect", '<rect width="0" height="5"/>'), ("rect", '<rect x="4" y="4"/>'),
        ("ellipse", '<ellipse rx="0" ry="5"/>'), ("line", "<line/>"),
        ("line", '<line x1="5" x2="5"/>'), ("polyline", "<polyline/>"),
        ("polyline", '<polyline points=" 5,5 "/>'), ("polygon", '<polygon points="5,5 5,5 5,5"/>'),
    ):  # fmt: skip
        yield listed(
            f"shape: no extent, {shape}", page(shape), f"1 {name} passed over: without length"
        )
    quarter = 0.5 * math.pi
    for name, shape, length in (
        ("a line", '<line x1="1" y1="1" x2="4" y2="5"/>', 5),
        ("coordinates in mm", f'<line x2="{25.4 / 96}mm"/>', 1),
        ("a rectangle", '<rect x="1" y="1" width="20" height="10"/>', 60),
        ("rounded corners", '<rect width="20" height="10" rx="2"/>', 60 - 16 + 4 * 2 * quarter),
        ("rounded by ry alone", '<rect width="20" height="10" ry="2"/>', 60 - 16 + 4 * 2 * quarter),
        ("rounded to a stadium", '<rect width="20" height="10" rx="99" ry="5"/>', None),
        ("a circle drawn as outline", '<circle class="outline" r="5"/>', 10 * math.pi),
        ("an ellipse that is a circle", '<ellipse rx="5"/>', 10 * math.pi),
        ("a polygon that closes itself", '<polygon points="0,0 3,0 3,4 0,0"/>', 12),
        ("a polygon that is closed for it", '<polygon points="0,0 3,0 3,4"/>', 12),
        ("points that stand twice", '<polyline points="0,0 0,0 3,0 3,0 3,4 3,4,"/>', 7),
    ):
        check = lengths(length, within=1e-4) if length else lengths(_ellipse(10, 5), within=1e-3)
        yield drawn(f"shape: {name}", page(shape), check)
    yield drawn(
        "texts with places for letters", page('<text x="1 2,3" y="5">38</text>'), texts("38")
    )
    yield drawn(
        "texts in parts", page("<text>SIZE <tspan x='1'>3<tspan>8</tspan></tspan>\n F<title>no</title></text>"),
        texts("SIZE 38 F"),
    )  # fmt: skip
    yield listed("a text of blanks", page("<text> \n </text>"), "1 text passed over: without words")


def _ellipse(a: float, b: float) -> float:
    """Circumference by Ramanujan's second formula; to 1e-5 here."""
    h = ((a - b) / (a + b)) ** 2
    return math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))


# --- where things stand --------------------------------------------------------------------------


def places() -> Iterator[Case]:
    inside = '<path d="M0 0H20"/><text>x</text>'
    for tag in ("defs", "clipPath", "mask", "symbol", "pattern", "marker"):
        yield listed(
            f"in <{tag}>", page(f"<{tag}>{inside}</{tag}>"), f"1 path, 1 text passed over: in <{tag}>, and nothing",
            why="it is not seen where it stands",
        )  # fmt: skip
    for name, hidden in (
        ("by attribute", f'<g display="none">{inside}</g>'),
        ("by style", f'<g style="fill:red; DISPLAY : none ;">{inside}</g>'),
        ("by class", f'<style>.h{{display:none}}</style><g class="x h">{inside}</g>'),
        ("by id", f'<style>#h , q {{ display : none }}</style><g id="h">{inside}</g>'),
        (
            "by tag and class",
            f'<style>g.h{{fill:red;display:none}}</style><g class="h">{inside}</g>',
        ),
        ("by everything", f"<style>text,*{{display:none}} #own{{display:inline}}</style>{inside}"),
        (
            "by importance",
            f'<style>g{{display:none!important}}</style><g style="display:inline">{inside}</g>',
        ),
        ("after a comment", f"<style>/* }} */ /* g */g{{display:none}}</style><g>{inside}</g>"),
        ("by CDATA", f"<style><![CDATA[g{{display:none}}]]></style><g>{inside}</g>"),
        ("in a use", f'<g id="t" display="none">{inside}</g><use href="#t"/>'),
    ):
        yield listed(f"hidden {name}", page(hidden), "1 path, 1 text passed over: hidden")
    for name, shown in (
        (
            "by style over a class",
            '<style>.h{display:none}</style><path class="h" style="display:inline"',
        ),
        (
            "by id over a class",
            '<style>#p{display:inline}.h{display:none}</style><path id="p" class="h"',
        ),
        ("by the later rule", '<style>.h{display:none}.h{display:inline}</style><path class="h"'),
        ("by style over an attribute", '<path display="none" style="display:inline"'),
        ("by a rule over an attribute", '<style>path{display:inline}</style><path display="none"'),
        ("as the rule is a comment", "<style>/* path{display:none} */</style><path"),
        ("as it is no display", '<path style="-x-display:none;a:display:none"'),
    ):
        yield drawn(f"shown {name}", page(f'{shown} d="M0 0H20"/>'), lengths(20))
    for selector in ("g > .h", "g .h", ".h:hover", "[x]", "@media print{.h"):
        end = "}" if "{" in selector else ""
        yield listed(
            f"a rule by {selector!r}",
            page(f'<style>{selector.replace(">", "&gt;")}{{display:none}}{end}</style><path class="h" d="M0 0H20"/>'),
            "1 selectors of style sheets", "not understood", "line 1", check=lengths(20),
            why="it may hide the line or not; the reader must say that it does not know",
        )  # fmt: skip
    foreign = '<x:path xmlns:x="urn:notes" d="M0 0H20"/><x:g xmlns:x="urn:notes"><path d="M0 0H30"/></x:g>'
    yield listed(
        "of another namespace", page(foreign), "2 path passed over: of another namespace than SVG"
    )
    yield listed("in <metadata>", page(f"<metadata>{inside}</metadata>"), "inside <metadata>")
    yield listed("in a path", page('<path d="M0 0H20"><path d="M0 0H5"/></path>'), "1 path passed over: inside <path>",
                 check=lengths(20))  # fmt: skip
    yield listed(
        "of no known kind", page(f"<flowRoot>{inside}</flowRoot><hatch/>"),
        "1 path, 1 text, 1 flowRoot, 1 hatch passed over: no shape of SVG",
    )  # fmt: skip
    yield listed(
        "of many unknown kinds",
        page("".join(f"<k{i}{'x' * 1000}/>" for i in range(1000))),
        "passed over: no shape",
    )
    yield listed("150,000 hidden lines", lambda: page('<g display="none">' + "<path/>" * 150_000 + "</g>"),
                 "150000 path passed over: hidden")  # fmt: skip
    yield drawn("in a link, a switch and an inner drawing", page(
        '<a><path d="M0 0H20"/></a><switch><path d="M0 0H21"/></switch><svg><path d="M0 0H22"/></svg>'
    ), lengths(20, 21, 22))  # fmt: skip


def styles() -> Iterator[Case]:
    """Style sheets that take a bad pattern for ever."""
    for name, text in (
        ("a million letters", "a" * 10**6),
        ("a million openings of comments", "/*" * 10**6),
        ("a million openings of rules", "a{" * 10**6),
        ("a million displays", "a{" + "display:" * 10**6 + "}"),
        ("a million ends of rules", "}" * 10**6),
        ("100,000 rules", "".join(f".a{i}{{display:none}}" for i in range(10**5))),
    ):
        yield drawn(f"style sheet: {name}", page(f"<style>{text}</style>"))
    yield listed(
        "style sheet: 100,000 rules that are not understood",
        page("<style>" + "a b{display:none}" * 10**5 + "</style>"), "100000 selectors",
    )  # fmt: skip


# --- sizes ---------------------------------------------------------------------------------------


def sizes() -> Iterator[Case]:
    """One at each limit, one beyond it; the limits are set small."""

    def limited(name: str, value: int, at: Any, beyond: Any, says: str) -> Iterator[Case]:
        small = partial(drawing, **{name: value})
        yield Case(f"at the limit of {name}", ".svg", at, "read", read=small)
        yield Case(
            f"beyond the limit of {name}", ".svg", beyond, "refused",
            (says, f"limits: {name} allows {value}", "under limits: in the library"), read=small,
        )  # fmt: skip

    def filled(size: int) -> bytes:
        return page().ljust(size)

    yield from limited("file_mb", 2, filled(2 << 20), filled((2 << 20) + 1), "the file has 3 MB")
    yield from limited(
        "elements", 12, page("<g/>" * 10), page("<g/>" * 11), "too many elements: 13"
    )
    use = '<g id="g"><path d="M0 0H5"/><path d="M0 0H5"/></g>' + '<use href="#g"/>' * 5
    yield from limited(
        "inserts", 15, page(use), page(use, '<use href="#g"/>'), "too many inserts: 18"
    )
    eight = '<path d="M0 0h1h1h1h1h1h1h1h1"/>'  # the page's own line and both moves are counted too
    yield from limited("points", 11, page(eight), page(eight, "<line/>"), "too many points: 12")
    yield Case(
        "beyond the limit of points by uses", ".svg",
        page('<path id="a" d="M0 0h1h1h1h1h1"/>', '<use href="#a"/>' * 10), "refused",
        "limits: points allows 50", read=partial(drawing, points=50),
    )  # fmt: skip
    yield Case(
        "beyond the limit of points by arcs", ".svg", page('<path d="M0 0' + "a5 5 0 0 1 5 5" * 4 + '"/>'),
        "refused", "limits: points allows 50", read=partial(drawing, points=50),
    )  # fmt: skip
    yield Case(
        "beyond the limit of points by a polyline", ".svg", page(f'<polyline points="{"1 2 " * 99}"/>'),
        "refused", "limits: points allows 50", read=partial(drawing, points=50),
    )  # fmt: skip
    yield refused(
        "beyond 64 MB", lambda: filled((64 << 20) + 1), "the file has 65 MB", "file_mb allows 64"
    )
    yield refused(
        "beyond 1,000,000 points", lambda: page(f'<path id="a" d="M0 0{"h1" * 10**6}"/>'),
        "(path 'a')", "points allows 1000000", seconds=20,
    )  # fmt: skip
    yield refused(
        "beyond 200,000 elements", lambda: page("<g/>" * 200_000), "elements allows 200000"
    )
    yield drawn(
        "8 MB of path in 500,000 segments", lambda: page(f'<path d="M0 0{"l.010000 0.00000" * 500_000}"/>'),
        _one_of(500_000), seconds=20,
        why="the parser of XML must not read what came before again with each piece",
    )  # fmt: skip
    yield drawn("a comment of 60 MB", lambda: page("<!--" + "x" * (60 << 20) + "-->"), seconds=20)
    yield drawn("an attribute of 40 MB", lambda: page(f'<g x="{"x" * (40 << 20)}"/>'), seconds=20)
    yield drawn(
        "20 MB of line ends in a text",
        lambda: page("<desc>" + "\n" * (20 << 20) + "</desc>"),
        seconds=20,
    )
    yield drawn(
        "100,000 attributes",
        lambda: page("<g " + " ".join(f'a{i}=""' for i in range(10**5)) + "/>"),
    )
    yield drawn(
        "100,000 namespaces",
        lambda: page("<g " + " ".join(f'xmlns:a{i}="u{i}"' for i in range(10**5)) + "/>"),
    )


def _one_of(segments: int) -> Check:
    def check(found: Drawing) -> None:
        assert len(found.groups[0].strokes[-1].curve.controls) == segments

    return check


# --- what is no SVG ------------------------------------------------------------------------------


def files() -> Iterator[Case]:
    for name, data, *words in (
        ("an empty file", b"", "it is empty"),
        ("blanks", b" \n\t" * 9, "it is empty"),
        ("a compressed drawing", gzip.compress(SAMPLE.encode()), "compressed (.svgz)", "plain SVG"),
        ("a PNG", b"\x89PNG\r\n\x1a\n" + bytes(99), "PNG picture"),
        ("a JPEG", b"\xff\xd8\xff\xe0" + bytes(99), "JPEG picture"),
        ("a PDF", b"%PDF-1.7\n%\xe2\xe3", "a PDF"),
        ("a zip archive", b"PK\x03\x04" + bytes(99), "a zip archive"),
        ("a DXF", b"  0\r\nSECTION\r\n  2\r\n", "a DXF"),
        ("a DWG", b"AC1032" + bytes(99), "a DWG"),
        (
            "a note of Git LFS",
            b"version https://git-lfs.github.com/spec/v1\noid sha256:0",
            "Git LFS",
        ),
        ("a web page", b"<!DOCTYPE HTML>\n<html><svg/></html>", "a web page"),
        (
            "a web page in XML",
            b'<html xmlns="http://www.w3.org/1999/xhtml"/>',
            "'html' of",
            "xhtml",
        ),
        ("words", b"a drawing", "not an SVG file"),
        ("another root", b'<drawing><path d="M0 0L9 9"/></drawing>', "its root is drawing"),
        (
            "another namespace",
            PAGE.replace("2000/svg", "2000/svx").encode() + b"</svg>",
            "2000/svx'",
        ),
        ("a byte of zero", page().replace(b"own", b"o\0n"), "not an SVG file", ":1:"),
        ("a number of zero", page('<path id="a&#0;"/>'), "not an SVG file"),
        ("a control character", page('<path id="a&#1;"/>'), "not an SVG file"),
        ("a lone surrogate", page('<path id="a&#xD800;"/>'), "not an SVG file"),
        ("two roots", page() + page(), "junk after document element"),
        ("crossed elements", page("<g><a></g></a>"), "mismatched tag"),
        ("an attribute twice", page('<path d="M0 0H5" d="M0 0H9"/>'), "duplicate attribute"),
        ("a prefix of nothing", page("<zz:path/>"), "unbound prefix"),
        ("no end", page()[:-6], "no element found"),
        (
            "UTF-16 that is not",
            b'<?xml version="1.0" encoding="UTF-16"?>' + page(),
            "not an SVG file",
        ),
        (
            "Latin-1 that says nothing",
            page("<text>\u00e9</text>").decode().encode("latin-1"),
            "invalid token",
        ),
        ("an unknown encoding", b'<?xml version="1.0" encoding="klingon"?>' + page(), "encoding"),
        (
            "an encoding of many bytes",
            b'<?xml version="1.0" encoding="shift_jis"?>' + page(),
            "UTF-8",
        ),
        ("an encoding that is none", b'<?xml version="1.0" encoding="rot13"?>' + page(), "rot13"),
    ):
        yield refused(f"file: {name}", data, *words)
    for name, data in (
        ("a byte order mark", b"\xef\xbb\xbf" + SAMPLE.encode()),
        ("UTF-16, little end first", SAMPLE.encode("utf-16")),
        ("UTF-16, big end first", b"\xfe\xff" + SAMPLE.encode("utf-16-be")),
        ("Windows' code page", b'<?xml version="1.0" encoding="windows-1252"?><!-- \x93 -->' + SAMPLE.encode()),
        ("XML 9.9", b'<?xml version="9.9"?>' + SAMPLE.encode()),
        ("no namespace", SAMPLE.replace(f" {NS}", "").encode()),
        ("a prefix", re.sub(r"<(/?)(\w)", r"<\1s:\2", SAMPLE).replace("xmlns=", "xmlns:s=").encode()),
        ("lines that end in CR", SAMPLE.replace("\n", "\r").encode()),
        ("comments everywhere", SAMPLE.replace("\n", "<!-- <path/> & -->\n").encode()),
        ("a picture in it", sample("</svg>", f'<image href="data:image/png;base64,{"A" * 10**6}"/></svg>')),
    ):  # fmt: skip
        yield read(f"file: {name}", data)
    for i in range(1, 21):
        end = len(SAMPLE) * i // 21
        yield refused(
            f"cut off after {i} of 21 parts", SAMPLE[:end].encode(), "not an SVG file", ":"
        )


# --- names ---------------------------------------------------------------------------------------

BIDI = "\u202eedils\u202c\u2066"
NAMES = {
    "turned": BIDI, "markup": "&lt;script>alert(1)&lt;/script>", "a formula": "=cmd|' /C calc'!A0",
    "quotes": "a&quot;b'c`d", "line ends": "a&#10;b&#13;c&#9;d", "no characters": "\u200b\ufeff\u2028",
    "a traversal": "../../etc/passwd", "of Python": "{x.__class__} %s %(a)s ${HOME}",
    "an emoji": "\U0001f457" * 20, "a private character": "\ue000\U000f0000",
}  # fmt: skip


def names() -> Iterator[Case]:
    for what, name in NAMES.items():
        yield read(
            f"a line called {what}",
            sample("</svg>", f'<path id="{name}" class="{name}" d="M0 0L9 9"/></svg>'),
            why="a name is text; the line is of no piece and is said to be ignored",
        )
        yield refused(
            f"a mistake in what is called {what}", page(f'<path id="{name}" d="L"/>'), "is no command here",
            why="and the message stays one line that prints",
        )  # fmt: skip
        yield Case(
            f"an edge called {what}", ".svg", sample('class="shoulder" d="M509', f'class="{name}" d="M509'),
            "refused", "front", error=LabelError, why="the front has no shoulder then",
        )  # fmt: skip
        yield read(f"a size called {what}", sample('data-size="38"', f'data-size="{name}"'), _sized)
    for name, part in (
        ("id", 'id="{}"'),
        ("class", 'class="{}"'),
        ("class of a group", 'class="{}"'),
    ):
        said = part.format("x" * 61440)
        element = (
            f'<g {said}><path d="M0 0H5"/></g>' if "group" in name else f'<path {said} d="M0 0H5"/>'
        )
        yield refused(f"60 kB of {name}", page(element), "characters; 2000 are allowed")
    yield refused(
        "labels that grow with each group",
        lambda: page("".join(f'<g id="{"x" * 900}{i}">' for i in range(150)), "<path/>" * 10**4, "</g>" * 150),
        "2000 are allowed",
    )  # fmt: skip
    yield drawn(
        "2,000 classes of a letter", page(f'<path class="{"x " * 900}" d="M0 0H20"/>'), lengths(20)
    )
    yield refused("a tag of 60 kB", page(f"<{'x' * 61440} d='", "'>"), "mismatched tag")
    yield listed("an unknown tag of 60 kB", page(f"<{'x' * 61440}/>"), "passed over")
    yield read(
        "data of ours of 60 kB", sample('class="hem"', f'data-edge="{"x" * 61440}" class="hem"')
    )
    yield read(
        "data of ours that are turned", sample('class="hem"', f'data-edge="{BIDI}" class="hem"')
    )
    yield drawn(
        "what is not meant for SVG",
        page('<path xmlns:x="urn:x" x:d="M0 0H99" x:id="y" d="M0 0H20" x:style="display:none"/>'),
        labels(" / "), why="attributes of other namespaces are other programs' notes",
    )  # fmt: skip
    yield Case("two groups called front", ".svg", sample('<g id="back">', '<g id="front">'), "refused",
               "front", error=LabelError)  # fmt: skip
    yield read(
        "one id twice, of nothing that matters",
        sample("</svg>", '<path id="a"/><path id="a"/></svg>'),
    )


def _sized(reading: Any) -> None:
    same(reading)
    assert reading.patterns[0].size


# --- no piece ------------------------------------------------------------------------------------


def nothing() -> Iterator[Case]:
    for name, inside in (
        ("empty page", ""), ("text alone", "<text>front</text>"), ("hidden lines", f'<g display="none">{LINE}</g>'),
        ("lines in defs", f"<defs>{LINE}</defs>"), ("a picture", '<image href="data:image/png;base64,AAAA"/>'),
        ("points alone", '<circle class="notch" r="1"/>'), ("lines without length", '<path d="M5 5z"/>'),
    ):  # fmt: skip
        yield refused(f"no piece: {name}", bare(inside), "there is no line in it, so no piece")
    yield Case(
        "no piece: a line alone", ".svg", page(), "refused", "no closed outline", error=LabelError
    )


# --- all that draws ------------------------------------------------------------------------------


def bombs() -> Iterator[Case]:
    """Much that is drawn: what follows the reader must not take for ever either."""
    yield Case(
        "5,000 loose lines", ".svg",
        lambda: bare(*(f'<path d="M{i % 70} {i // 70}h.5"/>' for i in range(5000))), "refused",
        "no closed outline", error=LabelError, seconds=10,
    )  # fmt: skip
    yield Case(
        "an outline of 8,000 points that crosses itself", ".svg",
        lambda: bare(f'<polygon points="{" ".join(f"{i * 7919 % 100},{i * 104729 % 97}" for i in range(8000))}"/>'),
        "refused", "", error=LabelError, seconds=20,
    )  # fmt: skip


# --- finished patterns ---------------------------------------------------------------------------


@cache
def finished() -> str:
    """A file that this program wrote."""
    from samples_of_ours import from_svg, recipe
    from sleevewright.pipeline.convert import convert
    from sleevewright.writing import FORMATS

    return FORMATS["svg"](convert(from_svg("child_block")[0], recipe("shirt-sleeve"))).decode()


def finished_patterns() -> Iterator[Case]:
    """What says that it is ours, and is not as we write it."""
    text = finished()
    note = re.search(r'id="seams">([^<]*)<', text)[1]
    edge = re.search(r'<path class="sew[^>]*>', text)[0]
    d = re.search(r' d="[^"]*"', edge)[0]
    ease = re.search(r"&quot;ease&quot;: ?[-0-9.]+", note)[0]
    named = re.search(r"&quot;name&quot;: ?&quot;[^&]*&quot;", note)[0]
    edge_name = re.search(r' data-edge="[^"]*"', edge)[0]

    def case(name: str, old: str, new: str, *words: str) -> Case:
        assert old in text, old
        damaged = text.replace(old, new, 1).encode()
        expect = "refused" if words else "read"
        return Case(f"finished: {name}", ".svg", damaged, expect, words, read=read_finished)

    yield case("as it is", edge, edge)
    for name, value in (
        ("ease not a number", "NaN"), ("endless ease", "Infinity"), ("ease beyond any number", "1e999"),
        ("ease of a million digits", "9" * 10**6), ("ease beyond 100 m", "1e6"), ("ease a word", "&quot;x&quot;"),
        ("ease a list", "[1]"), ("ease nothing", "null"),
    ):  # fmt: skip
        yield case(name, ease, f"&quot;ease&quot;: {value}", "damaged")
    for name, new in (
        ("a name that is a number", "&quot;name&quot;: 5"), ("a name that is nothing", "&quot;name&quot;: null"),
        ("no name", "&quot;nam&quot;: 5"),
    ):  # fmt: skip
        yield case(name, named, new, "damaged")
    for name, new in (
        ("no seams", ""), ("seams that are a number", "5"), ("seams that are a map", "{}"),
        ("a seam that is a word", "[5]"), ("a seam that is a list", "[[]]"), ("100,000 levels", "[" * 10**5),
        ("half of the seams", note[: note.rindex("{")]),
        ("a seam of letters", note.replace("[[", "[&quot;abc&quot;, [", 1)),
    ):  # fmt: skip
        yield case(name, note, new, "damaged")
    for name, new in (
        ("an edge that is no path", ' d="L"'), ("an edge beyond 100 m", ' d="M0 0H1e8"'), ("no edge", ' d=""'),
        ("an edge of two", ' d="M0 0H5M9 9H5"'), ("an edge not a number", ' d="M0 0Hnan"'),
        ("an edge without data", ""), ("an edge elsewhere", ' d="M0 0H5"'),
    ):  # fmt: skip
        yield case(name, d, new, "damaged")
    seam_edge = re.search(r"data-edge=(\"cap[^\"]*\")", text)[0]
    yield case(
        "an edge of another name", seam_edge, 'data-edge="x"', "damaged", "which is not there"
    )
    mark = re.search(r'(<path class="notch[^>]*data-edge=")[^"]*"', text)
    yield case(
        "a notch on an edge that is not there",
        mark[0],
        mark[1] + 'x"',
        "damaged",
        "notches are on ['x']",
    )
    yield case("an edge without name", edge_name, "", "damaged")
    yield case("an edge of no role", 'class="sew ', 'class="sew x', "damaged")
    yield case("an edge of no class", edge, edge.replace("sew ", "sew", 1), "damaged")
    at = re.search(r' data-at="[^"]*"', text)[0]
    for name, new in (
        ("not a number", "nan"), ("endless", "inf"), ("with underscore", "1_0"), ("two numbers", "1 2"),
        ("nothing", ""), ("beyond 100 m", "1e6"), ("in other digits", "\u0661"),
    ):  # fmt: skip
        yield case(f"a notch at {name}", at, f' data-at="{new}"', "damaged")
    piece = re.search(r' data-piece="[^"]*"', text)[0]
    yield case("a piece of another name", piece, ' data-piece="x"', "damaged")
    yield case("a piece of a turned name", piece, f' data-piece="{BIDI}"', "damaged")


GROUPS = (
    declarations, depths, pages, paths, transforms, shapes, places, styles, sizes, files, names, nothing,
    bombs, finished_patterns,
)  # fmt: skip
CASES = [case for group in GROUPS for case in group()]


# --- as other programs write ---------------------------------------------------------------------

FOREIGN_FILES = {
    "an editor with layers": f"""<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!-- Created with an editor -->
<svg {NS} {XLINK} xmlns:ed="urn:editor" xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"
 width="200mm" height="200mm" viewBox="0 0 200 200" ed:version="1.2">
<defs><linearGradient id="lg"><stop offset="0"/></linearGradient><marker id="arrow"><path d="M0 0L5 5"/></marker>
<clipPath id="clip"><rect width="50" height="50"/></clipPath></defs>
<ed:view zoom="2"><ed:guide position="1,2"/><ed:grid/></ed:view>
<metadata><rdf:RDF><rdf:Description/></rdf:RDF></metadata>
<g ed:mode="layer" ed:label="Cut" id="layer1" style="display:inline">
<path ed:original-d="M0 0" d="m 10,10 h 100 v 80 z" id="path10" style="fill:none;marker-end:url(#arrow)"/>
<g id="g12" clip-path="url(#clip)"><circle cx="20" cy="20" r="2"/><ellipse cx="9" cy="9" rx="3" ry="4"/></g>
<text xml:space="preserve" x="30" y="40"><tspan ed:role="line" x="30" y="40">FRONT</tspan></text>
<flowRoot><flowRegion><rect width="30" height="9"/></flowRegion><flowPara>cut 2</flowPara></flowRoot></g>
<g ed:mode="layer" ed:label="Notes" id="layer2" style="display:none"><path d="M0 0L9 9"/><text>old</text>
<image width="9" height="9" xlink:href="data:image/png;base64,AAAA"/></g>
</svg>""",
    "a program for illustrations": f"""<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">
<svg version="1.1" id="Layer_1" {NS} {XLINK} x="0px" y="0px" width="200mm" height="100mm" viewBox="0 0 200 100"
 style="enable-background:new 0 0 200 100;" xml:space="preserve">
<style type="text/css"><![CDATA[ .st0{{fill:none;stroke:#000000;}} .st1{{display:none;}} .st2{{fill:red}} ]]></style>
<switch><foreignObject requiredExtensions="urn:x" x="0" y="0" width="1" height="1"><p xmlns="urn:y"/></foreignObject>
<g><polygon class="st0" points="10,10 190,10 190,90 "/><polyline class="st0" points="1,1 2,2 3,1"/>
<g class="st1"><line x1="0" y1="0" x2="9" y2="9"/></g><rect x="5" y="5" class="st0" width="20" height="10"/>
<text transform="matrix(1 0 0 1 20 30)" class="st2">38</text></g></switch></svg>""",
    "a CAD program": f"""<svg {NS} {XLINK} width="8in" height="4in" viewBox="0 0 203.2 101.6">
<title>drawing</title><symbol id="tick"><line x2="0" y2="4"/></symbol><defs><g id="block"><path d="M0 0H50V40z"/>
<use xlink:href="#tick" x="10"/></g><g id="spare"><path d="M0 0H1"/></g></defs>
<g transform="matrix(1,0,0,-1,0,100)"><use xlink:href="#block" x="5"/><use xlink:href="#block" x="100"/></g></svg>""",
    "a converter of pages": f"""<svg {NS} {XLINK} width="595.276pt" height="841.89pt" viewBox="0 0 595.276 841.89">
<defs><g><symbol overflow="visible" id="glyph0-1"><path d="M 0.7 0 L 0.7 -8 L 3 -8 Z"/></symbol><symbol id="glyph0-2">
<path d=""/></symbol></g><clipPath id="c1"><path d="M0 0H9V9z"/></clipPath><mask id="m"><image width="1"/></mask>
<pattern id="p"><circle r="1"/></pattern></defs><g clip-path="url(#c1)"><path d="M 10 10 L 500 10 L 500 700 Z M2 2H3"/>
</g><g><use xlink:href="#glyph0-1" x="100" y="100"/><use xlink:href="#glyph0-1" x="110" y="100"/></g></svg>""",
    "a plotter": f"""<svg {NS} width="100cm" height="50cm"><g><polyline points="0,0 100,0 100,100 0,0"/></g>
<g><text x="1" y="2">A<tspan dy="1">B</tspan></text><text/><path d="M0 0"/><line x1="3" x2="3"/></g></svg>""",
}
