"""The command line: parses, calls one front door, prints. The only module that imports click.

Heavy libraries are imported inside the commands, so that --help and --version answer at once.
"""

import json
import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from sleevewright import __version__
from sleevewright.errors import (
    LabelError,
    Problem,
    ReadError,
    RecipeError,
    SleevewrightError,
    did_you_mean,
)

if TYPE_CHECKING:
    from sleevewright.findings import Finding
    from sleevewright.operations.registry import Registry
    from sleevewright.pattern import Pattern
    from sleevewright.pattern.result import Result
    from sleevewright.reading import Reading

BUG_REPORT = "sleevewright-bug-report.txt"

F = TypeVar("F", bound=Callable[..., Any])


class _Group(click.Group):
    """Commands whose misspelling is answered with the nearest right name."""

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        name = args[0] if args else ""
        if name and self.get_command(ctx, name) is None:
            raise click.UsageError(
                f"{name!r} is no command{did_you_mean(name, self.list_commands(ctx))};"
                f" commands are {', '.join(self.list_commands(ctx))}",
                ctx,
            )
        return super().resolve_command(ctx, args)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="sleevewright")
def cli() -> None:
    """Turn garment blocks into raglan and other sleeves, by recipe, ready for cutting."""


def _block_options(command: F) -> F:
    command = click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON document and nothing else."
    )(command)
    command = click.option(
        "--labels", metavar="FILE", help="Label map (YAML) that says what the drawing does not."
    )(command)
    return click.argument("block", nargs=-1, required=True, metavar="BLOCK...")(command)


