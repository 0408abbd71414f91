"""Stores for the season: a field of boreholes, or a buried heap of mine waste with pipes laid in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any, ClassVar

import numpy as np

from components.buried import around_pipe, half_ball
from components.ground_body import GroundBody
from components.ground_march import GroundMarch
from components.store import Store
from components.thermocline_march import AtPressure, one_phase
from loopnet.errors import PropertyRangeError
from loopnet.params import param
from loopnet.units import show

__all__ = ["Boreholes", "GroundStore", "MineWaste"]

LEAST = 0.2
"""Least part of the design difference of hot and cold at which paths are still asked to work: the flow is five times
that of the design then; assumption."""


@dataclass(frozen=True, kw_only=True)
class GroundStore(Store):
    """A body of ground with pipes, under an insulated cover, in ground that warms with it over the years.

    A charging stream enters at the centre and leaves at the edge, a discharging one the other way. The first years fill
    the ground around; with `warmed` the year begins with a body that has been kept at the temperature of `begins` for
    that long. The pressure drop of the pipes is not counted here: give it to the paths.
    """

    phases: ClassVar[dict[str, tuple[str, ...]]] = {
        "charge": ("liquid", "gas", "steam"), "discharge": ("liquid", "gas", "steam")}

    pressure: Any = param("5 bar", unit="Pa", low=5e4, high=1e7, source="common practice, no source",
                          doc="pressure inside")
    usable: Any = param(0.6, unit="-", low=0.05, high=1.0, source="assumption",
                        doc="heat that a season can use over that of the body between hot and cold")
    slenderness: Any = param(1.5, unit="-", low=0.05, high=10.0, source="assumption",
                             doc="depth over radius of the body")
    spacing: Any = param(2.25, unit="m", low=0.1, high=10.0, source="user", doc="distance of pipes or boreholes")
    pipe: Any = param(0.15, unit="m", low=0.005, high=1.0, source="user", doc="diameter of the borehole or the pipe")
    resistance: Any = param(0.10, unit="m*K/W", low=0.0, high=2.0, source="0.06 to 0.15 for grouted double U "
                            "pipes, from memory", doc="between stream and wall of the hole, times length")
    content: Any = param(1.6e-3, unit="m^2", low=0.0, high=1.0, source="two pipes of 32 mm, common practice",
                         doc="cross-section of the stream in each hole, both ways")
    capacity_by_volume: Any = param(2.2e6, unit="J/m^3/K", low=2e5, high=5e6, source="moist soil 2.0 to 2.8, from "
                                    "memory", doc="heat capacity of the body")
    conductivity: Any = param(2.0, unit="W/m/K", low=0.05, high=50.0, source="sand with 5 to 20 % moisture 1.4 to 2.9: "
                              "table of soils (seen)", doc="of the body")
    ground_capacity: Any = param(2.2e6, unit="J/m^3/K", low=2e5, high=5e6, source="as the body",
                                 doc="of the ground around")
    ground_conductivity: Any = param(2.0, unit="W/m/K", low=0.05, high=50.0, source="as the body",
                                     doc="of the ground around")
    cover: Any = param(0.15, unit="W/m^2/K", low=0.0, high=50.0, source="some 0.3 m of insulation, common "
                       "practice", doc="loss coefficient of the cover")
    apron: Any = param(2.0, unit="m", low=0.0, high=200.0, source="assumption",
                       doc="how far it reaches beyond the body")
    undisturbed: Any = param(288.15, unit="K", low=240.0, high=330.0, source="yearly mean of the air: user",
                             doc="temperature of the ground far away")
    most: Any = param(363.15, unit="K", low=280.0, high=1000.0, source="plastic pipes, common practice",
                      doc="hottest that body and pipes stand")
    warmed: Any = param(0.0, unit="s", low=0.0, high=3.2e9, source="user", doc="for how long it was in use before")
    begins: Any = param(0.3, unit="-", low=0.0, high=1.0, source="assumption: part of a winter is over",
                        doc="temperature of a body in use when the year begins, from cold (0) to hot (1)")
    hot_fall: Any = param(40.0, unit="K", low=1.0, high=400.0, source="assumption",
                          doc="fall of the centre below hot at which nothing is drawn any more")
    cold_rise: Any = param(25.0, unit="K", low=1.0, high=400.0, source="assumption",
                           doc="rise of the edge above cold at which nothing is taken any more")
    drift_hot: Any = param(50.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(35.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                            doc="how far the cold outlet may rise above its design temperature")
    shells: int = 8
    years: int = 8
    """Years until a year begins as the one before: a year's results tell the first from this one."""

    # ---- what it is at its built size

    def _ends(self, v: Any) -> tuple[float, float]:
        return float(np.squeeze(v.charge.outlet.T)), float(np.squeeze(v.charge.inlet.T))

    def passing(self, v: Any) -> AtPressure:
        """The medium at the store's pressure; refused where body, pipes or medium do not stand the heat or the ground's
        own cold."""
        (cold, hot), where = self._ends(v), f"{v.name} (ground store)"
        if hot > self.most:
            raise PropertyRangeError("body and pipes do not stand this heat", where=where, got=show(hot, "K"),
                                     allowed=f"up to {show(self.most, 'K')}", hint="steel pipes and a larger `most`")
        return one_phase(v.charge.medium, self.pressure, min(cold, self.undisturbed), hot, where)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        fluid, (cold, hot) = self.passing(v), self._ends(v)
        coldest = min(cold, self.undisturbed)
        ends = {"hot": (max(hot - self.drift_hot, cold + LEAST * (hot - cold)), hot + 5.0),
                "cold": (coldest - 3.0, cold + self.drift_cold)}
        low, high = fluid.low, fluid.high
        return {name: (float(fluid.h(np.clip(a, low, high))), float(fluid.h(np.clip(b, low, high))))
                for name, (a, b) in ends.items()}

    def volume(self, v: Any) -> float:
        """Volume of the body [m3]."""
        cold, hot = self._ends(v)
        return float(np.squeeze(v["capacity"])) / (self.usable * self.capacity_by_volume * (hot - cold))

    def depth(self, v: Any) -> float:
        """Depth of the body below its cover [m]."""
        return float((self.slenderness**2 * self.volume(v) / pi) ** (1 / 3))

    def pipe_length(self, v: Any) -> float:
        """Length of all boreholes or pipes [m]."""
        return self.volume(v) / self.spacing**2

    def covered(self, v: Any) -> float:
        """Area of cover and apron [m2]."""
        return pi * (sqrt(self.volume(v) / self.depth(v) / pi) + self.apron) ** 2

    def conductance(self, v: Any) -> float:
        """Conductance between the stream in all pipes and the mean of the body [W/K]."""
        around = around_pipe(self.pipe / 2, self.spacing / sqrt(pi), self.conductivity)
        return self.pipe_length(v) / (self.resistance + around)

    def body(self, v: Any) -> GroundBody:
        """The body and its ground as they are marched."""
        _, hot = self._ends(v)
        return GroundBody(
            volume=self.volume(v), depth=self.depth(v), body_capacity=self.capacity_by_volume,
            body_conductivity=self.conductivity, capacity=self.ground_capacity, conductivity=self.ground_conductivity,
            cover=self.cover, apron=self.apron, undisturbed=self.undisturbed, shells=self.shells, fluid=self.passing(v),
            ua=self.conductance(v), span=(self.undisturbed - 60.0, hot + 40.0))

    def march(self, v: Any) -> GroundMarch:
        (cold, hot), body = self._ends(v), self.body(v)
        span = float(np.squeeze(v.charge.inlet.h - v.charge.outlet.h))
        begins = cold + self.begins * (hot - cold) if self.warmed > 0.0 else self.undisturbed
        first = body.held_at(begins, self.warmed / 31557600.0, self.undisturbed)
        least = max(hot - self.hot_fall, cold + 1.25 * LEAST * (hot - cold))
        return GroundMarch(body, cold, hot, span, least, cold + self.cold_rise, lambda flow: 0.0 * flow,
                           years=self.years, initial=first)

    def findings(self, v: Any) -> Iterable[str]:
        """Refuses what `passing` does; warns where a season's heat cannot pass between stream and body."""
        self.passing(v)
        cold, hot = self._ends(v)
        needs = abs(float(np.squeeze(v.charge.heat))) / (0.5 * (hot - cold))
        if self.conductance(v) > needs:
            return ()
        return (f"the pipes pass {self.conductance(v) / 1e3:.0f} kW/K, and the design heat needs {needs / 1e3:.0f} at "
                "half the difference of hot and cold: pipes closer together, or a larger store",)

    def standing_loss(self, v: Any) -> float:
        """Heat that a body kept at the mean of hot and cold loses for ever, its surface beyond the cover insulated [W]:
        through its cover, and as a half ball into the ground."""
        body, (cold, hot) = self.body(v), self._ends(v)
        below = half_ball(float(body.faces[body.shells])) * self.ground_conductivity
        return (float(np.sum(body.leaks[:body.shells])) + below) * (0.5 * (hot + cold) - self.undisturbed)

    def medium_mass(self, v: Any) -> float:
        """Mass of the medium in the pipes [kg]."""
        cold, hot = self._ends(v)
        return self.pipe_length(v) * self.content * float(self.passing(v).rho(0.5 * (cold + hot)))


