"""Combined cycle: the exhaust of a hot-air turbine makes steam, and a steam turbine takes what comes.

Between them lies an air loop of its own: air.through(turbine.exhaust, boiler.hot, turbine.exhaust)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from components.brayton import AirCycle, air_cycle
from components.engine import part_load
from components.gas_turbine import HotAirTurbine
from components.steam_turbine import SteamTurbine
from loopnet.params import param
from loopnet.plant import Equation, Term

__all__ = ["CombinedAirTurbine", "FollowingSteamTurbine"]


@dataclass(frozen=True, kw_only=True)
class CombinedAirTurbine(HotAirTurbine):
    """Hot-air turbine whose exhaust passes a boiler before it is let go.

    The turbine pays for the pressure that the boiler takes. Its hot side needs a store on its path, which holds the
    pressure there.
    """

    sides: ClassVar[tuple[str, ...]] = ("hot", "exhaust")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {**HotAirTurbine.phases, "exhaust": ("gas",)}
    holds_pressure: ClassVar[bool] = True

    pressure_ratio: Any = param(8.0, unit="-", low=1.5, high=40.0, source="common practice with a boiler, no source",
                                doc="pressure behind the compressor over that before it, design point")
    recuperator: Any = param(0.0, unit="-", low=0.0, high=0.95, source="common practice with a boiler, no source",
                             doc="effectiveness of the recuperator; 0 for none")

    def equations(self) -> Iterable[Equation]:
        return (
            *super().equations(),
            Equation("exhaust.temperature", lambda v: v.exhaust.outlet.T - self.cycle(v).exhaust),
            Equation("exhaust.flow", lambda v: v.exhaust.m - v["flow"]),
            Equation("exhaust.pressure", lambda v: v.exhaust.inlet.p - v.targets.pressure),
        )

    def _cycle(self, v: Any) -> AirCycle:
        share = part_load(self.load(v), self.part_load_loss)
        drop = 1.0 - (1.0 - self.drop) * v.targets.pressure / v.exhaust.outlet.p
        return air_cycle(v.site("ambient"), v["T_turbine"], self._pressures(v), self.compressor * share,
                         self.turbine * share, self._effectiveness(v), drop)

    def terms(self, v: Any) -> Iterable[Term]:
        return (*self._generator(v),
                Term("exhaust air", "loss", v["flow"] * self.cycle(v).q_exhaust - v.exhaust.heat))

    def guess(self) -> dict[str, float]:
        return {**super().guess(), "exhaust.outlet": 780.0, "exhaust.inlet": 430.0}


@dataclass(frozen=True, kw_only=True)
class FollowingSteamTurbine(SteamTurbine):
    """Steam turbine that takes all steam that its boiler makes: nobody asks it for a load."""

    def _size(self, v: Any) -> Any:
        return v["power"]

    def equations(self) -> Iterable[Equation]:
        return (equation for equation in super().equations() if equation.role != "load")

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {}
