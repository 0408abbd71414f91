"""What commands share: plants found and assessed under the weather, prices and rule that were asked for."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.output import progress

if TYPE_CHECKING:
    from loopnet.site import Weather
    from loopnet.study import Assessment, Case, Ranking, Uncertainty

__all__ = ["assess_named", "cases_of", "draws_of", "enough_draws", "number", "options_of", "weather_of"]

MOST_NOTES = 5
"""Notes on a weather file that are printed; all are in `Weather.notes`."""


def assess_named(names: Sequence[str], weather: str | None, prices: str | None,
            dispatch: str | None = None) -> tuple[Weather, Ranking, list[Assessment]]:
    """The weather, the plants ranked, and the same in the order in which they were named."""
    from loopnet.plants import find_plant, named_apart
    from loopnet.study import rank as rank_plants

    drawn = named_apart(find_plant(name) for name in names)
    options = options_of(prices, dispatch)
    sky = weather_of(weather)
    with progress() as tell:
        ranking = rank_plants(drawn, sky, progress=tell, **options)
    return sky, ranking, [ranking[plant.name] for plant in drawn]


def options_of(prices: str | None, dispatch: str | None) -> dict[str, Any]:
    """Price book and rule for the load, where they are given."""
    from loopnet.money import price_book

    options: dict[str, Any] = {} if prices is None else {"book": price_book(prices)}
    if dispatch is not None:
        from loopnet.year.choice import rule_of

        options["dispatch"] = rule_of(dispatch)
    return options


def cases_of(assessments: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None) -> list[Case]:
    """Assessments with what they were made with, so that one thing can be changed."""
    from loopnet.study import Case

    options = options_of(prices, dispatch)
    return [Case.of(a, sky, **options) for a in assessments]


def enough_draws(samples: int | None) -> None:
    """Too few draws are refused before the work, not after it."""
    from loopnet.study.uncertainty import LEAST

    if samples is not None and samples < LEAST:
        raise ParameterError("too few draws", where="--uncertain", got=str(samples), allowed=f"{LEAST} or more",
                             hint="--uncertain 10000")


def draws_of(found: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None, samples: int,
           prices_only: bool) -> list[Uncertainty]:
    """How sure the order is, for each product on its own."""
    from loopnet.study import fit_surfaces, uncertainty

    results = []
    for product in dict.fromkeys(a.cost.product for a in found):
        cases = cases_of([a for a in found if a.cost.product == product], sky, prices, dispatch)
        with progress() as tell:
            surfaces = fit_surfaces(cases, only=() if prices_only else None, progress=tell)
            results.append(uncertainty(cases, surfaces, samples=samples))
    return results


def number(text: str | None) -> Any:
    """What was typed, as a number where it is one; with a unit it stays text."""
    try:
        return None if text is None else float(text)
    except ValueError:
        return text


def weather_of(path: str | None) -> Weather:
    """The year, with what was repaired in it said on standard error."""
    from loopnet.site import read_weather, tamarisk_basin

    if path is None:
        return tamarisk_basin()
    weather = read_weather(path)
    for note in weather.notes[:MOST_NOTES]:
        print(f"note on {path}: {note}", file=sys.stderr)
    if len(weather.notes) > MOST_NOTES:
        print(f"{len(weather.notes) - MOST_NOTES} more notes: loopnet.site.read_weather({path!r}).notes lists all",
              file=sys.stderr)
    return weather