@dataclass(frozen=True, kw_only=True)
class Boreholes(GroundStore):
    """A field of boreholes in natural ground, plumbed from the centre outward."""

    cautions: ClassVar[tuple[str, ...]] = (
        "Drilling meets groundwater, gas and buried lines: permits, licensed drillers, and sealing by local codes.",
        "Warm ground drives moisture out and changes groundwater; moving groundwater carries the heat away.",
    )

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield book.line("ground.borehole", quantity=self.pipe_length(v), component=v.name, item="boreholes")
        yield book.line("ground.cover", quantity=self.covered(v), component=v.name, item="cover")
        yield book.line(v.charge.medium.price_key, quantity=self.medium_mass(v), component=v.name,
                        item="medium in the pipes")


@dataclass(frozen=True, kw_only=True)
class MineWaste(GroundStore):
    """Dry waste rock, placed in a pit or heap around rows of steel pipes: hotter, and poorer in conduction."""

    cautions: ClassVar[tuple[str, ...]] = (
        "Mine waste may hold sulphides that heat themselves, acids, metals, dust or coal: test it, keep water off, and "
        "follow local codes on tailings and dams.",
        "A heap that dries and warms settles and may slide: its slopes and covers are for licensed engineers.",
        "Buried hot pipes cannot be reached: oil that leaks into dry rock can smoulder unseen.",
    )

    slenderness: Any = param(0.6, unit="-", low=0.05, high=10.0, source="assumption",
                             doc="depth over radius of the body")
    spacing: Any = param(0.8, unit="m", low=0.1, high=10.0, source="assumption", doc="distance of the pipes")
    pipe: Any = param(0.06, unit="m", low=0.005, high=1.0, source="assumption", doc="diameter of the pipe")
    resistance: Any = param(0.02, unit="m*K/W", low=0.0, high=2.0, source="assumption: film and contact",
                            doc="between stream and rock, times length")
    content: Any = param(2.4e-3, unit="m^2", low=0.0, high=1.0, source="55 mm bore", doc="cross-section of the stream")
    capacity_by_volume: Any = param(1.5e6, unit="J/m^3/K", low=2e5, high=5e6, source="crushed rock with 40 % void, dry",
                                    doc="heat capacity of the body")
    conductivity: Any = param(0.7, unit="W/m/K", low=0.05, high=50.0, source="dry crushed rock with fines, from memory",
                              doc="of the body")
    ground_conductivity: Any = param(1.5, unit="W/m/K", low=0.05, high=50.0, source="drier near the store, assumption",
                                     doc="of the ground around")
    most: Any = param(673.15, unit="K", low=280.0, high=1000.0, source="carbon steel, common practice",
                      doc="hottest that body and pipes stand")
    hot_fall: Any = param(120.0, unit="K", low=1.0, high=400.0, source="assumption",
                          doc="fall of the centre below hot at which nothing is drawn any more")
    cold_rise: Any = param(90.0, unit="K", low=1.0, high=400.0, source="assumption",
                           doc="rise of the edge above cold at which nothing is taken any more")
    drift_hot: Any = param(140.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(110.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                            doc="how far the cold outlet may rise above its design temperature")

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        yield book.line("ground.earthwork", quantity=self.volume(v), component=v.name, item="waste, moved and placed")
        yield book.line("ground.pipe", quantity=self.pipe_length(v), component=v.name, item="buried pipes")
        yield book.line("ground.cover", quantity=self.covered(v), component=v.name, item="cover")
        yield book.line(v.charge.medium.price_key, quantity=self.medium_mass(v), component=v.name,
                        item="medium in the pipes")
