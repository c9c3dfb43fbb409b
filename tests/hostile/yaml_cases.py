"""Hostile recipes, libraries and label maps; each says what must come of it, decided before it ran.

What is refused names the file, the line and the column; the cases that have no place say so.
"""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Literal

from hostile.harness import Case
from samples_of_ours import ROOT, registry
from sleevewright.errors import LabelError, RecipeError, SleevewrightError
from sleevewright.pipeline.library import Library
from sleevewright.reading.label_map import read_label_map
from sleevewright.recipe import Recipe

Check = Callable[[Any], None]

RECIPE = """\
name: easy
title: Easy raglan
params:
  lowering: 25 mm
steps:
  - raglan:
      front:
        neck_drop: = 0.3 * neckline_front
      sleeve: two-piece
  - lower-armhole:
      by: = lowering
finish:
  allowances: {default: 10 mm}
outputs: {formats: [dxf, svg]}
"""
LABELS = """\
units: mm
block: overblock
size: "38"
layers: {A1: front.armhole, 7B: ignore}
pieces: {outline 1: front}
sleeve_front: right
"""
SAMPLE = ROOT / "sample_patterns"
LIBRARY = f"""\
blocks:
  men: {{files: [{SAMPLE}/svg/men_overblock_*.svg]}}
recipes: [{ROOT}/recipes/kimono.yaml]
matrix: {{front_drop: [30 mm, 45 mm]}}
sizes: all
exclude: [{{block: men, size: "48"}}]
outputs: {{folder: out, formats: [dxf]}}
limits: {{seconds: 60}}
"""
BIDI = "\u202e"
#: What makes any of the three read the file, and what it raises.
KINDS: dict[str, tuple[Callable[[Path], Any], type[SleevewrightError], str]] = {
    "recipe": (lambda path: Recipe.load(path, registry()), RecipeError, RECIPE),
    "library": (Library.load, RecipeError, LIBRARY),
    "label map": (read_label_map, LabelError, LABELS),
}
Kind = Literal["recipe", "library", "label map"]

#: Names of cases whose mistake has no place: it is the file as a whole.
WITHOUT_PLACE = {f"{kind}: beyond 1 MB" for kind in KINDS}


def case(
    kind: Kind, name: str, data: Any, *words: str, check: Check | None = None, **more: Any
) -> Case:
    """Refused if it has words to say, else read."""
    reads, error, _ = KINDS[kind]
    data = data if isinstance(data, bytes) or callable(data) else data.encode()
    return Case(
        f"{kind}: {name}", ".yaml", data, "refused" if words else "read", words, check=check,
        read=reads, error=error, **more,
    )  # fmt: skip


def changed(kind: Kind, old: str, new: str) -> str:
    """The good file with a change that must apply."""
    good = KINDS[kind][2]
    assert old in good, old
    return good.replace(old, new, 1)


# --- what no YAML file of ours may hold ----------------------------------------------------------


def structure() -> Iterator[Case]:
    for kind in KINDS:
        yield case(kind, "as it is", KINDS[kind][2])
        for name, text, *words in _bad_structure():
            yield case(kind, name, text, *words)
        yield from _bad_bytes(kind)
        keys = "".join(f"k{i}: 1\n" for i in range(15_000))
        yield case(kind, "15,000 keys", keys, ":1:1: ", "'k0'", "14980 keys more")
        yield case(kind, "a long key", f"{'x' * 1000}: 1\n", ":1:1: ", "xxx")
        yield case(
            kind, "beyond 1 MB", lambda: b"#" * ((1 << 20) + 1), "too large", "1048576 bytes"
        )
    yield from _large()


