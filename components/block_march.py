"""A block of concrete or brick with pipes cast in, marched along its pipes: the solid of each section has one mean
temperature, behind a film inside the pipe and the conduction around it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf, log10, pi
from typing import Any

import numpy as np

from components.buried import around_pipe
from components.thermocline_march import FilledBed, with_moving_content
from loopnet.params import Parameters, param

__all__ = ["LAMINAR", "SOLIDS", "STEEL", "BlockBed", "Solid", "nusselt_tube", "pipe_share", "resistance_around"]

LAMINAR, TURBULENT = 2300.0, 4000.0
STILL = 4.364
"""Nusselt number of laminar flow under even flux, which passes into turbulence without a jump [-]."""


def nusselt_tube(reynolds: float, prandtl: float) -> float:
    """Nusselt number h d / k in a long smooth tube, from rest to turbulence.

    Turbulent: Gnielinski, Nu = (f/8)(Re - 1000) Pr / (1 + 12.7 (f/8)^0.5 (Pr^(2/3) - 1)),
    f = (1.82 log10 Re - 1.64)^-2; laminar: 4.364 (48/11); between Re 2300 and 4000 a straight line joins the two.

    Parameters
    ----------
    reynolds, prandtl : float
        Of the flow in the tube [-]; Pr of 0.5 to 2000, Re up to 5e6.

    Returns
    -------
    float
        Nusselt number [-].

    References
    ----------
    V. Gnielinski, Int. Chem. Eng. 16 (1976) 359; straight line: Int. J. Heat Mass Transfer 63 (2013) 134 (from memory).

    Examples
    --------
    >>> round(nusselt_tube(1e4, 0.7), 1), nusselt_tube(1000.0, 5.0)
    (29.8, 4.364)
    """
    if reynolds <= LAMINAR:
        return STILL
    fast = max(reynolds, TURBULENT)
    eighth = (1.82 * log10(fast) - 1.64) ** -2 / 8
    turbulent = eighth * (fast - 1000) * prandtl / (1 + 12.7 * eighth**0.5 * (prandtl ** (2 / 3) - 1))
    if reynolds >= TURBULENT:
        return float(turbulent)
    part = (reynolds - LAMINAR) / (TURBULENT - LAMINAR)
    return float(STILL + part * (turbulent - STILL))


@dataclass(frozen=True, kw_only=True)
class Solid(Parameters):
    """What a block is made of: heat capacity linear in temperature, c = c25 + rise (T - 25 degC)."""

    name: str
    density: float = param(unit="kg/m^3", low=500, high=9000, source="see SOLIDS")
    c25: float = param(unit="J/kg/K", low=200, high=4300, source="see SOLIDS", doc="heat capacity at 25 degC")
    rise: float = param(0.0, unit="J/kg/K**2", low=0, high=5, source="see SOLIDS", doc="of it per kelvin")
    conductivity: float = param(unit="W/m/K", low=0.05, high=100, source="see SOLIDS")
    most: float = param(unit="K", low=280, high=2200, source="see SOLIDS", doc="hottest it may become")
    price: str = ""
    source: str = ""

    def h(self, T: Any) -> Any:
        """Enthalpy above 25 degC [J/kg] at `T` [K]."""
        t = np.asarray(T, dtype=float) - 298.15
        return t * (self.c25 + 0.5 * self.rise * t)

    def cp(self, T: Any) -> Any:
        """Heat capacity [J/kg/K] at `T` [K]."""
        return self.c25 + self.rise * (T - 298.15)

    def rho(self, T: Any) -> Any:
        """Density [kg/m3]."""
        return self.density + 0.0 * T

    def k(self, T: Any) -> Any:
        """Conductivity [W/m/K]."""
        return self.conductivity + 0.0 * T


SOLIDS: dict[str, Solid] = {s.name: s for s in (
    Solid(name="storage concrete", density=2400, c25=800, rise=0.45, conductivity=1.1, most=673.15,
          price="block.concrete", source="about 916 to 1000 J/kg/K at 350 to 400 degC, 1.0 to 1.2 W/m/K, 2250 to 2750 "
          "kg/m3, modules run at 300 to 400 degC: work on storage concrete, from memory"),
    Solid(name="dense concrete", density=2403, c25=837, conductivity=1.73, most=473.15, price="block.concrete",
          source="ASHRAE table of building materials (seen); cracks as it dries above 200 degC, common practice"),
    Solid(name="bauxite brick", density=2600, c25=916, rise=0.2075, conductivity=2.05, most=1373.15,
          price="block.brick", source="994, 1045, 1077 J/kg/K and 2.06, 2.03, 2.02 W/m/K at 400, 600, 800 degC: VDI "
          "Heat Atlas (through ht); density from memory"),
    Solid(name="silica brick", density=1800, c25=872, rise=0.115, conductivity=1.3, most=1273.15, price="block.brick",
          source="915, 944, 961 J/kg/K and 1.20, 1.36, 1.51 W/m/K at 400, 600, 800 degC: VDI Heat Atlas (through ht); "
          "density from memory"),
)}
"""Solids of blocks by name, each with its source."""

STEEL = Solid(name="steel", density=7850, c25=470, rise=0.35, conductivity=45.0, most=800.0,
              source="carbon steel, handbooks, from memory")


@dataclass(frozen=True, kw_only=True)
class BlockBed(FilledBed):
    """A block marched as a bed: the stream in the pipes exchanges with the solid around them.

    `solid` is a `Filling` of solid, steel and what is in the pipes; `area` is the block's own, across its pipes. The
    profile in the solid around a pipe is taken as formed (`around_pipe`), true after a fraction of an hour for
    spacings up to some 15 cm; errors along the pipe and in time are those of `Bed`.

    Examples
    --------
    >>> from components.thermocline_march import Filling
    >>> from loopnet.media import medium
    >>> oil, concrete = medium("diphenyl oil"), SOLIDS["storage concrete"]
    >>> block = BlockBed(solid=Filling(((concrete, 2270.0), (oil, 30.0))), gas=oil, length=50.0, area=4.0, pipes=500,
    ...                  bore=0.02, around=0.13, core=concrete.conductivity, span=(250.0, 660.0))
    >>> round(block.transfer_units(4.0), 1)
    5.2
    """

    pipes: float = param(unit="-", low=1e-6, high=1e9, source="user", doc="number of parallel pipes")
    bore: float = param(unit="m", low=0.003, high=0.5, source="user", doc="inner diameter of a pipe")
    around: float = param(unit="m*K/W", low=0.0, high=100.0, source="user",
                          doc="resistance outside the pipe, times length")
    core: float = param(unit="W/m/K", low=0.0, high=100.0, source="user",
                        doc="conductivity of the block along its pipes")

    def film(self, m: float) -> float:
        """Coefficient inside the pipes at flow `m` [kg/s] through all of them [W/(m2 K)]."""
        mu, k, _, prandtl = self._transport
        return nusselt_tube(4 * abs(m) / self.pipes / (pi * self.bore * mu), prandtl) * k / self.bore

    def transfer_units(self, m: float) -> float:
        """Transfer units of the whole block at flow `m` [kg/s] [-]."""
        if not m:
            return inf
        per_metre = 1 / (1 / (pi * self.bore * self.film(m)) + self.around)
        units = self.pipes * self.length * per_metre / (abs(m) * self._transport[2])
        return float(with_moving_content(units, self.share))

    def axial_conductivity(self, m: float) -> float:
        """Conductivity along the block [W/m/K], whatever flows."""
        return self.core

    @cached_property
    def _still_k(self) -> float:
        return self.core


def pipe_share(bore: float, wall: float, spacing: float) -> tuple[float, float, float]:
    """What a square cell of one pipe is made of.

    Parameters
    ----------
    bore, wall : float
        Inner diameter and wall of the pipe [m].
    spacing : float
        Distance of pipe axes [m].

    Returns
    -------
    solid, steel, inside : float
        Shares of the cell [-].

    Examples
    --------
    >>> [round(part, 3) for part in pipe_share(0.02, 0.002, 0.08)]
    [0.929, 0.022, 0.049]
    """
    inside = pi * bore**2 / 4 / spacing**2
    whole = pi * (bore + 2 * wall) ** 2 / 4 / spacing**2
    return 1 - whole, whole - inside, inside


def resistance_around(bore: float, wall: float, spacing: float, conductivity: float) -> float:
    """Resistance of the solid around each pipe of a square pattern: the cylinder of the same area.

    Parameters
    ----------
    bore, wall, spacing : float
        Inner diameter and wall of the pipe, distance of axes [m].
    conductivity : float
        Of the solid [W/m/K].

    Returns
    -------
    float
        Resistance times length [m K/W]; that of the steel is left out.

    Examples
    --------
    >>> round(resistance_around(0.02, 0.002, 0.08, 1.1), 3)
    0.108
    """
    return around_pipe(bore / 2 + wall, spacing / pi**0.5, conductivity)
