"""A wet cooling tower: how cold it makes water under some air, how much of the water it takes for that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.params import Parameters, param
from loopnet.site.humid import PSYCHROMETER, vapour_pressure

__all__ = ["CoolingTower", "air_enthalpy", "evaporation", "humidity_ratio", "merkel"]

CP_WATER = 4186.0  # J/kg/K, water near 30 degC (handbook value)
CP_AIR, CP_VAPOUR, H_VAPOUR = 1006.0, 1860.0, 2.501e6  # J/kg/K, J/kg/K, J/kg at 0 degC (handbook values)
ZERO_C = 273.15
CHEBYSHEV = (0.1, 0.4, 0.6, 0.9)  # places at which the trade takes Merkel's integral


@dataclass(frozen=True, kw_only=True)
class CoolingTower(Parameters):
    """A tower with fill and fans beside a condenser with tubes.

    Water that evaporates leaves its salts behind: some is let off, so that the rest holds no more than `cycles` times
    what fresh water holds. Warm spray can carry legionella: treatment and watch by local rules.

    >>> CoolingTower(range="8 K").range
    8.0
    """

    approach: Any = param(5.0, unit="K", low=1.5, high=20.0, source="common practice, no source (3 to 6 K)",
                          doc="cold water above the wet bulb at the design point")
    range: Any = param(10.0, unit="K", low=3.0, high=25.0, source="common practice, no source",
                       doc="warming of the water in the condenser at the design point")
    terminal: Any = param(3.0, unit="K", low=0.5, high=15.0, source="common practice, no source",
                          doc="condensing temperature above the warm water at the design point")
    ratio: Any = param(1.2, unit="-", low=0.3, high=3.0, source="common practice, no source",
                       doc="flow of water over flow of air")
    humidity: Any = param(0.3, unit="-", low=0.01, high=1.0, source="demo choice, invented: a dry valley",
                          doc="relative humidity at the design point")
    fan_pressure: Any = param(130.0, unit="Pa", low=0.0, high=400.0, source="common practice, no source",
                              doc="pressure rise of the fans")
    fan_efficiency: Any = param(0.65, unit="-", low=0.2, high=0.9, source="common practice, no source", doc="fans")
    head: Any = param(18.0, unit="m", low=0.0, high=60.0, source="common practice, no source",
                      doc="head of the pump for tower and condenser")
    pump_efficiency: Any = param(0.8, unit="-", low=0.2, high=0.92, source="common practice, no source",
                                 doc="circulating pump")
    cycles: Any = param(5.0, unit="-", low=1.2, high=30.0, source="common practice, no source (3 to 7)",
                        doc="salt in the circuit over salt in fresh water")
    drift: Any = param(2e-5, unit="-", low=0.0, high=0.01, source="common practice with eliminators, no source",
                       doc="drops carried off over circulating water")
    hours: Any = param("4500 hour", unit="s", low=0.0, high=3.2e7, source="assumption",
                       doc="time at full load for which the bill buys a year's water; `water_use` counts a real year")

    def made_up(self, evaporated: Any, circulation: Any) -> Any:
        """Fresh water for what evaporates, is let off and drifts away.

        Parameters
        ----------
        evaporated, circulation : float or ndarray
            Water that evaporates, and that goes round [kg/s].

        Returns
        -------
        float or ndarray
            Fresh water [kg/s]: E c / (c - 1), of which drift takes a part of what would be let off.

        Examples
        --------
        >>> float(CoolingTower(cycles=5.0).made_up(1.0, 60.0))
        1.25
        """
        return np.maximum(evaporated * self.cycles / (self.cycles - 1.0), evaporated + self.drift * circulation)


def humidity_ratio(ambient: ArrayLike, wet_bulb: ArrayLike, pressure: ArrayLike) -> Any:
    """Water vapour over dry air, from both bulbs.

    Parameters
    ----------
    ambient, wet_bulb : float or ndarray
        Dry and wet bulb [K].
    pressure : float or ndarray
        Air pressure [Pa].

    Returns
    -------
    float or ndarray
        kg/kg of dry air [-].

    Examples
    --------
    >>> round(float(humidity_ratio(293.15, 293.15, 101325.0)), 4)
    0.0147
    """
    wet, p = np.asarray(wet_bulb, dtype=float), np.asarray(pressure, dtype=float)
    constant, linear = PSYCHROMETER
    held = vapour_pressure(wet) - constant * (1 + linear * (wet - ZERO_C)) * p * (np.asarray(ambient) - wet)
    held = np.maximum(held, 1.0)
    return 0.62198 * held / (p - held)


def air_enthalpy(temperature: ArrayLike, humidity: ArrayLike) -> Any:
    """Enthalpy of moist air per dry air, above dry air and water at 0 degC.

    Parameters
    ----------
    temperature : float or ndarray
        Dry bulb [K].
    humidity : float or ndarray
        Vapour over dry air [-].

    Returns
    -------
    float or ndarray
        Enthalpy [J/kg].

    Examples
    --------
    >>> round(float(air_enthalpy(303.15, 0.0273)) / 1e3, 1)
    100.0
    """
    t = np.asarray(temperature, dtype=float) - ZERO_C
    return CP_AIR * t + np.asarray(humidity) * (H_VAPOUR + CP_VAPOUR * t)


def _saturated(temperature: ArrayLike, pressure: ArrayLike) -> tuple[Any, Any]:
    """Enthalpy [J/kg] and vapour over dry air [-] of saturated air."""
    held = vapour_pressure(temperature)
    w = 0.62198 * held / np.maximum(np.asarray(pressure) - held, 1e3)
    return air_enthalpy(temperature, w), w


def merkel(hot: ArrayLike, cold: ArrayLike, wet_bulb: ArrayLike, ratio: ArrayLike, pressure: ArrayLike) -> Any:
    """Merkel's number that a tower needs: the integral of c dT / (h_saturated(T) - h_air), at four places.

    Parameters
    ----------
    hot, cold : float or ndarray
        Water that comes and goes [K].
    wet_bulb : float or ndarray
        Of the air that enters [K]; its enthalpy is taken as that of saturated air there.
    ratio : float or ndarray
        Flow of water over flow of air [-].
    pressure : float or ndarray
        Air pressure [Pa].

    Returns
    -------
    float or ndarray
        Number [-], about 0.5 to 3.

    References
    ----------
    Merkel, F.: Verdunstungskuehlung, VDI-Forschungsheft 275 (1925); the four places after the trade's standard way
    (Chebyshev), from memory.

    Examples
    --------
    >>> round(float(merkel(308.15, 298.15, 291.15, 1.2, 101325.0)), 2)
    1.7
    """
    hot, cold = np.asarray(hot, dtype=float), np.asarray(cold, dtype=float)
    first, _ = _saturated(wet_bulb, pressure)
    total: Any = 0.0
    for place in CHEBYSHEV:
        above = place * (hot - cold)
        gap = _saturated(cold + above, pressure)[0] - first - np.asarray(ratio) * CP_WATER * above
        total = total + 1.0 / np.maximum(gap, 100.0)  # a search may look where water would be colder than the air
    return CP_WATER * (hot - cold) / 4.0 * total


def evaporation(heat: ArrayLike, air: ArrayLike, ambient: ArrayLike, wet_bulb: ArrayLike, pressure: ArrayLike,
                fresh: float = 293.15) -> Any:
    """Water that evaporates where air leaves saturated: m_air (h_out - h_in) = Q + E c t, E = m_air (w_out - w_in).

    Parameters
    ----------
    heat : float or ndarray
        Heat of the water [W].
    air : float or ndarray
        Flow of dry air [kg/s].
    ambient, wet_bulb : float or ndarray
        Air that enters [K].
    pressure : float or ndarray
        Air pressure [Pa].
    fresh : float
        Water that replaces what evaporates [K].

    Returns
    -------
    float or ndarray
        Water [kg/s].

    Examples
    --------
    Cengel and Boles, Thermodynamics, example 14-9: 100 kg/s cooled from 35 to 22 degC, air of 20 degC and 60 %,
    96.9 kg/s, takes 1.80 kg/s (from memory):

    >>> from loopnet.site.humid import dew_point, wet_bulb
    >>> dew = dew_point(293.15, 0.6)
    >>> water = evaporation(100 * 4182 * 13.0, 96.9, 293.15, wet_bulb(293.15, dew, 101325.0), 101325.0, 295.15)
    >>> round(float(water), 2)
    1.8
    """
    w_in, brings = humidity_ratio(ambient, wet_bulb, pressure), CP_WATER * (fresh - ZERO_C)
    target = air_enthalpy(ambient, w_in) - w_in * brings + np.asarray(heat, dtype=float) / air

    def held(T: Any) -> Any:
        h, w = _saturated(T, pressure)
        return h - w * brings

    T = np.asarray(wet_bulb, dtype=float) + 10.0
    for _ in range(7):
        now = held(T)
        T = T + np.clip(0.01 * (target - now) / (held(T + 0.01) - now), -20.0, 20.0)
    return air * (_saturated(T, pressure)[1] - w_in)
