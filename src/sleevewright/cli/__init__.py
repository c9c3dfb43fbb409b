"""The command line: parses, calls one front door, prints. The only package that imports click.

Heavy libraries are imported inside the commands, so that --help and --version answer at once.
"""

import platform
import signal
import sys
import tempfile
import traceback
from pathlib import Path
from typing import Any

import click

from sleevewright import __version__
from sleevewright.cli.about import operations, schema
from sleevewright.cli.cloth import marker
from sleevewright.cli.libraries import batch, compare, watch
from sleevewright.cli.one_block import check, convert, inspect
from sleevewright.cli.shared import visible
from sleevewright.errors import SleevewrightError, did_you_mean

BUG_REPORT = "sleevewright-bug-report.txt"


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


for _command in (convert, inspect, check, marker, batch, watch, compare, operations, schema):
    cli.add_command(_command)


def main() -> None:
    """Run the command line; every failure is a line a problem and its exit status."""
    stopped = _told_of_signals()
    try:
        status = cli.main(standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        status = 2
    except click.UsageError as error:
        click.echo(f"error: {visible(error.format_message())}", err=True)
        status = 2
    except click.ClickException as error:
        click.echo(f"error: {visible(error.format_message())}", err=True)
        status = error.exit_code
    except (click.Abort, KeyboardInterrupt):  # what waits for files turns every signal into this
        status = 128 + (stopped[0] if stopped else signal.SIGINT)
    except SleevewrightError as error:
        for problem in error.problems:
            click.echo(f"error: {visible(str(problem))}", err=True)
        status = error.exit_status
    except SystemExit as error:
        # click ends so when a reader of our output has gone, as `| head` does: no fault of the run.
        gone = type(sys.stdout).__name__.endswith("PacifyFlushWrapper")
        status = 0 if gone else error.code
    except Exception as error:  # noqa: BLE001 (our own bug: one line, and a report)
        status = _bug(error)
    sys.exit(status if isinstance(status, int) else 0)


def _told_of_signals() -> list[int]:
    """End the run on SIGTERM and SIGHUP; return the list that then holds the signal's number."""
    stopped: list[int] = []

    def stop(number: int, _frame: object) -> None:
        stopped.append(number)
        sys.exit(128 + number)

    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)
    return stopped


def _bug(error: Exception) -> int:
    """Report a fault of our own."""
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
        f" {visible(str(error))[:200]}{where}",
        err=True,
    )
    return 70
