"""Pipes as they are built: steel and its wall, its weight, and the insulation around it."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from loopnet.params import Parameters, param
from loopnet.units import show

__all__ = ["CalciumSilicate", "Insulation", "Steel", "insulation_volume", "steel_mass", "wall_thickness"]

Array = NDArray[np.float64]
Floats = float | Array

ZERO_CELSIUS = 273.15


@dataclass(frozen=True, kw_only=True)
class Insulation(Parameters):
    """Mineral wool under metal cladding: k = k0 + k1 t + k2 t^2 at the temperature t in degC.

    The defaults pass through the usual class of pipe sections at mean temperatures of 50 to 300 degC (memory, 8 %).
    Above a mean of 300 degC (a pipe of some 580 degC) they extrapolate; `validity` says where.
    Wool soaked with hot oil can ignite by itself: closed-cell materials near flanges, per local codes.

    >>> wool = Insulation()
    >>> [round(float(wool.conductivity(t + 273.15)), 3) for t in (50, 150, 300)]
    [0.04, 0.054, 0.09]
    """

    thickness: Any = param(0.10, unit="m", low=0.001, high=1.5, source="common practice, no source", doc="of the layer")
    k0: Any = param(0.0363, unit="W/m/K", low=1e-3, high=5.0, source="pipe-section class values, memory",
                    doc="conductivity at 0 degC")
    k1: Any = param(5.52e-5, unit="W/m/K**2", low=-0.01, high=0.01, source="pipe-section class values, memory",
                    doc="its rise with temperature in degC")
    k2: Any = param(4.18e-7, unit="W/m/K**3", low=-1e-4, high=1e-4, source="pipe-section class values, memory",
                    doc="its rise with the square of temperature in degC")
    emissivity: Any = param(0.25, unit="-", low=0.0, high=1.0, source="weathered aluminium cladding, memory",
                            doc="of the cladding, for radiation to the sky")
    bridges: Any = param(1.10, unit="-", low=1.0, high=3.0, source="assumption",
                         doc="supports, flanges and valves: loss over that of the plain pipe")

    validity = (273.15, 573.15)
    """Mean temperature of the insulation [K] within which the defaults hold."""

    price: ClassVar[str] = "insulation.mineral_wool"
    """Price key, per volume."""

    def conductivity(self, temperature: Floats, other: Floats | None = None) -> Array:
        """Conductivity [W/mK] at a temperature [K], or its exact mean between two temperatures [K]."""
        a = np.asarray(temperature) - ZERO_CELSIUS
        b = a if other is None else np.asarray(other) - ZERO_CELSIUS
        return self.k0 + self.k1 * (a + b) / 2.0 + self.k2 * (a**2 + a * b + b**2) / 3.0

    def findings(self, temperature: Floats, ambient: Floats, where: str) -> list[str]:
        """Warnings at medium and ambient temperatures [K] beyond which the conductivity is an extrapolation."""
        cold = np.asarray(ambient) + 0.05 * (np.asarray(temperature) - np.asarray(ambient))  # its surface, nearly
        mean = 0.5 * (np.asarray(temperature) + cold)
        worst = float(np.max(mean)) if np.max(mean) > self.validity[1] else float(np.min(mean))
        if self.validity[0] <= worst <= self.validity[1]:
            return []
        low, high = (show(limit, "K", 4) for limit in self.validity)
        return [f"{where}: insulation at a mean of {show(worst, 'K', 4)}, its conductivity holds from {low} to {high}: "
                "extrapolated"]

    def mean_to(self, temperature: Array) -> tuple[Array, Array, float]:
        """Coefficients a, b, c of the mean conductivity a + b T + c T^2 [W/mK] between a temperature and T [K]."""
        c = self.k2 / 3.0
        t = temperature - 3.0 * ZERO_CELSIUS
        b = self.k1 / 2.0 + c * t
        a = self.k0 - self.k1 * ZERO_CELSIUS / 2.0 + self.k1 / 2.0 * temperature
        return a + c * (temperature * t + 3.0 * ZERO_CELSIUS**2) - self.k1 * ZERO_CELSIUS / 2.0, b, c


@dataclass(frozen=True, kw_only=True)
class CalciumSilicate(Insulation):
    """Calcium silicate under metal cladding, for pipes hotter than wool stands: means of 100 to 600 degC.

    >>> [round(float(CalciumSilicate().conductivity(t + 273.15)), 3) for t in (100, 300, 500)]
    [0.056, 0.072, 0.1]
    """

    k0: Any = param(0.0520, unit="W/m/K", low=1e-3, high=5.0, source="class values, memory",
                    doc="conductivity at 0 degC")
    k1: Any = param(2.5e-5, unit="W/m/K**2", low=-0.01, high=0.01, source="class values, memory",
                    doc="its rise with temperature in degC")
    k2: Any = param(1.4e-7, unit="W/m/K**3", low=-1e-4, high=1e-4, source="class values, memory",
                    doc="its rise with the square of temperature in degC")

    validity = (273.15, 873.15)
    price: ClassVar[str] = "insulation.calcium_silicate"


@dataclass(frozen=True, kw_only=True)
class Steel(Parameters):
    """Pipe steel for sizing. The wall of a real pipe follows the local pressure code and a licensed engineer.

    >>> Steel().density
    7850.0
    """

    allowable: Any = param(1.0e8, unit="Pa", low=1e6, high=1e9, source="common practice, no source",
                           doc="allowable stress hot; about 110 MPa carbon steel at 350 degC, 60 austenitic at 600")
    joint: Any = param(1.0, unit="-", low=0.5, high=1.0, source="seamless: common practice, no source",
                       doc="strength of a welded seam over that of the wall")
    allowance: Any = param(1.5e-3, unit="m", low=0.0, high=0.02, source="common practice, no source",
                           doc="corrosion and mill tolerance")
    minimum: Any = param(3.0e-3, unit="m", low=0.0, high=0.05, source="common practice, no source",
                         doc="least wall that can be welded and handled")
    density: Any = param(7850.0, unit="kg/m**3", low=1000.0, high=20000.0, source="handbook value, memory",
                         doc="of the steel")
    cp: Any = param(550.0, unit="J/kg/K", low=100.0, high=2000.0, source="steel near 300 degC, memory",
                    doc="heat capacity of the steel")


def wall_thickness(pressure: Floats, diameter: Floats, steel: Steel) -> Array:
    """Wall of a pipe from the hoop stress of a thin shell, p D / (2 S E) + allowance, at least the minimum.

    Parameters
    ----------
    pressure : float or array, shape (points,)
        Design gauge pressure [Pa].
    diameter : float or array, shape (points,)
        Outer diameter, or inner with little error [m].
    steel : Steel
        Allowable stress, joint factor, allowance, minimum.

    Returns
    -------
    array, shape (points,)
        Thickness [m].

    Notes
    -----
    For sizing and cost; valid for walls below a tenth of the diameter. The local pressure code decides.

    Examples
    --------
    >>> round(float(wall_thickness(4e6, 0.3, Steel())) * 1e3, 2)
    7.5
    """
    hoop = np.asarray(pressure) * np.asarray(diameter) / (2.0 * steel.allowable * steel.joint)
    return np.maximum(hoop + steel.allowance, steel.minimum)


def steel_mass(inner: Floats, wall: Floats, steel: Steel) -> Array:
    """Mass of steel per metre, rho pi (D + t) t.

    Parameters
    ----------
    inner, wall : float or array, shape (points,)
        Inner diameter and wall thickness [m].
    steel : Steel
        Its density is used.

    Returns
    -------
    array, shape (points,)
        Mass per length [kg/m].

    Examples
    --------
    Pipe of 10 inch schedule 40 (273.05 x 9.27 mm): 60.3 kg/m in the tables (memory).

    >>> round(float(steel_mass(0.27305 - 2 * 9.27e-3, 9.27e-3, Steel())), 1)
    60.3
    """
    return steel.density * pi * (np.asarray(inner) + np.asarray(wall)) * np.asarray(wall)


def insulation_volume(diameter: Floats, insulation: Insulation) -> Array:
    """Volume of insulation per metre, pi (D + s) s.

    Parameters
    ----------
    diameter : float or array, shape (points,)
        Outer diameter of the steel [m].
    insulation : Insulation
        Its thickness is used.

    Returns
    -------
    array, shape (points,)
        Volume per length [m3/m].

    Examples
    --------
    >>> round(float(insulation_volume(0.273, Insulation(thickness=0.1))), 4)
    0.1172
    """
    return pi * (np.asarray(diameter) + insulation.thickness) * insulation.thickness
