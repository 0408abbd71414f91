"""Reheat: a steam generator with a reheater beside its superheater, and a turbine that steam enters twice.

Between them lies a closed path of its own: steam.through(boiler.reheat, turbine.reheat, boiler.reheat)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.rankine import SteamLine, taken_before
from components.steam_follow import steam_moved
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from components.transfer import lmtd
from loopnet.media import Isobar
from loopnet.params import param
from loopnet.plant import Equation, Unknown

__all__ = ["ReheatSteamGenerator", "ReheatSteamTurbine"]


@dataclass(frozen=True, kw_only=True)
class ReheatSteamGenerator(SteamGenerator):
    """Steam generator with a reheater, in parallel to the superheater in the hot medium.

    The hot flow splits between the two so that both streams leave at one temperature, at which they meet before the
    evaporator: each takes the share of the flow that it has of the heat. Rated, a valve holds that rule, and both
    steam temperatures are found. Steam that enters the reheater wet is dried there first: the two zones have mean
    temperature differences of their own.
    """

    sides: ClassVar[tuple[str, ...]] = ("hot", "water", "reheat")
    phases: ClassVar[dict[str, tuple[str, ...]]] = {**SteamGenerator.phases, "reheat": ("steam",)}
    parts: ClassVar[tuple[str, ...]] = ("superheater", "reheater", "evaporator", "economiser")

    reheat_temperature: Any = param(None, unit="K", low=400.0, high=920.0, source="user", optional=True,
                                    doc="steam behind the reheater, design point; none for that of main steam")
    drop_reheat: Any = param(0.08, unit="-", low=0.0, high=0.3, source="common practice, no source (with its pipes)",
                             doc="pressure drop of reheater and pipes over the cold pressure")

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("superheater_share", "-", 0.5, hardware=True))

    def equations(self) -> Iterable[Equation]:
        return (
            *super().equations(),
            Equation("superheater_share", lambda v: v["superheater_share"] - self._share(v), when="sizing"),
            Equation("reheat_temperature", lambda v: v.reheat.outlet.h - v.reheat.medium.h(
                self._reheat_temperature, v.reheat.outlet.p), when="sizing"),
            Equation("reheat.pressure", lambda v: v.reheat.inlet.p * (1 - self.drop_reheat) - v.reheat.outlet.p),
        )

    @property
    def _reheat_temperature(self) -> float:
        return float(self.reheat_temperature or self.steam_temperature)

    def _share(self, v: Any) -> Any:
        """Share of the hot flow that passes the superheater [-]: that of the heat."""
        heat = self._taken(v, "superheater")
        return heat / (heat + v.reheat.heat)

    def _imbalance(self, part: str, v: Any) -> Any:
        left = super()._imbalance(part, v)
        return left - v.reheat.heat if part == "superheater" else left

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
        share, design = self._share(v), v.design("superheater_share")
        return (hot * share / design, cold) if part == "superheater" else (
            hot * (1 - share) / (1 - design), v.reheat.ratio)

    def _mean_difference(self, v: Any, part: str) -> Any:
        if part != "reheater":
            return super()._mean_difference(v, part)
        enters, (hot_end, cold_end) = v.reheat.inlet, self._ends(v, part)
        dry = v.once("h_g of reheat", lambda: v.reheat.medium.h_g(enters.p))
        wet = np.clip((dry - enters.h) / (v.reheat.outlet.h - enters.h), 0.0, 1.0)  # share of the heat that dries
        between = v["h_evaporator"] + wet * (v.hot.inlet.h - v["h_evaporator"])
        middle = v.hot.medium.T(between, None if v.hot.medium.pressure_free else v.hot.inlet.p) - enters.T
        return 1 / (wet / lmtd(middle, cold_end) + (1 - wet) / lmtd(hot_end, middle))

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        again = self.reheat_temperature
        return super().follow(v, by, steel) | (
            {} if again is None else {"reheat_temperature": steam_moved(again, by, steel)})

    def guess(self) -> dict[str, float]:
        return {**super().guess(), "reheat.outlet": self._reheat_temperature}


@dataclass(frozen=True, kw_only=True)
class ReheatSteamTurbine(SteamTurbine):
    """Steam turbine island whose steam leaves it once to be heated again.

    What leaves is main steam less the extractions before the reheater. Rated, the pressure there slides with the main
    flow, as the extraction pressures do; it is then up to 7 % below what Stodola's law asks of the reheated flow, at a
    quarter of the load, where extractions are smaller.
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
        bleeds, n = self._bleeds(v), v.once("split", lambda: taken_before(self._bleeds(v), v.reheat.inlet.p))
        return bleeds[:n], bleeds[n:]

    def _cold(self, v: Any) -> Isobar:
        return v.once("cold", lambda: v.reheat.medium.isobar(v.reheat.outlet.p))

    def _even(self, v: Any) -> tuple[Any, ...]:
        """As without reheat; a heater whose pressure would lie within the reheater takes the cold steam."""
        cold, hot = v.reheat.outlet.p, v.reheat.inlet.p
        return tuple(np.where((p > hot) & (p < cold), cold, p) for p in super()._even(v))

    def _best(self, v: Any, reheat: tuple[Any, Any, Any] | None = None) -> tuple[Any, ...]:
        return super()._best(v, (v.reheat.outlet.p, v.reheat.inlet.p, v.reheat.inlet.h))

    def guess(self) -> dict[str, float]:
        return {**super().guess(), "reheat.outlet": 590.0}
