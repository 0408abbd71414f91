"""The circuit picture: paints a laid-out circuit with a plain symbol for each family and a line style for each loop."""

from __future__ import annotations

from typing import Any

import networkx as nx
import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyBboxPatch, Polygon

from loopnet.draw.circuit_places import CircuitLayout, PlacedLine, PlacedSymbol, circuit_layout
from loopnet.draw.figure import new_axes, points_axes, write_label
from loopnet.draw.palette import INK, KINDS, LOOPS, MUTED, PAPER, lighter

__all__ = ["draw_circuit"]

_CARD = "#f4f5f6"


def draw_circuit(graph: nx.MultiDiGraph | CircuitLayout, ax: Axes | None = None, title: str = "") -> Axes:
    """Draw a circuit as a process-flow picture.

    Parameters
    ----------
    graph : networkx.MultiDiGraph or CircuitLayout
        Nodes with `title` and `family`, edges with `loop`, `medium` and perhaps `text`.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own, as large as the circuit needs (at most 15 in wide).
    title : str
        Written over the picture.

    Returns
    -------
    matplotlib Axes
        The axes, in points of the layout's page.

    Raises
    ------
    TopologyError
        If the graph has no node.

    Examples
    --------
    >>> graph = nx.MultiDiGraph()
    >>> graph.add_node("field", title="collector field", family="field")
    >>> graph.add_node("user", title="kiln", family="user")
    >>> _ = graph.add_edge("field", "user", loop="air", medium="air")
    >>> _ = graph.add_edge("user", "field", loop="air", medium="air")
    >>> [text.get_text() for text in draw_circuit(graph).texts]
    ['collector field', 'kiln', 'air']
    """
    placed = graph if isinstance(graph, CircuitLayout) else circuit_layout(graph, title)
    if ax is None:
        shrink = min(1.0, 15 * 72 / placed.width)
        ax = new_axes(placed.width * shrink / 72, placed.height * shrink / 72)
    scale = points_axes(ax, placed.width, placed.height)
    for line in placed.lines:
        _line(ax, line, scale)
    for symbol in placed.symbols:
        if symbol.facing:
            _rider(ax, symbol, scale)
        else:
            _card(ax, symbol, scale)
    for label in placed.labels:
        write_label(ax, label, scale)
    return ax


def _line(ax: Axes, line: PlacedLine, scale: float) -> None:
    colour, dashes = LOOPS[line.number % len(LOOPS)]
    points = list(line.points)
    (ax0, ay0), (x, y) = points[-2], points[-1]
    way = np.sign([x - ax0, y - ay0])
    points[-1] = (x - 6 * way[0], y - 6 * way[1])
    xs, ys = zip(*points, strict=True)
    for width, tint, order in ((4.6, PAPER, 1.9), (1.9, colour, 2.0)):
        style: dict[str, Any] = {"linestyle": (0, dashes)} if dashes and tint != PAPER else {}
        ax.plot(xs, ys, color=tint, linewidth=width * scale, zorder=order + 0.01 * line.number,
                solid_joinstyle="round", solid_capstyle="butt", gid=f"line:{line.loop}", **style)
    across = np.array([-way[1], way[0]])
    tip = np.array([x, y])
    ax.add_patch(Polygon([tip, tip - 8 * way + 3.6 * across, tip - 8 * way - 3.6 * across], closed=True,
                         facecolor=colour, edgecolor="none", zorder=3))


def _rider(ax: Axes, symbol: PlacedSymbol, scale: float) -> None:
    box = symbol.box
    x, y, radius = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, (box.x1 - box.x0) / 2
    if symbol.family == "junction":
        ax.add_patch(Circle((x, y), radius, facecolor=INK, edgecolor="none", zorder=4))
    elif symbol.family == "pipe":
        _stroke(ax, (x, x), (y - 4, y + 4), scale, INK, 1.2)
    elif symbol.family == "mover":
        _mover(ax, x, y, radius, symbol.facing, scale)


def _mover(ax: Axes, x: float, y: float, radius: float, facing: int, scale: float) -> None:
    ax.add_patch(Circle((x, y), radius, facecolor=PAPER, edgecolor=INK, linewidth=1.1 * scale, zorder=4))
    angles = np.radians([0, 125, 235])
    ax.add_patch(Polygon([(x + facing * radius * np.cos(a), y + radius * np.sin(a)) for a in angles], closed=True,
                         facecolor=INK, edgecolor="none", zorder=5))


