"""Thermocline: one tank full of quartz rock and sand with hot liquid above cold, charged from the top."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, pi, sqrt
from typing import Any, ClassVar

import numpy as np

from components.bed_correlations import ergun
from components.buried import foundation
from components.packed_bed import BedMarch
from components.store import Store
from components.thermocline_march import FilledBed, Filling, one_phase, standby_share
from loopnet.errors import ParameterError, PropertyRangeError
from loopnet.media import media_names, medium
from loopnet.params import param
from loopnet.units import show

__all__ = ["Thermocline"]

STAINLESS = 673.15
"""Temperature above which tanks are priced in stainless steel [K]; common practice, no source."""
CRACKS = 833.15
"""Temperature above which quartz rock is not trusted [K]: it swells abruptly at 573 degC; common practice."""


@dataclass(frozen=True, kw_only=True)
class Thermocline(Store):
    """One tank of liquid whose voids between stones hold the heat front; the stones hold most of the heat.

    Defaults are those of a bed of quartzite with silica sand in its voids, as tried with salt by Pacheco, Showalter
    and Kolb, J. Sol. Energy Eng. 124 (2002) 153: void 0.22 (from memory). The pressure drop of the bed, some hundred
    pascals, is left out; liquid that expands finds room above the bed.
    """

    phases: ClassVar[dict[str, tuple[str, ...]]] = {"charge": ("liquid",), "discharge": ("liquid",)}
    cautions: ClassVar[tuple[str, ...]] = (
        "A tank of stones grips its own filling: with each cycle the stones settle and the wall may ratchet outward "
        "until it yields. Wall, floor and foundation are for licensed engineers, by local codes.",
        "Filling is washed, graded and dried: dust blocks pumps, water under hot salt or oil flashes to steam.",
        "A leak of hot oil burns and of salt feeds fire: dikes, gas blanket and venting follow local codes.",
    )

    stones: str = "quartz sand"
    height: Any = param(14.0, unit="m", low=1.0, high=30.0, source="common practice, no source", doc="of the bed")
    widest: Any = param(40.0, unit="m", low=2.0, high=60.0, source="common practice, no source",
                        doc="largest diameter; beyond it, tanks stand side by side")
    stone: Any = param(0.015, unit="m", low=0.0005, high=0.15, source="assumption: gravel with sand between",
                       doc="diameter of the stones, by surface")
    void: Any = param(0.22, unit="-", low=0.15, high=0.6, source="Pacheco et al. (2002), from memory",
                      doc="liquid between the stones")
    usable: Any = param(0.75, unit="-", low=0.1, high=1.0, source="assumption; the rest is the front",
                        doc="heat that a cycle can use over that between hot and cold")
    wall_loss: Any = param(0.2, unit="W/m^2/K", low=0.0, high=10.0, source="80 W/m2 over 361 K, pilot salt tanks, "
                           "Prieto et al., Solar Energy 135 (2016) 518", doc="loss coefficient of wall and cover")
    floor: Any = param(0.5, unit="m", low=0.0, high=3.0, source="common practice, no source",
                       doc="insulation below the tank")
    floor_conductivity: Any = param(0.15, unit="W/m/K", low=0.02, high=3.0, source="light expanded clay, from memory",
                                    doc="of that insulation")
    ground: Any = param(1.5, unit="W/m/K", low=0.2, high=6.0, source="moist sand or loam 0.95 to 2.25: Salomone and "
                        "Marlowe (1989), as in ASHRAE", doc="conductivity of the ground")
    hot_fall: Any = param(20.0, unit="K", low=1.0, high=300.0, source="assumption",
                          doc="fall of the hot outlet at which the tank counts as empty")
    cold_rise: Any = param(25.0, unit="K", low=1.0, high=300.0, source="assumption",
                           doc="rise of the cold outlet at which the tank counts as full")
    cells: int = 50

    # ---- what it holds

    def check(self, media: dict[str, Any]) -> None:
        if self.stones not in media_names() or medium(self.stones).phase != "particles":
            raise ParameterError("not a filling of stones", where="Thermocline.stones", got=repr(self.stones),
                                 allowed=", ".join(n for n in media_names() if medium(n).phase == "particles"),
                                 hint="stones='quartz sand'")

    def refuse(self, v: Any) -> None:
        """Refuse temperatures that liquid or stones do not stand, and a pressure at which the liquid boils."""
        ends = np.array([self._cold(v), self._hot(v)])
        liquid, stones, where = v.charge.medium, medium(self.stones), f"{v.name} (thermocline)"
        one_phase(liquid, self.pressure, float(ends[0]), float(ends[1]), where)
        stones.check(ends, where=where)
        if self.stones == "quartz sand" and ends[1] > CRACKS:
            raise PropertyRangeError("quartz rock cracks where its crystals turn over", where=where,
                                     got=show(float(ends[1]), "K"), allowed=f"up to {show(CRACKS, 'K')}",
                                     hint="stones='crushed rock' (basalt), or a cooler loop")

    def _hot(self, v: Any) -> float:
        return float(np.squeeze(v.charge.inlet.T))

    def _cold(self, v: Any) -> float:
        return float(np.squeeze(v.charge.outlet.T))

    def filling(self, v: Any) -> Filling:
        """Stones and liquid of a cubic metre of bed, the liquid as dense as midway between hot and cold."""
        stones, mean = medium(self.stones), 0.5 * (self._hot(v) + self._cold(v))
        liquid, solid = v.charge.medium, 1 - self.void
        return Filling(((stones, solid * float(stones.rho(mean))), (liquid, self.void * float(liquid.rho(mean)))))

    def volume(self, v: Any) -> float:
        """Volume of the bed [m3]."""
        filling = self.filling(v)
        rise = float(filling.heat(self._hot(v)) - filling.heat(self._cold(v)))
        return float(np.squeeze(v["capacity"])) / (self.usable * rise)

    def tanks(self, v: Any) -> tuple[int, float]:
        """Number of tanks, and the diameter of each [m]."""
        plan = self.volume(v) / self.height
        count = ceil(plan / (pi * self.widest**2 / 4) - 1e-9)
        return count, sqrt(4 * plan / count / pi)

    def inventory(self, v: Any) -> tuple[float, float]:
        """Mass of liquid when all is cold, and of stones [kg]."""
        volume = self.volume(v)
        return (volume * self.void * float(v.charge.medium.rho(self._cold(v))), volume * self.filling(v).parts[0][1])

    def swelling(self, v: Any) -> float:
        """Room that the liquid needs above the bed when it is heated from cold to hot [m3]."""
        liquid = v.charge.medium
        return self.volume(v) * self.void * (float(liquid.rho(self._cold(v)) / liquid.rho(self._hot(v))) - 1)

    def pressure_drop(self, v: Any) -> float:
        """Ergun pressure drop of the charging flow at the design point [Pa]: small, and left out of the balance."""
        liquid, mean = v.charge.medium, 0.5 * (self._hot(v) + self._cold(v))
        flux = float(np.squeeze(v.charge.m)) * self.height / self.volume(v)
        return float(ergun(flux, length=self.height, diameter=self.stone, void=self.void, rho=float(liquid.rho(mean)),
                           mu=float(liquid.mu(mean))))

    # ---- the year

    def bed(self, v: Any) -> FilledBed:
        """The bed of all tanks at its built size."""
        count, diameter = self.tanks(v)
        plan, hot, cold = pi * diameter**2 / 4, self._hot(v), self._cold(v)
        return FilledBed(
            solid=self.filling(v), gas=v.charge.medium, length=self.height, area=count * plan, void=self.void,
            diameter=self.stone, wall_ua=count * pi * diameter * self.height * self.wall_loss,
            top_ua=count * plan * self.wall_loss,
            bottom_ua=count * foundation(diameter, self.floor, self.floor_conductivity, self.ground),
            cells=self.cells, span=(min(230.0, cold - 100.0), hot + 40.0), reference=0.5 * (hot + cold))

    def march(self, v: Any) -> BedMarch:
        self.refuse(v)
        hot, cold = self._hot(v), self._cold(v)
        span = float(np.squeeze(v.charge.inlet.h - v.charge.outlet.h))
        return BedMarch(self.bed(v), cold, hot, span, hot - self.hot_fall, cold + self.cold_rise,
                        lambda flow: 0.0 * flow)

    def standby(self, v: Any, ambient: float) -> float:
        """Heat lost in an hour by a full tank, over what it holds above cold [1/h]."""
        return standby_share(self.bed(v), self._cold(v), self._hot(v), ambient)

    def findings(self, v: Any) -> Iterable[str]:
        """Refuses what `refuse` does; warns where the bed's pressure drop, left out, is no longer small."""
        self.refuse(v)
        drop = self.pressure_drop(v)
        if drop < 0.05e5:
            return ()
        return (f"the stones take {show(drop, 'Pa')} at the design flow, which the balance leaves out; "
                "coarser stones or a lower bed",)

    # ---- what it costs

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        self.refuse(v)
        liquid, stones = self.inventory(v)
        count, diameter = self.tanks(v)
        plan, wall = count * pi * diameter**2 / 4, count * pi * diameter * self.height
        quartz, hot = self.stones == "quartz sand", self._hot(v) > STAINLESS
        yield book.line(v.charge.medium.price_key, quantity=liquid, component=v.name, item="liquid in the voids")
        yield book.line("filler.quartzite" if quartz else medium(self.stones).price_key, quantity=stones,
                        component=v.name, item="stones")
        yield book.line("tank.salt_hot" if hot else "tank.salt_cold", quantity=self.volume(v) + self.swelling(v),
                        component=v.name, item="tank")
        yield book.line("thermocline.distributors", quantity=plan, component=v.name, item="distributors")
        yield book.line("tank.insulation", quantity=plan + wall, component=v.name, item="insulation")
        yield book.line("foundation.tank", quantity=plan, component=v.name, item="foundation")
