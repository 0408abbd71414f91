"""`loopnet supply`: how long a store carries a plant through nights and cloudy days."""

from __future__ import annotations

import re
from functools import partial
from typing import Annotated

import typer

from loopnet.commands.options import (
    Debug,
    DispatchRule,
    JsonFile,
    OperationTerms,
    OutageDays,
    PlantName,
    PlotFolder,
    Quick,
    ReadyShare,
    WeatherFile,
)
from loopnet.commands.work import manner_of, options_of, quick_words, told, weather_of
from loopnet.errors import ParameterError
from loopnet.output import picture, progress, reach, save_all, write_json

__all__ = ["supply"]

LEAST, MOST = 0.5, 8760.0
"""Sizes of store that may be tried [h]."""


def supply(plant: PlantName,
           hours: Annotated[str | None, typer.Option("--hours", metavar="HOURS", help=(
               "Stores to try, in hours at full load, such as 6,12,24,48; sizes around the plant's own if left "
               "out."))] = None,
           firm: Annotated[str, typer.Option("--firm", metavar="SHARE", help=(
               "Firm level: the share of full supply that a month should reach in its mean."))] = "0.8",
           weather: WeatherFile = None, dispatch: DispatchRule = None, outage: OutageDays = None,
           ready: ReadyShare = None, operation: OperationTerms = None,
           quick: Quick = False,
           json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Try stores of several sizes on one plant: in how many hours is full supply missed, which dark spells are bridged,
    how many months are firm?

    Each size is sized and run through the whole year; everything but the store stays as it is drawn.
    """
    sizes, level = _hours(hours), _share(firm)
    reach(json_file, plots)
    manner = manner_of(operation, outage, ready, quick=quick)
    rule = options_of(None, dispatch).get("dispatch")
    from loopnet.plants import find_plant
    from loopnet.study import supply_curve
    from loopnet.year import Operation

    drawn = find_plant(plant)
    sky = weather_of(weather)
    with progress() as tell:
        curve = supply_curve(drawn, sky, store_hours=sizes, firm=level, dispatch=rule,
                             progress=partial(tell, drawn.name), **manner)
    if json_file != "-":
        from loopnet.report_supply import print_supply

        notes = [*told({k: v for k, v in manner.items() if k != "exact"}), *quick_words(curve.error, quick)]
        print_supply(curve, _delivery(curve.delivery, curve.electric), sky.invented, notes)
    write_json(json_file, {**curve.to_dict(), "operation": manner.get("operation", Operation()).to_dict()})
    if plots:
        start = re.sub(r"[^\w.-]+", "_", drawn.name)
        save_all([(f"{start}_supply.png", partial(picture, "draw_supply", curve))], plots, json_file)


def _delivery(watt: float, electric: bool) -> str:
    """Full supply as people say it."""
    power = f"{watt / 1e6:,.3g} MW"
    return f"{power} of electricity" if electric else f"all that its users want, up to {power} of heat,"


def _hours(text: str | None) -> list[float] | None:
    """Sizes of store [s] from hours that were typed."""
    if text is None:
        return None
    try:
        found = [float(piece) for piece in text.replace(";", ",").split(",") if piece.strip()]
    except ValueError:
        found = []
    if not found or not all(LEAST <= each <= MOST for each in found):
        raise ParameterError("cannot read these sizes of store", where="--hours", got=repr(text),
                             allowed=f"hours between {LEAST:g} and {MOST:,.0f}, with commas between them",
                             hint="--hours 6,12,24,48")
    return [3600.0 * each for each in found]


def _share(text: str) -> float:
    """A share that was typed, as a number or in per cent."""
    from loopnet.params import check_range
    from loopnet.units import to_si

    try:
        return check_range(to_si(text, "-"), where="--firm", unit="-", low=0.0, high=1.0, hint="--firm 0.8, or '80 %'")
    except ParameterError as why:
        raise ParameterError(why.what, where="--firm", got=why.got, allowed="0 to 1, or 0 to 100 %",
                             hint="--firm 0.8, or '80 %'") from None
