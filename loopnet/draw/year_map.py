"""A year as a map: every day a column, every hour of the day a row, one hourly series in colour.
Scales run from light to dark and so read in grey; below zero they change hue."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, Normalize, TwoSlopeNorm

from loopnet.draw.palette import INK, MUTED
from loopnet.draw.text import line_width
from loopnet.draw.year_page import EDGE, Key, Page, months_along, round_numbers, unit_of
from loopnet.errors import ParameterError
from loopnet.year import Year

__all__ = ["HourMap", "draw_hour_map", "hour_grid", "hour_map"]

RAMPS = {"sun": ("#f6f6f5", "#f5c552", "#c9701d", "#5e2a06"), "heat": ("#f6f6f5", "#eea27c", "#c4501f", "#4f1a08"),
         "electricity": ("#f6f6f5", "#9db7d8", "#3f6ca8", "#0f2850"),
         "store": ("#f6f6f5", "#9ccbc6", "#3a8a86", "#0d3336"), "share": ("#f6f6f5", "#b9b3cf", "#6f5f9c", "#2b1d4f")}
"""Colours by kind of series, from none to most."""
BELOW = ("#ffd061", "#fff0c2")
"""Colours below zero, from least to almost none: of another hue, and in grey as light as nothing delivered."""
POWER = (("W", 1.0), ("kW", 1e3), ("MW", 1e6), ("GW", 1e9))
ENERGY = (("kWh", 3.6e6), ("MWh", 3.6e9), ("GWh", 3.6e12), ("TWh", 3.6e15))

SERIES = {
    "sun": ("sun on the mirrors", "power", "sun"), "collected": ("heat that the field collects", "power", "heat"),
    "to_store": ("heat to the store", "power", "heat"), "from_store": ("heat from the store", "power", "heat"),
    "gross": ("gross power", "power", "electricity"), "net": ("net power", "power", "electricity"),
    "delivered": ("what leaves the gate", "power", "electricity"),
    "frost": ("heat against freezing", "power", "heat"),
    "demand": ("demand", "power", "electricity"), "unmet": ("demand that is not met", "power", "sun"),
    "parasitic": ("power that the plant takes itself", "power", "electricity"),
    "store": ("heat in the store, above its emptiest,", "energy", "store"), "load": ("load", "share", "electricity"),
    "charging": ("share of the hour in which the store is charged", "share", "share"),
    "warming": ("share of the hour in which the field warms up", "share", "share"),
    "defocused": ("share of the sun that mirrors turn away", "share", "share"),
    "generating": ("share of the hour in which load is served", "share", "share"),
    "starting": ("share of the hour in which the turbine starts", "share", "share"),
    "hot": ("enthalpy at the hot end of the store", "enthalpy", "heat"),
    "cold": ("enthalpy at the cold end of the store", "enthalpy", "heat"),
}
"""Columns of a year's hours: what they are called, what they are measured in, and whose colours they take."""


@dataclass(frozen=True)
class HourMap:
    """A series by hour of the day and by day, with the unit that it is shown in.

    `values` has a row a step of the day and a column a day, in `unit`; steps without data are not a number. `total` is
    the sum over all hours in `total_unit`, where a sum means something.
    """

    title: str
    unit: str
    kind: str
    days: pd.DatetimeIndex
    values: np.ndarray
    step: float
    total: float | None = None
    total_unit: str = ""


