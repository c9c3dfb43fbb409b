"""The operations that are installed, by recipe name; loaded when a recipe names one.

Built-in operations are entry points of this package, as a third party's are of theirs. One that
cannot be imported or is declared wrongly stays in the list and hurts only recipes that use it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from sleevewright.errors import Place, Problem, RecipeError, did_you_mean
from sleevewright.operations.contract import DeclarationError, Setting, settings_of

GROUP = "sleevewright.operations"
OWN = "sleevewright"


@dataclass(frozen=True)
class Entry:
    """An installed operation that may not be loaded yet.

    Attributes:
        name: as recipes write it.
        source: the entry point (or the class itself, in tests).
        distribution: name and version of the package it comes from.
    """

    name: str
    source: EntryPoint | type
    distribution: str
    version: str = ""

    @property
    def is_ours(self) -> bool:
        """Whether it comes with sleevewright."""
        return self.distribution == OWN

    def load(self) -> type:
        """Import and check the operation.

        Raises:
            RecipeError: the package is at fault; says which, and how.
        """
        try:
            cls = self.source if isinstance(self.source, type) else self.source.load()
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


@dataclass(frozen=True)
class Registry:
    """Operations by recipe name.

    Attributes:
        entries: sorted by name.
    """

    entries: tuple[Entry, ...]
    _loaded: dict[str, type] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def installed(cls) -> "Registry":
        """Return what is installed beside this package.

        Raises:
            RecipeError: two packages give operations of one name.
        """
        found = []
        for point in entry_points(group=GROUP):
            dist = point.dist
            name, version = (dist.name, dist.version) if dist else ("?", "")
            found.append(Entry(point.name, point, name, version))
        return cls.of(found)

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> "Registry":
        """Return a registry of these entries.

        Raises:
            RecipeError: two entries share a name.
        """
        by_name: dict[str, Entry] = {}
        for entry in entries:
            other = by_name.get(entry.name)
            if other is not None and other.source != entry.source:
                raise RecipeError(
                    f"two packages give an operation {entry.name!r}: {other.distribution}"
                    f" {other.version} and {entry.distribution} {entry.version}; uninstall one"
                )
            by_name[entry.name] = entry
        return cls(tuple(by_name[name] for name in sorted(by_name)))

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries)

    @property
    def names(self) -> tuple[str, ...]:
        """Recipe names, sorted."""
        return tuple(entry.name for entry in self.entries)

    def entry(self, name: str, place: Place = Place()) -> Entry:
        """Return the entry of this name.

        Raises:
            RecipeError: there is none; names the nearest.
        """
        for entry in self.entries:
            if entry.name == name:
                return entry
        raise RecipeError(
            Problem(
                f"{name!r} is no operation{did_you_mean(name, self.names)}",
                place,
                f"operations are {', '.join(self.names)}",
            )
        )

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
