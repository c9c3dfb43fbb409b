"""Files appear whole or not at all, and nothing else changes."""

import ctypes
import errno
import io
import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from sleevewright.errors import WriteError
from sleevewright.writing import whole_files, write_files
from sleevewright.writing.whole_files import remains, sync_folder


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
    write_files(dict.fromkeys(paths, b"old" * 100_000))
    count = iter(range(10))
    write = whole_files._write

    def full(path, data, *, synced):
        if next(count) == failing:
            path.write_bytes(data[:1])
            raise OSError(28, os.strerror(28), str(path))
        write(path, data, synced=synced)

    monkeypatch.setattr(whole_files, "_write", full)
    with pytest.raises(
        WriteError,
        match=f"{failing}.dxf: cannot be written: No space left on device,"
        f" needed about 2.4 MB in {tmp_path}$",
    ) as told:
        write_files(dict.fromkeys(paths, b"new" * 270_000))
    assert told.value.exit_status == 4
    assert [p.read_bytes() for p in paths] == [b"old" * 100_000] * 3
    assert names(tmp_path) == ["0.dxf", "1.dxf", "2.dxf"]


def test_an_interrupt_leaves_nothing_behind(tmp_path, monkeypatch):
    def interrupted(path, data, *, synced):
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
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "socket"))
    paths = [tmp_path / name for name in ("folder", "pipe", "socket")]
    with pytest.raises(WriteError) as told:
        write_files(dict.fromkeys([*paths, Path("/dev/null")], b""))
    found = [p.found for p in told.value.problems]
    assert found == ["is a folder", *["is a device or pipe"] * 3]


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


def test_a_folder_that_links_to_itself(tmp_path):
    (tmp_path / "out").symlink_to(tmp_path / "out")
    with pytest.raises(WriteError, match="cannot be written: no folder can be made at .*/out$"):
        write_files({tmp_path / "out" / "38.dxf": b"x"})


def test_a_link_planted_at_the_temporary_name_is_not_followed(tmp_path, monkeypatch):
    foreign = tmp_path / "foreign"
    foreign.write_bytes(b"foreign")
    monkeypatch.setattr(whole_files.secrets, "token_hex", lambda _: "guessed")
    (tmp_path / ".sleevewright-guessed.tmp").symlink_to(foreign)
    with pytest.raises(WriteError, match=r"38\.dxf: cannot be written: File exists"):
        write_files({tmp_path / "38.dxf": b"ours"})
    assert foreign.read_bytes() == b"foreign"
    assert not (tmp_path / "38.dxf").exists()


class Short(io.FileIO):
    """A file of a disk that tells more than it has written."""

    def write(self, data):
        super().write(bytes(data)[:-1])
        return len(data)


def test_a_write_that_falls_short_without_a_word(tmp_path, monkeypatch):
    path = tmp_path / "38.dxf"
    write_files({path: b"old"})
    monkeypatch.setattr(Path, "open", lambda path, mode: io.BufferedWriter(Short(path, mode)))
    with pytest.raises(WriteError, match=r"38\.dxf: cannot be written: only 7 of its 8 bytes are"):
        write_files({path: b"new data"})
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["38.dxf"]


# --- power cuts -------------------------------------------------------------------------------


@pytest.fixture
def acts(monkeypatch):
    """What is synced and renamed, in order."""
    done = []
    rename, sync = Path.replace, os.fsync

    def replace(path, target):
        done.append(("rename", path, target))
        return rename(path, target)

    def fsync(descriptor):
        done.append(("sync", Path(f"/proc/self/fd/{descriptor}").readlink()))
        sync(descriptor)

    monkeypatch.setattr(Path, "replace", replace)
    monkeypatch.setattr(os, "fsync", fsync)
    return done


def test_a_file_is_synced_before_it_is_renamed_and_its_folders_after(tmp_path, acts):
    paths = [tmp_path / "a" / "b" / "38.dxf", tmp_path / "a" / "c" / "38.svg"]
    write_files(dict.fromkeys(paths, b"x"), durability="file")
    synced = [act[1] for act in acts if act[0] == "sync"]
    renames = [act for act in acts if act[0] == "rename"]
    assert [target for _, _, target in renames] == paths
    last = acts.index(renames[-1])
    for rename in renames:
        assert acts.index(("sync", rename[1])) < acts.index(rename)
    # A folder that is new must be safe in the folder above it, too.
    for folder in (tmp_path, tmp_path / "a", tmp_path / "a" / "b", tmp_path / "a" / "c"):
        assert acts.index(("sync", folder)) > last
    assert len(synced) == len(set(synced)) == 6
    acts.clear()
    write_files(dict.fromkeys(paths, b"x"), durability="file")  # which changes nothing
    assert acts == []


