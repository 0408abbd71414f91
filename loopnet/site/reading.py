"""Reading a weather file: lines, table, hours, sun, repairs, in that order; one call."""

from __future__ import annotations

import os
from typing import Any

import numpy as np

from loopnet.errors import ParameterError
from loopnet.site.formats import Table, parse
from loopnet.site.hours import to_intervals
from loopnet.site.place import Site
from loopnet.site.repair import repaired
from loopnet.site.source import Source, open_source
from loopnet.site.sun import sunlit
from loopnet.site.weather import Weather

__all__ = ["read_weather"]

FAR_ZONE = 3.5
"""Standard time and sun differ by at most this anywhere [h], so more is noted. Common practice, no source."""


def read_weather(path: str | os.PathLike[str], *, repair: bool = True, partial: bool = False) -> Weather:
    """Read a year of weather from a file: EPW, TMY3, or CSV with two lines of site data (NSRDB style).

    Parameters
    ----------
    path : str or path
        The file; its format is recognised from its content.
    repair : bool
        Whether gaps and nonsense of up to 3 hours may be filled; each repair is in ``notes``. False refuses any.
    partial : bool
        Whether less than a calendar year will do. Holes inside are refused all the same.

    Returns
    -------
    Weather
        Hours of EPW and TMY3 (1 to 24) are ends of intervals; stamps of NSRDB style are moments: those in the middle of
        the step (minute 30) mean the interval around them. Stamps are standard time of the zone in the file's header.
        Months from several years are moved to one year; a leap year of 8,784 hours keeps them.

    Raises
    ------
    DataError
        If the file cannot be used; names file, rows (counted from 1, headers included), column, and what to try.

    References
    ----------
    EnergyPlus Auxiliary Programs, EPW data dictionary; Wilcox and Marion, Users Manual for TMY3 Data Sets,
    NREL/TP-581-43156 (2008).

    Examples
    --------
    >>> import pathlib, pvlib
    >>> year = read_weather(pathlib.Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
    >>> year.name, len(year), round(year.summary()["dni_kwh_m2"])
    ('GREENSBORO PIEDMONT TRIAD INT, NC', 8760, 1477)
    """
    source = open_source(path)
    table = parse(source)
    site = _site(source, table)
    hours = to_intervals(table.stamps, partial)
    moments = hours.times.astype("M8[ms]") + np.timedelta64(round(hours.centre * 1000), "ms")
    sun = sunlit(moments, hours.step, site)
    columns, notes = repaired(table, site, moments, sun, hours.step, repair)
    notes = (*source.notes, *hours.notes, *_far(site), *notes)
    weather = Weather(name=site.name, site=site, source=f"{table.kind} file {os.path.basename(os.fspath(path))}",
                      times=hours.times, columns=columns, step=hours.step, centre=hours.centre, notes=notes)
    weather.__dict__["_sun"] = sun  # known already; the property would compute the same again
    return weather


def _site(source: Source, table: Table) -> Site:
    fields: dict[str, Any] = {**table.place, "name": table.place["name"] or "site"}
    try:
        return Site(**fields)
    except ParameterError as why:
        raise source.error(f"the place in the header is not on earth: {why.what}", rows=source.rows[:2],
                           column=why.where.removeprefix("Site."), got=why.got, allowed=why.allowed,
                           hint="check the header lines") from None


def _far(site: Site) -> tuple[str, ...]:
    sun = site.longitude / 15
    off = (float(site.timezone) - sun + 12) % 24 - 12
    return (f"warning: the time zone, {float(site.timezone):+g} h, is {abs(off):.1f} h from the sun's at this "
            f"longitude ({sun:+.1f} h); hours of the day are the file's",) if abs(off) > FAR_ZONE else ()
