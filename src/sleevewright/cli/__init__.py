"""The command line: parses, calls one front door, prints. The only package that imports click.

Heavy libraries are imported inside the commands, so that --help and --version answer at once.
"""

import errno
import platform
import signal
import sys
import tempfile
import traceback
from contextlib import suppress
from typing import Any

import click

from sleevewright import __version__
from sleevewright.cli.about import operations, schema
from sleevewright.cli.cloth import marker
from sleevewright.cli.libraries import batch, compare, watch
from sleevewright.cli.one_block import check, convert, inspect
from sleevewright.cli.shared import visible
from sleevewright.cli.stopping import stop_on_signals
from sleevewright.cli.verifying import verify
from sleevewright.errors import SleevewrightError, WriteError, did_you_mean

BUG_REPORT = "sleevewright-bug-report-"
#: What is the matter of a disk, its permissions or a limit, wherever it is met.
_OF_THE_SYSTEM = (
    errno.EMFILE, errno.ENFILE, errno.EAGAIN, errno.ENOMEM, errno.ENOSPC, errno.EDQUOT, errno.EIO,
    errno.ESTALE, errno.EROFS, errno.EBUSY, errno.EACCES, errno.EPERM, errno.ENOLCK,
    errno.ETIMEDOUT,
)  # fmt: skip


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


for _command in (
    convert, inspect, check, marker, batch, watch, compare, verify, operations, schema,
):  # fmt: skip
    cli.add_command(_command)


def main() -> None:
    """Run the command line; every failure is a line a problem and its exit status."""
    stopped = stop_on_signals()
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
        status = _refused(error) or _bug(error)
    sys.exit(status if isinstance(status, int) else 0)


def _refused(error: BaseException | None) -> int:
    """Tell what the system refuses, and return an exit status; 0 where that is not the matter."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in _OF_THE_SYSTEM:
            place = f"{error.filename}: " if error.filename else ""
            said = visible(f"{place}{error.strerror}; mend the disk, its permissions or the limits")
            click.echo(f"error: {said} of the system, and run again", err=True)
            return WriteError.exit_status
        error = error.__cause__ or error.__context__
    return 0


def _bug(error: Exception) -> int:
    """Report a fault of our own."""
    text = "".join(traceback.format_exception(error))
    head = f"sleevewright {__version__}, Python {platform.python_version()}\n"
    where = ""
    with suppress(OSError):  # a name of its own: what lies in a folder for all is not written over
        descriptor, name = tempfile.mkstemp(prefix=BUG_REPORT, suffix=".txt")
        with open(descriptor, "w", encoding="utf-8", errors="backslashreplace") as report:  # noqa: PTH123
            report.write(head + text)
        where = f"; a report is in {name}"
    click.echo(
        f"error: a fault of sleevewright itself: {type(error).__name__}:"
        f" {visible(str(error))[:200]}{where}",
        err=True,
    )
    return 70
