"""Beds and streams of solid grains: quartz sand with its alpha-beta transition, and crushed rock."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from loopnet.errors import PropertyRangeError
from loopnet.media.base import ZERO, Limits, SinglePhase
from loopnet.media.tables import Array

__all__ = ["CrushedRock", "Particles", "QuartzSand"]


class Particles(SinglePhase):
    """Grains: `rho` and `k` are those of the grain, `bulk_density` that of the poured bed [kg/m3]."""

    phase = "particles"
    bulk_density: ClassVar[float]

    def mu(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Refused.

        Raises
        ------
        PropertyRangeError
            Always: grains slide, they have no viscosity.
        """
        raise PropertyRangeError("particles have no viscosity", where=self.name, got="mu",
                                 hint="a component for particles (moving bed, silo, lift) instead of a pipe or pump")


class QuartzSand(Particles):
    """Quartz (SiO2): Shomate equations of alpha and beta quartz, blended over 2 K at the transition at 847 K.

    h = (1 - S) h_alpha + S h_beta, S a quintic smooth step from 846 to 848 K: the heat of transition (12.1 kJ/kg)
    is exact, h is C2 and T(h) unique. Below 298 K the alpha equation is continued.

    References
    ----------
    Chase, M.W.: NIST-JANAF Thermochemical Tables, 4th ed., 1998 (Shomate form: NIST Chemistry WebBook, C14808607).

    Examples
    --------
    >>> from loopnet.media import medium
    >>> round(medium("quartz sand").cp(400.0), 1)
    889.3
    """

    name = "quartz sand"
    span = (248.15, 1500.0)
    nodes = 40_000  # 31 mK a cell: the transition takes 64 of them
    transition: ClassVar[tuple[float, float]] = (846.0, 848.0)
    bulk_density = 1590.0
    limits = Limits(freezing=None, low=248.15, bulk=1273.15, film=None, sources={
        "low": "-25 degC, coldest ambient foreseen; assumption",
        "bulk": "1000 degC, below sintering of impure sands; common practice, no source"})
    cautions = (
        "Fine quartz dust scars lungs: enclose, wet or filter it, and protect breathing by local rules.",
        "Hot sand flows like water through any gap, holds heat for days, and burns; guard chutes and silos.",
        "Silos and lifts crush and bury; entry is for licensed practice only.",
    )

    _alpha = (-6.076591, 251.6755, -324.7964, 168.5604, 0.002548, -917.6893)
    _beta = (58.75340, 10.27925, -0.131384, 0.025210, 0.025601, -929.3292)
    _formation = -910.8568  # [kJ/mol]
    _molar_mass = 0.0600843  # [kg/mol]

    @classmethod
    def _shomate(cls, c: tuple[float, ...], T: Array) -> tuple[Array, Array]:
        """Heat capacity [J/kg/K] and enthalpy above 298.15 K [J/kg]."""
        t = T / 1000
        cp = c[0] + t * (c[1] + t * (c[2] + t * c[3])) + c[4] / (t * t)
        h = t * (c[0] + t * (c[1] / 2 + t * (c[2] / 3 + t * c[3] / 4))) - c[4] / t + c[5] - cls._formation
        return cp / cls._molar_mass, 1e3 * h / cls._molar_mass

    def _exact(self, what: str, T: Array) -> Array:
        if what == "rho":  # handbook density of quartz; thermal expansion of the grain is left out
            return np.full(T.shape, 2650.0)
        if what == "k":  # mean of quartzite, 5.2 to 6.9 W/m/K at 25 degC, falling as 1/T (from memory)
            return 6.0 * ZERO / T
        (cp_alpha, h_alpha), (cp_beta, h_beta) = self._shomate(self._alpha, T), self._shomate(self._beta, T)
        start, end = self.transition
        u = np.clip((T - start) / (end - start), 0.0, 1.0)
        share = u * u * u * (10 + u * (6 * u - 15))
        if what == "h":
            return h_alpha + share * (h_beta - h_alpha) - self._offset()
        rate = 30 * u * u * (1 - u) ** 2 / (end - start)
        return cp_alpha + share * (cp_beta - cp_alpha) + rate * (h_beta - h_alpha)

    @classmethod
    def _offset(cls) -> float:
        """The rounding of the coefficients at 298.15 K [J/kg]."""
        return float(cls._shomate(cls._alpha, np.array([ZERO]))[1][0])

    def _exact_T(self, h: Array) -> Array:
        """Bisection narrowed by Newton: the heat capacity jumps tenfold inside the transition."""
        fine = np.unique(np.concatenate([np.linspace(*self.span, 2000), np.linspace(*self.transition, 200)]))
        at = self._exact("h", fine)
        cell = np.clip(np.searchsorted(at, h) - 1, 0, fine.size - 2)
        low, high = fine[cell], fine[cell + 1]
        T: Array = low + (high - low) * (h - at[cell]) / (at[cell + 1] - at[cell])
        for _ in range(5):
            T = np.clip(T - (self._exact("h", T) - h) / self._exact("cp", T), low, high)
        return T


class CrushedRock(Particles):
    """Crushed granite, basalt or dolerite: heat capacity linear in temperature.

    cp = 815 + 0.55 (t - 55), t in degC, about 0 to 600 degC.

    References
    ----------
    815 J/kg/K at 55 degC and 2,700 kg/m3: Allen, von Backstroem, Joubert, "Rock bed thermal storage: concepts and
    costs", AIP Conf. Proc. 1734 (2016) 050003 (slides seen). Slope: Waples and Waples, Natural Resources Research
    13 (2004) 97, from memory. At 25 degC handbooks give granite 879, basalt 712 to 879 J/kg/K (ASHRAE, as rocks).
    """

    name = "crushed rock"
    span = (248.15, 1100.0)
    nodes = 200
    bulk_density = 1485.0  # void fraction 0.45, as in the slides above
    limits = Limits(freezing=None, low=248.15, bulk=973.15, film=None, sources={
        "low": "-25 degC, coldest ambient foreseen; assumption",
        "bulk": "700 degC, basalt or dolerite; much quartz cracks at 573 degC; common practice, no source"})
    cautions = (
        "Rock that cracks when hot makes dust: test the quarry's rock, and filter the air, by local rules.",
        "Beds hold heat for weeks and starve the air of oxygen; entry is for licensed practice only.",
    )

    def _exact(self, what: str, T: Array) -> Array:
        if what == "rho":
            return np.full(T.shape, 2700.0)
        if what == "k":  # between granite (1.9 to 5.2) and basalt (2.1 to 2.4 W/m/K at 25 degC)
            return np.full(T.shape, 2.5)
        cp = 815.0 + 0.55 * (T - 328.15)
        return cp if what == "cp" else (T - ZERO) * (cp + 815.0 + 0.55 * (ZERO - 328.15)) / 2
