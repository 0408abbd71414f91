"""A page for pictures with time along the bottom: title and keys in measured rows, panels with axes under them.
Everything stays inside the axes that were given, so that a picture can be one of several on a figure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from loopnet.draw.figure import axes_size, new_axes
from loopnet.draw.palette import INK, MUTED, PAPER, darker
from loopnet.draw.text import FONT, LINE, line_width, wrap

__all__ = ["Key", "Page", "months_along", "round_numbers", "unit_of"]

EDGE = 8.0
SWATCH = 9.0
KEY_ROW = 1.6
"""Edge of the page and of a swatch [pt], height of a row of keys over the font size [-]."""


class Key(NamedTuple):
    """What a colour or a line stands for; `look` is "area", "line", "dashes" or a dash pattern of matplotlib."""

    text: str
    colour: str = INK
    look: Any = "area"


@dataclass
class Page:
    """Axes as a page of `width` by `height` points, filled from the top; `y` is where the next row goes."""

    ax: Axes
    width: float
    height: float
    size: float
    y: float

    @classmethod
    def on(cls, ax: Axes | None, size: tuple[float, float]) -> Page:
        """A page on given axes, or on a figure of its own of `size` [in]."""
        ax = new_axes(*size) if ax is None else ax
        width, height = axes_size(ax)
        ax.set_axis_off()
        ax.set_xlim(0.0, width)
        ax.set_ylim(0.0, height)
        return cls(ax, width, height, 8.0 * min(1.0, width / 420.0, height / 200.0), height - EDGE)

    def _write(self, x: float, top: float, text: str, size: float, **style: Any) -> None:
        given: dict[str, Any] = {"color": INK, "ha": "left", **style}
        self.ax.text(x, top - LINE * size + 0.29 * size, text, fontsize=size, family=FONT, va="baseline",
                     parse_math=False, **given)

    def title(self, text: str) -> None:
        """Write the title over what follows."""
        size = self.size * 1.3
        for line in wrap(text, self.width - 2 * EDGE, size, bold=True):
            self._write(EDGE, self.y, line, size, weight="bold")
            self.y -= LINE * size
        self.y -= 0.4 * self.size

    def note(self, x: float, top: float, text: str) -> None:
        """Write a few words from `x` to the right, under `top` [pt]."""
        self._write(x, top, text, self.size)

    def keys(self, keys: Sequence[Key]) -> None:
        """Write a row of keys, or as many rows as they need."""
        high = SWATCH * self.size / 8.0
        for row in self._rows(keys):
            x, middle = EDGE, self.y - LINE * self.size / 2
            for key, wide in row:
                end = x + self._swatch(key)
                if key.look == "area":
                    self.ax.add_patch(Rectangle((x, middle - high / 2), high, high, facecolor=key.colour,
                                                edgecolor=darker(key.colour, 0.3), linewidth=0.5))
                elif key.look:
                    look = {"dashes": (0, (4.0, 3.0)), "line": "-"}.get(str(key.look), key.look)
                    self.ax.plot((x, end), (middle, middle), color=key.colour, linewidth=1.5, linestyle=look)
                self._write(end + 0.5 * self.size, self.y, key.text, self.size)
                x += wide
            self.y -= KEY_ROW * self.size

    def _swatch(self, key: Key) -> float:
        """Width of the sample before the words of a key [pt]; lines are long enough to show their dashes."""
        return SWATCH * self.size / 8.0 * (1.0 if key.look == "area" else 1.5 if key.look in ("line", "") else 2.8)

    def _rows(self, keys: Sequence[Key]) -> list[list[tuple[Key, float]]]:
        """Keys in the rows in which they fit, each with the room it takes [pt]."""
        rows: list[list[tuple[Key, float]]] = []
        used = self.width
        for key in self._short(keys):
            wide = self._swatch(key) + 0.5 * self.size + line_width(key.text, self.size)
            if used + wide > self.width - 2 * EDGE:
                rows.append([])
                used = 0.0
            rows[-1].append((key, wide + 1.6 * self.size))
            used += wide + 1.6 * self.size
        return rows

    def _short(self, keys: Sequence[Key]) -> Iterator[Key]:
        """Keys whose words are wider than the page go on in keys without a sample."""
        for key in keys:
            room = 0.97 * (self.width - 2 * EDGE - self._swatch(key) - 0.5 * self.size)  # small letters are drawn wider
            for place, line in enumerate(wrap(key.text, room, self.size)):
                yield key._replace(text=line, look="" if place else key.look)

    def key_room(self, keys: Sequence[Key]) -> float:
        """Height that a row of keys takes, or as many rows as it needs [pt]."""
        return KEY_ROW * self.size * len(self._rows(keys))

    def panel(self, x0: float, y0: float, x1: float, y1: float) -> Axes:
        """Axes between two corners of the page [pt]."""
        inner = self.ax.inset_axes((x0 / self.width, y0 / self.height, (x1 - x0) / self.width, (y1 - y0) / self.height))
        inner.set_facecolor(PAPER)
        for side in ("top", "right"):
            inner.spines[side].set_visible(False)
        for side in ("left", "bottom"):
            inner.spines[side].set_color(MUTED)
            inner.spines[side].set_linewidth(0.6)
        inner.tick_params(labelsize=self.size, labelcolor=INK, color=MUTED, width=0.6, length=3.0, pad=2.0,
                          labelfontfamily=FONT)
        return inner

    def quantity_axis(self, inner: Axes, most: float, least: float = 0.0) -> None:
        """A vertical axis from `least` to `most`, in the panel's own unit, with few round numbers."""
        most = most if most > least else least + 1.0
        inner.set_ylim(least, most)
        inner.yaxis.set_ticks(round_numbers(least, most))
        inner.yaxis.set_major_formatter(lambda value, _: f"{value:,.10g}")


