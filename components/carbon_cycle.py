"""Recompression cycle of supercritical carbon dioxide, per kilogram through the turbine: states, works and heats.

A part of the flow is not cooled: compressed warm, it joins the rest between the two recuperators."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from components.organic_cycle import Phase
from loopnet.media.coolprop import sweep
from loopnet.media.tables import Grid

__all__ = ["CarbonDioxide", "Recompression", "carbon_dioxide", "recompression"]

P_CRITICAL = 7.3773e6  # Pa, Span and Wagner 1996
ENDS = (1.02, 4.6)  # pressures of the tables, over the critical one
T_LOW, T_HIGH = 290.0, 1100.0  # K


class CarbonDioxide:
    """Carbon dioxide above its critical pressure, 17 to 827 degC, 75 to 339 bar; tables fill themselves when read."""

    @cached_property
    def _phase(self) -> Phase:
        grid = Grid(float(np.log(ENDS[0])), float(np.log(ENDS[1])), 28)
        p = P_CRITICAL * np.exp(grid.points)
        cold, hot = (sweep("HEOS", "CO2", "PT", p, np.full(p.size, T), ("T", "hmass", "smass"))
                     for T in (T_LOW, T_HIGH))
        near = np.linspace(T_LOW, 350.0, 80)
        return Phase("CO2", grid, p, cold, hot, 200, np.concatenate([near[:-1], np.geomspace(350.0, T_HIGH, 40)]))

    @staticmethod
    def _place(p: Any) -> Any:
        return np.log(np.maximum(np.asarray(p, dtype=float) / P_CRITICAL, 0.3))

    def T(self, h: Any, p: Any) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg] and pressure `p` [Pa]."""
        return self._phase.T(h, self._place(p))

    def s(self, h: Any, p: Any) -> Any:
        """Entropy [J/kg/K] at enthalpy `h` [J/kg] and pressure `p` [Pa]."""
        return self._phase.s(h, self._place(p))

    def h(self, s: Any, p: Any) -> Any:
        """Enthalpy [J/kg] at entropy `s` [J/kg/K] and pressure `p` [Pa]."""
        return self._phase.h(s, self._place(p))

    def h_T(self, T: Any, p: Any) -> Any:
        """Enthalpy [J/kg] at temperature `T` [K] and pressure `p` [Pa], by bisection and Newton on the table."""
        T, p = np.broadcast_arrays(np.asarray(T, dtype=float), np.asarray(p, dtype=float))
        place = self._place(p)
        low, high = (np.full(T.shape, x) for x in (2.0e5, 1.5e6))
        for _ in range(13):
            middle = 0.5 * (low + high)
            warm = self._phase.T(middle, place) > T
            low, high = np.where(warm, low, middle), np.where(warm, middle, high)
        h = 0.5 * (low + high)
        for _ in range(4):
            slope = (self._phase.T(h + 5.0, place) - self._phase.T(h - 5.0, place)) / 10.0
            h = h - (self._phase.T(h, place) - T) / np.maximum(slope, 1e-7)
        return h


@lru_cache(maxsize=1)
def carbon_dioxide() -> CarbonDioxide:
    """The one instance that everybody shares."""
    return CarbonDioxide()


@dataclass(frozen=True)
class Recompression:
    """The cycle per kilogram through the turbine; enthalpies [J/kg] of its states, works [J/kg].

    1 before and 2 behind the main compressor, 3 cold stream behind the first recuperator, `warm` behind the second
    compressor, `mixed` where these meet, 4 behind the second recuperator, 5 before and 6 behind the turbine, 7 and 8
    behind the second and the first recuperator on the way back. `split` is the share that is not cooled.
    """

    h1: Any
    h2: Any
    h3: Any
    warm: Any
    mixed: Any
    h4: Any
    h5: Any
    h6: Any
    h7: Any
    h8: Any
    split: Any
    p: tuple[Any, Any, Any, Any]
    """Pressures [Pa]: before the compressors, behind them, before the turbine, behind it."""

    @property
    def w_turbine(self) -> Any:
        """Work of the turbine [J/kg]."""
        return self.h5 - self.h6

    @property
    def w_compressors(self) -> Any:
        """Work of both compressors [J/kg]."""
        return (1 - self.split) * (self.h2 - self.h1) + self.split * (self.warm - self.h8)

    @property
    def q_hot(self) -> Any:
        """Heat taken up [J/kg]."""
        return self.h5 - self.h4

    @property
    def q_cold(self) -> Any:
        """Heat given to the cooler [J/kg]."""
        return (1 - self.split) * (self.h8 - self.h1)

    @property
    def efficiency(self) -> Any:
        """Net work over heat [-]."""
        return (self.w_turbine - self.w_compressors) / self.q_hot

    def profile(self, which: str, places: int = 13) -> Any:
        """Temperature differences [K] along a recuperator, "first" or "second", from its cold end, at equal steps of
        its heat; each stream at the pressure of its inlet, shape (places, points)."""
        fluid = carbon_dioxide()
        x = np.linspace(0.0, 1.0, places).reshape(-1, *[1] * np.ndim(self.h7))
        low, high, _, back = self.p
        cold, hot = ((self.h2, self.h3), (self.h8, self.h7)) if which == "first" else (
            (self.mixed, self.h4), (self.h7, self.h6))
        T_hot = fluid.T(hot[0] + x * (hot[1] - hot[0]), 0.0 * x + (low if which == "first" else back))
        return T_hot - fluid.T(cold[0] + x * (cold[1] - cold[0]), 0.0 * x + high)


def recompression(T1: Any, h5: Any, h7: Any, split: Any, p: tuple[Any, Any], *, compressor: Any, turbine: Any,
                  approach: Any, drop: Any = 0.0) -> Recompression:
    """The cycle, explicitly, from the state between the recuperators and the split; what these must be is left to say.

    Parameters
    ----------
    T1 : float or ndarray
        Temperature before the main compressor [K].
    h5 : float or ndarray
        Enthalpy before the turbine [J/kg].
    h7 : float or ndarray
        Enthalpy of the returning stream between the recuperators [J/kg].
    split : float or ndarray
        Share of the flow that goes to the second compressor, uncooled [-].
    p : tuple of float or ndarray
        Pressure before and behind the compressors [Pa].
    compressor, turbine : float or ndarray
        Isentropic efficiencies [-]; both compressors alike.
    approach : float or ndarray
        Temperature difference at the cold end of the first recuperator [K].
    drop : float or ndarray
        Pressure lost between compressor and turbine, and between turbine and compressor, each over the pressure [-].

    Returns
    -------
    Recompression
    """
    fluid = carbon_dioxide()
    low, high = p
    inlet, outlet = high * (1 - drop), low / (1 - drop)
    h1 = fluid.h_T(T1, low)
    h2 = h1 + (fluid.h(fluid.s(h1, low), high) - h1) / compressor
    h6 = h5 - turbine * (h5 - fluid.h(fluid.s(h5, inlet), outlet))
    h8 = fluid.h_T(fluid.T(h2, high) + approach, low)
    warm = h8 + (fluid.h(fluid.s(h8, low), high) - h8) / compressor
    h3 = h2 + (h7 - h8) / np.maximum(1 - split, 0.05)
    mixed = (1 - split) * h3 + split * warm
    return Recompression(h1, h2, h3, warm, mixed, mixed + h6 - h7, h5, h6, h7, h8, split, (low, high, inlet, outlet))
