"""Where everything of a circuit picture goes: field at the left, cycle at the right, hot lines above, cold ones below.
Every line has a slot and a channel of its own; labels sit where no upright line can pass."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from loopnet.draw.circuit_runs import Run, Way, place_symbols, read_runs
from loopnet.draw.palette import INK, LOOPS, MUTED
from loopnet.draw.text import LINE, Block, Box, Label, block, line_width, wrap

__all__ = ["CircuitLayout", "PlacedLine", "PlacedSymbol", "circuit_layout"]

Node = Hashable
_WIDE, _LOW, _RING = 60.0, 64.0, 10.0  # symbol width and least height, radius of a mover's ring [pt]
_PORT, _PITCH, _AIR, _EDGE = 16.0, 11.0, 6.0, 12.0


@dataclass(frozen=True)
class PlacedSymbol:
    """A component's symbol in its box [pt]; movers on a line face left (-1) or right (+1), all others 0."""

    name: Node
    family: str
    box: Box
    facing: int = 0


@dataclass(frozen=True)
class PlacedLine:
    """One stream from symbol to symbol: corners of its line [pt] and its loop's number, which chooses its colour."""

    loop: str
    medium: str
    number: int
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class CircuitLayout:
    """A laid-out circuit: everything in points on a page of `width` by `height`."""

    width: float
    height: float
    symbols: tuple[PlacedSymbol, ...]
    lines: tuple[PlacedLine, ...]
    labels: tuple[Label, ...]

    def __repr__(self) -> str:
        return (f"CircuitLayout({len(self.symbols)} symbols, {len(self.lines)} lines, {len(self.labels)} labels, "
                f"{self.width:.0f} x {self.height:.0f} pt)")


def circuit_layout(graph: nx.MultiDiGraph, title: str = "", size: float = 8.0) -> CircuitLayout:
    """Lay out a circuit.

    Parameters
    ----------
    graph : networkx.MultiDiGraph
        Nodes with `title` and `family` ("field", "receiver", "pipe", "mover", "exchanger", "store", "cycle", "user",
        "junction"; others get a plain box), edges with `loop`, `medium` and perhaps `text`.
    title : str
        Written over the picture.
    size : float
        Font size [pt].

    Returns
    -------
    CircuitLayout
        Symbols, lines and labels [pt]; the page is as large as the circuit needs.

    Raises
    ------
    TopologyError
        If the graph has no node.

    Examples
    --------
    >>> graph = nx.MultiDiGraph()
    >>> graph.add_node("field", title="collector field", family="field")
    >>> graph.add_node("user", title="kiln", family="user")
    >>> _ = graph.add_edge("field", "user", loop="air", medium="air", text="480 degC")
    >>> _ = graph.add_edge("user", "field", loop="air", medium="air", text="80 degC")
    >>> circuit_layout(graph)
    CircuitLayout(2 symbols, 2 lines, 5 labels, 211 x 115 pt)
    """
    return _Sheet(graph, title, size).result()