@cli.command(
    epilog="Example: sleevewright convert sample_patterns/women_overblock.dxf"
    " --recipe recipes/classic-raglan.yaml --out out"
)
@_block_options
@click.option("--recipe", required=True, metavar="FILE", help="Recipe (YAML).")
@click.option("--out", default="out", show_default=True, metavar="DIR", help="Output folder.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="Change a param.")
@click.option("--size", "sizes", multiple=True, metavar="S", help="Only this size.")
@click.option("--formats", metavar="LIST", help="Such as dxf,svg,json; the recipe's otherwise.")
def convert(**given: Any) -> int:
    """Convert a block by a recipe and write cutting-ready files."""
    from sleevewright.pipeline.convert import convert as run  # noqa: PLC0415
    from sleevewright.pipeline.convert import fell_short  # noqa: PLC0415
    from sleevewright.recipe import Recipe  # noqa: PLC0415

    registry = _registry()
    recipe = Recipe.load(given["recipe"], registry)
    settings = _settings(given["settings"])
    formats = _formats(given["formats"], recipe.output_settings.formats)
    reading = _read(given["block"], given["labels"])
    patterns = _of_sizes(reading, given["sizes"])
    results = [run(pattern, recipe, settings, registry) for pattern in patterns]
    paths = _write(results, formats, Path(given["out"]), given["block"])
    if given["as_json"]:
        _print_json([_record(result) for result in results])
    else:
        _print_notes(reading.findings)
        for result, written in zip(results, paths, strict=True):
            _print_result(result, written)
    return int(any(fell_short(result.findings) for result in results))


@cli.command(epilog="Example: sleevewright inspect sample_patterns/men_overblock.dxf")
@_block_options
def inspect(block: tuple[str, ...], labels: str | None, as_json: bool) -> int:
    """Show what was read: pieces, edges, roles, lengths, seams, and every doubt."""
    from sleevewright.pattern import measurements  # noqa: PLC0415

    reading = _read(block, labels)
    if as_json:
        _print_json(
            {
                "blocks": [_inspected(pattern) for pattern in reading.patterns],
                "findings": [_finding(finding) for finding in reading.findings],
            }
        )
        return 0
    for pattern in reading.patterns:
        click.echo(f"{pattern.name}, size {pattern.size}")
        for piece in pattern.pieces:
            fold = ", half on the fold" if piece.fold else ""
            click.echo(f"  {piece.name}: {piece.area / 100:.1f} cm2{fold}")
            for edge in piece.edges:
                marks = "".join(f"  {n.kind} notch {n.name!r} at {n.at:.1f}" for n in edge.notches)
                click.echo(f"    {edge.name:<22}{edge.length:>9.2f} mm{marks}")
        _print_seams(
            (s.name, pattern.side_length(s.first), pattern.side_length(s.second), s.ease)
            for s in pattern.seams
        )
        for name, value in measurements(pattern).items():
            click.echo(f"  {name:<24}{value:>9.1f} mm")
    for finding in reading.findings:
        click.echo(_visible(f"  {finding.status}: {finding.message}"))
    return 0


@cli.command(epilog="Example: sleevewright operations raglan")
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def operations(name: str | None, as_json: bool) -> int:
    """List the operations that a recipe may use, or describe one."""
    from sleevewright.operations.describe import describe, list_operations  # noqa: PLC0415

    registry = _registry()
    if name is None:
        rows = list_operations(registry)
        if as_json:
            _print_json([{"name": n, "summary": s, "from": d} for n, s, d in rows])
        else:
            for operation, summary, _ in rows:
                click.echo(f"{operation:<18}{summary}")
        return 0
    page = describe(registry, name)
    if as_json:
        _print_json(page.record)
    else:
        click.echo(page.text)
    return 0


@cli.command(epilog="Example: sleevewright check out/women_overblock/classic-raglan/40.svg")
@click.argument("file", nargs=-1, required=True, metavar="FILE...")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def check(file: tuple[str, ...], as_json: bool) -> int:
    """Walk the seams of finished patterns."""
    from sleevewright.checking import seam_rows  # noqa: PLC0415
    from sleevewright.findings import Status  # noqa: PLC0415

    failed = False
    records = []
    for name in file:
        for pattern in _read((name,), None).patterns:
            rows = seam_rows(pattern)
            if not rows:
                raise LabelError(Problem(f"{name}: no two of its edges are sewn together"))
            failed = failed or any(row.status is not Status.HELD for row in rows)
            records.append({"file": name, "size": pattern.size, "seams": [_row(r) for r in rows]})
            if not as_json:
                click.echo(f"{name}, size {pattern.size}")
                for row in rows:
                    click.echo(
                        f"  {row.name:<18}{row.lengths[0]:>9.2f}{row.lengths[1]:>9.2f} mm"
                        f"  ease {row.wanted_ease:+.2f}  off {row.difference:+.3f}  {row.status}"
                    )
    if as_json:
        _print_json(records)
    return int(failed)


@cli.command(epilog="Example: sleevewright schema recipe > recipe.schema.json")
@click.argument("kind", metavar="recipe|labels")
def schema(kind: str) -> int:
    """Print the JSON Schema of recipes or label maps, for editors."""
    if kind == "recipe":
        from sleevewright.recipe import recipe_schema  # noqa: PLC0415

        _print_json(recipe_schema(_registry()))
    elif kind == "labels":
        from sleevewright.reading import label_schema  # noqa: PLC0415

        _print_json(label_schema())
    else:
        raise RecipeError(
            Problem(
                f"{kind!r} has no schema{did_you_mean(kind, ('recipe', 'labels'))}",
                allowed="recipe and labels have",
            )
        )
    return 0


# --- reading and writing ----------------------------------------------------------------------


def _registry() -> "Registry":
    from sleevewright.operations.registry import Registry  # noqa: PLC0415

    return Registry.installed()


def _read(files: tuple[str, ...], labels: str | None) -> "Reading":
    from sleevewright.reading import read_pattern  # noqa: PLC0415

    return read_pattern([Path(name) for name in files], labels)


def _settings(pairs: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in pairs:
        name, sign, value = pair.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise RecipeError(Problem(f"--set {pair!r}", allowed="write NAME=VALUE"))
        if name.strip() in found:
            raise RecipeError(Problem(f"--set {name.strip()!r} is given twice"))
        found[name.strip()] = value.strip()
    return found


def _formats(given: str | None, usual: tuple[str, ...]) -> tuple[str, ...]:
    from sleevewright.writing import FORMATS  # noqa: PLC0415

    if given is None:
        return usual
    names = tuple(name.strip() for name in given.split(",") if name.strip())
    for name in names:
        if name not in FORMATS:
            raise RecipeError(
                Problem(
                    f"--formats: {name!r} is no format{did_you_mean(name, FORMATS)}",
                    allowed=f"formats are {', '.join(FORMATS)}",
                )
            )
    if not names:
        raise RecipeError(Problem("--formats names no format", allowed=", ".join(FORMATS)))
    return names


def _of_sizes(reading: "Reading", sizes: tuple[str, ...]) -> list["Pattern"]:
    have = [pattern.size for pattern in reading.patterns]
    for size in sizes:
        if size not in have:
            raise ReadError(
                Problem(
                    f"--size {size}: the block has no such size",
                    allowed=f"it has {', '.join(have)}",
                )
            )
    return [p for p in reading.patterns if not sizes or p.size in sizes]


def _write(
    results: list["Result"], formats: tuple[str, ...], out: Path, inputs: tuple[str, ...]
) -> list[list[Path]]:
    """Make every file in memory, then write them all; return the paths of each result."""
    from sleevewright.pipeline.places import output_path, refuse_collisions  # noqa: PLC0415
    from sleevewright.writing import FORMATS, write_files  # noqa: PLC0415

    contents: dict[Path, bytes] = {}
    paths = []
    for result in results:
        mine = [output_path(out, result, name) for name in formats]
        refuse_collisions([*contents, *mine])
        for name, path in zip(formats, mine, strict=True):
            contents[path] = FORMATS[name](result)
        paths.append(mine)
    write_files(contents, inputs=[Path(name) for name in inputs], within=out)
    return paths


# --- printing ---------------------------------------------------------------------------------


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False))


