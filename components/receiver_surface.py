"""How hot surfaces lose heat: radiation between grey surfaces and from openings, convection free, forced and mixed.
Correlations of `ht` where it has them; those of towers and cavities by their reports."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "air_properties", "blend", "cavity_convection", "cavity_emissivity", "cylinder_convection", "fourth_powers",
    "grey_exchange", "opening_wind", "salt_cylinder_convection",
]

Array = NDArray[np.float64]
Floats = float | Array

STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018 [W/m2K4]."""
GRAVITY = 9.80665
PRANDTL_AIR = 0.70
"""Of air from 250 to 1200 K, 0.68 to 0.73 [-] (Incropera table A.4, memory)."""
ATMOSPHERE = 101325.0
GAS_CONSTANT_AIR = 287.05


def air_properties(temperature: Floats) -> tuple[Array, Array]:
    """Conductivity and kinematic viscosity of air at 1 atm; thinner air of high sites convects less than this.

    Sutherland's formulas, k = 0.0241 (T/T0)^1.5 (T0 + 194) / (T + 194), mu = 1.716e-5 (T/T0)^1.5 (T0 + 110.4) /
    (T + 110.4), with T0 = 273.15 K: within 4.5 % of CoolProp from 230 to
    1000 K, 5.5 % at 1200 K.

    Parameters
    ----------
    temperature : float or array, any shape
        Of the air [K].

    Returns
    -------
    tuple of two arrays
        Conductivity [W/mK] and kinematic viscosity [m2/s].

    References
    ----------
    White, Viscous Fluid Flow, 3rd ed., tables 1-2 and 1-3 (memory).

    Examples
    --------
    >>> k, nu = air_properties(300.0)  # Incropera table A.4 (memory): 0.0263 and 15.89e-6
    >>> round(float(k), 4), round(float(nu) * 1e6, 1)
    (0.0262, 15.7)
    """
    t = np.maximum(np.asarray(temperature, float), 50.0)  # Newton may pass through anything
    root = (t / 273.15) ** 1.5
    mu = 1.716e-5 * root * (273.15 + 110.4) / (t + 110.4)
    return 0.0241 * root * (273.15 + 194.0) / (t + 194.0), mu * GAS_CONSTANT_AIR * t / ATMOSPHERE


def fourth_powers(hot: Floats, cold: Floats) -> Array:
    """Black-body radiation of one surface over the other, sigma (T1^4 - T2^4).

    Parameters
    ----------
    hot, cold : float or array, shape (points,)
        Temperatures [K].

    Returns
    -------
    array, shape (points,)
        Flux [W/m2], negative if hot is the colder one.

    Examples
    --------
    >>> round(float(fourth_powers(973.15, 0.0)) / 1e3, 2)
    50.85
    """
    one, two = np.square(np.asarray(hot, float)), np.square(np.asarray(cold, float))
    return STEFAN_BOLTZMANN * (one - two) * (one + two)


def grey_exchange(inner: Floats, outer: Floats, ratio: float = 1.0) -> Array:
    """Factor of radiation between a surface and a larger one around it, 1 / (1/e1 + (1/e2 - 1) A1/A2).

    Parameters
    ----------
    inner, outer : float or array, shape (points,)
        Emissivity of the enclosed and of the enclosing surface [-].
    ratio : float
        Area of the enclosed over the enclosing surface [-]; 1 for parallel plates.

    Returns
    -------
    array, shape (points,)
        Factor, per area of the enclosed surface [-].

    Examples
    --------
    >>> round(float(grey_exchange(0.1, 0.89, 0.07 / 0.115)), 5)
    0.09925
    """
    return 1.0 / (1.0 / np.asarray(inner, float) + (1.0 / np.asarray(outer, float) - 1.0) * ratio)


def cavity_emissivity(emissivity: Floats, inside: float) -> Array:
    """Effective emissivity of the opening of a grey cavity of one temperature, e / (e + (1 - e) / inside).

    The same formula gives its absorptance from that of its walls.

    Parameters
    ----------
    emissivity : float or array, shape (points,)
        Of the walls [-].
    inside : float
        Area of the walls over that of the opening, at least 1 [-].

    Returns
    -------
    array, shape (points,)
        Effective emissivity [-].

    Examples
    --------
    >>> [round(float(cavity_emissivity(0.8, area)), 4) for area in (1.0, 4.0)]
    [0.8, 0.9412]
    """
    e = np.asarray(emissivity, float)
    return e / (e + (1.0 - e) / inside)