class _Sheet:
    def __init__(self, graph: nx.MultiDiGraph, title: str, size: float) -> None:
        self.graph, self.title, self.size = graph, title, size
        self.nodes, runs = read_runs(graph)
        self.place = place_symbols(graph, self.nodes, runs)
        self.loops = {loop: number for number, loop in
                      enumerate(dict.fromkeys(str(e.get("loop", "")) for _, _, e in graph.edges(data=True)))}
        self.ways = [self.way(run) for run in runs]
        self.columns = 1 + max(column for column, _ in self.place.values())
        self.rows = 1 + max(row for _, row in self.place.values())
        self.names = {node: wrap(str(graph.nodes[node].get("title", node)), 84.0, size, bold=True)
                      for node in self.nodes}
        self.labels: list[Label] = []

    # -- what each line carries -----------------------------------------------------------------------------

    def way(self, run: Run) -> Way:
        (cu, _), (cv, _) = self.place[run.source], self.place[run.target]
        inner = [self.words(str(edge.get("text", "")), 96.0) for edge in run.edges]
        outer, rings = [], []
        for node in run.riders:
            data = self.graph.nodes[node]
            outer.append(self.words(str(data.get("title", node)), 72.0))
            rings.append({"mover": _RING, "junction": 3.0}.get(str(data.get("family")), 0.0))
        return Way(run, cv >= cu, inner, outer, rings)

    def words(self, text: str, limit: float) -> Block:
        return block("", "\n".join(wrap(text, limit, self.size)), 1e9, self.size) if text else Block((), (), 0.0, 0.0)

    def bold(self, text: str) -> Block:
        return block(text, "", 110.0, self.size) if text else Block((), (), 0.0, 0.0)

    def name_media(self) -> dict[int, tuple[Way, Way]]:
        """Decide where each loop's medium is written: between two lines that face each other, or with a stream."""
        pairs: dict[int, tuple[Way, Way]] = {}
        alone = [{id(way) for way, _ in found} for found in self.ports().values()]
        for loop, number in self.loops.items():
            ways = [way for way in self.ways if way.run.loop == loop]
            medium = next((str(e.get("medium")) for way in ways for e in way.run.edges if e.get("medium")), loop)
            for a in ways:
                for b in ways:
                    if (a.rightward and not b.rightward and self.level(a) and self.level(b)
                            and a.run.source == b.run.target and a.run.target == b.run.source
                            and {id(a), id(b)} in alone):
                        pairs.setdefault(number, (a, b))
            if number in pairs:
                pairs[number][0].medium = medium
            else:
                way = max(ways, key=lambda w: len(w.run.edges))
                old = way.inner[0]
                names = self.bold(medium)
                way.inner[0] = Block(names.names, old.values, max(old.width, names.width), old.height + names.height)
        return pairs

    def level(self, way: Way) -> bool:
        """Whether a run goes straight across to the next column."""
        (cu, ru), (cv, rv) = self.place[way.run.source], self.place[way.run.target]
        return abs(cu - cv) == 1 and ru == rv

    def gap_of(self, way: Way) -> int:
        """The gap between columns where the run has room for its labels: to the right of its left end."""
        return min(self.place[way.run.source][0], self.place[way.run.target][0])

    def measure(self) -> None:
        """Places of riders along a run, from its left end, and the length it needs."""
        for way in self.ways:
            inner, outer = (way.inner, way.outer) if way.rightward else (way.inner[::-1], way.outer[::-1])
            rings = way.rings if way.rightward else way.rings[::-1]
            at = _AIR
            for k, text in enumerate(outer):
                before = at + max(inner[k].width, 14.0) + 2 * _AIR + rings[k]
                if k:
                    before = max(before + rings[k - 1],
                                 way.stops[-1] + (outer[k - 1].width + text.width) / 2 + _AIR)
                else:
                    before = max(before, _AIR + text.width / 2)
                way.stops.append(before)
                at = before
            last = at + (rings[-1] if rings else 0.0)
            way.need = last + max(inner[-1].width, 14.0) + 3 * _AIR
            if outer:
                way.need = max(way.need, at + outer[-1].width / 2 + _AIR)
            way.need = max(way.need, self.bold(way.medium).width + 2 * _AIR)

    # -- slots and channels ---------------------------------------------------------------------------------

    def ports(self) -> dict[tuple[int, int], list[tuple[Way, str]]]:
        """Which ends of which lines touch each gap in each row: (gap, row) -> (line, "slot", "end" or "both")."""
        ports: dict[tuple[int, int], list[tuple[Way, str]]] = defaultdict(list)
        for way in self.ways:
            (cu, ru), (cv, rv) = self.place[way.run.source], self.place[way.run.target]
            left_end = "slot" if cu <= cv else "end"
            if self.level(way):
                ports[min(cu, cv), ru].append((way, "both"))
            elif cu == cv:
                ports[cu, ru].append((way, "slot"))
                ports[cu, rv].append((way, "end"))
            else:
                left, right = ((cu, ru), (cv, rv)) if cu < cv else ((cv, rv), (cu, ru))
                ports[left[0], left[1]].append((way, left_end))
                ports[right[0] - 1, right[1]].append((way, "end" if left_end == "slot" else "slot"))
        return ports

    def give_slots(self) -> None:
        """Give every line its own height in each gap and row it touches: hot (rightward) above, cold below."""
        self.reach: dict[tuple[int, int], tuple[float, float]] = {}
        for key, found in self.ports().items():
            hot = [port for port in found if port[0].rightward]
            cold = [port for port in found if not port[0].rightward]
            heights = [0.0]
            for (way, _), (after, _) in pairwise(hot + cold):
                between = way.inner_height if way.rightward else way.outer_height
                between += after.outer_height if after.rightward else after.inner_height
                if way.rightward and not after.rightward:
                    between += self.bold(way.medium).height + 6 if way.medium else 0.0
                    between = max(between, 40.0)
                heights.append(heights[-1] - max(between + 2, 14.0))
            shift = -heights[-1] / 2
            for (way, which), y in zip(hot + cold, heights, strict=True):
                if which in ("slot", "both"):
                    way.slot = y + shift
                if which in ("end", "both"):
                    way.end = y + shift
            above = hot[0][0].outer_height if hot else cold[0][0].inner_height
            below = cold[-1][0].outer_height if cold else hot[-1][0].inner_height
            self.reach[key] = (heights[-1] + shift - below, shift + above)

    def give_channels(self) -> None:
        """Give every upright leg its own x in the channel of its gap.

        Columns are distances from the field, so a run never reaches past the next column: one leg is enough.
        """
        self.channel: dict[int, int] = {}  # way number -> place in the channel of its gap
        count: dict[int, int] = defaultdict(int)
        for number, way in enumerate(self.ways):
            if not self.level(way):
                self.channel[number] = count[self.gap_of(way)]
                count[self.gap_of(way)] += 1
        self.channel_width = {gap: _PITCH * n + 8 for gap, n in count.items()}

    def set_x(self) -> None:
        needs: dict[int, float] = defaultdict(float)
        for way in self.ways:
            needs[self.gap_of(way)] = max(needs[self.gap_of(way)], way.need)
        self.col: list[tuple[float, float]] = []
        self.zone: dict[int, tuple[float, float]] = {}
        x = _EDGE
        for column in range(self.columns):
            texts = [line_width(line, self.size, True) for node in self.nodes if self.place[node][0] == column
                     for line in self.names[node]]
            wide = max([_WIDE, *texts])
            self.col.append((x, x + wide))
            x += wide
            if column < self.columns - 1 or needs[column] > 0 or column in self.channel_width:
                self.zone[column] = (x, x + max(needs[column], 30.0))
                x = self.zone[column][1] + self.channel_width.get(column, 0.0)
        self.width = x + _EDGE
        if self.title:
            self.width = max(self.width, 2 * _EDGE + min(line_width(self.title, self.size + 3.5, True), 600.0))

    def set_y(self) -> None:
        self.boxes: dict[Node, Box] = {}
        self.middle: list[float] = []
        y = -_EDGE  # goes down; turned around at the end
        self.title_lines = wrap(self.title, self.width - 2 * _EDGE, self.size + 3.5, bold=True) if self.title else ()
        y -= LINE * (self.size + 3.5) * len(self.title_lines) + (8 if self.title else 0)
        half: dict[int, float] = defaultdict(lambda: _LOW / 2)
        for way in self.ways:
            for node, height in ((way.run.source, way.slot), (way.run.target, way.end)):
                row = self.place[node][1]
                half[row] = max(half[row], abs(height) + _PORT)
        for row in range(self.rows):
            here = [node for node in self.nodes if self.place[node][1] == row]
            names = max(LINE * self.size * len(self.names[node]) for node in here) + 5
            reach = [r for (_, at), r in self.reach.items() if at == row]
            above = max([half[row], *(high for _, high in reach)])
            below = max([half[row] + names, *(-low for low, _ in reach)])
            middle = y - above
            self.middle.append(middle)
            for node in here:
                x0, x1 = self.col[self.place[node][0]]
                centre = (x0 + x1) / 2
                self.boxes[node] = Box(centre - _WIDE / 2, middle - half[row], centre + _WIDE / 2, middle + half[row])
            y = middle - below - 10
        self.height = _EDGE - 10 - y

    # -- the result -----------------------------------------------------------------------------------------

    def result(self) -> CircuitLayout:
        pairs = self.name_media()
        self.measure()
        self.give_slots()
        self.give_channels()
        self.set_x()
        self.set_y()
        symbols = [PlacedSymbol(node, str(self.graph.nodes[node].get("family", "")), box)
                   for node, box in self.boxes.items()]
        lines = []
        for number, way in enumerate(self.ways):
            medium = next((str(e["medium"]) for e in way.run.edges if e.get("medium")), "")
            lines.append(PlacedLine(way.run.loop, medium, self.loops[way.run.loop], self.points(number, way)))
            symbols += self.ride(way)
        for node, box in self.boxes.items():
            self.under(node, box)
        for number, (hot, cold) in pairs.items():
            self.between(number, hot, cold)
        for number, line in enumerate(self.title_lines):
            tall = LINE * (self.size + 3.5)
            box = Box(_EDGE, -_EDGE - tall * (number + 1), _EDGE + line_width(line, self.size + 3.5, True),
                      -_EDGE - tall * number)
            self.labels.append(Label(line, box, (line,), (), self.size + 3.5, (box.x0, box.y0), "left", "title"))
        lift = self.height
        return CircuitLayout(
            self.width, self.height,
            tuple(PlacedSymbol(s.name, s.family, s.box.moved(0, lift), s.facing) for s in symbols),
            tuple(PlacedLine(p.loop, p.medium, p.number, tuple((x, y + lift) for x, y in p.points)) for p in lines),
            tuple(label.moved(0, lift) for label in self.labels))

    def points(self, number: int, way: Way) -> tuple[tuple[float, float], ...]:
        (cu, ru), (cv, rv) = self.place[way.run.source], self.place[way.run.target]
        out, into = self.boxes[way.run.source], self.boxes[way.run.target]
        y_out, y_in = self.middle[ru] + way.slot, self.middle[rv] + way.end
        x_out = out.x1 if cv >= cu else out.x0
        x_in = into.x0 if cv > cu else into.x1
        if self.level(way):
            return (x_out, y_out), (x_in, y_in)
        x = self.zone[self.gap_of(way)][1] + _PITCH * (self.channel[number] + 0.5)
        return (x_out, y_out), (x, y_out), (x, y_in), (x_in, y_in)

    def ride(self, way: Way) -> list[PlacedSymbol]:
        """Set riders and stream texts along the run, with the spare room shared out evenly."""
        gap = self.gap_of(way)
        left = self.boxes[way.run.source if way.rightward else way.run.target].x1
        x0, x1 = self.zone[gap]
        x0 = max(left, x0) if way.outer or any(text.width for text in way.inner) else x0
        spare = max(x1 - x0 - way.need, 0.0) / (len(way.outer) + 1)
        stops = [x0 + stop + spare * (k + 0.5 if len(way.outer) else 0) for k, stop in enumerate(way.stops)]
        inner, riders = (way.inner, way.run.riders) if way.rightward else (way.inner[::-1], way.run.riders[::-1])
        outer, rings = (way.outer, way.rings) if way.rightward else (way.outer[::-1], way.rings[::-1])
        row = self.place[way.run.source if way.rightward else way.run.target][1]
        y = self.middle[row] + (way.slot if way.rightward else way.end)
        away = 1.0 if way.rightward else -1.0
        colour = LOOPS[self.loops[way.run.loop] % len(LOOPS)][0]
        found = []
        for x, text, ring, node in zip(stops, outer, rings, riders, strict=True):
            self.beside(text, x, y, away, ring, "pipe" if ring == 0 else "node", INK)
            family = str(self.graph.nodes[node].get("family", ""))
            found.append(PlacedSymbol(node, family, Box(x - ring, y - ring, x + ring, y + ring), int(away)))
        edges = [x0, *stops, x1]
        widths = [0.0, *rings, 0.0]
        for k, text in enumerate(inner):
            low, high = edges[k] + widths[k], edges[k + 1] - widths[k + 1]
            self.beside(text, (low + high) / 2, y, -away, 0.0, "edge", colour if text.names else MUTED)
        return found

    def beside(self, text: Block, x: float, y: float, away: float, ring: float, role: str, colour: str) -> None:
        if not text.width:
            return
        edge = y + away * (ring + 3)
        low, high = (edge, edge + text.height) if away > 0 else (edge - text.height, edge)
        words = " ".join((*text.names, *text.values))
        self.labels.append(Label(words, Box(x - text.width / 2, low, x + text.width / 2, high), text.names, text.values,
                                 self.size, (x, y), "center", role, colour))

    def under(self, node: Node, box: Box) -> None:
        names = self.names[node]
        wide, centre = max(line_width(line, self.size, True) for line in names), (box.x0 + box.x1) / 2
        top = box.y0 - 3
        self.labels.append(Label(str(self.graph.nodes[node].get("title", node)),
                                 Box(centre - wide / 2, top - LINE * self.size * len(names), centre + wide / 2, top),
                                 names, (), self.size, (centre, box.y0), "center", "node"))

    def between(self, number: int, hot: Way, cold: Way) -> None:
        x0, x1 = self.boxes[hot.run.source].x1, self.boxes[hot.run.target].x0
        if self.gap_of(hot) in self.channel_width:
            x0, x1 = self.zone[self.gap_of(hot)]
        middle = self.middle[self.place[hot.run.source][1]]
        high, low = middle + hot.slot - hot.inner_height, middle + cold.slot + cold.inner_height
        text, x, y = self.bold(hot.medium), (x0 + x1) / 2, (high + low) / 2
        box = Box(x - text.width / 2, y - text.height / 2, x + text.width / 2, y + text.height / 2)
        self.labels.append(Label(hot.medium, box, text.names, (), self.size, (x, middle + hot.slot), "center",
                                 "medium", LOOPS[number % len(LOOPS)][0]))
