"""The cloudy-day study as a picture: four figures of supply against the size of the store, one line a plant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from loopnet.draw.palette import LOOPS, MUTED
from loopnet.draw.text import line_width, wrap
from loopnet.draw.year_page import EDGE, Key, Page, round_numbers
from loopnet.errors import ParameterError
from loopnet.study.supply import SupplyCurve

__all__ = ["draw_supply"]

MARKS = "osD^vPX"

Panel = tuple[str, Callable[[SupplyCurve], np.ndarray], float | None]


def draw_supply(curves: SupplyCurve | Sequence[SupplyCurve], ax: Axes | None = None, *,
                size: tuple[float, float] = (9.0, 6.4)) -> Axes:
    """Draw supply against the size of the store.

    Parameters
    ----------
    curves : SupplyCurve or sequence of SupplyCurve
        Of one plant or of several, all with the same firm level.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points that holds four panels.

    Raises
    ------
    ParameterError
        If there is no curve, or firm levels differ.
    """
    drawn = [curves] if isinstance(curves, SupplyCurve) else list(curves)
    if len({curve.firm for curve in drawn}) != 1:
        raise ParameterError("curves of one firm level can be drawn together", where="draw_supply",
                             got=", ".join(f"{curve.firm:g}" for curve in drawn) or "no curve", allowed="one level",
                             hint="the same firm level in every study")
    page = Page.on(ax, size)
    page.title(f"{drawn[0].title if len(drawn) == 1 else f'{len(drawn)} plants'} under the sky of {drawn[0].weather}: "
               "how a larger store keeps up supply")
    if len(drawn) > 1:
        page.keys([Key(c.title, *_look(i)) for i, c in enumerate(drawn)])
    panels: list[Panel] = [
        ("hours below full load [h]", lambda c: (1.0 - c.series("full")) * c.hours, None),
        ("energy delivered, of what full supply would be [%]", lambda c: 100.0 * c.series("delivered"), 100.0),
        ("longest dark spell bridged: solid at full load, hollow at any load [h]",
         lambda c: c.series("bridged_full") / 3600.0, None),
        (f"months that deliver {100 * drawn[0].firm:.0f} % or more of full supply [%]",
         lambda c: 100.0 * c.series("months"), 100.0),
    ]
    top, foot = page.y, EDGE + 3.6 * page.size
    gap, indent = 2.5 * page.size, line_width("0,000", page.size) + 6.0
    wide = (page.width - 2 * EDGE - gap) / 2
    rows = (top - foot) / 2
    words = [wrap(text, wide, page.size) for text, _, _ in panels]
    most = max(float(c.series("store")[-1]) for c in drawn) / 3600.0
    for number, (_, figure, end) in enumerate(panels):
        x, high = EDGE + (number % 2) * (wide + gap), top - (number // 2) * rows
        lines = max(len(words[number]), len(words[number ^ 1]))
        for place, line in enumerate(words[number]):
            page.note(x, high - 1.25 * page.size * place, line)
        low = high - rows + (2.4 * page.size if number < 2 else 0.0)
        inner = page.panel(x + indent, low, x + wide - 4.0, high - (1.25 * lines + 0.9) * page.size)
        spell = number == 2
        values = [figure(c) for c in drawn]
        highest = max(float(v.max()) for v in values)
        if spell:
            highest = max(highest, *(float(c.series("bridged").max()) / 3600.0 for c in drawn))
        page.quantity_axis(inner, end if end else 1.08 * highest)
        inner.set_xlim(0.0, 1.03 * most)
        ticks = round_numbers(0.0, most, 6)
        inner.set_xticks(ticks, [f"{t:.10g}" for t in ticks] if number > 1 else [""] * len(ticks))
        inner.grid(color=MUTED, linewidth=0.35, alpha=0.4)
        for i, (curve, v) in enumerate(zip(drawn, values, strict=True)):
            hours = curve.series("store") / 3600.0
            colour, dashes = _look(i)
            style: dict[str, Any] = {"color": colour, "marker": MARKS[i % len(MARKS)], "markersize": 0.55 * page.size,
                     "clip_on": False, "zorder": 3}
            inner.plot(hours, v, linewidth=1.5, linestyle=dashes, **style)
            if spell:
                inner.plot(hours, curve.series("bridged") / 3600.0, linewidth=0.8, linestyle=dashes,
                           markerfacecolor="white", **style)
    text = "size of the store: hours for which it carries full load [h]"
    page.note((page.width - line_width(text, page.size)) / 2, EDGE + 1.2 * page.size, text)
    return page.ax


def _look(number: int) -> tuple[str, object]:
    """Colour and line style of a plant."""
    colour, dashes = LOOPS[number % len(LOOPS)]
    return colour, (0, dashes)
