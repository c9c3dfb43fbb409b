"""Names as one part of a path, and plans that would spoil something, refused before a byte is written."""

import os
import time
import unicodedata
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from samples_of_ours import by_size, from_svg, recipe
from sleevewright.errors import WriteError
from sleevewright.formats.path_parts import safe
from sleevewright.pipeline.convert import convert
from sleevewright.pipeline.places import check_places, output_name, variant_key
from sleevewright.scripting import write
from sleevewright.writing.whole_files import TEMPORARY_PREFIX

#: As Windows has them: none may be a file, with whatever ending.
DEVICES = ["con", "PRN", "aux", "NUL", "com1", "LPT9", "com¹", "Con.tar", "nul."]


def names_of(error: pytest.ExceptionInfo[WriteError]) -> str:
    return "\n".join(map(str, error.value.problems))


# --- names ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("women_overblock", "women_overblock"),
        ("front_drop=45 mm", "front_drop=45mm"),
        ("drop=1 3/8 in", "drop=1_3_8in"),
        ("drop=13/8 in", "drop=13_8in"),
        ("../../etc/passwd", "_.._etc_passwd"),
        ("-rf", "rf"),
        (".hidden", "hidden"),
        ("size.", "size"),
        ('a\\b:c*d?e"f<g>h|i', "a_b_c_d_e_f_g_h_i"),
        ("Größe", "Größe"),
        ("Gro\u0308\u00dfe", "Größe"),
        ("大", "大"),
        ("กำ", "กำ"),
        ("a\u200bb\u202ec\ufeff", "a_b_c_"),
        ("\u3164", "_"),
        ("a\x00b\nc", "a_b_c"),
        ("", "_"),
        ("...", "_"),
        ("🧥", "_"),
    ],
)
def test_a_name_is_one_harmless_part(name: str, part: str) -> None:
    assert safe(name) == unicodedata.normalize("NFC", part)


@pytest.mark.parametrize("name", DEVICES)
def test_no_device_of_windows_is_a_name(name: str) -> None:
    stem = safe(name).partition(".")[0].casefold()
    assert stem not in {d.partition(".")[0].casefold() for d in DEVICES}
    assert safe("console") == "console"


def test_long_names_that_differ_at_the_end_stay_apart() -> None:
    long = [("ä" * 200) + end for end in "ab"] + ["x" * 100, "x" * 101, "x" * 102]
    parts = [safe(name) for name in long]
    assert len(set(parts)) == len(parts)
    assert parts[2] == "x" * 100
    assert all(len(part.encode()) <= 100 for part in parts)


@given(st.text(max_size=300))
@example("a" * 99 + ".")
@example("con" + " " * 200)
@example("\u0301" * 300)
@example("\ud800")
def test_every_name_comes_out_harmless(name: str) -> None:
    part = safe(name)
    assert 0 < len(part.encode()) <= 100
    assert part not in (".", "..")
    assert part[0] not in ".-~ "
    assert part[-1] not in ". "
    assert not set(part) & set('<>:"/\\|?*')
    assert part.isprintable()
    assert unicodedata.normalize("NFC", part) == part
    assert safe(part) == part, "a name that is harmless stays"


