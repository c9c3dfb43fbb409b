"""Commands on one block: convert, inspect, check."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sleevewright.cli.completing import drawing_files, format_lists, recipe_files
from sleevewright.cli.shared import (
    block_options,
    finding_record,
    plugin_option,
    print_json,
    read,
    registry,
    visible,
)
from sleevewright.cli.tables import (
    show,
    show_edges,
    show_findings,
    show_measurements,
    show_seams,
)
from sleevewright.errors import LabelError, Place, Problem, RecipeError, did_you_mean

if TYPE_CHECKING:
    from sleevewright.findings import Finding, SeamRow
    from sleevewright.pattern import Pattern
    from sleevewright.pattern.result import Result
    from sleevewright.reading import Reading


@click.command(
    epilog="Example: sleevewright convert sample_patterns/women_overblock.dxf"
    " --recipe recipes/classic-raglan.yaml --out out"
)
@block_options
@click.option(
    "--recipe", required=True, metavar="FILE", help="Recipe (YAML).", shell_complete=recipe_files
)
@click.option("--out", default="out", show_default=True, metavar="DIR", help="Output folder.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="Change a param.")
@click.option("--size", "sizes", multiple=True, metavar="S", help="Only this size.")
@click.option(
    "--paper", type=click.Choice(["a4", "a3", "letter", "tabloid"]), help="Of tiled sheets."
)
@click.option(
    "--formats", metavar="LIST", shell_complete=format_lists,
    help="Such as dxf,svg,json,pdf; the recipe's otherwise.",
)  # fmt: skip
@click.option(
    "--tables", is_flag=True, help="Print chart, spec sheet and cutting lists as Markdown."
)
@click.option("--no-proofread", is_flag=True, help="Do not read the files again to compare them.")
@plugin_option
def convert(**given: Any) -> int:
    """Convert a block by a recipe and write cutting-ready files."""
    from sleevewright.pipeline.convert import convert as run  # noqa: PLC0415
    from sleevewright.pipeline.convert import fell_short  # noqa: PLC0415
    from sleevewright.print_settings import Paper  # noqa: PLC0415
    from sleevewright.recipe import Recipe  # noqa: PLC0415
    from sleevewright.scripting import write  # noqa: PLC0415

    recipe = Recipe.load(given["recipe"], registry(given["plugins"]))
    settings = settings_of(given["settings"])
    formats = _formats(given["formats"], recipe.output_settings.formats)
    reading = read(given["block"], given["labels"])
    patterns = of_sizes(reading, given["sizes"])
    results = [run(pattern, recipe, settings) for pattern in patterns]
    if given["paper"]:
        paper = Paper(given["paper"])
        results = [replace(r, printing=replace(r.printing, paper=paper)) for r in results]
    proofread = not given["no_proofread"]
    paths = write(results, given["out"], formats, inputs=given["block"], proofread=proofread)
    if given["as_json"]:
        print_json([_record(result) for result in results])
    elif given["tables"]:
        _print_tables(results)
    else:
        _print_notes(reading.findings)
        for i, result in enumerate(results):
            _print_result(result, paths[i * len(formats) : (i + 1) * len(formats)])
        for path in paths[len(results) * len(formats) :]:
            click.echo(visible(f"wrote {path}"))
    return int(any(fell_short(result.findings) for result in results))


@click.command(epilog="Example: sleevewright inspect sample_patterns/men_overblock.dxf")
@block_options
def inspect(block: tuple[str, ...], labels: str | None, as_json: bool) -> int:
    """Show what was read: pieces, edges, roles, lengths, seams, and every doubt."""
    reading = read(block, labels)
    if as_json:
        print_json(
            {
                "blocks": [_inspected(pattern) for pattern in reading.patterns],
                "findings": [finding_record(finding) for finding in reading.findings],
            }
        )
        return 0
    for pattern in reading.patterns:
        _show_inspected(pattern)
    for finding in reading.findings:
        click.echo(visible(f"  {finding.status}: {finding.message}"))
    return 0


@click.command(epilog="Example: sleevewright check out/women_overblock/classic-raglan/40.svg")
@click.argument("file", nargs=-1, required=True, metavar="FILE...", shell_complete=drawing_files)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def check(file: tuple[str, ...], as_json: bool) -> int:
    """Walk the seams of finished patterns."""
    from sleevewright.checking import seam_rows  # noqa: PLC0415
    from sleevewright.findings import Status  # noqa: PLC0415

    failed = False
    records = []
    for name in file:
        for pattern in _finished(name):
            rows = seam_rows(pattern)
            if not rows:
                raise LabelError(Problem(f"{name}: no two of its edges are sewn together"))
            failed = failed or any(row.status is not Status.HELD for row in rows)
            records.append({"file": name, "size": pattern.size, "seams": [_row(r) for r in rows]})
            if not as_json:
                _show_walk(f"{name}, size {pattern.size}", rows)
    if as_json:
        print_json(records)
    return int(failed)


def _finished(name: str) -> Iterator["Pattern"]:
    """Yield the patterns of a file; an SVG of ours tells its edges and seams itself.

    Raises:
        LabelError: they cannot be told.
    """
    from sleevewright.reading.finished import read_finished  # noqa: PLC0415

    finished = read_finished(Path(name))
    if finished is not None:
        yield finished
        return
    try:
        yield from read((name,), None).patterns
    except LabelError as error:
        if not name.lower().endswith(".dxf"):
            raise
        more = Problem("a DXF does not tell which edges are sewn together", Place(name),
                       remedy="check the SVG of the same variant")  # fmt: skip
        raise LabelError([*error.problems, more]) from None


def settings_of(pairs: tuple[str, ...]) -> dict[str, str]:
    """Return what --set says, name -> value."""
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
        return tuple(dict.fromkeys(usual))
    names = tuple(dict.fromkeys(name.strip() for name in given.split(",") if name.strip()))
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


def of_sizes(reading: "Reading", sizes: tuple[str, ...]) -> list["Pattern"]:
    """Return the patterns of the sizes that --size names; all without one."""
    have = [pattern.size for pattern in reading.patterns]
    for size in sizes:
        if size not in have:
            raise RecipeError(
                Problem(
                    f"--size {size}: the block has no such size",
                    allowed=f"it has {', '.join(have)}",
                )
            )
    return [p for p in reading.patterns if not sizes or p.size in sizes]


def _print_tables(results: list["Result"]) -> None:
    from sleevewright.writing.tables import (  # noqa: PLC0415
        cutting_list,
        measurement_chart,
        spec_sheet,
        to_markdown,
    )

    tables = [measurement_chart(results), spec_sheet(results), *map(cutting_list, results)]
    for line in "\n".join(map(to_markdown, tables)).splitlines():
        click.echo(visible(line))


def _record(result: "Result") -> dict[str, Any]:
    from sleevewright.writing.json import job_record  # noqa: PLC0415

    return dict(job_record(result))


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


def _show_inspected(pattern: "Pattern") -> None:
    from sleevewright.pattern import measurements  # noqa: PLC0415

    title = f"{pattern.name}, size {pattern.size}"
    click.echo(visible(title))
    for piece in pattern.pieces:
        fold = ", half on the fold" if piece.fold else ""
        rows, lines = [], [f"  {piece.name}: {piece.area / 100:.1f} cm2{fold}"]
        for edge in piece.edges:
            marks = [f"{n.kind} notch {n.name!r} at {n.at:.1f}" for n in edge.notches]
            said = "".join(f"  {mark}" for mark in marks)
            lines.append(f"    {edge.name:<22}{edge.length:>9.2f} mm{said}")
            rows.append((edge.name, str(edge.role), edge.length, "; ".join(marks)))
        show_edges(lines[0].strip(), rows, lines)
    seams = [
        (s.name, pattern.side_length(s.first), pattern.side_length(s.second), s.ease)
        for s in pattern.seams
    ]
    show(
        "seams", ("seam", "first mm", "second mm", "ease mm"), seams,
        [f"  {n:<18}{a:>9.2f}{b:>9.2f} mm  ease {ease:+.2f}" for n, a, b, ease in seams],
    )  # fmt: skip
    figures = measurements(pattern)
    lines = [f"  {name:<24}{value:>9.1f} mm" for name, value in figures.items()]
    show_measurements("measurements", [*figures.items()], lines)


def _show_walk(title: str, rows: Sequence["SeamRow"]) -> None:
    """Show the seam walk."""
    lines = [title] if title else []
    lines += [
        f"  {row.name:<18}{row.lengths[0]:>9.2f}{row.lengths[1]:>9.2f} mm"
        f"  ease {row.wanted_ease:+.2f}  off {row.difference:+.3f}  {row.status}"
        for row in rows
    ]
    cells = [(r.name, *r.lengths, r.wanted_ease, r.difference, str(r.status)) for r in rows]
    show_seams(title, cells, lines)


def _print_notes(findings: tuple["Finding", ...]) -> None:
    """Print what reading noted, once for all sizes; of recognition, what was recognised."""
    seen = dict.fromkeys(f.where for f in findings if f.check == "recognition")
    lines = [f"{f.status}: {f.message}" for f in findings if f.check != "recognition"]
    if seen:
        lines.append(
            f"noted: recognised by shape: {', '.join(seen)}; `inspect` shows which edge is which"
        )
    for line in dict.fromkeys(lines):
        click.echo(visible(line), err=True)


def _print_result(result: "Result", paths: Sequence[Path]) -> None:
    from sleevewright.findings import Status  # noqa: PLC0415

    title = f"{result.block}, size {result.size}, {result.recipe}"
    extra = ", ".join(f"{name} {value}" for name, value in result.settings)
    click.echo(visible(title + (f", {extra}" if extra else "")))
    click.echo(visible("  pieces: " + ", ".join(p.name for p in result.pattern.pieces)))
    _show_walk("", result.seam_rows)
    held = sum(finding.status is Status.HELD for finding in result.findings)
    click.echo(f"  {held} of {len(result.findings)} checks held")
    rest = [finding for finding in result.findings if finding.status is not Status.HELD]
    if rest:
        rows = [(str(f.status), f.where, f.message) for f in rest]
        show_findings("", rows, [f"  {f.status}: {f.message}" for f in rest])
    for path in paths:
        click.echo(visible(f"  wrote {path}"))
