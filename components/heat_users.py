"""Users of heat by kind: process steam, hot water, hot air or a dryer, a kiln, and a town with its seasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar, NamedTuple

import numpy as np

from components.heat_user import LEAST_SHARE, HeatUser
from loopnet.media import medium
from loopnet.params import param
from loopnet.plant import Equation

__all__ = ["DistrictHeat", "HotAir", "HotWater", "Kiln", "ProcessSteam"]

WATER_CP = 4190.0  # J/kg/K, between cold and hot water (handbook value)


class _Boiling(NamedTuple):
    """Saturated steam made from feedwater: temperature [K], enthalpies of water, steam and feed [J/kg]."""

    T: float
    water: float
    steam: float
    feed: float


@lru_cache(maxsize=64)
def _boiling(pressure: float, feed: float) -> _Boiling:
    fluid = medium("water")
    level = fluid.isobar(pressure)
    T, water, steam = (float(level.saturated(what)) for what in ("T_f", "h_f", "h_g"))
    return _Boiling(T, water, steam, float(fluid.h(min(feed, T - 0.01), pressure)))


@dataclass(frozen=True, kw_only=True)
class _Exchanging(HeatUser):
    """A user behind an exchanger whose cold side is known, so that the return temperature follows from it."""

    back: Any = param(None, unit="K", low=250.0, high=1400.0, source="user", optional=True,
                      doc="temperature at which the medium leaves; none for what the cold side and `approach` make it")
    approach: Any = param(10.0, unit="K", low=0.5, high=300.0, source="common practice, no source",
                          doc="medium leaving less what it heats entering; not read where `back` is given")

    def equations(self) -> Iterable[Equation]:
        return (Equation("back", lambda v: v.main.outlet.T - self._return(v)),
                *(e for e in super().equations() if e.name != "back"))

    def _return(self, v: Any) -> Any:
        return self.cold(v)[0] + self.approach if self.back is None else self.back

    def cold(self, v: Any) -> tuple[Any, Any]:
        """Temperatures at which what is heated enters and leaves [K]."""
        raise NotImplementedError

    def ends(self, v: Any) -> tuple[Any, Any]:
        enters, leaves = self.cold(v)
        return v.main.inlet.T - leaves, v.main.outlet.T - enters

    def heated(self, v: Any) -> tuple[Any, Any]:
        return np.array([0.0, 1.0]), np.array([float(np.squeeze(T)) for T in self.cold(v)])


@dataclass(frozen=True, kw_only=True)
class ProcessSteam(HeatUser):
    """Saturated steam at a pressure, from feedwater: the hot medium boils it and then warms the feed.

    The flow keeps the pinch where boiling begins; that holds at part load too, where a real boiler would do better. A
    return temperature given as `back` is kept instead.
    """

    heats: ClassVar[str] = "steam"
    cautions: ClassVar[tuple[str, ...]] = (
        "Steam boilers and steam lines burst and scald: built, inspected and run under the local pressure code by "
        "licensed people.",
    )

    back: Any = param(None, unit="K", low=250.0, high=1400.0, source="user", optional=True,
                      doc="temperature at which the medium leaves; none for what the pinch makes it")
    pressure: Any = param("6 bar", unit="Pa", low=1.1e5, high=1e7, source="user", doc="saturated steam to the user")
    feed: Any = param("90 degC", unit="K", low=278.2, high=480.0, source="common practice, no source",
                      doc="feedwater with its condensate")
    pinch: Any = param(10.0, unit="K", low=0.5, high=200.0, source="common practice, no source",
                       doc="hot medium above boiling where boiling begins; not read where `back` is given")
    u: Any = param(600.0, unit="W/m^2/K", low=5.0, high=4000.0, source="common practice, no source",
                   doc="overall coefficient, for the area")
    price: str = "steam.generator"

    def equations(self) -> Iterable[Equation]:
        return (Equation("back", self._return), *(e for e in super().equations() if e.name != "back"))

    @property
    def boiling(self) -> tuple[float, float, float, float]:
        """Boiling temperature [K], and enthalpies of boiling water, of steam and of the feed [J/kg]."""
        return _boiling(self.pressure, self.feed)

    def steam(self, v: Any) -> Any:
        """Steam to the user [kg/s]."""
        _, _, steam, feed = self.boiling
        return v["heat"] / (steam - feed)

    def _foot(self, v: Any) -> Any:
        """Temperature of the hot medium where boiling begins [K]."""
        _, water, steam, feed = self.boiling
        h = v.main.inlet.h + (v.main.outlet.h - v.main.inlet.h) * (steam - water) / (steam - feed)
        return v.main.medium.T(h, None if v.main.medium.pressure_free else v.main.inlet.p)

    def _return(self, v: Any) -> Any:
        return self._foot(v) - self.boiling[0] - self.pinch if self.back is None else v.main.outlet.T - self.back

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back or self.boiling[0] + 0.5 * self.pinch}

    def ends(self, v: Any) -> tuple[Any, Any]:
        return v.main.inlet.T - self.boiling[0], v.main.outlet.T - self.feed

    def heated(self, v: Any) -> tuple[Any, Any]:
        T, water, steam, feed = self.boiling
        begins = (water - feed) / (steam - feed)
        return np.array([0.0, begins, 1.0]), np.array([min(self.feed, T - 0.01), T, T])

    def differences(self, v: Any) -> dict[str, Any]:
        return {**super().differences(v), "pinch": self._foot(v) - self.boiling[0]}


@dataclass(frozen=True, kw_only=True)
class HotWater(_Exchanging):
    """Water heated from one temperature to another: washing, dyeing, pasteurising."""

    heats: ClassVar[str] = "water"

    supply: Any = param("80 degC", unit="K", low=290.0, high=450.0, source="user", doc="hot water")
    cold_water: Any = param("15 degC", unit="K", low=273.5, high=400.0, source="user", doc="water before it is heated")
    u: Any = param(1000.0, unit="W/m^2/K", low=5.0, high=6000.0, source="common practice, no source",
                   doc="overall coefficient, for the area")

    def cold(self, v: Any) -> tuple[Any, Any]:
        return self.cold_water, self.supply

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back or self.cold_water + self.approach + 20.0}  # enthalpy is zero at 25 degC

    def water(self, v: Any) -> Any:
        """Hot water [kg/s], with a steady heat capacity of 4190 J/kg/K."""
        return v["heat"] / (WATER_CP * (self.supply - self.cold_water))


@dataclass(frozen=True, kw_only=True)
class HotAir(_Exchanging):
    """Air from outside heated for a dryer or an oven; a part of what left may be drawn in again.

    The flow of air is that of the design point, so that a cold day wants more heat.
    """

    heats: ClassVar[str] = "air"

    supply: Any = param("120 degC", unit="K", low=300.0, high=1300.0, source="user", doc="hot air")
    outside: Any = param("25 degC", unit="K", low=230.0, high=330.0, source="that of the plant's design point",
                         doc="outside air for which the demand is meant")
    recirculated: Any = param(0.0, unit="-", low=0.0, high=0.95, source="user",
                              doc="share of the air that is drawn in again")
    exhaust: Any = param("60 degC", unit="K", low=280.0, high=1200.0, source="user",
                         doc="temperature of what is drawn in again")
    u: Any = param(40.0, unit="W/m^2/K", low=2.0, high=500.0, source="common practice for finned tubes, no source",
                   doc="overall coefficient, for the area")
    price: str = "exchanger.air_air"

    @property
    def varies(self) -> bool:
        return True

    def _enters(self, outside: Any) -> Any:
        return outside + self.recirculated * (self.exhaust - outside)

    def wanted_share(self, site: Mapping[str, Any]) -> Any:
        colder = (self.supply - self._enters(site["ambient"])) / (self.supply - self._enters(self.outside))
        return super().wanted_share(site) * colder

    def cold(self, v: Any) -> tuple[Any, Any]:
        return self._enters(v.site("ambient")), self.supply

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back or self._enters(self.outside) + self.approach}


@dataclass(frozen=True, kw_only=True)
class Kiln(_Exchanging):
    """A kiln, furnace or oven held at a temperature: heat is of use only above it.

    A part of the demand keeps its walls hot whatever it fires; the rest follows the profile.
    """

    heats: ClassVar[str] = "kiln"
    cautions: ClassVar[tuple[str, ...]] = (
        "Kilns burn, and give off fumes of what they fire: guards, draught and ventilation by local rules.",
    )

    temperature: Any = param("900 degC", unit="K", low=350.0, high=1350.0, source="user", doc="inside the kiln")
    approach: Any = param(50.0, unit="K", low=1.0, high=300.0, source="assumption",
                          doc="medium leaving less kiln; not read where `back` is given")
    standing: Any = param(0.3, unit="-", low=0.0, high=1.0, source="assumption",
                          doc="share of the demand that goes through the walls at all times")
    u: Any = param(40.0, unit="W/m^2/K", low=2.0, high=500.0, source="common practice for gas in a chamber, no source",
                   doc="overall coefficient, for the area")
    price: str = "exchanger.air_air"

    def wanted_share(self, site: Mapping[str, Any]) -> Any:
        return self.standing + (1.0 - self.standing) * super().wanted_share(site)

    def cold(self, v: Any) -> tuple[Any, Any]:
        return self.temperature, self.temperature

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back or self.temperature + self.approach}


@dataclass(frozen=True, kw_only=True)
class DistrictHeat(_Exchanging):
    """A town: hot water for its taps all year, and heating that follows the outside air below a limit.

    wanted / demand = b + (1 - b) (limit - outside) / (limit - coldest), from b to 1; the design demand is that of the
    coldest day. The supply runs from `mild` at the limit to `supply` on the coldest day.
    """

    heats: ClassVar[str] = "water of the town"

    supply: Any = param("90 degC", unit="K", low=310.0, high=420.0, source="common practice, no source",
                        doc="water to the town on the coldest day")
    mild: Any = param("70 degC", unit="K", low=305.0, high=420.0, source="common practice, no source",
                      doc="water to the town when nobody heats")
    returns: Any = param("50 degC", unit="K", low=285.0, high=380.0, source="common practice, no source",
                         doc="water from the town")
    limit: Any = param("15 degC", unit="K", low=275.0, high=300.0, source="common practice (12 to 17 degC), no source",
                       doc="outside air above which nobody heats")
    coldest: Any = param("-10 degC", unit="K", low=220.0, high=290.0, source="user",
                         doc="outside air for which the demand is meant")
    taps: Any = param(0.12, unit="-", low=LEAST_SHARE, high=1.0, source="common practice, no source",
                      doc="hot water for taps, and losses of the pipes, over the demand")
    approach: Any = param(5.0, unit="K", low=0.5, high=300.0, source="common practice, no source",
                          doc="medium leaving less water from the town; not read where `back` is given")
    minimum_load: Any = param(0.3, unit="-", low=0.01, high=1.0, source="assumption",
                              doc="least share of what is wanted")
    u: Any = param(1500.0, unit="W/m^2/K", low=5.0, high=6000.0, source="common practice for plates, no source",
                   doc="overall coefficient, for the area")

    @property
    def varies(self) -> bool:
        return True

    def heating(self, outside: Any) -> Any:
        """Share of the heating of the coldest day [-] at an outside temperature [K], from 0 to 1."""
        return np.clip((self.limit - np.asarray(outside)) / (self.limit - self.coldest), 0.0, 1.0)

    def wanted_share(self, site: Mapping[str, Any]) -> Any:
        share = self.taps + (1.0 - self.taps) * self.heating(site["ambient"])
        return np.maximum(super().wanted_share(site) * share, LEAST_SHARE)

    def cold(self, v: Any) -> tuple[Any, Any]:
        hot = self.supply if v.sizing else self.mild + (self.supply - self.mild) * self.heating(v.site("ambient"))
        return self.returns, hot

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back or self.returns + self.approach}
