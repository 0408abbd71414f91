"""Where the sun stands, hour by hour: pvlib's solar position algorithm, taken at the middle of the sunlit part."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.site.place import Site

__all__ = ["extraterrestrial", "position", "sunlit"]

Array = NDArray[np.float64]
Times = NDArray[Any]


def position(moments: Times, site: Site) -> dict[str, Array]:
    """Position of the sun's centre at given moments, by the solar position algorithm (SPA).

    Parameters
    ----------
    moments : ndarray of datetime64, shape (n,)
        Moments in the site's *standard time*.
    site : Site
        Where.

    Returns
    -------
    dict
        ``zenith``, ``apparent_zenith`` (with refraction) and ``azimuth`` (clockwise from north), shape (n,) [rad].

    Notes
    -----
    TT - UT is held at 67 s, as in the published example; refraction at the site's mean pressure and 12 degC.

    References
    ----------
    Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302, rev. 2008.

    Examples
    --------
    The example of the report's appendix; it prints the apparent zenith for 820 mbar and 11 degC, 50.11162 deg:

    >>> golden = Site(latitude=39.742476, longitude=-105.1786, altitude=1830.14, timezone=-7)
    >>> sun = position(np.array(["2003-10-17T12:30:30"], "M8[s]"), golden)
    >>> [round(float(np.degrees(sun[key][0])), 3) for key in ("zenith", "apparent_zenith", "azimuth")]
    [50.128, 50.112, 194.34]
    """
    import pandas as pd
    from pvlib.solarposition import spa_python

    found: Any = spa_python(pd.DatetimeIndex(_utc(moments, site), tz="UTC"), site.latitude, site.longitude,
                            altitude=site.altitude, pressure=site.pressure, temperature=12.0, delta_t=67.0)
    return {key: np.radians(found[key].to_numpy(float)) for key in ("zenith", "apparent_zenith", "azimuth")}


def _utc(moments: Times, site: Site) -> Times:
    return moments.astype("M8[ms]") - np.timedelta64(round(site.offset * 1000), "ms")


def sunlit(centres: Times, step: int, site: Site) -> dict[str, Array]:
    """Position of the sun for intervals: at the middle, or where it rises or sets, at the middle of the sunlit part.

    Parameters
    ----------
    centres : ndarray of datetime64, shape (n,)
        Middles of the intervals, in standard time.
    step : int
        Length of an interval [s].
    site : Site
        Where.

    Returns
    -------
    dict
        As `position`, and ``up``: fraction of the interval with the centre of the sun above the horizon [-].

    Notes
    -----
    The cosine of the zenith is a parabola through start, middle and end of the interval; its roots are the sunrise and
    sunset (within some 5 s for an hour). Where the sun dips below the horizon inside an interval, the longer sunlit
    part counts for the position, both for `up`. Zenith without refraction decides, so ``up > 0`` and
    ``zenith < 90 deg`` always agree.
    """
    half = np.timedelta64(step * 500, "ms")
    middles = centres.astype("M8[ms]")
    edges, place = np.unique(np.concatenate([middles - half, middles + half]), return_inverse=True)
    sun = position(middles, site)
    height = np.cos(position(edges, site)["zenith"])[place]
    start, end = np.split(height, 2)
    lit, centre = _sunlit_part(start, np.cos(sun["zenith"]), end)
    some = (lit > 0) & (lit < 1)
    if some.any():
        shift = np.round((centre[some] - 0.5) * step * 1000).astype("m8[ms]")
        for key, values in position(middles[some] + shift, site).items():
            sun[key][some] = values
    sun["up"] = np.where(sun["zenith"] < np.pi / 2, lit, 0.0)
    return sun


def _sunlit_part(start: Array, middle: Array, end: Array) -> tuple[Array, Array]:
    """Lit fraction of [0, 1] and the middle of its longest part, from heights at 0, 1/2 and 1."""
    bend = 2 * start - 4 * middle + 2 * end
    slope = -3 * start + 4 * middle - end
    with np.errstate(invalid="ignore", divide="ignore"):
        # the stable pair of roots: q / a and c / q
        pivot = -0.5 * (slope + np.copysign(np.sqrt(slope**2 - 4 * bend * start), slope))
        roots = np.stack([pivot / bend, start / pivot])
    roots = np.sort(np.clip(np.nan_to_num(roots, nan=0.0, posinf=0.0, neginf=0.0), 0.0, 1.0), axis=0)
    marks = np.concatenate([np.zeros((1, start.size)), roots, np.ones((1, start.size))])
    length, mids = np.diff(marks, axis=0), 0.5 * (marks[1:] + marks[:-1])
    length = np.where(start + mids * (slope + mids * bend) > 0, length, 0.0)
    longest = length.argmax(axis=0)
    return length.sum(axis=0), np.take_along_axis(mids, longest[None], axis=0)[0]


def extraterrestrial(moments: Times) -> Array:
    """Direct normal sunlight outside the atmosphere (solar constant 1366.1 W/m2, Spencer's series, through pvlib).

    Parameters
    ----------
    moments : ndarray of datetime64, shape (n,)
        Moments; the day of the year counts.

    Returns
    -------
    ndarray, shape (n,)
        Irradiance [W/m2].

    References
    ----------
    Spencer, Fourier series representation of the position of the sun, Search 2 (1971) 172.

    Examples
    --------
    >>> [round(float(e)) for e in extraterrestrial(np.array(["2001-01-03", "2001-07-04"], "M8[D]"))]
    [1414, 1320]
    """
    from pvlib.irradiance import get_extra_radiation

    days = moments.astype("M8[D]")
    number = (days - days.astype("M8[Y]").astype("M8[D]")).astype(float) + 1
    return np.asarray(get_extra_radiation(number), float)
