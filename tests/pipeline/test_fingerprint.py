"""Digests of values, and of the code of packages: equal for equals, different for whatever differs."""

import hashlib
import importlib
import re
import sys
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import numpy as np
import pytest

from sleevewright import __version__
from sleevewright.errors import Place, RecipeError
from sleevewright.pipeline.fingerprint import (
    digest_of,
    digest_of_bytes,
    package_version,
    pinned,
    refuse_other_code,
    tool_version,
)
from sleevewright.quantities import Kind

# --- values -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Seam:
    name: str
    width: float
    place: Place = Place()


@dataclass(frozen=True)
class Hem:
    name: str
    width: float


@dataclass(frozen=True)
class Tuck:
    name: str
    width: float


@dataclass(frozen=True)
class Other:
    label: str
    width: float


class Side(Enum):
    LEFT = 1
    RIGHT = 2


class Pleat(Enum):
    """An enum that shows itself as what it holds."""

    BOX = 1

    def __repr__(self) -> str:
        return repr(self.value)


class Curve:
    def __init__(self, *points: tuple[float, float]) -> None:
        self.controls = np.array(points)


def test_bytes_have_their_sha_256() -> None:
    # The one-block example of FIPS 180-2.
    assert digest_of_bytes(b"abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


#: Values of which no two are equal in what they say.
VALUES = [
    None, True, False, 1, 0, 1.0, 0.5, "", "1", "None", "a", "b", "a\0b", "a\0str:'b'", "\ud800", "é", Kind.LENGTH,
    "length", Side.LEFT, Side.RIGHT, Pleat.BOX,
    (), ("a",), ("a", "b"), ("b", "a"), ("ab",), (("a",), "b"), ("a", ("b",)), (("a", "b"),), ((), ()), ((),), (None,),
    {}, {"a": 1}, {"a": 2}, {"b": 1}, {"a": 1, "b": 2}, {"a": 2, "b": 1}, {"a": {"b": 1}}, {1: "a", "1": "b"}, ("a", 1),
    Seam("a", 1.0), Seam("b", 1.0), Seam("a", 2.0), Hem("a", 1.0), Tuck("a", 1.0), Other("a", 1.0), (Seam("a", 1.0),),
    Seam("a", (Seam("b", 1.0), 2.0)), (Seam("a", Seam("b", 1.0)), 2.0),
    (Place(), "a"), ("a", Place()),
    Curve((0.0, 0.0), (1.0, 2.0)), Curve((0.0, 0.0), (2.0, 1.0)), (Curve((0.0, 0.0)), Curve((1.0, 2.0))),
    (Curve((0.0, 0.0)),),
]  # fmt: skip


def test_what_differs_has_another_digest() -> None:
    digests = [digest_of(value) for value in VALUES]
    assert all(re.fullmatch("[0-9a-f]{64}", digest) for digest in digests)
    for i, digest in enumerate(digests):
        same = digests.index(digest)
        assert same == i, f"{VALUES[same]!r} and {VALUES[i]!r}"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"a": 1, "b": 2, 3: 4}, {3: 4, "b": 2, "a": 1}),
        (("a", 1), ["a", 1]),
        (Seam("a", 1.0, Place("x.yaml", 3)), Seam("a", 1.0, Place("y.yaml", 7))),
        (Curve((0.0, 1.0), (2.0, 3.0)), Curve((0.0, 1.0), (2.0, 3.0))),
        ((Place("x.yaml"), "a"), (Place("y.yaml"), "a")),
    ],
    ids=["order of a mapping", "list", "place", "curve", "places"],
)
def test_equals_have_one_digest(one: object, other: object) -> None:
    assert digest_of(one) == digest_of(other)


@pytest.mark.parametrize("value", [{1, 2}, ("a", {"b": {1}}), Seam("a", {1.5})])  # type: ignore[arg-type]
def test_what_has_no_order_has_no_digest(value: object) -> None:
    with pytest.raises(TypeError) as caught:
        digest_of(value)
    assert str(caught.value) == "set has no canonical form"


# --- code of packages -------------------------------------------------------------------------

EDITABLE = '{"url": "file:///x", "dir_info": {"editable": true}}'
STATED = '{"url": "file:///x", "dir_info": {}}'


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "site"
    folder.mkdir()
    monkeypatch.syspath_prepend(folder)
    return folder


