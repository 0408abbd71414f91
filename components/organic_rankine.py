"""Organic Rankine engine: vapour of a fluid that boils low drives a turbine, with recuperator and dry condenser."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.cycle_gases import organic_portrait
from components.cycle_heat import organic_exchanges
from components.engine import AirCooled, either, part_load
from components.organic_cycle import DENSE, FLUIDS, NEAREST, OrganicFluid, Pass, one_pass, organic_fluid, units_for
from components.rankine import stodola
from components.transfer import lmtd, ua_at_flow
from loopnet.errors import ParameterError
from loopnet.params import param
from loopnet.plant import Cycle, Equation, HeatExchange, Term, Unknown
from loopnet.units import show

__all__ = ["OrganicRankine"]

SLICES = (6, 4, 4)  # of the heater in liquid, in boiling, in superheat
DENSE_SLICES = 24  # of the heater above the critical pressure
RECUPERATOR_U = 80.0  # W/m2/K, finned tubes in vapour (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class OrganicRankine(AirCooled):
    """Heater, turbine, recuperator, air-cooled condenser and pump around an organic fluid.

    Sizing sets the pressure before the turbine and either the smallest temperature difference of the heater or the
    temperature at which the hot medium goes back. Rated, pressure slides with flow (Stodola) below the critical
    pressure and is held by adjustable nozzles above it, and the hot flow keeps what is asked of the vapour: its
    superheat, or above the critical pressure its distance from the hot medium. A bypass around the heater keeps the
    hot medium from going back colder than `back`.
    """

    consumes: ClassVar[tuple[str, ...]] = ("pump", "fans")
    cautions: ClassVar[tuple[str, ...]] = (
        "Organic working fluids burn, explode, poison or warm the climate, each in its way, and stand under pressure: "
        "detectors, ventilation, relief and explosion protection by local codes and licensed people.",
    )

    fluid: str = "toluene"
    """Name of the working fluid, one of `components.organic_cycle.FLUIDS`."""
    reduced_pressure: Any = param(0.5, unit="-", low=0.02, high=2.1, source="assumption",
                                  doc="pressure before the turbine over the critical one; below 0.93, or above 1.04")
    superheat: Any = param(5.0, unit="K", low=0.0, high=150.0, source="common practice, no source",
                           doc="vapour before the turbine above saturation (below the critical pressure)")
    inlet_approach: Any = param(15.0, unit="K", low=1.0, high=300.0, source="assumption",
                                doc="hot medium less vapour before the turbine (above the critical pressure)")
    pinch: Any = param(10.0, unit="K", low=0.5, high=150.0, source="common practice, no source",
                       doc="smallest temperature difference of the heater; not read where `back` is given")
    back: Any = param(None, unit="K", low=300.0, high=1200.0, source="user", optional=True,
                      doc="coldest return of the hot medium, held by a bypass; none for the pinch to decide")
    recuperator: Any = param(0.8, unit="-", low=0.0, high=0.95, source="common practice, no source",
                             doc="effectiveness of the recuperator; 0 for none")
    efficiency: Any = param(0.82, unit="-", low=0.3, high=0.92,
                            source="common practice for some hundred kW to some MW, no source; small ones 0.6 to 0.75",
                            doc="isentropic efficiency of the turbine")
    pump_efficiency: Any = param(0.65, unit="-", low=0.2, high=0.9, source="common practice, no source",
                                 doc="isentropic efficiency of the feed pump")
    drop_feed: Any = param(0.04, unit="-", low=0.0, high=0.3, source="common practice, no source",
                           doc="pressure drop from pump to turbine, over the pressure before the turbine")
    price: str = "engine.organic"

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.fluid not in FLUIDS:
            raise ParameterError("no such working fluid", where="OrganicRankine.fluid", got=repr(self.fluid),
                                 allowed=", ".join(FLUIDS), hint="fluid='toluene'")
        if NEAREST < self.reduced_pressure < DENSE[0]:
            raise ParameterError("too near the critical pressure", where="OrganicRankine.reduced_pressure",
                                 got=f"{self.reduced_pressure:g}",
                                 allowed=f"up to {NEAREST:g}, or {DENSE[0]:g} and more",
                                 hint="reduced_pressure=0.9, or 1.1")

    @property
    def working(self) -> OrganicFluid:
        """The working fluid with its tables."""
        return organic_fluid(self.fluid)

    @property
    def supercritical(self) -> bool:
        """Whether the fluid is heated above its critical pressure."""
        return bool(self.reduced_pressure > 1.0)

    def unknowns(self) -> Iterable[Unknown]:
        fluid = self.working
        p = self.reduced_pressure * fluid.p_critical
        start = fluid.saturated("h_g", min(p, 0.9 * fluid.p_critical))
        return (
            *super().unknowns(),
            Unknown("pump", "W", 1e5),
            Unknown("flow", "kg/s", 50.0, low=0.0),
            Unknown("pressure", "Pa", p, low=0.02 * p, high=2.0 * p),
            Unknown("h_turbine", "J/kg", float(start) + (1e5 if self.supercritical else 1e4)),
            Unknown("recuperator_units", "-", 2.0, hardware=True),
        )

    def equations(self) -> Iterable[Equation]:
        level = self.reduced_pressure * self.working.p_critical
        return (
            *super().equations(),
            Equation("hot.energy", lambda v: -v.hot.heat - v["flow"] * self.cycle(v).q_hot),
            Equation("heater", self._transfer),
            Equation("inlet", self._inlet),
            Equation("power", lambda v: v["power"] - v["flow"] * self.cycle(v).w_turbine * self.generator_efficiency),
            Equation("pump", lambda v: v["pump"] - v["flow"] * self.cycle(v).w_pump / self.motor_efficiency),
            Equation("rejected", lambda v: v["rejected"] - v["flow"] * self.cycle(v).q_cold),
            Equation("back", self._cold_end, when="sizing"),
            Equation("pressure", lambda v: v["pressure"] - level, when="sizing"),
            Equation("recuperator", lambda v: v["recuperator_units"] - units_for(self.cycle(v), self.recuperator),
                     when="sizing"),
            Equation("load", lambda v: self.load(v) - v.given("load"), when="rating", role="load"),
            Equation("swallowing", self._swallowing, when="rating"),
        )

    def load(self, v: Any) -> Any:
        """Flow of vapour over that of the design point [-]."""
        return v["flow"] / v.design("flow")

    def cycle(self, v: Any) -> Pass:
        """The cycle per kilogram of working fluid."""
        return v.once("cycle", lambda: self._cycle(v))

    def _cycle(self, v: Any) -> Pass:
        load = self.load(v)
        units = None if v.sizing else v.design("recuperator_units") * np.maximum(load, 1e-3) ** -0.2
        return one_pass(self.working, v["pressure"], v["h_turbine"], v["T_cold"],
                        self.efficiency * part_load(load, self.part_load_loss), self.pump_efficiency,
                        recuperator=self.recuperator, units=units, feed=v["pressure"] * (1 + self.drop_feed))

    def _turbine_temperature(self, v: Any) -> Any:
        phase, place = self.working.phase("dense" if self.supercritical else "vapour", v["pressure"])
        return v.once("T_turbine", lambda: phase.T(v["h_turbine"], place))

    def _inlet(self, v: Any) -> Any:
        if self.supercritical:
            return v.hot.inlet.T - self.inlet_approach - self._turbine_temperature(v)
        return self._turbine_temperature(v) - self.working.saturated("T_g", v["pressure"]) - self.superheat

    def _swallowing(self, v: Any) -> Any:
        design = v.design("pressure")
        if self.supercritical:
            return v["pressure"] - design
        return v["pressure"] - stodola(design, self.load(v), self._turbine_temperature(v), v.once(
            "T_turbine_design", lambda: self._design_temperature(v)))

    def _design_temperature(self, v: Any) -> Any:
        phase, place = self.working.phase("vapour", v.design("pressure"))
        return phase.T(np.asarray(v.design("h_turbine")), place)

    def _ua(self, v: Any) -> Any:
        return v["UA"] if v.sizing else ua_at_flow(v.design("UA"), v.hot.ratio, self.load(v))

    def _transfer(self, v: Any) -> Any:
        """Zero where the surface passes the heat; with a bypass, where what is left of it is not needed."""
        left = self._mean_difference(v) - v["flow"] * self.cycle(v).q_hot / self._ua(v)
        return left if v.sizing or self.back is None else either(left, v.hot.outlet.T - self.back)

    def profile(self, v: Any) -> tuple[Any, Any, Any]:
        """The heater from its cold end: share of its heat [-], temperatures of the working fluid and of the hot medium
        [K], each of shape (places, points)."""
        return v.once("profile", lambda: self._profile(v))

    def _profile(self, v: Any) -> tuple[Any, Any, Any]:
        fluid, cycle, p = self.working, self.cycle(v), np.atleast_1d(v["pressure"])
        first, last = np.atleast_1d(cycle.warmed), np.atleast_1d(v["h_turbine"])
        if self.supercritical:
            phase, y = fluid.phase("dense", p)
            h = first + np.linspace(0.0, 1.0, DENSE_SLICES + 1)[:, None] * (last - first)
            T = phase.T(h, np.broadcast_to(y, h.shape))
        else:
            boils, dry = (np.maximum(fluid.saturated(what, p), first) for what in ("h_f", "h_g"))
            (liquid, y), (vapour, _) = fluid.phase("liquid", p), fluid.phase("vapour", p)
            ends, parts = (first, boils, dry, np.maximum(last, dry)), []
            for n, a, b in zip(SLICES, ends, ends[1:], strict=False):
                parts.append(a + np.linspace(0.0, 1.0, n + 1)[:-1, None] * (b - a))
            h = np.concatenate([*parts, last[None]])
            n, m = SLICES[0] + 1, SLICES[0] + SLICES[1]
            T = np.concatenate([
                np.minimum(liquid.T(h[:n], np.broadcast_to(y, h[:n].shape)), fluid.saturated("T_f", p)),
                np.broadcast_to(fluid.saturated("T_f", p), h[n:m].shape),
                vapour.T(h[m:], np.broadcast_to(y, h[m:].shape))])
        share = (h - first) / (last - first)
        hot = v.hot.outlet.h + share * (v.hot.inlet.h - v.hot.outlet.h)
        return share, T, v.hot.medium.T(hot, None if v.hot.medium.pressure_free else v.hot.inlet.p)

    def _mean_difference(self, v: Any) -> Any:
        share, cold, hot = self.profile(v)
        ends = hot - cold
        return 1.0 / np.sum(np.diff(share, axis=0) / lmtd(ends[:-1], ends[1:]), axis=0)

    def _least(self, v: Any) -> Any:
        _, cold, hot = self.profile(v)
        return np.min(hot - cold, axis=0)

    def _cold_end(self, v: Any) -> Any:
        return self._least(v) - self.pinch if self.back is None else v.hot.outlet.T - self.back

    def terms(self, v: Any) -> Iterable[Term]:
        return (*super().terms(v), Term("feed pump", "electricity", v["pump"]),
                Term("pump motor", "loss", v["pump"] * (1 - self.motor_efficiency)))

    def differences(self, v: Any) -> dict[str, Any]:
        cycle = self.cycle(v)
        found = {**super().differences(v), "heater pinch": self._least(v)}
        if self.recuperator > 0.0 and np.all(cycle.T_exhaust > cycle.T_pumped):
            found |= {"recuperator hot end": cycle.T_exhaust - cycle.T_warmed,
                      "recuperator cold end": cycle.T_cooled - cycle.T_pumped}
        return found

    def portrait(self, v: Any) -> Cycle:
        return organic_portrait(self, v)

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return organic_exchanges(self, v)

    def guess(self) -> dict[str, float]:
        fluid = self.working
        return {"hot.outlet": self.back or 0.5 * (fluid.saturated("T_g", 0.3 * fluid.p_critical) + 330.0)}

    def findings(self, v: Any) -> Iterable[str]:
        kind, hot = self.working.kind, float(np.max(v.hot.inlet.T))
        if hot > kind.hottest:
            yield (f"{self.fluid} meets a hot medium of {show(hot, 'K')} and slowly decomposes on walls above some "
                   f"{show(kind.hottest, 'K')} (from memory): put an oil loop between, or take another fluid")
        if float(np.max(self._turbine_temperature(v))) > kind.hottest:
            yield f"{self.fluid} is hotter before the turbine than the {show(kind.hottest, 'K')} it stands for years"
        vacuum = float(np.min(self.working.p_sat(v["T_cold"])))
        if vacuum < 1e4:
            yield f"the condenser works at {show(vacuum, 'Pa')}: air leaks in, and the last turbine stage grows large"
        wet = float(np.max(self.cycle(v).wetness))
        if wet > 0.1:
            yield f"exhaust vapour is {wet:.0%} wet at the design point: more superheat, less pressure or a drier fluid"
        yield f"{self.fluid} is {kind.cautions}; local codes and licensed people decide"

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield from super().costs(v, book)
        yield from self._plant_costs(v, book, self.price, "turbine, generator, pump, piping and fluid")
        cycle = self.cycle(v)
        surface = float(np.squeeze(v["recuperator_units"] * v["flow"] * cycle.capacity)) / RECUPERATOR_U
        if surface > 0.0:
            yield book.line("exchanger.shell_tube", quantity=surface, component=v.name, item="recuperator")
