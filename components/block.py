"""Block of concrete or brick with pipes cast in: charged through the pipes from one end, discharged from the other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any, ClassVar

import numpy as np

from components.block_march import LAMINAR, SOLIDS, STEEL, BlockBed, Solid, pipe_share, resistance_around
from components.buried import foundation
from components.friction import pressure_drop
from components.packed_bed import BedMarch
from components.store import Store
from components.thermocline_march import AtPressure, Filling, one_phase, standby_share
from loopnet.errors import ParameterError, PropertyRangeError
from loopnet.params import param
from loopnet.plant import Equation, Unknown
from loopnet.units import show

__all__ = ["Block"]

STEEP = 2.0
"""Change of the outlet over the difference of hot and cold, per relative change of flow, up to which the march of a
block trusts it: where laminar flow in the pipes gives way to turbulent, more flow leaves nearer to the solid."""


@dataclass(frozen=True, kw_only=True)
class Block(Store):
    """A solid block with parallel pipes through which the loop's own medium flows, either way.

    Oil, salt, air, pressurised water or dry steam; nothing boils or condenses inside, as that needs another pressure
    for discharging than for charging. Each path bears the pressure drop of its whole flow through the pipes. The block
    lies under one insulation, as a box of `height`; its pipes may be folded in it.
    """

    phases: ClassVar[dict[str, tuple[str, ...]]] = {
        "charge": ("liquid", "gas", "steam"), "discharge": ("liquid", "gas", "steam")}
    cautions: ClassVar[tuple[str, ...]] = (
        "Concrete gives off its water when first heated: warmed too fast, it bursts. First heating takes weeks, with "
        "vents open, by licensed practice.",
        "Pipes cast in cannot be reached: welds are tested before casting; hot oil or steam finds its own way out.",
    )

    solid: str = "storage concrete"
    length: Any = param(80.0, unit="m", low=2.0, high=200.0, source="assumption", doc="of the way through the block")
    spacing: Any = param(0.08, unit="m", low=0.01, high=0.6, source="about 80 mm in test blocks, from memory",
                         doc="distance of pipe axes")
    bore: Any = param(0.016, unit="m", low=0.003, high=0.3, source="assumption", doc="inner diameter of the pipes")
    wall: Any = param(0.002, unit="m", low=0.0, high=0.02, source="common practice, no source",
                      doc="of the pipes; 0 for bare channels")
    usable: Any = param(0.65, unit="-", low=0.1, high=1.0, source="assumption; the rest is the slope along the pipes",
                        doc="heat that a cycle can use over that between hot and cold")
    height: Any = param(4.0, unit="m", low=0.5, high=20.0, source="assumption", doc="of the block on its foundation")
    wall_loss: Any = param(0.15, unit="W/m^2/K", low=0.0, high=10.0, source="about 0.4 m of mineral wool, no source",
                           doc="loss coefficient of sides and top")
    floor: Any = param(0.4, unit="m", low=0.0, high=3.0, source="common practice, no source", doc="insulation below")
    floor_conductivity: Any = param(0.10, unit="W/m/K", low=0.02, high=3.0, source="foamed glass and light "
                                    "concrete when warm, from memory", doc="of that insulation")
    ground: Any = param(1.5, unit="W/m/K", low=0.2, high=6.0, source="moist sand or loam 0.95 to 2.25: Salomone and "
                        "Marlowe (1989), as in ASHRAE", doc="conductivity of the ground")
    hot_fall: Any = param(40.0, unit="K", low=1.0, high=400.0, source="assumption",
                          doc="fall of the hot end at which the block counts as empty")
    cold_rise: Any = param(40.0, unit="K", low=1.0, high=400.0, source="assumption",
                           doc="rise of the cold end at which the block counts as full")
    drift_hot: Any = param(60.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(60.0, unit="K", low=1.0, high=400.0, source="range of the operating tables",
                            doc="how far the cold outlet may move from its design temperature")
    cells: int = 40

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.solid not in SOLIDS:
            raise ParameterError("no such solid", where="Block.solid", got=repr(self.solid), allowed=", ".join(SOLIDS),
                                 hint="solid='storage concrete'")
        if self.bore + 2 * self.wall >= 0.9 * self.spacing:
            raise ParameterError("the pipes leave no room between them", where="Block.spacing",
                                 got=show(self.spacing, "m"),
                                 allowed=f"above {show((self.bore + 2 * self.wall) / 0.9, 'm')}", hint="wider apart")

    # ---- equations: those of all stores, with pipes that are sized and a pressure drop in them

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("pipes", "-", 2000.0, low=1e-6, hardware=True))

    def equations(self) -> Iterable[Equation]:
        kept = [e for e in super().equations() if not e.name.endswith("outlet.pressure")]
        return (
            *kept,
            Equation("charge.outlet.pressure", lambda v: v.charge.outlet.p - self.pressure + self.drop(v, v.charge)),
            Equation("discharge.outlet.pressure",
                     lambda v: v.discharge.outlet.p - self.pressure + self.drop(v, v.discharge)),
            Equation("pipes", lambda v: v["pipes"] * self.per_pipe(v) - v["capacity"], when="sizing"),
        )

    def drop(self, v: Any, side: Any) -> Any:
        """Pressure drop of a side's flow through the pipes [Pa]."""
        fluid, mean = side.medium, 0.5 * (side.inlet.T + side.outlet.T)
        rho, mu = fluid.rho(mean, self.pressure), fluid.mu(mean, self.pressure)
        return pressure_drop(np.abs(side.m) / v["pipes"], rho, mu, self.bore, self.length)

    def per_pipe(self, v: Any) -> Any:
        """Heat that the solid and steel of one pipe's share of the block give in a cycle [J]."""
        kept, steel, _ = pipe_share(self.bore, self.wall, self.spacing)
        hot, cold, solid = v.charge.inlet.T, v.charge.outlet.T, self.made_of
        heat = kept * solid.density * (solid.h(hot) - solid.h(cold))
        heat = heat + steel * STEEL.density * (STEEL.h(hot) - STEEL.h(cold))
        return self.usable * heat * self.spacing**2 * self.length

    @property
    def made_of(self) -> Solid:
        """Properties of the solid."""
        return SOLIDS[self.solid]

    # ---- what it is at its built size

    def passing(self, v: Any) -> AtPressure:
        """The medium at the block's pressure, on the side of its boiling point on which the block works."""
        hot, where = self._hot(v), f"{v.name} (block)"
        if hot > self.made_of.most:
            raise PropertyRangeError(f"{self.solid} does not stand this heat", where=where, got=show(hot, "K"),
                                     allowed=f"up to {show(self.made_of.most, 'K')}",
                                     hint="solid='bauxite brick', or a cooler loop")
        return one_phase(v.charge.medium, self.pressure, self._cold(v), hot, where)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        fluid, hot, cold = self.passing(v), self._hot(v), self._cold(v)
        ends = ((max(hot - self.drift_hot, cold + 0.2 * (hot - cold)), hot + 5.0),
                (cold - self.drift_cold, cold + self.drift_cold))
        kept = [tuple(float(fluid.h(np.clip(T, fluid.low, fluid.high))) for T in pair) for pair in ends]
        return {"hot": (kept[0][0], kept[0][1]), "cold": (kept[1][0], kept[1][1])}

    def _hot(self, v: Any) -> float:
        return float(np.squeeze(v.charge.inlet.T))

    def _cold(self, v: Any) -> float:
        return float(np.squeeze(v.charge.outlet.T))

    def volume(self, v: Any) -> float:
        """Volume of the block, pipes included [m3]."""
        return float(np.squeeze(v["pipes"])) * self.spacing**2 * self.length

    def box(self, v: Any) -> tuple[float, float]:
        """Plan area, and surface of sides and top [m2]."""
        plan = self.volume(v) / self.height
        return plan, plan + 4 * sqrt(plan) * self.height

    def bed(self, v: Any) -> BlockBed:
        """The block as it is marched."""
        fluid, hot, cold = self.passing(v), self._hot(v), self._cold(v)
        mean, pipes = 0.5 * (hot + cold), float(np.squeeze(v["pipes"]))
        kept, steel, inside = pipe_share(self.bore, self.wall, self.spacing)
        parts = ((self.made_of, kept * self.made_of.density), (STEEL, steel * STEEL.density),
                 (fluid, inside * float(fluid.rho(mean))))
        plan, surface = self.box(v)
        below = foundation(sqrt(4 * plan / pi), self.floor, self.floor_conductivity, self.ground)
        return BlockBed(
            solid=Filling(parts), gas=fluid, length=self.length, area=pipes * self.spacing**2, pipes=pipes,
            bore=self.bore,
            around=resistance_around(self.bore, self.wall, self.spacing, self.made_of.conductivity),
            core=kept * self.made_of.conductivity + steel * STEEL.conductivity,
            wall_ua=surface * self.wall_loss + below, cells=self.cells,
            span=(min(230.0, cold - 100.0), hot + 40.0), reference=mean)

    def march(self, v: Any) -> BedMarch:
        hot, cold = self._hot(v), self._cold(v)
        span = float(np.squeeze(v.charge.inlet.h - v.charge.outlet.h))
        return BedMarch(self.bed(v), cold, hot, span, hot - self.hot_fall, cold + self.cold_rise,
                        lambda flow: 0.0 * flow, steep=STEEP)

    def standby(self, v: Any, ambient: float) -> float:
        """Heat lost in an hour by a full block, over what it holds above cold [1/h]."""
        return standby_share(self.bed(v), self._cold(v), self._hot(v), ambient)

    def findings(self, v: Any) -> Iterable[str]:
        """A warning where the design flow in the pipes is laminar, so that the film hinders more than the solid."""
        if float(np.squeeze(v.charge.m)) <= 0.0:
            return ()
        bed = self.bed(v)
        flow = float(np.squeeze(v.charge.m)) / bed.pipes
        reynolds = 4 * flow / (pi * self.bore * bed._transport[0])
        if reynolds >= LAMINAR:
            return ()
        return (f"flow in the pipes is laminar at the design point (Re {reynolds:.0f}), the film is poor; "
                "longer or narrower pipes make fewer and quicker ones",)

    # ---- what it costs

    def inventory(self, v: Any) -> dict[str, float]:
        """Mass of solid, of steel pipes and of the medium in them [kg]."""
        parts = zip(("solid", "steel", "medium"), self.bed(v).solid.parts, strict=True)
        return {name: mass * self.volume(v) for name, (_, mass) in parts}

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        held, (plan, surface) = self.inventory(v), self.box(v)
        kept = pipe_share(self.bore, self.wall, self.spacing)[0]
        yield book.line(self.made_of.price, quantity=kept * self.volume(v), component=v.name, item="block")
        yield book.line("block.pipes", quantity=held["steel"], component=v.name, item="pipes in the block")
        yield book.line(v.charge.medium.price_key, quantity=held["medium"], component=v.name,
                        item="medium in the pipes")
        yield book.line("tank.insulation", quantity=surface, component=v.name, item="insulation")
        yield book.line("foundation.tank", quantity=plan, component=v.name, item="foundation")
