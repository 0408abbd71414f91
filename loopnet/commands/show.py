"""`loopnet show`: one plant in full."""

from __future__ import annotations

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
from loopnet.commands.work import assess_named, described, manner_of, told
from loopnet.output import draw_plants, reach, write_json

__all__ = ["show"]


def show(plant: PlantName, weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
         outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
         finance: FinanceTerms = None, json_file: JsonFile = None, plots: PlotFolder = None,
         debug: Debug = False) -> None:
    """Show one plant: its streams at the design point, its year, its bill, what a kilowatt-hour costs, its cautions."""
    reach(json_file, plots)
    manner = manner_of(operation, outage, ready, finance)
    sky, _, (assessment,) = assess_named([plant], weather, prices, dispatch, **manner)
    if json_file != "-":
        from loopnet.report import print_plant

        print_plant(assessment, told(manner))
    if json_file:
        from loopnet.study.cycles import cycles_of

        write_json(json_file, described({**assessment.to_dict(), "cycles": [
            c.to_dict() for c in cycles_of(assessment.sized)]}, sky, manner))
    if plots:
        draw_plants(plots, [assessment], json_file, years=True)
