"""The command line: gathers the commands, sets the exit status. Errors end in one or two lines."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import Annotated, Any

import typer

from loopnet.commands.breakeven import breakeven
from loopnet.commands.check import check
from loopnet.commands.cost import cost
from loopnet.commands.degrees import degrees
from loopnet.commands.diff import diff
from loopnet.commands.explore import explore
from loopnet.commands.fit import fit
from loopnet.commands.new import new
from loopnet.commands.options import Debug
from loopnet.commands.rank import rank
from loopnet.commands.report import report
from loopnet.commands.show import show
from loopnet.commands.supply import supply
from loopnet.errors import ConvergenceError, LoopnetError

__all__ = ["app", "main"]

DONE, UNSOLVED, BAD_INPUT, STOPPED = 0, 1, 2, 130

app = typer.Typer(
    add_completion=False, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False,
    help="Compose, size, balance, run and cost circuits that turn concentrated sunlight into power and heat.",
    epilog="Exit status: 0 done, 1 could not be solved, 2 bad input.")


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"loopnet {version('loopnet')}")
        raise typer.Exit


@app.callback()
def _options(version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True,
                                                   help="Show the version and exit.")] = False,
             debug: Debug = False) -> None:
    """Options that stand before a command; `main` looks for --debug itself."""


COMMANDS: tuple[tuple[Callable[..., Any], str], ...] = (
    (rank, "Rank plants by what a kilowatt-hour costs."),
    (show, "Show one plant: streams, year, bill, cost, cautions."),
    (explore, "Try every circuit that could be, and tell the best."),
    (report, "Write one HTML page to send, offline and printable."),
    (cost, "Why a plant's kWh costs what it does, and what moves that."),
    (breakeven, "What one number would have to be to meet a cost, or to tie."),
    (supply, "How long a store carries a plant through dark days."),
    (degrees, "How hot a plant's circuit should run, as a curve of cost."),
    (diff, "Set two plants side by side, term by term."),
    (new, "Write a plant file to edit, like a shipped plant."),
    (check, "Check a drawing and solve its design point."),
    (fit, "Fit a collector to measurements of your own."),
)
"""Commands in the order of the help, each with its line there."""
for _command, _line in COMMANDS:
    app.command(short_help=_line)(_command)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        What stands behind ``loopnet`` on the command line; that of this process if left out.

    Returns
    -------
    int
        0 done, 1 could not be solved, 2 bad input, 130 stopped from the keyboard.

    Examples
    --------
    >>> main(["--version"])  # doctest: +ELLIPSIS
    loopnet ...
    0
    """
    # Plants run side by side in processes; threads of small matrices inside each would only stand in each other's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    given = list(sys.argv[1:] if arguments is None else arguments)
    try:
        app(given, prog_name="loopnet")
    except SystemExit as done:
        if done.code == STOPPED:
            print("loopnet: stopped", file=sys.stderr)
        return done.code if isinstance(done.code, int) else DONE if done.code is None else BAD_INPUT
    except KeyboardInterrupt:
        print("loopnet: stopped", file=sys.stderr)
        return STOPPED
    except Exception as why:
        if "--debug" in given:
            traceback.print_exc()
        expected = isinstance(why, LoopnetError)
        print(f"loopnet: {why}" if expected else f"loopnet: not foreseen: {type(why).__name__}: {why}. Try: the same "
              "command with --debug, and report what it shows.", file=sys.stderr)
        return BAD_INPUT if expected and not isinstance(why, ConvergenceError) else UNSOLVED
    return DONE


if __name__ == "__main__":
    sys.exit(main())