def digest(name: str) -> str:
    return sha256(name.encode(errors="surrogatepass")).hexdigest()[:8]


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("a,=%.+-_9Z", "a,=%.+-_9Z"),
        ("ä,=%.+-_9Z", "ä,=%.+-_9Z"),
        ("a!b~c d", "a_b_cd"),
        ("ä!b~c d", "ä_b_cd"),
        ("1 2  3 a 4 b", "1_2_3a4b"),
        (".-.x", "x"),
        ("x-", "x-"),
        ("XXL", "XXL"),
        ("38.X", "38.X"),
        ("x..", "x"),
        ("x.-.", "x.-"),
        ("nul", "_nul"),
        ("com1.txt", "_com1.txt"),
        ("COM²", "_COM²"),
        ("com³", "_com³"),
        ("lpt9", "_lpt9"),
        ("comA", "comA"),
        ("-con", "_con"),
        ("com10", "com10"),
        ("lpt", "lpt"),
        ("x\u0301", "x\u0301"),  # no letter of its own: the mark stays on its letter
        ("x\u0301\u0301", "x\u0301\u0301"),
        ("1\u0301", "1\u0301"),
        ("\u0b95\u0bbe", "\u0b95\u0bbe"),  # a mark that takes room
        ("\u0301a", "_a"),  # a mark on nothing, on a sign, on what was no letter
        ("-a-\u0301", "a-_"),
        ("a🧥\u0301", "a__"),
        ("a\u20dd", "a_"),  # a ring around it
        ("a\u3164b", "a_b"),
        ("\u1780\u17b6あｱ𠮷", "\u1780\u17b6あｱ𠮷"),  # all seen
        ("a\ufe0f\u0301", "a__"),
        ("\ud800", "_"),
        ("x" * 101, "x" * 91 + "-" + digest("x" * 101)),
        ("ä" * 50, "ä" * 50),
        ("ä" * 51, "ä" * 45 + "-" + digest("ä" * 51)),  # no letter is cut in two
        ("a\u0308" * 51, "ä" * 45 + "-" + digest("ä" * 51)),
        ("\ud800" + "x" * 100, "_" + "x" * 90 + "-" + digest("\ud800" + "x" * 100)),
        ("x" * 100 + "/", "x" * 91 + "-" + digest("x" * 100 + "/")),
        ("x" * 100 + ":", "x" * 91 + "-" + digest("x" * 100 + ":")),
        ("x y" * 40, "xy" * 40),
    ],
)
def test_what_stays_of_a_name_and_what_it_ends_in(name: str, part: str) -> None:
    assert safe(name) == part


#: Unicode's Default_Ignorable_Code_Point: what is not seen, from and to.
NOT_SEEN = [
    ("\u00ad", "\u00ad"), ("\u034f", "\u034f"), ("\u061c", "\u061c"), ("\u115f", "\u1160"), ("\u17b4", "\u17b5"),
    ("\u180b", "\u180f"), ("\u200b", "\u200f"), ("\u202a", "\u202e"), ("\u2060", "\u206f"), ("\u3164", "\u3164"),
    ("\ufe00", "\ufe0f"), ("\ufeff", "\ufeff"), ("\uffa0", "\uffa0"), ("\ufff0", "\ufff8"),
    ("\U0001bca0", "\U0001bca3"), ("\U0001d173", "\U0001d17a"), ("\U000e0000", "\U000e0fff"),
]  # fmt: skip


def test_nothing_in_a_name_is_not_seen() -> None:
    for first, last in NOT_SEEN:
        for char in map(chr, range(ord(first), ord(last) + 1)):
            assert safe(f"a{char}b") == "a_b", ascii(char)


def test_a_variant_has_one_place() -> None:
    key = variant_key("women", "classic", [("drop", "45 mm"), ("ease", "5 %")], "38")
    assert key == "women/classic/drop=45mm,ease=5%/38"
    assert variant_key("a/b", "c:d", iter([]), "1 2") == "a_b/c_d/1_2"
    assert output_name(key, "plot") == f"{key}.plot.pdf"


# --- plans ------------------------------------------------------------------------------------


