"""Stores that keep the medium itself: two salt tanks, or a hot and a cold silo of sand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi
from typing import Any, ClassVar, NamedTuple

import numpy as np

from components.inventory_walk import Vessels, compiled
from components.store import Store
from loopnet.params import param
from loopnet.year.march import StoreStep

__all__ = ["InventoryMarch", "InventoryState", "Silos", "TwoTanks", "cylinder_for"]


def cylinder_for(volume: float, slenderness: float, most: float) -> tuple[float, float, float, int]:
    """Equal upright cylinders that hold a volume.

    Parameters
    ----------
    volume : float
        Total volume [m3].
    slenderness : float
        Height over diameter [-].
    most : float
        Largest volume of one cylinder [m3].

    Returns
    -------
    diameter, height : float
        Of one cylinder [m].
    surface : float
        Outer surface of all, bottoms included [m2].
    count : int
        Number of cylinders [-].

    Examples
    --------
    >>> d, h, a, n = cylinder_for(1000.0, 0.5, 20000.0)
    >>> round(d, 3), round(h, 3), n
    (13.656, 6.828, 1)
    """
    count = max(1, int(np.ceil(volume / most)))
    diameter = (4 * volume / count / (pi * slenderness)) ** (1 / 3)
    height = slenderness * diameter
    return diameter, height, count * (pi * diameter * height + pi * diameter**2 / 2), count


class InventoryState(NamedTuple):
    """Masses [kg] and enthalpies [J] of the hot and the cold vessel."""

    hot_mass: float
    hot_heat: float
    cold_mass: float
    cold_heat: float


@dataclass(frozen=True)
class InventoryMarch:
    """Two mixed vessels that exchange their medium through the charging and the discharging path.

    Outflow has the enthalpy at the end of the step (implicit), so that any flow is stable and mass and energy close
    to round-off. Losses follow the temperature at the start of the step.
    """

    mass: float
    heel: float
    hot0: float
    cold0: float
    ua_hot: float
    ua_cold: float
    hot_least: float  # enthalpy [J/kg] below which the hot vessel is too cold for the load
    temperature: Any  # specific enthalpy [J/kg] -> temperature [K], on floats
    years: int = 1  # until a year begins as the year before began
    curve: tuple[np.ndarray, np.ndarray] | None = None  # even enthalpies [J/kg] and temperatures [K], for `walk`

    def start(self) -> InventoryState:
        """Empty: all but the heel in the cold vessel."""
        full = self.mass - self.heel
        return InventoryState(self.heel, self.heel * self.hot0, full, full * self.cold0)

    def outlets(self, state: InventoryState) -> tuple[float, float]:
        """Specific enthalpy [J/kg] of what would leave the hot and the cold vessel now."""
        return state.hot_heat / state.hot_mass, state.cold_heat / state.cold_mass

    def energy(self, state: InventoryState) -> float:
        """Enthalpy of all that is inside [J]."""
        return state.hot_heat + state.cold_heat

    def too_cold(self, state: InventoryState) -> bool:
        """Whether the hot vessel has grown too cold for the load. The fuller than half it is, the colder it may be, by
        as much again as it may fall when empty: else a vessel refilled over a cold rest could neither be drawn from nor
        be filled further."""
        full = min(max(2.0 * (state.hot_mass - self.heel) / (self.mass - 2 * self.heel) - 1.0, 0.0), 1.0)
        return state.hot_heat < (self.hot_least - full * (self.hot0 - self.hot_least)) * state.hot_mass

    def available(self, state: InventoryState) -> float:
        """Heat that can still be drawn, at design temperatures [J]; none where the hot vessel has grown too cold."""
        if self.too_cold(state):
            return 0.0
        return max(state.hot_mass - self.heel, 0.0) * (self.hot0 - self.cold0)

    def shares(self, state: InventoryState, charge: float, discharge: float, dt: float) -> tuple[float, float]:
        """Shares of the step for which the charging and the discharging flow [kg/s] can run: no vessel runs dry, and
        none is drawn from that has grown too cold."""
        drawn = 1.0
        if self.too_cold(state):
            discharge, drawn = 0.0, 0.0
        if discharge > 0.0:
            drawn = min(1.0, max(state.hot_mass - self.heel + charge * dt, 0.0) / (discharge * dt))
        taken = 1.0
        if charge > 0.0:
            taken = min(1.0, max(state.cold_mass - self.heel + drawn * discharge * dt, 0.0) / (charge * dt))
        if discharge > 0.0 and taken < 1.0:
            drawn = min(1.0, max(state.hot_mass - self.heel + taken * charge * dt, 0.0) / (discharge * dt))
        return taken, drawn

    def step(self, state: InventoryState, charge: tuple[float, float], discharge: tuple[float, float], ambient: float,
             dt: float, draft: StoreStep | None = None) -> StoreStep:
        """Move the state over one step; flows are (mass [kg/s], enthalpy with which it arrives [J/kg])."""
        (m_in, h_hot), (m_out, h_cold) = charge, discharge
        hot_loss = self.ua_hot * (self.temperature(state.hot_heat / state.hot_mass) - ambient) * dt
        cold_loss = self.ua_cold * (self.temperature(state.cold_heat / state.cold_mass) - ambient) * dt
        hot = (state.hot_heat + m_in * h_hot * dt - hot_loss) / (state.hot_mass + m_in * dt)
        cold = (state.cold_heat + m_out * h_cold * dt - cold_loss) / (state.cold_mass + m_out * dt)
        hot_mass, cold_mass = state.hot_mass + (m_in - m_out) * dt, state.cold_mass - (m_in - m_out) * dt
        return StoreStep(InventoryState(hot_mass, hot_mass * hot, cold_mass, cold_mass * cold), hot, cold,
                         hot_loss + cold_loss, final=True)

    def settle(self, state: InventoryState, joule: float) -> InventoryState:
        """Give a little energy [J] to the vessel that holds more."""
        if state.hot_mass > state.cold_mass:
            return state._replace(hot_heat=state.hot_heat + joule)
        return state._replace(cold_heat=state.cold_heat + joule)

    def walk(self, field: Any, turbine: Any, course: Any, state: InventoryState
             ) -> tuple[np.ndarray, InventoryState, bool] | None:
        """All hours at once, where they can be compiled: rows of the march, the state and whether the turbine runs."""
        loop = compiled()
        if loop is None or self.curve is None:
            return None
        h, kelvin = self.curve
        vessels = Vessels(self.mass, self.heel, self.hot0, self.cold0, self.hot_least, self.ua_hot, self.ua_cold,
                          float(h[0]), float((len(h) - 1) / (h[-1] - h[0])), kelvin)
        rows, *content, was_on = loop(vessels, field, turbine, course, state.hot_mass, state.hot_heat, state.cold_mass,
                                      state.cold_heat)
        return rows, InventoryState(*content), was_on

    def electricity(self, charge: np.ndarray, discharge: np.ndarray) -> np.ndarray:
        """Electricity of the store itself [W]: none, pumps and lifts stand in the paths."""
        return 0.0 * charge


@dataclass(frozen=True, kw_only=True)
class Inventory(Store):
    """A hot and a cold vessel that hold the medium itself."""

    heel: Any = param(0.06, unit="-", low=0.005, high=0.4, source="common practice, no source",
                      doc="share of the medium that stays in each vessel")
    slenderness: Any = param(0.4, unit="-", low=0.1, high=5.0, source="common practice, no source",
                             doc="height over diameter of a vessel")
    largest: Any = param(16000.0, unit="m^3", low=10.0, high=1e5, source="common practice, no source",
                         doc="largest volume of one vessel")
    drift_hot: Any = param(20.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(20.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                            doc="how far the cold outlet may move from its design temperature")
    wall_loss: Any = param(0.18, unit="W/m^2/K", low=0.01, high=5.0, source="see the class", doc="loss coefficient")

    prices: ClassVar[dict[str, str]] = {}

    def vessel_mass(self, v: Any) -> float:
        """Mass of the medium in both vessels [kg]."""
        useful = float(np.squeeze(v["capacity"] / (v.charge.inlet.h - v.charge.outlet.h)))
        return useful / (1 - 2 * self.heel)

    def vessel_volume(self, v: Any) -> tuple[float, float]:
        """Volume of the hot and of the cold vessels, each able to hold all but one heel [m3]."""
        mass, fluid = self.vessel_mass(v) * (1 - self.heel), v.charge.medium
        if fluid.phase == "particles":
            return mass / fluid.bulk_density, mass / fluid.bulk_density
        hot, cold = float(np.squeeze(v.charge.inlet.T)), float(np.squeeze(v.charge.outlet.T))
        return mass / float(fluid.rho(hot)), mass / float(fluid.rho(cold))

    def march(self, v: Any) -> InventoryMarch:
        mass, fluid = self.vessel_mass(v), v.charge.medium
        hot, cold = float(np.squeeze(v.charge.inlet.h)), float(np.squeeze(v.charge.outlet.h))
        areas = [cylinder_for(volume, self.slenderness, self.largest)[2] for volume in self.vessel_volume(v)]
        low, high = sorted((cold, hot))
        grid = np.linspace(low - 0.6 * (high - low), high + 0.3 * (high - low), 60)
        kelvin = fluid.T(grid)
        ua_hot, ua_cold = (self.wall_loss * area for area in areas)
        least = float(fluid.h(fluid.T(hot) - self.drift_hot))
        return InventoryMarch(mass, self.heel * mass, hot, cold, ua_hot, ua_cold, least,
                              lambda h: float(np.interp(h, grid, kelvin)), curve=(grid, kelvin))

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        medium_key = f"medium.{v.charge.medium.name.replace(' ', '_')}"
        yield book.line(medium_key, quantity=self.vessel_mass(v), component=v.name, item="medium")
        for place, volume in zip(("hot", "cold"), self.vessel_volume(v), strict=True):
            yield book.line(self.prices[place], quantity=volume, component=v.name, item=f"{place} vessels")
            if "insulation" in self.prices:
                diameter, _, surface, count = cylinder_for(volume, self.slenderness, self.largest)
                plan = count * pi * diameter**2 / 4
                yield book.line(self.prices["insulation"], quantity=surface - plan, component=v.name,
                                item=f"{place} insulation")
                yield book.line(self.prices["foundation"], quantity=plan, component=v.name, item=f"{place} foundation")


@dataclass(frozen=True, kw_only=True)
class TwoTanks(Inventory):
    """A hot and a cold tank of liquid.

    The wall loss default is 0.18 W/m2/K: 65 W/m2 at 386 degC over 25 degC air, between the 61 W/m2 (bottom) and
    80 W/m2 (wall) measured on pilot salt tanks (Prieto et al., Solar Energy 135 (2016) 518).
    """

    phases: ClassVar[dict[str, tuple[str, ...]]] = {"charge": ("liquid",), "discharge": ("liquid",)}
    prices: ClassVar[dict[str, str]] = {
        "hot": "tank.salt_hot", "cold": "tank.salt_cold", "insulation": "tank.insulation",
        "foundation": "foundation.tank"}
    cautions: ClassVar[tuple[str, ...]] = (
        "Hot tanks: foundations, dikes and venting follow local codes; a leak of hot liquid burns and can start fires.",
    )


@dataclass(frozen=True, kw_only=True)
class Silos(Inventory):
    """A hot and a cold silo of sand or other particles."""

    phases: ClassVar[dict[str, tuple[str, ...]]] = {"charge": ("particles",), "discharge": ("particles",)}
    prices: ClassVar[dict[str, str]] = {"hot": "silo.hot", "cold": "silo.cold"}
    cautions: ClassVar[tuple[str, ...]] = (
        "Silos: hot particles flow like water through any gap and bury people; entry, dust (crystalline silica) and "
        "structural loads follow local codes and licensed practice.",
    )

    drift_hot: Any = param(24.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    slenderness: Any = param(1.2, unit="-", low=0.1, high=5.0, source="common practice, no source",
                             doc="height over diameter of a silo")
    wall_loss: Any = param(0.25, unit="W/m^2/K", low=0.01, high=5.0, source="about 0.4 m of mineral wool and lining; "
                           "common practice, no source", doc="loss coefficient")
