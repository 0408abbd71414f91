"""`loopnet report`: what was found as one page to send."""

from __future__ import annotations

import os
import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from loopnet.commands.options import (
    Debug,
    DispatchRule,
    FinanceTerms,
    OperationTerms,
    OutageDays,
    PlantNames,
    PriceFile,
    Quick,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import assess_named, draws_of, enough_draws, manner_of, options_of
from loopnet.errors import DataError

__all__ = ["report"]


def report(plants: PlantNames = None,
           output: Annotated[str, typer.Option("--output", "-o", metavar="FILE", help=(
               "The HTML file to write."))] = "report.html",
           weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
           uncertain: Annotated[int | None, typer.Option("--uncertain", metavar="SAMPLES", help=(
               "Draw prices, physics and finance so many times; takes some 13 full-model runs a plant. Prices alone "
               "are drawn if left out."))] = None,
           prices_only: Annotated[bool, typer.Option("--prices-only", help=(
               "With --uncertain: draw prices alone."))] = False,
           outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
           finance: FinanceTerms = None, quick: Quick = False,
           date: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD", help=(
               "Date on the page; today if left out."))] = None,
           debug: Debug = False) -> None:
    """Write one self-contained HTML page: answer, ranking, pictures, why, how sure, assumptions, cautions.

    It opens offline, in any browser, and prints to paper.
    """
    from loopnet.page.report import day_of
    from loopnet.plants import shipped

    day = day_of(date)
    _reach(output)
    enough_draws(uncertain)
    manner = manner_of(operation, outage, ready, finance, quick=quick)
    sky, ranking, _ = assess_named(plants or shipped(), weather, prices, dispatch, **manner)
    sure = None if uncertain is None else draws_of(list(ranking), sky, prices, dispatch, uncertain, prices_only,
                                                   **manner)
    from loopnet.page import write_report

    words = ["loopnet", "report", *(plants or ()), *_again({
        "-o": output, "--weather": weather, "--prices": prices, "--dispatch": dispatch, "--uncertain": uncertain,
        "--prices-only": prices_only, "--outage": outage, "--ready": ready, "--operation": operation,
        "--finance": finance, "--quick": quick, "--date": day})]
    made = write_report(ranking, output, weather=sky, book=options_of(prices).get("book"), uncertain=sure,
                        operation=manner.get("operation"), command=shlex.join(words), date=day)
    typer.echo(f"wrote {made}: {made.stat().st_size / 1e6:.2f} MB, opens in any browser")


def _again(options: Mapping[str, Any]) -> Iterator[str]:
    """Options as they are typed; those that were not given are left out."""
    for name, value in options.items():
        if value is True:
            yield name
        elif value is not None and value is not False:
            for each in value if isinstance(value, list) else [value]:
                yield from (name, str(each))


def _reach(output: str) -> None:
    """Refuse a bad path before the work, not after it."""
    path = Path(output)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise IsADirectoryError(21, "this is a folder")
        if not os.access(path if path.exists() else path.parent, os.W_OK):
            raise PermissionError(13, "Permission denied")
    except (OSError, ValueError) as why:
        raise DataError("cannot write there", where=f"--output {output}",
                        got=getattr(why, "strerror", None) or str(why), allowed="a place where you may write",
                        hint="another path") from why
