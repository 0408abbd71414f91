"""Temperature over heat: every exchanger of a plant in a panel of its own, with the pinch of each stream marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from loopnet.draw.cycle_labels import Frame, Places
from loopnet.draw.palette import INK, KINDS, LOOPS, MUTED
from loopnet.draw.text import FONT, LINE, Box, line_width, quantity, wrap
from loopnet.draw.year_page import EDGE, Page, round_numbers, unit_of
from loopnet.errors import SpecificationError
from loopnet.plant import HeatExchange, Pinch

__all__ = ["HeatPanel", "PinchMark", "draw_exchanges", "layout_exchange", "panels_of"]

C = 273.15
POWER = (("W", 1.0), ("kW", 1e3), ("MW", 1e6))
HOT = KINDS["heat"]
COLD = ((LOOPS[3][0], ()), (LOOPS[1][0], (6.0, 1.8)), (LOOPS[2][0], (6.0, 1.8, 1.4, 1.8)), (LOOPS[5][0], (2.0, 1.4)))
"""Colour and dashes [pt] of the streams that are heated, from the cold end on."""


@dataclass(frozen=True)
class PinchMark:
    """A pinch on the page: both ends of its bar and the box of its words [pt]; `least` where it is the exchanger's."""

    pinch: Pinch
    text: str
    low: tuple[float, float]
    high: tuple[float, float]
    box: Box
    least: bool


@dataclass(frozen=True, eq=False)
class HeatPanel:
    """One exchanger on the page [pt]: frame, marks, and names of streams with their boxes."""

    exchange: HeatExchange
    frame: Frame
    unit: str
    scale: float
    marks: tuple[PinchMark, ...]
    names: tuple[tuple[str, str, Box], ...]
    """Name, colour and box of each stream."""


def layout_exchange(exchange: HeatExchange, box: Box, size: float = 8.0) -> HeatPanel:
    """Lay out the panel of an exchanger.

    Parameters
    ----------
    exchange : HeatExchange
    box : Box
        Where its axes go [pt].
    size : float
        Of the letters [pt].

    Returns
    -------
    HeatPanel
        No words lie over others.
    """
    unit, scale = unit_of(abs(exchange.heat), POWER)
    whole = exchange.heat / scale
    every = np.concatenate([exchange.hot, *(c.T for c in exchange.cold)]) - C
    room = max(float(every.max() - every.min()), 1.0)
    frame = Frame(box, (0.0, 1.001 * whole), (float(every.min()) - 0.12 * room, float(every.max()) + 0.14 * room))
    lines = [(exchange.share, exchange.hot), *((c.share, c.T) for c in exchange.cold)]
    places = Places(Box(box.x0 + 2, box.y0 + 2, box.x1 - 1, box.y1 + 2), np.concatenate(
        [frame.trace(share * whole, T - C) for share, T in lines]))
    found = exchange.pinches()
    smallest = min(found, key=lambda pinch: pinch.difference)
    bars = [tuple(tuple(map(float, frame.at(p.share * whole, T - C))) for T in (p.cold, p.hot)) for p in found]
    for low, high in bars:
        steps = np.linspace(low, high, 20)
        places.dots = np.concatenate([places.dots, steps])
    marks: list[PinchMark] = []
    pairs = _together(found, bars)

    def mark(parts: list[str], pinch: Pinch, low: tuple[float, float], high: tuple[float, float]) -> None:
        least = pinch is smallest
        where = f"at {100 * pinch.share:.0f} %"
        words = (f"{'pinch ' if least else ''}{_kelvin(pinch.difference)}",
                 f"{' and '.join(parts)}, {where}" if len(exchange.cold) > 1 else f"{where} of the heat")
        wide = max(line_width(words[0], size, bold=least), line_width(words[1], 0.9 * size))
        middle = (0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]))
        marks.append(PinchMark(pinch, "\n".join(words), low, high, places.settle(
            middle, wide + 2.0, 2.0 * LINE * size), least))

    pairs.sort(key=lambda pair: pair[1] is not smallest)
    mark(*pairs[0])
    names = []
    streams = [(exchange.hot_name or "hot", HOT, exchange.share, exchange.hot)]
    streams += [(c.name, COLD[i % len(COLD)][0], c.share, c.T) for i, c in enumerate(exchange.cold)]
    for name, colour, share, T in streams:
        middles = [float(share[0] + part * (share[-1] - share[0])) for part in (0.5, 0.65, 0.35, 0.8, 0.2)]
        points = [tuple(map(float, frame.at(x * whole, float(np.interp(x, share, T)) - C))) for x in middles]
        names.append((name, colour, places.settle(points[0], line_width(name, size, bold=True) + 2.0, LINE * size,
                                                  *points[1:])))
    for pair in pairs[1:]:
        mark(*pair)
    return HeatPanel(exchange, frame, unit, scale, tuple(marks), tuple(names))