def _bad_structure() -> Iterator[tuple[str, ...]]:
    for tag in (
        "!!python/object/apply:os.system ['echo PWNED']", "!!python/name:os.system x",
        "!!python/object/new:type [x]", "!!binary aGk=", "!!timestamp 2001-01-01", "!!set {a}",
        "!!str x", "!include /etc/passwd", "! x", "!<tag:yaml.org,2002:str> x",
    ):  # fmt: skip
        yield f"tag {tag.split()[0]}", f"name: {tag}\n", ":1:7: ", "tags (", "not allowed"
    yield "a tag of a key", "!!str name: x\n", ":1:1: ", "tags ("
    yield "a tag of all", "--- !!map\nname: x\n", "tags ("
    yield "an anchor", "name: &a x\n", ":1:7: ", "anchors and aliases", "write it out"
    yield "an alias", "name: *a\n", ":1:7: ", "anchors and aliases"
    yield "an anchor of itself", "name: &a [*a]\n", ":1:7: ", "anchors"
    yield "a merge", "a: &a {x: 1}\nb: {<<: *a}\n", ":1:4: ", "anchors"
    levels = "".join(f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 10))
    yield "a billion laughs", f"a0: &a0 [x]\n{levels}", ":1:5: ", "anchors"
    merges = "".join(
        f"a{i}: &a{i} {{<<: [{', '.join([f'*a{i - 1}'] * 9)}]}}\n" for i in range(1, 10)
    )
    yield "a bomb of merges", f"a0: &a0 {{x: 1}}\n{merges}", ":1:5: ", "anchors"
    yield "33 levels", "[" * 33 + "]" * 33, ":1:33: ", "nested deeper than 32 levels"
    yield "100,000 levels of lists", "[" * 10**5, "nested deeper than 32 levels"
    yield "100,000 levels of maps", "{a: " * 10**5, "nested deeper than 32 levels"
    yield "levels by indentation", "".join(" " * i + "a:\n" for i in range(200)), "nested deeper"
    yield "levels by dashes", "- " * 10**5, "nested deeper than 32"
    yield "levels by question marks", "? " * 10**5, "nested deeper than 32"
    yield "a key twice", "name: a\nname: b\n", ":2:1: ", "'name' stands twice; first at line 1"
    yield "a key twice, quoted otherwise", "name: a\n'name': b\n", ":2:1: ", "stands twice"
    yield "a key twice, far inside", "a:\n  - {b: 1, c: 2, b: 3}\n", ":2:18: ", "'b' stands twice"
    yield "a list as key", "? [a]\n: b\n", ":1:3: ", "a key must be a word"
    yield "a map as key", "{{a: b}: c}\n", ":1:2: ", "a key must be a word"
    yield "an expression with a comma", "a: {by: = max(1 mm, 2 mm)}\n", "must be quoted"
    yield "two documents", "name: a\n---\nname: b\n", ":2:1: ", "a second document begins"
    yield "an empty file", "", ":1:1: ", "empty"
    yield "comments alone", "# nothing\n\n", ":3:1: ", "empty"
    yield "a document of nothing", "---\n", ":1:"
    yield "a word", "hello\n", ":1:1: "
    yield "a list", "- a\n- b\n", ":1:1: "
    yield "tabs", "name:\n\tx: 1\n", ":2:1: ", "not YAML"
    yield "a list that is not closed", "name: [a, b\n", "not YAML"
    yield "a map that is not closed", "name: {a: b\n", "not YAML"
    yield "a quote that is not closed", "name: 'a\n", "not YAML"
    yield "a quote with something behind", 'name: "a" b\n', ":1:11: ", "not YAML"
    yield "two colons", "name: a: b\n", ":1:8: ", "not YAML"
    yield "a bad indentation", "a:\n    b: 1\n  c: 2\n", ":3:3: ", "not YAML"
    yield "an unknown escape", 'name: "\\q"\n', "not YAML"
    yield "an escape that is no character", 'name: "\\U00110000"\n', "not YAML"
    yield "a reserved sign", "name: @x\n", ":1:7: ", "not YAML"
    yield "a directive of YAML 9", "%YAML 9.9\n---\nname: x\n", ":1:", "not YAML"
    yield "a tag directive", "%TAG !e! tag:e,2000:\n---\nname: !e!x y\n", ":3:7: ", "tags ("
    yield "conflict marks", "<<<<<<< HEAD\nname: a\n=======\nname: b\n>>>>>>> x\n", "not YAML"
    yield "a web page", "<!DOCTYPE html>\n<html>{</html>\n", ":"
    for name, escape, code in (
        ("zero", "\\0", "U+0000"), ("escape", "\\e[31m", "U+001B"), ("bell", "\\a", "U+0007"),
        ("turned text", "\\u202e", "U+202E"), ("half a character", "\\ud800", "U+D800"),
        ("no character", "\\uffff", "U+FFFF"), ("delete", "\\x7f", "U+007F"),
    ):  # fmt: skip
        yield f"an escape that gives {name}", f'name: "a{escape}"\n', ":1:7: ", code
        yield f"a key that gives {name}", f'"a{escape}": b\n', ":1:1: ", code


