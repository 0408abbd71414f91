"""Where everything of an energy-flow picture goes: a level trunk, losses that drop under it, branches above it.
Pure numbers in points; labels are placed on measured text, and never on each other or on a ribbon."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from loopnet.draw.flow import EnergyFlow, Link, Shape, read_shape
from loopnet.draw.flow_order import Slots, assign_slots
from loopnet.draw.ribbon import HAIRLINE, head_length, ribbon_polygon
from loopnet.draw.text import LINE, Block, Box, Label, block, line_width, percent, quantity, wrap
from loopnet.errors import ParameterError

__all__ = ["FlowLayout", "PlacedNode", "Ribbon", "ScaleBar", "layout_flow"]

_BAR = 3.0  # width of a node [pt]
_RADIUS = 6.0  # inner radius of a bend [pt]
_EDGE = 10.0  # empty edge of the page [pt]
_AIR = 2.5  # least gap between a label and anything else [pt]
_SIZES = (8.5, 8.0, 7.5, 7.0)


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
    while True:
        for size in _SIZES if grow == 1.0 else _SIZES[-1:]:
            for share in (0.38, 0.34, 0.30, 0.26, 0.22, 0.18) if size > 7 else (0.30, 0.24, 0.18, 0.14, 0.10, 0.07):
                page = _Page(flow, shape, slots, width * grow, height * grow, size, share * height * grow)
                if page.fits():
                    return page.result()
        grow *= 1.1
        if grow > 60:
            raise ParameterError("the energy flow is too crowded to draw", where=flow.title or "flow",
                                 got=f"{len(flow.links)} links", hint="put small losses together with lumped()")


class _Page:
    """One attempt at one font size and one trunk thickness; `fits` tells whether it came out."""

    def __init__(self, flow: EnergyFlow, shape: Shape, slots: Slots, width: float, height: float, size: float,
                 trunk: float) -> None:
        self.flow, self.shape, self.slots = flow, shape, slots
        self.width, self.height, self.size = width, height, size
        self.scale = trunk / max(shape.through[name] for name in shape.order)
        self.x: dict[object, tuple[float, float]] = {}
        self.tops: dict[str, float] = {}
        self.slot_y: dict[tuple[int, str], float] = {}  # middle of a link's slot at a node, relative to its row
        self.rows: dict[int, list[Box]] = defaultdict(list)  # everything solid, relative to its row
        self.walls: list[tuple[float, float, int, int]] = []  # x0, x1 and the rows between which an upright leg runs
        self.labels: list[tuple[int, Label]] = []
        self.leaders: list[tuple[int, Box]] = []
        self.drop_ends: dict[int, float] = {}

    def thick(self, number: int) -> float:
        return max(self.flow.links[number].value * self.scale, HAIRLINE)

    def value_text(self, value: float) -> str:
        return f"{quantity(value)} {self.flow.unit}".strip() + f", {percent(value / self.flow.sun)}"

    def end_block(self, name: str) -> Block:
        return block(name, self.value_text(self.shape.through[name]), 11.5 * self.size, self.size)

    def fits(self) -> bool:
        return (self.spread_x() and self.stack_slots() and self.solid() and self.place_drops() and self.place_stages()
                and self.stack_rows())

    # -- from left to right ---------------------------------------------------------------------------------

    def spread_x(self) -> bool:
        """Give every upright thing its own place along x: bars, drops, and the legs between rows."""
        first, links = self.shape.chains[0][0], self.flow.links
        left = _EDGE + self.end_block(first).width + 6
        right = self.width - _EDGE - max(self.end_block(name).width for name in self.shape.products) - 18
        gaps: list[tuple[float, float, object, float]] = []  # least gap before, share of spare room, what, width
        before = "start"
        for kind, what in self.slots.sequence:
            if kind == "node":
                least, share, wide = {"start": 0.0, "in": _RADIUS + 5, "node": 30.0}.get(before, 8.0), 0.5, _BAR
            else:
                assert isinstance(what, int)
                wide = self.thick(what)
                least = {"node": _RADIUS + 3, "start": 0.0}.get(before, 8.0)
                share = 0.0 if before == "start" else 0.7 if kind == "drop" else 0.9
                if kind == "drop":
                    name = self.drop_name(what)
                    text = block(name, self.value_text(links[what].value), 11 * self.size, self.size)
                    share = 0.3 + 0.7 * text.width / (9 * self.size)
            gaps.append((least, share if before != "start" else 0.0, (kind, what), wide))
            before = kind
        tail = 8.0 + (_RADIUS + 5 if before == "in" else 24.0 if before == "node" else 10.0)
        spare = right - left - sum(gap[0] + gap[3] for gap in gaps) - tail
        if spare < 0:
            return False
        total = sum(gap[1] for gap in gaps) + 0.8
        x = left
        for least, share, key, wide in gaps:
            x += least + spare * share / total
            self.x[key] = (x, x + wide)
            x += wide
        for name in self.shape.products:
            self.x["node", name] = (right, right + _BAR)
        return True

    def drop_name(self, number: int) -> str:
        link = self.flow.links[number]
        return link.label or link.target

    # -- within each row ------------------------------------------------------------------------------------

    def stack_slots(self) -> bool:
        """Stack the links at each node so that the links along a row run level; y is relative to the row."""
        for chain in self.shape.chains:
            level = 0.0  # top of the link that joins the chain's nodes
            for position, name in enumerate(chain):
                entering, leaving = self.slots.entering[name], self.slots.leaving[name]
                if position == 0:
                    top = 0.0
                else:
                    above = entering[:next(k for k, n in enumerate(entering) if n in self.shape.straight)]
                    top = level + sum(self.flow.links[n].value * self.scale for n in above)
                self.tops[name] = top
                for stack in (entering, leaving):
                    y = top
                    for number in stack:
                        wide = self.flow.links[number].value * self.scale
                        if stack is leaving and number in self.shape.straight:
                            level = y
                        self.slot_y[number, name] = y - wide / 2
                        y -= wide
        return True

    def node_box(self, name: str) -> Box:
        x0, x1 = self.x["node", name]
        top = self.tops[name]
        return Box(x0, top - max(self.shape.through[name] * self.scale, HAIRLINE), x1, top)

    def solid(self) -> bool:
        """Collect what labels must keep clear of: level runs by row, and upright legs between rows."""
        for name in self.shape.order:
            self.rows[self.slots.row[name]].append(self.node_box(name))
        for number, link in enumerate(self.flow.links):
            half = self.thick(number) / 2
            if number in self.shape.drops:
                y, (_, x1) = self.slot_y[number, link.source], self.x["drop", number]
                start = self.x["node", link.source][1]
                self.rows[self.slots.row[link.source]].append(Box(start, y - half - _RADIUS, x1, y + half))
                continue
            for row, x0, x1, y in self.runs(number):
                self.rows[row].append(Box(x0, y - half, x1, y + half))
            for key, low, high in self.slots.legs.get(number, ()):
                x0, x1 = self.x[key]
                self.walls.append((x0 - _RADIUS / 2, x1 + _RADIUS / 2, low, high))
        return True

    def runs(self, number: int) -> list[tuple[int, float, float, float]]:
        """Level parts of a link: row, x from, x to, y relative to the row."""
        link, plan = self.flow.links[number], self.slots
        start, end = self.x["node", link.source][1], self.x["node", link.target][0]
        y_out, y_in = self.slot_y[number, link.source], self.slot_y[number, link.target]
        rows = plan.row[link.source], plan.row[link.target]
        if number in self.shape.straight:
            return [(rows[0], start, end, y_out)]
        legs = [key for key, _, _ in plan.legs[number]]
        middle = [sum(self.x[key]) / 2 for key in legs]
        if len(legs) == 1:
            return [(rows[0], start, middle[0], y_out), (rows[1], middle[0], end, y_in)]
        return [(rows[0], start, middle[0], y_out), (plan.lane[number], middle[0], middle[1], 0.0),
                (rows[1], middle[1], end, y_in)]

    def clear(self, box: Box, row: int, above: bool) -> bool:
        """Whether a box beside a row keeps off the upright legs that pass there, and stays on the page."""
        if box.x0 < _EDGE / 2 or box.x1 > self.width - _EDGE / 2:
            return False
        return not any(x0 < box.x1 + _AIR and box.x0 < x1 + _AIR and
                       (low <= row < high if above else low < row <= high) for x0, x1, low, high in self.walls)

    def settle(self, box: Box, solids: Iterable[Box], sign: float) -> Box:
        """Move a box away from its row (up for +1, down for -1) until it meets nothing."""
        solids = list(solids)
        while True:
            hit = [other for other in solids if box.meets(other, _AIR)]
            if not hit:
                return box
            if sign > 0:
                dy = max(other.y1 for other in hit) + _AIR + 1e-6 - box.y0
            else:
                dy = min(other.y0 for other in hit) - _AIR - 1e-6 - box.y1
            box = box.moved(0.0, dy)

    def place_drops(self) -> bool:
        """Hang each loss under its row with its label at the tip; the left ones hang deeper where it is crowded."""
        order = [what for kind, what in self.slots.sequence if kind == "drop"]
        for number in reversed(order):
            assert isinstance(number, int)
            link = self.flow.links[number]
            row = self.slots.row[link.source]
            x0, x1 = self.x["drop", number]
            half = self.thick(number) / 2
            start = self.slot_y[number, link.source] - half
            texts = [box for r, label in self.labels if r == row for box in [label.box]]
            done = False
            for limit in (11.0, 8.5, 6.5):
                text = block(self.drop_name(number), self.value_text(link.value), limit * self.size, self.size)
                wide = text.width
                left = (x0 + x1 - wide) / 2 if x1 - x0 > wide else x0 - 1.5
                for x in (left, x1 + 1.5 - wide):
                    reach = start - _RADIUS - 9 - head_length(2 * half) - 2
                    box = Box(x, reach - text.height, x + wide, reach)
                    if not self.clear(box, row, above=False):
                        continue
                    box = self.settle(box, self.rows[row], -1.0)
                    stem = Box(x0 - 2.2, box.y1, x1 + 2.2, start)
                    if any(stem.meets(other, _AIR / 2) for other in texts):
                        continue
                    align = "center" if x1 - x0 > wide else "left" if x == left else "right"
                    self.labels.append((row, Label(self.drop_name(number), box, text.names, text.values, self.size,
                                                   ((x0 + x1) / 2, box.y1), align, "drop")))
                    self.rows[row] += [box, stem]
                    self.drop_ends[number] = box.y1 + 2 + head_length(2 * half)
                    done = True
                    break
                if done:
                    break
            if not done:
                return False
        return True

    def place_stages(self) -> bool:
        """Write each node's name and energy over its row, as a flag on a thin pole; ends beside their bars."""
        first = self.shape.chains[0][0]
        for name in self.shape.products:
            self.beside(name, self.x["node", name][1] + 15, "left")
        self.beside(first, self.x["node", first][0] - 6 - self.end_block(first).width, "right")
        staged = [name for name in self.shape.order if name != first and name not in self.shape.products]
        mirrored: set[str] = set()
        while True:
            kept = len(self.labels), {row: len(boxes) for row, boxes in self.rows.items()}
            turn = [name for name in staged if name in mirrored] + [n for n in reversed(staged) if n not in mirrored]
            failed = next((name for name in turn if not self.flag(name, name in mirrored)), None)
            if failed is None:
                return True
            group = set(self.between_walls(failed, staged))
            if group <= mirrored:
                return False
            mirrored |= group
            del self.labels[kept[0]:], self.leaders[:]
            for row, length in kept[1].items():
                del self.rows[row][length:]

    def between_walls(self, name: str, staged: list[str]) -> list[str]:
        """The nodes of the same row that stand between the same two upright legs as this one."""
        row, x = self.slots.row[name], self.x["node", name][0]
        walls = [x0 for x0, _, low, high in self.walls if low <= row < high]
        left = max((wall for wall in walls if wall < x), default=0.0)
        right = min((wall for wall in walls if wall > x), default=self.width)
        return [n for n in staged if self.slots.row[n] == row and left < self.x["node", n][0] < right]

    def beside(self, name: str, x: float, align: str) -> None:
        text, row, bar = self.end_block(name), self.slots.row[name], self.node_box(name)
        y = (bar.y0 + bar.y1) / 2
        box = Box(x, y - text.height / 2, x + text.width, y + text.height / 2)
        self.labels.append((row, Label(name, box, text.names, text.values, self.size, (x, y), align, "end")))
        self.rows[row].append(box)

    def flag(self, name: str, mirrored: bool) -> bool:
        """Put a node's flag where it is free: to the right of its pole, or to the left of it."""
        row, bar = self.slots.row[name], self.node_box(name)
        texts = [label.box for r, label in self.labels if r == row]
        poles = [pole for r, pole in self.leaders if r == row]
        for limit in (10.0, 8.0, 6.0, 4.5):
            text = block(name, self.value_text(self.shape.through[name]), limit * self.size, self.size)
            for align in ("right", "left") if mirrored else ("left", "right"):
                x = bar.x0 + 3.5 if align == "left" else bar.x1 - 3.5 - text.width
                box = Box(x, bar.y1 + 5, x + text.width, bar.y1 + 5 + text.height)
                if not self.clear(box, row, above=True):
                    continue
                box = self.settle(box, [*self.rows[row], *poles], 1.0)
                at = bar.x0 if align == "left" else bar.x1
                pole = Box(at - 0.3, bar.y1, at + 0.3, box.y1)
                if any(pole.meets(other, 0.5) for other in texts):
                    continue
                self.labels.append((row, Label(name, box, text.names, text.values, self.size,
                                               ((bar.x0 + bar.x1) / 2, bar.y1), align, "stage")))
                self.rows[row].append(box)
                self.leaders.append((row, pole))
                return True
        return False

    # -- from bottom to top ---------------------------------------------------------------------------------

    def stack_rows(self) -> bool:
        """Pile the rows up from the trunk, far enough apart for every bend; False if the page is too low."""
        for number, lane in self.slots.lane.items():
            half = self.thick(number) / 2
            self.rows[lane].append(Box(0, -half, 0, half))
        self.base: dict[int, float] = {}
        floor = _EDGE
        title_height = 1.5 * (self.size + 3.5) if self.flow.title else 0.0
        for row in sorted(self.rows):
            boxes = self.rows[row]
            self.base[row] = floor - min(box.y0 for box in boxes)
            for number, legs in self.slots.legs.items():
                wide = self.thick(number)
                for key, low, high in legs:
                    if high == row:
                        y_low, y_high = self.leg_ends(number, key, low, high)
                        self.base[row] = max(self.base[row], self.base[low] + y_low - y_high + wide + 2 * _RADIUS)
            floor = self.base[row] + max(box.y1 for box in boxes) + 6
        used = floor - 6 + _EDGE + title_height
        self.spare = self.height - used
        return self.spare >= 0

    def leg_ends(self, number: int, key: tuple[str, int], low: int, high: int) -> tuple[float, float]:
        link = self.flow.links[number]
        ends: dict[int, float] = {}
        for row, _, _, y in self.runs(number):
            ends.setdefault(row, y)
        if len(self.slots.legs[number]) == 2:
            end = link.source if key[0] == "out" else link.target
            ends[self.slots.row[end]] = self.slot_y[number, end]
        return ends[low], ends[high]

    def result(self) -> FlowLayout:
        """Everything at its place on the page."""
        lift = {row: y + self.spare / 2 for row, y in self.base.items()}
        nodes = tuple(PlacedNode(name, self.node_box(name).moved(0, lift[self.slots.row[name]]),
                                 self.shape.through[name]) for name in self.shape.order)
        ribbons = tuple(self.ribbon(number, lift) for number in range(len(self.flow.links)))
        labels = [label.moved(0, lift[row]) for row, label in self.labels]
        leaders = tuple((pole.x0 + 0.3, pole.y0 + lift[row], pole.x0 + 0.3, pole.y1 + lift[row])
                        for row, pole in self.leaders)
        if self.flow.title:
            size = self.size + 3.5
            lines = wrap(self.flow.title, self.width - 2 * _EDGE, size, bold=True)[:1]
            box = Box(_EDGE, self.height - _EDGE - LINE * size, _EDGE + line_width(lines[0], size, True),
                      self.height - _EDGE)
            labels.append(Label(self.flow.title, box, lines, (), size, (box.x0, box.y0), "left", "title"))
        bar, note = self.scale_note()
        labels.append(note)
        return FlowLayout(self.flow, self.width, self.height, self.scale, nodes, ribbons, tuple(labels), leaders, bar)

    def ribbon(self, number: int, lift: dict[int, float]) -> Ribbon:
        link, wide = self.flow.links[number], self.thick(number)
        true, radius = link.value * self.scale, _RADIUS
        row = self.slots.row[link.source]
        if number in self.shape.drops:
            x0, x1 = self.x["drop", number]
            y = self.slot_y[number, link.source] + lift[row]
            middle = (x0 + x1) / 2
            path = [(self.x["node", link.source][1], y), (middle, y), (middle, self.drop_ends[number] + lift[row])]
            return Ribbon(link, ribbon_polygon(path, wide, radius, head=True), true, wide > true, True)
        path = []
        for run_row, x0, x1, y in self.runs(number):
            path += [(x0, y + lift[run_row]), (x1, y + lift[run_row])]
        return Ribbon(link, ribbon_polygon(path, wide, radius), true, wide > true, False)

    def scale_note(self) -> tuple[ScaleBar, Label]:
        """A bar of a round value in the lower left corner, where nothing hangs."""
        most = 40.0 / self.scale
        power = 10.0 ** np.floor(np.log10(most))
        value = float(max(step * power for step in (1, 2, 5) if step * power <= most))
        bar = Box(_EDGE, _EDGE, _EDGE + 4, _EDGE + value * self.scale)
        text = f"{quantity(value)} {self.flow.unit}".strip()
        size = self.size - 0.5
        middle = (bar.y0 + bar.y1) / 2
        box = Box(bar.x1 + 4, middle - LINE * size / 2, bar.x1 + 4 + line_width(text, size), middle + LINE * size / 2)
        return ScaleBar(bar, value), Label(text, box, (), (text,), size, (bar.x1, middle), "left", "scale")
