"""Pressure drop of a tube in which water boils: liquid, wet and superheated stretches, friction by a two-phase
correlation that integrates in closed form, and the push that expanding steam needs."""

from __future__ import annotations

from itertools import pairwise
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.friction import ROUGHNESS, friction_times_reynolds

__all__ = ["boiling_drop", "wet_gradient", "wet_mean"]

Array = NDArray[np.float64]
Floats = float | Array

_HALF = 0.5 / np.sqrt(3.0)
_NODES = (0.5 - _HALF, 0.5 + _HALF)  # two-point Gauss-Legendre
_LEAST = 0.3  # share of the inlet pressure below which properties are not followed


def wet_gradient(liquid: Floats, vapour: Floats, quality: Floats) -> Array:
    """Friction gradient of a two-phase flow, (A + 2 (B - A) x) (1 - x)^(1/3) + B x^3.

    Parameters
    ----------
    liquid, vapour : float or array, shape (points,)
        Gradients A and B if all of the flow were liquid, or vapour [Pa/m].
    quality : float or array, shape (points,)
        Share of vapour by mass x [-], 0 to 1.

    Returns
    -------
    array, shape (points,)
        Gradient [Pa/m].

    References
    ----------
    Mueller-Steinhagen & Heck, Chem. Eng. Process. 20 (1986) 297.

    Notes
    -----
    Mean error 30 to 40 % over data of many fluids, as of all such correlations (memory). Drop in the channel, not the
    stability of parallel rows: that is for licensed practice.

    Examples
    --------
    All liquid, all vapour, and the hump before dry-out:

    >>> wet_gradient(100.0, 1000.0, np.array([0.0, 0.85, 1.0])).round()
    array([ 100., 1480., 1000.])
    """
    a, b, x = np.asarray(liquid), np.asarray(vapour), np.asarray(quality)
    return (a + 2.0 * (b - a) * x) * np.cbrt(1.0 - x) + b * x**3


def wet_mean(liquid: Floats, vapour: Floats, first: Floats, last: Floats) -> Array:
    """Mean of `wet_gradient` over a stretch along which the quality rises evenly, in closed form.

    Parameters
    ----------
    liquid, vapour : float or array, shape (points,)
        Gradients if all of the flow were liquid, or vapour [Pa/m].
    first, last : float or array, shape (points,)
        Quality at the ends [-], 0 to 1.

    Returns
    -------
    array, shape (points,)
        Mean gradient [Pa/m].

    Examples
    --------
    >>> print(round(float(wet_mean(100.0, 1000.0, 0.0, 1.0)), 2))
    903.57
    """
    a, b = np.asarray(liquid), np.asarray(vapour)
    c = 2.0 * (b - a)

    def antiderivative(x: Array) -> Array:
        y = np.maximum(1.0 - x, 0.0)
        root = np.cbrt(y)
        return np.asarray(c * 3.0 / 7.0 * y * y * root - (a + c) * 0.75 * y * root + b * x**4 / 4.0)

    low, high = np.asarray(first, float), np.asarray(last, float)
    width = high - low
    narrow = np.abs(width) < 1e-6
    over = np.where(narrow, 1.0, width)
    mean = (antiderivative(high) - antiderivative(low)) / over
    return np.where(narrow, wet_gradient(a, b, np.clip(low, 0.0, 1.0)), mean)


