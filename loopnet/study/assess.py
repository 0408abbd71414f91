"""Assess one plant: size it, run its year, bill it, and levelise its cost, as one frozen result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from loopnet.errors import SpecificationError
from loopnet.money import Bill, Finance, LevelisedCost, PriceBook, levelise, price_book
from loopnet.plant import Plant
from loopnet.shown import shown
from loopnet.site import Weather
from loopnet.solve import Sized, size
from loopnet.year import Operation, Rule, Year, run_year

__all__ = ["Assessment", "assess", "bill_of", "settle"]

JOULE_PER_KWH = 3.6e6


@dataclass(frozen=True)
class Assessment:
    """A plant at a site: its design point, its year, its bill and what a kilowatt-hour costs."""

    plant: Plant
    sized: Sized = field(repr=False)
    year: Year = field(repr=False)
    bill: Bill = field(repr=False)
    cost: LevelisedCost = field(repr=False)
    weather: str = ""
    back_up: tuple[Any, ...] = field(default=(), repr=False)
    """What fuel gives to users where the plant leaves them short: one `BackUp` for each user that has a boiler."""

    @property
    def name(self) -> str:
        """Name of the plant."""
        return self.plant.name

    @cached_property
    def aperture(self) -> float:
        """Aperture of all fields [m2]."""
        return sum(self.sized.values[f"{name}.aperture"] for name in self.plant.of_family("field"))

    @cached_property
    def net_power(self) -> float | None:
        """Net electric power at the design point [W]; None where the plant makes none."""
        return self.plant.design.net_power if self.year.gross > 0 else None

    @cached_property
    def store_heat(self) -> float:
        """Heat that a full store gives at design temperatures [kWh]."""
        return sum(self.sized.values[f"{name}.capacity"] for name in self.plant.of_family("store")) / JOULE_PER_KWH

    @cached_property
    def capacity_factor(self) -> float:
        """Delivery over what the design point would deliver in every hour of the year [-]."""
        hours = len(self.year.hourly) * self.year.step / 3600.0
        if self.net_power is not None:
            return self.year.net / (self.net_power / 1e3 * hours)
        user = sum(self.sized.values[f"{n}.heat"] for n in self.plant.of_family("user"))
        return self.year.heat / (user / 1e3 * hours)

    @property
    def heat(self) -> float:
        """Heat that users got, from the plant and from fuel [kWh]."""
        return self.year.heat + self.fuel_heat

    @property
    def fuel_heat(self) -> float:
        """The part of it that fuel gave [kWh]."""
        return sum(each.unmet for each in self.back_up) / JOULE_PER_KWH

    @property
    def solar_share(self) -> float | None:
        """Share of the heat to users that the plant gave [-]; None where there is no heat to users."""
        return self.year.heat / self.heat if self.heat > 0 else None

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt people: from the media and the components of the plant, each once."""
        texts = [text for loop in self.plant.loops.values() for text in loop.medium.cautions]
        texts += [text for component in self.plant.components.values() for text in type(component).cautions]
        texts += [text for each in self.back_up for text in type(each.boiler).cautions]
        return tuple(dict.fromkeys(texts))

    @property
    def warnings(self) -> tuple[str, ...]:
        """What was near or beyond a limit, or extrapolated."""
        return tuple(dict.fromkeys((*self.sized.findings, *self.year.warnings, *self.cost.warnings)))

    def losses(self) -> dict[str, float]:
        """Every loss by name [kWh]; with deliveries and change in store they add up to the sun.

        Where a plant makes no electricity, what its pumps, fans and drives take is bought: a gain, shown as negative.
        """
        bought = {} if self.year.gross > 0 else {"bought electricity (a gain)": -self.year.parasitic}
        return {**self.year.losses(), **bought}

    def to_dict(self) -> dict[str, Any]:
        """Figures of the plant under the names of the `rank` contract; energies in kWh, money in USD."""
        electric = self.net_power is not None
        return {
            "name": self.name,
            "title": self.plant.title,
            "dispatch": self.year.dispatch,
            "demand_kwh": self.year.demand,
            "unmet_demand_kwh": self.year.unmet,
            "revenue_usd": self.year.revenue,
            "net_electricity_kwh": self.year.net if electric else None,
            "heat_to_user_kwh": self.year.heat if self.year.heat > 0 else None,
            "solar_share_of_heat": self.solar_share,
            "back_up": {each.user: each.to_dict() for each in self.back_up},
            "heat_collected_kwh": self.year.collected,
            "sun_on_aperture_kwh": self.year.sun,
            "gross_electricity_kwh": self.year.gross if electric else None,
            "parasitic_electricity_kwh": self.year.parasitic,
            "change_in_store_kwh": self.year.stored,
            "capacity_factor": self.capacity_factor,
            "sun_to_electricity": self.year.net / self.year.sun if electric else None,
            "usd_per_kwh_electricity": self.cost.usd_per_kwh_electricity,
            "usd_per_kwh_heat": self.cost.usd_per_kwh_heat,
            "capital_usd": self.cost.capital_usd,
            "aperture_m2": self.aperture,
            "net_power_w": self.net_power,
            "store_kwh_heat": self.store_heat,
            "steady_imbalance": self.year.steady_imbalance,
            "year_imbalance": self.year.imbalance,
            "worst_pinch_k": self.year.pinch if np.isfinite(self.year.pinch) else None,
            "weak_point": self.cost.weak_point,
            "warnings": list(self.warnings),
            "cautions": list(self.cautions),
            "losses_kwh": self.losses(),
            "costs_usd": dict(self.cost.capital_by_component),
        }

    def to_frame(self) -> pd.DataFrame:
        """One row with the figures of `to_dict` that are single numbers."""
        return pd.DataFrame([{k: v for k, v in self.to_dict().items() if not isinstance(v, (list, dict))}])

    def __repr__(self) -> str:
        return f"Assessment({self.name!r}, {100 * self.cost.usd_per_kwh:.2f} ct/kWh of {self.cost.product})"

    def _repr_html_(self) -> str:
        return shown(self)


