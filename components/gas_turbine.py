"""Hot-air turbine: outside air is compressed, heated by a hot medium instead of a flame, expanded, and let go."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.brayton import AIR_R, AirCycle, air_cycle
from components.cycle_gases import air_portrait
from components.cycle_heat import air_recuperator
from components.engine import HeatEngine, either, part_load
from components.transfer import lmtd, ua_at_flow
from loopnet.media import medium
from loopnet.params import param
from loopnet.plant import Cycle, Equation, HeatExchange, Term, Unknown
from loopnet.units import show

__all__ = ["HotAirTurbine"]

RECUPERATOR_U = 60.0  # W/m2/K, air to air under pressure in plates (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class HotAirTurbine(HeatEngine):
    """Compressor, recuperator, heater and turbine on one shaft; air comes from outside and goes back there.

    Sizing sets how near compressed air comes to the hot medium at both ends of the heater. Rated, the load is the
    volume of air drawn in over that of the design point (speed or inlet vanes), the turbine swallows as a choked
    nozzle, the hot flow follows the air, and the surface of the heater tells how hot the air grows. Cold air is dense:
    at one load a cold day gives more power.
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "Compressed air near 1,000 degC: creep of heater tubes ends in bursts; build, inspect and limit their life by "
        "the local pressure code, with licensed people.",
        "Exhaust air of some hundred degC leaves at speed: stack, guards and ear protection by local rules.",
    )

    pressure_ratio: Any = param(5.0, unit="-", low=1.5, high=40.0, source="common practice with recuperator, no source",
                                doc="pressure behind the compressor over that before it, design point")
    compressor: Any = param(0.82, unit="-", low=0.5, high=0.92, source="common practice for some MW, no source; "
                            "machines below 200 kW 0.75 to 0.80", doc="isentropic efficiency of the compressor")
    turbine: Any = param(0.86, unit="-", low=0.5, high=0.94, source="common practice for some MW, no source; machines "
                         "below 200 kW 0.80 to 0.85", doc="isentropic efficiency of the turbine")
    recuperator: Any = param(0.85, unit="-", low=0.0, high=0.95, source="common practice, no source",
                             doc="effectiveness of the recuperator; 0 for none")
    drop: Any = param(0.06, unit="-", low=0.0, high=0.3, source="common practice, no source",
                      doc="pressure lost in heater, recuperator and ducts, over the pressure")
    approach: Any = param(40.0, unit="K", low=1.0, high=300.0, source="assumption",
                          doc="hot medium entering less air before the turbine, design point")
    cold_approach: Any = param(40.0, unit="K", low=1.0, high=300.0, source="assumption; not read where `back` is given",
                               doc="hot medium leaving less air entering the heater, design point")
    back: Any = param(None, unit="K", low=300.0, high=1300.0, source="user", optional=True,
                      doc="coldest return of the hot medium, held by a bypass; none for `cold_approach` to decide")
    u: Any = param(60.0, unit="W/m^2/K", low=5.0, high=1000.0, source="common practice for air in tubes, no source",
                   doc="overall coefficient of the heater at the design point, for its area")
    drop_hot: Any = param("2 kPa", unit="Pa", low=0.0, high=3e6, source="common practice for ducts, no source",
                          doc="pressure drop of the hot side at the design point")
    minimum_load: Any = param(0.6, unit="-", low=0.3, high=1.0, source="common practice, no source",
                              doc="least volume of air over that of the design point")
    price: str = "engine.hot_air"

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("power", "W", 5e6), Unknown("flow", "kg/s", 30.0, low=0.0),
                Unknown("T_turbine", "K", 1100.0, low=350.0, high=1500.0),
                Unknown("UA", "W/K", 5e5, low=0.0, hardware=True))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("hot.energy", lambda v: -v.hot.heat - v["flow"] * self.cycle(v).q_hot),
            Equation("heater", self._transfer),
            Equation("power", lambda v: v["power"] - v["flow"] * self.cycle(v).work * self.generator_efficiency),
            Equation("hot_end", lambda v: v.hot.inlet.T - v["T_turbine"] - self.approach, when="sizing"),
            Equation("cold_end", lambda v: v.hot.outlet.T - (
                self.cycle(v).warmed + self.cold_approach if self.back is None else self.back), when="sizing"),
            Equation("hot_flow", self._hot_flow, when="rating"),
            Equation("load", lambda v: self.load(v) - v.given("load"), when="rating", role="load"),
            self._drop(),
        )

    def load(self, v: Any) -> Any:
        """Volume of air drawn in over that of the design point [-]."""
        return self._air_ratio(v) * v.site("ambient") / v.targets.ambient

    def _air_ratio(self, v: Any) -> Any:
        return v["flow"] / v.design("flow")

    def ratio(self, v: Any) -> Any:
        """Pressure ratio of the compressor [-]: what the turbine needs to swallow the air."""
        if v.sizing:
            return self.pressure_ratio
        return self.pressure_ratio * self._air_ratio(v) * np.sqrt(v["T_turbine"] / v.design("T_turbine"))

    def cycle(self, v: Any) -> AirCycle:
        """The cycle per kilogram of air."""
        return v.once("cycle", lambda: self._cycle(v))

    def _cycle(self, v: Any) -> AirCycle:
        share = part_load(self.load(v), self.part_load_loss)
        return air_cycle(v.site("ambient"), v["T_turbine"], self._pressures(v), self.compressor * share,
                         self.turbine * share, self._effectiveness(v), self.drop)

    def _pressures(self, v: Any) -> Any:
        return np.maximum(self.ratio(v), 1.01)

    def _effectiveness(self, v: Any) -> Any:
        worth = self.recuperator / (1.0 - self.recuperator)  # transfer units of equal flows; UA goes with flow^0.8
        units = worth * np.maximum(self._air_ratio(v), 1e-3) ** -0.2
        return units / (1.0 + units)

    def _ends(self, v: Any) -> tuple[Any, Any]:
        return v.hot.inlet.T - v["T_turbine"], v.hot.outlet.T - self.cycle(v).warmed

    def _left(self, v: Any) -> Any:
        """Mean temperature difference less what the heat needs [K]."""
        ua = v["UA"] if v.sizing else ua_at_flow(v.design("UA"), v.hot.ratio, self._air_ratio(v))
        return lmtd(*self._ends(v)) - v["flow"] * self.cycle(v).q_hot / ua

    def _transfer(self, v: Any) -> Any:
        return self._left(v)

    def _hot_flow(self, v: Any) -> Any:
        apart = v.hot.ratio - self._air_ratio(v)
        return apart if self.back is None else either(100.0 * apart, v.hot.outlet.T - self.back)

    def terms(self, v: Any) -> Iterable[Term]:
        return (*self._generator(v), Term("exhaust air", "loss", v["flow"] * self.cycle(v).q_exhaust))

    def differences(self, v: Any) -> dict[str, Any]:
        cycle = self.cycle(v)
        found = dict(zip(("heater hot end", "heater cold end"), self._ends(v), strict=True))
        if self.recuperator > 0.0 and np.all(cycle.T4 > cycle.T2):
            found |= {"recuperator hot end": cycle.T4 - cycle.warmed, "recuperator cold end": cycle.exhaust - cycle.T2}
        return found

    def portrait(self, v: Any) -> Cycle:
        return air_portrait(self, v)

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return air_recuperator(self, v)

    def guess(self) -> dict[str, float]:
        return {"hot.outlet": self.back or (820.0 if self.recuperator > 0.3 else 620.0)}

    def findings(self, v: Any) -> Iterable[str]:
        cycle = self.cycle(v)
        if self.recuperator > 0.0 and np.any(cycle.T4 <= cycle.T2):
            yield "the exhaust is colder than the compressed air: the recuperator is of no use at this pressure ratio"
        if float(np.max(v["T_turbine"])) > 1223.15:
            yield (f"{show(float(np.max(v['T_turbine'])), 'K')} before the turbine: metal tubes of the heater creep "
                   "above some 900 to 950 degC (common practice, no source); ceramic heaters are not proven")
        if float(np.squeeze(v["power"])) < 5e5 and (self.turbine > 0.85 or self.compressor > 0.80):
            yield "turbines below some hundred kW reach 0.75 to 0.80 (compressor) and 0.80 to 0.85 (turbine)"

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield from self._plant_costs(v, book, self.price, "compressor, turbine, generator, ducts")
        if self.recuperator > 0.0:
            cp = float(medium("air").cp(0.5 * float(np.squeeze(self.cycle(v).T2 + self.cycle(v).T4))))
            area = self.recuperator / (1.0 - self.recuperator) * float(np.squeeze(v["flow"])) * cp / RECUPERATOR_U
            yield book.line("engine.hot_air_recuperator", quantity=area, component=v.name, item="recuperator")

    def swept(self, v: Any) -> Any:
        """Air drawn in [m3/s]."""
        return v["flow"] * AIR_R * v.site("ambient") / v.targets.pressure
