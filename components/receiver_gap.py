"""Heat across the gap between a tube and its glass: gas from free molecules to the continuum, and moving air."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from components.receiver_surface import ATMOSPHERE, GRAVITY, PRANDTL_AIR, air_properties, blend

__all__ = ["GASES", "Gas", "annular_convection", "annulus_conductance", "gap_conductance"]

Array = NDArray[np.float64]
Floats = float | Array

BOLTZMANN = 1.380649e-23
"""Exact [J/K]."""


class Gas(NamedTuple):
    """A gas in the gap: conductivity k (T/T0)^n [W/mK] with T0 = 300 K, molecule diameter [m], cp/cv [-]."""

    conductivity: float
    exponent: float
    molecule: float
    gamma: float

    def k(self, temperature: Floats) -> Array:
        """Conductivity [W/mK] at temperature [K]."""
        return self.conductivity * (np.maximum(np.asarray(temperature, float), 1.0) / 300.0) ** self.exponent


# Conductivity: power laws through CoolProp at 300 and 700 K (computed, within 3 % between 280 and 800 K); molecules:
# kinetic diameters, memory.
GASES = {"air": Gas(0.0264, 0.80, 3.7e-10, 1.40), "hydrogen": Gas(0.187, 0.70, 2.75e-10, 1.41)}



def annular_convection(hot: Floats, cold: Floats, inner: float, outer: float, pressure: float = ATMOSPHERE) -> Array:
    """Free convection of air in a horizontal annulus, per metre, after Raithby & Hollands.

    2.425 k (Pr Ra / (0.861 + Pr))^(1/4) / (1 + (d/D)^(3/5))^(5/4), Ra on the inner diameter.

    Parameters
    ----------
    hot, cold : float or array, shape (points,)
        Temperatures of the two walls [K].
    inner, outer : float
        Diameters [m].
    pressure : float
        Of the air [Pa].

    Returns
    -------
    array, shape (points,)
        Conductance [W/mK]; in thin air less than conduction, see `gap_conductance`.

    References
    ----------
    Raithby & Hollands, Adv. Heat Transfer 11 (1975) 265, as in Incropera eq. 9.58 (memory).

    Examples
    --------
    >>> round(float(annular_convection(673.15, 400.0, 0.07, 0.109)), 3)
    1.179
    """
    one, two = np.asarray(hot, float), np.asarray(cold, float)
    middle = 0.5 * (one + two)
    k, nu = air_properties(middle)
    nu = nu * ATMOSPHERE / pressure
    rayleigh = GRAVITY * np.abs(one - two) * inner**3 * PRANDTL_AIR / (np.maximum(middle, 1.0) * nu**2)
    return 2.425 * k * (PRANDTL_AIR * rayleigh / (0.861 + PRANDTL_AIR)) ** 0.25 / (1 + (inner / outer) ** 0.6) ** 1.25


def annulus_conductance(temperature: Floats, inner: float, outer: float, gas: Gas, pressure: float,
                        accommodation: float = 1.0) -> Array:
    """Conduction through gas of any thinness in an annulus, per metre, from free molecules to the continuum.

    2 pi k / (ln(D/d) + 2 b lambda (1/d + 1/D)), b = (2 - a)(9 g - 5) / (2 a (g + 1)), lambda = kB T / (sqrt2 pi s^2 p).

    Parameters
    ----------
    temperature : float or array, shape (points,)
        Of the gas [K].
    inner, outer : float
        Diameters of the gap [m].
    gas : Gas
        What is in it.
    pressure : float
        Of the gas [Pa].
    accommodation : float
        Accommodation coefficient a [-].

    Returns
    -------
    array, shape (points,)
        Conductance [W/mK].

    References
    ----------
    Ratzel, Hickox & Gartling, J. Heat Transfer 101 (1979) 108 (memory).

    Examples
    --------
    Hydrogen of 100 Pa conducts like a continuum, good vacuum next to nothing.

    >>> [round(float(annulus_conductance(500.0, 0.07, 0.109, GASES["hydrogen"], p)), 4) for p in (100.0, 0.013)]
    [3.6663, 0.0141]
    """
    t = np.asarray(temperature, float)
    b = (2.0 - accommodation) * (9.0 * gas.gamma - 5.0) / (2.0 * accommodation * (gas.gamma + 1.0))
    path = BOLTZMANN * np.maximum(t, 1.0) / (np.sqrt(2.0) * np.pi * gas.molecule**2 * pressure)
    return 2.0 * np.pi * gas.k(t) / (np.log(outer / inner) + 2.0 * b * path * (1.0 / inner + 1.0 / outer))


def gap_conductance(hot: Floats, cold: Floats, inner: float, outer: float, gas: str, pressure: float) -> Array:
    """Conductance of a gas in an annulus, per metre: conduction or, for air, convection, whichever is larger.

    Parameters
    ----------
    hot, cold : float or array, shape (points,)
        Temperatures of the two walls [K].
    inner, outer : float
        Diameters of the gap [m].
    gas : str
        A name in `GASES`; hydrogen is only met so thin that it does not convect.
    pressure : float
        Of the gas [Pa].

    Returns
    -------
    array, shape (points,)
        Conductance [W/mK].

    Examples
    --------
    >>> [round(float(gap_conductance(673.15, 400.0, 0.07, 0.109, "air", p)), 4) for p in (0.013, 101325.0)]
    [0.0038, 1.1794]
    """
    still = annulus_conductance(0.5 * (np.asarray(hot, float) + np.asarray(cold, float)), inner, outer, GASES[gas],
                                pressure)
    return still if gas != "air" else blend(still, annular_convection(hot, cold, inner, outer, pressure), 8.0)
