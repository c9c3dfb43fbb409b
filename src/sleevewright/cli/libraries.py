"""Commands on libraries: batch, watch, compare."""

import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sleevewright.cli.completing import drawing_files, recipe_files
from sleevewright.cli.shared import json_text, print_json, registry, visible
from sleevewright.cli.tables import show_moves, show_variants
from sleevewright.errors import Problem, ReadError, RecipeError, counted

if TYPE_CHECKING:
    from sleevewright.operations.registry import Registry
    from sleevewright.pipeline.batch import Event
    from sleevewright.pipeline.engines import Engine
    from sleevewright.pipeline.library import Library

_MOST_LINES = 12  # of what moved, a variant
_MOST_ROWS = 40  # of the table at the end; everything was told before


@click.command(epilog="Example: sleevewright batch sample_patterns/library.yaml --dry-run")
@click.argument("library", metavar="LIBRARY", shell_complete=recipe_files)
@click.option("--jobs", type=click.IntRange(1, 256), metavar="N", help="Workers; one a core.")
@click.option(
    "--engine", type=click.Choice(["local", "dask"]), default="local", show_default=True,
    help="Processes of this machine, or a dask cluster.",
)  # fmt: skip
@click.option("--scheduler", default="", metavar="ADDRESS", help="Of an existing dask cluster.")
@click.option("--force", is_flag=True, help="Make every variant, stale or not.")
@click.option("--dry-run", is_flag=True, help="Say what would be made and why; make nothing.")
@click.option("--prune", is_flag=True, help="Delete outputs of variants that are no more.")
@click.option("--json", "as_json", is_flag=True, help="Print the events as one JSON document.")
def batch(**given: Any) -> int:
    """Bring every variant of a library up to date."""
    from sleevewright.pipeline.batch import Options, run_batch  # noqa: PLC0415
    from sleevewright.pipeline.library import Library  # noqa: PLC0415

    library = Library.load(given["library"])
    if given["scheduler"] and given["engine"] != "dask":
        raise RecipeError(Problem("--scheduler needs --engine dask"))
    options = Options(force=given["force"], dry_run=given["dry_run"], prune=given["prune"])

    def engine() -> "Engine":
        return _engine(library, given["engine"], given["scheduler"], given["jobs"])

    def operations() -> "Registry":
        return registry(library.plugins, library.file)

    events = run_batch(library, engine, operations, options)
    return _status(_as_json(events) if given["as_json"] else _told(events))


@click.command(epilog="Example: sleevewright watch sample_patterns/library.yaml")
@click.argument("library", metavar="LIBRARY", shell_complete=recipe_files)
@click.option("--jobs", type=click.IntRange(1, 256), metavar="N", help="Workers; one a core.")
def watch(library: str, jobs: int | None) -> int:
    """Rebuild a library whenever a block, label map or recipe changes, until stopped."""
    from sleevewright.pipeline.library import Library  # noqa: PLC0415
    from sleevewright.pipeline.watch import watch_library  # noqa: PLC0415

    def engine(loaded: "Library") -> "Engine":
        return _engine(loaded, "local", "", jobs)

    def operations(loaded: "Library") -> "Registry":
        return registry(loaded.plugins, loaded.file)

    operations(Library.load(library))  # a mistake is told before anything is watched
    for events in watch_library(Path(library), engine, operations):
        _status(_told(events))
    return 0