def test_a_plan_that_harms_nothing_passes_and_makes_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out"
    (tmp_path / "block.svg").write_text("x")
    plan = [("women, 38", "women/r/38.svg"), ("women, 40", "women/r/40.svg")]
    check_places(plan, out, inputs=[tmp_path / "block.svg"])
    assert not out.exists()
    (out / "women/r").mkdir(parents=True)
    (out / "women/r/38.svg").write_text("of the last run")
    (out / "women/r/40.svg").symlink_to(tmp_path / "elsewhere.svg")  # writing replaces the link
    check_places(plan, out, inputs=[tmp_path / "block.svg"])


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("a/r/38.svg", "a/r/38.svg"),
        ("a/r/38.svg", "A/r/38.svg"),
        ("a/r/x=45mm/38.svg", "a/r/X=45MM/38.svg"),
        ("Größe/r/38.svg", "GRO\u0308SSE/r/38.svg"),
        ("a/ﬁt/38.svg", "a/fit/38.svg"),
    ],
)
def test_two_outputs_of_one_place_are_refused_by_name(tmp_path: Path, one: str, other: str) -> None:
    with pytest.raises(WriteError) as caught:
        check_places([("the first", one), ("the second", other)], tmp_path)
    said = names_of(caught)
    assert "the first" in said
    assert "the second" in said
    with pytest.raises(WriteError):  # one of them is there already and would be written over
        check_places([("the second", other)], tmp_path, standing=[("the first", one)])
    check_places([("the first", one), ("the third", "b/r/38.svg")], tmp_path)


def test_an_output_is_no_folder_of_others(tmp_path: Path) -> None:
    plan = [("x", "a/r/x=1.svg"), ("y", "a/R/X=1.svg/38.svg")]
    with pytest.raises(WriteError, match=r"a/r/x=1\.svg of x would be the folder of other outputs"):
        check_places(plan, tmp_path)


def test_an_input_is_no_output_by_whatever_name(tmp_path: Path) -> None:
    block = tmp_path / "blocks" / "38.svg"
    block.parent.mkdir()
    block.write_text("precious")
    out = tmp_path / "out"
    (out / "a").mkdir(parents=True)
    plan = [("a, 38", "a/38.svg")]
    linked = tmp_path / "linked.svg"
    linked.symlink_to(out / "a" / "38.svg")
    os.link(block, out / "a" / "38.svg")
    for given_as in (block, linked, tmp_path / "blocks" / ".." / "blocks" / "38.svg"):
        with pytest.raises(WriteError, match="is the input"):
            check_places(plan, out, inputs=[given_as])
    check_places(plan, out, inputs=[tmp_path / "another.svg"])


def test_nothing_is_written_beside_an_input(tmp_path: Path) -> None:
    """A library whose glob finds its own outputs would read them as blocks for ever."""
    (tmp_path / "out/a/r").mkdir(parents=True)
    found = tmp_path / "out/a/r/38.svg"
    found.write_text("an output that a glob took for a block")
    with pytest.raises(WriteError, match=r"a/r: holds the input .*38\.svg"):
        check_places([("a, 40", "a/r/40.svg")], tmp_path / "out", inputs=[found])
    (tmp_path / "through").symlink_to(tmp_path / "out")
    with pytest.raises(WriteError, match="holds the input"):
        check_places([("a, 40", "a/r/40.svg")], tmp_path / "through", inputs=[found])


def test_no_way_leads_out_of_the_output_folder(tmp_path: Path) -> None:
    out, away = tmp_path / "out", tmp_path / "away"
    out.mkdir()
    away.mkdir()
    (out / "a").symlink_to(away)
    plan = [("v", f"a/r{i}/38.{ending}") for i in range(9) for ending in ("svg", "dxf")]
    with pytest.raises(WriteError, match="leads out of the output folder") as caught:
        check_places(plan, out)
    assert len(caught.value.problems) == 1, "a folder is named once"
    (out / "a").unlink()
    (out / "within").mkdir()
    (out / "a").symlink_to(out / "within")
    check_places(plan, out)
    (tmp_path / "other name").symlink_to(out)  # the output folder itself may be a link
    check_places(plan, tmp_path / "other name")