def round_numbers(least: float, most: float, number: int = 4) -> np.ndarray:
    """Round numbers between two ends, about `number` of them, in the unit of the ends.

    >>> round_numbers(0.0, 23.0).tolist()
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    rough = (most - least) / number
    power = 10.0 ** np.floor(np.log10(rough))
    step = power * next(s for s in (1.0, 2.0, 2.5, 5.0, 10.0) if s * power >= 0.85 * rough)
    return np.arange(np.ceil(least / step - 1e-9), np.floor(most / step + 1e-9) + 0.5) * step + 0.0


def unit_of(most: float, units: Sequence[tuple[str, float]]) -> tuple[str, float]:
    """The largest unit in which a quantity is not below two; `units` are names and sizes, smallest first [SI].

    >>> unit_of(2.5e7, (("kW", 1e3), ("MW", 1e6), ("GW", 1e9)))
    ('MW', 1000000.0)
    """
    return next(((name, size) for name, size in reversed(units) if most >= 2.0 * size), units[0])


def months_along(inner: Axes, days: pd.DatetimeIndex, size: float, width: float) -> None:
    """Mark the months of a stretch of days on a horizontal axis that counts days; days, where it is a short one.

    Parameters
    ----------
    inner : matplotlib Axes
    days : DatetimeIndex, shape (days,)
    size, width : float
        Font size and width of the axes [pt].
    """
    inner.set_xlim(0.0, len(days))
    number = np.arange(len(days))
    if len(days) <= 62:
        room = line_width("30 Sep", size) + size
        every = int(np.ceil(len(days) * room / width)) or 1
        inner.set_xticks(number[::every] + 0.5, [f"{day.day} {day:%b}" for day in days[::every]])
        return
    first = number[np.asarray(days.day == 1) & (number > 0)]
    edges = np.concatenate(([0], first, [len(days)]))
    inner.set_xticks(first, [""] * len(first))
    names, middles = [], []
    for begin, end in pairwise(edges.tolist()):
        name = f"{days[begin]:%b}"
        if (end - begin) * width / len(days) > line_width(name, size) + 2.0:
            names.append(name)
            middles.append((begin + end) / 2)
    inner.set_xticks(middles, names, minor=True)
    inner.tick_params(axis="x", which="minor", length=0.0, pad=3.0, labelsize=size, labelcolor=INK,
                      labelfontfamily=FONT)