def _bad_bytes(kind: Kind) -> Iterator[Case]:
    good = KINDS[kind][2]
    lines = good.count("\n") + 1
    for name, character, code in (
        ("zero", "\0", "U+0000"), ("escape", "\x1b[31m", "U+001B"), ("a new line of its own", "\x85", "U+0085"),
        ("a line separator", "\u2028", "U+2028"), ("turned text", BIDI, "U+202E"),
        ("an isolate", "\u2066", "U+2066"), ("a byte order mark within", "\ufeff", "U+FEFF"),
    ):  # fmt: skip
        yield case(kind, f"{name} in a comment", f"{good}# é {character}", f":{lines}:5: ", code,
                   why="it may show the text other than it is")  # fmt: skip
    yield case(kind, "Latin-1", f"# ok\n# é é \n{good}".encode("latin-1"), ":2:3: ", "not UTF-8")
    yield case(kind, "UTF-16", good.encode("utf-16"), ":1:1: ", "not UTF-8")
    yield case(kind, "UTF-16 without mark", good.encode("utf-16-le"), ":1:2: ", "U+0000")
    yield case(
        kind, "half a character at the end", good.encode() + b"# \xc3", f":{lines}:3: ", "UTF-8"
    )
    yield case(
        kind, "a surrogate in UTF-8", good.encode() + b"# \xed\xa0\x80", f":{lines}:3: ", "UTF-8"
    )
    yield case(kind, "bytes of a picture", b"\x89PNG\r\n\x1a\n\0\0", ":1:1: ", "UTF-8")
    yield case(kind, "a byte order mark", b"\xef\xbb\xbf" + good.encode())
    yield case(kind, "a mark and then Latin-1", b"\xef\xbb\xbfa: \xe9", ":1:4: ", "UTF-8")
    yield case(kind, "lines that end in CR LF", good.replace("\n", "\r\n"))
    yield case(kind, "lines that end in CR", good.replace("\n", "\r"))
    yield case(kind, "in JSON", json.dumps(_plain(kind)), why="which is YAML too")


def _plain(kind: Kind) -> Any:
    import yaml

    return yaml.safe_load(KINDS[kind][2])


def _large() -> Iterator[Case]:
    """Once, of recipes: all three are read by one loader."""
    yield case("recipe", "1 MB of comment", lambda: RECIPE.encode().ljust(1 << 20, b"#"))
    for name, data, *words in (
        ("1 MB in a word", lambda: b"name: ".ljust(1 << 20, b"x"), ":1:7: ", "4096 are allowed"),
        ("1 MB in a quoted word", lambda: b'name: "' + b"x " * 500_000 + b'"', "4096 are allowed"),
        ("1 MB in a block", lambda: b"name: |\n" + b"  x\n" * 200_000, "4096 are allowed"),
        ("1 MB of blanks", lambda: b"{" + b" " * 10**6 + b"}", ":1:1: ", "needs steps"),
        ("60,000 values", "[" + "a," * 60_000 + "]", "more than 50000 values"),
        ("100,000 openings", "{[" * 50_000, "nested deeper"),
        ("a key of 60 kB", f"? {'x' * 61440}\n: 1\n", ":1:3: ", "4096 are allowed"),
    ):
        yield case("recipe", name, data, *words)
    same = "".join(f"{i * (2**61 - 1)}: 1\n" for i in range(15_000))
    yield case("recipe", "15,000 numbers of one hash", same, ":1:1: ", "14980 keys more")


# --- recipes -------------------------------------------------------------------------------------


