"""Reheat: a steam generator with a reheater beside its superheater, and a turbine that steam enters twice.

Between them lies a closed path of its own: steam.through(boiler.reheat, turbine.reheat, boiler.reheat)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.rankine import SteamLine, taken_before
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.media import Isobar
from loopnet.params import param
from loopnet.plant import Equation, Unknown

__all__ = ["ReheatSteamGenerator", "ReheatSteamTurbine"]


@dataclass(frozen=True, kw_only=True)
class ReheatSteamGenerator(SteamGenerator):
    """Steam generator with a reheater, in parallel to the superheater in the hot medium.

    The hot flow splits between the two so that both streams leave at one temperature, at which they meet before the
    evaporator: each takes the share of the flow that it has of the heat. Rated, a valve holds that rule, and both
    steam temperatures are found. As every surface here the reheater has one mean temperature difference between its
    ends; where the steam enters wet by 4 % this asks for some 20 % more surface than an integration along it.
    """

    sides: ClassVar[tuple[str, ...]] = ("hot", "water", "reheat")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {**SteamGenerator.phases, "reheat": ("steam",)}
    parts: ClassVar[tuple[str, ...]] = ("superheater", "reheater", "evaporator", "economiser")

    reheat_temperature: Any = param(None, unit="K", low=400.0, high=920.0, source="user", optional=True,
                                    doc="steam behind the reheater, design point; none for that of main steam")
    drop_reheat: Any = param(0.08, unit="-", low=0.0, high=0.3, source="common practice, no source (with its pipes)",
                             doc="pressure drop of reheater and pipes over the cold pressure")

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("superheater_share", "-", 0.5, low=0.0, high=1.0))

    def equations(self) -> Iterable[Equation]:
        return (
            *super().equations(),
            Equation("reheat_temperature", lambda v: v.reheat.outlet.T - self._reheat_temperature, when="sizing"),
            Equation("reheat.pressure", lambda v: v.reheat.inlet.p * (1 - self.drop_reheat) - v.reheat.outlet.p),
        )

    @property
    def _reheat_temperature(self) -> float:
        return float(self.reheat_temperature or self.steam_temperature)

    def _share(self, share: Any, part: str) -> Any:
        """Share of the hot flow that passes a surface [-], from that of the superheater."""
        return {"superheater": share, "reheater": 1 - share}.get(part, 1.0)

    def _given(self, v: Any, part: str) -> Any:
        whole = super()._given(v, part)
        return whole * self._share(v["superheater_share"], part) if part in ("superheater", "reheater") else whole

    def _taken(self, v: Any, part: str) -> Any:
        return v.reheat.heat if part == "reheater" else super()._taken(v, part)

    def _ends(self, v: Any, part: str) -> tuple[Any, Any]:
        if part == "reheater":
            return v.hot.inlet.T - v.reheat.outlet.T, self._hot(v, "h_evaporator") - v.reheat.inlet.T
        return super()._ends(v, part)

    def _flows(self, v: Any, part: str) -> tuple[Any, Any]:
        hot, cold = super()._flows(v, part)
        if part not in ("superheater", "reheater"):
            return hot, cold
        name = "superheater_share"
        return (hot * self._share(v[name], part) / self._share(v.design(name), part),
                v.reheat.ratio if part == "reheater" else cold)

    def guess(self) -> dict[str, float]:
        return {**super().guess(), "reheat.outlet": self._reheat_temperature}


@dataclass(frozen=True, kw_only=True)
class ReheatSteamTurbine(SteamTurbine):
    """Steam turbine island whose steam leaves it once to be heated again.

    What leaves is main steam less the extractions before the reheater. Rated, that pressure slides with the main
    flow, as the extraction pressures do.
    """

    sides: ClassVar[tuple[str, ...]] = ("main", "reheat")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("steam",), "reheat": ("steam",)}

    reheat_ratio: Any = param(0.2, unit="-", low=0.03, high=0.7, source="common practice (about a fifth), no source",
                              doc="pressure before the reheater over that of main steam, design point")

    def equations(self) -> Iterable[Equation]:
        return (
            *super().equations(),
            Equation("reheat.pressure", lambda v: v.reheat.outlet.p - self.reheat_ratio * self.pressure * v.main.ratio),
            Equation("reheat.expansion", lambda v: v.reheat.outlet.h - self._steam(v)[0].h[-1]),
            Equation("reheat.flow", lambda v: v.reheat.m - v.main.m * self.states(v).reheated),
        )

    def _steam(self, v: Any) -> tuple[SteamLine, ...]:
        high = v.once("high pressure", lambda: self._descend(v, "main", (*self._split(v)[0], self._cold(v))))
        low = v.once("low pressure", lambda: self._descend(v, "reheat", (*self._split(v)[1], self._condenser_level(v))))
        return high, low

    def _split(self, v: Any) -> tuple[tuple[Isobar, ...], tuple[Isobar, ...]]:
        """Extractions before and behind the reheater."""
        bleeds = self._bleeds(v)
        n = taken_before(bleeds, v.reheat.inlet.p)
        return bleeds[:n], bleeds[n:]

    def _cold(self, v: Any) -> Isobar:
        return v.once("cold", lambda: v.reheat.medium.isobar(v.reheat.outlet.p))

    def _bleed_design(self, v: Any) -> tuple[Any, ...]:
        """As without reheat; a heater whose pressure would lie within the reheater takes the cold steam."""
        cold, hot = v.reheat.outlet.p, v.reheat.inlet.p
        return tuple(np.where((p > hot) & (p < cold), cold, p) for p in super()._bleed_design(v))

    def guess(self) -> dict[str, float]:
        return {**super().guess(), "reheat.outlet": 590.0}
