"""Steam turbine island: expansion with extractions, feedwater heaters, condenser, pumps and generator."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any, ClassVar

import numpy as np

from components.condenser import Dry, made_for
from components.cooling_tower import CoolingTower
from components.cycle_heat import heater_exchanges
from components.cycle_points import steam_portrait
from components.feedwater import FeedLine, Heater, feed_line, heater_train
from components.placement import best_pressures, extraction_pressures
from components.rankine import CycleSpecifics, SteamLine, cycle_of, descend, stodola
from components.steam_follow import pressure_moved
from components.turbine_size import SOURCE, efficiency_of_size
from loopnet.errors import ParameterError
from loopnet.media import Isobar
from loopnet.params import check_range, param
from loopnet.plant import Component, Cycle, Equation, HeatExchange, Term, Unknown

__all__ = ["SteamTurbine"]

PLACEMENTS = ("equal rise", "optimised")
USUAL = 0.86  # isentropic efficiency with which extractions are placed where size gives it


@lru_cache(maxsize=256)
def _temperature(water: Any, h: float, p: float) -> float:
    """Of the main steam at the design point [K], asked for in every round of a search."""
    return float(water.T(h, p))


@dataclass(frozen=True, kw_only=True)
class SteamTurbine(Component):
    """Everything between main steam and feedwater: turbine, heaters, condenser, pumps, generator.

    Sizing fixes the inlet pressure and the condenser's approach to ambient; rated, the inlet pressure slides with
    flow (Stodola), extraction pressures with it, and the condenser follows the air.

    `heaters` is a number of open heaters, or each heater from the highest pressure down, as a word ("open", "closed",
    "deaerator", "closed pumped") or an object: ``heaters=("closed", Deaerator(pressure="6 bar"), "closed")``.
    `placement` of their extractions is "equal rise" of saturation temperature, or "optimised" once when sized.
    `condenser` is "dry", "wet" or "hybrid"; the last two have a cooling `tower`.
    """

    family: ClassVar[str] = "cycle"
    holds_pressure: ClassVar[bool] = True
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("steam",)}
    consumes: ClassVar[tuple[str, ...]] = ("pumps", "fans")
    generates: ClassVar[tuple[str, ...]] = ("power",)

    pressure: Any = param("100 bar", unit="Pa", low=2e5, high=2e7, source="common practice, no source",
                          doc="main steam at the turbine inlet, design point")
    heaters: int | tuple[Heater | str, ...] = 4
    placement: str = "equal rise"
    efficiency: Any = param(None, unit="-", low=0.2, high=0.95, source=SOURCE, optional=True,
                            doc="isentropic efficiency of dry expansion; none: by size")
    wetness_penalty: Any = param(1.0, unit="-", low=0.0, high=2.0, source="Baumann's rule, from memory",
                                 doc="loss of efficiency per mean wetness")
    part_load_loss: Any = param(0.24, unit="-", low=0.0, high=0.8, source="from memory: heat rate up some "
                                "3, 8 to 10, 20 to 25 % at 75, 50, 25 % load with sliding pressure",
                                doc="share of the efficiency lost at no flow, falling with the square of (1 - load)")
    pump_efficiency: Any = param(0.75, unit="-", low=0.2, high=0.95, source="common practice, no source",
                                 doc="isentropic efficiency of condensate and feed pumps")
    motor_efficiency: Any = param(0.95, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                  doc="motors of pumps and fans")
    generator_efficiency: Any = param(0.975, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                      doc="gear, generator and transformer")
    condenser: str = "dry"
    tower: CoolingTower | None = None
    wet_share: Any = param(0.5, unit="-", low=0.02, high=0.98, source="assumption",
                           doc="share of the heat that the wet part of a hybrid condenser takes at the design point")
    condenser_approach: Any = param(20.0, unit="K", low=3.0, high=60.0, source="common practice, no source",
                                    doc="condensing temperature above the air at the design point; dry and hybrid")
    condenser_floor: Any = param("33 degC", unit="K", low=275.0, high=350.0, source="common practice, no source",
                                 doc="lowest condensing temperature, held by slowing the fans")
    air_rise: Any = param(0.65, unit="-", low=0.1, high=0.95, source="common practice, no source",
                          doc="warming of the cooling air over the condenser's approach")
    fan_pressure: Any = param(110.0, unit="Pa", low=0.0, high=500.0, source="common practice, no source",
                              doc="pressure rise of the condenser fans")
    fan_efficiency: Any = param(0.6, unit="-", low=0.2, high=0.9, source="common practice, no source",
                                doc="condenser fans")
    minimum_load: Any = param(0.25, unit="-", low=0.05, high=1.0, source="common practice, no source (20 to 25 %)",
                              doc="least steam flow over that of the design point")
    start_hours: Any = param("0.4 hour", unit="s", low=0.0, high=36000.0, source="from memory (0.2 to 0.5 h)",
                             doc="heat of a start, as time at the design heat input")

    def __post_init__(self) -> None:
        super().__post_init__()
        if isinstance(self.heaters, int):
            check_range(float(self.heaters), where="SteamTurbine.heaters", unit="-", low=0, high=7,
                        hint="0 to 7 open feedwater heaters")
        elif not isinstance(self.heaters, tuple):
            object.__setattr__(self, "heaters", (self.heaters,) if isinstance(self.heaters, str | Heater)
                               else tuple(self.heaters))
        heater_train(self.heaters, "SteamTurbine.heaters")
        made_for(self)
        if self.placement not in PLACEMENTS:
            raise ParameterError("no such placement of extractions", where="SteamTurbine.placement",
                                 got=repr(self.placement), allowed=", ".join(map(repr, PLACEMENTS)),
                                 hint="placement='equal rise'")

    @property
    def train(self) -> tuple[Heater, ...]:
        """Feedwater heaters from the highest pressure down."""
        return heater_train(self.heaters, "SteamTurbine.heaters")

    @property
    def cold_end(self) -> Dry:
        """The condenser and what cools it."""
        return made_for(self)

    def unknowns(self) -> Iterable[Unknown]:
        bleeds = tuple(Unknown(f"bleed_{i + 1}", "Pa", 1e6 / (i + 1), low=1e3, hardware=True)
                       for i in range(len(self.train)))
        return (
            Unknown("power", "W", 2e7),
            Unknown("pumps", "W", 4e5),
            Unknown("fans", "W", 3e5),
            Unknown("rejected", "W", 3e7),
            Unknown("T_condenser", "K", 320.0, low=274.0, high=450.0),
            Unknown("efficiency", "-", USUAL, low=0.1, high=1.0, hardware=True),
            *bleeds,
            *self.cold_end.unknowns(),
        )

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("inlet_pressure", lambda v: v.main.inlet.p - self.pressure, when="sizing"),
            Equation("efficiency", lambda v: v["efficiency"] - self._efficiency(v), when="sizing"),
            Equation("swallowing", self._swallowing, when="rating"),
            Equation("load", lambda v: v.main.ratio - v.given("load"), when="rating", role="load"),
            Equation("feedwater", lambda v: v.main.outlet.h - self._feedwater(v)),
            Equation("power", lambda v: v["power"] - v.main.m * self.states(v).w_turbine * self.generator_efficiency),
            Equation("pumps", lambda v: v["pumps"] - v.main.m * self.states(v).w_pumps / self.motor_efficiency),
            Equation("rejected", lambda v: v["rejected"] - v.main.m * self.states(v).q_condenser),
            Equation("fans", lambda v: v["fans"] - self.cold_end.fans(v)),
            *self.cold_end.equations(),
            *(Equation(f"bleed_{i + 1}", partial(self._bleed, i), when="sizing") for i in range(len(self.train))),
        )

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        return self.cold_end.prepare(site)

    def load(self, v: Any) -> Any:
        """Flow of main steam over that of the design point [-]."""
        return v.main.ratio

    def states(self, v: Any) -> CycleSpecifics:
        """The cycle per kilogram of main steam."""
        return v.once("states", lambda: cycle_of(self._steam(v), self._feed(v)))

    def _steam(self, v: Any) -> tuple[SteamLine, ...]:
        """Steam on its way down."""
        return (self._descend(v, "main", (*self._bleeds(v), self._condenser_level(v))),)

    def _descend(self, v: Any, side: str, levels: tuple[Isobar, ...]) -> SteamLine:
        inlet = getattr(v, side).inlet
        levels = (inlet.medium.isobar(inlet.p), *levels)
        return descend(levels, inlet.h, self._stage_efficiency(v), self.wetness_penalty)

    def _feed(self, v: Any) -> FeedLine:
        """Water on its way up."""
        return v.once("feed", lambda: feed_line((*self._bleeds(v), self._condenser_level(v)),
                                                v.main.medium.isobar(v.main.outlet.p), self.pump_efficiency,
                                                self.train))

    def _feedwater(self, v: Any) -> Any:
        """Enthalpy of the feedwater [J/kg]; pressures alone decide it unless a pumped drain joins at the top."""
        feed = self._feed(v)
        return self.states(v).h_feed if feed.lifted and feed.lifted[0] is not None else feed.h

    def _bleeds(self, v: Any) -> tuple[Isobar, ...]:
        return v.once("bleeds", lambda: tuple(v.main.medium.isobar(v[f"bleed_{i + 1}"] * v.main.ratio)
                                              for i in range(len(self.train))))

    def _condenser_level(self, v: Any) -> Isobar:
        return v.once("condenser", lambda: v.main.medium.isobar(v.main.medium.p_sat(v["T_condenser"])))

    def _bleed(self, i: int, v: Any) -> Any:
        return v[f"bleed_{i + 1}"] - self._bleed_design(v)[i]

    def _stage_efficiency(self, v: Any) -> Any:
        """Isentropic efficiency of dry expansion at the flow there is [-]."""
        return v["efficiency"] * (1 - self.part_load_loss * (1 - np.minimum(v.main.ratio, 1.0)) ** 2)

    def _efficiency(self, v: Any) -> Any:
        return efficiency_of_size(self._size(v)) if self.efficiency is None else self.efficiency

    def _size(self, v: Any) -> Any:
        """Power that tells its size [W]: what the plant is asked for, some percent below its own."""
        return v["power"] if v.targets.net_power is None else v.targets.net_power

    def _bleed_design(self, v: Any) -> tuple[Any, ...]:
        """Extraction pressures at the design point [Pa]."""
        return v.once("placed", lambda: self._best(v) if self.placement == "optimised" else self._even(v))

    def _even(self, v: Any) -> tuple[Any, ...]:
        return extraction_pressures(v.main.medium, v.main.inlet.p, v.main.medium.p_sat(v["T_condenser"]), self.train)

    def _best(self, v: Any, reheat: tuple[Any, Any, Any] | None = None) -> tuple[Any, ...]:
        return best_pressures(self.train, v.main.inlet.p, v.main.inlet.h, v.main.medium.p_sat(v["T_condenser"]),
                              v.main.outlet.p, self.efficiency or USUAL, self.pump_efficiency, self.wetness_penalty,
                              reheat)

    def _swallowing(self, v: Any) -> Any:
        inlet = v.main.inlet
        return inlet.p - stodola(v.frame.design[inlet.link.p], v.main.ratio, inlet.T, self._design_temperature(v))

    def _design_temperature(self, v: Any) -> Any:
        inlet, design = v.main.inlet.link, v.frame.design
        return _temperature(v.main.medium, float(design[inlet.h]), float(design[inlet.p]))

    def terms(self, v: Any) -> Iterable[Term]:
        shaft = v["power"] / self.generator_efficiency
        motors = v["pumps"] * (1 - self.motor_efficiency)
        return (
            Term("gross electricity", "power", v["power"]),
            Term("feed pumps", "electricity", v["pumps"]),
            Term(self.cold_end.label, "electricity", v["fans"]),
            Term("condenser", "loss", v["rejected"]),
            Term("generator", "loss", shaft - v["power"]),
            Term("pump and fan motors", "loss", motors + v["fans"]),
        )

    def differences(self, v: Any) -> dict[str, Any]:
        return self.cold_end.differences(v)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"load": (self.minimum_load, 1.0)}

    def guess(self) -> dict[str, float]:
        return {"main.outlet": 490.0}

    def gross_efficiency(self, v: Any) -> Any:
        """Gross electricity over heat to the water [-]."""
        return v["power"] / -sum(getattr(v, side).heat for side in self.sides)

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        return {"pressure": pressure_moved(v.main.inlet, by, steel)}

    def portrait(self, v: Any) -> Cycle:
        return steam_portrait(self, v)

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return (*heater_exchanges(self, v), self.cold_end.exchange(v))

    def findings(self, v: Any) -> Iterable[str]:
        wet = float(np.max(self._steam(v)[-1].wetness))
        if wet > 0.15:
            yield (f"exhaust steam is {wet:.0%} wet at the design point; common practice stays below 12 to 15 %: "
                   "lower the pressure, raise the steam temperature, or reheat")
        for i, heater in enumerate(self.train):
            if heater.held is not None and (p := float(np.max(v[f"bleed_{i + 1}"]))) < heater.held:
                yield (f"heater {i + 1} is held at {heater.held / 1e5:.3g} bar, its extraction has {p / 1e5:.3g} bar: "
                       "main steam heats it; hold it lower or give it more margin")

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        gross = float(v["power"][0])
        for key, item in (("turbine.condensing", "turbine, generator, heaters, pumps"),
                          ("electrical.balance", "transformers, cables, buildings"), ("controls", "controls"),
                          ("water.treatment", "water treatment")):
            yield book.line(key, quantity=gross, component=v.name, item=item)
        yield from self.cold_end.costs(v, book)
