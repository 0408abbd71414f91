"""The energy-flow picture: paints a laid-out flow on matplotlib axes.
Kinds differ in lightness and losses are hatched, so it reads in grey and with colour blindness; every end is named."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle

from loopnet.draw.figure import axes_size, new_axes, points_axes, write_label
from loopnet.draw.flow import EnergyFlow
from loopnet.draw.flow_layout import FlowLayout, layout_flow
from loopnet.draw.palette import HATCH, INK, KINDS, MUTED, PAPER, darker

__all__ = ["draw_flow"]


def draw_flow(flow: EnergyFlow | FlowLayout, ax: Axes | None = None, *, lump_below: float = 0.0,
              size: tuple[float, float] = (11.0, 6.0)) -> Axes:
    """Draw an energy flow: the sun at the left, what is delivered at the right, losses dropping under the trunk.

    Parameters
    ----------
    flow : EnergyFlow or FlowLayout
        What to draw; a flow is checked for balance first.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    lump_below : float
        Losses of one node that are smaller than this share of the sun are drawn as one [-]; 0 draws each.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, in points of the layout's page.

    Raises
    ------
    ConvergenceError
        If energy does not balance at a node.

    Examples
    --------
    >>> from loopnet.draw import Link
    >>> flow = EnergyFlow(title="a dish", unit="kWh", links=(
    ...     Link(source="sun", target="receiver", value=10.0, kind="sun"),
    ...     Link(source="receiver", target="hot air", value=7.5, kind="heat"),
    ...     Link(source="receiver", target="radiation", value=2.5, kind="loss")))
    >>> sum(text.get_text() == "radiation" for text in draw_flow(flow).texts)
    1
    """
    if ax is None:
        ax = new_axes(*size)
    if isinstance(flow, FlowLayout):
        placed = flow
    else:
        placed = layout_flow(flow.lumped(lump_below) if lump_below else flow, *axes_size(ax))
    scale = points_axes(ax, placed.width, placed.height)
    for ribbon in placed.ribbons:
        kind = ribbon.link.kind
        style: dict[str, Any] = {"facecolor": KINDS[kind], "edgecolor": darker(KINDS[kind], 0.3), "linewidth": 0.5,
                                 "zorder": 2.0 if ribbon.drop else 3.0}
        if kind in ("loss", "store"):
            style |= {"hatch": {"loss": "////", "store": "...."}[kind], "hatchcolor": HATCH[kind]}
        patch = Polygon(ribbon.polygon, closed=True, joinstyle="round", gid=f"ribbon:{ribbon.link.target}", **style)
        patch.set_hatch_linewidth(0.7)
        ax.add_patch(patch)
    for x0, y0, x1, y1 in placed.leaders:
        ax.plot((x0, x1), (y0, y1), color=MUTED, linewidth=0.6 * scale, zorder=4, solid_capstyle="butt")
    for node in placed.nodes:
        box = node.box
        ax.add_patch(Rectangle((box.x0, box.y0), box.x1 - box.x0, box.y1 - box.y0, facecolor=INK, edgecolor=PAPER,
                               linewidth=0.0, zorder=5))
    bar = placed.scale_bar.box
    ax.plot((bar.x1, bar.x0, bar.x0, bar.x1), (bar.y0, bar.y0, bar.y1, bar.y1), color=MUTED, linewidth=0.8, zorder=5)
    for label in placed.labels:
        write_label(ax, label, scale)
    return ax
