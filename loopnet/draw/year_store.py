"""The store through the year: what it holds, day by day, between the least and the most of each day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from loopnet.draw.palette import KINDS, MUTED, lighter
from loopnet.draw.text import line_width
from loopnet.draw.year_map import ENERGY
from loopnet.draw.year_page import EDGE, Key, Page, months_along, unit_of
from loopnet.errors import SpecificationError
from loopnet.year import Year

__all__ = ["StoreDays", "draw_store_days", "store_days"]

NEARLY = 0.02
"""Share of the largest content within which a store counts as full [-]."""


@dataclass(frozen=True)
class StoreDays:
    """What a store holds above its emptiest, by day, each of shape (days,) [J]: least, mean and most.

    `filled` tells the days on which the content came within 2 % of its most in the year, `stopped` those on which load
    was not served for an hour or longer.
    """

    title: str
    days: pd.DatetimeIndex
    least: np.ndarray
    mean: np.ndarray
    most: np.ndarray
    filled: np.ndarray
    stopped: np.ndarray


def store_days(year: Year) -> StoreDays:
    """Content of the store by day.

    Parameters
    ----------
    year : Year

    Returns
    -------
    StoreDays

    Raises
    ------
    SpecificationError
        If the plant has no store.
    """
    content = year.hourly["store"]
    if not content.any():
        raise SpecificationError("no store to draw", where=f"plant {year.plant.name!r}", hint="a plant with a store")
    clock = pd.DatetimeIndex(content.index).tz_localize(None)
    by_day = pd.Series(content.to_numpy(), index=clock).groupby(clock.normalize())
    least, mean, most = (by_day.agg(how).to_numpy() for how in ("min", "mean", "max"))
    served = (year.hourly["generating"] + year.hourly["starting"]).to_numpy() > 0.0
    idle = pd.Series(~served, index=clock).groupby(clock.normalize()).sum().to_numpy() * year.step
    filled, stopped = most >= (1.0 - NEARLY) * float(content.max()), idle >= 3600.0
    return StoreDays(f"{year.plant.title}: the store is filled on {filled.sum()} of {len(least)} days; load stops on "
                     f"{stopped.sum()}", pd.DatetimeIndex(list(by_day.groups)), least, mean, most, filled, stopped)


def draw_store_days(year: Year | StoreDays, ax: Axes | None = None, *,
                    size: tuple[float, float] = (11.0, 3.8)) -> Axes:
    """Draw what the store holds through the year, as a band from the least to the most of each day.

    Parameters
    ----------
    year : Year or StoreDays
        What to draw.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds panel and keys.
    """
    drawn = year if isinstance(year, StoreDays) else store_days(year)
    page = Page.on(ax, size)
    high = float(drawn.most.max())
    unit, scale = unit_of(high, ENERGY)
    colour, band = KINDS["store"], lighter(KINDS["store"], 0.62)
    page.title(drawn.title)
    page.keys([Key(f"heat in the store, above its emptiest [{unit}]: least to most of the day", band),
               Key("mean of the day", colour, "line"), Key("day on which load stops", KINDS["heat"])])
    left, right = EDGE + line_width("00,000", page.size) + 6.0, page.width - EDGE - 2.0
    inner = page.panel(left, EDGE + 2.0 * page.size + 4.0, right, page.y - 0.3 * page.size)
    edges = np.arange(len(drawn.days) + 1.0)
    inner.stairs(drawn.most / scale, edges, baseline=drawn.least / scale, fill=True, color=band, linewidth=0.0)
    inner.plot(edges[:-1] + 0.5, drawn.mean / scale, color=colour, linewidth=1.3)
    page.quantity_axis(inner, 1.04 * high / scale, -0.05 * high / scale)
    inner.eventplot(edges[:-1][drawn.stopped] + 0.5, lineoffsets=-0.028 * high / scale, linelengths=0.03 * high / scale,
                    colors=KINDS["heat"], linewidths=max(1.0, 0.6 * (right - left) / len(drawn.days)))
    inner.axhline(0.0, color=MUTED, linewidth=0.5)
    months_along(inner, drawn.days, page.size, right - left)
    inner.grid(axis="x", color=MUTED, linewidth=0.35, alpha=0.6)
    return page.ax