def test_what_is_no_plain_file_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "a/38.svg").mkdir(parents=True)
    os.mkfifo(tmp_path / "a/40.svg")
    (tmp_path / "b").write_text("a file where a folder is wanted")
    (tmp_path / "c").symlink_to(tmp_path / "nowhere")
    plan = [("v", name) for name in ("a/38.svg", "a/40.svg", "b/r/38.svg", "c/r/38.svg")]
    with pytest.raises(WriteError) as caught:
        check_places(plan, tmp_path)
    said = [str(problem) for problem in caught.value.problems]
    assert len(said) == 4
    assert "38.svg: is a folder" in said[0]
    assert "40.svg: is a device or pipe" in said[1]
    assert "/b: is no folder" in said[2]
    assert "/c: is no folder" in said[3]


def test_a_path_that_is_too_long_is_refused_before_it_is_tried(tmp_path: Path) -> None:
    deep = tmp_path.joinpath(*["d" * 200] * 19)
    with pytest.raises(WriteError, match="longer than file systems allow"):
        check_places([("v", "/".join(["x" * 100] * 3) + "/38.svg")], deep)
    check_places([("v", "a/38.svg")], tmp_path)


def test_a_great_many_mistakes_are_told_in_few_lines(tmp_path: Path) -> None:
    plan = [("v", f"a/{name}.svg") for i in range(5000) for name in (f"s{i}", f"S{i}")]
    with pytest.raises(WriteError) as caught:
        check_places(plan, tmp_path)
    assert len(caught.value.problems) == 21
    assert "and 4980 more" in str(caught.value.problems[-1])


def problems_of(plan: list[tuple[str, str]], within: Path, **others: object) -> list[str]:
    """The problems of a plan, a line each."""
    with pytest.raises(WriteError) as caught:
        check_places(plan, within, **others)
    return [str(problem) for problem in caught.value.problems]


APART = "name blocks, recipes, settings or sizes apart"


def test_what_would_be_one_file_is_named_whole(tmp_path: Path) -> None:
    plan = [("x", "a/38.svg"), ("y", "A/38.svg"), ("z", "a/38.SVG"), ("v", "a/40.svg")]
    assert problems_of(plan, tmp_path) == [
        f"two outputs would be one file: a/38.svg of x and A/38.svg of y; {APART}",
        f"two outputs would be one file: a/38.svg of x and a/38.SVG of z; {APART}",
    ]
    assert problems_of(plan[1:2], tmp_path, standing=iter(plan[:1])) == [
        f"two outputs would be one file: a/38.svg of x and A/38.svg of y; {APART}"
    ]
    check_places(
        [], tmp_path, standing=plan
    )  # what stands is nobody's business where nothing is made


def test_what_would_be_a_folder_is_named_whole(tmp_path: Path) -> None:
    apart = "would be the folder of other outputs; name recipes, settings or sizes apart"
    plan = [
        ("v", "b/r/x/38.svg"), ("v", "b/r/x/40.svg"), ("w", "B/R"), ("v", "a/r/38.svg"), ("x", "a"),
        ("v", "c/r/38.svg"),
    ]  # fmt: skip
    assert problems_of(plan, tmp_path) == [f"a of x {apart}", f"B/R of w {apart}"]
    check_places([("v", "a/r/38.svg"), ("w", "r"), ("x", "a/38.svg")], tmp_path)


@pytest.mark.parametrize(("mistakes", "rest"), [(20, []), (21, [1]), (22, [2])])
def test_twenty_mistakes_are_told(tmp_path: Path, mistakes: int, rest: list[int]) -> None:
    plan = [("v", f"a/{name}.svg") for i in range(mistakes) for name in (f"s{i}", f"S{i}")]
    said = problems_of(plan, tmp_path)
    assert said[20:] == [f"and {more} more outputs cannot be written" for more in rest]
    assert said[:20] == [
        f"two outputs would be one file: a/s{i}.svg of v and a/S{i}.svg of v; {APART}"
        for i in range(20)
    ]


