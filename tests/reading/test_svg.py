"""SVG: what it may hold, and what is refused with its place."""

import re
import warnings

import pytest

from sleevewright.errors import LabelError, ReadError

from .conftest import SAMPLES, difference

SAMPLE = (SAMPLES / "svg" / "women_overblock_38.svg").read_text(encoding="utf-8")
HEAD = re.search(r"<svg[^>]*>", SAMPLE)[0]
INNER = SAMPLE.split("</style>")[1].replace("</svg>", "")
SIZE = 'width="1040.521mm" height="804.043mm"'
HEM = "M322.250000,784.042644 L580.000000,784.042644"
TWICE = f'<g transform="scale(2)">{INNER}</g>'
BOX = 'viewBox="0 0 2081.042 1608.086"'

SAME_DRAWING = {
    "nested transforms": f'{HEAD}<g transform="translate(9 2) rotate(30)">'
    f'<g transform="matrix(1 0 0 1 5 5)">{INNER}</g></g></svg>',
    "mirrored by a transform": f'{HEAD}<g transform="scale(-1 1)">{INNER}</g></svg>',
    "half scale, double view box": HEAD.replace(
        "0 0 1040.521 804.043", "0 0 520.2605 402.0215"
    ) + f'<g transform="scale(.5)">{INNER}</g></svg>',
    "use of groups in defs": f'{HEAD}<defs>{INNER}</defs><use href="#front"/>'
    '<use href="#back" x="5"/><use xlink:href="#sleeve" y="7"'
    ' xmlns:xlink="http://www.w3.org/1999/xlink"/></svg>',
    "symbol": f'{HEAD}<symbol id="s">{INNER}</symbol><use href="#s"/></svg>',
    "symbol with its own view box": f'{HEAD}<symbol id="s" {BOX}>{TWICE}</symbol>'
    '<use href="#s" width="1040.521" height="804.043"/></svg>',
    "svg in svg with its own view box": f'{HEAD}<svg {BOX} width="1040.521" height="804.043">'
    f"{TWICE}</svg></svg>",
    "a link is a group": f'{HEAD}<a href="http://example.com">{INNER}</a></svg>',
    "hidden by class": HEAD + "<style>.h{display:none}</style>" + INNER
    + '<path class="h front.hem" d="M0 0L9 9"/></svg>',
    "hidden by id": HEAD + "<style>#h , q { display : none }</style>" + INNER
    + '<path id="h" class="front.hem" d="M0 0L9 9"/></svg>',
    "hidden by tag and class": HEAD + "<style>path.h{fill:red;display:none}</style>" + INNER
    + '<path class="h front.hem" d="M0 0L9 9"/></svg>',
    "hidden by style": HEAD + INNER + '<g style="display: none">' + INNER + "</g></svg>",
    "a bare DOCTYPE": '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://127.0.0.1:9/x.dtd">'
    + SAMPLE,
    "an arc without radius is a line": SAMPLE.replace(
        "L580.000000,784.042644", "A 0 0 0 0 1 580 784.042644"
    ),
    "relative commands": SAMPLE.replace(HEM, "m322.25,784.042644 h257.75"),
    "a line without a label": SAMPLE.replace("</svg>", '<path d="M0 0L100 100"/></svg>'),
    "byte order mark": "\ufeff" + SAMPLE,
    "lines end in CR": SAMPLE.replace("\n", "\r"),
    "foreign elements": HEAD + '<x:path xmlns:x="urn:notes" d="M0 0"/>' + INNER + "</svg>",
}  # fmt: skip


@pytest.mark.parametrize("text", SAME_DRAWING.values(), ids=SAME_DRAWING.keys())
def test_the_same_drawing_in_other_words(read, women, text):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        (pattern,) = read(text).patterns
    assert difference(women[-1], pattern) < 1e-4


def _hem(d: str) -> str:
    return SAMPLE.replace(HEM, d)


USES = "".join(f'<g id="g{i}">' + f'<use href="#g{i + 1}"/>' * 10 + "</g>" for i in range(9))