@click.command(
    epilog="Example: sleevewright compare old/women.dxf new/women.dxf --report moved.svg"
)
@click.argument("old", shell_complete=drawing_files)
@click.argument("new", shell_complete=drawing_files)
@click.option("--report", metavar="FILE", help="Write an overlay picture (SVG) of what moved.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def compare(old: str, new: str, report: str | None, as_json: bool) -> int:
    """Say what moved between two files, or between two runs' output folders."""
    from sleevewright.pipeline.compare_files import compare_places, overlay_of  # noqa: PLC0415

    found = compare_places(Path(old), Path(new))
    if report is not None:
        overlay_of(found, Path(report), inputs=(Path(old), Path(new)))
    unread = [pair for pair in found if pair.problem]
    for pair in unread:
        click.echo(f"error: {visible(' '.join(pair.problem.split()))}", err=True)
    status = ReadError.exit_status if unread else 0
    if as_json:
        print_json([pair.record() for pair in found])
        return status
    changed = [pair for pair in found if pair.lines()]
    for pair in changed:
        show_moves(pair.name, pair.rows(), [pair.name, *(f"  {line}" for line in pair.lines())])
    click.echo(f"{len(changed)} of {len(found) - len(unread)} differ")
    return status


def _engine(library: "Library", name: str, scheduler: str, jobs: int | None) -> "Engine":
    from sleevewright.pipeline.engines import engine_for  # noqa: PLC0415

    return engine_for(library.limits, jobs, name, scheduler)


# --- telling events ---------------------------------------------------------------------------


def _status(events: Iterable["Event"]) -> int:
    """Let events pass; return the exit status that the last one means."""
    counts: dict[str, Any] = {}
    for event in events:
        if event.kind == "finished":
            counts = event.details
    if counts.get("failed"):
        return 5
    return int(bool(counts.get("fell_short")))


def _as_json(events: Iterable["Event"]) -> Iterator["Event"]:
    """Print events as the items of one JSON list, each as soon as it is known."""
    between = "["
    for event in events:
        click.echo(between + json_text(event.record()))
        between = ","
        yield event
    click.echo("]" if between == "," else "[]")


def _told(events: Iterable["Event"]) -> Iterator["Event"]:
    """Print events for people: a live line on a terminal, plain lines elsewhere."""
    if sys.stderr.isatty():
        yield from _live(events)
        return
    began, done, stale = time.monotonic(), 0, 0
    for event in events:
        stale = event.details.get("stale", stale)
        done += event.kind in ("made", "failed")
        for line in _lines(event):
            click.echo(visible(line))
        if event.kind in ("made", "failed") and done % 100 == 0:
            rate = done / max(time.monotonic() - began, 1e-9)
            click.echo(f"{done} of {stale}, {rate:.1f} a second", err=True)
        yield event


def _live(events: Iterable["Event"]) -> Iterator["Event"]:
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import (  # noqa: PLC0415
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(), TextColumn("{task.fields[failed]}"),
    )  # fmt: skip
    rows: list[tuple[str, str, str]] = []
    with Progress(*columns, console=Console(stderr=True)) as progress:
        bar = progress.add_task("", total=None, rate="", failed="")
        failed = 0
        for event in events:
            if event.kind == "planned":
                progress.update(bar, total=event.details["stale"])
            for line in _lines(event):
                progress.console.print(visible(line), markup=False, highlight=False)
            if event.kind in ("made", "failed"):
                failed += event.kind == "failed"
                rows += _outcome(event)
                speed = progress.tasks[0].speed or 0.0
                progress.update(
                    bar, advance=1, rate=f"{speed:.1f} a second",
                    failed=f"{failed} failed" if failed else "",
                )  # fmt: skip
            yield event
    if rows:
        show_variants("", sorted(rows, key=lambda row: (row[1] == "moved", row))[:_MOST_ROWS], [])


def _outcome(event: "Event") -> Iterator[tuple[str, str, str]]:
    """Yield the row of a variant that wants a look, for the table at the end of a run."""
    if event.kind == "failed":
        yield event.key, "failed", event.details["problem"]
    elif event.details["short"]:
        yield event.key, "fell short", "; ".join(event.details["short"])
    elif moved := event.details["moved"]:
        yield event.key, "moved", f"{moved[0]}{f' and {len(moved) - 1} more' if moved[1:] else ''}"


#: What is said of events that need no more than their key and details.
_SAID = {
    "noted": "noted: {message}",
    "removed": "no more in the library: {key} (--prune deletes its files)",
    "kept": "kept, for it was edited: {edited}",
    "pruned": "pruned: {key}",
    "gallery": "gallery: {page}",
}


def _lines(event: "Event") -> Iterator[str]:
    said = event.details
    if event.kind == "failed":
        yield f"failed: {event.key}: " + "; ".join(said["problem"].splitlines())
    elif event.kind == "would-make":
        yield f"would make {event.key}: {'; '.join(said['reasons'])}"
    elif event.kind == "made":
        for message in said["short"]:
            yield f"fell short: {event.key}: {message}"
        moved = said["moved"]
        for line in moved[:_MOST_LINES]:
            yield f"moved: {event.key}: {line}"
        if len(moved) > _MOST_LINES:
            yield f"moved: {event.key}: and {len(moved) - _MOST_LINES} more"
    elif event.kind == "finished":
        yield (
            f"{counted(said['variants'], 'variant')}: {said['made']} made, {said['up_to_date']} up to date,"
            f" {said['failed']} failed, {said['fell_short']} fell short, {said['moved']} moved,"
            f" {said['removed']} removed"
        )
    elif event.kind in _SAID:
        yield _SAID[event.kind].format(key=event.key, **said)
