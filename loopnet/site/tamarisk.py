"""Tamarisk Basin, the demo site: an invented year of an invented dry upland valley, the same on every machine."""

from __future__ import annotations

from itertools import accumulate
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.site.place import Site
from loopnet.site.sun import extraterrestrial, sunlit
from loopnet.site.weather import Weather

__all__ = ["TAMARISK", "tamarisk_basin"]

Array = NDArray[np.float64]

YEAR, DAYS, HOURS, STEP = 2001, 365, 8760, 3600
SEED = 20010615
TAMARISK = Site(name="Tamarisk Basin", latitude=31.2, longitude=-107.3, altitude=1150.0, timezone=-7.0)

# Every number below is an assumption, chosen to look like a dry upland valley with rain in late summer and a few winter
# fronts; none was fitted to a place.
CLEAR, BROKEN, OVERCAST = 0, 1, 2
DRY_DAYS = ((0.78, 0.17, 0.05), (0.50, 0.36, 0.14), (0.40, 0.36, 0.24))
"""Chance of tomorrow's sky (clear, broken, overcast) after each sky of today, in the dry months."""
WET_DAYS = ((0.56, 0.36, 0.08), (0.33, 0.50, 0.17), (0.28, 0.45, 0.27))
"""The same at the height of the rains."""
BEAM_SHARE = ((0.95, 0.05), (0.55, 0.33), (0.10, 0.13))
"""Mean share of the clear-sky beam that comes through, and the swing from hour to hour, for each sky."""


def tamarisk_basin() -> Weather:
    """A year at Tamarisk Basin. Invented data, for the demo only: never a ground for a decision about a real place.

    Returns
    -------
    Weather
        8,760 hours of the year 2001.

    Notes
    -----
    Clear sky by the simplified Solis model with seasonal water vapour and dust; the beam is multiplied by a cloud
    process (a Markov chain of days, a correlated texture of hours), and part of what the beam loses returns as diffuse
    light, so global = direct x cos(zenith) + diffuse holds. Ambient temperature has waves of the year and of the day.
    Randomness is uniform numbers of one seeded PCG64; values are rounded as a station reports them (1 W/m2 beam and
    diffuse, 0.1 K, 0.1 m/s, 10 Pa), so that last digits of a machine's arithmetic do not show.

    References
    ----------
    Ineichen, A broadband simplified version of the Solis clear sky model, Solar Energy 82 (2008) 758.

    Examples
    --------
    >>> year = tamarisk_basin()
    >>> len(year), year.invented, round(year.summary()["dni_kwh_m2"])
    (8760, True, 2553)
    """
    times = np.datetime64(f"{YEAR}-01-01", "s") + np.arange(HOURS) * np.timedelta64(STEP, "s")
    uniform = np.random.Generator(np.random.PCG64(SEED)).random((6, HOURS))
    season = 2 * np.pi * (np.arange(HOURS) / HOURS)
    clock = np.arange(HOURS, dtype=float) % 24 + 0.5
    rains = np.exp(-(((np.arange(HOURS) / 24 - 218) / 34) ** 2))  # the wet season, at its height in early August

    share, sky = _clouds(uniform[0], uniform[1], rains, clock)
    ambient, dew = _air(uniform[2], uniform[3], season, clock, rains, sky)
    wind = _wind(uniform[4], season, clock, sky)
    pressure = TAMARISK.pressure + 250 * _walk(_days(uniform[5]), 0.8) + 110 * np.cos(season)

    sun = sunlit(times.astype("M8[ms]") + np.timedelta64(STEP * 500, "ms"), STEP, TAMARISK)
    dni, dhi = _sky(sun, times, share, rains, pressure)
    columns = {"dni": dni, "dhi": dhi, "ghi": np.round(dni * np.cos(sun["zenith"]) * (dni > 0) + dhi, 1),
               "ambient": np.round(np.round(ambient, 1) + 273.15, 2),
               "dew_point": np.round(np.round(dew, 1) + 273.15, 2),
               "wind": np.round(wind, 1), "pressure": np.round(pressure, -1)}
    year = Weather(name=TAMARISK.name, site=TAMARISK, times=times, columns=columns, step=STEP, invented=True,
                   source="invented for the demo: simplified Solis clear sky times a seeded cloud process",
                   notes=("Invented data, for the demo only.",))
    year.__dict__["_sun"] = sun  # known already; the property would compute the same again
    return year