def bill_of(sized: Sized, book: PriceBook) -> Bill:
    """Cost lines of all components of a sized plant, at the prices of a book."""
    return Bill(line for name, component in sized.plant.components.items()
                for line in component.costs(sized.view(name), book))


def assess(plant: Plant, weather: Weather, *, book: PriceBook | None = None, finance: Finance | None = None,
           dispatch: Rule | None = None, operation: Operation | None = None, exact: bool = True,
           years: int | None = None, progress: Callable[[str, float], None] | None = None) -> Assessment:
    """Size a plant, run it through a year and levelise its cost.

    Parameters
    ----------
    plant : Plant
    weather : Weather
        A full year.
    book, finance, dispatch, operation : optional
        Prices, money, rule for the load and operation; the shipped defaults where none is given.
    exact : bool
        Whether every hour is solved, or read from an operating map: see `run_year`.
    years : int, optional
        Years on end, the last of which is assessed; as many as the store needs if not given.
    progress : callable, optional
        Called with what is being done and the share that is done [-].

    Returns
    -------
    Assessment

    Raises
    ------
    LoopnetError
        Of the kind that fits what is wrong: drawing, specification, range, convergence.
    """
    if progress:
        progress("sizing", 0.0)
    sized = size(plant)
    year = run_year(sized, weather, dispatch=dispatch, operation=operation, exact=exact, years=years,
                    progress=progress)
    return settle(sized, year, weather, book=book, finance=finance)


def settle(sized: Sized, year: Year, weather: Weather | str, *, book: PriceBook | None = None,
           finance: Finance | None = None) -> Assessment:
    """Bill a plant whose year is known and levelise its cost: what remains to be done when only money changes.

    Where a user has a boiler of its own, its fuel gives what the plant does not: the heat that is levelised is then all
    that the user got, and boiler, fuel and carbon dioxide are on the bill.

    Parameters
    ----------
    sized : Sized
    year : Year
        Its year, or a stretch of one.
    weather : Weather or str
        That the year was run on; its name is enough where no user has a boiler.
    book, finance : optional
        Prices and money; the shipped defaults where none is given.

    Returns
    -------
    Assessment
    """
    book = book or price_book()
    years = len(year.hourly) * year.step / (8760 * 3600.0)
    electric = year.gross > 0
    bill = bill_of(sized, book)
    if not electric and year.parasitic > 0:
        bill += Bill([book.line("electricity.bought", quantity=year.parasitic / years * JOULE_PER_KWH,
                                component="electricity", item="bought for pumps, fans and drives")])
    helped = _helped(sized.plant, year, weather)
    bill += Bill(line for each in helped for line in each.costs(book))
    heat = year.heat + sum(each.unmet for each in helped) / JOULE_PER_KWH
    cost = levelise(bill, finance, electricity=year.net / years if electric else None,
                    heat=heat / years if heat > 0 else None,
                    rated_power=sized.plant.design.net_power if electric else None, book=book)
    name = weather if isinstance(weather, str) else weather.name
    return Assessment(sized.plant, sized, year, bill, cost, name, helped)


def _helped(plant: Plant, year: Year, weather: Weather | str) -> tuple[Any, ...]:
    """What fuel gives to users that have a boiler."""
    wanting = {name: part for name, part in plant.components.items() if getattr(part, "back_up", None) is not None}
    if wanting and isinstance(weather, str):
        raise SpecificationError("what users want follows the weather", where=f"plant {plant.name!r}", got=weather,
                                 allowed="the weather that the year was run on", hint="settle(sized, year, weather)")
    return tuple(part.backed_up(name, year, weather) for name, part in wanting.items())
