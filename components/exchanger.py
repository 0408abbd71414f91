"""Two-sided exchanger in counterflow: UA from an approach when sizing, UA that follows the flows when rated."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from components.cycle_heat import two_sided
from components.transfer import lmtd, ua_at_flow
from loopnet.params import param
from loopnet.plant import Component, Equation, HeatExchange, Unknown

__all__ = ["Exchanger"]


@dataclass(frozen=True, kw_only=True)
class Exchanger(Component):
    """Exchanger between two loops, in counterflow.

    Sizing fixes the temperature that the cold side reaches and the approach at the cold end, and frees UA. Rated,
    UA follows the flows as in turbulent tubes, and the flow of the cold side keeps its ratio to that of the hot
    side, so that neither medium is asked to leave hotter than the other enters.
    """

    family: ClassVar[str] = "exchanger"
    sides: ClassVar[tuple[str, ...]] = ("hot", "cold")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"hot": ("liquid", "gas"), "cold": ("liquid", "gas")}

    cold_outlet: Any = param(unit="K", low=250.0, high=1500.0, source="user",
                             doc="temperature that the cold side reaches at the design point")
    approach: Any = param(6.0, unit="K", low=0.5, high=100.0, source="common practice, no source",
                          doc="hot outlet less cold inlet at the design point")
    u: Any = param(750.0, unit="W/m^2/K", low=5.0, high=6000.0,
                   source="common practice for oil to salt in shell and tube, no source",
                   doc="overall coefficient at the design point, for the area")
    drop_hot: Any = param("1.0 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                          doc="pressure drop of the hot side at the design point")
    drop_cold: Any = param("1.5 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                           doc="pressure drop of the cold side at the design point")

    price: str = "exchanger.shell_tube"
    """Price key, per area."""

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("UA", "W/K", 1e6, low=0.0, hardware=True),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("energy", lambda v: v.hot.heat + v.cold.heat),
            Equation("transfer", lambda v: v.cold.heat - self._ua(v) * self._mean_difference(v)),
            Equation("approach", lambda v: v.hot.outlet.T - v.cold.inlet.T - self.approach, when="sizing"),
            Equation("cold_outlet", lambda v: v.cold.outlet.T - self.cold_outlet, when="sizing"),
            Equation("flow_ratio", lambda v: v.cold.ratio - v.hot.ratio, when="rating"),
            Equation("hot.pressure", lambda v: v.hot.inlet.p - v.hot.outlet.p - self.drop_hot * v.hot.ratio**2),
            Equation("cold.pressure", lambda v: v.cold.inlet.p - v.cold.outlet.p - self.drop_cold * v.cold.ratio**2),
        )

    def _ua(self, v: Any) -> Any:
        return v["UA"] if v.sizing else ua_at_flow(v.design("UA"), v.hot.ratio, v.cold.ratio)

    def _mean_difference(self, v: Any) -> Any:
        return lmtd(v.hot.inlet.T - v.cold.outlet.T, v.hot.outlet.T - v.cold.inlet.T)

    def differences(self, v: Any) -> dict[str, Any]:
        return {"hot end": v.hot.inlet.T - v.cold.outlet.T, "cold end": v.hot.outlet.T - v.cold.inlet.T}

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        return (two_sided(v),)

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        return {"cold_outlet": self.cold_outlet + by}

    def guess(self) -> dict[str, float]:
        return {"cold.outlet": self.cold_outlet}

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        area = float(v["UA"][0]) / self.u
        return (book.line(self.price, quantity=area, component=v.name, item="surface"),)
