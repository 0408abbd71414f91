"""What heat engines share: one hot side, a generator, losses at part load, and heat given to the air by a dry cooler.

An engine stands where boiler and turbine would: loop.through(store.discharge, pump, engine.hot, store.discharge)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["AirCooled", "HeatEngine", "cooling_temperature", "either", "part_load"]

AIR_CP = 1006.0  # J/kg/K, air near 300 K (handbook value)
AIR_GAS = 287.05  # J/kg/K, specific gas constant of dry air
ROUNDING = 0.02  # K, of the corner where a bypass opens
SLOWING = 3.0  # K, over which fans slow down near the lowest cooling temperature


def part_load(load: ArrayLike, loss: ArrayLike) -> Any:
    """Efficiency of a machine over that at its design flow: 1 - a (1 - x)^2, level at full load.

    Parameters
    ----------
    load : float or ndarray
        Flow over that of the design point [-]; above one it counts as one.
    loss : float or ndarray
        Share lost at no flow, a [-].

    Returns
    -------
    float or ndarray
        Factor [-].

    Examples
    --------
    >>> round(float(part_load(0.5, 0.2)), 3)
    0.95
    """
    return 1.0 - np.asarray(loss) * np.maximum(1.0 - np.asarray(load, dtype=float), 0.0) ** 2


def cooling_temperature(ambient: ArrayLike, approach: ArrayLike, floor: float) -> Any:
    """Temperature at which a dry cooler takes heat: ambient plus approach, rounded off to a floor that fans hold.

    Parameters
    ----------
    ambient : float or ndarray
        Dry-bulb temperature [K].
    approach : float or ndarray
        Cooling temperature above it, in proportion to the heat [K].
    floor : float
        Lowest temperature [K], held by slowing the fans.

    Returns
    -------
    float or ndarray
        Temperature [K].

    Examples
    --------
    >>> round(float(cooling_temperature(300.0, 20.0, 300.0)), 2)
    320.11
    """
    above = np.asarray(ambient, dtype=float) + np.asarray(approach, dtype=float) - floor
    return floor + 0.5 * (above + np.sqrt(above**2 + SLOWING**2))


def either(first: ArrayLike, second: ArrayLike) -> Any:
    """Zero where the smaller of two amounts is nothing and neither is negative, rounded off within some 0.02.

    Parameters
    ----------
    first, second : float or ndarray
        Amounts of one unit, here [K].

    Returns
    -------
    float or ndarray
        a + b - sqrt(a^2 + b^2 + e^2), in the same unit.

    References
    ----------
    Fischer, A.: A special Newton-type optimization method, Optimization 24 (1992) 269, from memory.

    Examples
    --------
    >>> round(float(either(0.0, 5.0)), 4), float(either(-1.0, 5.0)) < 0.0
    (-0.0, True)
    """
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    return a + b - np.sqrt(a * a + b * b + ROUNDING**2)


@dataclass(frozen=True, kw_only=True)
class HeatEngine(Component):
    """An engine between one hot medium and the air, with a generator; concrete engines give its equations.

    They have an unknown `power`, and tell the year a `load`.
    """

    family: ClassVar[str] = "cycle"
    sides: ClassVar[tuple[str, ...]] = ("hot",)
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"hot": ("liquid", "gas", "particles")}
    generates: ClassVar[tuple[str, ...]] = ("power",)

    generator_efficiency: Any = param(0.96, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                      doc="gear, bearings, generator and transformer")
    part_load_loss: Any = param(0.2, unit="-", low=0.0, high=0.8, source="assumption",
                                doc="share of efficiency lost at no flow, falling with the square of (1 - load)")
    drop_hot: Any = param("0.5 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                          doc="pressure drop of the hot side at the design point; none for particles")
    u: Any = param(300.0, unit="W/m^2/K", low=5.0, high=4000.0,
                   source="common practice for oil to boiling organic fluid, no source; gas and moving beds are lower",
                   doc="overall coefficient of the heater at the design point, for its area")
    minimum_load: Any = param(0.25, unit="-", low=0.05, high=1.0, source="common practice, no source",
                              doc="least load of the engine")
    start_hours: Any = param("0.3 hour", unit="s", low=0.0, high=36000.0, source="assumption",
                             doc="heat of a start, as time at the design heat input")
    price_heater: str = "exchanger.shell_tube"
    """Price key of the heater, per area."""

    def _drop(self) -> Equation:
        return Equation("hot.pressure", lambda v: v.hot.inlet.p - v.hot.outlet.p - self._hot_drop(v) * v.hot.ratio**2)

    def _hot_drop(self, v: Any) -> float:
        return 0.0 if v.hot.medium.phase == "particles" else float(self.drop_hot)

    def _generator(self, v: Any) -> tuple[Term, Term]:
        return (Term("gross electricity", "power", v["power"]),
                Term("generator", "loss", v["power"] * (1 / self.generator_efficiency - 1)))

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"load": (self.minimum_load, 1.0)}

    def gross_efficiency(self, v: Any) -> Any:
        """Gross electricity over heat taken from the hot medium [-]."""
        return v["power"] / -v.hot.heat

    def _plant_costs(self, v: Any, book: Any, key: str, item: str) -> Iterable[Any]:
        """Engine and what stands around it, by gross power, and the heater by area."""
        gross = float(np.squeeze(v["power"]))
        for each, what in ((key, item), ("electrical.balance", "transformers, cables, buildings"),
                           ("controls", "controls")):
            yield book.line(each, quantity=gross, component=v.name, item=what)
        area = float(np.squeeze(v["UA"])) / self.u
        yield book.line(self.price_heater, quantity=area, component=v.name, item="heater")


@dataclass(frozen=True, kw_only=True)
class AirCooled(HeatEngine):
    """An engine whose cold end is a dry cooler: it follows the air, and its approach shrinks with its heat."""

    consumes: ClassVar[tuple[str, ...]] = ("fans",)

    cold_approach: Any = param(18.0, unit="K", low=3.0, high=60.0, source="common practice, no source",
                               doc="condensing or cooling temperature above the air at the design point")
    cold_floor: Any = param("25 degC", unit="K", low=275.5, high=360.0, source="common practice, no source",
                            doc="lowest condensing or cooling temperature, held by slowing the fans")
    air_rise: Any = param(0.65, unit="-", low=0.1, high=0.95, source="common practice, no source",
                          doc="warming of the cooling air over the approach")
    fan_pressure: Any = param(110.0, unit="Pa", low=0.0, high=500.0, source="common practice, no source",
                              doc="pressure rise of the cooler's fans")
    fan_efficiency: Any = param(0.6, unit="-", low=0.2, high=0.9, source="common practice, no source",
                                doc="fans of the cooler")
    motor_efficiency: Any = param(0.95, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                  doc="motors of pumps and fans")

    def unknowns(self) -> Iterable[Unknown]:
        return (
            Unknown("power", "W", 5e6),
            Unknown("fans", "W", 1e5),
            Unknown("rejected", "W", 1.5e7),
            Unknown("T_cold", "K", 320.0, low=276.0, high=420.0),
            Unknown("UA", "W/K", 5e5, low=0.0, hardware=True),
        )

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("cooler", lambda v: v["T_cold"] - cooling_temperature(
                v.site("ambient"), self.cold_approach * self._heat_share(v), self.cold_floor)),
            Equation("fans", lambda v: v["fans"] - self._fan_power(v)),
            self._drop(),
        )

    def _heat_share(self, v: Any) -> Any:
        return 1.0 if v.sizing else v["rejected"] / v.design("rejected")

    def _fan_power(self, v: Any) -> Any:
        density = v.targets.pressure / (AIR_GAS * v.site("ambient"))
        warming = self.air_rise * (v["T_cold"] - v.site("ambient"))
        return (v["rejected"] / (AIR_CP * warming * density) * self.fan_pressure
                / (self.fan_efficiency * self.motor_efficiency))

    def terms(self, v: Any) -> Iterable[Term]:
        return (*self._generator(v), Term("cooler fans", "electricity", v["fans"]),
                Term("cooler", "loss", v["rejected"]), Term("fans and their motors", "loss", v["fans"]))

    def differences(self, v: Any) -> dict[str, Any]:
        return {"cooler": v["T_cold"] - v.site("ambient")}

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield book.line("condenser.dry", quantity=float(np.squeeze(v["rejected"])), component=v.name, item="dry cooler")
