"""Steam that follows a hotter or colder source: its temperature, and the pressure that goes with it."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import brentq

from loopnet.media import Water

__all__ = ["pressure_moved", "pressure_on_isentrope", "steam_moved"]

HIGHEST = 1.9e7
"""Highest pressure that steam follows to [Pa]: below the end of the tables of water, 200 bar, by a boiler's drop."""


def steam_moved(T: float, by: float, steel: float) -> float:
    """Steam temperature moved by some kelvin, upwards no further than the steel stands.

    Parameters
    ----------
    T : float
        As it is [K].
    by : float
        Kelvin to move [K].
    steel : float
        Hottest to move to [K]; steam that is hotter already stays.

    Returns
    -------
    float
        Temperature [K].

    Examples
    --------
    >>> steam_moved(813.15, 100.0, 838.15), steam_moved(813.15, -50.0, 838.15)
    (838.15, 763.15)
    """
    return float(min(T + by, max(steel, T)))


def pressure_on_isentrope(water: Water, p: float, T: float, T_new: float) -> float:
    """Pressure at which hotter or colder steam has the entropy of steam at `p` and `T`: s(p_new, T_new) = s(p, T).

    Parameters
    ----------
    water : Water
    p : float
        Pressure as it is [Pa].
    T, T_new : float
        Temperature as it is, and another [K].

    Returns
    -------
    float
        Pressure [Pa], at most 190 bar; from there on steam is drier.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> round(pressure_on_isentrope(medium("water"), 100e5, 813.15, 673.15) / 1e5, 1)
    43.3
    """
    s = float(water.s_ph(p, water.h(T, p)))

    def gap(log_p: float) -> float:
        level = float(np.exp(log_p))
        return float(water.s_ph(level, water.h(max(T_new, float(water.T_sat(level)) + 1e-3), level))) - s

    low, high = np.log(2e4), np.log(HIGHEST)
    return HIGHEST if gap(high) > 0.0 else float(np.exp(brentq(gap, low, high, xtol=1e-10)))


def pressure_moved(inlet: Any, by: float, steel: float) -> float:
    """Pressure [Pa] of main steam that moves by some kelvin along its isentrope; `inlet` is its stream."""
    p, T = float(np.squeeze(inlet.p)), float(np.squeeze(inlet.T))
    return pressure_on_isentrope(inlet.medium, p, T, steam_moved(T, by, steel))
