"""Where a plant stands: latitude, longitude, height above the sea and standard time."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from math import isfinite
from typing import Any

from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["Site", "standard_pressure", "utc_offset"]

LOWEST_OFFSET, HIGHEST_OFFSET = -12.0, 14.0
"""Hours from UTC [h]: the range of the zones in use (IANA time zone data base)."""

_ETC = re.compile(r"Etc/GMT([+-]\d{1,2})?$", re.IGNORECASE)
_FIXED = re.compile(r"(?:UTC|GMT)?\s*([+-])(\d{1,2})(?::?(\d{2}))?$", re.IGNORECASE)


def standard_pressure(altitude: float) -> float:
    """Mean air pressure at a height: ``p = 101325 (1 - 2.25577e-5 z)^5.25588``.

    Parameters
    ----------
    altitude : float
        Height above the sea [m], -500 to 11,000.

    Returns
    -------
    float
        Pressure [Pa].

    References
    ----------
    U.S. Standard Atmosphere 1976, troposphere, in the form of ASHRAE Handbook Fundamentals, ch. Psychrometrics, eq. 3
    (from memory).

    Examples
    --------
    >>> round(standard_pressure(1500.0), -1)
    84560.0
    """
    return float(101325.0 * (1.0 - 2.25577e-5 * altitude) ** 5.25588)


def utc_offset(zone: float | str) -> float:
    """Hours that standard time is ahead of UTC.

    Parameters
    ----------
    zone : float or str
        Hours [h], or a name: ``"Etc/GMT+7"`` (seven hours *behind* UTC, as in the IANA data base), ``"UTC-07:00"``,
        ``"+05:30"``, or a place without daylight saving time such as ``"America/Phoenix"``.

    Returns
    -------
    float
        Offset [h], east positive.

    Raises
    ------
    ParameterError
        If the zone is unknown, out of range, or changes its clocks during the year.

    Examples
    --------
    >>> utc_offset("Etc/GMT+7"), utc_offset(-7), utc_offset("UTC-07:00"), utc_offset("+05:30")
    (-7.0, -7.0, -7.0, 5.5)
    """
    hours = _named_offset(zone) if isinstance(zone, str) else _plain_offset(zone)
    if not isfinite(hours) or not LOWEST_OFFSET <= hours <= HIGHEST_OFFSET:
        raise ParameterError("time zone out of range", where="Site.timezone", got=repr(zone),
                             allowed=f"{LOWEST_OFFSET:g} to {HIGHEST_OFFSET:g} hours from UTC",
                             hint="hours east of UTC, negative in the Americas, such as -7")
    return hours


def _plain_offset(zone: Any) -> float:
    try:
        return float(zone)
    except (TypeError, ValueError):
        raise ParameterError("cannot read this as a time zone", where="Site.timezone", got=repr(zone),
                             allowed="hours from UTC or the name of a zone", hint='-7 or "Etc/GMT+7"') from None


def _named_offset(zone: str) -> float:
    text = zone.strip()
    if match := _ETC.match(text):
        return -float(match[1] or 0)
    if match := _FIXED.match(text):
        return (-1.0 if match[1] == "-" else 1.0) * (float(match[2]) + float(match[3] or 0) / 60)
    if text.upper() in ("UTC", "GMT", "Z"):
        return 0.0
    from zoneinfo import ZoneInfo  # reads its data base from disk, needed only for names of places

    try:
        place = ZoneInfo(text)
    except (KeyError, ValueError, OSError):
        return _plain_offset(zone)
    offsets = {dt.datetime(2023, month, 15, tzinfo=place).utcoffset() for month in range(1, 13)}
    if len(offsets) > 1:
        raise ParameterError("this zone changes its clocks during the year", where="Site.timezone", got=repr(zone),
                             allowed="standard time, the same all year",
                             hint='the zone\'s standard offset, such as "Etc/GMT+7" or -7')
    offset = offsets.pop()
    return offset.total_seconds() / 3600 if offset is not None else 0.0


@dataclass(frozen=True, kw_only=True)
class Site(Parameters):
    """A place on earth and its standard time.

    `timezone` may be given as hours or as a name (see `utc_offset`); it is kept as hours east of UTC [h].

    Examples
    --------
    >>> Site(name="Tamarisk Basin", latitude=31.2, longitude=-107.3, altitude=1150, timezone="Etc/GMT+7")
    Site('Tamarisk Basin', 31.2000 N, 107.3000 W, 1150 m, UTC-07:00)
    """

    name: str = "site"
    latitude: float = param(unit="deg", low=-90, high=90, source="user", doc="north positive")
    longitude: float = param(unit="deg", low=-180, high=180, source="user", doc="east positive")
    altitude: float = param(0.0, unit="m", low=-500, high=6000, source="user; range: dry land people build on",
                            doc="height above the sea")
    timezone: float | str = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        object.__setattr__(self, "timezone", utc_offset(self.timezone))

    @property
    def offset(self) -> float:
        """Standard time ahead of UTC [s]."""
        return float(self.timezone) * 3600.0

    @property
    def tz(self) -> dt.timezone:
        """Standard time as a fixed zone of the standard library."""
        return dt.timezone(dt.timedelta(seconds=self.offset))

    @property
    def pressure(self) -> float:
        """Mean air pressure at this height [Pa]."""
        return standard_pressure(self.altitude)

    def __repr__(self) -> str:
        north, east = "N" if self.latitude >= 0 else "S", "E" if self.longitude >= 0 else "W"
        return (f"Site({self.name!r}, {abs(self.latitude):.4f} {north}, {abs(self.longitude):.4f} {east}, "
                f"{self.altitude:.0f} m, {_utc_name(float(self.timezone))})")


def _utc_name(hours: float) -> str:
    minutes = round(abs(hours) * 60)
    return f"UTC{'-' if hours < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"
