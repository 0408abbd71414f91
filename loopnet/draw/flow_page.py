"""One attempt to put an energy flow on a page, at one font size and one trunk thickness.
Order along x comes first, then slots at nodes, then labels, then the rows are piled up from the trunk."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loopnet.draw.flow import EnergyFlow, Shape
from loopnet.draw.flow_labels import Board
from loopnet.draw.flow_order import Key, Slots
from loopnet.draw.ribbon import HAIRLINE, head_length, ribbon_polygon
from loopnet.draw.text import LINE, Block, Box, Label, block, line_width, percent, quantity, wrap

__all__ = ["Page"]

_BAR = 3.0  # width of a node [pt]
_RADIUS = 6.0  # inner radius of a bend [pt]
_EDGE = 10.0  # empty edge of the page [pt]
_MOST = 42.0  # most spare room before a loss [pt]


class Page:
    """One attempt; `fits` tells whether it came out, and if not, `failed` what found no room for its label.

    `boost` is extra room after the things that found none in earlier attempts [pt].
    """

    def __init__(self, flow: EnergyFlow, shape: Shape, slots: Slots, width: float, height: float, size: float,
                 trunk: float, boost: Mapping[Key, float]) -> None:
        self.flow, self.shape, self.slots, self.boost = flow, shape, slots, boost
        self.width, self.height, self.size = width, height, size
        self.scale = trunk / max(shape.through[name] for name in shape.order)
        self.board = Board(width, size, _EDGE)
        self.x: dict[Key, tuple[float, float]] = {}
        self.tops: dict[str, float] = {}
        self.slot_y: dict[tuple[int, str], float] = {}  # middle of a link's slot at a node, relative to its row
        self.drop_ends: dict[int, float] = {}
        self.failed: Key | None = None

    def fits(self) -> bool:
        """Whether everything found its place."""
        if not self.spread_x():
            return False
        self.stack_slots()
        self.raise_walls()
        return self.place_drops() and self.place_stages() and self.stack_rows()

    def thick(self, number: int) -> float:
        """Width of a link as drawn [pt]."""
        return max(self.flow.links[number].value * self.scale, HAIRLINE)

    def value_text(self, value: float) -> str:
        return f"{quantity(value)} {self.flow.unit}".strip() + f", {percent(value / self.flow.sun)}"

    def end_block(self, name: str) -> Block:
        return block(name, self.value_text(self.shape.through[name]), 11.5 * self.size, self.size)

    def drop_name(self, number: int) -> str:
        link = self.flow.links[number]
        return link.label or link.target

    # -- from left to right ---------------------------------------------------------------------------------

    def spread_x(self) -> bool:
        """Give every upright thing its own place along x: bars, drops, and the legs between rows."""
        left = _EDGE + self.end_block(self.shape.chains[0][0]).width + 6
        right = self.width - _EDGE - max(self.end_block(name).width for name in self.shape.products) - 7
        least: list[float] = []  # least gap before each thing, and after the last
        share: list[float] = []  # its share of spare room
        most: list[float] = []  # and the most of it that it takes
        before = "start"
        last: Key = ("", "")
        for kind, what in self.slots.sequence:
            if kind == "node":
                gap, part, cap = {"start": 0.0, "in": _RADIUS + 5, "node": 30.0}.get(before, 8.0), 0.5, 1e9
            else:
                gap, part, cap = {"node": _RADIUS + 3, "start": 0.0}.get(before, 8.0), 0.9, 1e9
                if kind == "drop":
                    assert isinstance(what, int)
                    text = block(self.drop_name(what), self.value_text(self.flow.links[what].value),
                                 11 * self.size, self.size)
                    part, cap = 0.3 + 0.7 * text.width / (9 * self.size), _MOST
            least.append(gap + self.boost.get(last, 0.0))
            share.append(0.0 if before == "start" else part)
            most.append(cap)
            before, last = kind, (kind, what)
        least.append(8.0 + {"in": _RADIUS + 5, "node": 24.0}.get(before, 10.0) + self.boost.get(last, 0.0))
        share.append(0.8)
        most.append(1e9)
        wide = [_BAR if kind == "node" else self.thick(int(what)) for kind, what in self.slots.sequence]
        spare = right - left - sum(least) - sum(wide)
        if spare < 0:
            return False
        unit = spare / sum(share)
        extra = [min(unit * part, cap) for part, cap in zip(share, most, strict=True)]
        open_ended = sum(part for part, cap in zip(share, most, strict=True) if cap > 1e6)
        over = (spare - sum(extra)) / open_ended
        x = left
        for number, key in enumerate(self.slots.sequence):
            x += least[number] + extra[number] + (over * share[number] if most[number] > 1e6 else 0.0)
            self.x[key] = (x, x + wide[number])
            x += wide[number]
        for name in self.shape.products:
            self.x["node", name] = (right - _BAR, right)
        return True

    # -- within each row ------------------------------------------------------------------------------------

    def stack_slots(self) -> None:
        """Stack the links at each node so that the links along a row run level; y is relative to the row."""
        for chain in self.shape.chains:
            top = level = 0.0  # level: top of the link that joins the chain's nodes
            for position, name in enumerate(chain):
                entering, leaving = self.slots.entering[name], self.slots.leaving[name]
                if position:
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

    def node_box(self, name: str) -> Box:
        x0, x1 = self.x["node", name]
        top = self.tops[name]
        return Box(x0, top - max(self.shape.through[name] * self.scale, HAIRLINE), x1, top)

    def raise_walls(self) -> None:
        """Collect what labels must keep clear of: level runs by row, and upright legs between rows."""
        solids = self.board.solids
        for name in self.shape.order:
            solids[self.slots.row[name]].append(self.node_box(name))
        for number, link in enumerate(self.flow.links):
            half = self.thick(number) / 2
            if number in self.shape.drops:
                y, (_, x1) = self.slot_y[number, link.source], self.x["drop", number]
                start = self.x["node", link.source][1]
                solids[self.slots.row[link.source]].append(Box(start, y - half - _RADIUS, x1, y + half))
                continue
            for row, x0, x1, y in self.runs(number):
                solids[row].append(Box(x0, y - half, x1, y + half))
            for key, low, high in self.slots.legs.get(number, ()):
                x0, x1 = self.x[key]
                self.board.walls.append((x0 - _RADIUS / 2, x1 + _RADIUS / 2, low, high))

    def runs(self, number: int) -> list[tuple[int, float, float, float]]:
        """Level parts of a link: row, x from, x to, y relative to the row."""
        link, plan = self.flow.links[number], self.slots
        start, end = self.x["node", link.source][1], self.x["node", link.target][0]
        y_out, y_in = self.slot_y[number, link.source], self.slot_y[number, link.target]
        rows = plan.row[link.source], plan.row[link.target]
        if number in self.shape.straight:
            return [(rows[0], start, end, y_out)]
        middle = [sum(self.x[key]) / 2 for key, _, _ in plan.legs[number]]
        if len(middle) == 1:
            return [(rows[0], start, middle[0], y_out), (rows[1], middle[0], end, y_in)]
        return [(rows[0], start, middle[0], y_out), (plan.lane[number], middle[0], middle[1], 0.0),
                (rows[1], middle[1], end, y_in)]

    def place_drops(self) -> bool:
        """Hang each loss under its row, from right to left; the left ones hang deeper where it is crowded."""
        for kind, number in reversed(self.slots.sequence):
            if kind != "drop":
                continue
            assert isinstance(number, int)
            link, wide = self.flow.links[number], self.thick(number)
            start = self.slot_y[number, link.source] - wide / 2
            least = _RADIUS + 9 + head_length(wide) + 2
            low = self.board.hang(self.slots.row[link.source], self.drop_name(number), self.value_text(link.value),
                                  *self.x["drop", number], start, least)
            if low is None:
                self.failed = ("drop", number)
                return False
            self.drop_ends[number] = low + 2 + head_length(wide)
        return True

    def place_stages(self) -> bool:
        """Write each node's name and energy over its row; those of the ends stand beside their bars."""
        first, row = self.shape.chains[0][0], self.slots.row
        for name in self.shape.products:
            self.board.beside(row[name], name, self.end_block(name), self.node_box(name),
                              self.x["node", name][1] + 5, "left")
        text = self.end_block(first)
        self.board.beside(0, first, text, self.node_box(first), self.x["node", first][0] - 6 - text.width, "right")
        lost = self.board.flags([(name, row[name], self.value_text(self.shape.through[name]), self.node_box(name))
                                 for name in self.shape.order if name != first and name not in self.shape.products])
        self.failed = None if lost is None else ("node", lost)
        return lost is None

    # -- from bottom to top ---------------------------------------------------------------------------------

    def stack_rows(self) -> bool:
        """Pile the rows up from the trunk, far enough apart for every bend; False if the page is too low."""
        solids = self.board.solids
        for number, lane in self.slots.lane.items():
            half = self.thick(number) / 2
            solids[lane].append(Box(0, -half, 0, half))
        self.base: dict[int, float] = {}
        floor = _EDGE
        for row in sorted(solids):
            self.base[row] = floor - min(box.y0 for box in solids[row])
            if row == 0:  # nothing of the trunk may stand on the scale bar in the corner
                bar, _, note = self.scale_note()
                corner = [box.y0 for box in solids[0] if box.x0 < note.box.x1 + 4]
                self.base[0] = max([self.base[0], *(bar.y1 + 6 - low for low in corner)])
            for number, legs in self.slots.legs.items():
                for key, low, high in legs:
                    if high == row:
                        y_low, y_high = self.leg_ends(number, key, low, high)
                        reach = self.base[low] + y_low - y_high + self.thick(number) + 2 * _RADIUS
                        self.base[row] = max(self.base[row], reach)
            floor = self.base[row] + max(box.y1 for box in solids[row]) + 6
        title = LINE * (self.size + 3.5) + 4 if self.flow.title else 0.0
        self.spare = self.height - (floor - 6 + _EDGE + title)
        return self.spare >= 0

    def leg_ends(self, number: int, key: Key, low: int, high: int) -> tuple[float, float]:
        """Heights at which an upright leg begins and ends, each relative to its row."""
        link = self.flow.links[number]
        ends = {row: y for row, _, _, y in reversed(self.runs(number))}
        if len(self.slots.legs[number]) == 2:
            end = link.source if key[0] == "out" else link.target
            ends[self.slots.row[end]] = self.slot_y[number, end]
        return ends[low], ends[high]

    # -- the result -----------------------------------------------------------------------------------------

    def lift(self, row: int) -> float:
        return self.base[row] + self.spare / 2

    def outline(self, number: int) -> np.ndarray:
        """A link's ribbon at its place on the page, shape (n, 2) [pt]."""
        link, wide = self.flow.links[number], self.thick(number)
        if number in self.shape.drops:
            lift, middle = self.lift(self.slots.row[link.source]), sum(self.x["drop", number]) / 2
            y = self.slot_y[number, link.source] + lift
            path = [(self.x["node", link.source][1], y), (middle, y), (middle, self.drop_ends[number] + lift)]
            return ribbon_polygon(path, wide, _RADIUS, head=True)
        path = [(x, y + self.lift(row)) for row, x0, x1, y in self.runs(number) for x in (x0, x1)]
        return ribbon_polygon(path, wide, _RADIUS)

    def heading(self) -> list[Label]:
        if not self.flow.title:
            return []
        size = self.size + 3.5
        line = wrap(self.flow.title, self.width - 2 * _EDGE, size, bold=True)[0]
        top = self.height - _EDGE
        box = Box(_EDGE, top - LINE * size, _EDGE + line_width(line, size, True), top)
        return [Label(self.flow.title, box, (line,), (), size, (box.x0, box.y0), "left", "title")]

    def scale_note(self) -> tuple[Box, float, Label]:
        """A bar for a round value in the lower left corner, where nothing hangs: its box, its value, its label."""
        most = 40.0 / self.scale
        power = 10.0 ** np.floor(np.log10(most))
        value = float(max(step * power for step in (1, 2, 5) if step * power <= most))
        bar = Box(_EDGE, _EDGE, _EDGE + 4, _EDGE + value * self.scale)
        text = f"{value:,g} {self.flow.unit}".strip()
        size = self.size - 0.5
        middle = (bar.y0 + bar.y1) / 2
        box = Box(bar.x1 + 4, middle - LINE * size / 2, bar.x1 + 4 + line_width(text, size), middle + LINE * size / 2)
        return bar, value, Label(text, box, (), (text,), size, (bar.x1, middle), "left", "scale")
