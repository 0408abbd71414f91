"""Heat that pipes and headers lose through their insulation: conductance, outlet enthalpy and cooling,
for a pipe of one diameter and for a header whose diameter follows its flow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.piping import Insulation, Steel, steel_mass
from components.transfer import decay_mean

__all__ = [
    "conductance_per_metre", "cooling_time", "header_conductance", "header_decay", "header_lost", "outer_coefficient",
    "outlet_enthalpy", "pipe_conductances", "resistance_of_layers",
]

Array = NDArray[np.float64]
Floats = float | Array

STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018 [W/m2K4]."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2


def outer_coefficient(surface: Floats, ambient: Floats, wind: Floats = 0.0, emissivity: Floats = 0.25) -> Array:
    """Heat transfer coefficient outside: wind, 2.8 + 3.0 v, and radiation, eps sigma (Ts^2 + Ta^2)(Ts + Ta).

    Parameters
    ----------
    surface, ambient : float or array, shape (points,)
        Temperature of surface and surroundings [K].
    wind : float or array, shape (points,)
        Wind speed [m/s], to about 7.
    emissivity : float or array, shape (points,)
        Of the surface [-].

    Returns
    -------
    array, shape (points,)
        Coefficient [W/m2K].

    References
    ----------
    Watmuff, Charters, Proctor, COMPLES 2 (1977) 56, as in Duffie & Beckman eq. 3.15.1 (memory).

    Examples
    --------
    >>> round(float(outer_coefficient(310.0, 300.0, 2.0, 1.0)), 2)
    15.24
    """
    hot, cold = np.asarray(surface), np.asarray(ambient)
    return 2.8 + 3.0 * np.asarray(wind) + np.asarray(emissivity) * STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold)


def resistance_of_layers(radii: Sequence[float], conductivities: Sequence[float], inner: float | None = None,
                         outer: float | None = None) -> float:
    """Thermal resistance of a pipe and its layers times its length, sum of ln(r2/r1) / (2 pi k) and 1 / (2 pi r h).

    Parameters
    ----------
    radii : sequence of float
        Radii from the inside out, one more than there are layers [m].
    conductivities : sequence of float
        Conductivity of each layer [W/mK].
    inner, outer : float, optional
        Film coefficients at the first and the last radius [W/m2K]; none if the temperature is that of the wall.

    Returns
    -------
    float
        Resistance [mK/W].

    Raises
    ------
    ValueError
        If there is not one radius more than there are layers.

    Examples
    --------
    Kreith et al., 7th ed., example 2.3 (inputs seen): 170 K drive 184 W/m.

    >>> round(170 / resistance_of_layers([0.015, 0.020], [0.5], inner=300.0, outer=10.0))
    184
    """
    layers = zip(radii[:-1], radii[1:], conductivities, strict=True)
    through = sum(log(r2 / r1) / k for r1, r2, k in layers)
    films = sum(1.0 / (r * h) for r, h in ((radii[0], inner), (radii[-1], outer)) if h is not None)
    return (through + films) / (2.0 * pi)


def conductance_per_metre(temperature: Floats, ambient: Floats, diameter: Floats, insulation: Insulation,
                          wind: Floats = 0.0) -> Array:
    """Heat loss per metre and kelvin of an insulated pipe; the loss is this times (T - Ta).

    1/U' = ln(r2/r1) / (2 pi k) + 1 / (2 pi r2 h); the inner film and the steel are neglected (below 1 %).

    Parameters
    ----------
    temperature, ambient : float or array, shape (points,)
        Of the medium and the surroundings [K].
    diameter : float or array, shape (points,)
        Outer diameter of the steel [m].
    insulation : Insulation
        Thickness, conductivity, cladding, allowance for supports.
    wind : float or array, shape (points,)
        Wind speed [m/s].

    Returns
    -------
    array, shape (points,)
        Conductance [W/mK].

    Notes
    -----
    Conductivity and outer coefficient depend on the surface temperature, found by four substitutions (0.1 mK).

    Examples
    --------
    >>> round(float(conductance_per_metre(666.15, 298.15, 0.273, Insulation(bridges=1.0))), 3)
    0.759
    """
    return pipe_conductances(temperature, ambient, [diameter], insulation, wind, [False])[0]


def pipe_conductances(temperature: Floats, ambient: Floats, diameters: Sequence[Floats], insulation: Insulation,
                      wind: Floats, headers: Sequence[bool]) -> list[Array]:
    """Mean heat loss per metre and kelvin of several pipes and headers in the same air with the same insulation.

    Parameters
    ----------
    temperature, ambient : float or array, shape (points,)
        Of the medium and the surroundings [K].
    diameters : sequence of float or array, each of shape (points,)
        Outer diameter of the steel of each, at the large end of a header [m].
    insulation : Insulation
        The same for all.
    wind : float or array, shape (points,)
        Wind speed [m/s].
    headers : sequence of bool
        Which are headers: five Gauss points along D sqrt(x/L).

    Returns
    -------
    list of arrays, each of shape (points,)
        Conductance per metre [W/mK].

    Examples
    --------
    >>> pipe, header = pipe_conductances(666.15, 298.15, [0.273, 0.273], Insulation(), 0.0, [False, True])
    >>> bool(0.6 < header / pipe < 0.9)
    True
    """
    through = _film_and_wool(np.asarray(temperature, float), np.asarray(ambient, float), insulation, wind)

    def each(diameter: Any) -> Array:
        r1 = np.asarray(diameter) / 2.0
        r2 = r1 + insulation.thickness
        return np.asarray(2.0 * pi * insulation.bridges * r2 * through(r2 * np.log(r2 / r1)))

    def mean(diameter: Any) -> Array:
        nodes = zip(_NODES, _WEIGHTS, strict=True)
        return np.asarray(sum(2.0 * weight * u * each(np.asarray(diameter) * u) for u, weight in nodes))

    return [mean(d) if header else each(d) for d, header in zip(diameters, headers, strict=True)]


def _film_and_wool(hot: Array, cold: Array, insulation: Insulation, wind: Floats) -> Callable[[Floats], Array]:
    """Conductance per outer area of wool of equivalent thickness r2 ln(r2/r1) and the film on it: a function of it.

    Both are polynomials of the surface temperature, whose coefficients are the same for all diameters.
    """
    k0, k1, k2 = insulation.mean_to(hot)
    gain, start, drop = insulation.emissivity * STEFAN_BOLTZMANN, cold + 0.05 * (hot - cold), hot - cold
    square = cold * cold
    still = 2.8 + 3.0 * np.asarray(wind) + gain * (square * cold)

    def through(equivalent: Floats) -> Array:
        surface = start
        for last in (False, False, False, True):
            k = k0 + surface * (k1 + k2 * surface)
            h = still + gain * surface * (surface * (surface + cold) + square)
            if last:
                break
            surface = cold + drop * k / (k + equivalent * h)
        return k * h / (k + equivalent * h)

    return through


def header_conductance(temperature: Floats, ambient: Floats, diameter: Floats, length: Floats, insulation: Insulation,
                       wind: Floats = 0.0) -> Array:
    """Heat loss per kelvin of a whole header whose outer diameter falls as D sqrt(x/L), mean diameter 2/3 D.

    Parameters
    ----------
    temperature, ambient : float or array, shape (points,)
        Of the medium and the surroundings [K].
    diameter, length : float or array, shape (points,)
        Outer diameter of the steel at the large end, and length [m].
    insulation : Insulation
        The same thickness all along.
    wind : float or array, shape (points,)
        Wind speed [m/s].

    Returns
    -------
    array, shape (points,)
        Conductance [W/K].

    Examples
    --------
    >>> whole = 100.0 * conductance_per_metre(666.15, 298.15, 0.273, Insulation())
    >>> bool(0.6 < header_conductance(666.15, 298.15, 0.273, 100.0, Insulation()) / whole < 0.9)
    True
    """
    return np.asarray(length) * pipe_conductances(temperature, ambient, [diameter], insulation, wind, [True])[0]


def header_decay(ntu: Floats) -> Array:
    """Temperature above ambient left after a header that gives off (or collects) its flow along its length.

    2 (a - 1 + exp(-a)) / a^2, a = 3 ntu, from m(x) cp dT/dx = -U'(T - Ta) with m ~ x and U' ~ sqrt(x); the mean of
    what is given off to the branches and the mixture of what is collected from them are the same.

    Parameters
    ----------
    ntu : float or array, shape (points,)
        Conductance of the header over m cp at the large end [-].

    Returns
    -------
    array, shape (points,)
        (T_out - Ta) / (T_in - Ta) [-].

    Examples
    --------
    >>> header_decay(np.array([0.0, 0.01, 0.1])).round(5)
    array([1.     , 0.99007, 0.90707])
    """
    return 1.0 - header_lost(ntu)


def header_lost(ntu: Floats) -> Array:
    """1 - `header_decay`, without cancellation at small transfer units.

    Parameters
    ----------
    ntu : float or array, shape (points,)
        Conductance of the header over m cp at the large end [-].

    Returns
    -------
    array, shape (points,)
        (T_in - T_out) / (T_in - Ta) [-].

    Examples
    --------
    >>> header_lost(np.array([0.0, 1e-8])).round(12)
    array([0.e+00, 1.e-08])
    """
    a = 3.0 * np.asarray(ntu, float)
    small = a < 1e-2
    safe = np.where(small, 1.0, a)
    return np.where(small, a / 3.0 * (1.0 - a / 4.0 * (1.0 - a / 5.0 * (1.0 - a / 6.0))),
                    1.0 - 2.0 * (1.0 - decay_mean(safe)) / safe)


def outlet_enthalpy(h_in: Floats, t_in: Floats, ambient: Floats, conductance: Floats, flow: Floats, cp: Floats,
                    header: bool = False) -> Array:
    """Enthalpy after a pipe that loses heat, h_in - cp (T_in - Ta) (1 - exp(-G / (m cp))).

    Parameters
    ----------
    h_in : float or array, shape (points,)
        Enthalpy at the inlet [J/kg].
    t_in, ambient : float or array, shape (points,)
        Temperature at the inlet and of the surroundings [K].
    conductance : float or array, shape (points,)
        Of the whole pipe [W/K].
    flow : float or array, shape (points,)
        Mass flow, at least 0, at the large end if a header [kg/s].
    cp : float or array, shape (points,)
        Heat capacity near the inlet temperature [J/kgK].
    header : bool
        Whether the flow is spread along the pipe: `header_decay` in place of the exponential.

    Returns
    -------
    array, shape (points,)
        Enthalpy at the outlet [J/kg]; at no flow that of ambient temperature.

    Examples
    --------
    >>> round(float(outlet_enthalpy(8e5, 663.15, 298.15, 800.0, 100.0, 2600.0)), 1)
    797084.5
    """
    capacity = np.asarray(cp, float)
    ntu = np.asarray(conductance) / np.maximum(np.asarray(flow) * capacity, 1e-9)
    lost = header_lost(ntu) if header else -np.expm1(-ntu)
    return np.asarray(h_in) - capacity * (np.asarray(t_in) - np.asarray(ambient)) * lost


def cooling_time(conductance: Floats, inner: Floats, wall: Floats, density: Floats, cp: Floats, steel: Steel) -> Array:
    """Time constant of a filled pipe that stands: heat capacity of medium and steel over the conductance.

    Parameters
    ----------
    conductance : float or array, shape (points,)
        Of the pipe per metre [W/mK].
    inner, wall : float or array, shape (points,)
        Inner diameter and wall thickness [m].
    density, cp : float or array, shape (points,)
        Of the medium [kg/m3], [J/kgK].
    steel : Steel
        Its density and heat capacity are used.

    Returns
    -------
    array, shape (points,)
        Time in which the excess over ambient falls to 1/e [s].

    Examples
    --------
    >>> round(float(cooling_time(0.65, 0.255, 9e-3, 750.0, 2500.0, Steel())) / 3600)
    55
    """
    medium = np.asarray(density) * np.asarray(cp) * pi / 4.0 * np.asarray(inner) ** 2
    return (medium + steel_mass(inner, wall, steel) * steel.cp) / np.asarray(conductance)
