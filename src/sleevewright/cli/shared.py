"""What the commands share: options, reading, printing."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from sleevewright.cli.completing import drawing_files, recipe_files

if TYPE_CHECKING:
    from sleevewright.findings import Finding
    from sleevewright.operations.registry import Registry
    from sleevewright.reading import Reading

F = TypeVar("F", bound=Callable[..., Any])


def block_options(command: F) -> F:
    """Add BLOCK..., --labels and --json."""
    command = click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON document and nothing else."
    )(command)
    command = click.option(
        "--labels", metavar="FILE", shell_complete=recipe_files,
        help="Label map (YAML) that says what the drawing does not.",
    )(command)  # fmt: skip
    return click.argument(
        "block", nargs=-1, required=True, metavar="BLOCK...", shell_complete=drawing_files
    )(command)


def plugin_option(command: F) -> F:
    """Add --plugin."""
    return click.option(
        "--plugin", "plugins", multiple=True, metavar="NAME==VERSION",
        help="Allow the operations of this installed package.",
    )(command)  # fmt: skip


def registry(plugins: tuple[str, ...] = (), file: Path | None = None) -> "Registry":
    """Return the operations that are installed, those of plug-ins only where they are allowed.

    Args:
        plugins: NAME==VERSION of those that are.
        file: the library that allows them; None for the command line.
    """
    from sleevewright.errors import Place  # noqa: PLC0415
    from sleevewright.operations.registry import Registry  # noqa: PLC0415

    return Registry.installed(plugins, Place(str(file)) if file else Place(within="--plugin"))


def read(files: tuple[str, ...], labels: str | None) -> "Reading":
    """Read the files of a block."""
    from sleevewright.reading import read_pattern  # noqa: PLC0415

    return read_pattern([Path(name) for name in files], labels)


def print_json(value: Any) -> None:
    """Print one JSON document."""
    click.echo(json_text(value, indent=1))


def json_text(value: Any, indent: int | None = None) -> str:
    """Return a value as JSON; what could steer a terminal, or has no place in UTF-8, is escaped."""
    text = json.dumps(value, indent=indent, ensure_ascii=False, allow_nan=False)
    return re.sub(
        r"[^ -~\n]", lambda m: m[0] if m[0].isprintable() else json.dumps(m[0])[1:-1], text
    )


def finding_record(finding: "Finding") -> dict[str, Any]:
    """Return a finding as plain values."""
    return {
        "check": finding.check,
        "status": str(finding.status),
        "where": finding.where,
        "message": finding.message,
    }


def visible(text: str) -> str:
    """Return text with control characters written out, so that a file cannot steer a terminal."""
    return "".join(c if c.isprintable() or c == " " else f"\\x{ord(c):02x}" for c in text)