def _together(found: Sequence[Pinch], bars: Sequence[Any]) -> list[tuple[list[str], Pinch, Any, Any]]:
    """Pinches with their bars; those of one place and one difference share a mark."""
    out: list[tuple[list[str], Pinch, Any, Any]] = []
    for pinch, (low, high) in sorted(zip(found, bars, strict=True), key=lambda pair: pair[0].difference):
        twin = next((kept for kept in out if abs(kept[1].share - pinch.share) < 1e-3
                     and abs(kept[1].difference - pinch.difference) < 0.05), None)
        if twin:
            twin[0].append(pinch.part)
        else:
            out.append(([pinch.part], pinch, low, high))
    return out


def _kelvin(difference: float) -> str:
    return f"{difference:.{1 if difference < 99.95 else 0}f} K"


def panels_of(exchanges: Sequence[HeatExchange], width: float, height: float, size: float = 8.0) -> list[HeatPanel]:
    """Panels in rows of up to three, filling a page.

    Parameters
    ----------
    exchanges : sequence of HeatExchange
    width, height : float
        Of the page below its title [pt].
    size : float
        Of the letters [pt].

    Returns
    -------
    list of HeatPanel
    """
    across = len(exchanges) if len(exchanges) <= 3 else 2 if len(exchanges) == 4 else 3
    down = -(-len(exchanges) // across)
    indent = line_width("1,000", size) + 6.0
    high, panels = (height - EDGE) / down, []
    for number, exchange in enumerate(exchanges):
        row = exchanges[number // across * across:][:across]
        # the more streams, the more room for their words
        parts = [1.6 if len(each.cold) > 2 else 1.0 for each in row] + [1.0] * (across - len(row))
        each, place = (width - 2 * EDGE) / sum(parts), number % across
        x0, wide, top = EDGE + each * sum(parts[:place]), each * parts[place], height - (number // across) * high
        box = Box(x0 + indent, top - high + 3.2 * size, x0 + wide - 1.4 * size, top - 3.6 * size)
        panels.append(layout_exchange(exchange, box, size))
    return panels


def draw_exchanges(exchanges: Sequence[HeatExchange], ax: Axes | None = None, *, title: str = "",
                   size: tuple[float, float] | None = None) -> Axes:
    """Draw exchangers as temperature over heat, each with its pinches.

    Parameters
    ----------
    exchanges : sequence of HeatExchange
        From `loopnet.study.cycles.exchanges_of`.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    title : str
        Over the picture.
    size : (float, float), optional
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points.

    Raises
    ------
    SpecificationError
        If there is no exchanger.
    """
    if not exchanges:
        raise SpecificationError("no exchanger to draw", where="draw_exchanges", got="none", allowed="one or more",
                                 hint="a plant with an exchanger, a boiler or an engine")
    rows = 1 if len(exchanges) <= 3 else -(-len(exchanges) // (2 if len(exchanges) == 4 else 3))
    page = Page.on(ax, size or (5.2 if len(exchanges) == 1 else 10.5, 1.0 + 3.6 * rows))
    page.title(title or "Temperature over heat, with every pinch")
    for panel in panels_of(exchanges, page.width, page.y, page.size):
        _draw_panel(page, panel)
    return page.ax


def _draw_panel(page: Page, panel: HeatPanel) -> None:
    exchange, frame, size = panel.exchange, panel.frame, page.size
    inner, whole = page.panel(*frame.box), exchange.heat / panel.scale
    inner.set_xlim(*frame.x)
    inner.set_ylim(*frame.y)
    for axis, ends in ((inner.xaxis, frame.x), (inner.yaxis, frame.y)):
        axis.set_ticks(round_numbers(*ends, number=4 if axis is inner.xaxis else 6))
        axis.set_major_formatter(lambda value, _: f"{value:,.10g}")
    inner.grid(color=MUTED, linewidth=0.35, alpha=0.3)
    inner.plot(exchange.share * whole, exchange.hot - C, color=HOT, linewidth=2.0 * size / 8.0, zorder=4)
    for i, curve in enumerate(exchange.cold):
        colour, dashes = COLD[i % len(COLD)]
        inner.plot(curve.share * whole, curve.T - C, color=colour, linewidth=1.7 * size / 8.0, zorder=4,
                   linestyle=(0, dashes) if dashes else "-")
    for mark in panel.marks:
        _draw_mark(page, mark)
    for name, colour, box in panel.names:
        page.ax.text((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, name, fontsize=size, family=FONT, weight="bold",
                     color=colour, ha="center", va="center", zorder=9, gid=f"stream:{name}", bbox=_PATCH)
    head = f"{exchange.component}: {exchange.name}, {quantity(whole)} {panel.unit}"
    top = frame.box.y1 + 2.9 * size
    for line in wrap(head, frame.box.x1 - frame.box.x0 + 12.0, size, bold=True)[:1]:
        page.ax.text(frame.box.x0 - 8.0, top - LINE * size, line, fontsize=size, family=FONT, weight="bold", color=INK,
                     va="baseline", parse_math=False)
    page.note(frame.box.x0 - 8.0, frame.box.y1 + 1.5 * size, "degC")
    words = f"heat [{panel.unit}]"
    page.note(frame.box.x1 - line_width(words, size), frame.box.y0 - 1.6 * size, words)


_PATCH = {"boxstyle": "square,pad=0.05", "facecolor": "white", "edgecolor": "none", "alpha": 0.78}


def _draw_mark(page: Page, mark: PinchMark) -> None:
    size, colour = page.size, INK if mark.least else MUTED
    page.ax.plot(*zip(mark.low, mark.high, strict=True), color=colour, linewidth=1.4 if mark.least else 0.8, zorder=8)
    for x, y in (mark.low, mark.high):
        page.ax.plot([x], [y], marker="_", markersize=5.0, color=colour, zorder=8)
    middle = (mark.low[0] + mark.high[0]) / 2, (mark.low[1] + mark.high[1]) / 2
    box = mark.box
    near = (min(max(middle[0], box.x0), box.x1), min(max(middle[1], box.y0), box.y1))
    if np.hypot(near[0] - middle[0], near[1] - middle[1]) > 1.2 * size:
        page.ax.plot((middle[0], near[0]), (middle[1], near[1]), color=MUTED, linewidth=0.45, zorder=7)
    for number, line in enumerate(mark.text.split("\n")):
        page.ax.text((box.x0 + box.x1) / 2, box.y1 - (number + 0.5) * (box.y1 - box.y0) / 2, line, zorder=9,
                     fontsize=size if number == 0 else 0.9 * size, family=FONT, ha="center", va="center",
                     weight="bold" if number == 0 and mark.least else "normal", color=colour, parse_math=False,
                     gid=f"pinch:{mark.pinch.part}:{number}", bbox=_PATCH)
