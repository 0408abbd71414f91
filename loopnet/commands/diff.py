"""`loopnet diff`: two plants side by side."""

from __future__ import annotations

from functools import partial

from loopnet.commands.options import Debug, JsonFile, PlantName, PlotFolder, PriceFile, WeatherFile
from loopnet.commands.work import assess_named
from loopnet.output import picture, reach, save_all, write_json

__all__ = ["diff"]


def diff(first: PlantName, second: PlantName, weather: WeatherFile = None, prices: PriceFile = None,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Set two plants side by side: where their sun goes and what makes one dearer; the terms add up exactly."""
    from loopnet.study import bridge
    from loopnet.study import diff as difference

    reach(json_file, plots)
    _, _, (one, two) = assess_named([first, second], weather, prices)
    result = difference(one, two)
    if json_file != "-":
        from loopnet.report import print_difference

        print_difference(result)
    # plants of different goods have no common cost to go from one to the other
    made = bridge(one, two) if one.cost.product == two.cost.product else None
    if made is not None and json_file != "-":
        from loopnet.report_why import print_bridge

        print_bridge(made)
    terms = made.to_dict() if made is not None else {"terms_usd_per_kwh": result.money["difference"].to_dict()}
    write_json(json_file, {**result.to_dict(), **terms})
    if plots and made is not None:
        save_all([("bridge.png", partial(picture, "draw_waterfall", made))], plots, json_file)
