"""Where everything of an energy-flow picture goes: a level trunk, losses that drop under it, branches above it.
Pure numbers in points; labels are placed on measured text, and never on each other or on a ribbon."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopnet.draw.flow import EnergyFlow, Link, Shape, read_shape
from loopnet.draw.flow_order import Key, Slots, assign_slots
from loopnet.draw.flow_page import Page
from loopnet.draw.text import Box, Label
from loopnet.errors import ParameterError

__all__ = ["FlowLayout", "PlacedNode", "Ribbon", "ScaleBar", "layout_flow"]

_SIZES = (8.5, 8.0, 7.5, 7.0)  # font sizes tried [pt]
_SHARES = (0.38, 0.34, 0.30, 0.26, 0.22, 0.18)  # trunk thickness tried, as a share of the page's height [-]
_LAST_SHARES = (0.30, 0.22, 0.16, 0.11, 0.07)


@dataclass(frozen=True)
class PlacedNode:
    """A node's bar [pt] and what flows through it [unit of the flow]."""

    name: str
    box: Box
    value: float


@dataclass(frozen=True, eq=False)
class Ribbon:
    """A link's outline, shape (n, 2) [pt], its width to scale [pt], and whether it is drawn wider than that."""

    link: Link
    polygon: np.ndarray
    width: float
    hairline: bool
    drop: bool


@dataclass(frozen=True)
class ScaleBar:
    """An upright bar [pt] that stands for `value` [unit of the flow]."""

    box: Box
    value: float


@dataclass(frozen=True, eq=False)
class FlowLayout:
    """A laid-out energy flow: everything in points on a page of `width` by `height`; `scale` is points per unit."""

    flow: EnergyFlow
    width: float
    height: float
    scale: float
    nodes: tuple[PlacedNode, ...]
    ribbons: tuple[Ribbon, ...]
    labels: tuple[Label, ...]
    leaders: tuple[tuple[float, float, float, float], ...]
    scale_bar: ScaleBar

    def __repr__(self) -> str:
        return (f"FlowLayout({self.flow.title!r}, {len(self.nodes)} nodes, {len(self.ribbons)} ribbons, "
                f"{self.width:.0f} x {self.height:.0f} pt)")


def layout_flow(flow: EnergyFlow, width: float = 792.0, height: float = 432.0) -> FlowLayout:
    """Lay out an energy flow on a page.

    Parameters
    ----------
    flow : EnergyFlow
        What to draw; it is checked first.
    width, height : float
        Size of the page wished for [pt]. A flow too crowded for it gets a larger page of the same shape, which
        the drawing then scales down.

    Returns
    -------
    FlowLayout
        Node bars, ribbons, labels, leaders and scale bar [pt].

    Raises
    ------
    ConvergenceError, TopologyError
        If the flow does not balance, or runs in a circle.
    ParameterError
        If no energy flows at all.

    Examples
    --------
    >>> flow = EnergyFlow(title="a dish", unit="kWh", links=(
    ...     Link(source="sun", target="receiver", value=10.0, kind="sun"),
    ...     Link(source="receiver", target="hot air", value=7.5, kind="heat"),
    ...     Link(source="receiver", target="radiation", value=2.5, kind="loss")))
    >>> layout_flow(flow)
    FlowLayout('a dish', 3 nodes, 3 ribbons, 792 x 432 pt)
    """
    flow.check()
    if flow.sun <= 0:
        raise ParameterError("no energy flows", where=flow.title or "flow", got=f"{flow.sun} {flow.unit}",
                             allowed="a positive inflow", hint="give the sources of the flow their energy")
    shape = read_shape(flow)
    slots = assign_slots(flow, shape)
    grow = 1.0
    while grow < 60:
        for size in _SIZES if grow == 1.0 else _SIZES[-1:]:
            boost: dict[Key, float] = {}
            for share in _SHARES if size > _SIZES[-1] else _LAST_SHARES:
                page = _attempt(flow, shape, slots, width * grow, height * grow, size, share, boost)
                if page is not None:
                    return _finish(page)
        grow *= 1.1
    raise ParameterError("the energy flow is too crowded to draw", where=flow.title or "flow",
                         got=f"{len(flow.links)} links", hint="put small losses together with lumped()")


def _attempt(flow: EnergyFlow, shape: Shape, slots: Slots, width: float, height: float, size: float,
             share: float, boost: dict[Key, float]) -> Page | None:
    """Try one font size and trunk thickness, making room where a label finds none; None if it does not come out."""
    for _ in range(12):
        page = Page(flow, shape, slots, width, height, size, share * height, boost)
        if page.fits():
            return page
        if page.failed is None:
            return None
        boost[page.failed] = boost.get(page.failed, 0.0) + 2.5 * size
    return None


def _finish(page: Page) -> FlowLayout:
    flow, row = page.flow, page.slots.row
    nodes = tuple(PlacedNode(name, page.node_box(name).moved(0, page.lift(row[name])), page.shape.through[name])
                  for name in page.shape.order)
    ribbons = tuple(Ribbon(link, page.outline(number), link.value * page.scale,
                           page.thick(number) > link.value * page.scale, number in page.shape.drops)
                    for number, link in enumerate(flow.links))
    bar, value, note = page.scale_note()
    labels = [label.moved(0, page.lift(at)) for at, label in page.board.labels]
    poles = tuple(((pole.x0 + pole.x1) / 2, pole.y0 + page.lift(at), (pole.x0 + pole.x1) / 2, pole.y1 + page.lift(at))
                  for at, pole in page.board.poles)
    return FlowLayout(flow, page.width, page.height, page.scale, nodes, ribbons, (*labels, *page.heading(), note),
                      poles, ScaleBar(bar, value))
