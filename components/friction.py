"""Friction in pipes and headers: Colebrook from rest to turbulence, the drop of a pipe of one diameter and of a header
whose diameter follows its flow, and the diameter that a velocity asks for."""

from __future__ import annotations

from math import log, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["ROUGHNESS", "diameter_for_velocity", "friction_factor", "friction_times_reynolds", "header_drop",
           "pressure_drop"]

Array = NDArray[np.float64]
Floats = float | Array

ROUGHNESS = 4.5e-5
"""Commercial steel [m] (Moody 1944, as in every handbook; memory)."""
LAMINAR, TURBULENT = 2100.0, 4000.0
_UNIT, _FACTOR = 2.51 * 2.0 / log(10.0), (log(10.0) / 2.0) ** 2
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2


def friction_times_reynolds(reynolds: Floats, roughness: Floats) -> Array:
    """Darcy friction factor times Reynolds number, finite at rest: 64 in laminar flow.

    Parameters
    ----------
    reynolds : float or array, shape (points,)
        Reynolds number [-], at least 0.
    roughness : float or array, shape (points,)
        Roughness over diameter [-], 0 to 0.05.

    Returns
    -------
    array, shape (points,)
        f Re [-].

    Notes
    -----
    Below Re 2100 it is 64, above 4000 Colebrook (two steps of fourth order from an explicit start, 1e-14). In between,
    a fifth-degree step in ln Re blends the two: continuous to the second derivative.

    References
    ----------
    Clamond, Ind. Eng. Chem. Res. 48 (2009) 3665, for the steps.

    Examples
    --------
    >>> friction_times_reynolds(np.array([0.0, 1000.0]), 1e-4)
    array([64., 64.])
    """
    re = np.asarray(reynolds, float)
    fast = np.maximum(re, LAMINAR)
    log_re = np.log(fast)
    shift, target = fast * np.asarray(roughness) / 3.7 / _UNIT, log_re - log(_UNIT)
    steep = _toward_colebrook(_toward_colebrook(target - 0.2, shift, target), shift, target)
    turbulent = _FACTOR * fast / steep**2
    if np.all(re >= TURBULENT):
        return np.asarray(turbulent)
    s = np.clip((log_re - log(LAMINAR)) / log(TURBULENT / LAMINAR), 0.0, 1.0)
    blend = s**3 * (10.0 - s * (15.0 - 6.0 * s))
    return 64.0 + blend * (turbulent - 64.0)


def _toward_colebrook(x: Array, shift: Floats, target: Floats) -> Array:
    """One step, of fourth order, towards x + ln(shift + x) = target: Colebrook with f = (ln 10 / 2 / x)^2."""
    inside = shift + x
    whole = 1.0 + inside
    miss = (np.log(inside) + (x - target)) / whole
    return x - (whole + 0.5 * miss) * miss * inside / (whole + miss * (1.0 + miss / 3.0))


def friction_factor(reynolds: Floats, roughness: Floats) -> Array:
    """Darcy friction factor through laminar, transitional (blended) and turbulent flow.

    Parameters
    ----------
    reynolds : float or array, shape (points,)
        Reynolds number [-], above 0.
    roughness : float or array, shape (points,)
        Roughness over diameter [-], 0 to 0.05.

    Returns
    -------
    array, shape (points,)
        Friction factor f of dp = f L/D rho v^2/2 [-].

    References
    ----------
    Colebrook, J. Inst. Civil Eng. 11 (1939) 133.

    Examples
    --------
    >>> round(float(friction_factor(1e5, 1e-4)), 9)
    0.018513866
    """
    return friction_times_reynolds(reynolds, roughness) / np.asarray(reynolds)


def pressure_drop(flow: Floats, density: Floats, viscosity: Floats, diameter: Floats, length: Floats,
                  roughness: Floats = ROUGHNESS, minor: Floats = 0.0) -> Array:
    """Friction pressure drop of a pipe, dp = (f L/D + K) rho v^2 / 2.

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow [kg/s]; a negative flow gives a negative drop.
    density, viscosity : float or array, shape (points,)
        Of the medium [kg/m3], [Pa s]; constant along the pipe.
    diameter, length : float or array, shape (points,)
        Inner diameter and length [m].
    roughness : float or array, shape (points,)
        Absolute roughness [m].
    minor : float or array, shape (points,)
        Sum K of the loss coefficients of bends, valves and joints [-].

    Returns
    -------
    array, shape (points,)
        Pressure drop [Pa].

    Notes
    -----
    For gases it holds while the drop is below some 10 % of the pressure.

    Examples
    --------
    Cengel & Cimbala example 8-3 (memory): water in 200 ft of 2 inch steel tube loses 1700 lbf/ft2.

    >>> dp = pressure_drop(0.2 * 62.36 * 0.45359, 62.36 * 16.01846, 7.536e-4 * 1.488164, 0.0508, 60.96, 7e-6 * 0.3048)
    >>> print(round(float(dp) / 47.88026, -1))
    1700.0
    """
    d, rho, mu = np.asarray(diameter), np.asarray(density), np.asarray(viscosity)
    v = np.asarray(flow) / (rho * pi / 4.0 * d**2)
    f_re = friction_times_reynolds(np.abs(v) * rho * d / mu, np.asarray(roughness) / d)
    return f_re * mu * v * np.asarray(length) / (2.0 * d**2) + np.asarray(minor) * rho * v * np.abs(v) / 2.0


