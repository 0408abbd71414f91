"""Engine on supercritical carbon dioxide with recompression and a dry cooler."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.carbon_cycle import Recompression, carbon_dioxide, recompression
from components.cycle_gases import carbon_portrait
from components.cycle_heat import carbon_exchanges
from components.engine import AirCooled, part_load
from components.transfer import lmtd, ua_at_flow
from loopnet.params import param
from loopnet.plant import Cycle, Equation, HeatExchange, Unknown
from loopnet.units import show

__all__ = ["CarbonTurbine"]

RECUPERATOR_U = 1000.0  # W/m2/K, printed-circuit exchangers (common practice, no source)
HEATER_PLACES = 9


@dataclass(frozen=True, kw_only=True)
class CarbonTurbine(AirCooled):
    """Two compressors, two recuperators, heater, turbine and dry cooler around carbon dioxide.

    The share that is not cooled is such that both streams that meet between the recuperators have one temperature.
    Sizing sets how near carbon dioxide comes to the hot medium at both ends of the heater. Rated, both pressures are
    held (by what the loop holds of gas), the hot flow follows the load, the surface of the heater tells how hot the
    turbine runs, and recuperators keep their approach, which is a little less than they do.
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "Carbon dioxide at 200 bar and more, hot: pressure equipment for licensed people; a leak suffocates unseen in "
        "pits and halls: detectors and ventilation by local codes.",
    )

    low_pressure: Any = param("90 bar", unit="Pa", low=7.6e6, high=1.3e7, source="common practice with dry cooling, no "
                              "source", doc="before the compressors")
    high_pressure: Any = param("250 bar", unit="Pa", low=1.5e7, high=3.3e7, source="common practice, no source",
                               doc="behind the compressors")
    compressor: Any = param(0.85, unit="-", low=0.5, high=0.92, source="assumption: few have run",
                            doc="isentropic efficiency of both compressors")
    efficiency: Any = param(0.90, unit="-", low=0.5, high=0.94, source="assumption: few have run",
                            doc="isentropic efficiency of the turbine")
    drop: Any = param(0.015, unit="-", low=0.0, high=0.1, source="assumption",
                      doc="pressure lost on the way to the turbine, and on the way back, each over the pressure")
    recuperator_approach: Any = param(8.0, unit="K", low=1.0, high=60.0, source="common practice, no source",
                                      doc="temperature difference at the cold end of both recuperators")
    approach: Any = param(20.0, unit="K", low=1.0, high=200.0, source="assumption",
                          doc="hot medium entering less carbon dioxide before the turbine, design point")
    cold_approach_hot: Any = param(20.0, unit="K", low=1.0, high=300.0, source="assumption",
                                   doc="hot medium leaving less carbon dioxide entering the heater, design point")
    cold_floor: Any = param("35 degC", unit="K", low=305.0, high=360.0, source="above the critical point, 31 degC",
                            doc="lowest temperature before the main compressor, held by slowing the fans")
    part_load_loss: Any = param(0.25, unit="-", low=0.0, high=0.8, source="assumption",
                                doc="share of efficiency lost at no flow, falling with the square of (1 - load)")
    minimum_load: Any = param(0.4, unit="-", low=0.2, high=1.0, source="assumption", doc="least flow of the turbine")
    price: str = "engine.carbon"

    def unknowns(self) -> Iterable[Unknown]:
        return (
            *super().unknowns(),
            Unknown("flow", "kg/s", 100.0, low=0.0),
            Unknown("h_turbine", "J/kg", 1.1e6),
            Unknown("h_between", "J/kg", 6.3e5),
            Unknown("split", "-", 0.3, low=0.0, high=0.8),
        )

    def equations(self) -> Iterable[Equation]:
        fluid = carbon_dioxide()
        return (
            *super().equations(),
            Equation("hot.energy", lambda v: -v.hot.heat - v["flow"] * self.cycle(v).q_hot),
            Equation("heater", self._transfer),
            Equation("second_recuperator", lambda v: fluid.T(v["h_between"], self.low_pressure)
                     - fluid.T(self.cycle(v).mixed, self.high_pressure) - self.recuperator_approach),
            Equation("mixing", lambda v: fluid.T(self.cycle(v).h3, self.high_pressure)
                     - fluid.T(self.cycle(v).warm, self.high_pressure)),
            Equation("power", lambda v: v["power"] - v["flow"] * self.generator_efficiency
                     * (self.cycle(v).w_turbine - self.cycle(v).w_compressors)),
            Equation("rejected", lambda v: v["rejected"] - v["flow"] * self.cycle(v).q_cold),
            Equation("hot_end", lambda v: self._ends(v)[0] - self.approach, when="sizing"),
            Equation("cold_end", lambda v: self._ends(v)[1] - self.cold_approach_hot, when="sizing"),
            Equation("load", lambda v: self.load(v) - v.given("load"), when="rating", role="load"),
            Equation("hot_flow", lambda v: v.hot.ratio - self.load(v), when="rating"),
        )

    def load(self, v: Any) -> Any:
        """Flow through the turbine over that of the design point [-]."""
        return v["flow"] / v.design("flow")

    def cycle(self, v: Any) -> Recompression:
        """The cycle per kilogram through the turbine."""
        return v.once("cycle", lambda: self._cycle(v))

    def _cycle(self, v: Any) -> Recompression:
        share = part_load(self.load(v), self.part_load_loss)
        return recompression(v["T_cold"], v["h_turbine"], v["h_between"], v["split"],
                             (self.low_pressure, self.high_pressure), compressor=self.compressor * share,
                             turbine=self.efficiency * share, approach=self.recuperator_approach, drop=self.drop)

    def _profile(self, v: Any) -> Any:
        """Temperature differences of the heater from its cold end [K], at equal steps of its heat."""
        cycle, x = self.cycle(v), np.linspace(0.0, 1.0, HEATER_PLACES)[:, None]
        cold = carbon_dioxide().T(cycle.h4 + x * (cycle.h5 - cycle.h4), 0.0 * x + self.high_pressure)
        hot = v.hot.outlet.h + x * (v.hot.inlet.h - v.hot.outlet.h)
        return v.hot.medium.T(hot, None if v.hot.medium.pressure_free else v.hot.inlet.p) - cold

    def _ends(self, v: Any) -> tuple[Any, Any]:
        differences = v.once("heater", lambda: self._profile(v))
        return differences[-1], differences[0]

    def _transfer(self, v: Any) -> Any:
        ua = v["UA"] if v.sizing else ua_at_flow(v.design("UA"), v.hot.ratio, self.load(v))
        d = v.once("heater", lambda: self._profile(v))
        return v["flow"] * self.cycle(v).q_hot / ua - 1.0 / np.mean(1.0 / lmtd(d[:-1], d[1:]), axis=0)

    def differences(self, v: Any) -> dict[str, Any]:
        cycle = self.cycle(v)
        return {**super().differences(v), "heater": np.min(self._profile(v), axis=0),
                "first recuperator": np.min(cycle.profile("first"), axis=0),
                "second recuperator": np.min(cycle.profile("second"), axis=0)}

    def portrait(self, v: Any) -> Cycle:
        return carbon_portrait(self, v)

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return carbon_exchanges(self, v)

    def guess(self) -> dict[str, float]:
        return {"hot.outlet": 720.0}

    def findings(self, v: Any) -> Iterable[str]:
        T = float(np.squeeze(carbon_dioxide().T(v["h_turbine"], self.high_pressure)))
        if T > 993.15:
            yield f"{show(T, 'K')} before the turbine: beyond what nickel alloys stand at this pressure for years"
        if float(np.squeeze(v["power"])) < 1e7:
            yield "turbines of carbon dioxide below some 10 MW are tiny and fast: their losses will be higher"

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield from super().costs(v, book)
        yield from self._plant_costs(v, book, self.price, "turbine, compressors, generator, piping")
        cycle, flow = self.cycle(v), float(np.squeeze(v["flow"]))
        for which, heat in (("first", cycle.h7 - cycle.h8), ("second", cycle.h6 - cycle.h7)):
            d = cycle.profile(which)
            mean = 1.0 / float(np.mean(1.0 / lmtd(d[:-1], d[1:])))
            yield book.line("exchanger.printed_circuit", quantity=flow * float(np.squeeze(heat)) / mean / RECUPERATOR_U,
                            component=v.name, item=f"{which} recuperator")