def recipe_shapes() -> Iterator[Case]:
    """A list where a map is wanted, and so on, at every level."""
    shapes = {
        "a list": "[a, b]",
        "a map": "{a: b}",
        "a list of maps": "[{a: b}]",
        "nothing": "",
        "a word": "word",
    }
    places: dict[str, tuple[str, str, set[str]]] = {
        "name": ("name: easy", "name: {}", {"a word"}),
        "title": ("title: Easy raglan", "title: {}", {"a word", "nothing"}),
        "params": ("params:\n  lowering: 25 mm\n", "params: {}\n", {"nothing"}),
        "a param": ("lowering: 25 mm", "lowering: {}", set()),
        "steps": (RECIPE[RECIPE.index("steps") : RECIPE.index("finish")], "steps: {}\n", set()),
        "a step": ("- raglan:\n      front:\n        neck_drop: = 0.3 * neckline_front\n      sleeve: two-piece",
                   "- {}", set()),
        "settings": (":\n      by: = lowering", ": {}", set()),
        "nested settings": (":\n        neck_drop: = 0.3 * neckline_front", ": {}", {"nothing"}),
        "a length": ("by: = lowering", "by: {}", set()),
        "a choice": ("sleeve: two-piece", "sleeve: {}", set()),
        "finish": ("finish:\n  allowances: {default: 10 mm}", "finish: {}", {"nothing"}),
        "allowances": ("{default: 10 mm}", "{}", {"nothing"}),
        "an allowance": ("default: 10 mm", "default: {}", set()),
        "outputs": ("{formats: [dxf, svg]}", "{}", {"nothing"}),
        "formats": ("formats: [dxf, svg]", "formats: {}", set()),
        "a format": ("[dxf, svg]", "[dxf, {}]", {"nothing"}),
    }  # fmt: skip
    for place, (old, new, fine) in places.items():
        for shape, text in shapes.items():
            said = () if shape in fine else ("hostile.yaml:",)
            yield case(
                "recipe",
                f"{shape} for {place}",
                changed("recipe", old, new.replace("{}", text, 1)),
                *said,
            )
    for what in ("style", "note", "date"):
        for shape in ("[a]", "{a: b}"):
            text = changed("recipe", "finish:\n", f"finish:\n  {what}: {shape}\n")
            yield case("recipe", f"{shape} for {what}", text, ":13:", f"{what} must be words")
    for what in ("notches", "corners"):
        for shape in ("[a]", "word"):
            text = changed("recipe", "finish:\n", f"finish:\n  {what}: {shape}\n")
            yield case("recipe", f"{shape} for {what}", text, ":13:", f"{what} must be a mapping")
    yield case(
        "recipe", "no formats", changed("recipe", "[dxf, svg]", "[]"), ":14:20: ", "no format"
    )
    yield case("recipe", "no steps", "name: x\nsteps: []\n", ":2:8: ", "a recipe needs steps")
    yield case("recipe", "steps left out", "name: x\n", ":1:1: ", "a recipe needs steps")
    two = changed("recipe", "  - lower-armhole:", "    lower-armhole:")
    yield case("recipe", "two operations in a step", two, ":6:5: ", "one operation a step")
    none = changed("recipe", "- lower-armhole:\n      by: = lowering", "- when: true")
    yield case("recipe", "a step of conditions alone", none, ":10:5: ", "a step without one")


def recipe_words() -> Iterator[Case]:
    """Typos, with the nearest right name."""
    for name, old, new, *words in (
        ("a key", "steps:", "stpes:", ":5:1: ", "'stpes'", "did you mean 'steps'?"),
        ("an operation", "- raglan:", "- ragln:", ":6:5: ", "did you mean 'raglan'?"),
        ("a setting", "by: = l", "byy: = l", ":11:7: ", "did you mean 'by'?"),
        ("a nested setting", "neck_drop", "neckdrop", ":8:9: ", "did you mean 'neck_drop'?"),
        ("a choice", "two-piece", "two-peice", ":9:15: ", "did you mean 'two-piece'?"),
        ("a role", "default: 10 mm", "nekline: 10 mm", ":13:25: ", "did you mean 'neckline'?"),
        ("a format", "svg]", "svgg]", ":14:26: ", "did you mean 'svg'?"),
        ("a key of finish", "allowances", "alowances", ":13:3: ", "did you mean 'allowances'?"),
        ("a key of outputs", "formats:", "formast:", ":14:11: ", "did you mean 'formats'?"),
        ("the key `no`", "title:", "no:", ":2:1: ", "'no' is no key"),
        ("the key `on`", "title:", "on:", ":2:1: ", "'on' is no key"),
        ("a key that is a number", "title:", "1:", ":2:1: ", "'1' is no key"),
        ("a key that is nothing", "title:", "~:", ":2:1: ", "'~' is no key"),
        ("a key that is empty", "title:", '"":', ":2:1: ", "'' is no key"),
        ("a merge of its own", "title: Easy raglan", "<<: {a: b}", ":2:1: ", "'<<' is no key"),
        ("a param that no step reads", "= lowering", "10 mm", ":4:13: ", "no step reads the param"),
        ("a param that is no name", "lowering: 25", "low-er: 25", ":4:3: ", "no param name"),
        ("a param in other letters", "lowering: 25", "h\u00f6he: 25", ":4:3: ", "no param name"),
        ("a param of Python", "lowering: 25", "__class__.x: 25", ":4:3: ", "no param name"),
    ):  # fmt: skip
        yield case("recipe", f"{name} misspelt", changed("recipe", old, new), *words)
    many = "".join(f"  - nothing{i}\n" for i in range(200))
    yield case(
        "recipe",
        "200 operations that are none",
        f"steps:\n{many}",
        ":2:5: ",
        "'nothing0' is no operation",
    )
    yield case(
        "recipe",
        "201 steps",
        f"steps:\n{many}  - one-more\n",
        ":202:5: ",
        "201 steps; 200 are allowed",
    )
    many = "".join(f"  p{i}: {i} mm\n" for i in range(201))
    yield case(
        "recipe",
        "201 params",
        changed("recipe", "params:\n", f"params:\n{many}"),
        ":204:3: ",
        "202 params",
    )
    many = "".join(f"    r{i}: 10 mm\n" for i in range(15_000))
    yield case("recipe", "15,000 roles that are none",
               changed("recipe", "{default: 10 mm}", f"\n{many}"), "'r0' is no edge role", seconds=10)  # fmt: skip


