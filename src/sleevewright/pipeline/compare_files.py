"""Two files, or the output folders of two runs, compared variant by variant."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sleevewright.errors import LabelError, Place, Problem, ReadError, WriteError
from sleevewright.pattern import Pattern, measurements
from sleevewright.pipeline.compare import Comparison, Profile, compare_profiles, profile_of
from sleevewright.pipeline.plan import touched
from sleevewright.pipeline.state import FILE, State
from sleevewright.reading import read_pattern
from sleevewright.reading.finished import read_finished
from sleevewright.writing import write_files
from sleevewright.writing.overlay import OVERLAY, overlay_svg

_READABLE = (".svg", ".dxf")  # the better form first


@dataclass(frozen=True, slots=True)
class Pair:
    """A variant or size on both sides.

    Attributes:
        name: of the variant, or the size.
        old, new: profiles; None where it is not there.
        comparison: what differs; None where it is on one side alone.
        problem: why it cannot be compared; "" where it can.
    """

    name: str
    old: Profile | None
    new: Profile | None
    comparison: Comparison | None
    problem: str = ""

    def lines(self) -> tuple[str, ...]:
        """Say what differs; empty where nothing does, or nothing is known."""
        if self.problem:
            return ()
        if self.comparison is None:
            return ("new",) if self.old is None else ("gone",)
        return self.comparison.lines()

    def rows(self) -> list[tuple[str, float | None, float | None, float | None]]:
        """Return what differs as (what, was, is, moved), mm or as its name says."""
        found = self.comparison
        if found is None:
            return [(f"{self._state} variant", None, None, None)]
        told = (*found.broken, *found.gone, *found.new)
        kinds = ("seam no longer meets",) * len(found.broken) + ("piece gone",) * len(found.gone)
        kinds += ("piece new",) * len(found.new)
        return [
            *(
                (f"{kind}: {name}", None, None, None)
                for kind, name in zip(kinds, told, strict=True)
            ),
            *(
                (f"{e.piece}.{e.edge}", e.was, e.now, e.moved if e.moved < 1e9 else None)
                for e in found.edges
            ),
            *((name, was, now, now - was) for name, was, now in found.measurements),
        ]

    @property
    def _state(self) -> str:
        if self.problem:
            return "unreadable"
        return "both" if self.comparison is not None else self.lines()[0]

    def record(self) -> dict[str, Any]:
        """Return it as plain values, mm."""
        found = self.comparison or Comparison()
        return {
            "name": self.name,
            "state": self._state,
            "problem": self.problem,
            "pieces_gone": list(found.gone),
            "pieces_new": list(found.new),
            "edges": [
                {
                    "piece": e.piece, "edge": e.edge,
                    "moved_mm": round(e.moved, 4) if e.moved < 1e9 else None,
                    "was_mm": round(e.was, 4), "now_mm": round(e.now, 4),
                }
                for e in found.edges
            ],
            "measurements": [
                {"name": name, "was": was, "now": now} for name, was, now in found.measurements
            ],
            "seams_broken": list(found.broken),
        }  # fmt: skip


def compare_places(old: Path, new: Path) -> list[Pair]:
    """Compare two files size by size, or two folders variant by variant.

    A file of a folder that cannot be read is told in its pair; the others are compared.

    Raises:
        ReadError: one is missing, one is a folder and the other a file, or one of two files cannot
            be read.
    """
    for path in (old, new):
        try:
            path.stat()
            if path.is_dir():
                next(path.iterdir(), None)
        except FileNotFoundError:
            raise ReadError(Problem("there is no such file or folder", Place(str(path)))) from None
        except OSError as error:
            raise ReadError(
                Problem(f"cannot be read: {error.strerror}", Place(str(path)))
            ) from None
    if old.is_dir() != new.is_dir():
        raise ReadError(Problem("one is a folder, the other a file", Place(f"{old}, {new}")))
    sides = [_folder(p) if p.is_dir() else _file(p) for p in (old, new)]
    if len(sides[0]) == len(sides[1]) == 1 and not old.is_dir():
        # Two files of one size each are meant as versions of one another, whatever they are called.
        sides[1] = {next(iter(sides[0])): next(iter(sides[1].values()))}
    names = sorted({*sides[0], *sides[1]})
    return [_pair(name, sides[0].get(name), sides[1].get(name)) for name in names]


class _Lazy:
    """A profile that is read when it is wanted; equal bytes are not read at all."""

    def __init__(self, path: Path | None, profile: Profile | None = None) -> None:
        self.path = path
        self._profile = profile

    @property
    def profile(self) -> Profile:
        if self._profile is None:
            assert self.path is not None
            pattern = _patterns(self.path)[0]
            self._profile = profile_of(pattern, measurements(pattern).items())
        return self._profile


def _pair(name: str, old: _Lazy | None, new: _Lazy | None) -> Pair:
    try:
        return _compared(name, old, new)
    except (ReadError, LabelError) as error:
        return Pair(name, None, None, None, str(error))


def _compared(name: str, old: _Lazy | None, new: _Lazy | None) -> Pair:
    if old is None or new is None:
        return Pair(name, old.profile if old else None, new.profile if new else None, None)
    if old.path and new.path and old.path.read_bytes() == new.path.read_bytes():
        return Pair(name, None, None, Comparison())
    return Pair(name, old.profile, new.profile, compare_profiles(old.profile, new.profile))


def _file(path: Path) -> dict[str, _Lazy]:
    return {
        pattern.size: _Lazy(None, profile_of(pattern, measurements(pattern).items()))
        for pattern in _patterns(path)
    }


def _patterns(path: Path) -> tuple[Pattern, ...]:
    finished = read_finished(path)
    return (finished,) if finished else read_pattern([path]).patterns


def _folder(folder: Path) -> dict[str, _Lazy]:
    """Return the variants below a folder by their place in it."""
    found: dict[str, _Lazy] = {}
    for ending in reversed(_READABLE):
        for path in sorted(folder.rglob(f"*{ending}")):
            found[path.relative_to(folder).with_suffix("").as_posix()] = _Lazy(path)
    if (folder / FILE).exists():
        with suppress(WriteError):  # a record saves reading the files, no more
            found.update(list(_recorded(folder, found)))
    return found


def _recorded(folder: Path, found: dict[str, _Lazy]) -> Iterator[tuple[str, _Lazy]]:
    """Yield the variants whose record can stand for their files: these are as they were written."""
    with State(folder, read_only=True) as state:
        for record in state.records():
            if record.key in found and not any(touched(folder, record.outputs)):
                profile = state.summary(record.key).get("profile")
                if profile:
                    yield record.key, _Lazy(found[record.key].path, profile)


def overlay_of(pairs: list[Pair], report: Path, inputs: tuple[Path, ...]) -> None:
    """Write a picture of every pair that differs: old and new pieces laid on one another.

    Raises:
        WriteError: it cannot be written, is to be no SVG, or would replace something else than an
            earlier one.
    """
    if report.suffix.lower() != ".svg":
        raise WriteError(Problem("is no name of an SVG", Place(str(report)), "NAME.svg"))
    if report.is_file() and OVERLAY not in report.read_bytes()[:1000]:
        raise WriteError(
            Problem("is there already, and is no overlay picture of an earlier comparison",
                    Place(str(report)), remedy="name another file")
        )  # fmt: skip
    shown = []
    for pair in pairs:
        if pair.comparison and pair.old is not None and pair.new is not None:
            moved = {(e.piece, e.edge): e.moved for e in pair.comparison.edges if e.moved < 1e9}
            shown.append((pair.name, pair.old, pair.new, pair.lines(), moved))
    write_files(
        {report: overlay_svg(shown)}, inputs=[p for p in inputs if p.is_file()], durability="file"
    )
