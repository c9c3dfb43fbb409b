"""JSON Schema of recipes, from the declarations of the operations: completion in editors."""

import dataclasses
from typing import Any

from sleevewright.formats.printing import SCALES
from sleevewright.operations.contract import Setting, settings_of
from sleevewright.operations.registry import Registry, summary
from sleevewright.pattern.roles import Corner, NotchKind, NotchMark, Role
from sleevewright.print_settings import Paper
from sleevewright.quantities import Kind, example
from sleevewright.recipe.finish import FORMATS, PIECES

_NUMBER = r"[-+]?\s*[0-9. /½⅓⅔¼¾⅛⅜⅝⅞]+"
_UNITS = {
    Kind.LENGTH: r'\s*(mm|cm|m|in|"|MM|CM|IN)',
    Kind.ANGLE: r"\s*(deg|°)",
    Kind.RATIO: r"\s*%?",
    Kind.COUNT: "",
}

Schema = dict[str, Any]


def recipe_schema(registry: Registry) -> Schema:
    """Return the JSON Schema (2020-12) of recipes with the operations that can be used."""
    broken = registry.broken()
    steps = [
        _step(entry.name, registry.operation(entry.name))
        for entry in registry
        if entry.name not in broken
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sleevewright recipe",
        "type": "object",
        "required": ["steps"],
        "additionalProperties": False,
        "properties": {
            "name": {"type": "string", "pattern": r"^[^\s/\\.-][^\s/\\]*$"},
            "title": {"type": "string"},
            "params": {
                "type": "object",
                "description": "settings that --set may change",
                "additionalProperties": _by_size({"type": ["string", "number", "boolean"]}),
            },
            "steps": {"type": "array", "minItems": 1, "items": {"oneOf": steps}},
            "finish": _finish(),
            "outputs": _outputs(),
        },
    }


def _step(name: str, cls: type) -> Schema:
    body = _group(cls)
    required = [s.name for s in settings_of(cls) if s.required]
    whole: Schema = {
        "type": "object",
        "description": summary(cls),
        "required": [name],
        "additionalProperties": False,
        "properties": {name: body if required else {"anyOf": [body, {"type": "null"}]}},
    }
    whole["properties"]["when"] = {"type": ["string", "boolean"]}
    whole["properties"]["side"] = {"enum": ["left", "right"]}
    return whole if required else {"anyOf": [whole, {"const": name}]}


def _group(cls: type) -> Schema:
    declared = settings_of(cls)
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [s.name for s in declared if s.required],
        "properties": {s.name: _setting(s) for s in declared},
    }


def _setting(setting: Setting) -> Schema:
    one = _by_size(_value(setting))
    if setting.many:
        one = {"anyOf": [one, {"type": "array", "items": one}]}
    if setting.optional:
        one = {"anyOf": [one, {"type": "null"}]}
    return {"description": setting.about.meaning, **one}


def _value(setting: Setting) -> Schema:
    kind = setting.kind
    if isinstance(kind, Kind):
        return _quantity(kind)
    if isinstance(kind, tuple):
        return {"enum": list(kind)}
    if kind is bool:
        return {"enum": [True, False, "yes", "no", "true", "false"]}
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return _group(kind)
    return {"type": "string"}


def _quantity(kind: Kind) -> Schema:
    text = {
        "type": "string",
        "pattern": f"^\\s*(=.*|0|{_NUMBER}{_UNITS[kind]})\\s*$",
        "examples": [example(kind)],
    }
    if kind in (Kind.RATIO, Kind.COUNT):
        return {"anyOf": [text, {"type": "number"}]}
    return {"anyOf": [text, {"const": 0}]}


def _by_size(one: Schema) -> Schema:
    table = {
        "type": "object",
        "required": ["size"],
        "additionalProperties": False,
        "properties": {"size": {"type": "object", "minProperties": 1, "additionalProperties": one}},
    }
    return {"anyOf": [one, table]}


def _finish() -> Schema:
    length = _by_size(_quantity(Kind.LENGTH))
    names = [*Role, *(role.replace("_", "-") for role in Role if "_" in role), "default"]
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "allowances": _mapping(names, length),
            "corners": _mapping(names, {"enum": list(Corner)}),
            "notches": {
                "type": "object",
                "additionalProperties": False,
                "properties": {
                    "front": {"enum": list(NotchKind)},
                    "back": {"enum": list(NotchKind)},
                    "mark": {"enum": list(NotchMark)},
                    "depth": length,
                    "width": length,
                },
            },
            "style": {"type": ["string", "number"]},
            "note": {"type": ["string", "number"]},
            "date": {"type": ["string", "number"]},
        },
    }


def _mapping(names: list[str], value: Schema) -> Schema:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {str(name): value for name in names},
    }


def _outputs() -> Schema:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "formats": {
                "anyOf": [
                    {"enum": list(FORMATS)},
                    {"type": "array", "items": {"enum": list(FORMATS)}},
                ]
            },
            "pieces": {"enum": list(PIECES)},
            "paper": {"enum": [str(paper) for paper in Paper]},
            "roll": _quantity(Kind.LENGTH),
            "scale": {"enum": list(SCALES)},
        },
    }