def recipe_numbers() -> Iterator[Case]:
    for text, *words in (
        ("25", "'25' has no unit", "12 mm"), ("25 parsec", "no unit that is known", "mm, cm, m, in"),
        ("25 deg", "is no length"), ("25 %", "is no length"), ("1e3 mm", "no unit that is known"),
        ("0x19 mm", "no unit that is known"), ("0o31 mm", "no unit that is known"), ("010 mm", "begins with a zero"),
        ("08 mm", "begins with a zero"), ("1:30", "no unit that is known"), ("1_000 mm", "no unit that is known"),
        ("1,5 cm", "a decimal point, not a comma"), (".inf", "is no number"), (".nan", "is no number"),
        ("inf mm", "is no number"), ("nan mm", "is no number"), ("-.inf", "is no number"), ("~", "is no number"),
        ("null", "is no number"), ("true", "is no number"), ("no", "is no number"), ("2001-01-01", "no unit"),
        ("1/0 in", "divides by zero"), ("1 2 3 in", "is no number"), ("--5 mm", "is no number"), ("5 mm mm", "no unit"),
        ("\u0661\u0662 mm", "is no number"), ("\uff11\uff12 mm", "is no number"), ("\u00b2 mm", "is no number"),
        ("1e999 mm", "no unit"), ("9" * 400 + " mm", "is no number"), ("99999999 mm", "larger than anything"),
        ("150 mm", "by is 150 mm", "0 mm to 120 mm"), ("-1 mm", "by is -1 mm", "0 mm to 120 mm"),
        ('"25"', "has no unit"), ("'= '", "a value is expected"), ("= 9**9**9", "a value is expected"),
        ("= lowering * lowering", "'lowering * lowering'", "length times length"),
        ("= 1/0", "'1/0'", "division by zero"),
        ("= lowering +", "a value is expected", "the end"),
        ("= lowering > 3 mm", "is a true or false"), ("= 3 deg", "is a angle", "a length is wanted"),
        ("= " + "(" * 100, "nested deeper than 50"), ("= " + "1+" * 1990 + "1", "longer than 2000"),
        ("= __import__('os').system('x')", "has no meaning"), ("= lowering.real", "has no meaning"),
    ):  # fmt: skip
        name = f"by {text if len(text) < 40 else text[:20] + ' and so on'}"
        yield case(
            "recipe", name, changed("recipe", "by: = lowering", f"by: {text}"), ":11:", *words
        )
    for text in ("0", "0 mm", "25mm", "2.5cm", '1"', "1 3/8 in", "1\u00bd in", "+25 mm", "25.000000000000000000 mm",
                 "25\u00a0mm", "= lowering * 2 - (3 mm)"):  # fmt: skip
        text = text if '"' not in text else f"'{text}'"
        yield case("recipe", f"by {text}", changed("recipe", "by: = lowering", f"by: {text}  # = lowering")
                   .replace("= 0.3 * neckline_front", "= lowering"))  # fmt: skip
    for text, *words in (
        ("{size: {}}", "the table by size is empty"), ("{size: 5 mm}", "a single value is wanted"),
        ("{size: {36: [1 mm]}}", "a single value is wanted"), ("{siez: {36: 1 mm}}", "a single value is wanted"),
        ("{size: {36: 1 parsec}}", "no unit"), ("{size: {36: {size: {36: 1 mm}}}}", "a single value is wanted"),
    ):  # fmt: skip
        yield case(
            "recipe",
            f"table {text}",
            changed("recipe", "by: = lowering", f"by: {text}"),
            ":11:",
            *words,
        )


