"""The march of a packed bed cell by cell, compiled where numba is installed: the same numbers as `Bed` has with numpy.

Profiling: of a year of a plant with a rock bed the passes of air through the cells take the larger half.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import exp, expm1
from typing import Any, NamedTuple

import numpy as np

__all__ = ["Loops", "blow", "compiled", "conduct"]

RELAX = 0.8
"""Largest part of its way to equilibrium that a cell goes in one sub-step [-]."""


class Loops(NamedTuple):
    """`blow` and `conduct`, compiled."""

    blow: Callable[..., float]
    conduct: Callable[..., float]


@cache
def compiled() -> Loops | None:
    """The loops, compiled on first use and kept on disk for the next process.

    Returns
    -------
    Loops or None
        None where numba is not installed.
    """
    try:
        from numba import njit
    except ImportError:
        return None
    return Loops(njit(cache=True)(blow), njit(cache=True)(conduct))


def blow(e: Any, mass: float, h_in: float, units: float, energies: Any, gas: Any, slopes: Any) -> float:
    """Blow gas through cells; see `Bed` for the method.

    Parameters
    ----------
    e : array, shape (cells,)
        Enthalpy of the stones in flow order, changed in place [J].
    mass : float
        Gas [kg].
    h_in : float
        Its enthalpy [J/kg].
    units : float
        Transfer units of a cell [-].
    energies, gas, slopes : array, shape (nodes,)
        Even steps of the enthalpy of the stones of a cell [J]; of the gas in equilibrium [J/kg]; its slope [1/kg].

    Returns
    -------
    float
        Mean enthalpy of the gas that left [J/kg].
    """
    n, nodes = len(e), len(energies)
    zero = energies[0]
    per = (nodes - 1) / (energies[-1] - zero)
    a, part = exp(-units), -expm1(-units)
    tilt = 0.5
    if units <= 1e-3:
        tilt = units * units / 12
    elif units < 1e300:
        tilt = (1 + a) / 2 - part / units
    own = (1 - 2 * tilt) * part / 2
    k = min(max(int(np.searchsorted(gas, h_in)), 1), nodes - 1)
    e_in = zero + (k - 1 + (h_in - gas[k - 1]) / (gas[k] - gas[k - 1])) / per
    e_in = min(max(e_in, zero), energies[-1])
    least, most = e_in, e_in
    for i in range(n):
        least, most = min(least, e[i]), max(most, e[i])
    first, last = (least - zero) * per, (most - zero) * per
    i, j = min(max(int(first), 0), nodes - 2), min(max(int(last), 0), nodes - 2)
    low = gas[i] + (gas[i + 1] - gas[i]) * (first - i)
    high = gas[j] + (gas[j + 1] - gas[j]) * (last - j)
    one = slopes[i] + (slopes[i + 1] - slopes[i]) * (first - i)
    other = slopes[j] + (slopes[j + 1] - slopes[j]) * (last - j)
    steepest, flattest = max(one, other), min(one, other)
    for k in range(i + 1, j + 1):
        steepest, flattest = max(steepest, slopes[k]), min(flattest, slopes[k])
    largest = RELAX / (steepest * part)
    g, lean = np.empty(n), np.empty(n)
    out, rest, settled = 0.0, mass, 1e-14 * (abs(low) + abs(high))
    while rest > 0:
        gone = largest if rest > largest * (1 + 1e-12) else rest
        quick, slow = gone * steepest, gone * flattest
        mid = 1 + own * (quick + slow) / 2
        give = part / mid
        bound = min(4.0, 2 * (mid / quick - part) / (tilt * (1 - part * slow)))
        rest -= gone
        for k in range(n):
            at = (e[k] - zero) * per
            i = min(max(int(at), 0), nodes - 2)
            at = min(max(at - i, 0.0), 1.0)
            g[k] = gas[i] + (gas[i + 1] - gas[i]) * at
            lean[k] = 0.5 * tilt / part - 0.5 * tilt * gone * (slopes[i] + (slopes[i + 1] - slopes[i]) * at)
        up = g[0] - h_in
        largest_change, before = abs(up), h_in
        for k in range(1, n):
            largest_change = max(largest_change, abs(g[k] - g[k - 1]))
        if abs(up) < settled and largest_change < settled:
            return (out + (gone + rest) * h_in) / mass
        for k in range(n):
            if k < n - 1:
                down = g[k + 1] - g[k]
            else:
                down = g[k] - g[k - 1]
                down = min(down, high - g[k]) if down > 0 else max(down, low - g[k])
            ratio = (down + 1e-200) / (up + 1e-200)
            slope = min(max(min(ratio + 1, 4 * ratio), 0.0), bound) * (up + 1e-200)
            leaves = (1 - give) * before + give * (slope * lean[k] + g[k])
            e[k] += gone * (before - leaves)
            before, up = leaves, down
        out += gone * before
    return out / mass


def conduct(state: Any, link: float, ua: Any, ambient: float, least: float, energies: Any, temperature: Any) -> float:
    """Conduction along cells and loss to ambient over one step, implicit in temperature.

    Parameters
    ----------
    state : array, shape (cells,)
        Enthalpy of the stones, changed in place [J].
    link : float
        Heat between two cells a kelvin apart, in the step [J/K].
    ua : array, shape (cells,)
        Heat lost by a cell a kelvin over ambient, in the step [J/K].
    ambient : float
        Temperature around [K].
    least : float
        Least heat capacity of a cell [J/K].
    energies, temperature : array, shape (nodes,)
        Even steps of the enthalpy of the stones of a cell [J], and their temperature [K].

    Returns
    -------
    float
        Heat lost [J].
    """
    n, nodes = len(state), len(energies)
    zero = energies[0]
    per = (nodes - 1) / (energies[-1] - zero)
    new, above = np.empty(n), np.empty(n)
    for k in range(n):
        at = (state[k] - zero) * per
        i = min(max(int(at), 0), nodes - 2)
        at = min(max(at - i, 0.0), 1.0)
        right = least * (temperature[i] + (temperature[i + 1] - temperature[i]) * at) + ua[k] * ambient
        main = ua[k] + least + (2 if 0 < k < n - 1 else 1) * link
        if k:
            main += link * above[k - 1]
            right += link * new[k - 1]
        above[k] = -link / main
        new[k] = right / main
    for k in range(n - 2, -1, -1):
        new[k] -= above[k] * new[k + 1]
    lost = 0.0
    for k in range(n):
        loss = ua[k] * (new[k] - ambient)
        lost += loss
        state[k] -= loss
        if k < n - 1:
            flow = link * (new[k] - new[k + 1])
            state[k] -= flow
            state[k + 1] += flow
    return lost