def hour_grid(index: pd.DatetimeIndex, values: Any, step: float) -> tuple[pd.DatetimeIndex, np.ndarray]:
    """Lay a series out by step of the day and day, in the clock time of its index.

    Parameters
    ----------
    index : DatetimeIndex, shape (n,)
        Start of each step.
    values : array, shape (n,)
        The series, in any unit.
    step : float
        Length of a step [s].

    Returns
    -------
    days : DatetimeIndex, shape (days,)
        Midnight of each day.
    grid : array, shape (steps of a day, days)
        The series, in its own unit; not a number where the day has no data.

    Raises
    ------
    ParameterError
        If the step does not divide the day.
    """
    if 86400.0 % step or step > 43200.0:
        raise ParameterError("the step does not divide the day", where="map of hours", got=f"{step:g} s",
                             allowed="a part of 86400 s", hint="an hourly year")
    clock = pd.DatetimeIndex(index).tz_localize(None)
    days = pd.date_range(clock[0].normalize(), clock[-1].normalize(), freq="D")
    since = np.asarray((clock - days[0]) / pd.Timedelta(seconds=step), dtype=float)
    place = np.rint(since - since[0] % 1.0).astype(int)
    steps = int(86400 // step)
    grid = np.full(steps * len(days), np.nan)
    grid[place] = np.asarray(values, dtype=float)
    return days, grid.reshape(len(days), steps).T


def hour_map(year: Year, series: str = "net") -> HourMap:
    """Lay out a column of a year's hours by hour of the day and by day.

    Parameters
    ----------
    year : Year
    series : str
        A column of `year.hourly`.

    Returns
    -------
    HourMap

    Raises
    ------
    ParameterError
        If the year has no such column.
    """
    if series not in year.hourly:
        raise ParameterError("no such series", where="map of hours", got=repr(series),
                             allowed=", ".join(map(str, year.hourly)), hint="one of the allowed names")
    words, measure, kind = SERIES.get(series, (series.replace("_", " "), "plain", "share"))
    values = year.hourly[series].to_numpy(dtype=float)
    most = float(np.abs(values).max(initial=0.0))
    unit, size = {"power": lambda: unit_of(most, POWER), "energy": lambda: unit_of(most, ENERGY),
                  "share": lambda: ("%", 0.01), "enthalpy": lambda: ("kJ/kg", 1e3),
                  "plain": lambda: ("", 1.0)}[measure]()
    days, grid = hour_grid(year.hourly.index, values / size, year.step)
    total, total_unit, ending = None, "", ""
    if measure == "power":
        joule = float(values.sum()) * year.step
        total_unit, big = unit_of(abs(joule), ENERGY)
        total = joule / big
        ending = f", {total:,.4g} {total_unit} in all"
    return HourMap(f"{year.plant.title}: {words} hour by hour{ending}", unit, kind, days, grid, year.step, total,
                   total_unit)


def day_panel(page: Page, days: pd.DatetimeIndex, right: float) -> Axes:
    """A panel of days along and hours up, from the next row of the page down to its foot [pt]."""
    left = EDGE + line_width("24:00", page.size) + 7.0
    inner = page.panel(left, EDGE + 2.0 * page.size + 4.0, right, page.y - 0.5 * page.size)
    months_along(inner, days, page.size, right - left)
    inner.set_ylim(0.0, 24.0)
    inner.set_yticks((0, 6, 12, 18, 24), ("0:00", "6:00", "12:00", "18:00", "24:00"))
    inner.grid(axis="x", color=MUTED, linewidth=0.35, alpha=0.6)
    return inner


def draw_hour_map(year: Year | HourMap, series: str = "net", ax: Axes | None = None, *,
                  size: tuple[float, float] = (11.0, 4.2)) -> Axes:
    """Draw a series as a map: days along, hours of the day up.

    Parameters
    ----------
    year : Year or HourMap
        What to draw.
    series : str
        A column of the year's hours; a map that is given keeps its own.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds map and scale.
    """
    drawn = year if isinstance(year, HourMap) else hour_map(year, series)
    page = Page.on(ax, size)
    page.title(drawn.title)
    known = drawn.values[np.isfinite(drawn.values)]
    least, most = float(known.min(initial=0.0)), float(known.max(initial=0.0))
    if drawn.unit == "kJ/kg" and known.size:
        least = float(known.min())
    most = most if most > least else least + 1.0
    if least < 0.0 < most:
        page.keys([Key(f"below zero, down to {least:,.3g} {drawn.unit}", BELOW[0])])
        norm: Any = TwoSlopeNorm(0.0, least, most)
        colours = [(0.0, BELOW[0]), (0.5 - 1e-9, BELOW[1])]
        colours += [(0.5 + 0.5 * i / 3, colour) for i, colour in enumerate(RAMPS[drawn.kind])]
        ramp = LinearSegmentedColormap.from_list("signed", colours)
    else:
        norm, ramp = Normalize(least, most), LinearSegmentedColormap.from_list("plain", RAMPS[drawn.kind])
    marks = round_numbers(max(least, 0.0), most, 5)
    wide = max(line_width(f"{x:,.10g}", page.size) for x in marks)
    right = page.width - EDGE - max(wide, line_width(drawn.unit, page.size) - 14.0) - 24.0 * page.size / 8.0
    inner = day_panel(page, drawn.days, right)
    inner.imshow(np.ma.masked_invalid(drawn.values), origin="lower", aspect="auto", interpolation="nearest",
                 extent=(0, len(drawn.days), 0, 24), cmap=ramp, norm=norm)
    bottom, top = EDGE + 2.0 * page.size + 4.0, page.y - 2.7 * page.size
    bar = page.panel(right + 8.0, bottom, right + 8.0 + 10.0 * page.size / 8.0, top)
    levels = np.linspace(max(least, 0.0), most, 256)
    bar.imshow(levels[:, None], origin="lower", aspect="auto", extent=(0, 1, levels[0], most), cmap=ramp, norm=norm)
    bar.set_xticks([])
    bar.yaxis.tick_right()
    bar.spines[:].set_visible(False)
    bar.set_yticks(marks, [f"{x:,.10g}" for x in marks])
    page.ax.text(right + 8.0, page.y - 1.3 * page.size, drawn.unit, fontsize=page.size, color=INK, va="center")
    return page.ax