def recipe_names() -> Iterator[Case]:
    for name in (
        "../evil", "/etc/x", "~", "~root", "a/b", "a\\\\b", ".", "..", ".hidden", "-rf", "{x.__class__}", "$HOME",
        "a b", "", "e\u0301", "x" * 101, "a\u200bb", "CON:", "a|b", "*",
    ):  # fmt: skip
        yield case("recipe", f"called {name[:30]!r}", changed("recipe", "name: easy", f'name: "{name}"'),
                   ":1:7: ", "cannot name a folder")  # fmt: skip
    for name in ("a", "x" * 100, "easy-raglan_2.0", "010", "no", "1.5", "\u00c4rmel", "a%s"):
        yield case(
            "recipe",
            f"called {name[:20]}",
            changed("recipe", "name: easy", f"name: {name}"),
            check=_named(name),
        )


def _named(name: str) -> Check:
    def check(recipe: Recipe) -> None:
        assert recipe.name == name

    return check


# --- libraries -----------------------------------------------------------------------------------


def library_shapes() -> Iterator[Case]:
    shapes = {"a list": "[[a], [b]]", "a map": "{a: b}", "nothing": "", "a word": "word"}
    places: dict[str, tuple[str, str, set[str]]] = {
        "blocks": (LIBRARY[: LIBRARY.index("recipes")], "blocks: {}\n", set()),
        "a block": (f"{{files: [{SAMPLE}/svg/men_overblock_*.svg]}}", "{}", set()),
        "files": (f"[{SAMPLE}/svg/men_overblock_*.svg]", "{}", set()),
        "recipes": (f"[{ROOT}/recipes/kimono.yaml]", "{}", set()),
        "matrix": ("{front_drop: [30 mm, 45 mm]}", "{}", {"a map"}),
        "values": ("[30 mm, 45 mm]", "{}", {"a word"}),
        "sizes": ("sizes: all", "sizes: {}", {"a word"}),
        "exclude": ('[{block: men, size: "48"}]', "{}", set()),
        "a rule": ('{block: men, size: "48"}', "{}", {"nothing"}),
        "a pattern": ('"48"', "{}", {"a word"}),
        "outputs": ("{folder: out, formats: [dxf]}", "{}", set()),
        "the folder": ("folder: out", "folder: {}", {"a word"}),
        "formats": ("[dxf]", "{}", set()),
        "limits": ("{seconds: 60}", "{}", set()),
        "a limit": ("60", "{}", set()),
    }
    for place, (old, new, fine) in places.items():
        for shape, text in shapes.items():
            said = () if shape in fine else ("hostile.yaml:",)
            text = changed("library", old, new.replace("{}", text, 1))
            yield case("library", f"{shape} for {place}", text, *said)


