"""Moist air: vapour pressure, dew point, relative humidity, and the temperature of a wet bulb at any pressure."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["dew_point", "relative_humidity", "vapour_pressure", "wet_bulb"]

Array = NDArray[np.float64]

ZERO_C = 273.15
MAGNUS = (611.2, 17.62, 243.12)
"""Saturation over liquid water: ``e = 611.2 exp(17.62 t / (243.12 + t))`` [Pa], t in degC; -45 to 60 degC.
WMO Guide to Instruments (WMO-No. 8), Annex 4.B (from memory)."""
PSYCHROMETER = (6.53e-4, 9.44e-4)
"""Ventilated psychrometer: ``A = 6.53e-4 (1 + 9.44e-4 t_w)`` [1/K]. WMO-No. 8, Annex 4.B (from memory)."""


def vapour_pressure(temperature: ArrayLike) -> Array:
    """Saturation pressure of water vapour over liquid water.

    Parameters
    ----------
    temperature : array_like
        Temperature [K]; -45 to 60 degC (0.6 % by the source), outside it an extrapolation.

    Returns
    -------
    ndarray
        Pressure [Pa].

    References
    ----------
    WMO-No. 8, Annex 4.B.

    Examples
    --------
    >>> round(float(vapour_pressure(293.15)))
    2333
    """
    scale, slope, shift = MAGNUS
    celsius = np.asarray(temperature, float) - ZERO_C
    return np.asarray(scale * np.exp(slope * celsius / (shift + celsius)))


def dew_point(ambient: ArrayLike, humidity: ArrayLike) -> Array:
    """Dew point from dry bulb and relative humidity (the vapour pressure equation turned round).

    Parameters
    ----------
    ambient : array_like
        Dry-bulb temperature [K].
    humidity : array_like
        Relative humidity [-], above 0, at most 1.

    Returns
    -------
    ndarray
        Dew point [K].

    Examples
    --------
    >>> round(float(dew_point(313.15, 0.14)) - 273.15, 1)
    7.4
    """
    scale, slope, shift = MAGNUS
    ratio = np.log(np.asarray(humidity, float) * vapour_pressure(ambient) / scale)
    return np.asarray(ZERO_C + shift * ratio / (slope - ratio))


def relative_humidity(ambient: ArrayLike, dew: ArrayLike) -> Array:
    """Relative humidity over liquid water.

    Parameters
    ----------
    ambient, dew : array_like
        Dry bulb and dew point [K].

    Returns
    -------
    ndarray
        Relative humidity [-].

    Examples
    --------
    >>> round(float(relative_humidity(293.15, 293.15)), 3)
    1.0
    """
    return np.asarray(vapour_pressure(dew) / vapour_pressure(ambient))


def wet_bulb(ambient: ArrayLike, dew: ArrayLike, pressure: ArrayLike) -> Array:
    """Temperature of a ventilated wet bulb: ``e(t_dew) = e(t_w) - A p (t - t_w)``, solved for t_w.

    Parameters
    ----------
    ambient, dew : array_like
        Dry bulb and dew point [K], dew point not above dry bulb.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Wet-bulb temperature [K], between dew point and dry bulb.

    Notes
    -----
    Holds at any height, unlike fits made for sea level. -45 to 60 degC; below freezing it is the bulb wetted with
    supercooled water. Newton from the dry bulb: the residual is convex and rising, so the iterates fall to the root;
    six steps leave less than 1e-9 K within the range of `vapour_pressure`.

    References
    ----------
    WMO-No. 8, Annex 4.B (psychrometer formula, from memory).

    Examples
    --------
    Air of 40 degC with a dew point of 7 degC at sea level has a wet bulb of 20 degC (ASHRAE Handbook Fundamentals,
    chapter on psychrometrics, example 1, from memory).

    >>> round(float(wet_bulb(313.15, 280.15, 101325.0)) - 273.15)
    20
    """
    _, slope, shift = MAGNUS
    constant, linear = PSYCHROMETER
    dry = np.asarray(ambient, float) - ZERO_C
    held, weight = vapour_pressure(dew), constant * np.asarray(pressure, float)
    wet = dry.copy()
    for _step in range(6):
        full = vapour_pressure(wet + ZERO_C)
        gap = dry - wet
        factor = weight * (1 + linear * wet)
        residual = full - factor * gap - held
        gradient = full * slope * shift / (shift + wet) ** 2 + factor - weight * linear * gap
        wet = wet - residual / gradient
    return np.asarray(wet + ZERO_C)
