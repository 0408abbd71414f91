"""Rules for what others want: a demand hour by hour, or prices of electricity, with greedy use of the store."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from loopnet.errors import ParameterError
from loopnet.params import param
from loopnet.year.dispatch import Rule
from loopnet.year.outlook import Loads, Outlook
from loopnet.year.series import Series, series_of

__all__ = ["FORESIGHT", "LoadProfile", "PriceSeries", "demand_series", "price_series", "unmet",
           "wanted_columns", "with_wishes"]

FORESIGHT = {"yesterday": "sun taken to be as yesterday's", "perfect": "sun known beforehand"}
"""What may be known of the coming sun, and how results say it."""
PRICES = (-10.0 / 3.6e6, 10.0 / 3.6e6)
"""Prices that are taken for possible [USD/J]: ten dollars a kilowatt-hour either way."""


def price_series(given: Any, where: str) -> Series:
    """Prices from a file or as numbers [USD/J].

    >>> price_series([5e-8 / 3.6] * 24, "tariff").name
    'given values'
    """
    return series_of(given, where=where, unit="USD/J", low=PRICES[0], high=PRICES[1])


def demand_series(given: Any, where: str) -> Series:
    """Demand from a file or as numbers, as a share of the delivery at the design point [-].

    >>> demand_series([0.5] * 24, "town").values[0]
    np.float64(0.5)
    """
    return series_of(given, where=where, unit="-", low=0.0, high=1.0)


def foresight_of(given: str, where: str) -> str:
    """What may be known of the sun, if there is such a foresight."""
    if given not in FORESIGHT:
        raise ParameterError("no such foresight", where=where, got=repr(given), allowed=", ".join(FORESIGHT),
                             hint='"yesterday" for what an operator could know')
    return given


def unmet(demand: np.ndarray, delivered: np.ndarray) -> np.ndarray:
    """Demand that is not met; what is delivered beyond the demand of a step does not help another.

    Parameters
    ----------
    demand, delivered : array, shape (hours,)
        What is wanted and what leaves the gate [W].

    Returns
    -------
    array, shape (hours,)
        Between nothing and the demand [W].

    Examples
    --------
    >>> unmet(np.array([5.0, 5.0, 5.0]), np.array([2.0, 9.0, -1.0]))
    array([3., 0., 5.])
    """
    return np.clip(demand - delivered, 0.0, demand)


def wanted_columns(rule: Rule, hour: np.ndarray, rated: float) -> dict[str, np.ndarray]:
    """Price and demand of every step, where a rule has them.

    Parameters
    ----------
    rule : Rule
    hour : array, shape (hours,)
        Hours from 1 January to the start of each step [h].
    rated : float
        Delivery at the design point [W].

    Returns
    -------
    dict of arrays, shape (hours,)
        "price" [USD/J], "demand" [W].

    Examples
    --------
    >>> {k: v.tolist() for k, v in wanted_columns(LoadProfile(demand=[0.5] * 24), np.arange(2.0), 2e6).items()}
    {'demand': [1000000.0, 1000000.0]}
    """
    prices, demand = getattr(rule, "prices", None), getattr(rule, "demand", None)
    return ({} if prices is None else {"price": prices.over(hour)}) | (
        {} if demand is None else {"demand": demand.over(hour) * rated})


def with_wishes(hourly: Any, columns: dict[str, np.ndarray]) -> Any:
    """The hourly table of a year with price [USD/J], demand and unmet demand [W] beside what was delivered."""
    if "demand" in columns:
        columns = {**columns, "unmet": unmet(columns["demand"], hourly["delivered"].to_numpy())}
    return hourly.assign(**columns)


@dataclass(frozen=True, kw_only=True)
class LoadProfile(Rule):
    """Serve a demand as it comes: the lowest level whose delivery meets it, as long as there is heat.

    `demand` is a share of the delivery at the design point, 24 or 8760 values or the path of a file with them. What a
    level delivers beyond the demand leaves the gate as well; what is missing is counted as unmet.
    """

    title: ClassVar[str] = "load profile"

    demand: Any
    steps: int = 7

    def __post_init__(self) -> None:
        super().__post_init__()
        object.__setattr__(self, "demand", demand_series(self.demand, "LoadProfile.demand"))

    def __str__(self) -> str:
        return f"{self.title} ({self.demand.name})"

    def for_year(self, outlook: Outlook) -> Loads:
        wanted = self.demand.over(outlook.hour) * outlook.rated
        asked = lowest_enough(outlook, wanted).tolist()

        def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
            return asked[hour] if held > 0.0 or sunny else 0.0

        return Loads(ask)


def lowest_enough(outlook: Outlook, wanted: np.ndarray) -> np.ndarray:
    """The lowest level that delivers what is wanted in each step, full load if none does; 0 where nothing is [-]."""
    levels = np.array(outlook.levels)
    enough = outlook.delivered >= wanted * (1 - 1e-9)
    place = np.where(enough.any(axis=0), enough.argmax(axis=0), len(levels) - 1)
    return np.where(wanted > 0.0, levels[place], 0.0)


@dataclass(frozen=True, kw_only=True)
class PriceSeries(Rule):
    """Run at full load in the dearest hours that the store can serve; never where electricity is worth nothing.

    Before each step the hours of the coming `ahead` are ranked by price; the turbine runs if this one is among as many
    of the dearest as the heat that is held, and that is expected within them, suffices for. Prices are known for that
    time (they are fixed a day ahead), the sun only as far as `foresight` goes. It also runs rather than let a full
    store turn mirrors away. `prices` are 24 or 8760 values [USD/J], or the path of a file with them.
    """

    title: ClassVar[str] = "dearest hours first"

    prices: Any
    ahead: Any = param("24 hour", unit="s", low=3600.0, high=1.3e6, source="assumption: prices are fixed a day ahead",
                       doc="time over which hours are compared")
    foresight: str = "yesterday"
    least_run: Any = param("1 hour", unit="s", low=0.0, high=86400.0, source="assumption",
                           doc="hours of full load that must be held or coming in the step before the turbine starts")

    def __post_init__(self) -> None:
        super().__post_init__()
        object.__setattr__(self, "prices", price_series(self.prices, "PriceSeries.prices"))
        foresight_of(self.foresight, "PriceSeries.foresight")

    def __str__(self) -> str:
        return (f"{self.title} ({self.prices.name}, {self.ahead / 3600:g} h ahead, {FORESIGHT[self.foresight]})")

    @property
    def levels(self) -> tuple[float, ...]:
        """Full load only [-]."""
        return (1.0,)

    def for_year(self, outlook: Outlook) -> Loads:
        return Loads(self.greedy(outlook, self.prices.over(outlook.hour)))

    def greedy(self, outlook: Outlook, price: np.ndarray) -> Callable[[int, float, bool, bool], float]:
        """The rule as a function of step, heat held, sun and whether the turbine runs.

        Parameters
        ----------
        outlook : Outlook
        price : array, shape (hours,)
            Price of each step [USD/J].

        Returns
        -------
        callable
        """
        ahead, dt, full, n = max(1, round(self.ahead / outlook.dt)), outlook.dt, outlook.full, len(outlook)
        coming = np.array([outlook.heat_to_come(self.foresight, i, ahead).sum() * dt / full for i in range(n)]).tolist()
        rank = [int(np.sum(price[i + 1:i + ahead] > price[i])) for i in range(n)]
        worth, brought, most = price.tolist(), outlook.brought.tolist(), outlook.capacity / full
        restart = self.least_run

        def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
            if worth[hour] <= 0.0 or not (held > 0.0 or sunny):
                return 0.0
            if held + brought[hour] / full * dt > most:
                return 1.0
            if not running and held + brought[hour] / full * dt < restart:
                return 0.0
            return 1.0 if rank[hour] < (held + coming[hour]) / dt else 0.0

        return ask