def boiling_drop(water: Any, flow: Floats, h_in: Floats, h_out: Floats, pressure: Floats, diameter: Floats,
                 length: Floats, roughness: Floats = ROUGHNESS, minor: Floats = 0.0) -> Array:
    """Pressure drop of a level tube along which the enthalpy of water changes evenly, in any of its phases.

    dp = integral of friction dz + K G^2 / (2 rho) averaged along the tube + G^2 (1/rho_out - 1/rho_in); wet steam
    rubs as in `wet_gradient` and has the density of a mixture without slip.

    Parameters
    ----------
    water : Medium
        Water: saturation, T(h, p), rho(h, p), mu(T, p).
    flow : float or array, shape (points,)
        Mass flow [kg/s], at least 0.
    h_in, h_out : float or array, shape (points,)
        Enthalpy at inlet and outlet [J/kg].
    pressure : float or array, shape (points,)
        At the inlet [Pa].
    diameter, length : float or array, shape (points,)
        Inner diameter and length [m].
    roughness : float or array, shape (points,)
        Absolute roughness [m].
    minor : float or array, shape (points,)
        Loss coefficient K of all fittings, spread along the tube [-].

    Returns
    -------
    array, shape (points,)
        Pressure drop [Pa].

    Notes
    -----
    Properties are taken at the inlet pressure first, then once more half the drop below it (within 2 % while the
    drop is below a fifth of the pressure).

    Examples
    --------
    >>> from loopnet.media import medium
    >>> water = medium("water")
    >>> print(round(float(boiling_drop(water, 1.0, 1.1e6, 2.79e6, 60e5, 0.055, 500.0)) / 1e5, 1))
    4.4
    """
    p = np.asarray(pressure, float)
    args = water, flow, h_in, h_out, diameter, length, roughness, minor
    first = _drop_at(p, *args)
    return _drop_at(np.maximum(p - 0.5 * first, _LEAST * p), *args)


def _drop_at(p: Array, water: Any, flow: Floats, h_in: Floats, h_out: Floats, diameter: Floats, length: Floats,
             roughness: Floats, minor: Floats) -> Array:
    """The drop with all properties at one pressure [Pa]."""
    start, end = np.asarray(h_in, float), np.asarray(h_out, float)
    low, high = np.minimum(start, end), np.maximum(start, end)
    high = np.maximum(high, low + 1.0)
    d = np.asarray(diameter)
    speed = np.asarray(flow) / (pi / 4.0 * d**2)  # mass flux, kg/m2s
    level = water.isobar(p)
    f, g = level.saturated("h_f"), level.saturated("h_g")
    rho_f, rho_g, t_sat = level.saturated("rho_f"), level.saturated("rho_g"), level.saturated("T_f")

    def friction(density: Floats, viscosity: Floats) -> Array:
        return friction_times_reynolds(np.abs(speed) * d / viscosity, roughness / d) * viscosity * speed / (
            2.0 * np.asarray(density) * d**2)

    def single(first: Array, last: Array) -> tuple[Any, Any]:
        """Mean friction gradient and mean specific volume of a stretch without boiling."""
        rub: Any = 0.0
        volume: Any = 0.0
        if not np.any(last > first):
            return rub, volume
        for node in _NODES:
            h = first + (last - first) * node
            density = level.rho_h(h)
            rub = rub + 0.5 * friction(density, water.mu(level.T_h(h), p))
            volume = volume + 0.5 / density
        return rub, volume

    knees = low, np.clip(f, low, high), np.clip(g, low, high), high
    cold, wet, hot = (b - a for a, b in pairwise(knees))
    x_1, x_2 = ((knee - f) / (g - f) for knee in knees[1:3])
    x_1, x_2 = np.clip(x_1, 0.0, 1.0), np.clip(x_2, 0.0, 1.0)
    # the limits of the two phases at saturation; a hair off it, for at T_sat itself viscosity is that of steam
    all_liquid, all_vapour = friction(rho_f, water.mu(t_sat - 0.01, p)), friction(rho_g, water.mu(t_sat + 0.01, p))
    mean_x = 0.5 * (x_1 + x_2)
    stretches = [
        (cold, *single(knees[0], knees[1])),
        (wet, wet_mean(all_liquid, all_vapour, x_1, x_2), (1.0 - mean_x) / rho_f + mean_x / rho_g),
        (hot, *single(knees[2], knees[3])),
    ]
    whole = high - low
    rub = sum(part * gradient for part, gradient, _ in stretches) / whole * np.asarray(length)
    volume = sum(part * each for part, _, each in stretches) / whole
    swell = 1.0 / level.rho_h(end) - 1.0 / level.rho_h(start)
    return np.asarray(rub + speed * np.abs(speed) * (0.5 * np.asarray(minor) * volume + swell))