def put(site: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        (site / name).parent.mkdir(parents=True, exist_ok=True)
        (site / name).write_text(text)
    importlib.invalidate_caches()


def put_package(site: Path, point: str, name: str = "odd", **info: str) -> None:
    """Put a package that gives one operation; `info` are files of its metadata, without ending or with .json."""
    texts = {
        "METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.5\n",
        "entry_points.txt": f"[sleevewright.operations]\ntwist = {point}\n\n[console_scripts]\nodd = oddly:main\n",
        **{key.replace("_json", ".json"): text for key, text in info.items()},
    }
    folder = f"{name.replace('-', '_')}-1.5.dist-info"
    put(site, {f"{folder}/{key}": text for key, text in texts.items()})


def version_of(name: str) -> str:
    return package_version.__wrapped__(name)


def of_files(files: dict[str, str]) -> str:
    """The digest of files, by name: each name, a zero, the SHA-256 of the content; 16 digits."""
    whole = b"".join(
        name.encode() + b"\0" + hashlib.sha256(text.encode()).digest()
        for name, text in sorted(files.items())
    )
    return hashlib.sha256(whole).hexdigest()[:16]


def test_the_tool_is_its_version_and_its_sources() -> None:
    import sleevewright

    folder = Path(sleevewright.__file__).parent
    files = {
        str(path.relative_to(folder)): path.read_text(encoding="utf-8")
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert len(files) > 100
    assert tool_version.__wrapped__() == f"{__version__}+{of_files(files)}"
    assert package_version("sleevewright") == tool_version()


def test_a_package_that_is_not_there_has_no_version() -> None:
    assert version_of("no-such-package-of-operations") == "?"


def test_a_package_without_a_list_is_the_modules_of_its_operations(site: Path) -> None:
    put(site, {"oddly.py": "x = 1\n", "beside.py": "y = 1\n"})
    put_package(site, "oddly:Twist")
    alone = version_of("odd")
    assert alone == f"1.5+{of_files({'oddly': 'x = 1' + chr(10)})}"
    put(site, {"beside.py": "y = 2\n"})
    assert version_of("odd") == alone
    put(site, {"oddly.py": "x = 2\n"})
    assert version_of("odd") != alone


@pytest.mark.parametrize("point", ["oddly.inner:Twist", "oddly.inner", "oddly:Twist.Inner"])
def test_a_module_in_a_package_counts_with_all_beside_it(site: Path, point: str) -> None:
    files = {"oddly/__init__.py": "", "oddly/inner.py": "x = 1\n", "oddly/deep/table.json": "{}"}
    put(site, {**files, "oddly/__pycache__/inner.pyc": "0", "oddly/deep/__pycache__/x.pyc": "0"})
    put_package(site, point)
    assert version_of("odd") == f"1.5+{of_files(files)}"
    assert "oddly" not in sys.modules


def test_only_modules_of_operations_count(site: Path) -> None:
    put(site, {"oddly.py": "x = 1\n", "twisted.py": "y = 1\n"})
    put_package(site, "twisted:Twist")  # its script is in oddly
    assert version_of("odd") == f"1.5+{of_files({'twisted': 'y = 1' + chr(10)})}"


@pytest.mark.parametrize("direct", ["", STATED])
def test_a_package_with_a_list_is_what_it_lists(site: Path, direct: str) -> None:
    files = {"oddly.py": "x = 1\n", "odd_data/table.json": "{}"}
    made = ["odd-1.5.dist-info/METADATA", "other.egg-info/x", "odd_data/__pycache__/x.pyc"]
    put(site, {**files, **dict.fromkeys(made[1:], "made"), "not_listed.py": ""})
    (site.parent / "odd-script").write_text("made")
    record = "".join(
        f"{name},,\n" for name in (*made, "../odd-script", "gone.py", "odd_data", *files)
    )
    put_package(
        site, "oddly:Twist", RECORD=record, **({"direct_url_json": direct} if direct else {})
    )
    assert version_of("odd") == f"1.5+{of_files(files)}"


@pytest.mark.parametrize("direct", [EDITABLE, "[]", '{"dir_info": 1}', "{ cut off"])
def test_an_editable_package_is_the_modules_of_its_operations(site: Path, direct: str) -> None:
    """So is one where what tells that is damaged."""
    put(site, {"oddly.py": "x = 1\n", "pointer.pth": "/somewhere\n"})
    put_package(site, "oddly:Twist", RECORD="pointer.pth,,\n", direct_url_json=direct)
    assert version_of("odd") == f"1.5+{of_files({'oddly': 'x = 1' + chr(10)})}"


@pytest.mark.parametrize(
    "point", ["no_such_module:Twist", "sys:Twist", "zipimport:Twist", "__main__:Twist", ":Twist"]
)
def test_operations_of_no_file_are_the_version_alone(site: Path, point: str) -> None:
    """What is declared wrongly hurts only recipes that use it; asking its version does no harm."""
    put_package(site, point)
    assert version_of("odd") == f"1.5+{of_files({})}"


def test_plugins_are_pinned_to_what_is_here(site: Path) -> None:
    put(site, {"oddly.py": "x = 1\n"})
    put_package(site, "oddly:Twist", "odd-of-pinned")
    code = of_files({"oddly": "x = 1\n"})
    assert pinned(["odd-of-pinned==1.5", "no-such-package==2"]) == (
        ("odd-of-pinned==1.5", f"1.5+{code}"),
        ("no-such-package==2", "?"),
    )
    assert pinned([]) == ()


def test_other_code_than_planned_is_refused() -> None:
    refuse_other_code([])
    refuse_other_code(iter([("sleevewright", tool_version()), ("no-such-package==2", "?")]))
    with pytest.raises(RecipeError) as caught:
        refuse_other_code(
            iter([("sleevewright", tool_version()), ("no-such-package==2", "2+0123")])
        )
    assert str(caught.value) == (
        "this worker has no-such-package ?, the batch was planned with 2+0123;"
        " install the same on every machine, and start the batch anew"
    )
    with pytest.raises(RecipeError) as caught:
        refuse_other_code([("sleevewright", "0.0+0123")])
    assert str(caught.value).startswith(
        f"this worker has sleevewright {tool_version()}, the batch was planned with 0.0+0123;"
    )
