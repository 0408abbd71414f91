"""`loopnet degrees`: how hot the circuit of a plant should run."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
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
    Quick,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import manner_of, options_of, weather_of
from loopnet.errors import ParameterError
from loopnet.output import picture, progress, reach, save_all, write_json

__all__ = ["degrees"]


def degrees(plant: PlantName,
            low: Annotated[str | None, typer.Option(help="Lower end of what to search, such as '450 degC'.")] = None,
            high: Annotated[str | None, typer.Option(help="Upper end.")] = None,
            points: Annotated[int, typer.Option(help="Points of the curve; more are added around the cheapest.")] = 8,
            steel: Annotated[str, typer.Option(metavar="TEMPERATURE", help=(
                "Hottest steam that follows the field."))] = "565 degC",
            weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
            outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
            finance: FinanceTerms = None, quick: Quick = False,
            json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Find how hot the medium should leave a plant's field: what a kWh costs over that temperature, every point a whole
    plant sized, run through the year and costed.

    A hotter field loses more, a hotter cycle does better, pipes and store shrink.
    """
    from loopnet.plants import find_plant
    from loopnet.study import Case
    from loopnet.study.hot_temperature import best_hot_temperature

    if not 3 <= points <= 60:
        raise ParameterError("no such number of points", where="--points", got=str(points), allowed="3 to 60",
                             hint="--points 8")
    reach(json_file, plots)
    case = Case(plant=find_plant(plant), weather=weather_of(weather))
    given = options_of(prices, dispatch, **manner_of(operation, outage, ready, finance, quick=quick))
    case = replace(case, **given) if given else case
    with progress() as tell:
        curve = best_hot_temperature(case, low=low, high=high, points=points, steel=steel,
                                     progress=partial(tell, case.name))
    if json_file != "-":
        from loopnet.report_why import print_temperatures

        print_temperatures(curve)
    write_json(json_file, curve.to_dict())
    if plots:
        save_all([(f"{case.name}_degrees.png", partial(picture, "draw_temperatures", curve))], plots, json_file)
