"""What a run did to a folder, as a trace tells it, and what a disk may hold of that after a power cut.

A file system promises an order only to those who sync: of all that no sync has covered, any part may be lost, the
entries of folders apart from the bytes of files. (The method is that of published work on crash consistency:
ALICE, Pillai and others, OSDI 2014; CrashMonkey, Mohan and others, OSDI 2018.)
"""

import ast
import random
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

#: The calls that a trace must show; a folder changed by another one is told by `Journal.tree` of the whole.
CALLS = (
    "openat", "creat", "write", "pwrite64", "ftruncate", "rename", "renameat", "renameat2", "link",
    "unlink", "unlinkat", "mkdir", "rmdir", "fsync", "fdatasync", "syncfs",
)  # fmt: skip
#: As much of a file as reaches a disk whole or not at all, and in the order in which it was written.
BLOCK = 4096
ROOT = 0  # number of the folder that is watched


@dataclass(frozen=True)
class Data:
    """Bytes of a file, within one block of it."""

    file: int
    at: int
    data: bytes


@dataclass(frozen=True)
class Size:
    """A file is cut to a size, or grows to it."""

    file: int
    size: int


@dataclass(frozen=True)
class Entry:
    """Names of a folder that lead to a file or folder, or (None) to nothing, all at one stroke."""

    file: int
    names: tuple[tuple[str, int | None], ...]


@dataclass(frozen=True)
class Sync:
    """What was done to a file or folder before is safe; to all of them, where it is None."""

    file: int | None


@dataclass(frozen=True)
class Said:
    """A line that the process told its caller."""

    line: str


Op = Data | Size | Entry | Sync | Said
Tree = Mapping[str, tuple[bytes, int]]  # path -> (bytes, number of the file)