@pytest.mark.parametrize("durability", ["run", "none"])
def test_nothing_is_synced_file_by_file(tmp_path, acts, durability):
    write_files({tmp_path / "a" / "38.dxf": b"x"}, durability=durability)
    assert [act[0] for act in acts] == ["rename"]


@pytest.mark.parametrize("number", [errno.EINVAL, errno.ENOTSUP])
def test_a_disk_that_cannot_sync_is_no_error(tmp_path, monkeypatch, number):
    def refused(_descriptor):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refused)
    write_files({tmp_path / "38.dxf": b"x"}, durability="file")
    assert (tmp_path / "38.dxf").read_bytes() == b"x"


@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC, errno.EDQUOT])
def test_a_sync_that_fails_leaves_the_old_file(tmp_path, monkeypatch, number):
    path = tmp_path / "38.dxf"
    write_files({path: b"old"})

    def refused(_descriptor):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refused)
    with pytest.raises(WriteError, match=rf"38\.dxf: cannot be written: {os.strerror(number)}"):
        write_files({path: b"new"}, durability="file")
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["38.dxf"]


@pytest.mark.skipif(shutil.which("strace") is None, reason="no strace")
def test_one_call_makes_a_folder_safe(tmp_path):
    """Seen from outside: a run asks for one syncfs of the folder and for no fsync."""
    log = tmp_path / "log"
    code = (
        "import sys; from pathlib import Path; from sleevewright.writing import whole_files as w\n"
        "out = Path(sys.argv[1]); w.write_files({out / str(i): b'x' for i in range(9)})\n"
        "w.sync_folder(out)"
    )
    words = ["strace", "-y", "-o", str(log), "-e", "trace=fsync,fdatasync,sync,syncfs"]
    out = tmp_path / "out"
    subprocess.run([*words, sys.executable, "-c", code, str(out)], check=True)
    calls = [line for line in log.read_text().splitlines() if "sync" in line]
    assert len(calls) == 1
    assert calls[0].startswith("syncfs(")
    assert f"<{out}>" in calls[0]
    assert calls[0].endswith("= 0")


def tree(folder):
    (folder / "a" / "b").mkdir(parents=True)
    (folder / "a" / "38.dxf").write_bytes(b"x")
    (folder / "elsewhere").symlink_to("/")
    os.mkfifo(folder / "a" / "pipe")


def test_where_one_call_is_not_to_be_had_every_file_is_synced(tmp_path, acts, monkeypatch):
    monkeypatch.setattr(sys, "platform", "darwin")
    tree(tmp_path)
    sync_folder(tmp_path)
    assert {act[1].relative_to(tmp_path).as_posix() for act in acts} == {
        ".", "a", "a/b", "a/38.dxf",
    }  # fmt: skip


class Refusing:
    """A C library whose syncfs fails."""

    def __init__(self, number):
        self.number = number

    def syncfs(self, _descriptor):
        ctypes.set_errno(self.number)
        return -1


def test_a_disk_that_lost_what_was_written_is_told(tmp_path, monkeypatch, acts):
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: Refusing(errno.EIO))
    with pytest.raises(WriteError, match=f"{tmp_path}: cannot be written: Input/output error"):
        sync_folder(tmp_path)
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: Refusing(errno.ENOSYS))
    sync_folder(tmp_path)
    assert acts == [("sync", tmp_path)]
    monkeypatch.undo()
    with pytest.raises(WriteError, match="nowhere: cannot be written: No such file"):
        sync_folder(tmp_path / "nowhere")


def test_what_a_killed_process_left_is_found_and_nothing_else(tmp_path):
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    for folder in (out / "block", elsewhere):
        folder.mkdir(parents=True)
        (folder / ".sleevewright-0123456789abcdef.tmp").write_bytes(b"half")
        (folder / "38.dxf").write_bytes(b"")
    (out / "block" / ".sleevewright-1.tmp").symlink_to(elsewhere / "38.dxf")
    (out / "block" / ".sleevewright-2.tmp").mkdir()
    (out / "link").symlink_to(elsewhere)
    found = [out / "block" / ".sleevewright-0123456789abcdef.tmp"]
    assert remains(out / "block", within=out) == remains(out / "block") == found
    assert remains(out / "link", within=out) == []
    assert remains(out / "nowhere", within=out) == []
    assert remains(out, within=out) == []
