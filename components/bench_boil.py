"""Boil-off calorimetry: heat from the water that a collector boils away, at the pressure of the place."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.media import medium

__all__ = ["boil_off_heat", "boiling_point", "latent_heat"]

Array = NDArray[np.float64]
Floats = float | Array


def latent_heat(pressure: Floats) -> Any:
    """Heat that evaporates boiling water, h_g - h_f, from IAPWS-95.

    Parameters
    ----------
    pressure : float or array, shape (points,)
        Absolute pressure [Pa], 1 kPa to 200 bar.

    Returns
    -------
    float or array, shape (points,)
        Latent heat [J/kg].

    Examples
    --------
    >>> round(latent_heat(101325.0) / 1e3, 1)  # kJ/kg at sea level; tables print 2256.5
    2256.5
    """
    water = medium("water")
    return water.h_g(pressure) - water.h_f(pressure)


def boiling_point(pressure: Floats) -> Any:
    """Temperature at which water boils.

    Parameters
    ----------
    pressure : float or array, shape (points,)
        Absolute pressure [Pa].

    Returns
    -------
    float or array, shape (points,)
        Saturation temperature [K].

    Examples
    --------
    >>> from loopnet.site.place import standard_pressure
    >>> round(boiling_point(standard_pressure(1200.0)) - 273.15, 1)  # degC, 1,200 m above the sea
    96.0
    """
    return medium("water").T_sat(pressure)


def boil_off_heat(rate: Floats, pressure: Floats, feed: Floats | None = None) -> Any:
    """Heat that water took up to boil away at this rate.

    Q = m (h_g - h_f) for a kettle that is filled once and weighed before and after; Q = m (h_g - h_feed) where cold
    water makes up for the steam.

    Parameters
    ----------
    rate : float or array, shape (points,)
        Water boiled away [kg/s].
    pressure : float or array, shape (points,)
        Absolute pressure over the water [Pa].
    feed : float or array, shape (points,), optional
        Temperature of water that is added all the while [K]; none for a kettle that only loses.

    Returns
    -------
    float or array, shape (points,)
        Useful heat [W].

    Notes
    -----
    Holds for dry steam: drops that are carried out count as if they had been evaporated, so a kettle that spits shows
    too much; steam that condenses on the lid and runs back shows too little. Steam scalds: keep the vent open and away
    from faces, never close a boiling vessel.

    Examples
    --------
    A litre an hour at sea level takes 627 W to evaporate, and 93 W more if it comes in at 20 degC:

    >>> [round(float(boil_off_heat(1 / 3600, 101325.0, feed))) for feed in (None, 293.15)]
    [627, 720]
    """
    water = medium("water")
    per_kg = latent_heat(pressure)
    if feed is not None:
        per_kg = per_kg + water.h_f(pressure) - water.h(feed, pressure)
    return np.asarray(rate) * per_kg