def library_words() -> Iterator[Case]:
    for name, old, new, *words in (
        ("a key", "recipes:", "recipe:", ":3:1: ", "did you mean 'recipes'?"),
        ("a key of a block", "files:", "file:", ":2:9: ", "did you mean 'files'?"),
        ("a key of a rule", "block: men, ", "blok: men, ", ":6:12: ", "did you mean 'block'?"),
        ("a key of outputs", "folder:", "foldr:", ":7:11: ", "did you mean 'folder'?"),
        ("a key of limits", "seconds:", "second:", ":8:10: ", "did you mean 'seconds'?"),
        ("a format", "[dxf]", "[dxff]", ":7:34: ", "did you mean 'dxf'?"),
        ("a value twice", "30 mm, 45 mm", "30 mm, 30 mm", ":4:", "stands twice"),
        ("no values", "[30 mm, 45 mm]", "[]", ":4:", "a list of values"),
        ("no sizes", "sizes: all", "sizes: []", ":5:8: ", "there is none"),
        ("no formats", "[dxf]", "[]", ":7:33: ", "no format"),
        ("no files", f"[{SAMPLE}/svg/men_overblock_*.svg]", "[]", ":2:8: ", "there is none"),
        ("no recipes", f"[{ROOT}/recipes/kimono.yaml]", "[]", ":1:1: ", "there is none"),
        ("a limit of nothing", "60", "0", ":8:19: ", "1 or more"),
        ("a limit below nothing", "60", "-5", ":8:19: ", "1 or more"),
        ("a limit without end", "60", "9" * 400, ":8:19: ", "below 10^9"),
        ("a limit that is no number", "60", "1e3", ":8:19: ", "a whole number"),
        ("a limit in other digits", "60", "\u0666\u0660", ":8:19: ", "a whole number"),
        (
            "a label map that is not there",
            "svg]}",
            "svg], labels: none.yaml}",
            ":2:",
            "no label map 'none.yaml'",
        ),
        ("a label map that is a folder", "svg]}", "svg], labels: .}", ":2:", "no label map '.'"),
        (
            "a label map of 4,000 letters",
            "svg]}",
            f"svg], labels: {'x' * 4000}}}",
            ":2:",
            "no label map",
        ),
    ):
        yield case("library", f"{name}", changed("library", old, new), *words)
    for name in (
        "../evil",
        "/etc",
        "a/b",
        "~/x",
        "..",
        ".x",
        "-x",
        "a b",
        "{x.__class__}",
        "",
        "a\u200bb",
        "x" * 101,
    ):
        yield case("library", f"a block called {name[:20]!r}", changed("library", "men:", f'"{name}":'),
                   ":2:3: ", "cannot name a folder")  # fmt: skip
    again = f"  MEN: {{files: [{SAMPLE}/child_block.dxf]}}\nrecipes:"
    yield case(
        "library",
        "blocks that differ in case",
        changed("library", "recipes:", again),
        ":3:3: ",
        "differ in case",
    )
    for plugin in ("x", "x==", "x==1; import os", "../x==1", "x==1 --index-url=y", "[a]"):
        yield case(
            "library",
            f"the plug-in {plugin!r}",
            f"{LIBRARY}plugins: [{plugin!r}]\n",
            ":9:",
            "NAME==VERSION",
        )


def library_patterns() -> Iterator[Case]:
    def files(pattern: str) -> str:
        return changed("library", f"{SAMPLE}/svg/men_overblock_*.svg", f"'{pattern}'")

    yield case("library", "all files of the disk", files("/**/*.svg"), ":2:",
               "more than 100000 names would be looked at", seconds=10)  # fmt: skip
    yield case(
        "library",
        "all of all of all",
        files("/**/**/**/*"),
        ":2:",
        "name a narrower folder",
        seconds=10,
    )
    yield case("library", "stars in a row", files("/*/*/*/*/*/*/*/*/*"), ":2:", seconds=10)
    yield case("library", "stars in a name", files(f"{SAMPLE}/svg/{'*a' * 500}*"), ":2:", "nothing matches",
               why="a pattern that can match in many ways takes for ever if it is done badly")  # fmt: skip
    yield case(
        "library",
        "questions without end",
        files(f"{SAMPLE}/{'?' * 3000}"),
        ":2:",
        "nothing matches",
    )
    yield case(
        "library",
        "a bracket that is not closed",
        files(f"{SAMPLE}/[a*"),
        ":2:",
        "nothing matches",
    )
    yield case(
        "library", "a pattern that is none", files(f"{SAMPLE}/**x/*"), ":2:", "** stands alone"
    )
    yield case("library", "an empty pattern", files(""), ":2:", "is wanted")
    yield case(
        "library",
        "the folder above all",
        files("/../../../etc/passwd.svg"),
        ":2:",
        "nothing matches",
    )
    yield case(
        "library",
        "a home folder",
        files("~/*.svg"),
        ":2:",
        "nothing matches",
        why="~ is a name like others",
    )
    yield case("library", "a variable", files("$HOME/*.svg"), ":2:", "nothing matches")
    yield case("library", "a path of Python", files("{x.__class__}"), ":2:", "nothing matches")
    yield case(
        "library", "a device", files("/dev/zero"), ":2:", "nothing matches", why="it is no file"
    )
    yield case("library", "devices", files("/dev/z*"), ":2:", "nothing matches")
    yield case("library", "a path of 4,000 letters", files("x" * 4000), ":2:", "nothing matches")
    yield case("library", "a path of 1,500 folders", files("x/" * 1500), ":2:", "nothing matches")
    yield case(
        "library", "folders within", files(f"{SAMPLE}/**/men_overblock_5?.svg"), check=_two_files
    )
    yield case(
        "library",
        "back and forth",
        files(f"{SAMPLE}/../sample_patterns/svg/men_overblock_5[02].svg"),
        check=_two_files,
    )


