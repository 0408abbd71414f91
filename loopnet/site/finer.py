"""The same weather in shorter steps: sun spread over each interval as its height asks, air drawn as straight lines."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.site.weather import Weather
from loopnet.units import to_si

__all__ = ["finer"]

Array = NDArray[np.float64]


def finer(weather: Weather, step: Any) -> Weather:
    """Weather in steps that divide those of the data.

    Parameters
    ----------
    weather : Weather
        As it was measured.
    step : str or float
        New step, such as "15 minute" [s].

    Returns
    -------
    Weather
        Direct sun keeps its strength over the part of an interval in which the sun is up, global and diffuse sun follow
        the sine of the sun's height; the energy of each interval stays as it was. Temperatures, wind and pressure run
        straight between the middles of intervals. No cloud is made up: what passed within an interval is not known.

    Raises
    ------
    ParameterError
        If the new step does not divide the old one, or is not whole seconds.

    Examples
    --------
    >>> from loopnet.site import tamarisk_basin
    >>> day = tamarisk_basin().slice(4000, 24)
    >>> quarter = finer(day, "15 minute")
    >>> len(quarter), bool(np.isclose(quarter.columns["dni"].sum() / 4, day.columns["dni"].sum()))
    (96, True)
    """
    seconds = float(to_si(step, "s"))
    parts = weather.step / seconds if seconds > 0 else 0.0
    if seconds % 1 or parts % 1 or parts < 1:
        raise ParameterError("the new step does not divide the old one", where="finer: step", got=f"{seconds:g} s",
                             allowed=f"whole seconds that divide {weather.step} s", hint='"15 minute" or "5 minute"')
    count = int(parts)
    if count == 1:
        return weather
    times = (weather.times[:, None] + np.arange(count) * np.timedelta64(int(seconds), "s")).ravel()
    shell = replace(weather, times=times, step=int(seconds), centre=seconds / 2,
                    columns={key: np.repeat(values, count) for key, values in weather.columns.items()})
    up = shell.sun["up"].to_numpy().reshape(-1, count)
    high = np.maximum(np.cos(shell.sun["zenith"].to_numpy()), 0.0).reshape(-1, count) * up
    old = weather.times.astype("f8") + weather.centre
    new = times.astype("f8") + seconds / 2
    columns = {key: _spread(values, up if key == "dni" else high) if key in ("dni", "ghi", "dhi")
               else np.interp(new, old, values) for key, values in weather.columns.items()}
    return replace(shell, columns=columns, notes=(
        *weather.notes, f"steps of {weather.step} s drawn as {int(seconds)} s; clouds within them are not known"))


def _spread(values: Array, weights: Array) -> Array:
    """Each value over the parts of its interval by weight, their mean kept; evenly where no part has weight."""
    mean = weights.mean(axis=1, keepdims=True)
    share = np.where(mean > 0.0, weights / np.where(mean > 0.0, mean, 1.0), 1.0)
    return np.asarray((values[:, None] * share).ravel())
