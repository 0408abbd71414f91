"""`loopnet cost`: why a kilowatt-hour costs what it does."""

from __future__ import annotations

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
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import assess_named, cases_of, described, manner_of, told
from loopnet.output import picture, progress, reach, save_all, write_json

__all__ = ["cost"]


def cost(plant: PlantName, weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
         physics: Annotated[bool, typer.Option("--physics", help=(
             "Move sun, optics, dust, receiver and cycle as well: some ten full-model runs."))] = False,
         outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
         finance: FinanceTerms = None,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Explain what a kilowatt-hour of a plant costs: its formula, its weak point, what moves it, what others cost."""
    from loopnet.study import after_dark, references, tornado

    reach(json_file, plots)
    manner = manner_of(operation, outage, ready, finance)
    sky, _, (a,) = assess_named([plant], weather, prices, dispatch, **manner)
    case, = cases_of([a], sky, prices, dispatch, **manner)
    with progress() as tell:
        moved = tornado(case, physics=physics, progress=partial(tell, a.name))
    others = references(a.cost.product, share=after_dark(a, sky.columns["ghi"]))
    if json_file != "-":
        from loopnet.report_supply import print_manner
        from loopnet.report_why import print_cost

        print_manner(a.weather, [a], told(manner))
        print_cost(a, moved, others)
    write_json(json_file, described({"name": a.name, **a.cost.to_dict(), "dispatch": a.year.dispatch,
                                     "tornado": moved.to_dict(), "references": [other.to_dict() for other in others]},
                                    sky, manner))
    if plots:
        bars = {a.name: dict(a.cost.by_component)}
        save_all([("cost.png", partial(picture, "draw_cost_bars", bars)),
                  ("tornado.png", partial(picture, "draw_tornado", moved)),
                  ("references.png", partial(picture, "draw_beside", {a.name: a.cost.usd_per_kwh}, others,
                                             a.cost.product))], plots, json_file)
