"""A week of a year in three aligned panels: the sun that comes, the heat that is kept, the power that leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from loopnet.draw.palette import INK, KINDS, MUTED, darker, lighter
from loopnet.draw.text import FONT, line_width
from loopnet.draw.year_map import ENERGY, POWER
from loopnet.draw.year_page import EDGE, Key, Page, unit_of
from loopnet.errors import ParameterError
from loopnet.year import Year

__all__ = ["Week", "draw_week", "week_of"]

LIT, HEAT, STORE = lighter(KINDS["sun"], 0.2), darker(KINDS["heat"], 0.25), KINDS["store"]
POWERED, KEPT, LINE = KINDS["electricity"], lighter(KINDS["store"], 0.35), lighter(MUTED, 0.25)
DASHES = (0, (4.0, 3.0))


@dataclass(frozen=True)
class Week:
    """Some days of a year, a value a step: `sun`, `collected`, `delivered` and `full` [W], `store` and `most` [J].

    `times` are starts of steps in clock time, with one more at the end; `store` has a value at each of these. `product`
    says what is delivered: net power, or heat drawn for the load where there is no turbine. `full` is the design net
    power where there is one, and `most` the largest content of the whole year.
    """

    title: str
    times: pd.DatetimeIndex
    sun: np.ndarray
    collected: np.ndarray
    store: np.ndarray
    delivered: np.ndarray
    product: str
    most: float
    full: float | None


def week_of(year: Year, start: str | pd.Timestamp | None = None, *, days: int = 7) -> Week:
    """Cut some days out of a year.

    Parameters
    ----------
    year : Year
    start : str or Timestamp, optional
        First day, such as "2001-07-04" or, without a year, "07-04"; none takes the days with the least sun.
    days : int
        How many [-].

    Returns
    -------
    Week

    Raises
    ------
    ParameterError
        If the days are not in the year, or the year is shorter than them.
    """
    table = year.hourly
    clock = pd.DatetimeIndex(table.index).tz_localize(None)
    steps = round(days * 86400 / year.step)
    midnights = np.flatnonzero(clock == clock.normalize())
    midnights = midnights[midnights + steps <= len(clock)]
    where, span = "week_of", f"{clock[0]:%Y-%m-%d} to {clock[-1]:%Y-%m-%d}"
    if days < 1 or not len(midnights):
        raise ParameterError("the year is shorter than the days asked for", where=where, got=f"{days} days",
                             allowed=f"whole days within {span}", hint="fewer days")
    if start is None:
        sums = np.concatenate(([0.0], np.cumsum(table["sun"].to_numpy())))
        first = int(midnights[np.argmin(sums[midnights + steps] - sums[midnights])])
        words = f"the {days} darkest days"
    else:
        first = _day(start, clock, midnights, where, span)
        words = f"{days} days"
    part = slice(first, first + steps)
    content = table["store"].to_numpy()
    inside = table["to_store"].any()
    before = content[first - 1] if first else max(0.0, content[0] - year.step * float(
        table["to_store"].iloc[0] - table["from_store"].iloc[0]))
    electric = bool(table["gross"].any())
    drawn = table["from_store"] if inside else table["collected"]
    delivered = table["net"] if electric else drawn if inside else drawn * table["generating"]
    step = pd.Timedelta(seconds=year.step)
    times = pd.date_range(clock[first], periods=steps + 1, freq=step)
    last = times[-1] - step
    return Week(f"{year.plant.title}: {words}, {times[0].day} {times[0]:%B} to {last.day} {last:%B}", times,
                table["sun"].to_numpy()[part], table["collected"].to_numpy()[part],
                np.concatenate(([before], content[part])), delivered.to_numpy()[part],
                "net power" if electric else "heat to the load", float(content.max()),
                float(year.plant.design.net_power) if electric and year.plant.design.net_power else None)


class _Bars(NamedTuple):
    """A panel: what it is called, its colour, values and most [SI], the units to choose from, what else is in it."""

    text: str
    colour: str
    values: np.ndarray
    most: float
    units: tuple[tuple[str, float], ...]
    others: tuple[Key, ...]

    def keys(self) -> list[Key]:
        return [Key(f"{self.text} [{unit_of(self.most, self.units)[0]}]", self.colour), *self.others]


def _day(start: str | pd.Timestamp, clock: pd.DatetimeIndex, midnights: np.ndarray, where: str, span: str) -> int:
    """Place of the midnight that a date means."""
    text = str(start)
    try:
        day = pd.Timestamp(f"{clock[0].year}-{text}" if text.count("-") == 1 else text)
        day = (day.tz_localize(None) if day.tzinfo else day).normalize()
    except ValueError:
        day = pd.NaT
    found = midnights[np.asarray(clock[midnights] == day)]
    if not len(found):
        raise ParameterError("these days are not in the year", where=f"{where}.start", got=repr(text),
                             allowed=f"a date such as 07-04, early enough within {span}", hint="an earlier date")
    return int(found[0])


def draw_week(year: Year | Week, start: str | None = None, ax: Axes | None = None, *, days: int = 7,
              size: tuple[float, float] = (9.0, 6.0)) -> Axes:
    """Draw sun, content of the store and power of some days in aligned panels.

    Parameters
    ----------
    year : Year or Week
        What to draw.
    start : str, optional
        First day, as `week_of` takes it; none takes the days with the least sun.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    days : int
        How many [-].
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds the panels.
    """
    drawn = year if isinstance(year, Week) else week_of(year, start, days=days)
    page = Page.on(ax, size)
    page.title(drawn.title)
    hours = np.asarray((drawn.times - drawn.times[0]) / pd.Timedelta(hours=1), dtype=float)
    rows = [_Bars("sun on the mirrors", LIT, drawn.sun, float(max(drawn.sun.max(), drawn.collected.max())), POWER,
                  (Key("heat that the field collects", HEAT, "line"),))]
    if drawn.most > 0.0:
        rows.append(_Bars("heat in the store, above its emptiest", KEPT, drawn.store, drawn.most, ENERGY,
                          (Key("its most in the year", LINE, "dashes"),)))
    rows.append(_Bars(drawn.product, POWERED if drawn.product == "net power" else HEAT, drawn.delivered,
                      max(float(drawn.delivered.max()), drawn.full or 0.0), POWER,
                      (Key("at the design point", LINE, "dashes"),) if drawn.full else ()))
    left, right, foot = EDGE + line_width("00,000", page.size) + 6.0, page.width - EDGE - 6.0, EDGE + 2 * page.size + 4
    tall = (page.y - foot - sum(page.key_room(row.keys()) for row in rows)) / len(rows) - 0.7 * page.size
    for row in rows:
        page.keys(row.keys())
        _, scale = unit_of(row.most, row.units)
        top = page.y + 0.2 * page.size
        axes = page.panel(left, top - tall, right, top)
        page.quantity_axis(axes, 1.06 * row.most / scale, 1.06 * min(0.0, float(row.values.min())) / scale)
        _days(axes, drawn.times, page, right - left, row is rows[-1])
        page.y = top - tall - 0.9 * page.size
        if row.units is ENERGY:
            axes.fill_between(hours, 0.0, row.values / scale, color=row.colour, linewidth=0.0)
            axes.plot(hours, row.values / scale, color=STORE, linewidth=1.2)
            axes.axhline(row.most / scale, color=LINE, linewidth=0.9, linestyle=DASHES)
        else:
            axes.stairs(row.values / scale, hours, fill=True, color=row.colour, linewidth=0.0)
        if row is rows[0]:
            axes.stairs(drawn.collected / scale, hours, color=HEAT, linewidth=1.4, baseline=None)
        if row is rows[-1] and drawn.full:
            axes.axhline(drawn.full / scale, color=LINE, linewidth=0.9, linestyle=DASHES)
    return page.ax


def _days(axes: Axes, times: pd.DatetimeIndex, page: Page, width: float, named: bool) -> None:
    """Midnights as ticks, days named between them in the lowest panel."""
    count = (times[-1] - times[0]) / pd.Timedelta(days=1)
    edges = np.arange(np.floor(count) + 1) * 24.0
    axes.set_xlim(0.0, count * 24.0)
    axes.set_xticks(edges, [""] * len(edges))
    axes.grid(axis="x", color=MUTED, linewidth=0.35, alpha=0.6)
    if named:
        every = int(np.ceil((line_width("Wed 30 Sep", page.size) + 4.0) * count / width)) or 1
        dates = [times[0] + pd.Timedelta(hours=float(edge)) for edge in edges[:-1:every]]
        axes.set_xticks(edges[:-1:every] + 12.0, [f"{d.day} {d:%b}" for d in dates], minor=True)
        axes.tick_params(axis="x", which="minor", length=0.0, pad=3.0, labelsize=page.size, labelfontfamily=FONT,
                         labelcolor=INK)
