"""The operations that are installed, by recipe name; loaded when a recipe names one.

Built-in operations are entry points of this package, as a third party's are of theirs. One that
cannot be imported or is declared wrongly stays in the list and hurts only recipes that use it.

A third party's package is a *plug-in*: code with all the rights of the user. It is imported only
where a library or the command line allows it by name and version; until then it is known by its
metadata alone.
"""

import re
import sys
from collections.abc import Iterable, Iterator
from contextlib import chdir, redirect_stdout
from dataclasses import dataclass, field, replace
from importlib.metadata import Distribution, EntryPoint, entry_points
from itertools import pairwise
from typing import Any

from sleevewright.errors import Place, Problem, RecipeError, Stopped, did_you_mean
from sleevewright.operations.contract import DeclarationError, Setting, settings_of

GROUP = "sleevewright.operations"
OWN = "sleevewright"


@dataclass(frozen=True)
class Entry:
    """An installed operation that may not be loaded yet.

    Attributes:
        name: as recipes write it.
        source: the entry point (or the class itself, in tests).
        distribution: name of the package it comes from.
        version: of that package.
        allowed: whether it may be imported.
    """

    name: str
    source: EntryPoint | type
    distribution: str
    version: str = ""
    allowed: bool = True

    @property
    def is_ours(self) -> bool:
        """Whether it comes with sleevewright."""
        return self.distribution == OWN

    @property
    def plugin(self) -> str:
        """NAME==VERSION, as it is allowed."""
        return f"{self.distribution}=={self.version}"

    def load(self) -> type:
        """Import and check the operation.

        Raises:
            RecipeError: the package is at fault; says which, and how.
        """
        try:
            cls = self.source if isinstance(self.source, type) else self._imported(self.source)
            settings_of(cls)
            for method in ("apply", "promises"):
                if not callable(getattr(cls, method, None)):
                    raise DeclarationError(f"it has no {method}")
        except Exception as error:
            raise RecipeError(
                f"operation {self.name!r} of {self.distribution} {self.version} cannot be used:"
                f" {type(error).__name__}: {error}"
            ) from error
        return cls

    def _imported(self, point: EntryPoint) -> Any:
        """Import what an entry point names; what a stranger's module prints or where it goes is its own."""
        if self.is_ours:
            return point.load()
        try:
            with redirect_stdout(sys.stderr), chdir("."):
                return point.load()
        except Stopped:
            raise
        except SystemExit as error:
            raise ImportError(f"its import asked for the end of the process ({error})") from None


