"""What an operation is: all that the author of one imports.

An operation is a frozen dataclass with typed settings, `apply` and `promises`:

    @operation
    class DropHem:
        \"\"\"Lower the hem, carrying the side seams on along their end tangents.\"\"\"

        by: Annotated[Length, about("how far the hem drops", at_least=0, at_most=600)]

        def apply(self, pattern: Pattern) -> Pattern: ...
        def promises(self, before: Pattern, after: Pattern) -> Iterator[Promise]: ...

From the declaration come validation, messages, the JSON Schema and the reference page.
"""

import dataclasses
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, Protocol, TypeVar, dataclass_transform

from sleevewright.errors import OperationError
from sleevewright.findings import Promise
from sleevewright.quantities import Kind

if TYPE_CHECKING:
    from sleevewright.pattern import Pattern

__all__ = [
    "About",
    "Angle",
    "Count",
    "Length",
    "Operation",
    "OperationError",
    "Promise",
    "Ratio",
    "Setting",
    "about",
    "operation",
    "settings",
    "settings_of",
]

Length = Annotated[float, Kind.LENGTH]
Angle = Annotated[float, Kind.ANGLE]
Ratio = Annotated[float, Kind.RATIO]
Count = Annotated[int, Kind.COUNT]


@dataclass(frozen=True, slots=True)
class About:
    """What a setting means and how large it may be (mm, degrees, plain numbers)."""

    meaning: str
    at_least: float | None = None
    at_most: float | None = None


def about(meaning: str, *, at_least: float | None = None, at_most: float | None = None) -> About:
    """Say what a setting means, in a clause, and its bounds (included)."""
    return About(meaning, at_least, at_most)


class Operation(Protocol):
    """What the tool needs of an operation."""

    def apply(self, pattern: "Pattern") -> "Pattern":
        """Return the pattern after the operation; pure and deterministic.

        Raises:
            OperationError: it cannot be done with these settings; the text says why.
        """

    def promises(self, before: "Pattern", after: "Pattern") -> Iterator[Promise]:
        """Report the numbers that the result is meant to have; the tool compares."""


T = TypeVar("T")


class DeclarationError(TypeError):
    """An operation is declared wrongly; says how."""


@dataclass_transform(kw_only_default=True, frozen_default=True)
def operation(cls: type[T]) -> type[T]:
    """Make a class an operation: frozen, settings by keyword, declaration checked.

    Raises:
        DeclarationError: no docstring, no apply or promises, or a setting without a meaning.
    """
    for method in ("apply", "promises"):
        if not callable(getattr(cls, method, None)):
            raise DeclarationError(f"operation {cls.__name__} has no {method}")
    return settings(cls)


@dataclass_transform(kw_only_default=True, frozen_default=True)
def settings(cls: type[T]) -> type[T]:
    """Make a class a group of settings: frozen, by keyword, each with a meaning.

    Raises:
        DeclarationError: no docstring, or a setting without a meaning or of an unknown kind.
    """
    if not (cls.__doc__ or "").strip():
        raise DeclarationError(
            f"{cls.__name__} has no docstring; its first sentence is its meaning"
        )
    made = dataclass(frozen=True, kw_only=True)(cls)
    settings_of(made)
    return made


@dataclass(frozen=True, slots=True)
class Setting:
    """One declared setting.

    Attributes:
        name: as recipes write it.
        about: meaning and bounds.
        kind: a Kind, bool, str (free text), a tuple of allowed words, or a group of settings.
        optional: whether it may be left out and is then None.
        many: whether a list of such values is wanted.
        default: what it is when left out; `dataclasses.MISSING` where it is required.
    """

    name: str
    about: About
    kind: Any
    optional: bool
    many: bool
    default: Any

    @property
    def required(self) -> bool:
        """Whether a recipe must give it."""
        return self.default is dataclasses.MISSING


def settings_of(cls: type) -> tuple[Setting, ...]:
    """Return the declared settings of an operation or group, in order.

    Raises:
        DeclarationError: a setting has no meaning or is of a kind that recipes cannot write.
    """
    hints = typing.get_type_hints(cls, include_extras=True)
    found = []
    for field in dataclasses.fields(cls):
        hint, meaning = _about(hints[field.name])
        if meaning is None:
            raise DeclarationError(f"setting {field.name} of {cls.__name__} has no about(...)")
        hint, optional = _without_none(hint)
        many = typing.get_origin(hint) is tuple
        if many:
            hint = typing.get_args(hint)[0]
        default = field.default
        if field.default_factory is not dataclasses.MISSING:
            default = field.default_factory()
        kind = _kind(hint, f"setting {field.name} of {cls.__name__}")
        found.append(Setting(field.name, meaning, kind, optional, many, default))
    return tuple(found)


def _about(hint: Any) -> tuple[Any, About | None]:
    if typing.get_origin(hint) is Annotated:
        base, *extras = typing.get_args(hint)
        said = next((e for e in extras if isinstance(e, About)), None)
        rest = [e for e in extras if not isinstance(e, About)]
        return (Annotated[base, *rest] if rest else base), said
    return hint, None


def _without_none(hint: Any) -> tuple[Any, bool]:
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        parts = [part for part in typing.get_args(hint) if part is not type(None)]
        if len(parts) == 1:
            return parts[0], True
    return hint, False


def _kind(hint: Any, where: str) -> Any:
    if typing.get_origin(hint) is Annotated:
        for extra in typing.get_args(hint)[1:]:
            if isinstance(extra, Kind):
                return extra
    if typing.get_origin(hint) is Literal:
        return typing.get_args(hint)
    if hint in (bool, str):
        return hint
    if dataclasses.is_dataclass(hint):
        return hint
    raise DeclarationError(
        f"{where}: {hint} is no kind that a recipe can write; use Length, Angle, Ratio, Count,"
        " Literal, bool, str, a group of settings, or a tuple of those"
    )
