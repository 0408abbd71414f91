"""Useful heat of a bench test, per aperture: from flow and temperatures, from water boiled away, or as it is stated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.bench_boil import boil_off_heat, boiling_point
from loopnet.errors import DataError, ParameterError
from loopnet.media import medium
from loopnet.units import to_si

__all__ = ["GivenLiquid", "Heat", "read_along"]

Array = NDArray[np.float64]
ROOM = 293.15
"""Temperature at which a volume of cold water is measured, if no feed temperature is given [K]."""


def read_along(text: Any, unit: str) -> tuple[tuple[float, float], ...]:
    """A property that is one number, or several at temperatures: pairs of temperature [K] and value [in `unit`].

    Parameters
    ----------
    text : float or str
        A number [in `unit`], text with a unit, or text such as ``"1.9 kJ/kg/K at 20 degC, 2.6 kJ/kg/K at 250 degC"``.
    unit : str
        SI unit of the property.

    Returns
    -------
    tuple of pairs
        In the order of temperature; one pair at 293.15 K for a single number.

    Raises
    ------
    ParameterError
        If the text cannot be read.

    Examples
    --------
    >>> read_along("1.9 kJ/kg/K at 0 degC, 2.6 kJ/kg/K at 250 degC", "J/kg/K")
    ((273.15, 1900.0), (523.15, 2600.0))
    """
    if not isinstance(text, str) or " at " not in text:
        return ((ROOM, to_si(text, unit)),)
    pairs = []
    for part in text.split(","):
        value, _, temperature = part.partition(" at ")
        pairs.append((to_si(temperature.strip(), "K"), to_si(value.strip(), unit)))
    return tuple(sorted(pairs))


@dataclass(frozen=True)
class GivenLiquid:
    """A liquid known by heat capacity [J/kg/K] and density [kg/m3] at some temperatures [K], straight lines between
    and beyond them."""

    capacity: tuple[tuple[float, float], ...]
    density: tuple[tuple[float, float], ...] = ()
    name: str = "a liquid with given properties"
    cautions: tuple[str, ...] = ("Hot oil burns: no open flame or leaking joint near it, an extinguisher at hand, and "
                                 "never water into hot oil; follow the maker's safety sheet.",)

    def __post_init__(self) -> None:
        for what, pairs in (("heat capacity", self.capacity), ("density", self.density)):
            if any(not value > 0 for _, value in pairs):
                raise ParameterError(f"{what} must be positive", where=f"liquid, {what}",
                                     got=", ".join(f"{value:g}" for _, value in pairs), allowed="above 0",
                                     hint="the figure of the data sheet with its unit")

    def h(self, T: Any, p: Any = None) -> Array:
        """Enthalpy [J/kg] above the first temperature, at `T` [K]: the integral of the heat capacity."""
        if len(self.capacity) == 1:
            return np.asarray(self.capacity[0][1] * (np.asarray(T) - self.capacity[0][0]))
        nodes, values = np.array(self.capacity).T
        steps = np.concatenate([[0.0], np.cumsum(np.diff(nodes) * (values[1:] + values[:-1]) / 2)])
        cell = np.clip(np.searchsorted(nodes, T) - 1, 0, len(nodes) - 2)
        over = np.asarray(T) - nodes[cell]
        slope = (values[cell + 1] - values[cell]) / (nodes[cell + 1] - nodes[cell])
        return np.asarray(steps[cell] + over * (values[cell] + slope * over / 2))

    def rho(self, T: Any, p: Any = None) -> Array:
        """Density [kg/m3] at `T` [K]."""
        if not self.density:
            raise ParameterError("a flow in volume needs the density of the liquid", where="density", got="none",
                                 allowed="a density", hint="a line '# density: 860 kg/m3' above the table, or "
                                 "density='860 kg/m3'")
        if len(self.density) == 1:
            return np.full(np.shape(T), self.density[0][1])
        nodes, values = np.array(self.density).T
        cell = np.clip(np.searchsorted(nodes, T) - 1, 0, len(nodes) - 2)
        slope = (values[cell + 1] - values[cell]) / (nodes[cell + 1] - nodes[cell])
        return np.asarray(values[cell] + slope * (np.asarray(T) - nodes[cell]))


def liquid(name: str | None, capacity: Any, density: Any) -> Any:
    """A medium of the library by name, or a liquid with given properties where a heat capacity is given.

    Parameters
    ----------
    name : str, optional
        What flows.
    capacity, density : float or str, optional
        Heat capacity [J/kg/K] and density [kg/m3]; see `read_along`.

    Returns
    -------
    Medium or GivenLiquid
    """
    if capacity is None:
        return medium("water" if name is None else name)
    return GivenLiquid(read_along(capacity, "J/kg/K"), () if density is None else read_along(density, "kg/m^3"),
                       *(() if name is None else (name,)))


@dataclass(frozen=True)
class Heat:
    """How useful heat is found: `kind` is "flow", "boil-off" or "efficiency"; per aperture [m2], at a pressure [Pa].

    A flow in volume is one at the inlet, where meters sit.
    """

    kind: str
    aperture: float
    liquid: Any
    pressure: float

    def useful(self, columns: Mapping[str, Array]) -> Array:
        """Useful heat per aperture [W/m2], shape (points,)."""
        p = columns.get("pressure", self.pressure)
        if self.kind == "efficiency":
            return np.asarray(columns["efficiency"] * columns["dni"] * np.cos(columns.get("incidence", 0.0)))
        if self.kind == "boil-off":
            feed = columns.get("feed")
            rate = columns.get("boiled")
            if rate is None:
                cold = columns["boiled volume"]
                rate = cold * medium("water").rho(np.full(cold.shape, ROOM) if feed is None else feed, p)
            return np.asarray(boil_off_heat(rate, p, feed)) / self.aperture
        inlet, outlet = columns["inlet"], columns["outlet"]
        flow = columns.get("flow")
        if flow is None:
            flow = columns["flow volume"] * self.liquid.rho(inlet, p)
        return np.asarray(flow * (self.liquid.h(outlet, p) - self.liquid.h(inlet, p)) / self.aperture)

    def middle(self, columns: Mapping[str, Array]) -> Array:
        """Mean temperature of what is heated [K], shape (points,)."""
        if self.kind == "boil-off":
            p = columns.get("pressure", self.pressure)
            return np.broadcast_to(np.asarray(boiling_point(p), dtype=float), np.shape(columns["dni"])).copy()
        return np.asarray(0.5 * (columns["inlet"] + columns["outlet"]))

    def check(self, columns: Mapping[str, Array], where: str) -> None:
        """Refuse temperatures that the liquid does not stand, and water above its boiling point.

        Raises
        ------
        PropertyRangeError, DataError
        """
        if self.kind != "flow" or isinstance(self.liquid, GivenLiquid):
            return
        for key in ("inlet", "outlet"):
            self.liquid.check(columns[key], where=f"{where}, column {key!r}")
        if self.liquid.name == "water":
            p = np.asarray(columns.get("pressure", self.pressure))
            hottest, limit = float(columns["outlet"].max()), float(np.min(boiling_point(p)))
            if hottest >= limit:
                raise DataError("this water would be boiling, and heat cannot be reckoned from its temperatures",
                                where=where, got=f"{hottest - 273.15:.1f} degC", allowed=f"below {limit - 273.15:.1f} "
                                f"degC at {float(np.min(p)) / 1e5:.3g} bar",
                                hint="the absolute pressure of the loop: a line '# pressure: 3 bar' above the table")
