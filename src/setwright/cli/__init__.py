"""The command line: thin, one module a command.

A command parses, calls, prints. What a person can mend (a file with a mistake in it, a history that
contradicts itself) ends in plain lines on stderr and exit status 1; wrong use of a command in status 2;
Ctrl-C in one plain line and status 130.
"""

from __future__ import annotations

import errno
import io
import sys

import typer
from typer.core import TyperGroup

from setwright.cli.account import account
from setwright.cli.ask import ask
from setwright.cli.backup import backup, restore
from setwright.cli.casebook import app as casebook
from setwright.cli.check import check
from setwright.cli.compare import compare
from setwright.cli.date import date
from setwright.cli.demo import demo
from setwright.cli.expect import expect
from setwright.cli.identify import identify
from setwright.cli.looks import looks
from setwright.cli.new import new
from setwright.cli.serve import serve
from setwright.cli.sisters import sisters

__all__ = ["app", "main"]


INTERRUPTED = 130
"""Exit status after Ctrl-C: 128 and the number of the signal."""


def explanation(error: BaseException) -> list[str] | None:
    """The lines that tell a person what to mend, or None where the error is a fault of the program."""
    # Imported here, where the command has already paid for it: `--help` stays quick.
    from setwright.chronology import NothingDated
    from setwright.circuits.problems import NoConvergence, UnknownPoint
    from setwright.files import FileProblems
    from setwright.identity import ImpossibleHistory, NothingLearnt
    from setwright.notation import NotationError

    if isinstance(error, FileProblems):
        return list(error.lines)
    told = (NotationError, ImpossibleHistory, NothingLearnt, NothingDated, NoConvergence, UnknownPoint)
    if isinstance(error, told):
        return [str(error)]
    if isinstance(error, OSError) and error.filename is not None:
        return [f"{error.filename}: {(error.strerror or 'cannot be used').lower()}"]
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG):
        return [f"The output cannot be written: {(error.strerror or 'the device failed').lower()}."]
    return None


class PlainErrors(TyperGroup):
    """Turns what a person can mend into plain lines, at this edge and nowhere below it."""

    def invoke(self, ctx: typer.Context) -> object:  # type: ignore[override]
        """Runs the command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            # A file is put in its place at one stroke and an answer printed when it is whole, so nothing is half done.
            print("Stopped; nothing was written.", file=sys.stderr)
            raise typer.Exit(INTERRUPTED) from None
        except (typer.Exit, typer.Abort):
            raise  # a help page or a closed pipe is no error, and needs none of the imports below
        except Exception as error:
            lines = explanation(error)
            if lines is None:
                raise
            for line in lines:
                print(line, file=sys.stderr)
            raise typer.Exit(1) from error


app = typer.Typer(
    name="setwright",
    cls=PlainErrors,
    help="Which version is this set, what in it has been altered, and what to look at next.",
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
# In the order of the work; the words must fit beside the names at 80 columns.
for command, words in (
    (compare, "Make a family file of what parts lists differ in."),
    (new, "Write a commented starter file to fill in."),
    (check, "Check files, and name everything that is wrong."),
    (identify, "Tell which version a set is, and what to look at next."),
    (date, "Tell when a set was built, and which parts are later."),
    (looks, "Write a look sheet to print and take along."),
    (sisters, "List the sets most like this one, or compare with one."),
    (ask, "Write a letter that asks another owner for a look."),
    (expect, "Tell what to measure at each point, with your meter."),
    (serve, "Show the pages of your sets on this machine."),
    (demo, "Show the pages of invented sets."),
    (backup, "Back everything up into one verified file."),
    (restore, "Put a backup back; what was there is kept aside."),
):
    app.command(short_help=words)(command)
app.add_typer(casebook, name="casebook", short_help="Save everything in one file, or take such a file in.")
app.add_typer(account, name="account", short_help="Make and remove accounts of a shared site.")


def main() -> None:
    """The `setwright` command."""
    for stream in (sys.stdout, sys.stderr):
        # A letter that an old terminal cannot show is no reason to stop half-way.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    app()
