"""Waterfall: from one plant's cost to another's, a bar for every term of the bridge, down where it makes it cheaper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes

from loopnet.draw.rows import RowsLayout, Span, draw_rows, layout_rows, room

if TYPE_CHECKING:
    from loopnet.study.bridge import Bridge

__all__ = ["draw_waterfall", "layout_waterfall"]

SMALL = 0.006
"""Terms below this share of the larger cost are drawn together [-]."""


def layout_waterfall(bridge: Bridge, width: float = 720.0, size: float = 8.0) -> RowsLayout:
    """Lay out a bridge.

    Parameters
    ----------
    bridge : Bridge
    width, size : float
        Width of the page and size of the letters [pt].

    Returns
    -------
    RowsLayout
        A row for the first plant, one for each term, one for the second plant.
    """
    spans = [Span(bridge.first, 0.0, bridge.start, f"{100 * bridge.start:.2f}", "total")]
    level = bridge.start
    for name, usd in bridge.gathered(SMALL * max(bridge.start, bridge.end)).items():
        spans.append(Span(name, level, level + usd, f"{100 * usd:+.2f}", "strong" if usd > 0 else "less"))
        level += usd
    spans.append(Span(bridge.second, 0.0, bridge.end, f"{100 * bridge.end:.2f}", "total"))
    return layout_rows(spans, steps=True, width=width, size=size,
                       title=f"From {bridge.first} to {bridge.second}: what a kWh of {bridge.product} costs",
                       foot="An energy step (optics, receiver, cycle ...) is charged with all that must be larger "
                            "before it; a cost with its price for each unit of the energy it is sized for. Light bars: "
                            "dearer; dark bars: cheaper. The terms add up exactly, in whichever order they are taken.")


def draw_waterfall(bridge: Bridge, ax: Axes | None = None) -> Axes:
    """Draw a bridge as a waterfall, its terms from top to bottom.

    Parameters
    ----------
    bridge : Bridge
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.

    Returns
    -------
    matplotlib Axes
    """
    return draw_rows(layout_waterfall(bridge, room(ax)), ax)
