"""How well a store carries a plant through nights and cloudy days: loss of supply against the size of the store.
Each size is sized and run through the weather anew; what counts is read off its hours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import pandas as pd

from loopnet.errors import LoopnetError, ParameterError, SpecificationError
from loopnet.params import check_range
from loopnet.plant import Plant
from loopnet.shown import shown
from loopnet.site import Weather
from loopnet.solve import Sized, size
from loopnet.units import to_si
from loopnet.year import Operation, Rule, Year, run_year

__all__ = ["Demand", "SupplyCurve", "SupplyPoint", "demand_of", "spells", "supply_curve", "supply_point"]

FULL = 0.999
"""Load times share of the hour from which an hour counts as one of full load [-]; settled hours differ by 1e-6."""
DIM = 0.1
"""An hour is dark when the field brings less than this share of the heat that full load draws [-]."""
STORES = ("4 hour", "8 hour", "12 hour", "16 hour", "24 hour", "36 hour", "48 hour", "72 hour")
LONG = 72.0 * 3600.0
"""A store beyond the usual sizes [s]: one for the season, of which shares and multiples are tried."""
SHARES = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)


@dataclass(frozen=True)
class Demand:
    """What full supply is: `delivery` leaves the plant [W], as electricity or as heat; `draw` is the heat that this
    takes [W]."""

    delivery: float
    draw: float
    electric: bool = True


@dataclass(frozen=True)
class SupplyPoint:
    """What one size of store gives over the hours that were run.

    Attributes
    ----------
    store : float
        Time for which the full store carries full load [s].
    full : float
        Share of hours at full load [-]; the rest is loss of full supply.
    stopped : float
        Share of hours in which nothing is delivered at all [-].
    delivered : float
        Share of the energy demanded that was delivered, full supply being demanded in every hour and more than that
        not counted [-].
    bridged_full, bridged : float
        The longest dark spell through which full load, and any load, went on without a break [s].
    darkest : float
        The longest dark spell of all [s].
    months : float
        Share of months whose mean delivery is at least the firm level [-].
    """

    store: float
    full: float
    stopped: float
    delivered: float
    bridged_full: float
    bridged: float
    darkest: float
    months: float


def spells(flags: Any) -> list[tuple[int, int]]:
    """Unbroken runs of true in a series: where each begins, and how many steps it lasts.

    >>> spells([True, True, False, True])
    [(0, 2), (3, 1)]
    """
    edges = np.diff(np.concatenate(([0], np.asarray(flags, dtype=int), [0])))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(int(a), int(b - a)) for a, b in zip(begins, ends, strict=True)]


def demand_of(sized: Sized) -> Demand:
    """Full supply of a sized plant: its net power at the design point, or the heat of its users where it makes none.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    Demand

    Raises
    ------
    SpecificationError
        If the plant has no turbine and no user, or more than one.
    """
    plant = sized.plant
    takers = [n for n in plant.components if "load" in plant.components[n].givens(sized.view(n))]
    if len(takers) != 1:
        raise SpecificationError("full supply needs exactly one turbine or user", where=f"plant {plant.name!r}",
                                 got=", ".join(takers) or "none", hint="one turbine or one heat user")
    view = sized.view(takers[0])
    draw = -sum(float(np.squeeze(getattr(view, side).heat)) for side in type(plant.components[takers[0]]).sides)
    electric = any(term.kind == "power" for term in plant.components[takers[0]].terms(view))
    net = float(plant.design.net_power) if electric and plant.design.net_power is not None else draw
    return Demand(net, draw, electric)


def supply_point(year: Year, demand: Demand, *, store: float, firm: float = 0.8) -> SupplyPoint:
    """Read off a year how well it was supplied.

    Parameters
    ----------
    year : Year
        Of any length.
    demand : Demand
        Full supply, demanded in every hour.
    store : float
        Time for which the full store carries full load [s].
    firm : float
        Firm level that the mean of a month should reach, as a share of full supply [-].

    Returns
    -------
    SupplyPoint
    """
    hours = year.hourly
    served = (hours["load"] * hours["generating"]).to_numpy()
    given = hours["net"].to_numpy() if hours["gross"].any() else served * demand.delivery
    counted = np.clip(given, 0.0, demand.delivery) / demand.delivery
    brought = hours["to_store"] if hours["to_store"].any() else hours["collected"] * hours["generating"]
    full, dark = served >= FULL, brought.to_numpy() < DIM * demand.draw
    dark_spells = spells(dark)
    clock = hours.index.tz_localize(None)
    months = pd.Series(counted, index=clock).groupby([clock.year, clock.month]).mean()

    def longest(kept: np.ndarray) -> float:
        return max((n for at, n in dark_spells if kept[at:at + n].all()), default=0) * year.step

    return SupplyPoint(store, float(full.mean()), float((served <= 0.0).mean()), float(counted.mean()), longest(full),
                       longest(served > 0.0), longest(np.ones(len(dark), bool)), float((months >= firm).mean()))


@dataclass(frozen=True)
class SupplyCurve:
    """Supply against the size of the store, smallest first; everything else of the plant stays as it is drawn."""

    plant: str
    title: str
    weather: str
    hours: float
    """Hours that were run [h]."""
    firm: float
    """Firm level of the months [-]."""
    points: tuple[SupplyPoint, ...]
    warnings: tuple[str, ...] = ()
    own: float | None = None
    """The store as the plant is drawn [s]."""
    dispatch: str = ""
    """The rule that set the load, in words."""
    failed: tuple[tuple[float, str], ...] = ()
    """Sizes that could not be built or run [s], each with the reason."""
    delivery: float = 0.0
    """Full supply [W]."""
    electric: bool = True
    """Whether that is electricity; else heat."""
    error: float = 0.0
    """Largest estimated error of what is delivered [-]; 0 where every hour was solved."""

    def series(self, name: str) -> np.ndarray:
        """One figure of `SupplyPoint` over all sizes [SI], shape (points,)."""
        return np.array([getattr(point, name) for point in self.points])

    def store_for(self, full: float) -> float:
        """The store with which a share of the hours runs at full load.

        Parameters
        ----------
        full : float
            Share of hours at full load [-].

        Returns
        -------
        float
            Time for which the store carries full load [s], on the straight line between the sizes that were run.

        Raises
        ------
        ParameterError
            If no size that was run reaches the share, or the smallest already exceeds it.
        """
        share = np.maximum.accumulate(self.series("full"))
        if not share[0] <= full <= share[-1]:
            raise ParameterError("the curve does not pass this share of full load", where=f"supply of {self.plant}",
                                 got=f"{full:.3g}", allowed=f"{share[0]:.3g} to {share[-1]:.3g}",
                                 hint="other sizes of store, or a larger field")
        return float(np.interp(full, share, self.series("store")))

    def to_dict(self) -> dict[str, Any]:
        """Plain dict: plant, weather, rule, hours run [h], firm level [-], full supply [W], and every point [SI]."""
        mapped = {"estimated_error": self.error} if self.error else {}
        return {"plant": self.plant, "weather": self.weather, "dispatch": self.dispatch, "hours": self.hours,
                "firm": self.firm, "full_supply": self.delivery, "electric": self.electric, "own_store": self.own,
                **mapped,
                "points": [{f.name: getattr(p, f.name) for f in fields(p)} for p in self.points],
                "failed": [{"store": store, "why": why} for store, why in self.failed],
                "warnings": list(self.warnings)}

    def to_frame(self) -> pd.DataFrame:
        """One row a size, in hours and per cent."""
        per_cent = {"full load %": "full", "stopped %": "stopped", "energy delivered %": "delivered"}
        spell = {"bridged at full load h": "bridged_full", "bridged h": "bridged", "longest dark spell h": "darkest"}
        table = {"store h": self.series("store") / 3600.0,
                 "hours below full load": (1.0 - self.series("full")) * self.hours}
        table |= {head: 100.0 * self.series(name) for head, name in per_cent.items()}
        table |= {head: self.series(name) / 3600.0 for head, name in spell.items()}
        return pd.DataFrame({**table, f"months above {100 * self.firm:.0f} %, %": 100.0 * self.series("months")})

    def __repr__(self) -> str:
        first, last = self.points[0], self.points[-1]
        return (f"SupplyCurve({self.plant!r}, {len(self.points)} stores of {first.store / 3600:g} to "
                f"{last.store / 3600:g} h, full load in {100 * first.full:.0f} to {100 * last.full:.0f} % of hours)")

    def _repr_html_(self) -> str:
        return shown(self)


def supply_curve(plant: Plant, weather: Weather, *, store_hours: Sequence[Any] | None = None, firm: float = 0.8,
                 dispatch: Rule | None = None, operation: Operation | None = None, exact: bool = True,
                 progress: Callable[[str, float], None] | None = None) -> SupplyCurve:
    """Size and run a plant with stores of several sizes, and read off how well each is supplied.

    Parameters
    ----------
    plant : Plant
        With a store; its own size of store is replaced.
    weather : Weather
        A year; any stretch works.
    store_hours : sequence of str or float, optional
        Times for which a full store carries full load: text with a unit, such as "16 hour", or numbers [s]. Sizes
        around that of the plant, and its own, if left out.
    firm : float
        Firm level that the mean of a month should reach, as a share of full supply [-].
    dispatch : Rule, optional
        Rule for the load; the turbine's own minimum load is taken where none is given.
    operation : Operation, optional
        Outages, what is out of order, standby power, inertia of the turbine.
    exact : bool
        Whether every hour is solved, or read from an operating map: see `run_year`.
    progress : callable, optional
        Called with what is being done and the share that is done [-].

    Returns
    -------
    SupplyCurve
        Sizes that could not be built stand in `failed`.

    Raises
    ------
    SpecificationError
        If the plant has no store.
    ParameterError
        If there is no size, one below half an hour, or a firm level beyond 0 to 1.
    LoopnetError
        If no size could be built and run: what the first one met.
    """
    check_range(firm, where="supply_curve.firm", unit="-", low=0.0, high=1.0)
    if not list(plant.of_family("store")):
        raise SpecificationError("without a store there is no size of store to vary", where=f"plant {plant.name!r}",
                                 got="a plant without a store", allowed="a plant with one store",
                                 hint="put a store between field and load")
    own = float(plant.design.store_hours)
    times = _times(store_hours, own)
    tell = progress or (lambda what, share: None)
    points, warnings = list[SupplyPoint](), list[str]()
    failed, rule, error = list[tuple[float, LoopnetError]](), "", 0.0
    for number, time in enumerate(times):
        def step(what: str, share: float, number: int = number, label: str = f"store of {time / 3600:g} h") -> None:
            tell(f"{label}: {what}", (number + share) / len(times))

        step("sizing", 0.0)
        try:
            sized = size(plant.with_design(store_hours=time))
            year = run_year(sized, weather, dispatch=dispatch, operation=operation, exact=exact, progress=step)
        except LoopnetError as why:
            failed.append((time, why))
            continue
        demand = demand_of(sized)
        points.append(supply_point(year, demand, store=time, firm=firm))
        warnings += [f"store of {time / 3600:g} h: {text}" for text in (*sized.findings, *year.warnings)]
        rule, error = year.dispatch, max(error, year.error)
    if not points:
        raise failed[0][1]
    tell("done", 1.0)
    return SupplyCurve(plant.name, plant.title, weather.name, len(weather) * weather.step / 3600.0, firm,
                       tuple(points), tuple(warnings), own, rule, tuple((time, str(why)) for time, why in failed),
                       demand.delivery, demand.electric, error)


def _times(given: Sequence[Any] | None, own: float) -> list[float]:
    """Sizes to try [s], each once, smallest first."""
    if given is None:
        wanted: list[Any] = [*STORES, own] if 1800.0 <= own <= LONG else [own * share for share in SHARES]
    else:
        wanted = list(given)
    times = sorted({check_range(to_si(each, "s"), where="supply_curve.store_hours", unit="s", low=1800.0, high=3.2e7,
                                hint='text with a unit, such as "16 hour"') for each in wanted})
    if not times:
        raise ParameterError("no size of store to try", where="supply_curve.store_hours", got="none",
                             allowed="one or more", hint='such as ["8 hour", "16 hour"]')
    return times
