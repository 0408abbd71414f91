"""What a plant did in every hour of its year, as a map: each hour is in one mode, and modes differ in lightness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap

from loopnet.draw.palette import PAPER
from loopnet.draw.year_map import day_panel, hour_grid
from loopnet.draw.year_page import EDGE, Key, Page
from loopnet.year import Year

__all__ = ["MODES", "MODE_COLOURS", "ModeMap", "draw_mode_map", "hour_modes", "mode_map"]

MODES = {
    "standby": "field and load at rest",
    "frost": "at rest, kept from freezing",
    "turned away": "mirrors turned away in part",
    "charging": "field at work, load at rest",
    "both": "field to the store, load served",
    "direct": "field straight to the load",
    "store alone": "load served from the store alone",
}
"""Modes and what they mean, from the lightest colour to the darkest."""
MODE_COLOURS = {"standby": "#fbfbfa", "frost": "#cdcced", "turned away": "#b3a43b", "charging": "#8e7946",
                "both": "#2a5466", "direct": "#0b2f49", "store alone": "#00061f"}
LEAST = 1e-3
"""Share of an hour below which something does not count as done in it [-]."""


@dataclass(frozen=True)
class ModeMap:
    """The mode of every hour by hour of the day and by day.

    `codes` has a row a step of the day and a column a day; each is the place of its mode in `MODES`, or not a number
    where there is no data. `hours` tells how long each mode lasted [h].
    """

    title: str
    days: pd.DatetimeIndex
    codes: np.ndarray
    hours: Mapping[str, float]


def hour_modes(year: Year) -> pd.Series:
    """The mode of every hour.

    Mirrors that look away come first; else it counts whether the field works (it brings heat or warms itself) and
    whether load is served (or the turbine starts), be it for a part of the hour only. A field at rest that is kept from
    freezing is named only where no load is served.

    Parameters
    ----------
    year : Year

    Returns
    -------
    Series of category, shape (hours,)
        Names of `MODES`.
    """
    table = year.hourly
    stored = table["to_store"] > 0.0
    field = (table["charging"] + table["warming"] > LEAST) | (table["collected"] > 0.0)
    load = table["generating"] + table["starting"] > LEAST
    frost = table["frost"] > 0.0
    names = np.select([table["defocused"] > LEAST, field & load & (stored | (table["from_store"] > 0.0)), field & load,
                       field, load, frost], ["turned away", "both", "direct", "charging", "store alone", "frost"],
                      "standby")
    return pd.Series(pd.Categorical(names, categories=list(MODES)), index=table.index, name="mode")


def mode_map(year: Year) -> ModeMap:
    """Lay out the modes of a year by hour of the day and by day.

    Parameters
    ----------
    year : Year

    Returns
    -------
    ModeMap
    """
    modes = hour_modes(year)
    days, codes = hour_grid(year.hourly.index, modes.cat.codes.to_numpy(), year.step)
    counts = modes.value_counts()
    return ModeMap(f"{year.plant.title}: what it did hour by hour", days, codes,
                   {name: float(counts[name] * year.step / 3600.0) for name in MODES})


def draw_mode_map(year: Year | ModeMap, ax: Axes | None = None, *, size: tuple[float, float] = (11.0, 4.2)) -> Axes:
    """Draw the mode of every hour as a map: days along, hours of the day up.

    Parameters
    ----------
    year : Year or ModeMap
        What to draw.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds map and keys.
    """
    drawn = year if isinstance(year, ModeMap) else mode_map(year)
    page = Page.on(ax, size)
    page.title(drawn.title)
    page.keys([Key(f"{MODES[name]}, {hours:,.0f} h", MODE_COLOURS[name]) for name, hours in drawn.hours.items()
               if hours])
    inner = day_panel(page, drawn.days, page.width - EDGE - 2.0)
    inner.set_facecolor(PAPER)
    inner.imshow(np.ma.masked_invalid(drawn.codes), origin="lower", aspect="auto", interpolation="nearest",
                 extent=(0, len(drawn.days), 0, 24), cmap=ListedColormap(list(MODE_COLOURS.values())),
                 vmin=-0.5, vmax=len(MODES) - 0.5)
    return page.ax
