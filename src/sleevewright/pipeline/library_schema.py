"""The JSON Schema of library files, for completion in an editor."""

from typing import Any

from sleevewright.formats import NAMES
from sleevewright.formats.printing import SCALES
from sleevewright.limits import LIMIT_NAMES, Limits
from sleevewright.pipeline.library import (
    BLOCK_KEYS,
    DURABILITY,
    KEYS,
    OUTPUT_KEYS,
    RULE_KEYS,
    STORED_BY,
)
from sleevewright.print_settings import Paper

_TEXT: dict[str, Any] = {"type": ["string", "number"]}
_FILES: dict[str, Any] = {
    "description": "files, relative to the library; * and ** stand for any",
    "oneOf": [
        {"type": "string"},
        {"type": "array", "items": {"type": "string"}, "minItems": 1},
    ],
}


def library_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of libraries."""
    block = _mapping(
        BLOCK_KEYS, {"files": _FILES, "labels": {"type": "string", "description": "a label map"}}
    )
    rule = _mapping(RULE_KEYS, dict.fromkeys(RULE_KEYS, _TEXT))
    rules = {
        "type": "array",
        "items": {**rule, "description": "names; * and ? stand for any letters"},
    }
    usual = Limits()
    limits = _mapping(
        LIMIT_NAMES,
        {
            name: {"type": "integer", "minimum": 1, "default": getattr(usual, name)}
            for name in LIMIT_NAMES
        },
    )
    outputs = _mapping(
        OUTPUT_KEYS,
        {
            "folder": {"type": "string", "default": "out"},
            "formats": _one_or_many({"enum": list(NAMES)}),
            "gallery": {"type": "boolean", "default": False},
            "paper": {"enum": [str(paper) for paper in Paper], "default": str(Paper.A4)},
            "roll": {"type": "string", "description": "width of a plotter's roll, such as 914 mm"},
            "scale": {"enum": list(SCALES), "default": "full"},
            "durability": {"enum": list(DURABILITY), "default": DURABILITY[0]},
            "proofread": {"type": "boolean", "default": True},
            "stored_by": {"enum": list(STORED_BY), "default": STORED_BY[0]},
        },
    )
    whole = _mapping(
        KEYS,
        {
            "blocks": {
                "type": "object",
                "minProperties": 1,
                "additionalProperties": {**block, "required": ["files"]},
            },
            "recipes": _FILES,
            "matrix": {
                "type": "object",
                "description": "params and their values; each combination is a variant",
                "additionalProperties": _one_or_many(_TEXT),
            },
            "sizes": {"oneOf": [{"const": "all"}, _one_or_many(_TEXT)]},
            "include": rules,
            "exclude": rules,
            "outputs": outputs,
            "limits": limits,
            "plugins": _one_or_many({"type": "string", "pattern": r"^[\w.-]+==[\w.!+-]+$"}),
        },
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sleevewright library",
        **whole,
        "required": ["blocks", "recipes"],
    }


def _mapping(keys: tuple[str, ...], properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a mapping; every key that is read has its own."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {key: properties[key] for key in keys},
    }


def _one_or_many(item: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [item, {"type": "array", "items": item, "minItems": 1}]}
