"""The reference page of an operation, from its declaration."""

import dataclasses
import inspect
from dataclasses import dataclass
from typing import Any

from sleevewright.errors import RecipeError
from sleevewright.operations.contract import Setting, settings_of
from sleevewright.operations.registry import Registry, default_text, summary
from sleevewright.quantities import Kind, formatted


@dataclass(frozen=True, slots=True)
class Page:
    """A page as text and as data."""

    text: str
    record: dict[str, Any]


def list_operations(registry: Registry) -> list[tuple[str, str, str]]:
    """Return (name, first sentence, package) of every operation; one that cannot be used says so."""
    rows = []
    for entry in registry:
        try:
            text = summary(registry.operation(entry.name))
        except RecipeError as error:
            text = f"cannot be used: {error}"
        rows.append((entry.name, text, f"{entry.distribution} {entry.version}".strip()))
    for entry in registry.not_allowed:
        text = f"not allowed: add --plugin {entry.plugin}"
        rows.append((entry.name, text, f"{entry.distribution} {entry.version}"))
    return sorted(rows)


def describe(registry: Registry, name: str) -> Page:
    """Return the page of one operation.

    Raises:
        RecipeError: there is no such operation; names the nearest.
    """
    cls = registry.operation(name)
    rows = _rows(cls, "")
    width = max((len(row["setting"]) for row in rows), default=0) + 2
    doc = inspect.cleandoc(cls.__doc__ or "")
    lines = [name, "", doc, "", "Settings:"]
    for row in rows:
        lines.append(f"  {row['setting']:<{width}}{row['kind']}; {row['default']}")
        lines.append(f"  {'':<{width}}{row['meaning']}{row['bounds']}")
    entry = registry.entry(name)
    record = {
        "name": name,
        "summary": summary(cls),
        "description": doc,
        "from": f"{entry.distribution} {entry.version}".strip(),
        "settings": rows,
    }
    return Page("\n".join(lines), record)


def _rows(cls: type, prefix: str) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    for setting in settings_of(cls):
        kind = setting.kind
        if isinstance(kind, type) and dataclasses.is_dataclass(kind):
            rows += _rows(kind, f"{prefix}{setting.name}.")
            continue
        rows.append(
            {
                "setting": prefix + setting.name,
                "kind": _kind(setting),
                "default": default_text(setting),
                "meaning": setting.about.meaning,
                "bounds": _bounds(setting),
            }
        )
    return rows


def _kind(setting: Setting) -> str:
    if isinstance(setting.kind, tuple):
        return " | ".join(setting.kind)
    names = {bool: "true or false", str: "text"}
    text = names.get(setting.kind, str(setting.kind))
    return f"list of {text}" if setting.many else text


def _bounds(setting: Setting) -> str:
    low, high = setting.about.at_least, setting.about.at_most
    if not isinstance(setting.kind, Kind) or (low is None and high is None):
        return ""
    ends = [formatted(value, setting.kind) for value in (low, high) if value is not None]
    return f" ({' to '.join(ends)})"
