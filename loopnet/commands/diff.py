"""`loopnet diff`: two plants side by side."""

from __future__ import annotations

from functools import partial

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
from loopnet.output import picture, reach, save_all, write_json

__all__ = ["diff"]


def diff(first: PlantName, second: PlantName, weather: WeatherFile = None, prices: PriceFile = None,
         dispatch: DispatchRule = None, outage: OutageDays = None, ready: ReadyShare = None,
         operation: OperationTerms = None, finance: FinanceTerms = None,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Set two plants side by side: where their sun goes and what makes one dearer; the terms add up exactly."""
    from loopnet.study import bridge
    from loopnet.study import diff as difference

    reach(json_file, plots)
    manner = manner_of(operation, outage, ready, finance)
    sky, _, (one, two) = assess_named([first, second], weather, prices, dispatch, **manner)
    result = difference(one, two)
    if json_file != "-":
        from loopnet.report import print_difference
        from loopnet.report_supply import print_manner

        print_manner(sky.name, [one, two], told(manner))
        print_difference(result)
    # plants of different goods have no common cost to go from one to the other
    made = bridge(one, two) if one.cost.product == two.cost.product else None
    if made is not None and json_file != "-":
        from loopnet.report_why import print_bridge

        print_bridge(made)
    terms = made.to_dict() if made is not None else {"terms_usd_per_kwh": result.money["difference"].to_dict()}
    rules = {a.name: a.year.dispatch for a in (one, two)}
    write_json(json_file, described({**result.to_dict(), **terms, "dispatch": rules}, sky, manner))
    if plots and made is not None:
        save_all([("bridge.png", partial(picture, "draw_waterfall", made))], plots, json_file)