def test_what_is_in_the_way_is_named_whole(tmp_path: Path) -> None:
    out, away = tmp_path / "out", tmp_path / "away"
    (out / "within/38.svg").mkdir(parents=True)
    away.mkdir()
    (out / "out").symlink_to(away)
    (out / "in").symlink_to(out / "within")
    (out / "in.svg").symlink_to(out / "within")  # a link is replaced, wherever it leads
    (out / "file").write_text("")
    os.mkfifo(out / "40.svg")
    plan = [
        ("0", "in.svg"), ("1", "out/r/38.svg"), ("2", "out/r/40.svg"), ("3", "in/38.svg"), ("4", "file/38.svg"),
        ("5", "40.svg"), ("6", "file/r/s/38.svg"), ("7", "in/40.svg"), ("8", "not/there.svg"), ("9", "within/38.svg"),
    ]  # fmt: skip
    assert problems_of(plan, out) == [
        f"{out}/out: leads out of the output folder, to {away}; an output of 1 would go there",
        f"{out}/in/38.svg: is a folder; an output of 3 would go there",
        f"{out}/file: is no folder; an output of 4 would go there",
        f"{out}/40.svg: is a device or pipe; an output of 5 would go there",
        f"{out}/within/38.svg: is a folder; an output of 9 would go there",
    ]


def test_what_has_the_same_names_elsewhere_is_in_nobodys_way(tmp_path: Path) -> None:
    (tmp_path / "a/38.svg").mkdir(parents=True)
    from_the_root = f"{tmp_path}/a/38.svg".removeprefix("/")
    check_places([("v", from_the_root)], tmp_path / "not_there")


def test_a_file_is_no_output_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    said = problems_of([("v", "a/38.svg"), ("w", "40.svg")], tmp_path / "out")
    assert said == [f"{tmp_path}/out: is no folder; an output of v would go there"]


def test_an_input_is_named_whole(tmp_path: Path) -> None:
    block, link = tmp_path / "block.svg", tmp_path / "link.svg"
    block.write_text("precious")
    link.symlink_to(block)
    out = tmp_path / "out"
    (out / "b").mkdir(parents=True)
    (out / "a").symlink_to(out / "b")
    os.link(block, out / "b/38.svg")
    os.link(link, out / "b/40.svg", follow_symlinks=False)  # the link itself, by another name
    gone = tmp_path / "gone.svg"
    said = problems_of([("v", "a/38.svg"), ("w", "b/40.svg")], out, inputs=[gone, block, link])
    assert said == [
        f"{out}/a/38.svg: is the input {link}; an output of v would go there",
        f"{out}/b/40.svg: is the input {link}; an output of w would go there",
    ]
    (out / "b/block.svg").write_text("")
    plan = [
        ("u", "38.svg"),
        ("v", "a/x.svg"),
        ("w", "a/y.svg"),
        ("x", "b/x.svg"),
        ("y", "b/r/x.svg"),
    ]
    said = problems_of(plan, out, inputs=[out / "b/block.svg"])
    assert said == [
        f"{out}/a: holds the input {out}/b/block.svg; an output of v would go there",
        f"{out}/b: holds the input {out}/b/block.svg; an output of x would go there",
    ]


def test_a_name_that_no_disk_can_hold_is_named_whole(tmp_path: Path) -> None:
    (tmp_path / "a/40.svg").mkdir(parents=True)
    said = problems_of([("v", "a/\ud800.svg"), ("w", "a/40.svg")], tmp_path)
    assert said == [
        f"{tmp_path}: file names of this system cannot hold 'a/\\ud800.svg'; an output of v would go there",
        f"{tmp_path}/a/40.svg: is a folder; an output of w would go there",
    ]
    check_places(
        [("v", "a/\0.svg")], tmp_path
    )  # nothing can be there; writing will say what is wrong


#: Bytes of the temporary name of an output: .sleevewright- and 16 digits, and .tmp
TEMPORARY = len(f"{TEMPORARY_PREFIX}{'0' * 16}.tmp")


def _no_pathconf(*_: object) -> int:
    raise OSError


