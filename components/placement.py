"""Where a turbine is tapped for its feedwater heaters: by equal rises of saturation temperature, or where it pays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import minimize

from components.feedwater import Heater, feed_line
from components.rankine import cycle_of, descend
from loopnet.media import Water, medium

__all__ = ["best_pressures", "extraction_pressures"]

LEAST = 2.0
"""Least rise of saturation temperature from one heater to the next [K]."""
STEP = 0.02
"""Half the width of the difference from which slopes are taken [K]."""
SCALE, GOOD = 1e5, 2e-8
"""By how much the search sees the efficiency enlarged, and the change of efficiency at which it ends [-]."""


def extraction_pressures(water: Water, p_main: ArrayLike, p_cond: ArrayLike,
                         heaters: int | Sequence[Heater]) -> tuple[Any, ...]:
    """Pressures that give each feedwater heater, and the boiler after them, the same rise of saturation temperature.

    A deaerator whose pressure is held stays where it is; rises are equal above it and below it.

    Parameters
    ----------
    water : Water
        The medium.
    p_main, p_cond : array_like
        Pressure of the main steam and of the condenser [Pa].
    heaters : int or sequence of Heater
        Number of heaters, or the heaters from the top one down [-].

    Returns
    -------
    tuple of float or ndarray
        Extraction pressures [Pa], highest first.

    Notes
    -----
    Equal rises are near the optimum and common practice, no source.

    Examples
    --------
    >>> water = medium("water")
    >>> [round(p / 1e5, 1) for p in extraction_pressures(water, 100e5, 0.08e5, 2)]
    [23.7, 2.8]
    """
    held: list[Any] = [None] * heaters if isinstance(heaters, int) else [heater.held for heater in heaters]
    count = len(held)
    T: list[Any] = [None] * count
    above, hot = -1, water.T_sat(p_main)
    for place in (*(i for i, p in enumerate(held) if p is not None), count):
        cold = water.T_sat(p_cond if place == count else held[place])
        for i in range(above + 1, place):
            T[i] = cold + (hot - cold) * (place - i) / (place - above)
        above, hot = place, cold
    return tuple(water.p_sat(T[i]) if p is None else p * heaters[i].margin + 0.0 * np.asarray(p_cond)  # type: ignore
                 for i, p in enumerate(held))


def best_pressures(heaters: tuple[Heater, ...], p_main: float, h_main: float, p_cond: float, p_feed: float,
                   efficiency: float, pump_efficiency: float, wetness_penalty: float = 0.0,
                   reheat: tuple[float, float, float] | None = None) -> tuple[float, ...]:
    """Pressures at which the cycle turns most of its heat into work.

    With a reheater, heaters may take main steam that has not been reheated, or steam that has; each split that lies
    next to that of equal rises is tried.

    Parameters
    ----------
    heaters : tuple of Heater
        From the highest pressure down; a deaerator whose pressure is held stays where it is.
    p_main, h_main : float
        Main steam: pressure [Pa], enthalpy [J/kg].
    p_cond, p_feed : float
        Condenser, and feedwater behind the last pump [Pa].
    efficiency, pump_efficiency : float
        Isentropic efficiencies of the groups of stages and of the pumps [-].
    wetness_penalty : float
        Baumann's factor [-].
    reheat : tuple of float, optional
        Pressure before and behind the reheater [Pa], and enthalpy behind it [J/kg].

    Returns
    -------
    tuple of float
        Extraction pressures [Pa], highest first.

    Examples
    --------
    One heater of an ideal cycle lies near the middle between condenser and boiler:

    >>> from components.feedwater import OpenHeater
    >>> water = medium("water")
    >>> (p,) = best_pressures((OpenHeater(),), 80e5, float(water.h(753.15, 80e5)), 0.08e5, 80e5, 1.0, 1.0)
    >>> low, high = water.T_sat(0.08e5), water.T_sat(80e5)
    >>> 0.4 < (water.T_sat(p) - low) / (high - low) < 0.6
    True
    """
    again = None if reheat is None else tuple(map(_rounded, reheat))
    return _best(heaters, *map(_rounded, (p_main, h_main, p_cond, p_feed, efficiency, pump_efficiency,
                                          wetness_penalty)), again)


def _rounded(x: float) -> float:
    """Ten digits, so that round-off does not ask again what is known."""
    return float(f"{float(np.squeeze(x)):.9e}")


@lru_cache(maxsize=64)
def _best(heaters: tuple[Heater, ...], p_main: float, h_main: float, p_cond: float, p_feed: float, efficiency: float,
          pump_efficiency: float, wetness_penalty: float, reheat: tuple[float, ...] | None) -> tuple[float, ...]:
    water: Any = medium("water")
    even = np.array([float(np.squeeze(p)) for p in extraction_pressures(water, p_main, p_cond, heaters)])
    free = [i for i, heater in enumerate(heaters) if heater.held is None]
    if not free:
        return tuple(even)

    def pressures(T: np.ndarray) -> np.ndarray:
        """Of all extractions, shape (heaters, tries), from saturation temperatures of the free ones (tries, free)."""
        p = np.repeat(even[:, None], len(T), axis=1)
        p[free] = water.p_sat(T).T
        return p

    def efficiencies(T: np.ndarray, split: int) -> np.ndarray:
        main, cold, hot, condenser, feed = (water.isobar(np.full(len(T), p)) for p in (
            p_main, *(reheat[:2] if reheat else (p_cond, p_cond)), p_cond, p_feed))
        levels = [water.isobar(p) for p in pressures(T)]
        h = np.full(len(T), h_main)
        if reheat is None:
            steam = [descend((main, *levels, condenser), h, efficiency, wetness_penalty)]
        else:
            steam = [descend((main, *levels[:split], cold), h, efficiency, wetness_penalty),
                     descend((hot, *levels[split:], condenser), np.full(len(T), reheat[2]), efficiency,
                             wetness_penalty)]
        return np.asarray(cycle_of(steam, feed_line((*levels, condenser), feed, pump_efficiency, heaters)).efficiency)

    start = water.T_sat(even)
    top, bottom = float(water.T_sat(p_main)), float(water.T_sat(p_cond))
    splits = [len(heaters)]
    if reheat is not None:
        natural = int(np.sum(even >= reheat[0]))
        splits = [k for k in (natural - 1, natural, natural + 1) if 0 <= k <= len(heaters)]
    tried = [_placed(efficiencies, split, start, free, top, bottom,
                     None if reheat is None else (float(water.T_sat(reheat[0])), float(water.T_sat(reheat[1]))))
             for split in splits]
    _, T = max(((value, tuple(T)) for value, T in tried), key=lambda found: found[0])
    return tuple(pressures(np.array([T]))[:, 0])


def _placed(efficiencies: Callable[[np.ndarray, int], np.ndarray], split: int, start: np.ndarray, free: list[int],
            top: float, bottom: float, gap: tuple[float, float] | None) -> tuple[float, np.ndarray]:
    """The best saturation temperatures [K] of the free heaters where `split` of all lie before the reheater."""
    low = np.array([gap[0] if gap and i < split else bottom + LEAST for i in free])
    high = np.array([gap[1] if gap and i >= split else top - LEAST for i in free])
    if np.any(low > high):  # no room for heaters there
        return -np.inf, start[free]
    order = np.zeros((len(start) - 1, len(free)))
    fixed = np.zeros(len(start) - 1)
    for row in range(len(start) - 1):  # T of heater `row` less T of the one below it, at least LEAST
        for i, sign in ((row, 1.0), (row + 1, -1.0)):
            if i in free:
                order[row, free.index(i)] = sign
            else:
                fixed[row] += sign * start[i]

    def cost(T: np.ndarray) -> tuple[float, np.ndarray]:
        """Less the efficiency, and its slope, large enough for a search that expects curvatures near one."""
        tries = np.vstack([T, T + STEP * np.eye(len(T)), T - STEP * np.eye(len(T))])
        value = -SCALE * efficiencies(tries, split)
        n = len(T)
        return float(value[0]), (value[1:n + 1] - value[n + 1:]) / (2 * STEP)

    with np.errstate(all="ignore"):
        found = minimize(cost, np.clip(start[free], low, high), jac=True, method="SLSQP",
                         bounds=list(zip(low, high, strict=True)), options={"ftol": SCALE * GOOD, "maxiter": 100},
                         constraints=[{"type": "ineq", "fun": lambda T: order @ T + fixed - LEAST,
                                       "jac": lambda T: order}] if len(order) else [])
    return -float(found.fun) / SCALE, np.asarray(found.x)