REFUSED = {
    "entity": ('<!DOCTYPE svg [<!ENTITY a "b">]>' + SAMPLE, "entity 'a'"),
    "too deep": (HEAD + "<g>" * 300 + "</g>" * 300 + "</svg>", "levels are allowed"),
    "circle of use": (
        HEAD + '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></svg>', "#a -> #b",
    ),
    "bomb of use": (HEAD + USES + '<g id="g9"><path d="M0 0L1 1"/></g></svg>', "too many inserts: 1000000000"),
    "use of nothing": (HEAD + '<use href="#zz"/></svg>', "'#zz', which is not in the file"),
    "use of another file": (HEAD + '<use href="http://127.0.0.1:9/x.svg#a"/></svg>', "not in the"),
    "no size": (SAMPLE.replace(SIZE, ""), "units: mm"),
    "size in per cent": (SAMPLE.replace(SIZE, 'width="100%" height="100%"'), "no physical size"),
    "pixels": (SAMPLE.replace("mm\"", "px\""), "no physical size"),
    "no width": (SAMPLE.replace("1040.521mm", "0mm"), "positive length"),
    "width nan": (SAMPLE.replace("1040.521mm", "nanmm"), "no length"),
    "unknown unit": (SAMPLE.replace("1040.521mm", "10furlong"), "furlong"),
    "two scales": (SAMPLE.replace("1040.521mm", "2000mm"), "one scale for both"),
    "view box": (SAMPLE.replace("0 0 1040.521 804.043", "0 0 0 1"), "viewBox"),
    "nan in a path": (_hem("M322.25,784.042644 Lnan,3"), "'nan,3' at character"),
    "unknown command": (_hem("M322.25,784.042644 X580"), "'X580' at character"),
    "odd count": (_hem("M322.25,784.042644 L580"), "wants 2 numbers"),
    "overflow": (_hem("M322.25,784.042644 L1e999,3"), "1e999"),
    "arc flag": (_hem("M322.25,784.042644 A1 1 0 2 1 580 783"), "arc flag"),
    "no moveto": (_hem("L580,783"), "no command here"),
    "transform": (SAMPLE.replace('<g id="front">', '<g id="front" transform="rot(3)">'), "rot(3)"),
    "flat transform": (
        SAMPLE.replace('<g id="front">', '<g id="front" transform="scale(0)">'), "flattens",
    ),
    "html": ("<html><body/></html>", "its root is html"),
    "another namespace": (SAMPLE.replace("http://www.w3.org/2000/svg", "urn:x"), "of 'urn:x'"),
    "empty": ("", "not an SVG file"),
    "cut off": (SAMPLE[:2000], "not an SVG file"),
    "no line": (HEAD + "</svg>", "no line"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_refused_with_place(read, text, said):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(ReadError) as caught:
            read(text)
    assert said in str(caught.value)
    assert "block_38.svg" in str(caught.value.problems[0].place)


LABELS = {
    "two fronts": (SAMPLE.replace('<g id="back">', '<g id="front">'), "2 closed outlines"),
    "unknown piece": (SAMPLE.replace('<g id="front">', '<g id="frnt">'), "did you mean 'front'?"),
    "unknown edge": (
        SAMPLE.replace('class="shoulder" d="M509', 'class="sholder" d="M509'),
        "did you mean 'shoulder'?",
    ),
    "missing edge": (re.sub(r'<path class="shoulder" d="M509[^>]*>', "", SAMPLE), "127.29 mm away"),
    "gap": (_hem("M325.25,784.042644 L580,784.042644"), "3.00 mm away"),
    "drawn twice": (
        SAMPLE.replace(f'<path class="hem" d="{HEM}"/>', f'<path class="hem" d="{HEM}"/>' * 2),
        "drawn twice",
    ),
    "branch": (
        SAMPLE.replace("</g>", '<path class="hem" d="M322.25,784.042644 L400,900"/></g>', 1),
        "branches: 3 ends meet",
    ),
    "crossing": (_hem("M322.25,784.042644 C 900 200 900 200 580,784.042644"), "crosses itself at"),
    "notch off the edge": (SAMPLE.replace('cx="378.049617"', 'cx="374"'), "3.93 mm off"),
    "ten times too large": (
        SAMPLE.replace(SIZE, 'width="10405.21mm" height="8040.43mm"'), "pieces of a block are 60 to",
    ),
    "inches taken for mm": (
        SAMPLE.replace(SIZE, 'width="40.9654mm" height="31.6552mm"'), "units are perhaps",
    ),
    "no centre": (
        re.sub(r'<(path class="centre"|line class="fold")[^>]*>', "", SAMPLE), "is open",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "said"), LABELS.values(), ids=LABELS.keys())
def test_what_cannot_be_labelled_says_why(read, text, said):
    with pytest.raises(LabelError) as caught:
        read(text)
    assert said in str(caught.value)


@pytest.mark.parametrize(("gap", "says"), [(0.03, False), (0.6, True)])
def test_small_gaps_are_closed(read, women, gap, says):
    reading = read(_hem(f"M{322.25 + gap},784.042644 L580,784.042644"))
    assert difference(women[-1], reading.patterns[0]) <= gap
    assert any("gap" in f.message for f in reading.findings) is says


def test_what_is_passed_over_is_said(read):
    reading = read(SAMPLE.replace("</svg>", '<path d="M0 0L9 9"/><image href="x.png"/></svg>'))
    said = " ".join(f.message for f in reading.findings)
    assert "without a label" in said
    assert "image" in said
