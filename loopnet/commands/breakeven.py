"""`loopnet breakeven`: what one number would have to be."""

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
    PriceFile,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import assess_named, cases_of, described, manner_of, number, told
from loopnet.errors import ParameterError
from loopnet.output import progress, reach, write_json

__all__ = ["breakeven"]


def breakeven(plant: PlantName, vary: Annotated[str, typer.Option(metavar="NUMBER", help=(
            "A price key, finance.rate, finance.life, store_hours, mirrors, weather.sun, or COMPONENT.PARAMETER such "
            "as field.outlet or field.collector.intercept."))],
        target: Annotated[str | None, typer.Option(metavar="USD_PER_KWH", help=(
            "Cost to be met; 0.05 for electricity and 0.005 for heat if left out."))] = None,
        tie: Annotated[str | None, typer.Option(metavar="PLANT", help=(
            "A plant to tie with, in place of a target."))] = None,
        low: Annotated[str | None, typer.Option(help="Lower end of what to search, such as '500 degC'.")] = None,
        high: Annotated[str | None, typer.Option(help="Upper end.")] = None,
        weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
        outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
        finance: FinanceTerms = None,
        json_file: JsonFile = None, debug: Debug = False) -> None:
    """Find the value of one number at which a plant meets a target cost, or ties with another plant, by the full model.

    Says so, with the range searched and the costs at its ends, when there is no such value.
    """
    from loopnet.study import break_even

    if (low is None) != (high is None):
        raise ParameterError("a range has two ends", where="--low and --high", got="one of them",
                             allowed="both or none", hint="--low '500 degC' --high '700 degC'")
    reach(json_file, None)
    manner = manner_of(operation, outage, ready, finance)
    sky, _, found = assess_named([plant] if tie is None else [plant, tie], weather, prices, dispatch,
                                  **manner)
    cases = cases_of(found, sky, prices, dispatch, **manner)
    with progress() as tell:
        result = break_even(cases[0], vary, target=number(target), tie=cases[1] if tie is not None else None,
                            within=None if low is None or high is None else (number(low), number(high)),
                            progress=partial(tell, found[0].name))
    if json_file != "-":
        from loopnet.report_supply import print_manner
        from loopnet.report_why import print_break_even

        print_manner(sky.name, found, told(manner))
        print_break_even(result)
    write_json(json_file, described({**result.to_dict(), "dispatch": found[0].year.dispatch}, sky, manner))