def _two_files(library: Library) -> None:
    assert [path.name for path in library.blocks[0].files] == [
        "men_overblock_50.svg",
        "men_overblock_52.svg",
    ]


# --- label maps ----------------------------------------------------------------------------------


def label_maps() -> Iterator[Case]:
    shapes = {"a list": "[a, b]", "a map": "{a: b}", "nothing": "", "a word": "word"}
    places: dict[str, tuple[str, str, set[str]]] = {
        "units": ("units: mm", "units: {}", set()),
        "block": ("block: overblock", "block: {}", {"nothing", "a word"}),
        "size": ('size: "38"', "size: {}", {"nothing", "a word"}),
        "layers": ("{A1: front.armhole, 7B: ignore}", "{}", set()),
        "a layer": ("front.armhole", "{}", set()),
        "pieces": ("{outline 1: front}", "{}", set()),
        "a piece": ("outline 1: front", "outline 1: {}", set()),
        "sleeve_front": ("sleeve_front: right", "sleeve_front: {}", set()),
    }
    for place, (old, new, fine) in places.items():
        for shape, text in shapes.items():
            said = () if shape in fine else ("hostile.yaml:",)
            text = changed("label map", old, new.replace("{}", text, 1))
            yield case("label map", f"{shape} for {place}", text, *said)
    for name, old, new, *words in (
        ("a key", "layers:", "layer:", ":4:1: ", "did you mean 'layers'?"),
        ("a unit", "units: mm", "units: nm", ":1:8: ", "mm, cm, in"),
        ("an edge", "front.armhole", "front.armhoel", ":4:14: ", "is no edge"),
        ("a piece", "outline 1: front", "outline 1: frnot", ":5:21: ", "did you mean 'front'?"),
        ("a side", "right", "up", ":6:15: ", "left, right"),
        (
            "a layer twice in other letters",
            "7B: ignore",
            "a-1: ignore, A 1: front.hem",
            ":4:42: ",
            "again",
        ),
        (
            "a piece twice in other letters",
            "outline 1: front",
            "outline 1: front, Outline.1: back",
            ":5:28: ",
            "again",
        ),
        ("`no` for units", "units: mm", "units: no", ":1:8: ", "'no'"),
    ):
        yield case("label map", f"{name} wrong", changed("label map", old, new), *words)
    lines = ", ".join(f"L{i}: ignore" for i in range(1000))
    yield case(
        "label map", "1,000 layers", changed("label map", "A1: front.armhole, 7B: ignore", lines)
    )
    one_more = changed("label map", "A1: front.armhole, 7B: ignore", f"{lines}, x: ignore")
    yield case("label map", "1,001 layers", one_more, ":4:", "layers has 1001 lines")
    lines = ", ".join(f"L{i}: frnt.hme{i}" for i in range(1000))
    yield case("label map", "1,000 layers that are none", changed("label map", "A1: front.armhole, 7B: ignore", lines),
               ":4:14: ", "is no edge", seconds=10)  # fmt: skip
    yield case("label map", "one layer in two spellings", changed("label map", "7B: ignore", "a1: front.armhole"),
               check=_one_layer, why="they mean the same")  # fmt: skip
    for name in ("../../etc", "/abs", "{x.__class__}", "~", "a b"):
        yield case("label map", f"a block called {name}", changed("label map", "overblock", f'"{name}"'),
                   why="made harmless where it becomes a folder")  # fmt: skip


def _one_layer(labels: Any) -> None:
    assert {name for name, _, _ in labels.layers} == {"a1"}


GROUPS = (
    structure, recipe_shapes, recipe_words, recipe_numbers, recipe_names, library_shapes, library_words,
    library_patterns, label_maps,
)  # fmt: skip
CASES = [case for group in GROUPS for case in group()]