@pytest.mark.parametrize("asked", ["kernel", "nothing", "error"])
def test_the_longest_path_is_that_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: str
) -> None:
    most = os.pathconf(tmp_path, "PC_PATH_MAX") - 1
    if asked == "nothing":  # Windows
        monkeypatch.delattr(os, "pathconf")
        most = 259
    elif asked == "error":
        monkeypatch.setattr(os, "pathconf", _no_pathconf)
        most = 259
    out = tmp_path / "not" / "there"

    def name_of(bytes_: int, last: str) -> str:
        """A name below the output folder whose whole path has so many bytes."""
        room = bytes_ - len(os.fsencode(out)) - 1 - len(os.fsencode(last))
        return "/".join(["d" * 49] * (room // 50) + ["d" * (room % 50 - 1), last]).replace(
            "//", "/d"
        )

    for last, spare in (
        ("x" * TEMPORARY, 0),
        ("x" * (TEMPORARY - 1), 1),
        ("38.svg", TEMPORARY - 6),
    ):
        name = name_of(most - spare, last)
        assert len(f"{out}/{name}") == most - spare
        check_places([("v", name)], out)
        name = name_of(most - spare + 1, last)
        assert problems_of([("v", name)], out) == [
            f"{out}: the path would be longer than file systems allow, with {len(name)} bytes more;"
            " an output of v would go there"
        ]
    two_bytes = name_of(most, "ä" * TEMPORARY)
    check_places([("v", two_bytes)], out)
    assert len(problems_of([("v", two_bytes), ("w", "d" + two_bytes)], out)) == 1


def test_the_folder_that_is_there_is_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def pathconf(place: Path, name: str) -> int:
        asked.append((Path(place), name))
        return 4096

    monkeypatch.setattr(os, "pathconf", pathconf)
    check_places([("v", "38.svg")], tmp_path / "not" / "there")
    assert asked == [(tmp_path, "PC_PATH_MAX")]


def test_it_is_cheap(tmp_path: Path) -> None:
    """10,000 outputs that are there, of which ten are to be made; and none to be made at all."""
    out = tmp_path / "out"
    for i in range(10):
        (out / f"block{i}").mkdir(parents=True)
    keys = [(f"v{i}", f"block{i % 10}/r/x={i}mm/38.svg") for i in range(10_000)]
    times = []
    for made, standing in ((keys[:10], keys[10:]), ([], keys), (keys, [])):
        best = 1e9
        for _ in range(3):
            began = time.perf_counter()
            check_places(made, out, standing=standing, inputs=[])
            best = min(best, time.perf_counter() - began)
        times.append(best)
    few, none, every = times
    assert none < 0.002
    assert few < 0.15  # measured 0.012; the machine may be busy
    assert every < 1.5


# --- where it is used -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def result():
    return convert(by_size(from_svg("men_overblock"))["50"], recipe("classic-raglan"), {})


def test_write_refuses_a_plan_before_anything_is_made(tmp_path: Path, result) -> None:
    small, large = (replace(result, settings=(("drop", text),)) for text in ("4/5", "4_5"))
    with pytest.raises(WriteError, match=r"drop 4/5.*drop 4_5"):
        write([small, large], tmp_path / "out", ["svg"])
    with pytest.raises(WriteError, match="one file"):
        write([result, result], tmp_path / "out", ["svg"])
    with pytest.raises(WriteError, match="one file"):
        write([replace(result, size="S"), replace(result, size="s")], tmp_path / "out", ["svg"])
    assert not (tmp_path / "out").exists()
    done = write(result, tmp_path / "out", ["json", "json"])
    assert [path.name for path in done] == ["50.json"]


def test_a_size_is_not_named_as_what_all_sizes_have(tmp_path: Path, result) -> None:
    sizes = [replace(result, size=size) for size in ("50", "all-sizes")]
    with pytest.raises(WriteError, match="all its sizes"):
        write(sizes, tmp_path / "out", ["xlsx"])
    assert not (tmp_path / "out").exists()
