"""Temperature along a bed, a block or the ground as time goes on: profiles at chosen times, and the course as a map."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, Normalize

from loopnet.draw.palette import INK, lighter
from loopnet.draw.text import line_width
from loopnet.draw.year_map import RAMPS
from loopnet.draw.year_page import EDGE, Key, Page, round_numbers
from loopnet.errors import ParameterError
from loopnet.year import Year

__all__ = ["BedProfiles", "beds_of", "draw_bed_profiles", "draw_bed_year"]

ZERO, DAY = 273.15, 86400.0
LONG = 10 * DAY
"""Stretch beyond which time is told in days [s]."""
SLOW = 0.1
"""Swing of a store in its liveliest day over that of the year, below which its profiles are those of the year [-]."""
FELT = 1.0
"""Change within a year below which a place is left out at the far end [K]."""
DASHES: tuple[Any, ...] = ((0, ()), (0, (5.0, 1.5)), (0, (2.0, 1.5)), (0, (5.0, 1.5, 1.0, 1.5)))


@dataclass(frozen=True)
class BedProfiles:
    """Temperatures in a bed.

    Attributes
    ----------
    times : array, shape (times,)
        Ascending [s].
    heights : array, shape (cells,)
        Middles of the cells along the bed, ascending or descending [m].
    temperatures : array, shape (times, cells)
        Of the stones [K].
    title : str
        Written over the picture.
    along, what : str
        What heights and temperatures are, with units.
    downward : bool
        Whether heights count from the top.

    Raises
    ------
    ParameterError
        If shapes do not fit, numbers are not finite, or times and heights are not in order.

    Examples
    --------
    A front that is a metre long:

    >>> height = np.linspace(0.05, 9.95, 100)
    >>> sharp = BedProfiles([0.0], height, [np.interp(height, [4.5, 5.5], [300.0, 800.0])])
    >>> float(sharp.front()[0].round(3))
    0.8
    """

    times: np.ndarray
    heights: np.ndarray
    temperatures: np.ndarray
    title: str = "Temperature in the bed"
    along: str = "height [m]"
    what: str = "temperature of the stones [degC]"
    downward: bool = False

    def __post_init__(self) -> None:
        for name in ("times", "heights", "temperatures"):
            object.__setattr__(self, name, np.array(getattr(self, name), dtype=float))
        times, heights, kelvin = self.times, self.heights, self.temperatures
        step = np.diff(heights)
        fits = (times.ndim == heights.ndim == 1 and times.size and heights.size > 2
                and kelvin.shape == (times.size, heights.size))
        if not (fits and all(np.isfinite(a).all() for a in (times, heights, kelvin))):
            raise ParameterError("profiles do not fit their times and heights, or hold numbers that are not finite",
                                 where="BedProfiles", got=f"{times.shape} times, {heights.shape} heights, "
                                 f"{kelvin.shape} temperatures", allowed="temperatures of shape (times, cells), 3 "
                                 "cells or more", hint="one row a time")
        if not (np.all(np.diff(times) > 0) and (np.all(step > 0) or np.all(step < 0))):
            raise ParameterError("times must ascend, and heights run one way", where="BedProfiles",
                                 got="values out of order", allowed="each once, in order", hint="sort them")

    def front(self, low: float = 0.1, high: float = 0.9) -> np.ndarray:
        """Length of the front: where the temperature lies between two parts of the span of all profiles.

        Parameters
        ----------
        low, high : float
            Parts of the span between the coldest and the hottest temperature of all [-].

        Returns
        -------
        array, shape (times,)
            Length of bed [m], on straight lines between cells; 0 where the whole bed is beyond one end.
        """
        coldest, span = self.temperatures.min(), np.ptp(self.temperatures) or 1.0
        share = (self.temperatures - coldest) / span
        first, second = share[:, :-1], share[:, 1:]
        least, most = np.minimum(first, second), np.maximum(first, second)
        rise = np.where(most > least, most - least, 1.0)
        part = np.clip((np.minimum(most, high) - np.maximum(least, low)) / rise, 0.0, 1.0)
        part = np.where(most > least, part, (least > low) & (least < high))
        return part @ np.abs(np.diff(self.heights))

    def chosen(self, number: int = 6) -> np.ndarray:
        """Places of some times, evenly spread from the first to the last, shape (number,) or fewer."""
        return np.unique(np.rint(np.linspace(0, len(self.times) - 1, number)).astype(int))


def draw_bed_profiles(profiles: BedProfiles, ax: Axes | None = None, *, number: int = 6,
                      size: tuple[float, float] = (10.0, 4.6), course: BedProfiles | None = None) -> Axes:
    """Draw profiles at some times beside a map of all times.

    Parameters
    ----------
    profiles : BedProfiles
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    number : int
        How many profiles are drawn as lines [-].
    size : (float, float)
        Width and height of a figure of its own [in].
    course : BedProfiles, optional
        What the map shows, at the same heights, where it is not the profiles themselves.

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds both panels.
    """
    page = Page.on(ax, size)
    page.title(profiles.title)
    shown = course or profiles
    heights, celsius = profiles.heights, profiles.temperatures - ZERO
    unit, word = _clock(profiles.times)
    picks = profiles.chosen(number)
    every = np.concatenate([celsius.ravel(), shown.temperatures.ravel() - ZERO])
    least, most = float(every.min()), float(every.max())
    most = most if most > least else least + 1.0
    looks = [(k, shade, DASHES[place % len(DASHES)]) for place, (k, shade) in
             enumerate(zip(picks, _shades(len(picks)), strict=True))]
    page.keys([Key(_when(profiles.times[k] / unit, word), shade, dashes) for k, shade, dashes in looks])
    foot, top = EDGE + 3.6 * page.size, page.y - 2.1 * page.size
    left = EDGE + line_width("000.0", page.size) + 6.0
    both = len(shown.times) > number
    marks = round_numbers(least, most)
    end = page.width - EDGE - line_width("0,000", page.size) - 24.0 * page.size / 8.0
    middle = left + 0.42 * (end - left) if both else page.width - EDGE - line_width("000", page.size)
    low, high = _ends(heights)
    limits = (high, low) if profiles.downward else (low, high)
    lines = page.panel(left, foot, middle, top)
    for k, shade, dashes in looks:
        lines.plot(celsius[k], heights, color=shade, linewidth=1.5, linestyle=dashes)
    margin = 0.03 * (most - least)
    lines.set_xlim(least - margin, most + margin)
    lines.set_xticks(marks, [f"{x:,.10g}" for x in marks])
    lines.set_ylim(*limits)
    steps = round_numbers(low, high)
    lines.set_yticks(steps, [f"{x:,.10g}" for x in steps])
    page.note(left, foot - 2.2 * page.size, profiles.what)
    page.note(EDGE, top + 1.9 * page.size, profiles.along)
    if not both:
        return page.ax
    ramp, norm = LinearSegmentedColormap.from_list("heat", RAMPS["heat"]), Normalize(least, most)
    area = page.panel(middle + 2.2 * page.size, foot, end, top)
    span, name = _clock(shown.times)
    clock = shown.times / span
    area.pcolormesh(_edges(clock), _edges(heights), shown.temperatures.T - ZERO, cmap=ramp, norm=norm, rasterized=True)
    ends = _ends(clock)
    for k, shade, _ in looks if course is None else ():
        share = (clock[k] - ends[0]) / (ends[1] - ends[0])
        area.plot((share, share), (1.0, 1.02), color=shade, linewidth=2.0, clip_on=False, transform=area.transAxes)
    area.set_xlim(*ends)
    area.set_ylim(*limits)
    ticks = round_numbers(clock[0], clock[-1], 5)
    area.set_xticks(ticks, [f"{x:,.10g}" for x in ticks])
    area.set_yticks(steps, [""] * len(steps))
    page.note(middle + 2.2 * page.size, foot - 2.2 * page.size, f"time [{'h' if name == 'h' else 'day'}]")
    bar = page.panel(end + 8.0, foot, end + 8.0 + 10.0 * page.size / 8.0, top)
    bar.imshow(np.linspace(least, most, 256)[:, None], origin="lower", aspect="auto", extent=(0, 1, least, most),
               cmap=ramp, norm=norm)
    bar.set_xticks([])
    bar.yaxis.tick_right()
    bar.spines[:].set_visible(False)
    bar.set_yticks(marks, [f"{x:,.10g}" for x in marks])
    page.note(end + 8.0, top + 1.9 * page.size, "degC")
    return page.ax


def beds_of(year: Year) -> tuple[BedProfiles, BedProfiles]:
    """Temperatures along the store of a year: those of its liveliest day, and those of the whole year.

    Where a day hardly moves the store, as in ground that keeps a summer, both are those of the year. The year is told
    once a day, at six in the evening; a shorter stretch in more detail. Far places that do not feel it are left out.

    Parameters
    ----------
    year : Year
        With `profiles`.

    Returns
    -------
    day, whole : BedProfiles

    Raises
    ------
    ParameterError
        If the year kept no profiles.
    """
    if year.profiles is None:
        raise ParameterError("this year kept no temperatures along its store", where=f"plant {year.plant.name!r}",
                             got="no profiles", allowed="a store with a profile", hint="a rock bed or the ground")
    kelvin, places = year.profiles.kelvin, year.profiles.places
    felt = np.flatnonzero(np.ptp(kelvin, axis=0) >= FELT)
    kept = max(int(felt[-1]) + 1 if felt.size else 0, 3)
    kelvin, places = kelvin[:, :kept], places[:kept]
    times = (np.arange(len(kelvin)) + 1.0) * year.step
    per = max(1, round(DAY / year.step))
    held = year.hourly["store"].to_numpy()[:len(kelvin) // per * per].reshape(-1, per)
    every = max(1, len(kelvin) // 400)
    every = per * round(every / per) if 2 * every > per else every  # whole days: always at the same hour
    begin = 3 * per // 4 if every >= per else 0
    name = year.plant.title or year.plant.name
    whole = BedProfiles(times[begin::every], places, kelvin[begin::every], f"{name}: temperature along the store",
                        "way from the hot end [m]", "temperature along the store [degC]", downward=True)
    swing = np.ptp(held, axis=1) if len(held) else np.zeros(0)
    if not swing.size or swing.max() < SLOW * np.ptp(held):
        return whole, whole
    day = int(swing.argmax())
    piece = slice(day * per, (day + 1) * per)
    date = year.hourly.index[day * per]
    return replace(whole, times=times[:per], temperatures=kelvin[piece],
                   title=f"{whole.title}, {date.day} {date:%B} and the year"), whole


def draw_bed_year(year: Year, ax: Axes | None = None, *, number: int = 6,
                  size: tuple[float, float] = (10.0, 4.6)) -> Axes:
    """Draw the temperatures along a store: profiles of its liveliest day beside a map of the year.

    Parameters
    ----------
    year : Year
        With `profiles`.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    number : int
        How many profiles are drawn as lines [-].
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
    """
    day, whole = beds_of(year)
    return draw_bed_profiles(day, ax, number=number, size=size, course=None if day is whole else whole)


def _clock(times: np.ndarray) -> tuple[float, str]:
    """Unit in which times are told [s], and its sign."""
    return (DAY, "d") if times[-1] - times[0] > LONG else (3600.0, "h")


def _when(time: float, word: str) -> str:
    return f"at {time:.4g} h" if word == "h" else f"day {time:.0f}"


def _shades(number: int) -> list[str]:
    """Colours from light to dark, as time goes on."""
    return [lighter(INK, 0.62 * (1.0 - k / max(number - 1, 1))) for k in range(number)]


def _edges(middles: np.ndarray) -> np.ndarray:
    """Edges between middles, and half a step beyond the ends."""
    inner = (middles[1:] + middles[:-1]) / 2
    return np.concatenate(([1.5 * middles[0] - 0.5 * middles[1]], inner, [1.5 * middles[-1] - 0.5 * middles[-2]]))


def _ends(middles: np.ndarray) -> tuple[float, float]:
    edges = _edges(middles)
    return float(edges.min()), float(edges.max())
