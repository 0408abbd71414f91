"""Ideal receivers and engines: what no plant passes, and what good ones come to."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

__all__ = ["STEFAN_BOLTZMANN", "best_blackbody_temperature", "blackbody_carnot", "curzon_ahlborn"]

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/m2/K4, CODATA 2018 (exact since 2019), from memory."""


def blackbody_carnot(T: ArrayLike, concentration: ArrayLike, sun: ArrayLike = 1000.0,
                     ambient: ArrayLike = 298.15) -> Any:
    """Efficiency of a black receiver at one temperature with a Carnot engine: (1 - sigma T^4 / (C I)) (1 - T0 / T).

    Parameters
    ----------
    T : float or ndarray
        Temperature of the receiver [K].
    concentration : float or ndarray
        Concentration C [-].
    sun : float or ndarray
        Direct sun I [W/m2].
    ambient : float or ndarray
        Temperature of the surroundings T0 [K].

    Returns
    -------
    float or ndarray
        Work over concentrated sun [-]; negative beyond stagnation.

    References
    ----------
    Fletcher, E. A., Moen, R. L.: Hydrogen and oxygen from water, Science 197 (1977) 1050, from memory. Radiation of the
    surroundings onto the receiver is left out there and here.

    Examples
    --------
    >>> round(float(blackbody_carnot(1105.1, 1000.0)), 4)
    0.6685
    """
    T = np.asarray(T, dtype=float)
    received = np.asarray(concentration, dtype=float) * sun
    return (1.0 - STEFAN_BOLTZMANN * T**4 / received) * (1.0 - np.asarray(ambient, dtype=float) / T)


def best_blackbody_temperature(concentration: float, sun: float = 1000.0, ambient: float = 298.15) -> float:
    """Temperature at which `blackbody_carnot` is highest: 4 T^5 - 3 T0 T^4 - T0 C I / sigma = 0.

    Parameters
    ----------
    concentration : float
        Concentration C [-].
    sun : float
        Direct sun I [W/m2].
    ambient : float
        Temperature of the surroundings T0 [K].

    Returns
    -------
    float
        Temperature [K].

    References
    ----------
    Steinfeld, A., Schubnell, M.: Optimum aperture size and operating temperature of a solar cavity-receiver, Solar
    Energy 50 (1993) 19, from memory.

    Examples
    --------
    >>> round(best_blackbody_temperature(1000.0), 1)
    1105.1
    """
    power = concentration * sun / STEFAN_BOLTZMANN
    return float(brentq(lambda T: 4.0 * T**5 - 3.0 * ambient * T**4 - ambient * power, ambient,
                        max(power**0.25, 2.0 * ambient)))


def curzon_ahlborn(hot: ArrayLike, cold: ArrayLike) -> Any:
    """Efficiency at most power of an engine whose exchangers are finite: 1 - sqrt(T_cold / T_hot).

    Parameters
    ----------
    hot, cold : float or ndarray
        Temperatures of heat source and sink [K].

    Returns
    -------
    float or ndarray
        Efficiency [-].

    Notes
    -----
    No bound: a band in which plants are found.

    References
    ----------
    Curzon, F. L., Ahlborn, B.: Efficiency of a Carnot engine at maximum power output, Am. J. Phys. 43 (1975) 22.

    Examples
    --------
    Steam plant at 565 degC and 25 degC, as they give it (40.4 %):

    >>> round(float(curzon_ahlborn(838.0, 298.0)), 3)
    0.404
    """
    return 1.0 - np.sqrt(np.asarray(cold, dtype=float) / np.asarray(hot, dtype=float))
