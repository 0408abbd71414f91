"""`loopnet show`: one plant in full."""

from __future__ import annotations

from typing import Annotated

import typer

from loopnet.commands.options import (
    Debug,
    DispatchRule,
    FinanceTerms,
    JsonFile,
    OperationTerms,
    OutageDays,
    PlantName,
    PlotFolder,
    PriceFile,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import assess_named, assess_years, described, manner_of, told, years_of
from loopnet.output import draw_plants, reach, write_json

__all__ = ["show"]


def show(plant: PlantName, weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
         outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
         finance: FinanceTerms = None, years: Annotated[int | None, typer.Option("--years", metavar="N", help=(
             "Run the weather so many times on end, the store going on as it stood, and tell the first year from the "
             "last; until the store has settled if left out."))] = None,
         json_file: JsonFile = None, plots: PlotFolder = None,
         debug: Debug = False) -> None:
    """Show one plant: its streams at the design point, its year, its bill, what a kilowatt-hour costs, its cautions."""
    reach(json_file, plots)
    manner = manner_of(operation, outage, ready, finance)
    if years is None:
        sky, _, (assessment,) = assess_named([plant], weather, prices, dispatch, **manner)
    else:
        sky, assessment = assess_years(plant, weather, prices, dispatch, years, **manner)
    if json_file != "-":
        from loopnet.report import print_plant

        print_plant(assessment, told(manner, [assessment]))
    if json_file:
        from loopnet.study.cycles import cycles_of

        cycles = [c.to_dict() for c in cycles_of(assessment.sized)]
        figures = {**assessment.to_dict(), **years_of(assessment), "cycles": cycles}
        write_json(json_file, described(figures, sky, manner))
    if plots:
        draw_plants(plots, [assessment], json_file, years=True)