def _record(result: "Result") -> dict[str, Any]:
    from sleevewright.writing.json import job_record  # noqa: PLC0415

    return dict(job_record(result))


def _finding(finding: "Finding") -> dict[str, Any]:
    return {
        "check": finding.check,
        "status": str(finding.status),
        "where": finding.where,
        "message": finding.message,
    }


def _row(row: Any) -> dict[str, Any]:
    return {
        "name": row.name,
        "lengths_mm": [round(v, 4) for v in row.lengths],
        "wanted_ease_mm": round(row.wanted_ease, 4),
        "difference_mm": round(row.difference, 4),
        "allowed_mm": row.allowed,
        "status": str(row.status),
    }


def _inspected(pattern: "Pattern") -> dict[str, Any]:
    from sleevewright.pattern import measurements  # noqa: PLC0415

    return {
        "block": pattern.name,
        "size": pattern.size,
        "pieces": [
            {
                "name": piece.name,
                "area_mm2": round(piece.area, 2),
                "half_on_fold": bool(piece.fold),
                "edges": [
                    {
                        "name": edge.name,
                        "role": str(edge.role),
                        "length_mm": round(edge.length, 4),
                        "notches": [
                            {"name": n.name, "kind": str(n.kind), "at_mm": round(n.at, 4)}
                            for n in edge.notches
                        ],
                    }
                    for edge in piece.edges
                ],
            }
            for piece in pattern.pieces
        ],
        "measurements": {k: round(v, 4) for k, v in measurements(pattern).items()},
    }


def _print_seams(rows: Any) -> None:
    for name, first, second, ease in rows:
        click.echo(f"  {name:<18}{first:>9.2f}{second:>9.2f} mm  ease {ease:+.2f}")


def _print_notes(findings: tuple["Finding", ...]) -> None:
    for finding in findings:
        click.echo(_visible(f"{finding.status}: {finding.message}"), err=True)


def _print_result(result: "Result", paths: list[Path]) -> None:
    from sleevewright.findings import Status  # noqa: PLC0415

    title = f"{result.block}, size {result.size}, {result.recipe}"
    extra = ", ".join(f"{name} {value}" for name, value in result.settings)
    click.echo(_visible(title + (f", {extra}" if extra else "")))
    click.echo(_visible("  pieces: " + ", ".join(p.name for p in result.pattern.pieces)))
    for row in result.seam_rows:
        click.echo(
            f"  {row.name:<18}{row.lengths[0]:>9.2f}{row.lengths[1]:>9.2f} mm"
            f"  ease {row.wanted_ease:+.2f}  off {row.difference:+.3f}  {row.status}"
        )
    held = sum(finding.status is Status.HELD for finding in result.findings)
    click.echo(f"  {held} of {len(result.findings)} checks held")
    for finding in result.findings:
        if finding.status is not Status.HELD:
            click.echo(_visible(f"  {finding.status}: {finding.message}"))
    for path in paths:
        click.echo(_visible(f"  wrote {path}"))


def _visible(text: str) -> str:
    """Return text with control characters written out, so that a file cannot steer a terminal."""
    return "".join(c if c.isprintable() or c == " " else f"\\x{ord(c):02x}" for c in text)


# --- the door ---------------------------------------------------------------------------------


def main() -> None:
    """Run the command line; every failure is a line a problem and its exit status."""
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stopped)
    try:
        status = cli.main(standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        status = 2
    except click.UsageError as error:
        click.echo(f"error: {_visible(error.format_message())}", err=True)
        status = 2
    except click.ClickException as error:
        click.echo(f"error: {_visible(error.format_message())}", err=True)
        status = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        status = 130
    except SleevewrightError as error:
        for problem in error.problems:
            click.echo(f"error: {_visible(str(problem))}", err=True)
        status = error.exit_status
    except SystemExit as error:
        # click ends so when a reader of our output has gone, as `| head` does: no fault of the run.
        gone = type(sys.stdout).__name__.endswith("PacifyFlushWrapper")
        status = 0 if gone else error.code
    except Exception as error:  # noqa: BLE001 (our own bug: one line, and a report)
        status = _bug(error)
    sys.exit(status if isinstance(status, int) else 0)


def _stopped(number: int, _frame: object) -> None:
    sys.exit(128 + number)


def _bug(error: Exception) -> int:
    """Report a fault of our own."""
    import platform  # noqa: PLC0415
    import tempfile  # noqa: PLC0415

    text = "".join(traceback.format_exception(error))
    head = f"sleevewright {__version__}, Python {platform.python_version()}\n"
    report = Path(tempfile.gettempdir()) / BUG_REPORT
    where = f"; a report is in {report}"
    try:
        report.write_text(head + text, encoding="utf-8")
    except OSError:
        where = ""
    click.echo(
        f"error: a fault of sleevewright itself: {type(error).__name__}:"
        f" {_visible(str(error))[:200]}{where}",
        err=True,
    )
    return 70


if __name__ == "__main__":
    main()