def _days(uniform: Array) -> Array:
    """One uniform number a day, held at noon and joined by straight lines: shape (HOURS,), in -1..1."""
    values = 2 * uniform[12::24] - 1
    return np.interp(np.arange(HOURS), np.arange(DAYS) * 24 + 12, values)


def _walk(noise: Array, memory: float) -> Array:
    """First-order memory over noise of -1..1, scaled to a standard deviation of about one."""
    walk = np.array(list(accumulate(noise.tolist(), lambda held, new: memory * held + new)))
    return walk / walk.std()


def _clouds(days: Array, hours: Array, rains: Array, clock: Array) -> tuple[Array, NDArray[np.intp]]:
    """Share of the beam that comes through each hour [-], and the state of the sky."""
    state, states = CLEAR, []
    for chance, wet in zip(days[::24], rains[12::24], strict=True):
        odds = np.cumsum((1 - wet) * np.array(DRY_DAYS[state]) + wet * np.array(WET_DAYS[state]))
        state = min(int(np.searchsorted(odds, chance)), OVERCAST)
        states.append(state)
    sky = np.repeat(np.array(states, np.intp), 24)
    mean, swing = np.array(BEAM_SHARE)[sky].T
    build_up = 0.30 * rains * (sky == BROKEN) * np.clip((clock - 12) / 5, -0.6, 1)  # clouds grow in wet afternoons
    share = mean - build_up + swing * _walk(2 * hours - 1, 0.6)
    return np.clip(share, 0.0, 1.0), sky


def _air(days: Array, hours: Array, season: Array, clock: Array, rains: Array,
         sky: NDArray[np.intp]) -> tuple[Array, Array]:
    """Dry bulb and dew point [degC]."""
    clear = np.interp(np.arange(HOURS), np.arange(DAYS) * 24 + 12, 1 - 0.35 * sky[12::24])
    mean = 18.2 - 10.3 * np.cos(season - 0.38) - 1.5 * rains + 2.6 * _walk(_days(days), 0.96)
    angle = 2 * np.pi * (clock - 15.2) / 24
    wave = np.cos(angle) + 0.18 * np.cos(2 * angle)  # a quick morning, a slow evening
    ambient = mean + (7.6 - 1.5 * rains) * clear * wave + 0.35 * _walk(2 * hours - 1, 0.7)
    dew = -3.5 - 3.0 * np.cos(season - 0.5) + 13.0 * rains + 2.2 * np.interp(
        np.arange(HOURS), np.arange(DAYS) * 24 + 12, sky[12::24].astype(float)) + 1.2 * _walk(2 * days - 1, 0.97)
    return ambient, np.minimum(dew, ambient - 0.5)


def _wind(uniform: Array, season: Array, clock: Array, sky: NDArray[np.intp]) -> Array:
    """Wind at 10 m [m/s]: calm nights, breezy afternoons, most in spring."""
    day = 1 + 0.55 * np.cos(2 * np.pi * (clock - 16) / 24)
    year = 1 + 0.22 * np.sin(season)
    gusts = np.exp(0.45 * _walk(2 * uniform - 1, 0.9))
    return 2.7 * day * year * gusts * (1 + 0.15 * sky)


def _sky(sun: dict[str, Array], times: NDArray[Any], share: Array, rains: Array,
         pressure: Array) -> tuple[Array, Array]:
    """Direct normal and diffuse [W/m2] as means of the hour."""
    from pvlib.clearsky import simplified_solis

    up = sun["up"] > 0
    outside = extraterrestrial(times)
    dust = 0.065 + 0.035 * np.exp(-(((np.arange(HOURS) / 24 - 110) / 45) ** 2)) + 0.02 * rains
    clear = simplified_solis(90.0 - np.degrees(sun["apparent_zenith"][up]), aod700=dust[up],
                             precipitable_water=(0.8 + 1.9 * rains)[up], pressure=pressure[up],
                             dni_extra=outside[up])
    height, lit, through = np.cos(sun["zenith"][up]), sun["up"][up], share[up]
    dni, dhi = np.zeros(HOURS), np.zeros(HOURS)
    lost = (1 - through) * clear["dni"] * height
    dni[up] = np.round(lit * np.minimum(clear["dni"] * through, outside[up]))
    dhi[up] = np.round(lit * (clear["dhi"] + lost * (0.42 - 0.18 * (1 - through))))
    return dni, dhi