def header_drop(flow: Floats, density: Floats, viscosity: Floats, diameter: Floats, length: Floats,
                roughness: Floats = ROUGHNESS, branches: Floats = 50.0) -> Array:
    """Friction pressure drop of a header whose flow falls in equal steps and whose diameter follows it.

    D(x) = D sqrt(x/L) keeps the velocity. For very many branches dp = 2 f L/D rho v^2/2, f the mean of the friction
    factor over D(x); N branches make the integral run from x = L/2N to L + L/2N, the midpoint rule read backwards.

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow at the large end [kg/s].
    density, viscosity : float or array, shape (points,)
        Of the medium [kg/m3], [Pa s]; constant along the header.
    diameter, length : float or array, shape (points,)
        Inner diameter at the large end, and length [m].
    roughness : float or array, shape (points,)
        Absolute roughness [m].
    branches : float or array, shape (points,)
        Number of equal branches [-].

    Returns
    -------
    array, shape (points,)
        Pressure drop from end to end [Pa].

    Notes
    -----
    Within 1 % of the sum over the pieces from 20 branches on, 5 % at one, always above it.

    Examples
    --------
    >>> one = pressure_drop(100.0, 800.0, 2e-4, 0.25, 500.0)
    >>> print((header_drop(100.0, 800.0, 2e-4, 0.25, 500.0, branches=np.array([1, 10, 1000])) / one).round(2))
    [1.05 1.81 2.44]
    """
    d, mu, branches = np.asarray(diameter, float), np.asarray(viscosity, float), np.asarray(branches, float)
    v = np.asarray(flow) / (np.asarray(density) * pi / 4.0 * d**2)
    re, rough = np.abs(v) * np.asarray(density) * d / mu, np.asarray(roughness) / d
    low, high = np.sqrt(0.5 / branches), np.sqrt(1.0 + 0.5 / branches)
    mean = _header_friction(re, rough, low, high)
    if np.any(slow := re * low < TURBULENT):  # D/Dmax, x = L u^2, dx = 2 L u du
        points = [np.broadcast_to(a, slow.shape)[slow] for a in (re, rough, low, high)]
        u = points[2] + (points[3] - points[2]) * _NODES[:, None]
        mean = np.array(np.broadcast_to(mean, slow.shape))
        mean[slow] = _WEIGHTS @ (friction_times_reynolds(points[0] * u, points[1] / u) / u)
    return np.asarray(mean * mu * v * np.asarray(length) * (high - low) / d**2)


def _header_friction(re: Array, rough: Array, low: Array, high: Array) -> Array:
    """Mean of f Re / u over u = D/Dmax, turbulent: f Re rough is one number along the header, and each node starts from
    the one before it, so that one step of fourth order is enough (1e-12)."""
    fast = np.maximum(re, TURBULENT / low)
    shift, start = fast * rough / 3.7 / _UNIT, np.log(fast / _UNIT)
    total: Any = 0.0
    x = before = None
    for node, weight in zip(_NODES[::-1], _WEIGHTS[::-1], strict=True):
        level = np.log(low + (high - low) * node)
        target = start + level
        if x is None:
            x = _toward_colebrook(target - 0.2, shift, target)
        else:
            inside = shift + x
            x = x + (level - before) * inside / (1.0 + inside)
        x, before = _toward_colebrook(x, shift, target), level
        total = total + weight / x**2
    return np.asarray(_FACTOR * fast * total)


def diameter_for_velocity(flow: Floats, density: Floats, velocity: Floats) -> Array:
    """Inner diameter that gives a velocity, sqrt(4 m / (pi rho v)).

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow [kg/s].
    density : float or array, shape (points,)
        Density [kg/m3].
    velocity : float or array, shape (points,)
        Velocity [m/s]; some 2 for oil and salt, 10 to 20 for hot air (common practice, no source).

    Returns
    -------
    array, shape (points,)
        Diameter [m].

    Examples
    --------
    >>> round(float(diameter_for_velocity(100.0, 800.0, 2.0)), 4)
    0.2821
    """
    return np.sqrt(4.0 * np.asarray(flow) / (pi * np.asarray(density) * np.asarray(velocity)))
