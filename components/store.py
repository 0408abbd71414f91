"""What all stores share: two sides, design targets, and the march that moves their state from hour to hour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["Store"]


@dataclass(frozen=True, kw_only=True)
class Store(Component):
    """A store between a charging and a discharging path of one medium.

    The charging path enters hot and leaves cold, the discharging path leaves hot and enters cold. Sizing makes the
    store pass temperatures on as they come and frees its capacity; rated, the year gives the enthalpies at which it
    delivers, and the plant falls apart into circuits there.
    """

    family: ClassVar[str] = "store"
    sides: ClassVar[tuple[str, ...]] = ("charge", "discharge")
    holds_pressure: ClassVar[bool] = True

    pressure: Any = param(101325.0, unit="Pa", low=5e4, high=1e7, source="open to the air", doc="pressure inside")
    drift_hot: Any = param(40.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(40.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                            doc="how far the cold outlet may move from its design temperature")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("capacity", "J", 1e12, low=0.0, hardware=True),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("hot", lambda v: v.discharge.outlet.h - v.charge.inlet.h, when="sizing"),
            Equation("cold", lambda v: v.charge.outlet.h - v.discharge.inlet.h, when="sizing"),
            Equation("hot_given", lambda v: v.discharge.outlet.h - v.given("hot"), when="rating"),
            Equation("cold_given", lambda v: v.charge.outlet.h - v.given("cold"), when="rating"),
            Equation("solar_multiple", lambda v: -v.charge.heat - v.targets.solar_multiple * v.discharge.heat,
                     when="sizing"),
            Equation("capacity", lambda v: v["capacity"] - v.discharge.heat * v.targets.store_hours, when="sizing"),
            Equation("charge.inlet.pressure", lambda v: v.charge.inlet.p - self.pressure),
            Equation("charge.outlet.pressure", lambda v: v.charge.outlet.p - self.pressure),
            Equation("discharge.inlet.pressure", lambda v: v.discharge.inlet.p - self.pressure),
            Equation("discharge.outlet.pressure", lambda v: v.discharge.outlet.p - self.pressure),
        )

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("heat to store", "store", -v.charge.heat - v.discharge.heat),)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        """Enthalpies [J/kg] at which the store may deliver, hot and cold."""
        fluid = v.charge.medium
        hot, cold = float(np.squeeze(v.charge.inlet.T)), float(np.squeeze(v.discharge.inlet.T))
        ends = ((hot - self.drift_hot, hot + 5.0), (cold - self.drift_cold, cold + self._warmest))
        (hot_low, hot_high), (cold_low, cold_high) = [(float(fluid.h(a)), float(fluid.h(b))) for a, b in ends]
        return {"hot": (hot_low, hot_high), "cold": (cold_low, cold_high)}

    @property
    def _warmest(self) -> float:
        """How far the cold outlet may rise above its design temperature [K]."""
        return float(self.drift_cold)

    def march(self, v: Any) -> Any:
        """The store's own march (see `loopnet.year.march.StoreMarch`); `v` views the design point."""
        raise NotImplementedError