@dataclass(frozen=True)
class Registry:
    """Operations by recipe name.

    Attributes:
        entries: sorted by name; also those that are not allowed.
    """

    entries: tuple[Entry, ...]
    _loaded: dict[str, type] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def installed(cls, plugins: Iterable[str] = (), place: Place = Place()) -> "Registry":
        """Return what is installed beside this package.

        Args:
            plugins: NAME==VERSION of packages whose operations may be used.
            place: where they are named, for messages.

        Raises:
            RecipeError: a package is not installed in that version, or two that are allowed give
                operations of one name.
        """
        found = []
        named: dict[Distribution | None, tuple[str, str]] = {None: ("?", "?")}
        for point in entry_points(group=GROUP):
            dist = point.dist
            if dist is not None and dist not in named:  # its metadata is parsed at each look
                named[dist] = (dist.name or "?", dist.version or "?")
            name, version = named[dist]
            found.append(Entry(point.name, point, name, version, allowed=name == OWN))
        for plugin in plugins:
            found = _allowing(plugin, found, place)
        return cls.of(found)

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> "Registry":
        """Return a registry of these entries.

        Raises:
            RecipeError: two entries that are allowed share a name.
        """
        found = sorted(set(entries), key=lambda e: (e.name, not e.allowed, e.plugin))
        for one, two in pairwise(found):
            if one.name == two.name and two.allowed and one.source != two.source:
                raise RecipeError(
                    f"two packages give an operation {one.name!r}: {one.plugin} and {two.plugin};"
                    " allow only one"
                )
        return cls(tuple(found))

    def __iter__(self) -> Iterator[Entry]:
        """Iterate over those that may be used."""
        return (entry for entry in self.entries if entry.allowed)

    @property
    def names(self) -> tuple[str, ...]:
        """Recipe names of those that may be used, sorted."""
        return tuple(entry.name for entry in self)

    @property
    def not_allowed(self) -> tuple[Entry, ...]:
        """Operations that are installed, but may not be imported."""
        return tuple(entry for entry in self.entries if not entry.allowed)

    def entry(self, name: str, place: Place = Place()) -> Entry:
        """Return the entry of this name.

        Raises:
            RecipeError: there is none (names the nearest), or it is not allowed.
        """
        for entry in self.entries:  # one that is allowed stands before others of its name
            if entry.name == name:
                if not entry.allowed:
                    raise _not_allowed(entry, place)
                return entry
        raise RecipeError(
            Problem(
                f"{name!r} is no operation{did_you_mean(name, self.names)}",
                place,
                f"operations are {', '.join(self.names)}",
            )
        )

    def plugins_of(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return NAME==VERSION of the plug-ins that give these operations, sorted."""
        entries = [self.entry(name) for name in names]
        return tuple(sorted({entry.plugin for entry in entries if not entry.is_ours}))

    def operation(self, name: str, place: Place = Place()) -> type:
        """Return the class of an operation, loading it at its first use.

        Raises:
            RecipeError: no such operation, or its package is at fault.
        """
        if name not in self._loaded:
            self._loaded[name] = self.entry(name, place).load()
        return self._loaded[name]

    def broken(self) -> dict[str, str]:
        """Return the operations that cannot be used: name -> whose fault it is, and why."""
        found = {}
        for name in self.names:
            try:
                self.operation(name)
            except RecipeError as error:
                found[name] = str(error)
        return found

    def settings(self, name: str) -> tuple[Setting, ...]:
        """Return the settings of an operation."""
        return settings_of(self.operation(name))


def _allowing(plugin: str, entries: list[Entry], place: Place) -> list[Entry]:
    """Return the entries with those of a package allowed.

    Raises:
        RecipeError: it is not installed, or in another version.
    """
    name, _, version = plugin.partition("==")
    if not name or not version:
        raise RecipeError(Problem(f"plug-in {plugin!r}", place, "NAME==VERSION of a package"))
    mine = [e for e in entries if _normal(e.distribution) == _normal(name) and not e.is_ours]
    if not mine:
        others = ", ".join(sorted({e.plugin for e in entries if not e.is_ours})) or "none"
        raise RecipeError(
            Problem(f"plug-in {plugin} is not installed, or gives no operation", place,
                    f"plug-ins that are installed: {others}", "install it, or do not name it")
        )  # fmt: skip
    if mine[0].version != version:
        raise RecipeError(
            Problem(f"plug-in {plugin}: version {mine[0].version} is installed", place, "",
                    f"allow {mine[0].plugin}, or install {plugin}")
        )  # fmt: skip
    return [replace(e, allowed=True) if e in mine else e for e in entries]


def _normal(name: str) -> str:
    """Return the name of a package in its normal form (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _not_allowed(entry: Entry, place: Place) -> RecipeError:
    return RecipeError(
        Problem(
            f"operation {entry.name!r} comes with the plug-in {entry.plugin}, which is not allowed",
            place, "", f"to use it, add --plugin {entry.plugin} to the command,"
            f" or plugins: [{entry.plugin}] to the library",
        )
    )  # fmt: skip


def summary(cls: type) -> str:
    """Return the first sentence of an operation's docstring."""
    text = " ".join((cls.__doc__ or "").split())
    return text.split(". ")[0].rstrip(".") + "."


def default_text(setting: Setting) -> str:
    """Return a setting's default as a recipe would write it."""
    from sleevewright.quantities import Kind, formatted  # noqa: PLC0415

    if setting.required:
        return "required"
    value: Any = setting.default
    if value is None:
        return "the usual"
    if setting.many:
        return "none" if not value else ", ".join(str(item) for item in value)
    if isinstance(setting.kind, Kind):
        return formatted(value, setting.kind)
    if isinstance(setting.kind, type) and setting.kind not in (bool, str):
        return "see below"
    return str(value).lower() if isinstance(value, bool) else str(value)