def _card(ax: Axes, symbol: PlacedSymbol, scale: float) -> None:
    box = symbol.box
    ax.add_patch(FancyBboxPatch((box.x0 + 4, box.y0 + 4), box.x1 - box.x0 - 8, box.y1 - box.y0 - 8,
                                boxstyle="round,pad=4,rounding_size=5", facecolor=_CARD, edgecolor=INK,
                                linewidth=1.0 * scale, zorder=3, gid=f"card:{symbol.name}"))
    x, y = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
    draw = _SYMBOLS.get(symbol.family)
    if draw is not None:
        draw(ax, x, y, scale)


def _stroke(ax: Axes, xs: Any, ys: Any, scale: float, colour: str = INK, width: float = 1.4) -> None:
    ax.plot(xs, ys, color=colour, linewidth=width * scale, zorder=4, solid_capstyle="round", solid_joinstyle="round")


def _shape(ax: Axes, corners: Any, scale: float, fill: str = PAPER) -> None:
    ax.add_patch(Polygon(corners, closed=True, facecolor=fill, edgecolor=INK, linewidth=1.3 * scale, zorder=4,
                         joinstyle="round"))


def _field(ax: Axes, x: float, y: float, scale: float) -> None:
    across = np.linspace(-19, 19, 41)
    dish = y - 13 + across**2 / 30
    focus = y - 13 + 7.5
    for at in (-15.0, -8.0, 8.0, 15.0):
        _stroke(ax, (x + at, x + at, x), (y + 20, y - 13 + at**2 / 30, focus), scale, KINDS["sun"], 1.0)
    _stroke(ax, x + across, dish, scale, INK, 1.9)
    ax.add_patch(Circle((x, focus), 2.8, facecolor=KINDS["heat"], edgecolor=INK, linewidth=0.9 * scale, zorder=5))


def _receiver(ax: Axes, x: float, y: float, scale: float) -> None:
    _shape(ax, [(x - 4, y - 20), (x + 4, y - 20), (x + 3, y + 4), (x - 3, y + 4)], scale, lighter(MUTED, 0.6))
    _shape(ax, [(x - 8, y + 4), (x + 8, y + 4), (x + 8, y + 18), (x - 8, y + 18)], scale, KINDS["heat"])
    for side in (-1, 1):
        for start in (-16.0, -9.0):
            _stroke(ax, (x + side * 22, x + side * 9), (y + start, y + 11), scale, KINDS["sun"], 1.0)


def _exchanger(ax: Axes, x: float, y: float, scale: float) -> None:
    ax.add_patch(Circle((x, y), 18, facecolor=PAPER, edgecolor=INK, linewidth=1.3 * scale, zorder=4))
    _stroke(ax, x + np.array([-24, -11, -5, 5, 11, 24]), y + np.array([0, 0, 9, -9, 0, 0]), scale)


def _store(ax: Axes, x: float, y: float, scale: float) -> None:
    across = np.linspace(-17, 17, 25)
    dome = np.stack((x + across, y + 15 + 5 * (1 - (across / 17) ** 2)), axis=1)
    _shape(ax, [(x - 17, y - 19), *dome, (x + 17, y - 19)], scale, lighter(KINDS["heat"], 0.15))
    _shape(ax, [(x - 17, y - 19), (x - 17, y - 3), (x + 17, y - 3), (x + 17, y - 19)], scale,
           lighter(KINDS["store"], 0.55))


def _cycle(ax: Axes, x: float, y: float, scale: float) -> None:
    _shape(ax, [(x - 17, y - 7), (x - 17, y + 7), (x + 9, y + 18), (x + 9, y - 18)], scale)
    _stroke(ax, (x + 9, x + 22), (y, y), scale, INK, 2.4)


def _user(ax: Axes, x: float, y: float, scale: float) -> None:
    _shape(ax, [(x - 19, y - 16), (x - 19, y + 4), (x - 7, y + 13), (x - 7, y + 4), (x + 5, y + 13), (x + 5, y + 4),
                (x + 19, y + 4), (x + 19, y - 16)], scale)


_SYMBOLS: dict[str, Any] = {
    "field": _field, "receiver": _receiver, "exchanger": _exchanger, "store": _store, "cycle": _cycle, "user": _user,
    "mover": lambda ax, x, y, scale: _mover(ax, x, y, 15, 1, scale),
    "junction": lambda ax, x, y, scale: ax.add_patch(Circle((x, y), 5, facecolor=INK, edgecolor="none", zorder=4)),
    "pipe": lambda ax, x, y, scale: _shape(ax, [(x - 20, y - 5), (x + 20, y - 5), (x + 20, y + 5), (x - 20, y + 5)],
                                           scale),
}
