"""Steam generator: economiser, evaporator and superheater in counterflow with any hot medium."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar

from components.cycle_heat import boiler_exchange
from components.steam_follow import steam_moved
from components.transfer import lmtd, ua_at_flow
from loopnet.media import Isobar
from loopnet.params import param
from loopnet.plant import Component, Equation, HeatExchange, Unknown

__all__ = ["SteamGenerator"]


@dataclass(frozen=True, kw_only=True)
class SteamGenerator(Component):
    """Three exchangers in a row, between the hot medium and water.

    Sizing fixes steam temperature, pinch (at the foot of the evaporator) and the subcooling with which water leaves
    the economiser; it frees three UA. Rated, the UA follow the flows, and steam temperature, return temperature and
    the hot flow are found.
    """

    family: ClassVar[str] = "exchanger"
    sides: ClassVar[tuple[str, ...]] = ("hot", "water")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"hot": ("liquid", "gas", "particles"), "water": ("steam",)}
    parts: ClassVar[tuple[str, ...]] = ("superheater", "evaporator", "economiser")
    cautions: ClassVar[tuple[str, ...]] = (
        "Steam and pressure: boilers and steam pipes are built, inspected and run under the local pressure-vessel "
        "code by licensed people.",
    )

    steam_temperature: Any = param(unit="K", low=400.0, high=920.0, source="user", doc="main steam, design point")
    pinch: Any = param(8.0, unit="K", low=0.5, high=150.0, source="common practice, no source",
                       doc="hot medium less saturation where evaporation begins")
    subcooling: Any = param(4.0, unit="K", low=0.0, high=40.0, source="common practice, no source",
                            doc="water leaving the economiser below saturation")
    u: Any = param(600.0, unit="W/m^2/K", low=5.0, high=4000.0,
                   source="common practice for salt to steam, no source; gas and moving beds are far lower",
                   doc="overall coefficient of the whole train at the design point, for the area")
    drop_hot: Any = param("2.0 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                          doc="pressure drop of the hot side at the design point")
    drop_water: Any = param(0.06, unit="-", low=0.0, high=0.3, source="common practice, no source",
                            doc="pressure drop of the water side over its inlet pressure")
    hot_outlet_guess: Any = param(560.0, unit="K", low=300.0, high=900.0, source="start value for the solver only",
                                  doc="where the search for the return temperature begins")
    price: str = "steam.generator"

    def unknowns(self) -> Iterable[Unknown]:
        return (
            *(Unknown(f"UA_{part}", "W/K", 1e6, low=0.0, hardware=True) for part in self.parts),
            Unknown("h_evaporator", "J/kg", 4e5),  # hot medium between superheater and evaporator
            Unknown("h_pinch", "J/kg", 3e5),  # hot medium between evaporator and economiser
            Unknown("h_economiser", "J/kg", 1.3e6),  # water between economiser and evaporator
        )

    def equations(self) -> Iterable[Equation]:
        return (
            *(Equation(f"{part}.energy", partial(self._imbalance, part)) for part in SteamGenerator.parts),
            *(Equation(f"{part}.transfer", partial(self._missing, part)) for part in self.parts),
            Equation("steam_temperature", lambda v: v.water.outlet.T - self.steam_temperature, when="sizing"),
            Equation("pinch", lambda v: self._hot(v, "h_pinch") - self._saturation(v) - self.pinch, when="sizing"),
            Equation("subcooling", lambda v: v["h_economiser"] - v.water.medium.h(
                self._saturation(v) - self.subcooling, v.water.outlet.p), when="sizing"),
            Equation("hot.pressure", lambda v: v.hot.inlet.p - v.hot.outlet.p - self.drop_hot * v.hot.ratio**2),
            Equation("water.pressure", lambda v: v.water.inlet.p * (1 - self.drop_water) - v.water.outlet.p),
        )

    def _imbalance(self, part: str, v: Any) -> Any:
        return self._given(v, part) - self._taken(v, part)

    def _missing(self, part: str, v: Any) -> Any:
        return self._taken(v, part) / self._ua(v, part) - self._mean_difference(v, part)

    def _given(self, v: Any, part: str) -> Any:
        """Heat that the hot medium gives up at a surface [W]."""
        if part == "economiser":
            return v.hot.m * (v["h_pinch"] - v.hot.outlet.h)
        if part == "evaporator":
            return v.hot.m * (v["h_evaporator"] - v["h_pinch"])
        return v.hot.m * (v.hot.inlet.h - v["h_evaporator"])

    def _taken(self, v: Any, part: str) -> Any:
        """Heat that water or steam takes up there [W]."""
        if part == "economiser":
            return v.water.m * (v["h_economiser"] - v.water.inlet.h)
        if part == "evaporator":
            return v.water.m * (self._dry(v) - v["h_economiser"])
        return v.water.m * (v.water.outlet.h - self._dry(v))

    def _boiling(self, v: Any) -> Isobar:
        """Water at the pressure at which it boils."""
        return v.once("boiling", lambda: v.water.medium.isobar(v.water.outlet.p))

    def _dry(self, v: Any) -> Any:
        return v.once("h_g", lambda: self._boiling(v).saturated("h_g"))

    def _saturation(self, v: Any) -> Any:
        return v.once("T_sat", lambda: self._boiling(v).saturated("T_f"))

    def _hot(self, v: Any, name: str) -> Any:
        """Temperature of the hot medium between two surfaces [K]."""
        return v.once(name, lambda: v.hot.medium.T(v[name], None if v.hot.medium.pressure_free else v.hot.inlet.p))

    def _economiser_outlet(self, v: Any) -> Any:
        return v.once("T_eco", lambda: self._boiling(v).T_h(v["h_economiser"]))

    def _ends(self, v: Any, part: str) -> tuple[Any, Any]:
        """Temperature differences at the hot and the cold end of a surface [K]."""
        boiling = self._saturation(v)
        if part == "superheater":
            return v.hot.inlet.T - v.water.outlet.T, self._hot(v, "h_evaporator") - boiling
        if part == "evaporator":
            return self._hot(v, "h_evaporator") - boiling, self._hot(v, "h_pinch") - boiling
        return self._hot(v, "h_pinch") - self._economiser_outlet(v), v.hot.outlet.T - v.water.inlet.T

    def _flows(self, v: Any, part: str) -> tuple[Any, Any]:
        """Flow of the hot medium and of water at a surface, over that of the design point [-]."""
        return v.hot.ratio, v.water.ratio

    def _ua(self, v: Any, part: str) -> Any:
        name = f"UA_{part}"
        return v[name] if v.sizing else ua_at_flow(v.design(name), *self._flows(v, part))

    def _mean_difference(self, v: Any, part: str) -> Any:
        """Mean temperature difference of a surface [K]."""
        return lmtd(*self._ends(v, part))

    def differences(self, v: Any) -> dict[str, Any]:
        return {f"{part} {end}": d for part in self.parts
                for end, d in zip(("hot end", "cold end"), self._ends(v, part), strict=True)}

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return (boiler_exchange(self, v),)

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        return {"steam_temperature": steam_moved(self.steam_temperature, by, steel)}

    def guess(self) -> dict[str, float]:
        return {"water.outlet": self.steam_temperature, "hot.outlet": self.hot_outlet_guess}

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        area = sum(float(v[f"UA_{part}"][0]) for part in self.parts) / self.u
        return (book.line(self.price, quantity=area, component=v.name, item=", ".join(self.parts)),)
