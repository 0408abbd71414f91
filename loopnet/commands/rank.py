"""`loopnet rank`: plants by what a kilowatt-hour costs."""

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
    PlantNames,
    PlotFolder,
    PriceFile,
    Quick,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import assess_named, described, draws_of, enough_draws, manner_of, told, years_of
from loopnet.output import beside_others, draw_plants, picture, reach, save_all, stem, write_json

__all__ = ["rank"]


def rank(plants: PlantNames = None, weather: WeatherFile = None, prices: PriceFile = None,
         dispatch: DispatchRule = None, uncertain: Annotated[int | None, typer.Option(
             "--uncertain", metavar="SAMPLES", help="Draw prices, physics and finance so many times, and say how often "
             "each plant is the cheapest; takes some 13 full-model runs a plant.")] = None,
         prices_only: Annotated[bool, typer.Option("--prices-only", help=(
             "With --uncertain: draw prices alone, which takes no further run."))] = False,
         outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
         finance: FinanceTerms = None, quick: Quick = False, json_file: JsonFile = None, plots: PlotFolder = None,
         debug: Debug = False) -> None:
    """Size plants for the same target, run them through a year, and rank them by what a kilowatt-hour costs."""
    from loopnet.plants import shipped

    reach(json_file, plots)
    enough_draws(uncertain)
    manner = manner_of(operation, outage, ready, finance, quick=quick)
    sky, ranking, _ = assess_named(plants or shipped(), weather, prices, dispatch, **manner)
    if json_file != "-":
        from loopnet.report import print_ranking

        print_ranking(ranking, sky, told(manner, list(ranking)))
    sure = [] if uncertain is None else draws_of(list(ranking), sky, prices, dispatch, uncertain, prices_only, **manner)
    if json_file != "-":
        from loopnet.report_why import print_uncertainty

        for result in sure:
            print_uncertainty(result)
    chances = {name: p for result in sure for name, p in result.probability_first.items()}
    errors = {name: p for result in sure for name, p in result.standard_error.items()}
    figures = []
    for a in ranking:
        plant = described({**a.to_dict(), **years_of(a)}, sky, manner)
        plant |= {"estimated_error": a.year.error} if quick else {}
        if sure:
            plant |= {"probability_first": chances[a.name], "probability_first_standard_error": errors[a.name]}
        figures.append(plant)
    write_json(json_file, figures)
    if plots:
        draw_plants(plots, list(ranking), json_file)
        save_all(beside_others(list(ranking), sky), plots, json_file)
        save_all([(f"{stem('chances', result.product, len(sure))}.png", partial(picture, "draw_chances", result))
               for result in sure], plots, json_file)
