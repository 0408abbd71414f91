"""Stirling engine as a map of efficiency: share of Carnot over heater temperature, and what part load leaves of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from components.cycle_heat import cooler_exchange, engine_heater
from components.engine import AirCooled
from components.transfer import lmtd, ua_at_flow
from loopnet.params import param
from loopnet.plant import Equation, HeatExchange, Term, Unknown
from loopnet.units import show

__all__ = ["HEATER", "LOAD", "MAP_SOURCE", "StirlingEngine", "share_of_carnot"]

HEATER = ((423.15, 0.20), (573.15, 0.36), (673.15, 0.44), (773.15, 0.51), (873.15, 0.56), (973.15, 0.59),
          (1073.15, 0.60))
"""Heater temperature [K] and share of Carnot of the shaft at full load [-]."""
LOAD = ((0.0, 0.0), (0.1, 0.40), (0.25, 0.70), (0.5, 0.90), (0.75, 0.97), (1.0, 1.0))
"""Load [-] and what is left of the share [-]."""
MAP_SOURCE = (
    "from memory: kinematic engines of dishes gave 38 to 42 % at the shaft with heaters near 720 degC and coolant near "
    "50 degC, a share of Carnot near 0.6; free-piston engines near 550 degC some 0.5; engines for warm sources far "
    "less. Points between, and the curve of part load by mean pressure, are assumptions.")


@lru_cache(maxsize=1)
def _curves() -> tuple[Any, Any]:
    from scipy.interpolate import PchipInterpolator

    return tuple(PchipInterpolator(*zip(*points, strict=True), extrapolate=True)
                 for points in (HEATER, LOAD))


def share_of_carnot(heater: ArrayLike, load: ArrayLike = 1.0) -> Any:
    """Share of Carnot's efficiency that reaches the shaft, between the temperatures of heater and cooler.

    Parameters
    ----------
    heater : float or ndarray
        Temperature of the heater's wall [K], 150 to 800 degC; beyond, the end of the map is held.
    load : float or ndarray
        Heat taken up over that of the design point [-], 0 to 1; beyond, the end of the map is held.

    Returns
    -------
    float or ndarray
        Share [-].

    Notes
    -----
    The map is a piecewise cubic without overshoot through the points of `HEATER` and of `LOAD`; `MAP_SOURCE` says
    where they are from.

    Examples
    --------
    >>> round(float(share_of_carnot(973.15)), 3), round(float(share_of_carnot(973.15, 0.5)), 3)
    (0.59, 0.531)
    """
    hot, part = _curves()
    T = np.clip(np.asarray(heater, dtype=float), HEATER[0][0], HEATER[-1][0])
    return hot(T) * part(np.clip(np.asarray(load, dtype=float), 0.0, 1.0))


@dataclass(frozen=True, kw_only=True)
class StirlingEngine(AirCooled):
    """Engines side by side whose heaters lie in the hot medium, with a dry cooler.

    The heater has one temperature: below that at which the hot medium leaves, by `approach` at the design point. Rated,
    the load is the heat taken up (mean pressure follows it), the hot flow goes with the load, and the surface tells
    the temperature of the heater.
    """

    consumes: ClassVar[tuple[str, ...]] = ("fans", "coolant")
    cautions: ClassVar[tuple[str, ...]] = (
        "Engines filled with hydrogen or helium at some 100 to 200 bar: pressure equipment, and hydrogen burns unseen; "
        "ventilation and inspection by local codes.",
    )

    back: Any = param(unit="K", low=450.0, high=1250.0, source="user",
                      doc="temperature at which the hot medium leaves at the design point")
    approach: Any = param(40.0, unit="K", low=2.0, high=300.0, source="assumption",
                          doc="hot medium leaving less heater wall, design point")
    quality: Any = param(1.0, unit="-", low=0.3, high=1.2, source="user",
                         doc="share of Carnot over that of the map (less for simple engines)")
    coolant_pump: Any = param(0.004, unit="-", low=0.0, high=0.05, source="assumption: 0.8 bar over 10 K of water, "
                              "pump and motor 0.5 together",
                              doc="electricity of the coolant pump over the heat rejected")
    u: Any = param(80.0, unit="W/m^2/K", low=5.0, high=2000.0, source="common practice for gas to tubes, no source",
                   doc="overall coefficient of the heater at the design point, for its area")
    generator_efficiency: Any = param(0.93, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                      doc="generator and power electronics")
    price: str = "engine.stirling"

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("coolant", "W", 5e4), Unknown("heat", "W", 1.5e7, low=0.0),
                Unknown("T_heater", "K", self.back - self.approach, low=350.0))

    def equations(self) -> Iterable[Equation]:
        return (
            *super().equations(),
            Equation("heat", lambda v: v["heat"] + v.hot.heat),
            Equation("heater", self._transfer),
            Equation("power", lambda v: v["power"] - v["heat"] * self.shaft_efficiency(v) * self.generator_efficiency),
            Equation("rejected", lambda v: v["rejected"] - v["heat"] * (1 - self.shaft_efficiency(v))),
            Equation("coolant", lambda v: v["coolant"] - self.coolant_pump * v["rejected"]),
            Equation("back", lambda v: v.hot.outlet.T - self.back, when="sizing"),
            Equation("approach", lambda v: v.hot.outlet.T - v["T_heater"] - self.approach, when="sizing"),
            Equation("load", lambda v: self.load(v) - v.given("load"), when="rating", role="load"),
            Equation("hot_flow", lambda v: v.hot.ratio - self.load(v), when="rating"),
        )

    def load(self, v: Any) -> Any:
        """Heat taken up over that of the design point [-]."""
        return v["heat"] / v.design("heat")

    def shaft_efficiency(self, v: Any) -> Any:
        """Work of the shaft over heat taken up [-]."""
        carnot = 1.0 - v["T_cold"] / v["T_heater"]
        return self.quality * share_of_carnot(v["T_heater"], self.load(v)) * carnot

    def _transfer(self, v: Any) -> Any:
        ua = v["UA"] if v.sizing else ua_at_flow(v.design("UA"), v.hot.ratio, self.load(v))
        return v["heat"] / ua - lmtd(v.hot.inlet.T - v["T_heater"], v.hot.outlet.T - v["T_heater"])

    def differences(self, v: Any) -> dict[str, Any]:
        return {**super().differences(v), "heater": v.hot.outlet.T - v["T_heater"]}

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        return {"back": self.back + by}

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        heater = float(np.squeeze(v["T_heater"]))
        return (engine_heater(v, lambda share: np.full(np.shape(share), heater), "heater wall"),
                cooler_exchange(self, v, "cooler", None, "coolant"))

    def guess(self) -> dict[str, float]:
        return {"hot.outlet": self.back}

    def findings(self, v: Any) -> Iterable[str]:
        heater, ends = float(np.squeeze(v["T_heater"])), (HEATER[0][0], HEATER[-1][0])
        if not ends[0] <= heater <= ends[1]:
            yield (f"heater at {show(heater, 'K')} lies outside the map of efficiency ({show(ends[0], 'K')} to "
                   f"{show(ends[1], 'K')}), whose end is held")
        if heater > 1073.15:
            yield f"heater at {show(heater, 'K')}: heads of nickel alloy creep above some 750 to 800 degC (no source)"

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield from super().costs(v, book)
        yield from self._plant_costs(v, book, self.price, "engines with generators")

    def terms(self, v: Any) -> Iterable[Term]:
        return (*super().terms(v), Term("coolant pump", "electricity", v["coolant"]),
                Term("coolant pump and motor", "loss", v["coolant"]))
