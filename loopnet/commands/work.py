"""What commands share: plants found and assessed under the weather, prices and rule that were asked for."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from loopnet.commands.given import finance_of, finance_words, operation_of, operation_words
from loopnet.errors import ParameterError
from loopnet.output import progress

if TYPE_CHECKING:
    from loopnet.site import Weather
    from loopnet.study import Assessment, Case, Ranking, Uncertainty

__all__ = ["assess_named", "assess_years", "cases_of", "described", "draws_of", "enough_draws", "manner_of", "number",
           "options_of", "quick_words", "told", "weather_of", "years_of"]

MOST_NOTES = 5
"""Notes on a weather file that are printed; all are in `Weather.notes`."""
MOST_YEARS = 100
"""Years that may be run on end [-]."""
SETTLED = 0.01
"""Change of a year's delivery from that of the year before, below which a store has settled [-]."""


def assess_named(names: Sequence[str], weather: str | None, prices: str | None, dispatch: str | None = None,
                 **manner: Any) -> tuple[Weather, Ranking, list[Assessment]]:
    """The weather, the plants ranked, and the same in the order in which they were named."""
    from loopnet.plants import find_plant, named_apart
    from loopnet.study import rank as rank_plants

    drawn = named_apart(find_plant(name) for name in names)
    options = options_of(prices, dispatch, **manner)
    sky = weather_of(weather)
    with progress() as tell:
        ranking = rank_plants(drawn, sky, progress=tell, **options)
    return sky, ranking, [ranking[plant.name] for plant in drawn]


def assess_years(name: str, weather: str | None, prices: str | None, dispatch: str | None, years: int,
                 **manner: Any) -> tuple[Weather, Assessment]:
    """The weather, and one plant run through it several times on end, its store going on as it stood."""
    from loopnet.plants import find_plant
    from loopnet.solve import size
    from loopnet.study.assess import settle
    from loopnet.year import run_year

    if not 1 <= years <= MOST_YEARS:
        raise ParameterError("no such number of years", where="--years", got=str(years), allowed=f"1 to {MOST_YEARS}",
                             hint="--years 5")
    plant = find_plant(name)
    options = options_of(prices, dispatch, **manner)
    money = {key: options.pop(key) for key in ("book", "finance") if key in options}
    sky = weather_of(weather)
    with progress() as tell:
        tell(plant.name, "sizing", 0.0)
        sized = size(plant)
        year = run_year(sized, sky, years=years, progress=partial(tell, plant.name), **options)
    return sky, settle(sized, year, sky, **money)


def options_of(prices: str | None, dispatch: str | None = None, **manner: Any) -> dict[str, Any]:
    """Price book, rule for the load and manner, where they are given."""
    from loopnet.money import price_book

    options: dict[str, Any] = {} if prices is None else {"book": price_book(prices)}
    if dispatch is not None:
        from loopnet.year.choice import rule_of

        options["dispatch"] = rule_of(dispatch)
    return {**options, **manner}


def manner_of(operation: Sequence[str] | None = None, outage: Sequence[str] | None = None, ready: str | None = None,
              finance: Sequence[str] | None = None, *, quick: bool = False) -> dict[str, Any]:
    """How the year is run and what money costs, as `assess` takes them; only what was asked for."""
    asked = {"operation": operation_of(operation, outage, ready) if operation or outage or ready is not None else None,
             "finance": finance_of(finance) if finance else None, "exact": False if quick else None}
    return {name: value for name, value in asked.items() if value is not None}


def told(manner: dict[str, Any], found: Sequence[Assessment] = ()) -> list[str]:
    """Lines that say how the year was run, what money costs where it is not as usual, and how exact that is."""
    lines = [f"operation: {operation_words(manner.get('operation'))}"]
    if words := finance_words(manner.get("finance")):
        lines.append(f"money: {words}")
    worst = max(found, key=lambda a: a.year.error, default=None)
    if worst is not None:
        lines += quick_words(worst.year.error, "exact" in manner, worst.name if len(found) > 1 else "")
    return [*lines, *(line for a in found if (line := years_words(a)))]


def years_words(a: Assessment) -> str:
    """What a plant delivers in its first year and once its store has settled; empty where one year was run."""
    before, last = a.year.delivered_before, a.year.net if a.net_power is not None else a.year.heat
    if not before:
        return ""
    change = last / before[-1] - 1.0 if before[-1] else 0.0
    settled = f"{'settled' if abs(change) < SETTLED else 'not settled'}: {100 * change:+.2g} % on the year before"
    return (f"{a.name}: {len(before) + 1} years on end, the store going on as it stood; it delivers "
            f"{before[0] / 1e6:,.2f} GWh in the first and {last / 1e6:,.2f} GWh in the last, the one shown ({settled})")


def years_of(a: Assessment) -> dict[str, Any]:
    """Deliveries of years run on end, for JSON; nothing where one year was run."""
    before = list(a.year.delivered_before)
    return {"years_on_end": len(before) + 1, "delivered_before_kwh": before} if before else {}


def quick_words(error: float, quick: bool, name: str = "") -> list[str]:
    """How exact years are that were read from operating maps; nothing where every hour was solved.

    >>> quick_words(0.00049, True, "air_rock")
    ['quick: read from operating maps; delivery is right to some 0.049 % (estimated; the worst is air_rock)']
    """
    if not quick:
        return []
    worst = f"; the worst is {name}" if name else ""
    return [f"quick: read from operating maps; delivery is right to some {100 * error:.2g} % (estimated{worst})"
            if error else "quick: no year needed an operating map"]


def described(data: dict[str, Any], sky: Weather, manner: dict[str, Any]) -> dict[str, Any]:
    """Figures with the weather, the operation and the money that they hold for."""
    from loopnet.money import Finance
    from loopnet.year import Operation

    return {"weather": sky.name, "operation": manner.get("operation", Operation()).to_dict(),
            "finance": manner.get("finance", Finance()).to_dict(), **data}


def cases_of(assessments: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None,
             **manner: Any) -> list[Case]:
    """Assessments with what they were made with, so that one thing can be changed."""
    from loopnet.study import Case

    options = options_of(prices, dispatch, **manner)
    exact = options.pop("exact", True)
    cases = [Case.of(a, sky, **options) for a in assessments]
    return cases if exact else [replace(case, exact=False)._knowing(*case.operated) for case in cases]


def enough_draws(samples: int | None) -> None:
    """Too few draws are refused before the work, not after it."""
    from loopnet.study.uncertainty import LEAST

    if samples is not None and samples < LEAST:
        raise ParameterError("too few draws", where="--uncertain", got=str(samples), allowed=f"{LEAST} or more",
                             hint="--uncertain 10000")


def draws_of(found: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None, samples: int,
             prices_only: bool, **manner: Any) -> list[Uncertainty]:
    """How sure the order is, for each product on its own."""
    from loopnet.study import fit_surfaces, uncertainty

    results = []
    for product in dict.fromkeys(a.cost.product for a in found):
        cases = cases_of([a for a in found if a.cost.product == product], sky, prices, dispatch, **manner)
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
