"""The command that looks after what was made: verify."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sleevewright.cli.shared import print_json, visible
from sleevewright.cli.tables import show
from sleevewright.errors import counted

if TYPE_CHECKING:
    from sleevewright.pipeline.verify import Verified


@click.command(epilog="Example: sleevewright verify out")
@click.argument("out", metavar="OUT", type=click.Path(file_okay=False, readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def verify(out: str, as_json: bool) -> int:
    """Read every file of an output folder again and compare it with the record of its runs."""
    from sleevewright.pipeline.verify import verify as run  # noqa: PLC0415

    found = run(Path(out))
    if as_json:
        print_json({"folder": out, "well": found.well, **asdict(found)})
    else:
        _show(found)
    return int(not found.well)


def _show(found: "Verified") -> None:
    rows = [(fault.what, fault.file, fault.why) for fault in found.faults]
    rows += [("unknown", file, "no record knows it") for file in found.unknown]
    rows += [("left over", file, "of a run that was killed") for file in found.remains]
    if found.record:
        rows.insert(0, ("damaged", "", found.record))
    lines = [": ".join(filter(None, row)) for row in rows]
    if rows:
        show("", ("what", "file", "why"), rows, lines)
    counts = dict.fromkeys(("missing", "changed", "unreadable"), 0)
    for fault in found.faults:
        counts[fault.what] += 1
    whole = found.files - sum(counts.values())
    said = [f"{whole} whole", *(f"{count} {what}" for what, count in counts.items())]
    count = counted(found.variants, "variant")
    click.echo(visible(f"{count}, {found.files} files: {', '.join(said)}"))