def blend(first: Floats, second: Floats, power: float = 4.0) -> Array:
    """One of two mechanisms that help each other, (a^n + b^n)^(1/n), near the larger one and smooth.

    Parameters
    ----------
    first, second : float or array, shape (points,)
        Coefficients of one unit, at least 0 [W/m2K].
    power : float
        The exponent n [-]; 4 for a cylinder across wind (Incropera ch. 9.9, memory), 3.2 for the salt cylinder.

    Returns
    -------
    array, shape (points,)
        Blended coefficient [W/m2K].

    Examples
    --------
    >>> round(float(blend(10.0, 10.0)), 3), float(blend(10.0, 0.0))
    (11.892, 10.0)
    """
    a, b = np.asarray(first, float), np.asarray(second, float)
    most = np.maximum(np.maximum(a, b), 1e-30)
    return most * ((a / most) ** power + (b / most) ** power) ** (1.0 / power)


def cylinder_convection(surface: Floats, ambient: Floats, diameter: float, wind: Floats) -> Array:
    """Convection of a horizontal cylinder in air: Churchill & Chu free, Churchill & Bernstein across wind, blended.

    Parameters
    ----------
    surface, ambient : float or array, shape (points,)
        Temperatures [K]; properties of air at their mean, at 1 atm.
    diameter : float
        Outer diameter [m].
    wind : float or array, shape (points,)
        Wind across the cylinder [m/s].

    Returns
    -------
    array, shape (points,)
        Coefficient [W/m2K].

    References
    ----------
    Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; Churchill & Bernstein, J. Heat Transfer 99 (1977) 300.

    Examples
    --------
    Incropera example 9.4 (memory): pipe of 0.1 m at 165 degC in air at 23 degC, 7.3 W/m2K.

    >>> round(float(cylinder_convection(438.15, 296.15, 0.1, 0.0)), 1)
    7.3
    """
    from ht.conv_external import Nu_cylinder_Churchill_Bernstein
    from ht.conv_free_immersed import Nu_horizontal_cylinder_Churchill_Chu

    hot, cold = np.asarray(surface, float), np.asarray(ambient, float)
    middle = 0.5 * (hot + cold)
    k, nu = air_properties(middle)
    grashof = GRAVITY * np.abs(hot - cold) * diameter**3 / (np.maximum(middle, 1.0) * nu**2)
    free = Nu_horizontal_cylinder_Churchill_Chu(PRANDTL_AIR, grashof)
    forced = Nu_cylinder_Churchill_Bernstein(np.abs(np.asarray(wind, float)) * diameter / nu, PRANDTL_AIR)
    return k / diameter * blend(free, forced)


def cavity_convection(surface: Floats, ambient: Floats, opening: float, depth: float, down: float) -> Array:
    """Free convection from the inside of a cavity, per area of its walls.

    Nu = 0.088 Gr^(1/3) (Tw/Ta)^0.18 cos(down)^2.47 (d/D)^s, s = 1.12 - 0.982 d/D, properties at ambient.

    Parameters
    ----------
    surface, ambient : float or array, shape (points,)
        Temperature of the walls and of the air [K].
    opening, depth : float
        Size of the opening d and of the inside D [m], d at most D.
    down : float
        How far the opening looks below the horizon [rad]; at pi/2 hot air stays.

    Returns
    -------
    array, shape (points,)
        Coefficient [W/m2K].

    References
    ----------
    Stine & McDonald, Cavity receiver convective heat loss, ISES (1989), memory; at down = 0, d = D that of Siebers &
    Kraabel, SAND84-8717 (1984), 0.81 (Tw - Ta)^0.426 W/m2K in short (memory).

    Examples
    --------
    >>> round(float(cavity_convection(973.15, 293.15, 1.0, 1.0, 0.0)), 1), round(0.81 * 680.0**0.426, 1)
    (13.0, 13.0)
    """
    hot, cold = np.asarray(surface, float), np.asarray(ambient, float)
    k, nu = air_properties(cold)
    per_cube = GRAVITY * np.abs(hot - cold) / (np.maximum(cold, 1.0) * nu**2)
    s = 1.12 - 0.982 * opening / depth
    shape = max(np.cos(down), 0.0) ** 2.47 * (opening / depth) ** s
    return 0.088 * k * np.cbrt(per_cube) * (np.maximum(hot, 1.0) / np.maximum(cold, 1.0)) ** 0.18 * shape


