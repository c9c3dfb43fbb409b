"""Patterns of files (* and ? and [...] within a name, ** for any folders), looked up within bounds.

The standard library's glob may walk a whole disk before it says a word. Here every name that is looked
at is counted, and `**` follows no link to a folder.
"""

import os
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path, PurePath

#: Names that one pattern may look at, and files that it may give.
MOST_LOOKED_AT = 100_000
MOST_FOUND = 10_000

#: Names of a pattern that have wildcards.
MOST_WILD = 20


def files_of(folder: Path, text: str) -> list[Path]:
    """Return the files that a path or pattern means, sorted; what cannot be looked at is not there.

    Args:
        folder: that it is relative to.
        text: of the pattern; it may be absolute.

    Raises:
        ValueError: it is no pattern, looks at too many names, gives too many files, or gives none and
            a folder could not be looked into.
    """
    pattern = PurePath(text)
    parts = pattern.parts[1:] if pattern.anchor else pattern.parts
    if any("**" in part and part != "**" for part in parts):
        raise ValueError("** stands alone between slashes")
    if sum(map(_is_wild, parts)) > MOST_WILD:
        raise ValueError(f"more than {MOST_WILD} names of it have wildcards")
    search = _Search()
    found: set[Path] = set()
    for path in search.matches(Path(pattern.anchor) if pattern.anchor else folder, parts):
        if is_file(path):
            found.add(path)
        if len(found) > MOST_FOUND:
            raise ValueError(f"it means more than {MOST_FOUND} files; name a narrower folder")
    if not found and search.refused:
        raise ValueError(search.refused)
    return sorted(found)


def is_file(path: Path) -> bool:
    """Whether there is a file; a path that the system does not take names none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _is_wild(part: str) -> bool:
    return any(c in part for c in "*?[")


class _Search:
    """Walks down a pattern and counts the names it looks at."""

    def __init__(self) -> None:
        self.looked_at = 0
        #: Of the first folder that could not be looked into: which, and why.
        self.refused = ""

    def matches(self, folder: Path, parts: tuple[str, ...]) -> Iterator[Path]:
        """Yield what the parts of a pattern mean in a folder."""
        plain = next((i for i, part in enumerate(parts) if _is_wild(part)), len(parts))
        folder = folder.joinpath(*parts[:plain])
        wild, rest = parts[plain : plain + 1], parts[plain + 1 :]
        if not wild:
            yield folder
        elif wild == ("**",):
            for inner in self.folders(folder):
                yield from self.matches(inner, rest)
        else:
            for entry in self.entries(folder):
                if fnmatchcase(entry.name, wild[0]):
                    yield from self.matches(folder / entry.name, rest)

    def folders(self, folder: Path) -> Iterator[Path]:
        """Yield a folder and all folders in it, but none by a link."""
        todo = [folder]
        while todo:
            here = todo.pop()
            yield here
            todo += [here / e.name for e in self.entries(here) if e.is_dir(follow_symlinks=False)]

    def entries(self, folder: Path) -> "list[os.DirEntry[str]]":
        """Return what is in a folder; nothing where it is none or may not be read (noted in `refused`).

        Raises:
            ValueError: too many names have been looked at.
        """
        found = []
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    found.append(entry)
                    self.looked_at += 1
                    if self.looked_at > MOST_LOOKED_AT:
                        break
        except PermissionError as error:
            self.refused = self.refused or f"{folder} cannot be read: {error.strerror}"
            return []
        except OSError:
            return []
        self.looked_at += 1
        if self.looked_at > MOST_LOOKED_AT:
            raise ValueError(
                f"more than {MOST_LOOKED_AT} names would be looked at; name a narrower folder"
            )
        return found
