"""The cheapest pipe: what a pipe costs in a year, its capital, the heat it loses and the pumping it takes, and the
insulation and diameter at which the sum is least."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.legs import Leg, conductances, drop, outer_diameter
from components.piping import Insulation, Steel, insulation_volume, steel_mass, wall_thickness
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["PipeDuty", "PipeMoney", "Yearly", "optimal_diameter", "optimal_insulation", "optimal_pipe", "yearly_cost"]

Array = NDArray[np.float64]
Floats = float | Array

ONE_METRE = (Leg("pipe", 1.0, 1.0),)
"""What is optimised where no legs are told: one pipe, per metre."""
THICKNESS = (0.002, 1.5)
DIAMETER = (0.003, 5.0)
_CLOSE = 1e-9


@dataclass(frozen=True, kw_only=True)
class PipeDuty(Parameters):
    """What goes through a pipe, and where it lies.

    >>> PipeDuty(flow="100 kg/s", density=770, viscosity=2e-4, temperature="390 degC").temperature
    663.15
    """

    flow: Any = param(unit="kg/s", low=1e-6, high=1e6, source="user", doc="at the design point")
    density: Any = param(unit="kg/m^3", low=0.01, high=2e4, source="user")
    viscosity: Any = param(unit="Pa*s", low=1e-7, high=10.0, source="user")
    temperature: Any = param(unit="K", low=150.0, high=2000.0, source="user")
    ambient: Any = param(288.15, unit="K", low=200.0, high=340.0, source="assumption", doc="mean of the year")
    wind: Any = param(2.5, unit="m/s", low=0.0, high=30.0, source="assumption", doc="mean of the year")
    gauge: Any = param(1e6, unit="Pa", low=0.0, high=4e7, source="user", doc="design pressure over that outside")


@dataclass(frozen=True, kw_only=True)
class PipeMoney(Parameters):
    """What a pipe, the heat it loses and the power it takes are worth.

    >>> round(PipeMoney(heat="0.03 USD/kWh").heat * 3.6e6, 12)
    0.03
    """

    annuity: Any = param(0.086, unit="1/year", low=0.0, high=1.0, source="7 % over 25 years",
                         doc="yearly cost of capital over capital")
    heat: Any = param("0.02 USD/kWh", unit="USD/J", low=0.0, high=1e-6, source="assumption")
    electricity: Any = param("0.10 USD/kWh", unit="USD/J", low=0.0, high=1e-6, source="assumption: price book")
    hot: Any = param("3000 hour", unit="s", low=0.0, high=3.2e7, source="assumption",
                     doc="time of a year at temperature; the cooling at night belongs to it")
    flowing: Any = param("2000 hour", unit="s", low=0.0, high=3.2e7, source="assumption",
                         doc="time of a year at design flow that takes the same pumping")
    pumping: Any = param(0.65, unit="-", low=0.01, high=1.0, source="common practice, no source",
                         doc="efficiency of pump or fan with its motor")
    steel: Any = param(9.2, unit="USD/kg", low=0.0, high=1000.0, source="price book, pipe.steel_erected")
    insulation: Any = param(660.0, unit="USD/m^3", low=0.0, high=1e5, source="price book, insulation.mineral_wool")

    @classmethod
    def of_book(cls, book: Any, *, gas: bool = False, **others: Any) -> PipeMoney:
        """With the prices of a book [USD/kg], [USD/m3], [USD/J]; of sheet ducts where a gas flows."""
        def unit(key: str) -> float:
            return float(book.line(key, quantity=1.0, component="pipe").usd)

        return cls(**{"steel": unit("duct.steel" if gas else "pipe.steel_erected"),
                      "insulation": unit("insulation.mineral_wool"), "electricity": unit("electricity.bought"),
                      **others})


@dataclass(frozen=True)
class Yearly:
    """What a pipe costs in a year, in parts that add up."""

    steel: Any
    """Annuity of the steel [USD/y]."""
    insulation: Any
    """Annuity of the insulation [USD/y]."""
    heat: Any
    """Worth of the heat lost [USD/y]."""
    pumping: Any
    """Worth of the power for friction [USD/y]."""

    @property
    def total(self) -> Any:
        """The sum [USD/y]."""
        return self.steel + self.insulation + self.heat + self.pumping


def yearly_cost(duty: PipeDuty, money: PipeMoney, diameter: Floats, thickness: Floats, *,
                insulation: Insulation | None = None, steel: Steel | None = None,
                legs: Sequence[Leg] = ONE_METRE) -> Yearly:
    """Yearly cost of a pipe: annuity x (steel + insulation) + heat lost x its worth + pumping x its worth.

    Parameters
    ----------
    duty : PipeDuty
        Flow, state, surroundings.
    money : PipeMoney
        Prices and hours.
    diameter : float or array, shape (points,)
        Inner diameter of one pipe for the whole flow [m].
    thickness : float or array, shape (points,)
        Of the insulation [m].
    insulation : Insulation, optional
        Its conductivity and cladding; its own thickness is not used.
    steel : Steel, optional
        For wall and weight.
    legs : sequence of Leg
        Stages in series; one metre of one pipe if none are told.

    Returns
    -------
    Yearly
        Parts [USD/y], per metre of pipe if no legs are told; shape (points,).

    Examples
    --------
    >>> duty = PipeDuty(flow=100, density=770, viscosity=2e-4, temperature="390 degC")
    >>> parts = yearly_cost(duty, PipeMoney(), 0.25, 0.15)
    >>> [round(float(x), 1) for x in (parts.steel, parts.insulation, parts.heat, parts.pumping)]
    [14.8, 10.9, 13.8, 6.0]
    """
    wool, pipe = insulation or Insulation(), steel or Steel()
    layer = _layer(wool, thickness)
    mass: Any = 0.0
    volume: Any = 0.0
    for leg in legs:
        metres, d = leg.count * leg.length, leg.mean_diameter(diameter)
        mass = mass + metres * steel_mass(d, wall_thickness(duty.gauge, d, pipe), pipe)
        volume = volume + metres * insulation_volume(outer_diameter(d), layer)
    lost = sum(conductances(legs, duty.temperature, duty.ambient, diameter, layer, duty.wind)) * (
        duty.temperature - duty.ambient)
    power = drop(legs, duty.flow, duty.density, duty.viscosity, diameter) * duty.flow / (duty.density * money.pumping)
    return Yearly(money.annuity * money.steel * mass, money.annuity * money.insulation * volume,
                  money.heat * money.hot * abs(lost), money.electricity * money.flowing * power)


def _layer(wool: Insulation, thickness: Floats) -> Insulation:
    """The same insulation with another thickness, which here may be an array."""
    made = replace(wool)
    object.__setattr__(made, "thickness", thickness)
    return made


def optimal_insulation(duty: PipeDuty, money: PipeMoney, diameter: float, *, insulation: Insulation | None = None,
                       steel: Steel | None = None, legs: Sequence[Leg] = ONE_METRE) -> float:
    """Thickness of insulation at which a pipe costs least in a year.

    Parameters
    ----------
    duty : PipeDuty
        Flow, state, surroundings.
    money : PipeMoney
        Prices and hours.
    diameter : float
        Inner diameter of one pipe for the whole flow [m].
    insulation : Insulation, optional
        Its conductivity and cladding; its own thickness is not used.
    steel : Steel, optional
        For wall and weight.
    legs : sequence of Leg
        Stages in series; one metre of one pipe if none are told.

    Returns
    -------
    float
        Thickness [m].

    Raises
    ------
    ParameterError
        If the least cost lies at an end of 2 mm to 1.5 m: insulation that is not worth its price, or costs nothing.

    Examples
    --------
    >>> duty = PipeDuty(flow=100, density=770, viscosity=2e-4, temperature="390 degC")
    >>> print(round(optimal_insulation(duty, PipeMoney(), 0.25), 3))
    0.124
    """
    def cost(thickness: Floats) -> Any:
        return yearly_cost(duty, money, diameter, thickness, insulation=insulation, steel=steel, legs=legs).total

    return _least(cost, THICKNESS, "thickness of insulation")


def optimal_diameter(duty: PipeDuty, money: PipeMoney, thickness: float, *, insulation: Insulation | None = None,
                     steel: Steel | None = None, legs: Sequence[Leg] = ONE_METRE) -> float:
    """Inner diameter at which a pipe costs least in a year.

    Parameters
    ----------
    duty : PipeDuty
        Flow, state, surroundings.
    money : PipeMoney
        Prices and hours.
    thickness : float
        Of the insulation [m].
    insulation : Insulation, optional
        Its conductivity and cladding; its own thickness is not used.
    steel : Steel, optional
        For wall and weight.
    legs : sequence of Leg
        Stages in series; one metre of one pipe if none are told.

    Returns
    -------
    float
        Diameter of one pipe for the whole flow [m].

    Raises
    ------
    ParameterError
        If the least cost lies at an end of 3 mm to 5 m.

    Examples
    --------
    >>> duty = PipeDuty(flow=100, density=770, viscosity=2e-4, temperature="390 degC")
    >>> print(round(optimal_diameter(duty, PipeMoney(), 0.15), 3))
    0.25
    """
    def cost(diameter: Floats) -> Any:
        return yearly_cost(duty, money, diameter, thickness, insulation=insulation, steel=steel, legs=legs).total

    return _least(cost, DIAMETER, "diameter")


def optimal_pipe(duty: PipeDuty, money: PipeMoney, *, insulation: Insulation | None = None, steel: Steel | None = None,
                 legs: Sequence[Leg] = ONE_METRE) -> tuple[float, float]:
    """Diameter and thickness of insulation at which a pipe costs least in a year, together.

    Parameters
    ----------
    duty : PipeDuty
        Flow, state, surroundings.
    money : PipeMoney
        Prices and hours.
    insulation : Insulation, optional
        Its conductivity and cladding; its own thickness is not used.
    steel : Steel, optional
        For wall and weight.
    legs : sequence of Leg
        Stages in series; one metre of one pipe if none are told.

    Returns
    -------
    diameter, thickness : float
        Of one pipe for the whole flow, and of the insulation [m].

    Raises
    ------
    ParameterError
        If the least cost lies at an end of the range of either.

    Examples
    --------
    >>> duty = PipeDuty(flow=100, density=770, viscosity=2e-4, temperature="390 degC")
    >>> print([round(x, 3) for x in optimal_pipe(duty, PipeMoney())])
    [0.249, 0.123]
    """
    more: dict[str, Any] = {"insulation": insulation, "steel": steel, "legs": legs}
    thickness = 0.1
    for _ in range(40):
        diameter = optimal_diameter(duty, money, thickness, **more)
        before, thickness = thickness, optimal_insulation(duty, money, diameter, **more)
        if abs(thickness - before) < 1e-7 * thickness:
            break
    return diameter, thickness


def _least(cost: Callable[[Floats], Any], ends: tuple[float, float], what: str) -> float:
    """Where a cost is least: the best of a grid in the logarithm, for it may have a hump, then Brent's method."""
    from scipy.optimize import minimize_scalar  # a slow import, needed only here

    grid = np.linspace(log(ends[0]), log(ends[1]), 60)
    best = int(np.argmin(cost(np.exp(grid))))
    if best in (0, len(grid) - 1):
        raise ParameterError(f"the least cost lies at the end of the range of {what}", where="optimal pipe",
                             got=f"{np.exp(grid[best]):.3g} m", allowed=f"{ends[0]:g} to {ends[1]:g} m",
                             hint="prices, hours and temperatures that leave something to weigh")
    found = minimize_scalar(lambda x: float(np.squeeze(cost(np.exp(x)))), bounds=(grid[best - 1], grid[best + 1]),
                            method="bounded", options={"xatol": _CLOSE})
    return float(np.exp(found.x))
