"""Tornado: a bar for every uncertain number, from the cost at its low end to that at its high end, widest on top."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes

from loopnet.draw.rows import RowsLayout, Span, draw_rows, layout_rows, room
from loopnet.units import show

if TYPE_CHECKING:
    from loopnet.study.tornado import Sway, Tornado

__all__ = ["draw_tornado", "layout_tornado"]


def _plain(value: float) -> str:
    return f"{value:,.0f}" if value >= 1000 else f"{value:.4g}"


def _ends(sway: Sway) -> str:
    u = sway.what
    if u.unit == "1/year":
        return f"{100 * u.low:.3g} to {100 * u.high:.3g} % a year"
    if u.unit.startswith("USD"):
        return f"{_plain(u.low)} to {_plain(u.high)} {u.unit}"
    return f"{show(u.low, u.unit, 3)} to {show(u.high, u.unit, 3)}"


def layout_tornado(tornado: Tornado, most: int = 15, width: float = 720.0, size: float = 8.0) -> RowsLayout:
    """Lay out a tornado.

    Parameters
    ----------
    tornado : Tornado
    most : int
        Most rows [-]; the narrower ones are counted in the foot.
    width, size : float
        Width of the page and size of the letters [pt].

    Returns
    -------
    RowsLayout
        A row has two bars: towards the low end of the number, and towards its high end.
    """
    likely, spans = tornado.likely, []
    for sway in tornado.sways[:most]:
        low, high = sorted((sway.at_low, sway.at_high))
        light, dark = ("less", "strong") if sway.at_low <= sway.at_high else ("strong", "less")
        spans.append(Span(f"{sway.what.name}: {_ends(sway)}", low, likely, f"{100 * low:.2f} to {100 * high:.2f}",
                          light, parts=((likely, high, dark),)))
    left = len(tornado.sways) - most
    return layout_rows(spans, line=likely, zero=False, width=width, size=size,
                       title=f"What moves the cost of {tornado.product} from {tornado.plant}, {100 * likely:.2f} "
                             "ct/kWh",
                       foot="Each number alone, from its low to its high value, all others as likely. Dark: towards "
                            "its low value; light: towards its high value."
                            + (f" {left} narrower ones are not drawn." if left > 0 else ""))


def draw_tornado(tornado: Tornado, ax: Axes | None = None, most: int = 15) -> Axes:
    """Draw a tornado.

    Parameters
    ----------
    tornado : Tornado
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    most : int
        Most rows [-].

    Returns
    -------
    matplotlib Axes
    """
    return draw_rows(layout_tornado(tornado, most, room(ax)), ax)
