"""The cold end of a steam turbine: a dry condenser, a wet one with a cooling tower, or both side by side.

Each is what a turbine's equations need of its condenser; `made_for` picks the one that the turbine names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from components.cooling_tower import CP_WATER, CoolingTower, evaporation, merkel
from components.cycle_heat import condenser_exchange
from components.rounding import soft_floor
from loopnet.errors import ParameterError
from loopnet.plant import Equation, HeatCurve, HeatExchange, Unknown
from loopnet.site.humid import dew_point, wet_bulb

__all__ = ["Dry", "Hybrid", "Wet", "made_for"]

AIR_CP = 1006.0  # J/kg/K, air near 300 K (handbook value)
AIR_GAS = 287.05  # J/kg/K, specific gas constant of dry air
SLOWING = 3.0  # K, over which the condenser's fans slow down near the lowest condensing temperature
GRAVITY = 9.80665  # m/s2, standard


@dataclass(frozen=True)
class Dry:
    """Steam condenses in tubes in the air: condensing follows the dry bulb, and its approach shrinks with heat."""

    turbine: Any

    def unknowns(self) -> Iterable[Unknown]:
        """Own unknowns beside those that every turbine has."""
        return ()

    def equations(self) -> Iterable[Equation]:
        """Condensing temperature and whatever else this cold end adds."""
        return (Equation("condenser", lambda v: v["T_condenser"] - self._held(self._by_air(v, self._share(v)))),)

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        """Conditions that follow from air alone."""
        return {}

    def fans(self, v: Any) -> Any:
        """Electricity of fans, and of what pumps cooling water [W]."""
        return self._dry_fans(v, v["rejected"])

    label = "condenser fans"

    def differences(self, v: Any) -> dict[str, Any]:
        """Temperature differences [K] that must stay positive."""
        return {}

    def exchange(self, v: Any) -> HeatExchange:
        """Steam against what cools it, for pictures."""
        return condenser_exchange(self.turbine, v)

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        """Cost lines."""
        yield book.line("condenser.dry", quantity=_one(v["rejected"]), component=v.name, item="dry condenser")

    def water(self, v: Any) -> Any:
        """Fresh water [kg/s]."""
        return 0.0

    def _share(self, v: Any) -> Any:
        return 1.0 if v.sizing else v["rejected"] / v.design("rejected")

    def _by_air(self, v: Any, share: Any) -> Any:
        """Condensing temperature with all fans running [K]."""
        return v.site("ambient") + self.turbine.condenser_approach * share

    def _held(self, free: Any) -> Any:
        return soft_floor(free, self.turbine.condenser_floor, SLOWING)

    def _dry_fans(self, v: Any, heat: Any) -> Any:
        t = self.turbine
        density = v.targets.pressure / (AIR_GAS * v.site("ambient"))
        warming = t.air_rise * (v["T_condenser"] - v.site("ambient"))
        return heat / (AIR_CP * warming * density) * t.fan_pressure / (t.fan_efficiency * t.motor_efficiency)


@dataclass(frozen=True)
class Wet(Dry):
    """Steam condenses on tubes with water in them, which a tower cools: condensing follows the wet bulb.

    Fans and circulating pump run at one speed; the tower keeps its Merkel number, the tubes their heat over difference.
    At the lowest condensing temperature part of the water goes past the tower.
    """

    label = "cooling tower, fans and pump"

    @property
    def tower(self) -> CoolingTower:
        """The tower."""
        return self.turbine.tower or CoolingTower()

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("approach", "K", 5.0, low=0.01, high=80.0), Unknown("fresh_water", "kg/s", 10.0),
                Unknown("circulation", "kg/s", 1000.0, low=0.0, hardware=True),
                Unknown("merkel", "-", 1.2, low=0.0, hardware=True))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("condenser", lambda v: v["T_condenser"] - self._held(self._by_water(v))),
            Equation("approach", lambda v: v["approach"] - self.tower.approach, when="sizing"),
            *self._tower(),
        )

    def _tower(self) -> Iterable[Equation]:
        return (
            Equation("circulation", lambda v: v["circulation"] * CP_WATER * self.tower.range - self.heat(v),
                     when="sizing"),
            Equation("tower", lambda v: np.log(v.design("merkel") / self._merkel(v))),
            Equation("fresh_water", lambda v: v["fresh_water"] - self.tower.made_up(
                self.evaporated(v), v.design("circulation"))),
        )

    def _merkel(self, v: Any) -> Any:
        cold = self.cold_water(v)
        return merkel(cold + self._warming(v), cold, v.given("wet_bulb"), self.tower.ratio, v.targets.pressure)

    def cold_water(self, v: Any) -> Any:
        """Water that leaves the tower [K]."""
        return v.given("wet_bulb") + v["approach"]

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        if "wet_bulb" in site:
            return {"wet_bulb": site["wet_bulb"]}
        dew = dew_point(site["ambient"], np.full(np.shape(site["ambient"]), self.tower.humidity))
        return {"wet_bulb": wet_bulb(site["ambient"], dew, site["pressure"])}

    def heat(self, v: Any) -> Any:
        """Heat that the tower takes [W]."""
        return v["rejected"]

    def evaporated(self, v: Any) -> Any:
        """Water that evaporates [kg/s]; the air is at least as moist as leaves it some."""
        return evaporation(self.heat(v), v.design("circulation") / self.tower.ratio, v.site("ambient"),
                           v.given("wet_bulb"), v.targets.pressure)

    def fans(self, v: Any) -> Any:
        return self._tower_power(v)

    def differences(self, v: Any) -> dict[str, Any]:
        return {"cooling tower": v["approach"] * 1.0,
                "wet condenser": v["T_condenser"] - self.cold_water(v) - self._warming(v)}

    def exchange(self, v: Any) -> HeatExchange:
        found = super().exchange(v)
        cold = _one(self.cold_water(v)) + np.array([0.0, _one(self._warming(v))])
        return replace(found, cold=(HeatCurve("cooling water", np.array([0.0, 1.0]), cold),))

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        heat = _one(self.heat(v))
        yield book.line("condenser.wet", quantity=heat, component=v.name, item="wet condenser")
        yield book.line("condenser.tower", quantity=heat, component=v.name, item="cooling tower")
        yield book.line("water.fresh", quantity=_one(v["fresh_water"]) / 1000.0 * self.tower.hours, component=v.name,
                        item="cooling water made up")

    def water(self, v: Any) -> Any:
        return v["fresh_water"]

    def _warming(self, v: Any) -> Any:
        """Of the water in the condenser [K]."""
        return self.heat(v) / (v.design("circulation") * CP_WATER)

    def _by_water(self, v: Any) -> Any:
        """Condensing temperature with all water going through the tower [K]."""
        warming = self._warming(v)
        return self.cold_water(v) + warming * (1.0 + self.tower.terminal / self.tower.range)

    def _tower_power(self, v: Any) -> Any:
        tower, circulation = self.tower, v.design("circulation")
        density = v.targets.pressure / (AIR_GAS * v.site("ambient"))
        fans = circulation / tower.ratio / density * tower.fan_pressure / tower.fan_efficiency
        return (fans + circulation * GRAVITY * tower.head / tower.pump_efficiency) / self.turbine.motor_efficiency


@dataclass(frozen=True)
class Hybrid(Wet):
    """Exhaust steam goes to a dry condenser and to a wet one beside it: both condense at one temperature.

    At the design point the turbine's approach to the air sets that temperature and the tower's own approach follows;
    the wet part takes `wet_share` of the heat. Rated, the split is found: the wet part takes more in hot, dry air.
    """

    label = "condenser and tower, fans and pump"

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("wet", "W", 1e7))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("condenser", lambda v: v["T_condenser"] - self._held(self._by_water(v))),
            Equation("approach", lambda v: self._by_water(v) - self._by_air(v, self._dry_share(v))),
            Equation("wet", lambda v: v["wet"] - self.turbine.wet_share * v["rejected"], when="sizing"),
            *self._tower(),
        )

    def _dry_share(self, v: Any) -> Any:
        return 1.0 if v.sizing else (v["rejected"] - v["wet"]) / (v.design("rejected") - v.design("wet"))

    def heat(self, v: Any) -> Any:
        return v["wet"]

    def fans(self, v: Any) -> Any:
        return self._dry_fans(v, v["rejected"] - v["wet"]) + self._tower_power(v)

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield book.line("condenser.dry", quantity=_one(v["rejected"] - v["wet"]), component=v.name,
                        item="dry condenser")
        yield from super().costs(v, book)


KINDS: dict[str, type[Dry]] = {"dry": Dry, "wet": Wet, "hybrid": Hybrid}


def made_for(turbine: Any) -> Dry:
    """The cold end that a turbine names.

    Parameters
    ----------
    turbine : SteamTurbine
        Its `condenser` is "dry", "wet" or "hybrid".

    Returns
    -------
    Dry
        Or one of its kinds.

    Raises
    ------
    ParameterError
        If there is no such condenser.
    """
    if turbine.condenser not in KINDS:
        raise ParameterError("no such condenser", where=f"{type(turbine).__name__}.condenser",
                             got=repr(turbine.condenser), allowed=", ".join(map(repr, KINDS)),
                             hint="condenser='dry'")
    return KINDS[turbine.condenser](turbine)


def _one(value: Any) -> float:
    return float(np.squeeze(value))