def opening_wind(surface: Floats, ambient: Floats, size: float, wind: Floats) -> Array:
    """Forced convection at an opening as over a flat plate of its size, Nu = 0.0287 Re^0.8 Pr^(1/3).

    Parameters
    ----------
    surface, ambient : float or array, shape (points,)
        Temperature inside and of the wind [K]; properties at the mean.
    size : float
        Of the opening along the wind [m].
    wind : float or array, shape (points,)
        Wind speed [m/s].

    Returns
    -------
    array, shape (points,)
        Coefficient per area of the opening [W/m2K].

    References
    ----------
    Siebers & Kraabel, SAND84-8717 (1984) (memory).

    Examples
    --------
    >>> round(float(opening_wind(973.15, 293.15, 5.0, 5.0)), 1)
    8.1
    """
    k, nu = air_properties(0.5 * (np.asarray(surface, float) + np.asarray(ambient, float)))
    reynolds = np.abs(np.asarray(wind, float)) * size / nu
    return 0.0287 * k / size * reynolds**0.8 * PRANDTL_AIR ** (1.0 / 3.0)


_ROUGH = ((75e-5, 7e5, 2.57e-3, 0.98), (300e-5, 1.8e5, 0.0135, 0.89), (900e-5, 1e5, 0.0455, 0.81))
"""Relative roughness, Reynolds number from which it acts, factor and exponent of Nu."""


def salt_cylinder_convection(surface: Floats, ambient: Floats, diameter: float, tube: float, wind: Floats) -> Array:
    """Mixed convection of a tall cylinder of tubes, free and forced blended with the power 3.2.

    Free: Nu = 0.098 Gr^(1/3) (Tw/Ta)^-0.14, times pi/2 for the round tubes. Forced: smooth cylinder, Nu = 0.3 + 0.488
    Re^0.5 (1 + (Re/282000)^0.625)^0.8, which past a Reynolds number set by roughness turns to 0.0135 Re^0.89 and the
    like, and at last to 0.0455 Re^0.81; linear in roughness between the curves, and the jumps of the source spread over
    a fifth of their Reynolds number.

    Parameters
    ----------
    surface, ambient : float or array, shape (points,)
        Temperature of the tubes and of the air [K].
    diameter, tube : float
        Diameter of the cylinder and of its tubes [m]; the roughness is the tubes' radius.
    wind : float or array, shape (points,)
        Wind speed [m/s].

    Returns
    -------
    array, shape (points,)
        Coefficient per area of the cylinder's mantle [W/m2K].

    Notes
    -----
    Roughness beyond 900e-5 of the diameter is taken as 900e-5.

    References
    ----------
    Siebers & Kraabel, Estimating convective energy losses from solar central receivers, SAND84-8717 (1984) (memory).

    Examples
    --------
    >>> [round(float(salt_cylinder_convection(800.0, 293.15, 5.1, 0.021, v)), 1) for v in (0.0, 3.0, 8.0)]
    [14.5, 15.0, 21.9]
    """
    hot, cold = np.asarray(surface, float), np.asarray(ambient, float)
    k_cold, nu_cold = air_properties(cold)
    warm = np.maximum(hot, 1.0) / np.maximum(cold, 1.0)
    still = 0.098 * k_cold * np.cbrt(GRAVITY * np.abs(hot - cold) / (np.maximum(cold, 1.0) * nu_cold**2)) * warm**-0.14
    k, nu = air_properties(0.5 * (hot + cold))
    re = np.abs(np.asarray(wind, float)) * diameter / nu
    smooth = 0.3 + 0.488 * np.sqrt(re) * (1.0 + (re / 282000.0) ** 0.625) ** 0.8
    last, log_re = 0.0455 * re**0.81, np.log(np.maximum(re, 1.0))
    curves = [smooth]
    for _, start, factor, exponent in _ROUGH:
        begun = 0.5 * (1.0 + np.tanh((log_re - np.log(start)) / 0.2))
        curves.append(smooth + begun * (np.minimum(factor * re**exponent, last) - smooth))
    nodes = [0.0, *(rough for rough, *_ in _ROUGH)]
    shares = [float(np.interp(0.5 * tube / diameter, nodes, row)) for row in np.eye(len(nodes))]
    forced = sum(share * curve for share, curve in zip(shares, curves, strict=True))
    return blend(still * np.pi / 2.0, forced * k / diameter, 3.2)