@dataclass
class Journal:
    """What was done, in order.

    Attributes:
        ops: all of it.
        folders: numbers of what is a folder.
    """

    ops: list[Op] = field(default_factory=list)
    folders: set[int] = field(default_factory=lambda: {ROOT})

    def unsynced(self, cut: int) -> list[int]:
        """Return which of the operations before a cut no sync has covered."""
        found: list[int] = []
        for number, op in enumerate(self.ops[:cut]):
            if isinstance(op, Sync):
                found = [i for i in found if op.file not in (None, _file(self.ops[i]))]
            elif not isinstance(op, Said):
                found.append(number)
        return found

    def tree(self, cut: int, lost: Iterable[int] = (), *, filled: bool = False) -> Tree:
        """Return the files of the folder after a cut.

        Args:
            cut: how many operations there were.
            lost: which of them are lost.
            filled: whether a file has its size all the same, with zeros for what is lost.
        """
        gone, data, entries = set(lost), dict[int, bytearray](), dict[int, dict[str, int]]()
        sizes: dict[int, int] = {}
        for number, op in enumerate(self.ops[:cut]):
            match op:
                case Data(file, at, part):
                    sizes[file] = max(sizes.get(file, 0), at + len(part))
                case Size(file, size):
                    sizes[file] = size
            if number not in gone:
                _do(op, data, entries)
        if filled:
            for file, size in sizes.items():
                there = data.setdefault(file, bytearray())
                there.extend(bytes(max(size - len(there), 0)))
        return dict(self._walk(ROOT, "", data, entries))

    def _walk(
        self,
        folder: int,
        path: str,
        data: Mapping[int, bytes],
        entries: Mapping[int, dict[str, int]],
    ) -> Iterator[tuple[str, tuple[bytes, int]]]:
        for name, file in sorted(entries.get(folder, {}).items()):
            if file in self.folders:
                yield from self._walk(file, f"{path}{name}/", data, entries)
            else:
                yield path + name, (bytes(data.get(file, b"")), file)

    def trees(self, cut: int, draws: int, seed: int) -> Iterator[tuple[str, Tree]]:
        """Yield what a disk may hold after a cut, each with a few words: nine kinds, and drawn ones."""
        loose = self.unsynced(cut)
        data = [i for i in loose if not isinstance(self.ops[i], Entry)]
        entries = [i for i in loose if isinstance(self.ops[i], Entry)]
        drops = [i for i in entries if None in dict(self.ops[i].names).values()]
        halves = [i for file in self._by_file(data) for i in file[len(file) // 2 :]]
        yield "all there", self.tree(cut)
        yield "all lost", self.tree(cut, loose)
        yield "data lost", self.tree(cut, data)
        yield "data zeros", self.tree(cut, data, filled=True)
        yield "data cut short", self.tree(cut, halves)
        yield "data half zeros", self.tree(cut, halves, filled=True)
        yield "entries lost", self.tree(cut, entries)
        yield "renames and deletions lost", self.tree(cut, drops)
        yield "the last lost", self.tree(cut, loose[-1:])
        drawn = random.Random(f"{seed} {cut}")
        for turn in range(draws if loose else 0):
            lost = self._drawn(loose, drawn, share=(0.05, 0.5, 0.95)[turn % 3])
            yield "drawn", self.tree(cut, lost, filled=drawn.random() < 0.5)

    def _by_file(self, numbers: list[int]) -> Iterator[list[int]]:
        for file in dict.fromkeys(_file(self.ops[i]) for i in numbers):
            yield [i for i in numbers if _file(self.ops[i]) == file]

    def _drawn(self, loose: list[int], drawn: random.Random, share: float) -> Iterator[int]:
        """Draw what is lost; of one block what was written later is lost with what was earlier."""
        blocks: set[tuple[int, int]] = set()
        for number in loose:
            op = self.ops[number]
            block = (op.file, op.at // BLOCK) if isinstance(op, Data) else None
            if block in blocks or drawn.random() < share:
                yield number
                if block is not None:
                    blocks.add(block)


def _file(op: Op) -> int | None:
    return None if isinstance(op, Said) else op.file


def _do(op: Op, data: dict[int, bytearray], entries: dict[int, dict[str, int]]) -> None:
    match op:
        case Data(file, at, part):
            there = data.setdefault(file, bytearray())
            there.extend(bytes(max(at - len(there), 0)))
            there[at : at + len(part)] = part
        case Size(file, size):
            there = data.setdefault(file, bytearray())
            there[size:] = bytes(max(size - len(there), 0))
        case Entry(folder, names):
            for name, file in names:
                if file is None:
                    entries.get(folder, {}).pop(name, None)
                else:
                    entries.setdefault(folder, {})[name] = file


# --- from a trace -----------------------------------------------------------------------------

_CALL = re.compile(r"(\d+) +(\w+)\((.*)\) += (\d+)")
_BEGUN = re.compile(r"(\d+) +(\w+\(.*) <unfinished \.\.\.>")
_RESUMED = re.compile(r"(\d+) +<\.\.\. \w+ resumed>(.*)")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"')
_WRITTEN = re.compile(r'\d+<(.*?)>, ("(?:[^"\\]|\\.)*"), \d+(?:, (\d+))?')
_OPEN = re.compile(r"\d+<(.*?)>")


def journal_of(trace: Iterable[str], folder: str) -> Journal:
    """Read a trace of `strace -f -y -s` (of whole texts) for what it did below a folder.

    A call counts as done when it returns. What `write` writes goes to the end of its file.
    """
    reader = _Reader(folder)
    for line in _whole(trace):
        if found := _CALL.match(line):
            reader.read(found[2], found[3], found[4])
    return reader.journal


def _whole(trace: Iterable[str]) -> Iterator[str]:
    """Put calls together that another process came between."""
    begun: dict[str, str] = {}
    for line in trace:
        if found := _BEGUN.match(line):
            begun[found[1]] = found[2]
        elif found := _RESUMED.match(line):
            yield f"{found[1]} {begun.pop(found[1], '')}{found[2]}"
        else:
            yield line


class _Reader:
    """The files of a folder, by their names of the moment, while a trace is read."""

    def __init__(self, folder: str) -> None:
        self.journal = Journal()
        self._folder = folder
        self._files = {"": ROOT}
        self._sizes: dict[int, int] = {}
        self._last = ROOT

    def read(self, call: str, words: str, result: str) -> None:
        if "write" in call:
            self._write(words, int(result))
        elif "sync" in call or call == "ftruncate":
            self._of_open(call, words)
        else:
            texts = [ast.literal_eval(f"b{text}").decode() for text in _TEXT.findall(words)]
            paths = [path for text in texts if (path := self._inside(text)) is not None]
            if len(paths) == len(texts) and paths:
                self._name(call, words, paths)

    def _inside(self, path: str) -> str | None:
        """Return a path as seen from the folder; None where it is not in it."""
        if path == self._folder:
            return ""
        return (
            path.removeprefix(f"{self._folder}/") if path.startswith(self._folder + "/") else None
        )

    def _write(self, words: str, count: int) -> None:
        found = _WRITTEN.match(words)
        if found is None:
            return
        data = ast.literal_eval(f"b{found[2]}")[:count]
        file = self._files.get(self._inside(found[1]) or "-")
        if words.startswith("1<") and file is None:
            self.journal.ops += [Said(line) for line in data.decode().splitlines()]
        if file is None:
            return
        size = self._sizes.get(file, 0)
        at = size if found[3] is None else int(found[3])
        self._sizes[file] = max(size, at + len(data))
        edges = [at, *range((at // BLOCK + 1) * BLOCK, at + len(data), BLOCK), at + len(data)]
        self.journal.ops += [
            Data(file, start, data[start - at : end - at]) for start, end in pairwise(edges)
        ]

    def _of_open(self, call: str, words: str) -> None:
        found = _OPEN.match(words)
        path = None if found is None else self._inside(found[1])
        if path is None or path not in self._files:
            return
        if call == "syncfs":
            self.journal.ops.append(Sync(None))
        elif call == "ftruncate":
            self._cut(self._files[path], int(words.rpartition(", ")[2]))
        else:
            self.journal.ops.append(Sync(self._files[path]))

    def _cut(self, file: int, size: int) -> None:
        self._sizes[file] = size
        self.journal.ops.append(Size(file, size))

    def _name(self, call: str, words: str, paths: list[str]) -> None:
        last = paths[-1]
        if call in ("openat", "creat"):
            if last not in self._files and "O_CREAT" in words:
                self._enter((last, self._new()))
            elif "O_TRUNC" in words:
                self._cut(self._files[last], 0)
        elif call == "mkdir":
            new = self._new()
            self.journal.folders.add(new)
            self._enter((last, new))
        elif call.startswith("rename"):
            self._enter((last, self._files[paths[0]]), (paths[0], None))
        elif call == "link":
            self._enter((last, self._files[paths[0]]))
        else:
            self._enter((last, None))

    def _new(self) -> int:
        self._last += 1
        return self._last

    def _enter(self, *names: tuple[str, int | None]) -> None:
        """Change entries of folders: of one folder at one stroke."""
        folders: dict[int, list[tuple[str, int | None]]] = {}
        for path, file in names:
            folder, _, name = path.rpartition("/")
            folders.setdefault(self._files[folder], []).append((name, file))
            if file is None:
                del self._files[path]
            else:
                self._files[path] = file
        self.journal.ops += [Entry(folder, tuple(changes)) for folder, changes in folders.items()]
