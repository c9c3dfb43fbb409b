"""Files appear whole or not at all, and nothing else changes."""

import os
from pathlib import Path

import pytest

from sleevewright.errors import WriteError
from sleevewright.writing import whole_files, write_files


def names(folder):
    return sorted(p.name for p in folder.rglob("*"))


def test_files_and_their_folders_are_made(tmp_path):
    write_files({tmp_path / "a" / "b" / "38.dxf": b"one", tmp_path / "a" / "38.svg": b"two"})
    assert (tmp_path / "a" / "b" / "38.dxf").read_bytes() == b"one"
    assert (tmp_path / "a" / "38.svg").read_bytes() == b"two"
    assert names(tmp_path) == ["38.dxf", "38.svg", "a", "b"]


def test_a_file_of_the_same_bytes_is_not_touched(tmp_path):
    path = tmp_path / "38.dxf"
    write_files({path: b"one"})
    os.utime(path, (1, 1))
    before = path.stat()
    write_files({path: b"one"})
    assert (path.stat().st_ino, path.stat().st_mtime) == (before.st_ino, before.st_mtime)
    write_files({path: b"two"})
    assert path.read_bytes() == b"two"
    assert path.stat().st_ino != before.st_ino


def test_the_usual_permissions(tmp_path):
    old = os.umask(0o027)
    try:
        write_files({tmp_path / "x": b""})
    finally:
        os.umask(old)
    assert (tmp_path / "x").stat().st_mode & 0o777 == 0o640


def test_where_one_cannot_be_written_none_is(tmp_path):
    (tmp_path / "in_the_way").write_bytes(b"")
    good, bad = tmp_path / "38.dxf", tmp_path / "in_the_way" / "38.svg"
    good.write_bytes(b"old")
    with pytest.raises(WriteError, match=r"38\.svg: cannot be written: \w+"):
        write_files({good: b"new", bad: b"new"})
    assert good.read_bytes() == b"old"
    assert names(tmp_path) == ["38.dxf", "in_the_way"]


@pytest.mark.parametrize("failing", [0, 1, 2])
def test_a_full_disk_leaves_the_old_files(tmp_path, monkeypatch, failing):
    paths = [tmp_path / f"{i}.dxf" for i in range(3)]
    write_files(dict.fromkeys(paths, b"old"))
    count = iter(range(10))
    write = whole_files._write

    def full(path, data):
        if next(count) == failing:
            path.write_bytes(data[:1])
            raise OSError(28, os.strerror(28), str(path))
        write(path, data)

    monkeypatch.setattr(whole_files, "_write", full)
    with pytest.raises(
        WriteError, match=f"{failing}.dxf: cannot be written: No space left"
    ) as told:
        write_files(dict.fromkeys(paths, b"new"))
    assert told.value.exit_status == 4
    assert [p.read_bytes() for p in paths] == [b"old"] * 3
    assert names(tmp_path) == ["0.dxf", "1.dxf", "2.dxf"]


def test_an_interrupt_leaves_nothing_behind(tmp_path, monkeypatch):
    def interrupted(path, data):
        path.write_bytes(data[:1])
        raise KeyboardInterrupt

    monkeypatch.setattr(whole_files, "_write", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_files({tmp_path / "x": b"data"})
    assert names(tmp_path) == []


def test_a_link_is_replaced_and_its_target_kept(tmp_path):
    target = tmp_path / "foreign"
    target.write_bytes(b"foreign")
    link = tmp_path / "38.dxf"
    link.symlink_to(target)
    write_files({link: b"foreign"})  # even where the bytes are the same
    assert not link.is_symlink()
    write_files({link: b"ours"})
    assert target.read_bytes() == b"foreign"


def test_a_hard_link_to_a_foreign_file_is_parted_from_it(tmp_path):
    target, link = tmp_path / "foreign", tmp_path / "38.dxf"
    target.write_bytes(b"foreign")
    link.hardlink_to(target)
    write_files({link: b"ours"})
    assert (target.read_bytes(), link.read_bytes()) == (b"foreign", b"ours")


def test_inputs_are_never_written(tmp_path):
    source = tmp_path / "block.dxf"
    source.write_bytes(b"in")
    alias = tmp_path / "alias.dxf"
    alias.hardlink_to(source)
    for path in (source, alias, tmp_path / "x" / ".." / "block.dxf"):
        with pytest.raises(WriteError, match="is one of the inputs"):
            write_files({tmp_path / "other": b"", path: b"out"}, inputs=[source])
    assert source.read_bytes() == b"in"
    assert not (tmp_path / "other").exists()


def test_a_linked_folder_does_not_lead_out(tmp_path):
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    out.mkdir()
    elsewhere.mkdir()
    (out / "block").symlink_to(elsewhere)
    for path in (out / "block" / "38.dxf", out / ".." / "38.dxf", out / "block" / "new" / "38.dxf"):
        with pytest.raises(WriteError, match="lies outside the output folder"):
            write_files({path: b"x"}, within=out)
    assert names(elsewhere) == []
    write_files({out / "own" / "38.dxf": b"x"}, within=out)


def test_folders_and_pipes_are_refused_without_hanging(tmp_path):
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(WriteError) as told:
        write_files({tmp_path / "folder": b"", tmp_path / "pipe": b""})
    assert [p.found for p in told.value.problems] == ["is a folder", "is a device or pipe"]


def test_two_names_of_one_file_are_refused(tmp_path):
    composed, decomposed = "\u00e4.dxf", "A\u0308.DXF"
    with pytest.raises(WriteError, match="is the same file as"):
        write_files({tmp_path / composed: b"", tmp_path / decomposed: b""})
    assert names(tmp_path) == []


def test_a_name_that_is_too_long_is_told(tmp_path):
    with pytest.raises(WriteError, match="cannot be written: File name too long"):
        write_files({tmp_path / ("x" * 300): b""})
    assert names(tmp_path) == []


def test_a_relative_path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_files({Path("38.dxf"): b"x"}, within=Path())
    assert names(tmp_path) == ["38.dxf"]
