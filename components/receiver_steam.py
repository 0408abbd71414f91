"""Water that boils in the row: any tube, with walls that are hotter than the water by what heat transfer leaves."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.receiver import Receiver, TubeLoss
from components.receiver_row import OfTemperature, mean_net
from loopnet.params import param
from loopnet.units import show

__all__ = ["BoilingRow", "boiling_coefficients"]

Array = NDArray[np.float64]
Floats = float | Array

_MOLAR_MASS, _CRITICAL = 18.015, 22.064e6
"""Of water [g/mol], [Pa]."""


def boiling_coefficients(pressure: float, mass_flux: float, diameter: float, flux: float,
                         quality: float = 0.4) -> tuple[float, float, float]:
    """Heat transfer from the wall to liquid, boiling water and steam: Dittus & Boelter, Liu & Winterton.

    Parameters
    ----------
    pressure : float
        Of the water [Pa].
    mass_flux : float
        Flow per cross-section [kg/s/m2].
    diameter : float
        Inner diameter [m].
    flux : float
        Heat flux at the wall [W/m2].
    quality : float
        Share of steam by mass at which boiling is taken [-].

    Returns
    -------
    tuple of three floats
        Coefficients [W/m2K]: liquid near boiling, boiling, steam 50 K above boiling.

    Notes
    -----
    Annular flow that wets the whole tube; long horizontal tubes at low flow stratify, and their top is hotter.

    References
    ----------
    Liu & Winterton, Int. J. Heat Mass Transfer 34 (1991) 2759, by `ht`.

    Examples
    --------
    >>> liquid, boiling, steam = boiling_coefficients(50e5, 500.0, 0.055, 30e3)
    >>> steam < liquid < boiling
    True
    """
    from ht.boiling_flow import Liu_Winterton
    from ht.conv_internal import turbulent_Dittus_Boelter

    from loopnet.media import medium

    water = medium("water")
    boils = float(water.T_sat(pressure))

    def single(t: float) -> float:
        cp, mu, k = (float(read(t, pressure)) for read in (water.cp, water.mu, water.k))
        return float(turbulent_Dittus_Boelter(Re=mass_flux * diameter / mu, Pr=cp * mu / k) * k / diameter)

    t = boils - 0.5
    excess = 5.0
    for _ in range(30):
        boiling = Liu_Winterton(
            m=mass_flux * np.pi / 4 * diameter**2, x=quality, D=diameter, rhol=float(water.rho_f(pressure)),
            rhog=float(water.rho_g(pressure)), mul=float(water.mu(t, pressure)), kl=float(water.k(t, pressure)),
            Cpl=float(water.cp(t, pressure)), MW=_MOLAR_MASS, P=pressure, Pc=_CRITICAL, Te=excess)
        excess = np.sqrt(excess * flux / boiling)
    return single(t), float(boiling), single(boils + 50.0)


@dataclass(frozen=True, kw_only=True)
class BoilingRow(Receiver):
    """Direct steam: a tube (its loss that of `tube`, with a `rise` of 0) in which water warms, boils and superheats.

    The row is integrated between the bends of T(h), with the wall hotter than the water by flux over heat transfer of
    each part; past `dry_out` the wall meets steam. Hot steam under pressure kills: pressure equipment by local codes.

    >>> BoilingRow(pressure="50 bar").coefficients[1] > 5000.0
    True
    """

    tube: Receiver = field(default_factory=TubeLoss)
    """How the tube loses heat."""
    pressure: Any = param(50e5, unit="Pa", low=1e5, high=200e5, source="user", doc="design pressure where it boils")
    mass_flux: Any = param(400.0, unit="kg/s/m**2", low=20.0, high=5000.0, source="common practice, no source",
                           doc="design flow per cross-section of a tube")
    bore: Any = param(0.055, unit="m", low=5e-3, high=0.3, source="common practice, no source",
                      doc="inner diameter of the tube")
    design_flux: Any = param(18e3, unit="W/m**2", low=1e3, high=1e6, source="common practice, no source",
                             doc="mean heat flux at the inside of the wall, for the boiling coefficient")
    dry_out: Any = param(0.85, unit="-", low=0.3, high=1.0, source="from memory (0.8 to 0.95)",
                         doc="share of steam at which the wall is no longer wet")
    difference_limit: Any = param(50.0, unit="K", low=5.0, high=300.0, source="common practice, no source",
                                  doc="hotter side of the tube over the water, beyond which it bends")

    @cached_property
    def coefficients(self) -> tuple[float, float, float]:
        """Heat transfer to liquid, boiling water and steam [W/m2K]."""
        return boiling_coefficients(self.pressure, self.mass_flux, self.bore, self.design_flux)

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of the tube's inside [-]."""
        return self.tube.wall_concentration

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at wall and ambient temperature [K], wind [m/s], direct sun [W/m2]."""
        return self.tube(np.asarray(temperature) + self.rise * np.asarray(dni), ambient, wind, dni)

    def net(self, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature, medium: Any,
            ambient: Floats, pressure: Floats | None = None) -> Array:
        """Net heat per aperture [W/m2] of the water between two enthalpies [J/kg], at `pressure` [Pa] or the design's.
        """
        p = self.pressure if pressure is None else pressure
        wet, dry = medium.h_f(p), medium.h_g(p)
        dries = wet + self.dry_out * (dry - wet)
        liquid, boiling, steam = (np.asarray(absorbed) * self.wall_concentration / c for c in self.coefficients)

        def wall(h: Array) -> Array:
            return medium.T(h, p) + np.where(h < wet, liquid, np.where(h < dries, boiling, steam))

        return mean_net(h_in, h_out, absorbed, loss, wall, (wet, dries, dry))

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]: the tube's, and uneven walls."""
        _, boiling, steam = self.coefficients
        boils = float(medium.T_sat(self.pressure))
        superheats = float(np.max(temperature)) > boils + 1.0
        found = replace(self.tube, film=steam if superheats else boiling).findings(temperature, absorbed, medium)
        flux = float(np.max(absorbed)) * self.wall_concentration * self.tube.peak
        if superheats and flux / steam > self.difference_limit:
            found.append(f"where the tube dries out (water at {show(boils, 'K')}) its lit side is {flux / steam:.0f} K "
                         f"hotter than the water, above {self.difference_limit:.0f} K: more flow per tube, less "
                         "concentration, or superheating in rows of their own")
        return found
