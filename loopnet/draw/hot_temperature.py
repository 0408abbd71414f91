"""How hot a circuit should run, as a picture: cost, efficiencies and what the cost is made of, over the temperature."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from loopnet.draw.cycle_labels import Frame, Places
from loopnet.draw.palette import INK, KINDS, LOOPS, MUTED, lighter
from loopnet.draw.text import FONT, LINE, Box, line_width
from loopnet.draw.year_page import EDGE, Key, Page, round_numbers
from loopnet.study.hot_temperature import TemperatureCurve
from loopnet.units import show

__all__ = ["cost_ends", "draw_temperatures", "temperature_ends"]

C = 273.15
SHARES = (("field", "heat from sun", KINDS["heat"], ()), ("cycle", "electricity from heat", LOOPS[3][0], (5.0, 1.6)),
          ("whole", "product from sun", INK, (6.0, 1.6, 1.4, 1.6)),
          ("receiver", "lost by the receiver", MUTED, (1.6, 1.3)))
"""Efficiency, its words, colour and dashes [pt]."""
FILLS = (KINDS["sun"], KINDS["heat"], KINDS["electricity"], KINDS["store"], LOOPS[2][0], LOOPS[1][0], LOOPS[5][0],
         KINDS["loss"])


def cost_ends(curve: TemperatureCurve) -> tuple[float, float]:
    """Ends of the axis of cost [ct/kWh]: from a little below the least to twice as far above it as the flat part, or to
    the highest cost if that is nearer.

    >>> from loopnet.study.hot_temperature import TemperaturePoint
    >>> points = tuple(TemperaturePoint(T, cost) for T, cost in ((600.0, 0.12), (700.0, 0.10), (800.0, 0.30)))
    >>> [round(x, 2) for x in cost_ends(TemperatureCurve("p", "P", "heat", "oil", 700.0, (600.0, 800.0), ("", ""),
    ...     points))]
    [9.2, 14.0]
    """
    costs = np.array([100.0 * point.cost for point in curve.standing])
    least = float(costs.min())
    top = min(float(costs.max()), 1.4 * least)
    top = max(top, 1.03 * least)
    return least - 0.2 * (top - least), max(top, least + 1e-6)


def temperature_ends(curve: TemperatureCurve) -> tuple[float, float]:
    """Ends of the axis of temperature [degC]: of what can be built, and the nearest that cannot where it is near.

    >>> from loopnet.study.hot_temperature import TemperaturePoint
    >>> points = (TemperaturePoint(300.0, why="freezes"), *(TemperaturePoint(T, 0.1) for T in (500.0, 600.0)),
    ...     TemperaturePoint(610.0, why="too hot"))
    >>> [round(T + 273.15) for T in temperature_ends(TemperatureCurve("p", "P", "heat", "oil", 500.0, (300.0, 610.0),
    ...     ("", ""), points))]
    [498, 612]
    """
    low, high = curve.standing[0].outlet, curve.standing[-1].outlet
    room = max(0.3 * (high - low), 2.0)
    near = [point.outlet for point in curve.points if low - room <= point.outlet <= high + room]
    edge = max(0.02 * (max(near) - min(near)), 0.5)
    return min(near) - edge - C, max(near) + edge - C


def draw_temperatures(curve: TemperatureCurve, ax: Axes | None = None, *,
                      size: tuple[float, float] = (9.0, 7.4)) -> Axes:
    """Draw cost, efficiencies and parts of the cost over the outlet temperature of the field.

    Parameters
    ----------
    curve : TemperatureCurve
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds three panels.
    """
    page = Page.on(ax, size)
    page.title(f"{curve.title}: how hot {curve.medium} should leave the field")
    left, right = EDGE + line_width("00.00", page.size) + 8.0, page.width - EDGE - 4.0
    along = temperature_ends(curve)
    foot, head = EDGE + 3.4 * page.size, page.y
    high = (head - foot) / 3.0
    for number, (title, fill) in enumerate((
            (f"a kWh of {curve.product} costs [ct]", _costs), ("over the year [%]", _shares),
            ("what that is made of [ct/kWh]", _parts))):
        top = head - number * high
        keys = _keys(curve, number)
        page.y = top - LINE * page.size
        page.note(left - 8.0, top, title)
        page.keys(keys)
        box = Box(left, top - high + (1.9 * page.size if number < 2 else 0.0), right, page.y - 0.5 * page.size)
        inner = page.panel(*box)
        fill(page, inner, curve, Frame(box, along, (0.0, 1.0)))
        inner.set_xlim(*along)
        inner.set_xticks(round_numbers(*along, number=8))
        inner.xaxis.set_major_formatter(lambda value, _: f"{value:.10g}")
        inner.grid(color=MUTED, linewidth=0.35, alpha=0.3)
        if number < 2:
            inner.tick_params(labelbottom=False)
    words = "outlet of the field [degC]"
    page.note(right - line_width(words, page.size), EDGE + 1.2 * page.size, words)
    return page.ax


def _keys(curve: TemperatureCurve, number: int) -> list[Key]:
    if number == 0:
        keys = [Key(f"within 1 % of the least: {show(curve.flat[0], 'K')} to {show(curve.flat[1], 'K')}",
                    lighter(KINDS["sun"], 0.55))]
        return keys if len(curve.standing) == len(curve.points) else [*keys, Key("x: cannot be built", look="")]
    if number == 1:
        return [Key(words, colour, (0, dashes) if dashes else "line") for name, words, colour, dashes in SHARES
                if any(np.isfinite(getattr(point, name)) for point in curve.standing)]
    return [Key(name, FILLS[i % len(FILLS)]) for i, name in enumerate(_families(curve))]


def _families(curve: TemperatureCurve) -> Sequence[str]:
    """Families of cost, the largest at the best point first."""
    return [name for name, _ in curve.best.parts]


def _line(curve: TemperatureCurve) -> np.ndarray:
    return np.array([point.outlet - C for point in curve.standing])


def _costs(page: Page, inner: Axes, curve: TemperatureCurve, frame: Frame) -> None:
    ends = cost_ends(curve)
    page.quantity_axis(inner, ends[1] + 0.12 * (ends[1] - ends[0]), ends[0])
    frame = Frame(frame.box, frame.x, (ends[0], ends[1] + 0.12 * (ends[1] - ends[0])))
    low, high = (T - C for T in curve.flat)
    inner.axvspan(low, high, color=lighter(KINDS["sun"], 0.55), linewidth=0.0, zorder=0)
    T, cost = _line(curve), np.array([100.0 * point.cost for point in curve.standing])
    inner.plot(T, cost, color=INK, linewidth=1.6, marker="o", markersize=3.0, zorder=4)
    gone = [point.outlet - C for point in curve.points if not point.stands]
    gone = [x for x in gone if frame.x[0] <= x <= frame.x[1]]
    inner.plot(gone, [ends[0] + 0.06 * (ends[1] - ends[0])] * len(gone), linestyle="none", marker="x", markersize=5.0,
               color=KINDS["heat"], zorder=4)
    places = Places(Box(*frame.box), frame.trace(T, np.minimum(cost, frame.y[1])))
    marks = [(curve.best, f"{show(curve.best.outlet, 'K')}: {100 * curve.best.cost:.2f} ct", True)]
    now = curve.present
    if now is not None and now is not curve.best:
        marks.append((now, f"as drawn, {show(now.outlet, 'K')}: {100 * now.cost:.2f} ct", False))
    for point, text, bold in marks:
        if 100.0 * point.cost > frame.y[1]:
            continue
        at = frame.at(point.outlet - C, 100.0 * point.cost)
        inner.plot([point.outlet - C], [100.0 * point.cost], marker="o", markersize=6.0, zorder=5, markeredgecolor=INK,
                   markerfacecolor=KINDS["sun"] if bold else "white", linestyle="none")
        wide = line_width(text, page.size, bold=bold) + 2.0
        box = places.settle((float(at[0]), float(at[1])), wide, LINE * page.size)
        page.ax.text((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, text, fontsize=page.size, family=FONT, ha="center",
                     va="center", weight="bold" if bold else "normal", color=INK, zorder=8)


def _shares(page: Page, inner: Axes, curve: TemperatureCurve, frame: Frame) -> None:
    most = 1.0
    for name, _, colour, dashes in SHARES:
        values = np.array([100.0 * getattr(point, name) for point in curve.standing])
        if np.isfinite(values).any():
            most = max(most, float(np.nanmax(values)))
            inner.plot(_line(curve), values, color=colour, linewidth=1.6, linestyle=(0, dashes) if dashes else "-",
                       zorder=3)
    page.quantity_axis(inner, 1.08 * most)


def _parts(page: Page, inner: Axes, curve: TemperatureCurve, frame: Frame) -> None:
    names = _families(curve)
    rows = np.array([[100.0 * dict(point.parts).get(name, 0.0) for point in curve.standing] for name in names])
    inner.stackplot(_line(curve), rows, colors=[FILLS[i % len(FILLS)] for i in range(len(names))], linewidth=0.0)
    page.quantity_axis(inner, 1.05 * float(rows.sum(axis=0).max()))
